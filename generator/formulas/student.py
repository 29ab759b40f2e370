"""Student's t: the chance of exceeding a score, and the score for a chance."""

from __future__ import annotations

import math


def t_tail(score: float, freedom: float) -> float:
    """Probability that Student's t exceeds `score`, for a freedom > 0; infinite: the normal distribution."""
    if math.isinf(freedom):
        return 0.5 * math.erfc(score / math.sqrt(2.0))
    from scipy.special import stdtr  # noqa: PLC0415  (only a description with drills pays for it)

    return float(stdtr(freedom, -score))


def t_quantile(confidence: float, freedom: float) -> float:
    """Quantile of Student's t: P(T ≤ t) = confidence, for a freedom > 0 and 0 < confidence < 1."""
    from scipy.special import ndtri, stdtrit  # noqa: PLC0415

    return float(ndtri(confidence) if math.isinf(freedom) else stdtrit(freedom, confidence))
