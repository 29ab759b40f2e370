"""By how much a load may grow where forces grow faster: a pressed cantilever, written out by hand."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from generator.evaluation import Evaluation
from generator.subjects.cage_strength import grown
from tests.generator.subjects.cage_builds import NO_WELD, cage, detail, figures, member, solve
from tests.generator.subjects.scenes import check

METRIC = (
    "{id: steel, modulus: 200 GPa, poisson: 0.3, density: 7850 kg/m³, yield_strength: 500 MPa, "
    "ultimate_strength: 600 MPa}"
)
E, YIELD = 200e9, 500e6
AREA = math.pi / 4 * (0.040**2 - 0.036**2)
SECOND = math.pi / 64 * (0.040**4 - 0.036**4)
PLASTIC = (0.040**3 - 0.036**3) / 6


def pole(folder: Path, push: float, across: float, factor: float = 1.0) -> Evaluation:
    """A cantilever of 1 m, 40 × 2 mm, pressed along and pushed across at its tip."""
    size = math.hypot(push, across)
    text = cage(
        {"a": "0 m, 0 m, 0.1 m", "b": "1 m, 0 m, 0.1 m"},
        ("{id: m, from: a, to: b, tube: t}",),
        (
            f"{{id: c, criterion: ultimate, factor: {factor}, loads: [{{at: [b], force: {size!r} N, "
            f"direction: {{x: {-push!r}, y: {across!r}}}}}]}}",
        ),
        supports=("{nodes: [a]}",),
        tubes=("{id: t, outer: 40 mm, wall: 2 mm, material: steel}",),
        material=METRIC,
        more=(NO_WELD, "beams: euler"),
    )
    return solve(folder, text)


def by_hand(push: float, across: float, times: float) -> float:
    """AISC 360 H1 at `times` the load: P, and M of a beam-column of 0.8 EI whose tip leans by 0.003,
    M = (H + 0.003 P) tan(kL) / k with k² = P / 0.8 EI; φP_n by E3 with K = 1."""
    p, h = push * times, across * times
    k = math.sqrt(p / (0.8 * E * SECOND))
    if k >= math.pi / 2:
        return math.inf
    moment = (h + 0.003 * p) * math.tan(k) / k
    euler = math.pi**2 * E * SECOND / AREA
    column = 0.658 ** (YIELD / euler) * YIELD if YIELD / euler <= 2.25 else 0.877 * euler
    axial, flexure = p / (0.9 * column * AREA), moment / (0.9 * YIELD * PLASTIC)
    return max(axial + 8 / 9 * flexure, axial / 2 + flexure)


@pytest.mark.parametrize(
    ("push", "across"), [(10e3, 100.0), (10e3, 300.0), (6e3, 100.0), (3e3, 500.0), (13e3, 20.0)]
)
def test_the_margin_is_that_by_which_the_load_may_grow(
    tmp_path: Path, push: float, across: float
) -> None:
    """The factor at which H1 reaches 1 by the closed form, or up to a tenth less: what second order and leaning
    add is taken whole, in the mode that buckles first. Over half of it where a tube is little used, a
    proportional margin would be 1.2 to 2 times as large."""
    found = pole(tmp_path, push, across)
    exact = brentq(lambda n: min(by_hand(push, across, n), 9.0) - 1.0, 0.5, 20.0)
    margin = check(found, "cage.check.member.m").margin
    assert margin is not None
    assert 0.90 * exact <= 1.0 + margin <= 1.01 * exact
    proportional = 1.0 / figures(found, "m").utilisation
    assert proportional > 1.0 + margin


def test_a_pole_near_its_critical_load_by_hand(tmp_path: Path) -> None:
    """10 kN along and 100 N across use 36 % of it; by the closed form 1.46 times as much uses all, not 2.75."""
    assert by_hand(10e3, 100.0, 1.46) == pytest.approx(1.0, abs=0.02)
    found = pole(tmp_path, 10e3, 100.0)
    one = check(found, "cage.check.member.m")
    assert figures(found, "m").utilisation == pytest.approx(0.364, abs=0.002)
    assert one.margin == pytest.approx(0.43, abs=0.04)
    assert "36 % of its strength is used" in one.basis_of_verdict
    assert "the frame buckles at 2.13 times it" in one.basis_of_verdict
    assert one.basis_of_verdict.startswith(f"{member(found, 'm').criterion}; 36 %")  # of the margin


def test_a_factor_asks_as_much_more_of_the_load(tmp_path: Path) -> None:
    """Demand is under the load as written: 1 + m falls by the factor, since the load itself may grow as far."""
    once = check(pole(tmp_path, 10e3, 100.0), "cage.check.member.m")
    (tmp_path / "more").mkdir()
    more = check(pole(tmp_path / "more", 10e3, 100.0, 1.2), "cage.check.member.m")
    assert once.margin is not None
    assert more.margin is not None
    assert (1 + once.margin) / (1 + more.margin) == pytest.approx(1.2, rel=0.02)


@pytest.mark.parametrize(("push", "across"), [(10e3, 100.0), (3e3, 900.0)])
def test_the_steps_end_in_that_margin(tmp_path: Path, push: float, across: float) -> None:
    found = pole(tmp_path, push, across)
    steps = detail(found).steps
    assert steps[-2].id.endswith(".step.grown")
    assert steps[-1].value == pytest.approx(check(found, "cage.check.member.m").margin, rel=1e-9)


def test_a_load_that_is_too_large_or_bends_alone_is_in_proportion(tmp_path: Path) -> None:
    """What falls short falls short by its utilisation; without pressure nothing grows."""
    (tmp_path / "a").mkdir()
    for found in (pole(tmp_path, 10e3, 600.0), pole(tmp_path / "a", 0.0, 300.0)):
        margin = check(found, "cage.check.member.m").margin
        assert margin == pytest.approx(1 / figures(found, "m").utilisation - 1, rel=1e-9)


def test_growth_keeps_its_promises() -> None:
    """At n = 1 / w: n (u + (n (a − 1) / (a − n) − 1) s) = 1 with n < a, on random figures; never under u,
    and u itself from 1 on, where nothing is added, or where the softer frame has buckled."""
    random = np.random.default_rng(5)
    used, added = random.uniform(0.01, 0.99, (2, 300))
    a = random.uniform(1.05, 40.0, 300)
    w = np.array(
        [
            float(grown(*np.array((u, s))[:, None, None, None], np.array([x]))[0, 0, 0])
            for u, s, x in zip(used, added, a, strict=True)
        ]
    )
    n = 1.0 / w
    assert (n < a).all()
    assert n * (used + (n * (a - 1) / (a - n) - 1) * added) == pytest.approx(1.0, rel=1e-9)
    assert (w >= used).all()
    three = np.array([[[[1.2]]], [[[0.5]]], [[[0.5]]]])
    none = np.array([[[[0.3]]], [[[0.0]]], [[[0.3]]]])
    for u, s, x in zip(three, none, (5.0, 5.0, 0.9), strict=True):
        assert grown(u, s, np.array([x])) == u
