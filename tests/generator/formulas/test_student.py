"""Student's t in closed forms, and where it becomes the normal distribution."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from generator.formulas.student import t_quantile, t_tail


@pytest.mark.parametrize("score", [0.0, 0.3, 1.0, 1.96, 5.0])
def test_with_infinite_freedom_it_is_the_normal_distribution(score: float) -> None:
    assert t_tail(score, math.inf) == pytest.approx(stats.norm.sf(score), rel=1e-12)
    beyond = float(stats.norm.sf(score))
    assert t_quantile(1.0 - beyond, math.inf) == pytest.approx(score, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("freedom", [1.0, 2.0])
def test_the_closed_forms_of_one_and_two_degrees(freedom: float) -> None:
    """ν = 1: ½ − atan(t)/π (Cauchy); ν = 2: ½ − t/(2√(2 + t²))."""
    for score in (0.0, 0.999999, 1.0, 1.000001, 3.0):
        closed = (
            0.5 - math.atan(score) / math.pi
            if freedom == 1.0
            else 0.5 - score / (2.0 * math.sqrt(2.0 + score * score))
        )
        assert t_tail(score, freedom) == pytest.approx(closed, rel=1e-14)
