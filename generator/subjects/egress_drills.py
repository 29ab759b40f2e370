"""The drills of the subject `egress`: times that count, the set beside the budget, the bound."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from buildspec.quantities import Quantity
from buildspec.sections.egress import DRESS, Drill
from generator.formulas import egress as f
from generator.formulas.student import t_quantile, t_tail
from generator.subjects.egress_budget import PERCENTILES, Case, spread_of
from generator.subjects.egress_records import Compared, Limit, Timed
from generator.vocabulary import Result, WorkedStep
from generator.work import as_result, work

NEEDED = 3
"""Drills from which on they decide: with fewer, a deviation says next to nothing."""
CONFIDENCE = 0.95
DISAGREES = 0.05
"""How improbable long drills must be under the budget before that is called too hopeful."""
DIGIT = 0.29
"""Standard uncertainty of a reading whose last digit is one (JCGM 100:2008, F.2.2.1)."""
_NUMBER = re.compile(r"\d+(?:\.(\d+))?")


def timed(
    case: Case,
    drill: Drill,
    percentiles: Mapping[str, f.Percentile],
    limits: Iterable[Limit],
    as_of: datetime.date,
) -> Timed:
    """The drill with the time that counts, beside the budget and the limits; none that lies after
    `as_of` counts.
    """
    if drill.date > as_of:
        later = f"it is dated {drill.date}, after the day of this evaluation, {as_of}"
        return Timed(drill, None, refused=later, early=True)
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
        trusted=len(trusted(counted)),
        persons=len({t.drill.person for t in counted}),
        above_p50=above_p50,
        above_p95=above_p95,
        undressed={word: sum(word not in conditions for conditions in said) for word in DRESS},
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


def trusted(drills: Iterable[Timed]) -> tuple[Timed, ...]:
    """The drills that may take the budget's place: timed, and recorded as belted and suited."""
    return tuple(t for t in drills if t.time is not None and not _bare(_said(t)))


def _bare(conditions: tuple[str, ...]) -> bool:
    return any(word not in conditions for word in DRESS)


def drill_steps(case: Case, counted: tuple[Timed, ...]) -> tuple[WorkedStep, ...]:
    """Mean, deviation and prediction bound of enough drills; nothing with fewer."""
    times = np.array([t.time for t in counted], dtype=np.float64)
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
    spread, floor = _floored(case, counted, deviation)
    bound = work(
        f.prediction_bound,
        f"{case.id}.drill_bound",
        "Upper bound of the next drill",
        "One-sided, 95 % confidence; Student's t with one degree of freedom fewer than drills.",
        mean=as_result(mean),
        t=t_quantile(CONFIDENCE, n - 1.0),
        s=as_result(spread),
        n=n,
    )
    return mean, deviation, *floor, bound


def _floored(
    case: Case, counted: tuple[Timed, ...], deviation: WorkedStep
) -> tuple[WorkedStep, tuple[WorkedStep, ...]]:
    """The deviation that counts. Drills cannot be more alike than a stopwatch tells them apart:
    three equal readings do not prove that the fourth will be the same.
    """
    least = work(
        f.reading_deviation,
        f"{case.id}.drill_floor",
        "Deviation that the readings alone leave",
        "More than the drills show, so that it takes the place of their deviation.",
        u=np.array([_reading(t) for t in counted]),
        n=float(len(counted)),
    )
    return (least, (least,)) if least.value > deviation.value else (deviation, ())


def _reading(timed: Timed) -> float:
    """Standard uncertainty of a drill's time: as stated, or by the last digit of what was read."""
    total = timed.drill.total
    read = (total,) if total else tuple(timed.drill.times.values())
    return timed.uncertainty or max(DIGIT * _last_digit(q) for q in read)


def _last_digit(quantity: Quantity) -> float:
    """What one step of the last digit written means, s."""
    found = _NUMBER.search(quantity.written)
    if found is None or not float(found[0]):
        return 0.0
    return 10.0 ** -len(found[1] or "") * quantity.si / float(found[0])


def chance_over(bound: WorkedStep, allowed: float) -> float | None:
    """Probability that the next drill takes longer than `allowed`, s; None without any spread."""
    mean, s, n = (
        next(a.values[0] for a in bound.arguments if a.name == w) for w in ("mean", "s", "n")
    )
    if not s > 0.0:
        return None
    return t_tail((allowed - mean) / (s * math.sqrt(1.0 + 1.0 / n)), n - 1.0)


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


def bound_result(step: WorkedStep, counted: tuple[Timed, ...]) -> Result:
    """The prediction bound with what the accuracy of the readings leaves uncertain in it."""
    times = np.array([t.time for t in counted], dtype=np.float64)
    readings = np.array([t.uncertainty for t in counted])
    t = t_quantile(CONFIDENCE, len(counted) - 1.0)
    return as_result(
        step,
        f.bound_uncertainty(times, readings, t),
        [name for each in counted for name in each.inputs],
    )
