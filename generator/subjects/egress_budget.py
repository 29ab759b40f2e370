"""The budget of the subject `egress`: networks, both passes, the classical and the sampled exit."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from buildspec.plain import spoken
from buildspec.quantities import Quantity
from buildspec.sections.egress import Activity, Egress, Scenario, activities_of
from generator.formulas import egress as f
from generator.subjects.egress_records import Limit, Row
from generator.vocabulary import Result, WorkedStep
from generator.work import as_result, work

WORD = "egress"
PERCENTILES: Mapping[str, float] = {"p50": 0.50, "p90": 0.90, "p95": 0.95}


# ------------------------------------------------------------------------------- durations


def durations_of(activity: Activity) -> tuple[Quantity, ...]:
    """The quantities that time an activity: optimistic, likely and pessimistic, or one duration."""
    if activity.duration is not None:
        return (activity.duration,)
    three = (activity.optimistic, activity.likely, activity.pessimistic)
    found = tuple(q for q in three if q is not None)
    if len(found) != len(three):
        raise ValueError(f"{activity.id}: neither three durations nor one; the reader refuses that")
    return found


def spread_of(activity: Activity) -> f.Duration:
    """How the activity's duration is spread, s."""
    one = activity.duration
    if one is None:
        low, mid, high = (q.si for q in durations_of(activity))
        return f.Duration("beta" if low < high else "constant", mid, low, high)
    if one.half_width == 0.0:
        return f.Duration("constant", one.si, one.si, one.si)
    low, high = one.si - one.half_width, one.si + one.half_width
    return f.Duration(one.distribution, one.si, low, high, one.standard_uncertainty)


def expected(activity: Activity) -> tuple[float, float]:
    """Expected duration, s, and its variance, s²: classical, or of the one duration as stated."""
    if activity.duration is not None:
        return activity.duration.si, activity.duration.standard_uncertainty**2
    a, m, b = (q.si for q in durations_of(activity))
    return f.pert_mean(a=a, m=m, b=b), f.pert_variance(a=a, b=b)


