"""Spread: properties and hand sums; published examples stand in tests/published."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.formulas import uncertainty as gum

PARTS = st.lists(st.floats(1e-3, 1e3), min_size=1, max_size=6)


@given(PARTS)
def test_shares_of_the_variance_make_one(parts: list[float]) -> None:
    assert np.sum(gum.variance_shares(np.array(parts))) == pytest.approx(1.0)


def test_nothing_uncertain_has_no_shares() -> None:
    assert gum.variance_shares(np.zeros(3)).tolist() == [0.0, 0.0, 0.0]


@given(PARTS)
def test_uncorrelated_is_correlated_with_a_diagonal(parts: list[float]) -> None:
    u = np.array(parts)
    slopes = np.linspace(-2.0, 3.0, len(u))
    expected = gum.combined(slopes, u)
    assert gum.combined_correlated(slopes, np.diag(u**2)) == pytest.approx(expected)


def test_full_correlation_adds_or_cancels() -> None:
    together = np.full((2, 2), 9.0)
    assert gum.combined_correlated(np.array([1.0, 1.0]), together) == pytest.approx(6.0)
    assert gum.combined_correlated(np.array([1.0, -1.0]), together) == pytest.approx(0.0)


def test_sensitivities_of_one_and_of_several_numbers() -> None:
    """d(x²y)/dx = 2xy, d/dy = x²; d(x/y)/dx = 1/y, d/dy = −x/y²."""
    at = np.array([3.0, 0.5])
    assert gum.sensitivities(lambda v: v[0] ** 2 * v[1], at) == pytest.approx([3.0, 9.0], rel=1e-8)
    both = gum.sensitivities(lambda v: np.array([v[0] ** 2 * v[1], v[0] / v[1]]), at)
    assert both == pytest.approx(np.array([[3.0, 2.0], [9.0, -12.0]]), rel=1e-8)


def test_sensitivities_take_steps_of_their_own() -> None:
    """A cubic's central difference is off by exactly h²."""
    found = gum.sensitivities(lambda v: v[0] ** 3, np.array([2.0]), np.array([0.1]))
    assert found[0] == pytest.approx(12.0 + 0.01)


@given(PARTS, st.floats(1.0, 100.0))
def test_effective_freedom_lies_between_the_least_and_the_sum(
    parts: list[float], freedom: float
) -> None:
    """JCGM 100:2008, G.4.1: νeff ≤ Σνᵢ; with equal freedoms it is no less than one of them."""
    u = np.array(parts)
    found = gum.effective_freedom(u, np.full(len(u), freedom))
    assert freedom * (1 - 1e-9) <= found <= freedom * len(u) * (1 + 1e-9)


def test_certain_uncertainties_have_no_end_of_freedom() -> None:
    assert gum.effective_freedom(np.array([1.0, 2.0]), np.full(2, math.inf)) == math.inf


@pytest.mark.parametrize(("freedom", "printed"), [(1, 12.71), (2, 4.30), (10, 2.23), (50, 2.01)])
def test_student_factors(freedom: float, printed: float) -> None:
    """95 % column of JCGM 100:2008, table G.2 (from memory), printed to 0.01."""
    assert gum.coverage_factor(0.95, freedom) == pytest.approx(printed, abs=0.005)


def test_normalised_error_is_one_at_the_edge_of_agreement() -> None:
    """A difference as large as the root sum of squares: 5 against 3 and 4."""
    found = gum.normalised_error(x=15.0, reference=10.0, u_x=3.0, u_reference=4.0)
    assert found == pytest.approx(1.0)
    swapped = gum.normalised_error(x=10.0, reference=15.0, u_x=4.0, u_reference=3.0)
    assert swapped == pytest.approx(-1.0)
