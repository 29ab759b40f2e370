"""Members of a cage against statics by hand: forces, strengths, margins, welds, verdicts."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.formulas.steel import combined
from generator.subjects import cage_stock
from generator.subjects.cage_strength import taken
from tests.generator.subjects.cage_builds import (
    NO_WELD,
    cage,
    detail,
    figures,
    member,
    outcome,
    solve,
)
from tests.generator.subjects.scenes import check

D, T = 1.75 * 0.0254, 0.095 * 0.0254
INNER = D - 2 * T
AREA = math.pi * (D**2 - INNER**2) / 4
SECTION = math.pi * (D**4 - INNER**4) / (32 * D)
PLASTIC = (D**3 - INNER**3) / 6
KSI = 6894757.293168
YIELD, ULTIMATE = 42 * KSI, 58 * KSI

TWO = {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m"}
ONE = ("{id: bar, from: a, to: b, tube: t}",)
BUILT_IN = ("{nodes: [a]}",)


def pull(force: str, criterion: str = "yield", factor: str = "1", **way: float) -> str:
    """One load at b."""
    parts = ", ".join(f"{axis}: {part}" for axis, part in way.items())
    return (
        f"{{id: c, criterion: {criterion}, factor: {factor}, "
        f"loads: [{{at: [b], force: {force}, direction: {{{parts}}}}}]}}"
    )


def bar(case: str, *more: str, **changes: tuple[str, ...]) -> str:
    """A bar of 1 m built in at a, loaded at b."""
    extra = more or (NO_WELD, "beams: euler")
    return cage(TWO, changes.get("members", ONE), (case,), supports=BUILT_IN, more=extra)


# ------------------------------------------------------------------ forces and margins by hand


def test_a_pulled_bar_by_hand(tmp_path: Path) -> None:
    """N/A against the yield strength, and against φ F_y A, which is less and so governs."""
    found = solve(tmp_path, bar(pull("20 kN", x=1)))
    f = figures(found, "bar")
    assert f.axial == pytest.approx(20e3, rel=1e-9)
    assert f.stress == pytest.approx(20e3 / AREA, rel=1e-9)
    assert f.by_stress == pytest.approx(20e3 / AREA / YIELD, rel=1e-9)
    assert f.by_member == pytest.approx(20e3 / (0.9 * YIELD * AREA), rel=1e-9)
    margin = check(found, "cage.check.member.bar").margin
    assert margin == pytest.approx(0.9 * YIELD * AREA / 20e3 - 1, rel=1e-9)


def test_the_axial_force_of_every_case_is_among_the_results(tmp_path: Path) -> None:
    """What a program reads besides the page: each case's own force, not the governing one's."""
    other = pull("7 kN", x=-1).replace("id: c,", "id: d,")
    text = cage(
        TWO, ONE, (pull("20 kN", x=1), other), supports=BUILT_IN, more=(NO_WELD, "beams: euler")
    )
    by_id = outcome(solve(tmp_path, text)).by_id
    assert by_id["cage.member.bar.case.c.axial"].value == pytest.approx(20e3, rel=1e-9)
    assert by_id["cage.member.bar.case.d.axial"].value == pytest.approx(-7e3, rel=1e-9)


def test_a_bent_bar_by_hand(tmp_path: Path) -> None:
    """PL/S at the wall governs where yielding is not permitted; φ F_y Z is further away."""
    found = solve(tmp_path, bar(pull("500 N", z=-1)))
    f = figures(found, "bar")
    assert f.start == pytest.approx(500.0, rel=1e-6)
    assert f.end == pytest.approx(0.0, abs=1e-6)
    shear = 16 * 500 * (D**2 + D * INNER + INNER**2) / (3 * math.pi * (D**4 - INNER**4))
    peak = math.sqrt((500 / SECTION) ** 2 + 3 * shear**2)
    assert f.stress == pytest.approx(peak, rel=1e-6)
    assert f.by_member == pytest.approx(500 / (0.9 * YIELD * PLASTIC), rel=1e-6)
    got = check(found, "cage.check.member.bar")
    assert got.kind == "ratio"
    assert got.margin == pytest.approx(YIELD / peak - 1, rel=1e-6)


@pytest.mark.parametrize("weld", ["true", "false"])
def test_the_moment_between_is_not_that_at_the_end(tmp_path: Path, weld: str) -> None:
    """P (L − x) falls from the wall on, where a weld zone ends at no station of its own or none begins."""
    more = (NO_WELD, "beams: euler", f"welds: [{{nodes: [a, b], welded: {weld}}}]")
    f = figures(solve(tmp_path, bar(pull("500 N", z=-1), *more)), "bar")
    assert f.start == pytest.approx(500.0, rel=1e-6)
    assert 450.0 < f.span < 499.0


def test_the_ultimate_strength_holds_the_stress_and_not_the_member(tmp_path: Path) -> None:
    """Where yielding is permitted the wall may reach F_u; the member stays by F_y Z."""
    f = figures(solve(tmp_path, bar(pull("500 N", "ultimate", z=-1))), "bar")
    assert f.by_stress == pytest.approx(f.stress / ULTIMATE, rel=1e-9)
    assert f.by_member == pytest.approx(500 / (0.9 * YIELD * PLASTIC), rel=1e-6)


def test_a_pressed_bar_has_a_negative_axial_force(tmp_path: Path) -> None:
    assert figures(solve(tmp_path, bar(pull("20 kN", x=-1))), "bar").axial == pytest.approx(-20e3)


@pytest.mark.parametrize("factor", ["1", "1.4", "2"])
def test_the_factor_stands_on_the_load(tmp_path: Path, factor: str) -> None:
    """margin = capacity / (factor × demand) − 1 with demand under the load as written."""
    got = check(solve(tmp_path, bar(pull("20 kN", factor=factor, x=1))), "cage.check.member.bar")
    assert got.factor == float(factor)
    assert got.demand.value == pytest.approx(20e3 / (0.9 * YIELD * AREA), rel=1e-6)
    assert got.margin == pytest.approx(0.9 * YIELD * AREA / 20e3 / float(factor) - 1, rel=1e-6)


@pytest.mark.parametrize(("share", "verdict"), [(0.9995, "holds"), (1.0005, "short")])
def test_the_verdict_turns_where_the_strength_ends(
    tmp_path: Path, share: float, verdict: str
) -> None:
    force = share * 0.9 * YIELD * AREA
    got = check(solve(tmp_path, bar(pull(f"{force!r} N", x=1))), "cage.check.member.bar")
    assert got.verdict == verdict


def test_torsion_and_shear_are_found(tmp_path: Path) -> None:
    """A bent cantilever: the arm's load twists the stem by force × arm."""
    text = cage(
        {**TWO, "tip": "1 m, 0.4 m, 0 m"},
        (*ONE, "{id: arm, from: b, to: tip, tube: t}"),
        ("{id: c, loads: [{at: [tip], force: 300 N, direction: {z: -1}}]}",),
        supports=BUILT_IN,
    )
    f = figures(solve(tmp_path, text), "bar")
    assert f.torsion == pytest.approx(120.0, rel=1e-4)  # second order moves the arm a little
    assert f.shear == pytest.approx(300.0, rel=1e-6)
    assert f.start == pytest.approx(300.0, rel=1e-4)


