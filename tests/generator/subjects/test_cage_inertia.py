"""Cases that inertia holds: what resists them, how they accelerate, and when they are open."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import pytest

from buildspec.read import read_folder
from generator.evaluation import evaluate, load_subjects
from tests.generator.subjects.cage_builds import NO_WELD, STEEL, cage, detail
from tests.generator.subjects.scenes import Evaluation, check, evaluated, value

EXAMPLE = Path(__file__).parents[3] / "example_build"
MASS = """mass:
  items:
    - {id: car, name: Car, mass: 920 kg, x: 0.5 m, y: 0.5 m, z: 0 m}
    - {id: driver, name: Driver, mass: 80 kg, x: 0.5 m, y: 0.5 m, z: 0 m}
  conditions: [{id: run}]
  design_condition: run
"""
CORNERS = {"a": "0 m,0 m,0 m", "b": "1 m,0 m,0 m", "c": "1 m,1 m,0 m", "d": "0 m,1 m,0 m"}
OF_WEIGHT = "{at: [c], factor: 5, condition: run, direction: {z: 1}}"
OF_ITEMS = "{at: [c], factor: 12, items: [driver], direction: {z: 1}}"
STATED = "{at: [c], force: 40 kN, direction: {z: 1}}"
PER_LENGTH = 1.87430
"""kg/m of 40 × 2 mm steel: π/4 (40² − 36²) mm² × 7850 kg/m³ = 238.76 mm² × 7850 kg/m³."""
TUBES = PER_LENGTH * (4.0 + 2.0**0.5)
"""kg: four sides of 1 m and a diagonal."""


ALIKE = "[1, 1, 1, 1]"


def square(
    folder: Path, fixed: float, load: str, held: str = "inertia", shares: str = ALIKE
) -> Evaluation:
    """A square with a diagonal, `fixed` kg shared among its corners, in a vehicle of 1,000 kg."""
    members = [
        f"{{id: {a}{b}, from: {a}, to: {b}, tube: t}}" for a, b in ("ab", "bc", "cd", "da", "ac")
    ]
    text = cage(
        CORNERS,
        members,
        (f"{{id: hit, held_by: {held}, loads: [{load}]}}",),
        supports=("{nodes: [a, b, d]}",),
        tubes=("{id: t, outer: 40 mm, wall: 2 mm, material: steel}",),
        material=STEEL.replace("0.284 lb/in³", "7850 kg/m³"),
        more=(
            NO_WELD,
            f"masses: [{{id: all, at: [a, b, c, d], mass: {fixed} kg, shares: {shares}}}]",
        ),
    )
    return evaluated(folder, MASS + text, "mass", "cage")


def reason(found: Evaluation) -> str:
    return detail(found).cases[0].why


def test_acceleration_and_spin_up_of_a_square(tmp_path: Path) -> None:
    """By hand. Five times the weight of 1,000 kg on what resists it; at a corner, the moment is F × half a
    diagonal, about the other diagonal. Second moments: corners, two rods beside the axis, two across it,
    the diagonal; and the diagonal's product. Tolerance: digits of the mass per length.
    """
    found = square(tmp_path, 980.0, OF_WEIGHT)
    force = 5 * 1000.0 * 9.80665
    assert value(found, "cage.case.hit.acceleration") == pytest.approx(
        force / (980.0 + TUBES), rel=1e-5
    )
    diagonal = PER_LENGTH * 2.0**0.5
    second = 980.0 / 4 + 2 * PER_LENGTH / 4 + 2 * PER_LENGTH / 12 + diagonal / 12
    spin = force * 0.5 * 2.0**0.5 / (second + diagonal / 12)
    assert spin == pytest.approx(140.55, abs=0.01)
    assert value(found, "cage.case.hit.spin_up") == pytest.approx(spin, rel=1e-5)


@pytest.mark.parametrize("load", [OF_WEIGHT, OF_ITEMS])
@pytest.mark.parametrize(
    ("fixed", "enough"), [(930.0, False), (945.0, True), (1035.0, True), (1050.0, False)]
)
def test_what_resists_weighs_what_the_vehicle_weighs(
    tmp_path: Path, load: str, fixed: float, *, enough: bool
) -> None:
    """With 10.1 kg of tubes: 94.0, 95.5, 104.5 and 106.0 % of 1,000 kg, and 5 % either way may be."""
    assert pytest.approx(10.15, abs=0.01) == TUBES
    found = square(tmp_path, fixed, load)
    assert (reason(found) == "") == enough


def test_a_case_without_the_rest_of_the_car_is_open_and_names_both_masses(tmp_path: Path) -> None:
    found = square(tmp_path, 100.0, OF_WEIGHT)
    for name in ("cage.check.member.ab", "cage.check.critical.hit"):
        one = check(found, name)
        assert one.verdict == "open"
        assert "110.1 kg" in one.reason
        assert "1,000 kg" in one.reason
        assert "`rest_of: run`" in one.reason
    assert found.outcomes["cage"].by_id["cage.case.hit.acceleration"].value is None


def test_what_counts_twice_is_told_otherwise(tmp_path: Path) -> None:
    assert "`mass_items`" in reason(square(tmp_path, 1100.0, OF_WEIGHT))


@pytest.mark.parametrize(
    ("shares", "axis"),
    [
        ("[1, 1, 1.4, 1.4]", ""),  # y at 2.8 / 4.8 = 0.583 m, 83 mm of 1 m from the middle
        ("[1, 1, 1.6, 1.6]", "y"),  # 3.2 / 5.2 = 0.615 m
        ("[0, 0, 1, 1]", "y"),
        ("[1, 2.8, 2.8, 1]", ""),  # x at 5.6 / 7.6 = 0.737 m
        ("[1, 3.4, 3.4, 1]", "x"),  # 6.8 / 8.8 = 0.773 m
    ],
)
def test_what_resists_stands_where_the_vehicles_mass_is(
    tmp_path: Path, shares: str, axis: str
) -> None:
    """A tenth of the width and a quarter of the length; the tubes' own centre is in the middle. What is
    fixed to the very joint that is struck would take the load before any tube feels it.
    """
    why = reason(square(tmp_path, 990.0, OF_WEIGHT, shares=shares))
    assert (f"is at {axis} = " in why) if axis else (why == "")


def test_where_the_mass_stands_is_no_matter_of_supports(tmp_path: Path) -> None:
    assert reason(square(tmp_path, 990.0, OF_WEIGHT, "supports", shares="[0, 0, 1, 1]")) == ""
    stated = square(tmp_path, 990.0, STATED, shares="[0, 0, 1, 1]")
    assert reason(stated) == ""
    assert cautioned(stated)


@pytest.mark.parametrize("guess", ["2 kg", "10.15 kg", "60 kg"])
def test_the_rest_of_a_car_that_is_fed_with_its_tubes_mass(tmp_path: Path, guess: str) -> None:
    """Whatever the mass table's item guessed before: five times the weight is 5 g on what is there."""
    frame = (
        f"    - {{id: frame, name: Frame, mass: {guess}, x: 0.5 m, y: 0.5 m, z: 0 m}}\n  conditions"
    )
    members = [
        f"{{id: {a}{b}, from: {a}, to: {b}, tube: t}}" for a, b in ("ab", "bc", "cd", "da", "ac")
    ]
    text = cage(
        CORNERS,
        members,
        (f"{{id: hit, held_by: inertia, loads: [{OF_WEIGHT}]}}",),
        tubes=("{id: t, outer: 40 mm, wall: 2 mm, material: steel}",),
        material=STEEL.replace("0.284 lb/in³", "7850 kg/m³"),
        more=(
            "mass_items: [frame]",
            "feed_mass: true",
            "masses: [{id: rest, at: [a, b, c, d], rest_of: run}]",
        ),
    )
    found = evaluated(tmp_path, MASS.replace("  conditions", frame) + text, "mass", "cage")
    assert value(found, "mass.condition.run.total") == pytest.approx(1000.0 + TUBES, rel=1e-5)
    assert value(found, "cage.case.hit.acceleration") == pytest.approx(5 * 9.80665, rel=1e-9)


