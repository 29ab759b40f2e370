"""Student's t against scipy (Cephes and Boost), and by its own symmetry."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from generator.formulas.student import t_quantile, t_tail

FREEDOMS = st.one_of(st.integers(1, 60).map(float), st.floats(0.5, 200.0))


@given(score=st.floats(-40.0, 40.0).map(lambda x: round(x, 3)), freedom=FREEDOMS)
def test_the_tail_is_that_of_scipy(score: float, freedom: float) -> None:
    """Small chances too, down to 1e-100: a few hundred roundings, 1e-11 of it."""
    assert t_tail(score, freedom) == pytest.approx(stats.t.sf(score, freedom), rel=1e-11, abs=1e-12)
    if score > 1.0:
        assert t_tail(score, freedom) == pytest.approx(stats.t.sf(score, freedom), rel=1e-11)


@given(confidence=st.integers(1, 999_999).map(lambda n: n / 1e6), freedom=FREEDOMS)
def test_the_quantile_is_that_of_scipy(confidence: float, freedom: float) -> None:
    """1e-9: near 1 the confidence itself has lost six of its sixteen digits, near one half the score its own."""
    expected = stats.t.ppf(confidence, freedom)
    assert t_quantile(confidence, freedom) == pytest.approx(expected, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("score", [0.0, 0.3, 1.0, 1.96, 5.0])
def test_with_infinite_freedom_it_is_the_normal_distribution(score: float) -> None:
    assert t_tail(score, math.inf) == pytest.approx(stats.norm.sf(score), rel=1e-12)
    beyond = float(stats.norm.sf(score))
    assert t_quantile(1.0 - beyond, math.inf) == pytest.approx(score, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("freedom", [1.0, 2.0])
def test_the_closed_forms_of_one_and_two_degrees(freedom: float) -> None:
    """ν = 1: ½ − atan(t)/π (Cauchy); ν = 2: ½ − t/(2√(2 + t²)). Both sides of t = 1, where the series changes."""
    for score in (0.0, 0.999999, 1.0, 1.000001, 3.0):
        closed = (
            0.5 - math.atan(score) / math.pi
            if freedom == 1.0
            else 0.5 - score / (2.0 * math.sqrt(2.0 + score * score))
        )
        assert t_tail(score, freedom) == pytest.approx(closed, rel=1e-14)