def test_a_pinned_end_passes_on_no_moment(tmp_path: Path) -> None:
    text = cage(
        {**TWO, "c": "2 m, 0 m, 0 m"},
        (*ONE, "{id: next, from: b, to: c, tube: t, pinned: start}"),
        ("{id: c, loads: [{at: [b], force: 300 N, direction: {z: -1}}]}",),
        supports=("{nodes: [a, c]}",),
    )
    found = solve(tmp_path, text)
    assert figures(found, "next").start == 0.0  # and not what rounding leaves of it
    # two cantilevers of 1 m side by side: each takes half
    assert figures(found, "bar").start == pytest.approx(150.0, rel=1e-6)


def floating(*order: str) -> str:
    """A rod with a heavy mass at each end, pushed amid, its joints typed in any order."""
    nodes = {**TWO, "mid": "0.5 m, 0 m, 0 m", "low": "0.5 m, 0 m, -0.1 m"}
    return cage(
        {name: nodes[name] for name in order},
        (
            "{id: left, from: a, to: mid, tube: t}",
            "{id: right, from: mid, to: b, tube: t}",
            "{id: stub, from: mid, to: low, tube: t}",
        ),
        ("{id: c, held_by: inertia, loads: [{at: [mid], force: 1000 N, direction: {y: 1}}]}",),
        more=(
            NO_WELD,
            "beams: euler",
            "masses: [{id: m, at: [a], mass: 5000 kg}, {id: n, at: [b], mass: 5000 kg}, "
            "{id: k, at: [low], mass: 0.001 kg}]",
        ),
    )


