"""Cases under unlike supports, solved together, against each by itself."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from generator.frame import plan
from generator.frame.buckling import Critical, critical_loads
from generator.frame.figures import figures
from generator.frame.model import Flags, Frame, Loads, Refusal, one_case
from generator.frame.second_order import second_order
from generator.frame.solve import Ready, ready, solve
from generator.frame.subdivide import split
from tests.generator.frame.frames import FIXED, PINNED, solution, some_loads, tower

FEET = ((FIXED,) * 4, (PINNED,) * 4, (FIXED, PINNED, PINNED, (0, 0, 1, 0, 0, 0)))
"""How the four feet of the tower are held in the sets of supports."""
CASE = (0, 1, 2, 1, 0)
"""The set of each case."""


def held(set_: int, joints: int) -> Flags:
    out = np.zeros((joints, 6), dtype=bool)
    out[:4] = np.array(FEET[set_], dtype=bool)
    return out


def together() -> tuple[Frame, Loads]:
    """A tower on a foot a case, under loads of all sorts."""
    frame = tower(2)
    every = np.array([held(k, len(frame.nodes)) for k in CASE])
    return dataclasses.replace(frame, held=every), some_loads(frame, len(CASE), force=2e3)


def alone(frame: Frame, loads: Loads, case: int) -> tuple[Frame, Loads]:
    return dataclasses.replace(frame, held=frame.held[case]), one_case(loads, case)


@pytest.fixture(params=["full", "band"], autouse=True)
def stored(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """The matrix that is left, stored in full and as a band."""
    if request.param == "band":
        monkeypatch.setattr(plan, "DENSE", 0)


def test_first_order_is_that_of_each_case_alone() -> None:
    frame, loads = together()
    of = ready(frame)
    assert isinstance(of, Ready)
    assert of.plan.dense == (plan.DENSE > 0)
    assert len(of.plan.on) == len(FEET)
    found = solution(solve(frame, loads, of=of))
    judged = figures(frame, loads, found, of)
    for case in range(len(CASE)):
        own, own_loads = alone(frame, loads, case)
        one = solution(solve(own, own_loads))
        for name in ("displacement", "forces", "reaction"):
            whole = getattr(one, name)[0]
            assert getattr(found, name)[case] == pytest.approx(
                whole, abs=1e-9 * np.abs(whole).max()
            )
        alike = figures(own, own_loads, one)
        # three steps of inverse iteration, not begun with the same numbers
        assert judged.condition[case] == pytest.approx(alike.condition[0], rel=0.1)
        assert judged.gap[case] < 1e-9
        assert judged.residual[case] < 1e-9


def test_second_order_and_critical_loads_are_those_of_each_case_alone() -> None:
    """Tolerance of critical loads: what the search leaves; of second order: what its passes leave."""
    frame, loads = together()
    parts = split(frame, loads)
    most, second = critical_loads(parts), second_order(parts)
    assert isinstance(most, tuple)
    for case in range(len(CASE)):
        own = split(*alone(frame, loads, case))
        by_itself = critical_loads(own)
        assert isinstance(by_itself, tuple)
        assert isinstance(by_itself[0], Critical)
        assert isinstance(most[case], Critical)
        assert most[case].factor == pytest.approx(by_itself[0].factor, rel=1e-6)
        one, of_all = solution(second_order(own)[0]), solution(second[case])
        size = np.abs(one.displacement).max()
        assert of_all.displacement == pytest.approx(one.displacement, abs=1e-6 * size)
        assert of_all.reaction == pytest.approx(one.reaction, abs=1e-6 * np.abs(one.reaction).max())
    assert len({round(m.factor, 3) for m in most if m}) == len(CASE)


def test_a_mechanism_under_one_of_the_supports_is_named() -> None:
    """Held up alone, the tower is free to move along."""
    frame, loads = together()
    loose = frame.held.copy()
    loose[2] = False
    loose[2, :4, 2] = True
    found = solve(dataclasses.replace(frame, held=loose), loads)
    assert isinstance(found, Refusal)
    assert found.reason == "free"
    assert found.motion in (0, 1, 5)
