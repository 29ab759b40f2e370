"""The subject `egress`: how long the exit takes against the times it has, by budget and drill."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import replace

from buildspec.build import Build
from buildspec.plain import spoken
from buildspec.quantities import Quantity
from buildspec.sections.egress import Egress
from generator.checks import make_check, undecided
from generator.formulas import egress as f
from generator.formulas.margin import margin_of_safety
from generator.subjects import egress_budget as budget
from generator.subjects import egress_drills as trials
from generator.subjects import egress_words as words
from generator.subjects.egress_budget import WORD, Case
from generator.subjects.egress_records import Detail, Found, Limit, LimitWord, Row
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Check, Outcome, Result, WorkedStep
from generator.work import as_result, work


def evaluate(build: Build, given: Given) -> Outcome | None:
    """The exit's time in every scenario, against its limits; None without a section `egress`."""
    section = build.section(Egress)
    if section is None:
        return None
    limits = limits_of(section, given)
    found = tuple(_scenario(case, section, limits, given.as_of) for case in budget.cases(section))
    detail = _detail(section, found, limits)
    return Outcome(
        WORD,
        results=(
            *(x.capacity for x in limits),
            *(r for one in found for r in one.results.values()),
        ),
        checks=tuple(c for one in found for c in one.checks),
        steps=tuple(s for one in found for s in one.steps),
        cautions=(
            *words.hazards(),
            *detail.cautions,
            *(c for one in found for c in one.cautions),
        ),
        assumptions=(
            *words.general_assumptions(limits),
            *(a for one in found for a in one.assumptions),
        ),
        open_items=tuple(i for one in found for i in one.open_items),
        detail=detail,
    )


def limits_of(section: Egress, given: Given) -> tuple[Limit, ...]:
    """Both limits; described equipment takes the place of a stated protective time."""
    stated = section.limits
    if stated is None:
        required, protective = _limit("required_time"), _limit("protective_time")
    else:
        required = _limit("required_time", stated.required_time, stated.required_factor)
        protective = _limit("protective_time", stated.protective_time, stated.protective_factor)
    return required, _worn(protective, given)


def _limit(
    word: LimitWord, quantity: Quantity | None = None, factor: Quantity | None = None
) -> Limit:
    title = spoken(word)
    return _with_capacity(Limit(word, title, _capacity(word, title, quantity), quantity, factor))


def _worn(limit: Limit, given: Given) -> Limit:
    """The limit with the time of the described equipment; open where that is not known."""
    gear = given.outcomes.get("gear")
    time = gear.by_id.get("gear.protective_time") if gear else None
    if time is None:
        return limit
    worn = replace(time, id=limit.capacity.id, title=time.title)
    return _with_capacity(replace(limit, capacity=worn, quantity=None, unused=limit.quantity))


def _with_capacity(limit: Limit) -> Limit:
    """The limit with the longest exit that it allows."""
    factor = limit.factor.si if limit.factor else 1.0
    time = limit.capacity.value
    return replace(limit, allowed=None if time is None else time / factor)


def _capacity(word: str, title: str, quantity: Quantity | None) -> Result:
    name, title = f"{WORD}.{word}", title.capitalize()
    if quantity is None:
        absent = f"no {title.lower()} is stated"
        return Result(name, title, None, "time", absent=absent)
    u = quantity.standard_uncertainty
    return Result(name, title, quantity.si, "time", u, inputs=(quantity.id,))


# -------------------------------------------------------------------------------- scenario