def test_only_its_own_inertia_holds_it(tmp_path: Path) -> None:
    """Each half is a cantilever of F/2 · L/2."""
    found = solve(tmp_path, floating("a", "b", "mid", "low"))
    assert figures(found, "left").end == pytest.approx(250.0, rel=1e-3)  # the rod weighs 0.1 %
    sane = detail(found).sanity[0]
    assert sane.applied == pytest.approx((0.0, 1000.0, 0.0))
    assert sane.supported == pytest.approx((0.0, -1000.0, 0.0))


def test_how_far_a_floating_frame_moves_does_not_hang_on_how_it_is_typed(tmp_path: Path) -> None:
    """Movement is seen from the body itself, and not from whichever joints the solver holds."""
    moved = []
    for number, order in enumerate((("a", "b", "mid", "low"), ("low", "mid", "b", "a"))):
        folder = tmp_path / str(number)
        folder.mkdir()
        found = solve(folder, floating(*order))
        moved.append(outcome(found).by_id["cage.case.c.moved"].value)
    assert moved[0] == pytest.approx(moved[1], rel=1e-6)
    bend = math.pi * (D**4 - INNER**4) / 64 * 29000 * KSI
    sag = 1000.0 / (
        48 * bend
    )  # of the middle against the ends; the mean of all joints lies between
    assert 0.3 * sag < moved[0] < 0.9 * sag


# ------------------------------------------------------------------ welds


def test_beside_a_weld_the_strength_is_less(tmp_path: Path) -> None:
    """The root of a cantilever is welded: half of the strength is left there, whatever is further."""
    plain = figures(solve(tmp_path, bar(pull("500 N", z=-1))), "bar").by_stress
    half = solve(tmp_path, bar(pull("500 N", z=-1), "weld_share: 50 %", "beams: euler"))
    assert figures(half, "bar").by_stress == pytest.approx(2 * plain, rel=1e-9)
    assert "at a" in check(half, "cage.check.member.bar").basis_of_verdict


