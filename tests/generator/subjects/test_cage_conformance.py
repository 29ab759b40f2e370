"""What is prescribed against what is found: by comparison alone, whatever the loads."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from buildspec.read import read_folder
from buildspec.sections.cage import Cage
from generator.subjects import cage_conformance
from generator.subjects.cage_conformance import requirements
from generator.subjects.cage_geometry import expand
from generator.subjects.cage_stock import stock_of
from generator.vocabulary import Requirement

TEXT = """format: 1
vehicle: {{name: Wren}}
cage:
  mirror: true
  nodes:
    - {{id: a, x: 0 in, y: 10 in, z: 0 in{places}}}
    - {{id: b, x: 0 in, y: 10 in, z: 30 in{places}}}
    - {{id: d, x: 40 in, y: 10 in, z: 0 in{places}}}
  tubes:
    - {tube}
    - {{id: fill, outer: 1 in, wall: 0.065 in, material: 4130_normalized}}
  paths:
    - {{id: hoop, through: [a, b, b_twin, a_twin], radius: {radius}, tube: main, group: hoop{path}}}
  members:
    - {{id: stay, from: b, to: d, tube: main, group: stay{member}}}
    - {{id: sill, from: a, to: d, tube: fill}}
  supports: [{{nodes: [a, a_twin, d, d_twin]}}]
  load_cases: [{{id: one, loads: [{{at: [b], force: {force}, direction: {{z: -1}}}}]}}]
  prescribed:
    - {{id: rule, groups: [hoop, stay], {rule}}}
