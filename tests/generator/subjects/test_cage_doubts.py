"""What a spread does to the verdicts of a cage: a cantilever of 1 m, so that statics give the shares.

40 × 2 mm, built in: S = π (D⁴ − d⁴) / 32 D = 2160.5 mm³, and 1 N across its tip bends the weld by 1 N·m. A
half-width stands for a rectangular distribution: u is its √3rd part (JCGM 100:2008, 4.3.7), and what falls
short is read off the normal distribution of what is left (statistics.NormalDist).
"""

from __future__ import annotations

import math
from pathlib import Path
from statistics import NormalDist

import pytest

from generator.evaluation import Evaluation
from generator.vocabulary import Check
from tests.generator.subjects.cage_builds import cage, outcome, solve
from tests.generator.subjects.scenes import check

SECTION = math.pi * (0.040**4 - 0.036**4) / (32 * 0.040)
ROOT = math.sqrt(3.0)
ACROSS = "{{at: [b], {}, direction: {{y: 1}}}}"


def arm(
    folder: Path,
    *loads: str,
    yields: str = "240 MPa",
    welded: str = "welded_yield: 115 MPa, ",
    more: tuple[str, ...] = (),
    end: str = "y: 0 m",
    also: str = "",
) -> Evaluation:
    """The arm under cases of one load each."""
    ultimate = "welded_ultimate: 175 MPa" if welded else "poisson: 0.3"
    metal = (
        f"{{id: al, modulus: 69 GPa, density: 2700 kg/m³, yield_strength: {yields}, ultimate_strength: "
        f"290 MPa, {welded}{ultimate}}}"
    )
    text = cage(
        {"a": "0 m, 0 m, 1 m", "b": "1 m, 0 m, 1 m"},
        ("{id: m, from: a, to: b, tube: t}",),
        tuple(f"{{id: c{n}, title: Case {n}, loads: [{x}]{also}}}" for n, x in enumerate(loads)),
        supports=("{nodes: [a], held: fixed}",),
        tubes=("{id: t, outer: 40 mm, wall: 2 mm, material: al}",),
        material=metal,
        more=("beams: euler", *more),
    ).replace("{id: b, x: 1 m, y: 0 m", f"{{id: b, x: 1 m, {end}")
    return solve(folder, text)


def strength(found: Evaluation) -> Check:
    return check(found, "cage.check.member.m")


def likely(used: float, demand: float, strong: float = 0.0) -> float:
    """P(short) of a share with those relative standard uncertainties of its load and its strength."""
    return NormalDist(1.0 - used, math.hypot(used * demand, strong)).cdf(0.0)


def used(force: float, strength: float = 115e6) -> float:
    """Stress at the weld over the strength there: bending, and the peak of the transverse stress."""
    outer, inner = 0.040, 0.036
    across = 16 * force * (outer**2 + outer * inner + inner**2)
    shear = across / (3 * math.pi * (outer**4 - inner**4))
    return math.hypot(force / SECTION, math.sqrt(3.0) * shear) / strength


@pytest.mark.parametrize(
    ("size", "relative"),
    [
        ("force: {value: 230 N, plus_minus: 20 %}", 0.2),
        ("factor: {value: 1, plus_minus: 0.2}, items: [lump]", 0.2),
        ("factor: 1, items: [loose]", 0.1),
        ("factor: {value: 1, plus_minus: 0.2}, items: [loose]", math.hypot(0.2, 0.1)),
    ],
    ids=["a force", "a factor", "a mass", "both"],
)
def test_every_part_of_a_load_has_its_spread(tmp_path: Path, size: str, relative: float) -> None:
    mass = 230.0 / 9.80665
    sure, loose = f"{mass!r} kg", f"{{value: {mass!r} kg, plus_minus: 10 %}}"
    lines = ["", "mass:", "  items:"]
    for name, kg in (("lump", sure), ("loose", loose)):
        lines.append(f"    - {{id: {name}, name: {name}, x: 1 m, y: 0 m, z: 1 m, mass: {kg}}}")
    section = (*lines, "  conditions: [{id: run}]", "  design_condition: run")
    found = arm(tmp_path, ACROSS.format(size), more=("\n".join(section),))
    probability = strength(found).probability_short
    assert probability == pytest.approx(likely(used(230.0), relative / ROOT), rel=1e-4)


@pytest.mark.parametrize(("weighs", "relative"), [("true", 0.2), ("false", 0.0)])
def test_what_weighs_has_its_spread(tmp_path: Path, weighs: str, relative: float) -> None:
    """A mass that is fixed to the tip, where its weight acts in the case."""
    masses = "masses: [{id: w, at: [b], mass: {value: 3 kg, plus_minus: 20 %}}]"
    load = ACROSS.format("force: 100 N")
    found = arm(tmp_path, load, more=(masses,), also=f", weight: {weighs}")
    made = strength(found)
    assert made.demand.value is not None
    off = made.demand.standard_uncertainty / made.demand.value
    assert off == pytest.approx(relative / ROOT, rel=1e-9)