def test_away_from_a_weld_nothing_is_lost(tmp_path: Path) -> None:
    """With 40 % left within 1 cm of the joints, a beam that is bent most amid keeps its strength,
    and the bound of the zone is looked at: the moment there is known."""
    nodes = {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m", "c": "2 m, 0 m, 0 m"}
    members = ("{id: left, from: a, to: b, tube: t}", "{id: right, from: b, to: c, tube: t}")
    text = cage(
        nodes,
        members,
        (pull("500 N", z=-1),),
        supports=("{nodes: [a], motions: [x, y, z, turn_x]}", "{nodes: [c], motions: [y, z]}"),
        more=(
            "weld_share: 40 %",
            "weld_zone: 1 cm",
            "welds: [{nodes: [b], welded: false}]",
            "beams: euler",
        ),
    )
    f = figures(solve(tmp_path, text), "left")
    assert f.end == pytest.approx(250.0, rel=1e-6)
    assert f.by_stress == pytest.approx(f.stress / YIELD, rel=1e-6)  # amid, away from any weld
    wide = text.replace("weld_zone: 1 cm", "weld_zone: 80 cm")
    reached = figures(solve(tmp_path, wide), "left").by_stress
    shear = 16 * 250 * (D**2 + D * INNER + INNER**2) / (3 * math.pi * (D**4 - INNER**4))
    at_bound = math.sqrt((0.8 * 250 / SECTION) ** 2 + 3 * shear**2)
    assert reached == pytest.approx(at_bound / (0.4 * YIELD), rel=1e-6)


def test_two_tubes_that_both_go_on_through_a_joint_are_welded_there(tmp_path: Path) -> None:
    """A hoop and a spine that cross: one is cut or both are welded round. As if two ended there.

    By statics, 2 kN amid a simple beam of 1 m on each tube: M = 500 N·m.
    """
    nodes = {
        "a": "0 m, -0.5 m, 1 m",
        "b": "0 m, 0.5 m, 1 m",
        "c": "0 m, 0 m, 1 m",
        "d": "-0.5 m, 0 m, 1 m",
        "e": "0.5 m, 0 m, 1 m",
    }
    spine = "{id: spine, through: [d, c, e], radius: 20 cm, tube: t}"
    hoop = "{id: hoop, through: [a, c, b], radius: 20 cm, tube: t}"
    cut = ("{id: left, from: a, to: c, tube: t}", "{id: right, from: c, to: b, tube: t}")

    def used(members: tuple[str, ...], paths: str, weld: str = "") -> float:
        text = cage(
            nodes,
            members,
            ("{id: k, loads: [{at: [c], force: 4 kN, direction: {z: -1}}], source: own}",),
            supports=("{nodes: [a, b, d, e], held: pinned}",),
            more=("weld_share: 50 %", "beams: euler", f"paths: [{paths}]", weld),
        )
        return figures(solve(tmp_path, text), "spine").by_stress

    crossed = used((), f"{hoop}, {spine}")
    assert crossed == pytest.approx(used(cut, spine), rel=1e-6)
    assert crossed >= 500.0 / SECTION / (0.5 * YIELD)
    whole = used((), f"{hoop}, {spine}", "welds: [{nodes: [c], welded: false}]")
    assert whole == pytest.approx(0.5 * crossed, rel=1e-6)


@pytest.mark.parametrize(
    ("more", "share"),
    [
        ("welds: [{nodes: [c], yield_strength: 21 ksi}]", 0.5),
        ("welds: [{nodes: [c]}]", 0.4),
        ("masses: [{id: seat, at: [c], mass: 9 kg}]", 0.4),
        ("weld_zone: 1 in", 1.0),
    ],
    ids=["stated", "named", "carries a mass", "a point of the drawing"],
)
def test_a_weld_to_what_is_no_tube_counts_amid_a_tube(
    tmp_path: Path, more: str, share: float
) -> None:
    """A bracket is welded onto a tube that goes on and meets no other. A simple beam of 2 m under 1 kN
    amid: M = 500 N·m there, by statics; the weld takes half of 42 ksi, or 60 %.
    """
    assert _amid(tmp_path, more) == pytest.approx(500.0 / SECTION / (share * YIELD), rel=1e-2)


@pytest.mark.parametrize(
    ("case", "share", "force"),
    [
        ("shipped: head_restraint, loads: [{at: [c], part: head, direction: {x: 1}}]", 0.4, 900.0),
        ("shipped: roll_structure_second, loads: [{at: [c], part: top}]", 1.0, 75e3),
    ],
    ids=["pulls at a tab", "pushes"],
)
def test_what_pulls_amid_a_tube_pulls_at_a_weld(
    tmp_path: Path, case: str, share: float, force: float
) -> None:
    """A tube across the car under the head restraint's 900 N aft, or the 75 kN of a roll: M = F L / 4."""
    text = cage(
        {"a": "0 m, -1 m, 1 m", "c": "0 m, 0 m, 1 m", "b": "0 m, 1 m, 1 m"},
        (),
        (f"{{id: k, {case}}}",),
        supports=("{nodes: [a], motions: [x, y, z, turn_y]}", "{nodes: [b], motions: [x, z]}"),
        tubes=("{id: t, outer: 4 in, wall: 0.75 in, material: steel}",),
        more=(
            "weld_share: 40 %",
            "beams: euler",
            "paths: [{id: bar, through: [a, c, b], radius: 50 cm, tube: t}]",
        ),
    )
    outer, inner = 4 * 0.0254, 2.5 * 0.0254
    section = math.pi * (outer**4 - inner**4) / (32 * outer)
    used = figures(solve(tmp_path, text), "bar").by_stress
    assert used == pytest.approx(
        force * 2 / 4 / section / (share * ULTIMATE), rel=2e-2
    )  # and shear


def _amid(folder: Path, more: str) -> float:
    """What a tube of 2 m, hung up at its ends, uses of its strength under 1 kN amid."""
    text = cage(
        {"a": "-1 m, 0 m, 1 m", "c": "0 m, 0 m, 1 m", "b": "1 m, 0 m, 1 m"},
        (),
        ("{id: k, loads: [{at: [c], force: 1 kN, direction: {z: -1}}], source: own}",),
        supports=("{nodes: [a], motions: [x, y, z, turn_x]}", "{nodes: [b], motions: [y, z]}"),
        more=(
            "weld_share: 40 %",
            "beams: euler",
            "paths: [{id: bar, through: [a, c, b], radius: 20 cm, tube: t}]",
            more,
        ),
    )
    return figures(solve(folder, text), "bar").by_stress


def test_a_tube_that_runs_over_a_support_is_welded_to_it(tmp_path: Path) -> None:
    """As if it ended there: 250 N on an arm of 1 m."""

    def used(whole: str, members: tuple[str, ...]) -> float:
        text = cage(
            {"a": "-1 m, 0 m, 1 m", "c": "0 m, 0 m, 1 m", "b": "1 m, 0 m, 1 m"},
            members,
            ("{id: k, loads: [{at: [b], force: 250 N, direction: {z: -1}}], source: own}",),
            supports=("{nodes: [c], held: fixed}",),
            more=("weld_share: 40 %", "beams: euler", whole),
        )
        return max(
            m.figures[0].by_stress for m in detail(solve(tmp_path, text)).members if m.figures[0]
        )

    cut = ("{id: left, from: a, to: c, tube: t}", "{id: right, from: c, to: b, tube: t}")
    over = used("paths: [{id: bar, through: [a, c, b], radius: 20 cm, tube: t}]", ())
    assert over == pytest.approx(used("weld_zone: 1 in", cut), rel=1e-6)
    assert over == pytest.approx(250.0 / SECTION / (0.4 * YIELD), rel=1e-2)  # shear adds a little


# ------------------------------------------------------------------ AISC 360 together


def shares(most: float) -> st.SearchStrategy[float]:
    return st.floats(0.0, most)


@given(shares(2.0), shares(2.0), shares(0.6), shares(1.0))
def test_the_limit_is_where_the_code_has_it(p: float, m: float, v: float, q: float) -> None:
    """Just under 1/taken the code's ratio is at most 1, just over it is more."""
    used = float(taken(*(np.array([x]) for x in (p, m, v, q)))[0])
    if used < 1e-6:
        return

    def code(scale: float) -> float:
        k = scale / used
        return float(combined(axial=k * p, flexure=k * m, shear=k * v, torsion=k * q))

    assert code(1 - 1e-6) <= 1.0
    assert code(1 + 1e-6) > 1.0


def test_the_worked_steps_end_in_the_margin(tmp_path: Path) -> None:
    for number, case in enumerate(
        (
            pull("20 kN", x=1),
            pull("500 N", z=-1),
            pull("300 N", "ultimate", y=1, z=-1),
            pull("15 kN", x=-1, z=-0.02),
        )
    ):
        folder = tmp_path / str(number)
        folder.mkdir()
        found = solve(folder, bar(case))
        last = detail(found).steps[-1]
        assert last.id == "cage.member.bar.step.margin"
        assert last.value == pytest.approx(check(found, "cage.check.member.bar").margin, rel=1e-9)


def test_the_worked_steps_follow_torsion_into_h3(tmp_path: Path) -> None:
    text = cage(
        {**TWO, "tip": "1 m, 0.9 m, 0 m", "pit": "1 m, -0.9 m, 0 m"},
        (
            *ONE,
            "{id: arm, from: b, to: tip, tube: s}",
            "{id: leg, from: b, to: pit, tube: s}",
        ),
        (
            "{id: c, criterion: ultimate, loads: [{at: [tip], force: 600 N, direction: {z: -1}}, "
            "{at: [pit], force: 600 N, direction: {z: 1}}]}",
        ),
        supports=BUILT_IN,
        tubes=(
            "{id: t, outer: 1.75 in, wall: 0.095 in, material: steel}",
            "{id: s, outer: 3 in, wall: 0.5 in, material: steel}",
        ),
    )
    found = solve(tmp_path, text)
    steps = detail(found).steps
    assert "cage.member.bar.step.twisted" in [s.id for s in steps]
    assert steps[-1].value == pytest.approx(check(found, "cage.check.member.bar").margin, rel=1e-9)


# ------------------------------------------------------------------ what cannot be decided


def test_a_missing_support_is_named(tmp_path: Path) -> None:
    text = cage(TWO, ONE, (pull("20 kN", x=1),), supports=("{nodes: [a], motions: [x, y, z]}",))
    found = solve(tmp_path, text)
    got = check(found, "cage.check.member.bar")
    assert got.verdict == "open"
    assert got.margin is None
    assert "is free to" in got.reason
    assert "a support or a member is missing" in got.reason
    assert outcome(found).by_id["cage.case.c.moved"].value is None


def test_a_load_beyond_buckling_is_short_and_has_no_numbers(tmp_path: Path) -> None:
    """A cantilever column buckles at π²EI/(2L)²; under 1.1 times that nothing else is said."""
    bend = math.pi * (D**4 - INNER**4) / 64 * 29000 * KSI
    load = 1.1 * math.pi**2 * bend / 4
    found = solve(tmp_path, bar(pull(f"{load!r} N", z=-1e-6, x=-1)))
    got = check(found, "cage.check.critical.c")
    assert got.verdict == "short"
    # 0.9 · 0.877 by AISC 360 Eq. E3-3; 0.05 % with four pieces
    assert got.margin == pytest.approx(0.9 * 0.877 / 1.1 - 1, abs=1e-3)
    assert check(found, "cage.check.member.bar").verdict == "open"
    assert member(found, "bar").figures == (None,)


def test_a_column_that_sways_is_judged_by_direct_analysis(tmp_path: Path) -> None:
    """A cantilever pushed and pressed at a tenth of its critical load, by AISC 360 C2: stiffness × 0.8,
    leaning by 0.003, K = 1. Its moment is (H + 0.003 P) L tan α / α with 0.8 EI.

    Never less, and at most 1 % more: one mode stands for all that bend.
    """
    bend = math.pi * (D**4 - INNER**4) / 64 * 29000 * KSI
    press = 0.1 * math.pi**2 * bend / 4
    alpha = math.sqrt(press / (0.8 * bend))
    text = bar(
        "{id: c, criterion: ultimate, loads: ["
        "{at: [b], force: 200 N, direction: {z: 1}}, "
        f"{{at: [b], force: {press!r} N, direction: {{x: -1}}}}]}}"
    )
    found = solve(tmp_path, text)

    def used(moment: float) -> float:
        """H1 in proportion to the loads."""
        axial, flexure = press / member_compression(), moment / (0.9 * YIELD * PLASTIC)
        return max(axial + 8 / 9 * flexure, axial / 2 + flexure)

    grown = (200.0 + 0.003 * press) * math.tan(alpha) / alpha
    f = figures(found, "bar")
    assert 1.0 <= f.start / grown <= 1.01
    assert 1.0 <= f.by_member / used(grown) <= 1.01
    added = outcome(found).by_id["cage.case.c.second_order"].value
    assert added == pytest.approx(used(grown) / used(200.0) - 1, rel=5e-2)


def member_compression() -> float:
    """φP_n of the bar of 1 m by AISC 360 E3."""
    radius = math.sqrt(D**2 + INNER**2) / 4
    euler = math.pi**2 * 29000 * KSI * radius**2
    return 0.9 * 0.658 ** (YIELD / euler) * YIELD * AREA


@pytest.mark.parametrize("factor", ["1", "2.5"])
def test_the_critical_factor_is_on_the_load_as_written(tmp_path: Path, factor: str) -> None:
    """A cantilever column under a fifth of its critical load, whatever factor is asked."""
    bend = math.pi * (D**4 - INNER**4) / 64 * 29000 * KSI
    load = 0.2 * math.pi**2 * bend / 4
    found = solve(tmp_path, bar(pull(f"{load!r} N", factor=factor, x=-1)))
    got = check(found, "cage.check.critical.c")
    assert got.capacity.value == pytest.approx(5.0, rel=1e-3)
    needed = got.demand.value
    assert needed is not None
    assert needed >= 1 / (0.9 * 0.877)
    assert got.margin == pytest.approx(5.0 / float(factor) / needed - 1, rel=2e-3)


def test_a_wall_too_thin_for_the_code_is_open(tmp_path: Path) -> None:
    text = cage(
        TWO,
        ONE,
        (pull("10 N", x=1),),
        supports=BUILT_IN,
        tubes=("{id: t, outer: 400 mm, wall: 1 mm, material: steel}",),
    )
    assert "too thin" in check(solve(tmp_path, text), "cage.check.member.bar").reason


@pytest.mark.parametrize(
    "value", ["modulus", "yield_strength", "ultimate_strength", "welded_yield"]
)
@pytest.mark.parametrize("force", ["20 kN", "300 kN"])
def test_no_verdict_rests_on_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, value: str, force: str
) -> None:
    """Neither holds nor short: a value from memory decides nothing."""
    known = cage_stock.stuff_of

    def remembered(*given: Any) -> cage_stock.Stuff:
        stuff = known(*given)
        old = getattr(stuff, value) or stuff.yield_strength
        return replace(stuff, **{value: replace(old, status="from memory")})

    monkeypatch.setattr(cage_stock, "stuff_of", remembered)
    got = check(solve(tmp_path, bar(pull(force, x=1))), "cage.check.member.bar")
    assert got.verdict == "open"
    assert "from memory" in got.reason


