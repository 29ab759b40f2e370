"""Student's t: the chance of exceeding a score, and the score for a chance.

By the incomplete beta function in a series whose terms are all positive, so that small chances keep
their digits. (A library's function of the same name takes a tenth of a second to import.)
"""

from __future__ import annotations

import math

ROUNDING = 1e-17
"""A term below this share of the sum no longer changes it."""


def t_tail(score: float, freedom: float) -> float:
    """Probability that Student's t exceeds `score`, for a freedom > 0; infinite: the normal distribution.

    P(T > t) = ½ I(ν/2, ½) at ν/(ν + t²), t ≥ 0: NIST DLMF 8.17 and common tables.
    """
    if score < 0.0:
        return 1.0 - t_tail(-score, freedom)
    if math.isinf(freedom):
        return 0.5 * math.erfc(score / math.sqrt(2.0))
    square = score * score
    if square < 1.0:  # the tail is no small number, so that a difference will do
        return 0.5 - 0.5 * _beta_share(square / (freedom + square), 0.5, 0.5 * freedom)
    return 0.5 * _beta_share(freedom / (freedom + square), 0.5 * freedom, 0.5)


def t_quantile(confidence: float, freedom: float) -> float:
    """Quantile of Student's t: P(T ≤ t) = confidence, for a freedom > 0 and 0 < confidence < 1."""
    if confidence < 0.5:
        return -_exceeded(confidence, freedom)
    return _exceeded(1.0 - confidence, freedom)


def _exceeded(chance: float, freedom: float) -> float:
    """The score that is exceeded with a chance of up to one half.

    Newton's method from 0: beyond it the tail falls and is convex, so that no step passes the answer.
    """
    score, step = 0.0, math.inf
    while step > 1e-15 * score:
        step = (t_tail(score, freedom) - chance) / _density(score, freedom)
        score += step
    return score


def _density(score: float, freedom: float) -> float:
    """Density of Student's t at `score`."""
    if math.isinf(freedom):
        return math.exp(-0.5 * score * score) / math.sqrt(2.0 * math.pi)
    scale = math.lgamma(0.5 * (freedom + 1.0)) - math.lgamma(0.5 * freedom)
    fall = -0.5 * (freedom + 1.0) * math.log1p(score * score / freedom)
    return math.exp(scale + fall) / math.sqrt(freedom * math.pi)


def _beta_share(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function I(a, b) at 0 ≤ x < 1 (NIST DLMF 8.17.8, from memory):
    xᵃ(1 − x)ᵇ / (a B(a, b)) · (1 + (a + b)/(a + 1)·x + (a + b)(a + b + 1)/((a + 1)(a + 2))·x² + …).
    """
    if x == 0.0:
        return 0.0
    term = total = 1.0
    count = 0
    while term > ROUNDING * total:
        term *= x * (a + b + count) / (a + 1.0 + count)
        total += term
        count += 1
    log_beta = math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
    return total * math.exp(a * math.log(x) + b * math.log1p(-x) - log_beta) / a
