"""The tubes' mass beside the mass table, and sizes beside a baseline, against arithmetic by hand."""

from __future__ import annotations

import datetime
import math
from pathlib import Path

import pytest

from buildspec.build import Build
from buildspec.read import read_folder
from buildspec.sections.cage import Cage
from generator.evaluation import evaluate, load_subjects
from generator.subjects.cage_equivalence import SAID, rows
from generator.subjects.cage_geometry import expand
from generator.subjects.cage_mass import Weighed, assumptions, weighed
from generator.subjects.cage_stock import stock_of

POUND = 0.45359237
TEXT = """format: 1
vehicle: {{name: Wren}}
mass:
  items:
    - {{id: frame, name: Frame, mass: {mass}, count: {count}, x: 60 in, y: 0 in, z: 10 in}}
    - {{id: car, name: Car, mass: 500 lb, x: 60 in, y: 0 in, z: 10 in}}
  conditions: [{{id: run}}]
  design_condition: run
cage:
  nodes:
    - {{id: a, x: 0 in, y: 0 in, z: 0 in}}
    - {{id: b, x: 30 in, y: 0 in, z: 40 in}}
    - {{id: c, x: 30 in, y: 0 in, z: 0 in}}
  tubes:
    - {{id: main, outer: 1.75 in, wall: {wall}, material: 4130_normalized}}
    - {{id: alloy, outer: 2 in, wall: 0.125 in, material: 6061_t6}}
    - {{id: rack, outer: 1.5 in, wall: 0.120 in, material: a513_1020_dom}}
  members:
    - {{id: one, from: a, to: b, tube: main}}
    - {{id: two, from: b, to: c, tube: alloy}}
    - {{id: three, from: c, to: a, tube: main}}
  supports: [{{nodes: [a, c]}}]
  load_cases: [{{id: one, loads: [{{at: [b], force: 1 kN, direction: {{z: -1}}}}]}}]
  baseline: main
  {more}
"""


def area(outer: float, wall: float) -> float:
    return math.pi / 4 * (outer**2 - (outer - 2 * wall) ** 2)


BY_HAND = 80 * area(1.75, 0.095) * 0.284 + 40 * area(2.0, 0.125) * 0.098
"""Pounds: lengths of 50, 30 and 40 in."""


def read(folder: Path, more: str = "mass_items: [frame]", **changes: str) -> tuple[Build, Cage]:
    said = {"mass": "12 lb", "count": "1", "wall": "0.095 in"} | changes
    (folder / "build.yaml").write_text(TEXT.format(more=more, **said), "utf-8")
    build = read_folder(folder).build
    assert build is not None, read_folder(folder).problems
    cage = build.section(Cage)
    assert cage is not None
    return build, cage


def weigh(folder: Path, more: str = "mass_items: [frame]", **changes: str) -> Weighed:
    build, cage = read(folder, more, **changes)
    geometry = expand(cage)
    return weighed(cage, geometry, stock_of(cage, geometry), build)


def total(build: Build) -> float:
    outcome = evaluate(
        build, as_of=datetime.date(2026, 5, 1), subjects=load_subjects(("mass",))
    ).outcomes["mass"]
    value = outcome.by_id["mass.condition.run.total"].value
    assert value is not None
    return value / POUND


def test_tubes_weigh_length_times_section_times_density(tmp_path: Path) -> None:
    found = weigh(tmp_path)
    assert found.total.value == pytest.approx(BY_HAND * POUND, rel=1e-12)
    assert [line.tube.id for line in found.lines] == ["main", "alloy"]
    assert found.lines[0].count == 2


def test_the_spread_of_the_mass_follows_the_wall(tmp_path: Path) -> None:
    """Twice the mass's change between walls of 0.094 and 0.096 in is its spread for ± 0.001 in, /√3."""
    spread = weigh(tmp_path, wall="{value: 0.095 in, plus_minus: 0.001 in}").total
    low, high = (weigh(tmp_path, wall=w).total.value for w in ("0.094 in", "0.096 in"))
    assert low is not None
    assert high is not None
    assert spread.standard_uncertainty == pytest.approx((high - low) / 2 / math.sqrt(3), rel=1e-4)


@pytest.mark.parametrize(
    ("mass", "items"),
    [
        (f"{BY_HAND * 1.09:.6f} lb", 0),
        (f"{BY_HAND * 1.11:.6f} lb", 1),
        (f"{BY_HAND * 0.89:.6f} lb", 1),
    ],
)
def test_a_difference_over_the_share_is_an_open_item(tmp_path: Path, mass: str, items: int) -> None:
    found = weigh(tmp_path, mass=mass)
    assert len(found.open_items) == items
    assert found.difference is not None
    assert found.difference.value == pytest.approx(
        float(mass.removesuffix(" lb")) / BY_HAND - 1, rel=1e-6
    )


def test_without_items_that_claim_it_nothing_is_compared(tmp_path: Path) -> None:
    found = weigh(tmp_path, "beams: euler")
    assert (found.claimed, found.difference, found.open_items) == (None, None, ())


def test_the_mass_table_takes_the_tubes_mass_only_when_asked(tmp_path: Path) -> None:
    """Two of 12 lb claim to be the frame; fed, each takes half of the tubes' mass."""
    build, _ = read(tmp_path, count="2")
    assert total(build) == pytest.approx(524.0)
    build, cage = read(tmp_path, "mass_items: [frame]\n  feed_mass: true", count="2")
    assert total(build) == pytest.approx(500.0 + BY_HAND, rel=1e-12)
    found = weigh(tmp_path, "mass_items: [frame]\n  feed_mass: true", count="2")
    assert found.open_items == ()
    assert len(list(assumptions(cage, found.total, build))) == 1


def test_sizes_are_compared_with_the_baseline(tmp_path: Path) -> None:
    """By hand, with I ∝ D⁴ − d⁴ and S = 2I/D, over the baseline's."""
    _, cage = read(tmp_path)
    geometry = expand(cage)
    base, alloy, rack = rows(cage, stock_of(cage, geometry))
    assert [r.value for r in base.ratios] == [1.0] * 5
    i_base, i_alloy = 1.75**4 - 1.56**4, 2.0**4 - 1.75**4
    i_rack = 1.5**4 - 1.26**4
    assert alloy.ratios[0].value == pytest.approx(10000 * i_alloy / (29000 * i_base))
    assert alloy.ratios[1].value == pytest.approx(35 * i_alloy / 2.0 / (75 * i_base / 1.75))
    assert rack.ratios[2].value == pytest.approx(65 * i_rack / 1.5 / (95 * i_base / 1.75))
    assert rack.ratios[3].value == pytest.approx(0.120 / 0.095)
    assert "does not conform" in SAID


def test_no_baseline_no_table(tmp_path: Path) -> None:
    (tmp_path / "sub").mkdir()
    _, cage = read(tmp_path)
    text = (tmp_path / "build.yaml").read_text("utf-8").replace("  baseline: main\n", "")
    (tmp_path / "sub" / "build.yaml").write_text(text, "utf-8")
    build = read_folder(tmp_path / "sub").build
    assert build is not None
    bare = build.section(Cage)
    assert bare is not None
    geometry = expand(bare)
    assert rows(bare, stock_of(bare, geometry)) == ()
    assert rows(cage, stock_of(cage, geometry))