def _scenario(
    case: Case, section: Egress, limits: tuple[Limit, ...], as_of: datetime.date
) -> Found:
    """One scenario from end to end."""
    percentiles = budget.percentiles(case)
    own = (d for d in section.drills if d.scenario == case.scenario.id)
    drills = tuple(trials.timed(case, drill, percentiles, limits, as_of) for drill in own)
    compared = trials.compared(drills)
    rows = tuple(budget.row(case, i) for i in range(len(case.activities)))
    paths, path = budget.governing(case)
    exit_steps, exit_results = _exit(case, path, paths.count, limits, rows)
    trusted = trials.trusted(drills)
    drill_steps = trials.drill_steps(case, trusted)
    bound = trials.bound_result(drill_steps[-1], trusted) if drill_steps else None
    longest = trials.longest(case, drills)
    checks = _checks(case, limits, _worst(bound or _p95(case, exit_results), longest), drill_steps)
    doubts = words.doubts(case, bound, as_of, trusted, checks)
    results = (*exit_results, *_drill_results(drill_steps, bound, longest))
    return Found(
        scenario=case.scenario,
        rows=rows,
        paths=tuple(tuple(spoken(case.net.ids[i]) for i in each) for each in paths.shown),
        path_count=paths.count,
        decided_by_drills=bound is not None,
        drills=drills,
        compared=compared,
        percentiles=percentiles,
        results={r.id.removeprefix(f"{case.id}."): r for r in results},
        checks=checks,
        steps=(*exit_steps, *drill_steps, *_margin_steps(case, checks, limits)),
        cautions=(
            *words.drill_cautions(case, drills, limits, as_of),
            *words.set_cautions(case, compared),
            *words.budget_cautions(case, _p95(case, exit_results), bound),
        ),
        open_items=(*words.open_items(case, drills, compared, checks), *doubts),
        assumptions=tuple(words.case_assumptions(case, bound is not None)),
        finish=case.sampled.finish,
        overlapping=words.overlapping(case),
    )


def _p95(case: Case, results: Iterable[Result]) -> Result:
    return next(r for r in results if r.id == f"{case.id}.p95")


def _exit(
    case: Case, path: tuple[int, ...], count: int, limits: tuple[Limit, ...], rows: Iterable[Row]
) -> tuple[tuple[WorkedStep, ...], tuple[Result, ...]]:
    """The exit by the budget: its worked steps and its results."""
    along = budget.path_steps(case, path, count)
    mean, variance, deviation = (as_result(step, inputs=case.inputs) for step in along)
    classical = budget.limit_steps(case, mean, deviation, limits)
    sampled = budget.sampled_results(case, budget.percentiles(case))
    average = next(r for r in sampled if r.id == f"{case.id}.sampled_mean")
    bias = work(
        f.merge_bias,
        f"{case.id}.merge_bias",
        "What the critical path alone leaves out",
        "Less than twice its standard uncertainty from zero, it may be chance.",
        sampled=average,
        path=mean,
    )
    steps = (*budget.activity_steps(case, path), *along, *classical, bias)
    results = (
        *budget.deterministic_results(case),
        mean,
        variance,
        deviation,
        *sampled,
        as_result(bias, average.standard_uncertainty, case.inputs),
        *(budget.within(case, limit) for limit in limits),
        *(as_result(step, inputs=_inputs(case, step, limits)) for step in classical),
        *budget.activity_results(case, rows),
    )
    return steps, results


def _inputs(case: Case, step: WorkedStep, limits: Iterable[Limit]) -> tuple[str, ...]:
    """What a step about one limit depends on."""
    mine = (i for x in limits if f".{x.word}." in step.id for i in x.capacity.inputs)
    return (*case.inputs, *mine)


def _worst(reckoned: Result, longest: Result | None) -> Result:
    """What decides: the bound of the drills or the budget's P95, or a drill that took longer."""
    if longest is None or (longest.value or 0.0) <= (reckoned.value or 0.0):
        return replace(reckoned, inputs=(*reckoned.inputs, *(longest.inputs if longest else ())))
    return replace(longest, inputs=(*longest.inputs, *reckoned.inputs))


def _chance(
    case: Case, demand: Result, steps: tuple[WorkedStep, ...], limit: Limit
) -> float | None:
    """Probability that an exit takes longer than the limit allows, by what decides.

    The percentile's own standard error says how well it was sampled, and nothing of that.
    """
    if limit.allowed is None or demand.id.endswith(LONGEST):
        return None
    if demand.id.endswith(".p95"):
        return 1.0 - f.share_within(case.sampled.finish, limit.allowed)[0]
    return trials.chance_over(steps[-1], limit.allowed)


def _drill_results(
    steps: tuple[WorkedStep, ...], bound: Result | None, longest: Result | None
) -> tuple[Result, ...]:
    single = (longest,) if longest else ()
    if bound is None:
        return single
    return (*(as_result(step, inputs=bound.inputs) for step in steps[:-1]), bound, *single)


