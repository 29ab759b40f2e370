"""Which checks come first wherever checks are listed, and which verdicts are in doubt."""

from __future__ import annotations

from collections.abc import Iterable

from generator.vocabulary import Check

TWO_SIGMA = 0.0228
"""Probability beyond two standard deviations on one side of a normal distribution."""
VAST = 10.0
"""A margin above which its digits say nothing that a reader could use."""
BEYOND = "over +1,000 %"
_FIRST = {"short": 0, "open": 1, "holds": 2}


def ranked(checks: Iterable[Check]) -> tuple[Check, ...]:
    """Short, open, then those that hold, the least margin first and those without one last."""
    return tuple(
        sorted(checks, key=lambda c: (_FIRST[c.verdict], c.margin is None, c.margin or 0.0))
    )


def doubtful(check: Check) -> bool:
    """Whether zero lies within two standard uncertainties of the margin."""
    short = check.probability_short
    return short is not None and TWO_SIGMA <= short <= 1.0 - TWO_SIGMA
