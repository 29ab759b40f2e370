"""First-order spread of any function of the description's values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat
from uncertainties.umath import sqrt  # type: ignore[import-untyped]

from generator.spread import Shift, Source, effects, moved, spread

A, B = Source("a", 0.02), Source("b", 0.3)


def test_a_smooth_function_has_the_spread_that_an_independent_package_gives() -> None:
    """`uncertainties` differentiates; half a difference over ± 1 % is right to about 1e-4."""

    def value(shift: Shift) -> float:
        a, b = 2.0 + shift.get("a", 0.0), 30.0 + shift.get("b", 0.0)
        return a * math.sqrt(b)

    theirs = ufloat(2.0, 0.02) * sqrt(ufloat(30.0, 0.3))
    assert spread(value, (A, B)) == pytest.approx(theirs.std_dev, rel=1e-4)
    assert effects(value, (A,))["a"] > 0.0


@pytest.mark.parametrize("centre", [0.0, 0.001, -0.001])
def test_the_weaker_of_two_sides_is_as_uncertain_as_each(centre: float) -> None:
    """min(w − y, w + y) falls by |y| whichever way y is off; a slope at y = 0 would be nothing."""

    def weaker(shift: Shift) -> float:
        y = centre + shift.get("a", 0.0)
        return min(0.22 - y, 0.22 + y)

    assert spread(weaker, (A,)) == pytest.approx(0.02, rel=0.06)  # 5 % from the corner's distance
    assert effects(weaker, (A,))["a"] < 0.0  # a fall


@given(
    st.floats(0.0, 5.0),
    st.floats(0.01, 3.0),
    st.floats(1.0, 3.0),
    st.floats(0.0, 4.0),
)
def test_more_spread_of_a_value_never_makes_the_result_surer(
    slope: float, u: float, more: float, corner: float
) -> None:
    """A rising line with a corner beyond which it rises less or falls: what a wider value does is no smaller."""

    def function(shift: Shift) -> float:
        x = shift.get("a", 0.0)
        return slope * x - 2.0 * abs(x - corner)

    narrow, wide = (spread(function, (Source("a", by),)) for by in (u, u * more))
    assert wide >= narrow * (1.0 - 1e-9)


def test_one_way_that_gets_nowhere_and_both() -> None:
    assert moved(0.0, 56.0, 40.0) == pytest.approx(-28.0)  # by hand: half of 0 − 56
    assert moved(0.0, 0.0, 40.0) == pytest.approx(-40.0)


def test_a_corner_by_sampling() -> None:
    """10⁶ samples of a symmetrical car: the root mean square of the fall is the value's own deviation."""
    y = np.random.default_rng(3).normal(0.0, 0.02, 1_000_000)
    fall = np.abs(y)
    mine = spread(lambda shift: 0.22 - abs(shift.get("a", 0.0)), (A,))
    assert mine == pytest.approx(
        math.sqrt(float(np.mean(fall**2))), rel=5e-3
    )  # 1/√(2·10⁶) = 0.07 %