# ---------------------------------------------------------------------------------- checks


LONGEST = ".longest_drill"


def _checks(
    case: Case, limits: tuple[Limit, ...], demand: Result, drill_steps: tuple[WorkedStep, ...]
) -> tuple[Check, ...]:
    """The exit against each limit. What holds only as long as one person does two things at once is
    open; where the drills' bound decides, somebody has done it in that time.
    """
    found = tuple(
        _check(case, limit, demand, _chance(case, demand, drill_steps, limit)) for limit in limits
    )
    said = "" if drill_steps else words.overlapping(case)
    if not said:
        return found
    return tuple(_unless(check, said) if check.verdict == "holds" else check for check in found)


def _unless(check: Check, said: str) -> Check:
    """The check left open, its demand unknown: whoever asks how long the exit takes must not take it."""
    unknown = replace(check.demand, value=None, standard_uncertainty=0.0, absent=said)
    return undecided(replace(check, demand=unknown), said, words.ONE_BY_ONE)


def _check(case: Case, limit: Limit, demand: Result, chance: float | None) -> Check:
    """The exit against one limit.

    How well a percentile was sampled is told beside it; a margin's spread would be read as that of
    the exit, which the percentile and the chance already hold.
    """
    if demand.id.endswith(".p95"):
        demand = replace(demand, standard_uncertainty=0.0)
    factor = [limit.factor.id] if limit.factor else []
    cited = [limit.quantity.source] if limit.quantity and limit.quantity.source else []
    return make_check(
        f"{WORD}.check.{case.scenario.id}.{limit.word}",
        f"{case.scenario.title}: {limit.title}",
        demand=demand,
        capacity=limit.capacity,
        factor=limit.factor.si if limit.factor else 1.0,
        inputs=(*demand.inputs, *limit.capacity.inputs, *factor),
        sources=(margin_of_safety.source, *cited),
        probability=chance,
        basis_of_verdict=_basis(demand),
        ways="a quicker exit: fewer and simpler movements, handles within reach, drills in full gear",
        fixed="capacity" if limit.word == "required_time" else "",
    )


def _basis(demand: Result) -> str:
    if demand.id.endswith(".drill_bound"):
        return (
            "the drills decide, by the 95 % upper bound of the next one; the budget stands beside "
            "them"
        )
    if demand.id.endswith(LONGEST):
        return "the longest drill decides: it took longer than the reckoning allows"
    return "the budget decides, by the 95th percentile: one exit in twenty may take longer"


def _margin_steps(
    case: Case, checks: Iterable[Check], limits: Iterable[Limit]
) -> tuple[WorkedStep, ...]:
    """The margin of every check that could be decided."""
    return tuple(
        work(
            margin_of_safety.of("time"),
            f"{case.id}.{limit.word}.margin",
            f"Margin to the {limit.title}",
            capacity=limit.known,
            factor=limit.factor or 1.0,
            demand=check.demand,
        )
        for check, limit in zip(checks, limits, strict=True)
        if check.margin is not None
    )


# ---------------------------------------------------------------------------------- detail


def _detail(section: Egress, found: tuple[Found, ...], limits: tuple[Limit, ...]) -> Detail:
    durations = (q for one in found for r in one.rows for q in budget.durations_of(r.activity))
    stated = (q for x in limits for q in (x.quantity, x.factor) if q is not None)
    equations = dict.fromkeys(step.formula.source for one in found for step in one.steps)
    cited = dict.fromkeys(q.source for q in (*stated, *durations) if q.source)
    return Detail(
        scenarios=found,
        limits=limits,
        cautions=tuple(words.limit_cautions(limits)),
        samples=section.samples,
        seed=section.seed,
        sources=(*equations, *cited),
    )


SUBJECT = Subject(
    word=WORD,
    title="Egress",
    purpose="How long the exit takes in each scenario, by budget and by drill, against the time "
    "the rules allow and the time the clothing protects.",
    group="The driver",
    evaluate=evaluate,
    needs=("gear",),
)
