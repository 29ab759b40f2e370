"""Walls, materials, welds, loads, masses and spaces of a cage, as the description asks for them."""

from __future__ import annotations

import datetime
import math
from pathlib import Path

import numpy as np
import pytest

from buildspec.build import Build
from buildspec.read import read_folder
from buildspec.schema import at
from buildspec.sections.cage import Cage
from buildspec.sections.cage_loads import POINTED, WEIGHTS
from buildspec.sections.cage_words import MATERIALS, SHIPPED
from generator.evaluation import evaluate, load_subjects
from generator.subjects.cage_geometry import Geometry, expand
from generator.subjects.cage_loads import Case, carried, cases
from generator.subjects.cage_spaces import spaces
from generator.subjects.cage_stock import as_welded, stock_of, stuff_of, wall_of
from generator.subjects.subject import Given
from generator.tables.load_cases import load_cases
from generator.tables.materials import materials
from tests.generator.subjects.cage_builds import cage as beams
from tests.generator.subjects.cage_builds import solve
from tests.generator.subjects.scenes import check

INCH, POUND, KSI = 0.0254, 0.45359237, 6894757.293168
DAY = datetime.date(2026, 5, 1)

TEXT = """format: 1
vehicle: {{name: Wren}}
mass:
  items:
    - {{id: frame, name: Frame, mass: {{value: 200 lb, plus_minus: 10 lb}}, x: 60 in, y: 0 in, z: 10 in}}
    - {{id: driver, name: Driver, mass: 180 lb, x: 60 in, y: 0 in, z: 10 in}}
    - {{id: seat, name: Seat, mass: 10 lb, count: 2, x: 60 in, y: 0 in, z: 10 in}}
    - {{id: tubes, name: Tubes, mass: 40 lb, x: 60 in, y: 0 in, z: 10 in}}
  conditions: [{{id: run}}]
  design_condition: run
cage:
  mirror: true
  wall_used: {wall_used}
  nodes:
    - {{id: a, x: 0 in, y: 10 in, z: 0 in}}
    - {{id: b, x: 0 in, y: 10 in, z: 30 in}}
    - {{id: d, x: 30 in, y: 10 in, z: 0 in}}
  tubes:
    - {{id: main, outer: 1.75 in, wall: 0.100 in, wall_tolerance: 10 %, material: 4130_normalized}}
    - id: gauged
      outer: 1.75 in
      wall: 0.100 in
      wall_tolerance: 10 %
      measured_wall: {{value: 0.097 in, plus_minus: 0.002 in}}
      material: 6061_t6
  materials:
    - id: own
      modulus: 200 GPa
      density: 7850 kg/m³
      yield_strength: 400 MPa
      ultimate_strength: 500 MPa
      welded_yield: 250 MPa
  members:
    - {{id: post, from: a, to: b, tube: main, measured_wall: 0.080 in}}
    - {{id: stay, from: b, to: d, tube: gauged}}
    - {{id: sill, from: a, to: d, tube: main}}
    - {{id: cross, from: b, to: b_twin, tube: main}}
  supports: [{{nodes: [a, a_twin, d, d_twin]}}]
  node_sets: [{{id: top, nodes: [b], twins: true}}, {{id: feet, nodes: [a, d], twins: true}}]
{more}
"""
PULL = "  load_cases: [{id: one, loads: [{at: [b], force: 1 kN, direction: {z: -2}}]}]\n"


def read(
    folder: Path, more: str = PULL, wall_used: str = "nominal"
) -> tuple[Build, Cage, Geometry]:
    (folder / "build.yaml").write_text(TEXT.format(more=more, wall_used=wall_used), "utf-8")
    build = read_folder(folder).build
    assert build is not None, read_folder(folder).problems
    cage = build.section(Cage)
    assert cage is not None
    return build, cage, expand(cage)


def found_cases(folder: Path, more: str) -> tuple[Case, ...]:
    build, cage, geometry = read(folder, more)
    mass = evaluate(build, as_of=DAY, subjects=load_subjects(("mass",))).outcomes
    given = Given(DAY, mass)
    return cases(cage, geometry, build, given, carried(cage, geometry, build, given))


# ------------------------------------------------------------------------------------- walls


@pytest.mark.parametrize(
    ("used", "walls"),
    [
        ("nominal", [0.100, 0.100, 0.100, 0.100]),
        ("measured", [0.080, 0.090, 0.097, 0.097]),
        ("least", [0.080, 0.090, 0.090, 0.090]),
    ],
)
def test_the_wall_that_is_asked_for(tmp_path: Path, used: str, walls: list[float]) -> None:
    """Post, its twin (which nobody measured), stay and its twin (whose stock was measured)."""
    _, cage, geometry = read(tmp_path, wall_used=used)
    found = stock_of(cage, geometry).walls
    assert [round(w.si / INCH, 9) for w in found[:4]] == walls


