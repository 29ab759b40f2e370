"""The subject `clock`: how likely an exit outlasts what is left of the protection.

The 95th percentile of an exit and its own spread by sampling say nothing of that; the samples do, or the
drills where they decide.
"""

from __future__ import annotations

from statistics import NormalDist

import numpy as np

from generator.formulas.egress import share_within
from generator.subjects.egress_drills import chance_over
from generator.subjects.egress_records import Detail, Found
from generator.subjects.subject import Given
from generator.vocabulary import Result

PARTS = 101
"""Parts of equal probability that a protection's spread is cut into."""


def chance(
    scenario: str, exit_: Result, capacity: Result, given: Given, *, before: float, factor: float
) -> float | None:
    """Probability that factor × (before + exit) exceeds the capacity; times in s, `before` at its longest.

    None where a single drill decides, or drills that do not differ: nothing is known of the next one then.
    """
    egress = given.outcomes.get("egress")
    detail = egress.detail if egress else None
    if not isinstance(detail, Detail) or capacity.value is None:
        return None
    found = next((f for f in detail.scenarios if f.scenario.id == scenario), None)
    over = [_over(found, exit_, c / factor - before) for c in _spread(capacity)] if found else []
    known = [p for p in over if p is not None]
    return float(np.mean(known)) if known else None


def _spread(capacity: Result) -> list[float]:
    """The capacity itself, or values that share its spread out evenly, taken as normal."""
    value, u = capacity.value or 0.0, capacity.standard_uncertainty
    return NormalDist(value, u).quantiles(PARTS) if u > 0.0 else [value]


def _over(found: Found, exit_: Result, left: float) -> float | None:
    """Probability that the exit takes longer than `left`, s, by what decides."""
    if exit_.id.endswith(".p95"):
        return 1.0 - share_within(found.finish, left)[0]
    step = next((s for s in found.steps if s.id == exit_.id), None)
    return chance_over(step, left) if step and exit_.id.endswith(".drill_bound") else None
