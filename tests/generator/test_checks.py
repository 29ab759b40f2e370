"""Checks: margin, verdict and what is uncertain about it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import correlated_values, ufloat

from generator.checks import (
    make_check,
    margin_of,
    margin_uncertainty,
    probability_short,
)
from generator.vocabulary import Result

POSITIVE = st.floats(1e-3, 1e6)


def time(value: float | None, u: float = 0.0, absent: str = "", name: str = "Time") -> Result:
    return Result(f"toy.{name.lower()}", name, value, "time", u, absent)


# Allowable 450, limit 300, factor 1.4, and 380, 300, 1.25: worked by hand from the definition of
# the margin of safety in NASA-STD-5001B.
@pytest.mark.parametrize(
    ("capacity", "demand", "factor", "margin"),
    [
        (450.0, 300.0, 1.4, 450 / 420 - 1),
        (380.0, 300.0, 1.25, 380 / 375 - 1),
        (20.0, 20.0, 1.0, 0.0),
        (10.0, 20.0, 1.0, -0.5),
    ],
)
def test_margin(capacity: float, demand: float, factor: float, margin: float) -> None:
    assert margin_of(demand, capacity, factor) == pytest.approx(margin, abs=1e-12)


@pytest.mark.parametrize(
    ("capacity", "verdict"),
    [(20.0, "holds"), (20.0 - 1e-9, "short"), (20.0 + 1e-9, "holds"), (0.0, "short")],
)
def test_just_enough_holds_and_a_hair_less_is_short(capacity: float, verdict: str) -> None:
    check = make_check("toy.check.a", "A", demand=time(16.0), capacity=time(capacity), factor=1.25)
    assert check.verdict == verdict


@pytest.mark.parametrize(
    ("demand", "capacity", "factor"),
    [(0.1 + 0.2, 0.3, 1.0), (1.0, 10.0 - 9.05, 0.95), (2.2 * 0.45359237, 0.997903214, 1.0)],
)
def test_what_is_equal_on_paper_is_just_enough(
    demand: float, capacity: float, factor: float
) -> None:
    """Sums and conversions that a pencil finds equal differ in their last binary digit; each of these
    is less by that.
    """
    assert capacity < factor * demand
    check = make_check(
        "toy.check.a", "A", demand=time(demand), capacity=time(capacity), factor=factor
    )
    assert (check.verdict, check.margin) == ("holds", 0.0)


@settings(deadline=None)
@given(demand=POSITIVE, capacity=POSITIVE, factor=st.floats(0.1, 10.0), scale=POSITIVE)
def test_the_margin_does_not_depend_on_the_unit_and_agrees_with_the_verdict(
    demand: float, capacity: float, factor: float, scale: float
) -> None:
    one = make_check("t.check.a", "A", demand=time(demand), capacity=time(capacity), factor=factor)
    other = margin_of(demand * scale, capacity * scale, factor)
    assert one.margin is not None
    assert one.margin == pytest.approx(other, rel=1e-9, abs=1e-9)
    assert (one.verdict == "holds") == (one.margin >= 0.0)


@pytest.mark.parametrize(
    ("demand", "capacity", "reason"),
    [
        (time(None, absent="no drill is timed"), time(20.0), "no drill is timed"),
        (time(16.0), time(None, absent="no limit is stated"), "no limit is stated"),
        (time(None, name="Exit"), time(None, name="Limit"), "Exit is missing"),
    ],
)
def test_a_missing_value_leaves_it_open_with_the_reason(
    demand: Result, capacity: Result, reason: str
) -> None:
    check = make_check("toy.check.a", "A", demand=demand, capacity=capacity)
    assert (check.verdict, check.margin, check.reason) == ("open", None, reason)
    assert (check.margin_uncertainty, check.probability_short) == (None, None)


@pytest.mark.parametrize(
    ("demand", "capacity", "signed", "verdict"),
    [
        (0.0, 20.0, False, "holds"),
        (0.0, 0.0, False, "holds"),
        (0.0, -1e-9, False, "short"),  # none is asked for, and less than none is there
        (-3.0, 20.0, False, "open"),  # a height under the ground: something else is wrong
        (-3.0, -2.0, True, "holds"),
        (-3.0, -4.0, True, "short"),
        (-3.0, -3.0, True, "holds"),
    ],
)
def test_without_a_demand_above_zero_the_two_are_compared_and_no_ratio_is_given(
    demand: float, capacity: float, signed: bool, verdict: str
) -> None:
    check = make_check(
        "toy.check.a", "A", demand=time(demand), capacity=time(capacity), factor=2.0, signed=signed
    )
    assert (check.verdict, check.margin, check.margin_uncertainty) == (verdict, None, None)
    assert check.reason


def test_a_caller_may_say_that_nothing_is_to_be_compared() -> None:
    check = make_check(
        "toy.check.a", "A", demand=time(0.0, 1.0), capacity=time(-5.0), nothing_asked="it is closed"
    )
    assert (check.verdict, check.reason, check.probability_short) == ("holds", "it is closed", None)


def test_no_demand_is_as_uncertain_as_any() -> None:
    """An offset of 0 known to ± 30 mm against 10 mm: 2·Φ(−1/3) = 0.739 by a table of Φ."""
    check = make_check(
        "toy.check.a", "A", demand=time(0.0, 30.0), capacity=time(10.0), either_side=True
    )
    assert check.verdict == "holds"
    assert check.probability_short == pytest.approx(0.739, abs=5e-4)


@settings(deadline=None)
@given(
    demand=st.floats(1.0, 100.0),
    capacity=st.floats(1.0, 100.0),
    factor=st.floats(0.5, 3.0),
    u=st.floats(0.01, 0.5),
    v=st.floats(0.01, 0.5),
)
def test_the_uncertainty_of_the_margin_is_that_of_an_independent_library(
    demand: float, capacity: float, factor: float, u: float, v: float
) -> None:
    """The package `uncertainties`, which propagates to first order by automatic derivatives."""
    expected = ufloat(capacity, v) / (factor * ufloat(demand, u)) - 1
    found = margin_uncertainty(time(demand, u), time(capacity, v), factor)
    assert found == pytest.approx(expected.std_dev, rel=1e-9)


def test_the_uncertainty_needs_both_values() -> None:
    with pytest.raises(ValueError, match="needs demand and capacity"):
        margin_uncertainty(time(None), time(20.0), 1.0)


@settings(deadline=None)
@given(
    u=st.floats(0.01, 0.5), v=st.floats(0.01, 0.5), r=st.floats(-1, 1), factor=st.floats(0.5, 3.0)
)
def test_what_demand_and_capacity_share_is_counted_once(
    u: float, v: float, r: float, factor: float
) -> None:
    demand, capacity = correlated_values([30.0, 50.0], [[u * u, r * u * v], [r * u * v, v * v]])
    found = margin_uncertainty(time(30.0, u), time(50.0, v), factor, r * u * v)
    assert found == pytest.approx((capacity / (factor * demand) - 1).std_dev, rel=1e-6, abs=1e-9)


# Φ(−1), Φ(−2), Φ(−1.645) of the standard normal distribution as every table prints them (the
# values are from memory, to the digits of a four-place table).
@pytest.mark.parametrize(
    ("ratio", "printed"),
    [(0.0, 0.5), (1.0, 0.1587), (2.0, 0.0228), (1.645, 0.0500), (-1.0, 0.8413)],
)
def test_the_probability_of_being_short(ratio: float, printed: float) -> None:
    """Capacity 50 ± 0.3, demand (50 − 0.5·ratio)/2 ± 0.2, factor 2: u of the difference is 0.5."""
    demand = time((50.0 - 0.5 * ratio) / 2.0, 0.2)
    found = probability_short(demand, time(50.0, 0.3), 2.0)
    assert found == pytest.approx(printed, abs=5e-5)


@pytest.mark.parametrize("either_side", [False, True])
@pytest.mark.parametrize("share", [-0.8, 0.0, 0.8])
def test_the_probability_is_that_of_drawing(either_side: bool, share: float) -> None:
    """400,000 correlated normal draws by numpy; five standard errors of a share."""
    u, v, n = 4.0, 3.0, 400_000
    cov = [[u * u, share * u * v], [share * u * v, v * v]]
    drawn = np.random.default_rng(7).multivariate_normal([2.0, 9.0], cov, n)
    size = np.abs(drawn[:, 0]) if either_side else drawn[:, 0]
    expected = float(np.mean(1.5 * size > drawn[:, 1]))
    found = probability_short(
        time(2.0, u), time(9.0, v), 1.5, covariance=share * u * v, either_side=either_side
    )
    assert found == pytest.approx(expected, abs=5 * math.sqrt(expected * (1 - expected) / n))


def test_a_margin_far_from_straight_has_the_right_probability() -> None:
    """Demand 1 ± 0.8, capacity 2 exactly: P(D > 2) = Φ(−1.25) = 0.1056 by a table of Φ; the ratio
    taken as normal would say Φ(−1/1.6) = 0.266.
    """
    check = make_check("toy.check.a", "A", demand=time(1.0, 0.8), capacity=time(2.0))
    assert check.probability_short == pytest.approx(0.1056, abs=5e-5)


def test_a_check_without_any_uncertainty_states_no_probability() -> None:
    check = make_check("toy.check.a", "A", demand=time(16.0), capacity=time(20.0))
    assert (check.margin_uncertainty, check.probability_short) == (0.0, None)


def test_a_check_says_what_it_depends_on_once_and_whose_it_is() -> None:
    check = make_check(
        "toy.check.a",
        "A",
        demand=time(16.0, 0.4),
        capacity=time(20.0),
        inputs=["b", "a", "b"],
        sources=["s"],
        basis_of_verdict="drills decide",
    )
    assert (check.subject, check.kind, check.inputs, check.sources) == (
        "toy",
        "time",
        ("b", "a"),
        ("s",),
    )
    assert check.basis_of_verdict == "drills decide"
    assert check.margin_uncertainty is not None
    assert check.probability_short == pytest.approx(0.5 * math.erfc(10.0 / math.sqrt(2.0)))