"""
TUBE = (
    "{id: main, outer: 1.75 in, wall: 0.095 in, material: 4130_normalized, forming: seamless, "
    "basis: rated, source: mill certificate}"
)
KNOWN = ", basis: measured, source: ultrasonic gauge"


def found(folder: Path, rule: str, **changes: str) -> dict[str, Requirement]:
    """Every requirement by the end of its id, after `cage.requirement.`."""
    said = {
        "tube": TUBE,
        "radius": "6 in",
        "path": KNOWN,
        "member": KNOWN,
        "force": "1 kN",
        "places": KNOWN,
    } | changes
    (folder / "build.yaml").write_text(TEXT.format(rule=rule, **said), "utf-8")
    reading = read_folder(folder)
    assert reading.build is not None, reading.problems
    cage = reading.build.section(Cage)
    assert cage is not None
    geometry = expand(cage)
    made = requirements(cage, geometry, stock_of(cage, geometry))
    return {r.id.removeprefix("cage.requirement."): r for r in made}


def states(found: dict[str, Requirement]) -> dict[str, str]:
    return {name: rule.state for name, rule in found.items()}


@pytest.mark.parametrize(
    ("material", "wall", "state"),
    [
        ("4130_normalized", "0.083 in", "conforms"),
        ("a500_grade_b", "0.083 in", "departs"),
        ("a500_grade_b", "0.120 in", "conforms"),
        ("fsae_steel", "0.120 in", "departs"),
    ],
)
def test_a_size_may_be_allowed_in_some_materials_only(
    tmp_path: Path, material: str, wall: str, state: str
) -> None:
    """As sheets ask for a thicker wall of mild steel: one size of the two is no size of the other metal."""
    sizes = (
        "sizes: [{outer: 1.75 in, wall: 0.083 in, materials: [4130_normalized]}, "
        "{outer: 1.75 in, wall: 0.120 in, materials: [4130_normalized, a500_grade_b]}]"
    )
    tube = TUBE.replace("4130_normalized, forming: seamless", f"{material}, forming: welded")
    if material == "4130_normalized":
        tube = TUBE
    made = found(tmp_path, sizes, tube=tube.replace("0.095 in", wall), path="", member="")
    hoop = made["hoop.rule.size"]
    assert hoop.state == state
    assert isinstance(hoop.prescribed, str)
    assert hoop.prescribed.count(" of ") == 2
    assert ("no size is allowed in its material" in hoop.reason) == (material == "fsae_steel")


@pytest.mark.parametrize(
    ("sizes", "state"),
    [
        ("[{outer: 1.75 in, wall: 0.095 in}]", "conforms"),
        ("[{outer: 44.45 mm, wall: 2.413 mm}]", "conforms"),  # the same in the other system
        ("[{outer: 1.75 in, wall: 0.096 in}]", "departs"),
        ("[{outer: 1.76 in, wall: 0.050 in}]", "departs"),
        ("[{outer: 2 in, wall: 0.065 in}, {outer: 1.5 in, wall: 0.095 in}]", "conforms"),
        ("[{outer: 2 in, wall: 0.065 in}, {outer: 1.5 in, wall: 0.120 in}]", "departs"),
    ],
)
def test_one_of_the_sizes_must_fit_in_both_measures(tmp_path: Path, sizes: str, state: str) -> None:
    made = found(tmp_path, f"sizes: {sizes}")
    assert states(made) == {
        "hoop.rule.size": state,
        "stay.rule.size": state,
        "stay_twin.rule.size": state,
    }


@pytest.mark.parametrize(("slack", "state"), [("0 %", "departs"), ("3 %", "conforms")])
def test_a_measured_wall_counts_before_the_nominal_one(
    tmp_path: Path, slack: str, state: str
) -> None:
    """0.093 in of 0.095 in is 2.1 % below."""
    rule = f"sizes: [{{outer: 1.75 in, wall: 0.095 in}}], wall_tolerance: {slack}"
    made = found(tmp_path, rule, member=f"{KNOWN}, measured_wall: 0.093 in")
    assert made["stay.rule.size"].state == state
    assert made["stay.rule.size"].found == "1.75 in × 0.093 in (measured wall)"
    assert made["stay_twin.rule.size"].state == "conforms"  # nobody measured the other side's
    assert made["stay_twin.rule.size"].found == "1.75 in × 0.095 in (nominal wall)"


def test_a_measured_wall_that_conforms_by_a_hair_says_so(tmp_path: Path) -> None:
    wall = f"{KNOWN}, measured_wall: {{value: 0.0955 in, plus_minus: 0.001 in}}"
    rule = found(tmp_path, "sizes: [{outer: 1.75 in, wall: 0.095 in}]", member=wall)[
        "stay.rule.size"
    ]
    assert rule.state == "conforms"
    assert "within the ±" in rule.reason


def test_material_and_making(tmp_path: Path) -> None:
    rule = "materials: [a513_1020_dom], forming: [drawn over mandrel]"
    made = found(tmp_path, rule)
    assert made["hoop.rule.material"].state == "departs"
    assert "no strength" in made["hoop.rule.material"].reason
    assert made["hoop.rule.forming"].state == "departs"
    unsaid = found(tmp_path, rule, tube=TUBE.replace(", forming: seamless", ""))
    assert unsaid["hoop.rule.forming"].state == "open"
    fits = found(tmp_path, "materials: [4130_normalized], forming: [seamless]")
    assert set(states(fits).values()) == {"conforms"}


def test_joints_that_nobody_measured_prove_no_length(tmp_path: Path) -> None:
    """As drawn the hoop conforms; the stay departs whatever its joints rest on."""
    made = found(tmp_path, "longest: 40 in", places="")
    hoop = made["hoop.rule.longest"]
    assert (hoop.state, made["stay.rule.longest"].state) == ("open", "departs")
    assert hoop.reason.endswith(
        "cage.nodes.a.x, cage.nodes.a.y, cage.nodes.a.z, 3 more are assumed: measure, or state "
        "where the value comes from"
    )


def test_the_longest_run_is_between_tubes_that_meet_it(tmp_path: Path) -> None:
    """The stay runs 49.0 in from the middle of the bend; the hoop's top 20 − 12 + 9.42 in."""
    made = found(tmp_path, "longest: 40 in")
    assert states(made) == {
        "hoop.rule.longest": "conforms",
        "stay.rule.longest": "departs",
        "stay_twin.rule.longest": "departs",
    }


@pytest.mark.parametrize(("radius", "state"), [("5.25 in", "conforms"), ("5.2 in", "departs")])
def test_a_bend_is_held_against_the_diameter(tmp_path: Path, radius: str, state: str) -> None:
    """Three times 1.75 in is 5.25 in; straight tubes have no bend."""
    made = found(tmp_path, "least_bend: 3", radius=radius)
    assert states(made) == {"hoop.rule.bend": state}