@pytest.mark.parametrize(
    ("known", "wall", "verdict"),
    [
        ("measured_wall: 1.5 mm", 1.5, "short"),
        ("wall_tolerance: 10 %", 2.7, "short"),
        ("wall_tolerance: 5 %, measured_wall: 2.7 mm", 2.7, "short"),
        ("title: size", 3.0, "holds"),
    ],
)
def test_what_is_known_of_a_wall_counts_without_asking(
    tmp_path: Path, known: str, wall: float, verdict: str
) -> None:
    """A cantilever of 1 m under 1,450 N: σ = M r / I is 482.8 MPa with the whole wall of 3 mm and 524.3 MPa
    with 2.7 mm, against 500 MPa. Only a wall of which nothing is known counts as nominal, and says so."""
    text = beams(
        {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m"},
        ("{id: bar, from: a, to: b, tube: t}",),
        ("{id: c, loads: [{at: [b], force: 1450 N, direction: {z: -1}}]}",),
        supports=("{nodes: [a]}",),
        tubes=(f"{{id: t, outer: 40 mm, wall: 3 mm, material: steel, {known}}}",),
        material="{id: steel, modulus: 200 GPa, density: 7850 kg/m³, yield_strength: 500 MPa, "
        "ultimate_strength: 600 MPa}",
    )
    found = solve(tmp_path, text)
    got = check(found, "cage.check.member.bar")
    inner = 0.04 - 2 * wall / 1000
    stress = 1450.0 * 0.02 / (math.pi / 64 * (0.04**4 - inner**4))
    assert got.demand.value == pytest.approx(
        stress / 500e6, rel=1e-3
    )  # shear at the wall adds 0.04 %
    assert got.verdict == verdict
    said = [a.id for a in found.outcomes["cage"].assumptions if a.id.startswith("cage.wall.")]
    assert said == (["cage.wall.t"] if wall == 3.0 else [])


def test_a_wall_says_what_it_depends_on(tmp_path: Path) -> None:
    _, cage, geometry = read(tmp_path, wall_used="measured")
    post, twin, stay, _ = stock_of(cage, geometry).walls[:4]
    assert post.inputs == ("cage.members.post.measured_wall",)
    assert twin.inputs == ("cage.tubes.main.wall", "cage.tubes.main.wall_tolerance")
    assert stay.standard_uncertainty == pytest.approx(0.002 * INCH / math.sqrt(3))
    assert wall_of(cage, cage.tubes[0]).words == "nominal less 10 %"


# --------------------------------------------------------------------------------- materials


def test_the_words_of_the_tables_are_those_the_reader_knows() -> None:
    assert set(materials()) == MATERIALS
    tube = at(("cage", "tubes", 0, "material"))
    assert tube is not None
    assert set(tube["examples"]) == MATERIALS
    assert {word: tuple(case.parts) for word, case in load_cases().items()} == dict(SHIPPED)
    parts = [(word, part) for word, case in load_cases().items() for part in case.parts.values()]
    pointed = {word: part.direction for word, part in parts if part.direction}
    assert set(pointed) == set(POINTED)
    for word, way in pointed.items():
        assert np.array(POINTED[word]) / np.linalg.norm(POINTED[word]) == pytest.approx(way)
    assert {word for word, part in parts if part.factor} == set(WEIGHTS)


@pytest.mark.parametrize("word", sorted(MATERIALS))
def test_nothing_of_the_table_of_materials_is_from_memory(word: str) -> None:
    row = materials()[word]
    assert {"modulus", "poisson", "density", "yield_strength", "ultimate_strength"} <= set(
        row.values
    )
    assert all(known.decides and known.source for known in row.values.values())
    assert row.values["yield_strength"].si < row.values["ultimate_strength"].si
    for name in ("yield", "ultimate"):
        welded = row.values.get(f"welded_{name}")
        assert welded is None or welded.si < row.values[f"{name}_strength"].si


def test_strength_beside_a_weld_is_the_most_particular_that_is_known(tmp_path: Path) -> None:
    welds = "  welds: [{nodes: [a], yield_strength: 333 MPa}, {nodes: [d], welded: false}]\n"
    _, cage, geometry = read(tmp_path, welds + PULL)
    joinings = stock_of(cage, geometry).joinings
    at = {name: joinings[geometry.joint(name)] for name in "abd"}
    steel, alloy, own = (stuff_of(cage, w) for w in ("4130_normalized", "6061_t6", "own"))
    assert as_welded(cage, steel, at["a"])[0].si == 333e6  # the joint's own
    assert as_welded(cage, steel, at["a"])[1].si == pytest.approx(0.85 * 95 * KSI)
    assert [p.si for p in as_welded(cage, alloy, at["b"])] == [
        115e6,
        pytest.approx(24 * KSI),
    ]  # the material's
    assert as_welded(cage, own, at["b"])[0].si == 250e6
    assert as_welded(cage, own, at["b"])[1].si == pytest.approx(0.85 * 500e6)
    assert as_welded(cage, steel, at["b"])[0].si == pytest.approx(0.85 * 75 * KSI)
    assert as_welded(cage, steel, at["d"])[0].si == pytest.approx(75 * KSI)  # nothing is welded


# ------------------------------------------------------------------------------------- loads


def test_a_force_points_where_it_is_told_and_is_shared(tmp_path: Path) -> None:
    more = (
        "  load_cases: [{id: one, loads: [{at: [top, a], shares: [3, 1], force: 8 kN, "
        "direction: {x: 3, z: -4}}]}]\n"
    )
    (case,) = found_cases(tmp_path, more)
    (pull,) = case.pulls
    assert pull.force == pytest.approx((4800.0, 0.0, -6400.0))
    assert pull.shares.tolist() == pytest.approx([3 / 8, 3 / 8, 1 / 4])
    assert case.criterion == "yield"  # the stricter one where nothing is said


@pytest.mark.parametrize("small", ["3e-200", "3e-320"])
def test_only_the_ratio_of_a_direction_counts(tmp_path: Path, small: str) -> None:
    """However small its parts are: their squares are 0."""
    more = f"  load_cases: [{{id: one, loads: [{{at: [a], force: 8 kN, direction: {{x: {small}}}}}]}}]\n"
    (case,) = found_cases(tmp_path, more)
    assert case.pulls[0].force == pytest.approx((8000.0, 0.0, 0.0))


def test_without_shares_every_joint_takes_as_much(tmp_path: Path) -> None:
    more = "  load_cases: [{id: one, loads: [{at: [top, a], force: 9 kN, direction: {z: -1}}]}]\n"
    (case,) = found_cases(tmp_path, more)
    assert case.pulls[0].shares.tolist() == pytest.approx([1 / 3] * 3)


def test_a_multiple_of_a_weight(tmp_path: Path) -> None:
    """By hand: 6 × 440 lb, and 12 × (180 + 2 × 10) lb, in standard gravity."""
    more = """  load_cases:
    - {id: roof, loads: [{at: [top], factor: 6, condition: run, direction: {z: -1}}]}
    - {id: seat, loads: [{at: [a], factor: 12, items: [driver, seat], direction: {z: -1}}]}
"""
    roof, seat = (case.pulls[0] for case in found_cases(tmp_path, more))
    assert roof.size.value == pytest.approx(6 * 440 * POUND * 9.80665)
    assert seat.size.value == pytest.approx(12 * 200 * POUND * 9.80665)
    assert roof.size.standard_uncertainty == pytest.approx(6 * 10 / math.sqrt(3) * POUND * 9.80665)
    assert "mass.items.frame.mass" in roof.inputs
    assert roof.step is not None
    assert roof.step.value == roof.size.value


def test_a_force_that_no_page_computes_leaves_the_case_open(tmp_path: Path) -> None:
    more = (
        "  load_cases: [{id: one, loads: [{at: [b], result: parachutes.main.design_load, "
        "direction: {x: 1}}]}]\n"
    )
    (case,) = found_cases(tmp_path, more)
    assert case.pulls[0].size.value is None
    assert "parachutes.main.design_load" in case.absent


def test_a_mass_is_no_force(tmp_path: Path) -> None:
    more = "  load_cases: [{id: one, loads: [{at: [b], result: mass.condition.run.total, direction: {x: 1}}]}]\n"
    assert found_cases(tmp_path, more)[0].absent


def test_shipped_cases_have_the_published_sizes(tmp_path: Path) -> None:
    """50, 60 and 90 kN have a resultant of 119.2 kN (derived); 3,000 lbf is printed as 13,345 N (an
    agency's letter of interpretation); three times the weight.
    """
    more = """  load_cases:
    - {id: hoop, shipped: roll_structure_main, loads: [{at: [b], part: top}]}
    - id: belts
      shipped: belt_anchors
      loads: [{at: [a], part: lap, direction: {x: -1}}, {at: [b], part: shoulder, direction: {x: -1}}]
    - {id: roof, shipped: roof_crush, loads: [{at: [b], part: plate, condition: run, direction: {z: -1}}]}
"""
    hoop, belts, roof = found_cases(tmp_path, more)
    assert hoop.pulls[0].size.value == pytest.approx(119.2e3, abs=50.0)
    assert hoop.pulls[0].force == pytest.approx((60e3, 50e3, -90e3))
    assert [p.size.value for p in belts.pulls] == pytest.approx([13345.0] * 2, abs=0.5)
    assert roof.pulls[0].size.value == pytest.approx(3 * 440 * POUND * 9.80665)
    assert (hoop.criterion, belts.criterion, roof.criterion) == ("ultimate",) * 3
    assert all(case.source for case in (hoop, belts, roof))


def test_a_load_beside_the_parts_of_a_shipped_case_adds(tmp_path: Path) -> None:
    """49 CFR 571.210, S4.2.2: 3,000 lbf and 3,000 lbf at once; a seat's pull besides takes nothing away."""
    more = """  load_cases:
    - id: belts
      shipped: belt_anchors
      loads:
        - {at: [a], part: lap, direction: {x: -1}}
        - {at: [b], part: shoulder, direction: {x: -1}}
        - {at: [b], force: 100 N, direction: {x: -1}}
    - id: hoop
      shipped: roll_structure_main
      loads: [{at: [b], part: top, direction: {x: 60, y: -50, z: -90}}]
"""
    belts, hoop = found_cases(tmp_path, more)
    pull = sum(p.force for p in belts.pulls)
    assert pull == pytest.approx((-(2 * 13345.0 + 100.0), 0.0, 0.0), abs=1.0)
    assert hoop.pulls[0].force == pytest.approx((60e3, -50e3, -90e3))


def test_what_is_fixed_to_the_frame_adds_up_to_the_whole(tmp_path: Path) -> None:
    """What no other entry and no tube of the frame accounts for: 440 − 200 − 40 lb."""
    more = """  masses:
    - {id: rest, at: [d, d_twin], rest_of: run}
    - {id: driver, at: [a, a_twin], shares: [1, 3], items: [driver, seat]}
  mass_items: [tubes]
""" + PULL.replace("id: one,", "id: one, held_by: inertia,")
    build, cage, geometry = read(tmp_path, more)
    mass = evaluate(build, as_of=DAY, subjects=load_subjects(("mass",))).outcomes
    found = carried(cage, geometry, build, Given(DAY, mass))
    at = {
        n: float(found.mass[geometry.joint(n)]) / POUND for n in ("a", "a_twin", "d", "d_twin", "b")
    }
    assert at == pytest.approx({"a": 50, "a_twin": 150, "d": 100, "d_twin": 100, "b": 0})


def test_a_mass_that_is_not_known_leaves_the_case_open(tmp_path: Path) -> None:
    more = "  masses: [{id: rest, at: [d], rest_of: run}]\n" + PULL.replace(
        "id: one,", "id: one, held_by: inertia,"
    )
    build, cage, geometry = read(tmp_path, more)
    fixed = carried(cage, geometry, build, Given(DAY))
    (case,) = cases(cage, geometry, build, Given(DAY), fixed)
    assert "mass.condition.run.total" in case.absent


# ------------------------------------------------------------------------------------- spaces


def test_the_helmet_is_the_drivers_unless_the_cage_says_otherwise(tmp_path: Path) -> None:
    helmet = (
        "  helmet: {x: 9 in, y: 1 in, z: 20 in, radius: 6 in, padding: 0.5 in, clearance: 2 in}\n"
    )
    build, cage, _ = read(tmp_path, helmet + PULL)
    (found,) = spaces(cage, build)
    assert (found.centre / INCH).tolist() == pytest.approx([9, 1, 20])
    assert found.padding is not None
    example = read_folder(Path(__file__).parents[3] / "example_build").build
    assert example is not None
    section = example.section(Cage)
    assert section is not None
    first = spaces(section, example)[0]
    assert (first.centre / INCH).tolist() == pytest.approx([103, 0, 27])
    assert "driver.helmet.radius" in first.inputs


def test_a_box_has_its_corners(tmp_path: Path) -> None:
    box = "  keep_out: [{id: knee, least: {x: 1 in, y: 2 in, z: 3 in}, most: {x: 5 in, y: 6 in, z: 7 in}}]\n"
    build, cage, _ = read(tmp_path, box + PULL)
    (found,) = spaces(cage, build)
    assert found.kind == "box"
    assert (np.array((found.low, found.high)) / INCH).ravel().tolist() == pytest.approx(
        [1, 2, 3, 5, 6, 7]
    )