@pytest.mark.parametrize(
    ("welded", "more", "relative"),
    [
        ("welded_yield: {value: 115 MPa, plus_minus: 23 MPa}, ", (), 0.2),
        ("", ("weld_share: {value: 0.479166667, plus_minus: 0.0958333333}",), 0.2),
        ("", ("welds: [{nodes: [a], yield_strength: {value: 115 MPa, plus_minus: 23 MPa}}]",), 0.2),
        ("welded_yield: 115 MPa, ", (), 0.0),
    ],
    ids=["of the material", "a share of the tube's", "of the joint", "none"],
)
def test_beside_a_weld_the_spread_is_that_of_the_weld(
    tmp_path: Path, welded: str, more: tuple[str, ...], relative: float
) -> None:
    """And not that of the tube as delivered, which is ± 0 here, or ± 48 MPa where the weld is sure."""
    loose = "{value: 240 MPa, plus_minus: 48 MPa}"
    yields = "240 MPa" if relative else loose
    load = ACROSS.format("force: 230 N")
    probability = strength(
        arm(tmp_path, load, yields=yields, welded=welded, more=more)
    ).probability_short
    expected = likely(used(230.0), 0.0, relative / ROOT) if relative else None
    assert probability == (expected if expected is None else pytest.approx(expected, rel=1e-4))


def test_the_case_that_is_likeliest_to_be_too_much_counts(tmp_path: Path) -> None:
    """A force of 225 N ± half against one of 230 N that is known."""
    sure, loose = "force: 230 N", "force: {value: 225 N, plus_minus: 50 %}"
    found = strength(arm(tmp_path, ACROSS.format(sure), ACROSS.format(loose)))
    assert found.margin == pytest.approx(1.0 / used(230.0) - 1.0, rel=1e-4)
    assert found.basis_of_verdict.startswith("Case 0")
    assert "Case 1" in found.basis_of_verdict
    assert found.probability_short == pytest.approx(likely(used(225.0), 0.5 / ROOT), rel=1e-4)
    alone = strength(arm(tmp_path, ACROSS.format(loose)))
    assert found.probability_short == pytest.approx(alone.probability_short, rel=1e-6)


def test_a_critical_load_factor_has_the_spread_of_load_and_stiffness(tmp_path: Path) -> None:
    """π² E I / 4 L² of the load; a load 20 % larger is 20 % more of it."""
    push = "{at: [b], force: {value: 1 kN, plus_minus: 20 %}, direction: {x: -1}}"
    found = check(arm(tmp_path, push), "cage.check.critical.c0")
    critical = math.pi**2 * 69e9 * SECTION * 0.020 / 4 / 1e3
    assert found.capacity.value == pytest.approx(critical, rel=1e-3)
    assert found.demand.value is not None
    relative = found.demand.standard_uncertainty / found.demand.value
    assert relative == pytest.approx(0.2 / ROOT, rel=1e-9)
    assert found.probability_short is not None


def test_results_say_what_their_force_is_off_by(tmp_path: Path) -> None:
    """The very result that the page shows beside the force."""
    load = ACROSS.format("force: {value: 230 N, plus_minus: 20 %}")
    force = next(r for r in outcome(arm(tmp_path, load)).results if r.id.endswith(".force_1"))
    assert force.standard_uncertainty == pytest.approx(46.0 / ROOT, rel=1e-9)


# ------------------------------------------------------------------ clearances

KNEE = (
    "keep_out: [{{id: knee, centre: {{x: 0.5 m, y: 0.1 m, z: 1 m}}, radius: {}, clearance: 27 mm}}]"
)
HALFWAY = 0.25 * 2.5 / 6 / (69e9 * SECTION * 0.020)
"""How far a cantilever of 1 m moves halfway, m for each N at its tip: x² (3 L − x) / 6 E I."""


@pytest.mark.parametrize(
    ("end", "radius", "force", "off"),
    [
        ("y: {value: 0 m, plus_minus: 6 mm}", "50 mm", "force: 60 N", 6e-3),
        ("y: 0 m", "{value: 50 mm, plus_minus: 6 mm}", "force: 60 N", 6e-3),
        (
            "y: 0 m",
            "50 mm",
            "force: {value: 60 N, plus_minus: 90 %}",
            0.9 * 60 * HALFWAY,
        ),
        (
            "y: {value: 0 m, plus_minus: 6 mm}",
            "50 mm",
            "force: {value: 60 N, plus_minus: 90 %}",
            math.hypot(6e-3, 0.9 * 60 * HALFWAY),
        ),
        ("y: 0 m", "50 mm", "force: 60 N", 0.0),
    ],
    ids=["a joint", "the body", "the load", "joint and load", "nothing"],
)
def test_a_clearance_is_as_sure_as_what_it_lies_between(
    tmp_path: Path, end: str, radius: str, force: str, off: float
) -> None:
    """100 mm between middles, less 50 and 20 mm, less what 60 N move the arm halfway: 2.1 mm."""
    found = arm(tmp_path, ACROSS.format(force), end=end, more=(KNEE.format(radius),))
    made = check(found, "cage.check.clearance.knee")
    left = 0.030 - 60 * HALFWAY
    assert made.capacity.value == pytest.approx(left, rel=1e-3)
    assert made.capacity.standard_uncertainty == pytest.approx(off / ROOT, rel=5e-3)
    short = NormalDist(left - 0.027, off / ROOT).cdf(0.0) if off else None
    assert made.probability_short == (short if short is None else pytest.approx(short, rel=1e-2))


def test_a_case_that_leaves_more_may_leave_too_little_sooner(tmp_path: Path) -> None:
    """50 N ± 90 % against 60 N that are known."""
    loads = ("force: 60 N", "force: {value: 50 N, plus_minus: 90 %}")
    found = arm(tmp_path, *map(ACROSS.format, loads), more=(KNEE.format("50 mm"),))
    made = check(found, "cage.check.clearance.knee")
    assert made.capacity.value == pytest.approx(0.030 - 60 * HALFWAY, rel=1e-3)
    short = NormalDist(0.003 - 50 * HALFWAY, 0.9 * 50 * HALFWAY / ROOT).cdf(0.0)
    assert made.probability_short == pytest.approx(short, rel=1e-2)
    assert "Case 1" in made.basis_of_verdict