def cautioned(found: Evaluation) -> bool:
    return "cage.case.hit.resists" in {c.id for c in found.outcomes["cage"].cautions}


def test_what_resists_is_among_what_a_tube_depends_on(tmp_path: Path) -> None:
    """Twelve drivers' weights are shared out by all that is fixed to the frame, and held against the car."""
    inputs = check(square(tmp_path, 980.0, OF_ITEMS), "cage.check.member.ab").inputs
    assert {"cage.masses.all.mass", "mass.items.driver.mass", "mass.items.car.mass"} <= set(inputs)
    assert {"mass.items.car.x", "mass.items.car.y"} <= set(inputs)
    assert (
        "cage.masses.all.mass"
        not in check(square(tmp_path, 980.0, STATED, "supports"), "cage.check.member.ab").inputs
    )


def test_a_force_and_a_frame_on_supports_ask_for_no_mass(tmp_path: Path) -> None:
    """A stated force does not say what it is a multiple of: a caution; on supports nothing is accelerated."""
    stated = square(tmp_path, 100.0, STATED)
    assert reason(stated) == ""
    assert cautioned(stated)
    assert not cautioned(square(tmp_path, 980.0, STATED))
    held = square(tmp_path, 100.0, OF_WEIGHT, "supports")
    assert reason(held) == ""
    assert not cautioned(held)
    assert "cage.case.hit.acceleration" not in held.outcomes["cage"].by_id


def test_the_demonstration_without_the_rest_of_the_car(tmp_path: Path) -> None:
    """Its hit from the side is a multiple of the weight, its parachute's pull is not; both are open."""
    shutil.copytree(EXAMPLE, tmp_path / "build")
    file = tmp_path / "build" / "cage.yaml"
    lines = file.read_text("utf-8").splitlines(keepends=True)
    file.write_text("".join(line for line in lines if "{id: rest," not in line), "utf-8")
    build = read_folder(tmp_path / "build").build
    assert build is not None
    words = ("mass", "air", "speed", "parachutes", "cage")
    found = evaluate(build, as_of=datetime.date(2026, 11, 25), subjects=load_subjects(words))
    why = {case.id: case.why for case in detail(found).cases}
    assert {name for name, said in why.items() if said} == {"side", "parachute"}
    assert all("922.3 kg" in said for said in why.values() if said)
    assert check(found, "cage.check.member.side_rear").verdict == "open"