def test_walls_and_holes_that_nobody_stated_are_open(tmp_path: Path) -> None:
    made = found(
        tmp_path,
        "wall_measured: true, inspection_hole: 1/8 in",
        member=f"{KNOWN}, measured_wall: 0.095 in, inspection_hole: 3 mm",
        path=f"{KNOWN}, inspection_hole: 1/8 in",
    )
    assert states(made) == {
        "hoop.rule.measured": "open",
        "hoop.rule.hole": "conforms",
        "stay.rule.measured": "conforms",
        "stay.rule.hole": "departs",  # 3 mm is less than 1/8 in
        "stay_twin.rule.measured": "open",
        "stay_twin.rule.hole": "open",  # a hole in one tube is none in its twin
    }
    twin = found(
        tmp_path,
        "inspection_hole: 1/8 in",
        member=f"{KNOWN}, inspection_hole: 3 mm, inspection_hole_twin: 1/8 in",
        path=f"{KNOWN}, inspection_hole: 1/8 in",
    )
    assert states(twin)["stay_twin.rule.hole"] == "conforms"


def test_what_is_only_assumed_proves_nothing(tmp_path: Path) -> None:
    """Large enough as stated, and nobody says how that is known; what is too small departs all the same."""
    rule = (
        "sizes: [{outer: 1.75 in, wall: 0.095 in}], least_bend: 3, wall_measured: true, "
        "inspection_hole: 1/8 in"
    )
    bare = TUBE.replace(", basis: rated, source: mill certificate", "")
    hole = ", measured_wall: 0.096 in, inspection_hole: 1/8 in"
    made = found(tmp_path, rule, tube=bare, path=hole, member=hole)
    assert set(states(made).values()) == {"open"}
    assert "cage.tubes.main.outer" in made["hoop.rule.size"].reason
    thin = found(tmp_path, rule, tube=bare.replace("0.095", "0.083"), path="", member="")
    assert thin["hoop.rule.size"].state == "departs"
    judged = hole.replace("0.096 in", "{value: 0.096 in, basis: estimated}")
    assert found(tmp_path, rule, path=judged)["hoop.rule.measured"].state == "open"


# ------------------------------------------------------------------------------ never a margin


def test_no_load_changes_what_conforms(tmp_path: Path) -> None:
    rule = "sizes: [{outer: 1.75 in, wall: 0.120 in}], longest: 40 in, wall_measured: true"
    assert found(tmp_path, rule, force="1 N") == found(tmp_path, rule, force="900 kN")


@pytest.mark.parametrize("held", ["supports", "inertia"])
def test_what_holds_the_frame_changes_no_length(tmp_path: Path, held: str) -> None:
    """A sill in two parts of 20 in that meet over a mount: no tube meets it there, and what holds the
    frame in one load case or another is no matter of the rule sheet.
    """
    nodes = "".join(
        f"    - {{id: {name}, x: {x} in, y: 0 in, z: {z} in{KNOWN}}}\n"
        for name, x, z in (("a", 0, 0), ("b", 20, 0), ("c", 40, 0), ("top", 20, 30))
    )
    tubes = "".join(
        f"    - {{id: {a}{b}, from: {a}, to: {b}, tube: main, group: sill}}\n"
        for a, b in (("a", "b"), ("b", "c"), ("a", "top"), ("c", "top"))
    )
    text = f"""format: 1
vehicle: {{name: Wren}}
cage:
  nodes:
{nodes}  tubes: [{TUBE}]
  members:
{tubes}  supports: [{{nodes: [a, b, c], held: pinned}}]
  masses: [{{id: car, at: [a, b, top], mass: 900 kg}}]
  load_cases: [{{id: one, held_by: {held}, loads: [{{at: [top], force: 1 kN, direction: {{z: -1}}}}]}}]
  prescribed: [{{id: rule, groups: [sill], longest: 30 in}}]
"""
    (tmp_path / "build.yaml").write_text(text, "utf-8")
    reading = read_folder(tmp_path)
    assert reading.build is not None, reading.problems
    cage = reading.build.section(Cage)
    assert cage is not None
    made = requirements(cage, expand(cage), stock_of(cage, expand(cage)))
    assert {r.id.split(".")[2]: r.state for r in made} == dict.fromkeys(
        ("ab", "bc", "atop", "ctop"), "departs"
    )


def test_the_comparison_can_reach_no_margin() -> None:
    """It imports nothing that computes a force, a strength or a check."""
    tree = ast.parse(Path(cage_conformance.__file__).read_text("utf-8"))
    modules = {n.module for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
    assert modules == {
        "__future__",
        "collections.abc",
        "dataclasses",
        "buildspec.quantities",
        "buildspec.sections.cage",
        "generator.subjects.cage_geometry",
        "generator.subjects.cage_stock",
        "generator.subjects.proven",
        "generator.vocabulary",
    }