def test_short_stays_short_where_another_case_has_no_answer(tmp_path: Path) -> None:
    """What falls short already does not become open by what else is not known."""
    more = "{id: d, loads: [{at: [b], result: parachutes.none.load, direction: {x: 1}}]}"
    text = cage(TWO, ONE, (pull("300 kN", x=1), more), supports=BUILT_IN)
    assert check(solve(tmp_path, text), "cage.check.member.bar").verdict == "short"
    text = cage(TWO, ONE, (pull("3 kN", x=1), more), supports=BUILT_IN)
    assert check(solve(tmp_path, text), "cage.check.member.bar").verdict == "open"


# ------------------------------------------------------------------ what is left unsaid


def test_a_support_that_says_not_how_it_holds_is_asked_about(tmp_path: Path) -> None:
    """Built in, it holds more than a bolt through sheet does: the program's own word decides nothing in silence."""
    said = bar(pull("500 N", z=-1), NO_WELD, "beams: euler")
    unsaid = {i.id: i for i in solve(tmp_path, said).open_items}
    assert "at a is still assumed" in unsaid["cage.held"].text
    assert any(a.id == "cage.assumption.held.a" for a in solve(tmp_path, said).assumptions)
    stated = solve(tmp_path, said.replace("{nodes: [a]}", "{nodes: [a], held: fixed}"))
    assert "cage.held" not in {i.id for i in stated.open_items}
    assert not any("held" in a.id for a in stated.assumptions)