def likely(activity: Activity) -> float:
    """The likely duration, s."""
    known = durations_of(activity)
    return known[len(known) // 2].si


# ------------------------------------------------------------------------------- scenarios


@dataclass(frozen=True)
class Case:
    """One scenario on its way: its network, both deterministic passes, and the samples."""

    scenario: Scenario
    activities: tuple[Activity, ...]
    net: f.Network
    means: f.Array
    variances: f.Array
    likely: f.Passes
    expected: f.Passes
    sampled: f.Sampled

    @property
    def id(self) -> str:
        """The beginning of the ids of everything found of the scenario."""
        return f"{WORD}.scenario.{self.scenario.id}"

    @property
    def inputs(self) -> tuple[str, ...]:
        """The ids of the durations that the exit depends on."""
        return tuple(q.id for a in self.activities for q in durations_of(a))


def cases(section: Egress) -> tuple[Case, ...]:
    """Every scenario with its passes and samples."""
    sets = [activities_of(section, scenario) for scenario in section.scenarios]
    plans = [_plan(activities) for activities in sets]
    sampled = f.sample(plans, seed=section.seed, samples=section.samples)
    each = zip(section.scenarios, sets, plans, sampled, strict=True)
    return tuple(_case(scenario, acts, plan.net, found) for scenario, acts, plan, found in each)


def _plan(activities: tuple[Activity, ...]) -> f.Plan:
    return f.Plan(f.network({a.id: a.after for a in activities}), tuple(map(spread_of, activities)))


def _case(
    scenario: Scenario, activities: tuple[Activity, ...], net: f.Network, sampled: f.Sampled
) -> Case:
    means = np.array([expected(a)[0] for a in activities])
    variances = np.array([expected(a)[1] for a in activities])
    by_likely, by_mean = (
        f.passes(net, times) for times in (np.array([likely(a) for a in activities]), means)
    )
    return Case(scenario, activities, net, means, variances, by_likely, by_mean, sampled)


def row(case: Case, i: int) -> Row:
    """What the page shows of the scenario's activity `i`."""
    by_likely, by_mean = case.likely, case.expected
    slack = _slack(by_mean, i)
    return Row(
        activity=case.activities[i],
        likely=likely(case.activities[i]),
        mean=float(case.means[i]),
        variance=float(case.variances[i]),
        likely_start=float(by_likely.start[i]),
        likely_finish=float(by_likely.finish[i]),
        likely_slack=_slack(by_likely, i),
        likely_critical=bool(by_likely.critical[i]),
        start=float(by_mean.start[i]),
        finish=float(by_mean.finish[i]),
        latest_start=float(by_mean.start[i]) + slack,
        latest_finish=float(by_mean.finish[i]) + slack,
        slack=slack,
        critical=bool(by_mean.critical[i]),
        critical_share=float(case.sampled.critical[i]),
        finish_p95=float(case.sampled.finish_p95[i]),
    )


def _slack(times: f.Passes, i: int) -> float:
    """Slack, with the rounding of a critical activity taken off."""
    return 0.0 if times.critical[i] else float(times.slack[i])


def governing(case: Case) -> tuple[f.Paths, tuple[int, ...]]:
    """The critical paths on expected durations, and the one of them with the largest variance."""
    paths = f.critical_paths(case.net, case.expected)
    return paths, max(paths.shown, key=lambda path: float(case.variances[list(path)].sum()))


# ----------------------------------------------------------------------- the classical exit


def activity_steps(case: Case, path: tuple[int, ...]) -> tuple[WorkedStep, ...]:
    """The estimate of the path's most uncertain activity with three durations, step by step."""
    three = [i for i in path if case.activities[i].duration is None and case.variances[i] > 0.0]
    if not three:
        return ()
    activity = case.activities[max(three, key=lambda i: float(case.variances[i]))]
    begin, of = f"{case.id}.activity.{activity.id}", f"of {activity.short}"
    a, m, b = durations_of(activity)
    first = work(f.first_shape, f"{begin}.alpha", f"First shape {of}", a=a, m=m, b=b)
    second = work(f.second_shape, f"{begin}.beta", f"Second shape {of}", a=a, m=m, b=b)
    return (
        work(f.pert_mean, f"{begin}.mean", f"Expected duration {of}", a=a, m=m, b=b),
        work(
            f.pert_variance,
            f"{begin}.variance",
            f"Classical variance {of}",
            "The path below adds these variances.",
            a=a,
            b=b,
        ),
        first,
        second,
        work(
            f.drawn_variance,
            f"{begin}.drawn_variance",
            f"Variance {of} as it is drawn",
            "The sampling draws from this distribution; its variance is not the classical one.",
            alpha=as_result(first),
            beta=as_result(second),
            a=a,
            b=b,
        ),
    )


def path_steps(
    case: Case, path: tuple[int, ...], count: int
) -> tuple[WorkedStep, WorkedStep, WorkedStep]:
    """Mean, variance and deviation along the governing one of `count` critical paths."""
    index = list(path)
    along = "Along " + ", ".join(spoken(case.net.ids[i]) for i in path) + "."
    if count > 1:
        along += " Of the critical paths of equal length, the one with the largest variance."
    variance = work(
        f.path_variance,
        f"{case.id}.path_variance",
        "Variance along the critical path",
        v=case.variances[index],
    )
    return (
        work(
            f.path_mean,
            f"{case.id}.path_mean",
            "Expected time along the critical path",
            along,
            t=case.means[index],
        ),
        variance,
        work(
            f.path_deviation,
            f"{case.id}.path_deviation",
            "Standard deviation along the critical path",
            variance=as_result(variance),
        ),
    )


def limit_steps(
    case: Case, mean: Result, deviation: Result, limits: Iterable[Limit]
) -> tuple[WorkedStep, ...]:
    """Probability of meeting each stated limit, classical method; none without any spread."""
    steps: list[WorkedStep] = []
    for limit in limits:
        if limit.capacity.value is None or not deviation.value:
            continue
        begin = f"{case.id}.{limit.word}"
        z = work(
            f.standard_score,
            f"{begin}.score",
            f"Standardised distance to the {limit.title}",
            limit=limit.known,
            mean=mean,
            deviation=deviation,
        )
        steps += [
            z,
            work(
                f.normal_probability,
                f"{begin}.classical",
                f"Probability of meeting the {limit.title}, classical method",
                "Of the critical path alone; the sampled share counts every path.",
                z=as_result(z),
            ),
        ]
    return tuple(steps)


# ------------------------------------------------------------------------- the sampled exit


def percentiles(case: Case) -> dict[str, f.Percentile]:
    """P50, P90 and P95 of the sampled exit with their sampling errors."""
    return {word: f.percentile(case.sampled.finish, share) for word, share in PERCENTILES.items()}


def sampled_results(case: Case, found: Mapping[str, f.Percentile]) -> tuple[Result, ...]:
    """Percentiles, mean and deviation of the sampled exit, and P95 if all ran slow together.

    For durations that rise and fall together, the percentile of the exit is the exit at each
    duration's percentile, since a longer duration never shortens it.
    """
    finish = case.sampled.finish
    deviation = float(finish.std(ddof=1))
    together = float(f.forward(case.net, case.sampled.duration_p95)[1].max())

    def time(word: str, title: str, value: float, error: float = 0.0) -> Result:
        return Result(f"{case.id}.{word}", title, value, "time", error, inputs=case.inputs)

    return (
        *(
            time(word, f"Exit by the budget, {word.upper()}", p.value, p.deviation)
            for word, p in found.items()
        ),
        time(
            "sampled_mean",
            "Exit by the budget, sampled mean",
            float(finish.mean()),
            deviation / math.sqrt(len(finish)),
        ),
        time("sampled_deviation", "Exit by the budget, sampled standard deviation", deviation),
        time("p95_together", "Exit by the budget, P95 if all ran slow together", together),
    )


def deterministic_results(case: Case) -> tuple[Result, ...]:
    """The exit at likely and at expected durations."""
    totals = {"likely": case.likely.total, "expected": case.expected.total}
    return tuple(
        Result(
            f"{case.id}.{word}",
            f"Exit at {word} durations",
            float(total),
            "time",
            inputs=case.inputs,
        )
        for word, total in totals.items()
    )


def within(case: Case, limit: Limit) -> Result:
    """The sampled share of exits within the limit, with its standard error."""
    title = f"Share of the sampled exits within the {limit.title}"
    name = f"{case.id}.{limit.word}.sampled"
    time = limit.capacity.value
    if time is None:
        return Result(name, title, None, "share", absent=limit.capacity.absent)
    share, error = f.share_within(case.sampled.finish, time)
    inputs = (*case.inputs, *limit.capacity.inputs)
    return Result(name, title, share, "share", error, inputs=inputs)


def activity_results(case: Case, rows: Iterable[Row]) -> tuple[Result, ...]:
    """Slack and critical share of every activity."""
    found: list[Result] = []
    for each in rows:
        name, share = each.activity.short, each.critical_share
        begin = f"{case.id}.activity.{each.activity.id}"
        error = f.share_error(share, len(case.sampled.finish))
        found += [
            Result(f"{begin}.slack", f"Slack of {name}", each.slack, "time", inputs=case.inputs),
            Result(
                f"{begin}.critical_share",
                f"Share of samples in which {name} is critical",
                share,
                "share",
                error,
                inputs=case.inputs,
            ),
        ]
    return tuple(found)


_TOGETHER = re.compile(r"\s*(?:\band\b|\bwith\b|[,;&+/])\s*", re.IGNORECASE)


def hands(activity: Activity) -> frozenset[str]:
    """Who does it, one by one: `driver and crew` are both of them, and capitals do not matter."""
    return frozenset(who for part in _TOGETHER.split(activity.by) if (who := part.strip().lower()))


def side_by_side(case: Case) -> tuple[tuple[str, str], ...]:
    """Pairs of activities that somebody does both of, and that the network lets run at one time."""
    reach = _reach(case.net)
    busy = [i for i, a in enumerate(case.activities) if spread_of(a).high > 0.0]
    by = [hands(a) for a in case.activities]
    return tuple(
        (case.net.ids[i], case.net.ids[j])
        for n, i in enumerate(busy)
        for j in busy[n + 1 :]
        if by[i] & by[j] and i not in reach[j] and j not in reach[i]
    )


def _reach(net: f.Network) -> dict[int, frozenset[int]]:
    """For each activity, every activity that must be finished before it."""
    reach: dict[int, frozenset[int]] = {}
    for i in net.order:
        reach[i] = frozenset(net.before[i]).union(*(reach[w] for w in net.before[i]))
    return reach
