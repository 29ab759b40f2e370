"""Checks whose demand and capacity move with the same values."""

from __future__ import annotations

import math

import pytest

from buildspec.quantities import Quantity
from generator.spread import Shift
from generator.subjects.compared import compared


def _value(name: str, half: float) -> Quantity:
    return Quantity(name, 0.0, "length", "0 m", "", half_width=half)


def test_of_a_kink_the_worse_side_counts_and_what_moves_both_moves_them_together() -> None:
    """By hand: an arm off by u = 0.3/√3 m takes u off what holds on one side and nothing on the other, as in a vehicle
    that is alike on both sides. The height adds 2 u' to both: the margin feels 1/D − C/D² of it.
    """

    def pair(shift: Shift) -> tuple[float, float]:
        both = 2.0 * shift.get("height", 0.0)
        return 1.0 + both, 2.0 + both - max(shift.get("arm", 0.0), 0.0)

    arm, height = _value("arm", 0.3), _value("height", 0.03)
    check = compared(
        pair, (arm, height), "a.check.b", "B", said=("D", "C"), inputs=(), basis_of_verdict=""
    )
    by_arm, by_height = 0.3 / math.sqrt(3.0), 2.0 * 0.03 / math.sqrt(3.0)
    assert check.demand.standard_uncertainty == pytest.approx(by_height)
    assert check.capacity.standard_uncertainty == pytest.approx(math.hypot(by_arm, by_height))
    assert check.margin_uncertainty == pytest.approx(math.hypot(by_arm, (1.0 - 2.0) * by_height))
