"""The drills of the subject `egress`: times that count, the set beside the budget, the bound."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from buildspec.quantities import Quantity
from buildspec.sections.egress import Drill
from generator.formulas import egress as f
from generator.subjects.egress_budget import PERCENTILES, Case, spread_of
from generator.subjects.egress_records import Compared, Limit, Timed
from generator.vocabulary import Result, WorkedStep
from generator.work import as_result, work

NEEDED = 3
"""Drills from which on they decide: with fewer, a deviation says next to nothing."""
CONFIDENCE = 0.95
DISAGREES = 0.05
"""How improbable long drills must be under the budget before that is called too hopeful."""
DRESS: Mapping[str, str] = {"belted": "belt", "suited": "suit"}
"""What a drill must be done in to stand for the real exit, and how the mention of it begins."""


def timed(
    case: Case, drill: Drill, percentiles: Mapping[str, f.Percentile], limits: Iterable[Limit]
) -> Timed:
    """The drill with the time that counts, beside the budget and the limits."""
    found = _time(case, drill)
    if found.time is None:
        return found
    time = found.time
    known = ((x.title, x.capacity.value) for x in limits)
    exceeds = tuple(title for title, limit in known if limit is not None and time > limit)
    return replace(
        found,
        above_p50=time > percentiles["p50"].value,
        above_p95=time > percentiles["p95"].value,
        exceeds=exceeds,
    )


def _time(case: Case, drill: Drill) -> Timed:
    """Its total, or else its single times through the network; a part of them makes no total."""
    single = drill.times
    lacking = [a.id for a in case.activities if a.id not in single and spread_of(a).high > 0.0]
    through = None if lacking else _through(case, single)
    total = drill.total
    if total is not None:
        gap = None if through is None else total.si - through[0]
        return Timed(drill, total.si, total.standard_uncertainty, (total.id,), unaccounted=gap)
    if through is None:
        return Timed(drill, None, refused="no total, and no time of " + ", ".join(lacking))
    return Timed(drill, through[0], through[1], tuple(q.id for q in single.values()))


def _through(case: Case, single: Mapping[str, Quantity]) -> tuple[float, float]:
    """Finish of the network with single times, s, and the uncertainty along its critical path."""
    known = [single.get(name) for name in case.net.ids]
    times = np.array([q.si if q else 0.0 for q in known])
    spread = np.array([q.standard_uncertainty if q else 0.0 for q in known])
    found = f.passes(case.net, times)
    paths = f.critical_paths(case.net, found).shown
    return float(found.total), max(float(np.hypot.reduce(spread[list(path)])) for path in paths)


def compared(drills: Iterable[Timed]) -> Compared:
    """The drills that count as a set, beside the budget."""
    counted = [t for t in drills if t.time is not None]
    above_p50, above_p95 = sum(t.above_p50 for t in counted), sum(t.above_p95 for t in counted)
    said = [_said(t) for t in counted]
    everything = [c for conditions in said for c in conditions]
    return Compared(
        count=len(counted),
        persons=len({t.drill.person for t in counted}),
        above_p50=above_p50,
        above_p95=above_p95,
        undressed={
            word: sum(not any(c.startswith(begin) for c in conditions) for conditions in said)
            for word, begin in DRESS.items()
        },
        conditions=tuple((c, everything.count(c)) for c in dict.fromkeys(everything)),
        optimistic=_improbable(len(counted), above_p50, above_p95),
    )


def _said(drill: Timed) -> tuple[str, ...]:
    return tuple(c.strip().lower() for c in drill.drill.conditions)


def _improbable(count: int, above_p50: int, above_p95: int) -> bool:
    """Whether so many drills above the budget's P50, or its P95, are improbable if it is right."""
    if count == 0:
        return False
    tails = (
        f.binomial_tail(above_p50, count, 1.0 - PERCENTILES["p50"]),
        f.binomial_tail(above_p95, count, 1.0 - PERCENTILES["p95"]),
    )
    return min(tails) <= DISAGREES + 1e-9  # 1 − 0.95 is a little more than 0.05 in binary


def drill_steps(case: Case, drills: Iterable[Timed]) -> tuple[WorkedStep, ...]:
    """Mean, deviation and prediction bound of enough drills; nothing with fewer."""
    times = np.array([t.time for t in drills if t.time is not None], dtype=np.float64)
    n = float(len(times))
    if n < NEEDED:
        return ()
    mean = work(f.drill_mean, f"{case.id}.drill_mean", "Mean of the drills", x=times, n=n)
    deviation = work(
        f.drill_deviation,
        f"{case.id}.drill_deviation",
        "Standard deviation of the drills",
        x=times,
        mean=as_result(mean),
        n=n,
    )
    bound = work(
        f.prediction_bound,
        f"{case.id}.drill_bound",
        "Upper bound of the next drill",
        "One-sided, 95 % confidence; Student's t with one degree of freedom fewer than drills.",
        mean=as_result(mean),
        t=f.t_quantile(CONFIDENCE, n - 1.0),
        s=as_result(deviation),
        n=n,
    )
    return mean, deviation, bound


def longest(case: Case, drills: Iterable[Timed]) -> Result | None:
    """The longest drill: an exit that took that long is no matter of estimates."""
    counted = [t for t in drills if t.time is not None]
    if not counted:
        return None
    found = max(counted, key=lambda t: t.time or 0.0)
    return Result(
        f"{case.id}.longest_drill",
        "Longest drill",
        found.time,
        "time",
        found.uncertainty,
        inputs=tuple(dict.fromkeys(name for t in counted for name in t.inputs)),
    )


def bound_result(step: WorkedStep, drills: Iterable[Timed]) -> Result:
    """The prediction bound with what the accuracy of the readings leaves uncertain in it."""
    counted = [t for t in drills if t.time is not None]
    times = np.array([t.time for t in counted], dtype=np.float64)
    readings = np.array([t.uncertainty for t in counted])
    t = f.t_quantile(CONFIDENCE, len(counted) - 1.0)
    return as_result(
        step,
        f.bound_uncertainty(times, readings, t),
        [name for each in counted for name in each.inputs],
    )