def test_a_cage_without_a_helmet_is_asked_for_it(tmp_path: Path) -> None:
    found = {i.id: i for i in solve(tmp_path, bar(pull("500 N", z=-1))).open_items}
    assert found["cage.helmet"].kind == "missing"
    helmet = "helmet: {x: 0 m, y: 0 m, z: 3 m, radius: 15 cm, clearance: 2 cm}"
    stated = solve(tmp_path, bar(pull("500 N", z=-1), NO_WELD, helmet))
    assert "cage.helmet" not in {i.id for i in stated.open_items}


@pytest.mark.parametrize(
    ("tube", "more", "asked"),
    [
        ("", NO_WELD, True),
        (", wall_tolerance: 10 %", NO_WELD, False),
        (", measured_wall: 0.094 in", NO_WELD, False),
        ("", "wall_used: nominal", False),
    ],
)
def test_a_wall_of_which_nobody_knows_more_than_its_name_is_asked_about(
    tmp_path: Path, tube: str, more: str, *, asked: bool
) -> None:
    """Mills deliver a tenth less and are within their standard (common practice)."""
    size = f"{{id: t, title: Bar, outer: 1.75 in, wall: 0.095 in, material: steel{tube}}}"
    text = bar(pull("500 N", z=-1), more).replace(
        "{id: t, outer: 1.75 in, wall: 0.095 in, material: steel}", size
    )
    items = {i.id: i for i in solve(tmp_path, text).open_items}
    assert ("cage.walls" in items) == asked
    assert not asked or "nominal wall of Bar" in items["cage.walls"].text


@pytest.mark.parametrize(("twin", "asked"), [("", True), (", measured_wall_twin: 0.093 in", False)])
def test_a_twin_that_nobody_measured_is_asked_about(
    tmp_path: Path, twin: str, *, asked: bool
) -> None:
    text = cage(
        {"a": "0 m, 0.3 m, 0 m", "b": "1 m, 0.3 m, 0 m"},
        (f"{{id: bar, from: a, to: b, tube: t, measured_wall: 0.094 in{twin}}}",),
        ("{id: c, loads: [{at: [b], force: 500 N, direction: {z: -1}}]}",),
        supports=("{nodes: [a, a_twin], held: fixed}",),
        more=(
            "mirror: true",
            "paths: [{id: cross, through: [b, b_twin], radius: 10 cm, tube: t, measured_wall: 0.094 in}]",
        ),
    )
    items = {i.id for i in solve(tmp_path, text).open_items}
    assert ("cage.walls" in items) == asked
