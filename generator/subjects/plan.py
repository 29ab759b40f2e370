"""The subject `plan`: what is left to do, who does it when, and whether it is ready for the event."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from buildspec.build import Build
from buildspec.sections.event import Event
from buildspec.sections.rules import Line, Rules, key_of, lines
from generator.planning.days import WEEK, before, first_day, last_day, overlap
from generator.planning.levelling import Schedule, driving_chain, level
from generator.planning.network import Left, behind, curve, has_arrived, jobs_of
from generator.planning.progress import Progress, is_done, progress
from generator.rules.conditions import applies
from generator.rules.world import world
from generator.subjects import plan_said
from generator.subjects.evidence import EvidenceState, standings
from generator.subjects.plan_records import (
    WORD,
    Awaited,
    Detail,
    Evening,
    Planned,
    Readiness,
    Share,
    Task,
)
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Outcome, Result

HOUR, DAY = 3600.0, 86400.0


@dataclass(frozen=True)
class _Laid:
    """The steps that are left, laid on the time line; what is behind each, and what things are called."""

    left: Left
    behind: Mapping[str, frozenset[str]]
    titles: Mapping[str, str]
    hours: Mapping[str, float]
    schedule: Schedule
    chain: tuple[str, ...]
    deadline: float | None
    as_of: datetime.date


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Progress and plan; None without a section `rules`."""
    whole = build.section(Rules)
    if whole is None:
        return None
    section = _asked(whole, build, given.as_of)
    states = standings(section, build.files)
    made = progresses(section, states, given.as_of)
    detail = _detail(section, build.section(Event), made, states, given.as_of)
    return Outcome(
        WORD,
        results=tuple(_results(detail)),
        assumptions=plan_said.assumptions(detail),
        open_items=tuple(plan_said.open_items(detail, section)),
        detail=detail,
        shown={p.task.id: p.task.step.title for p in detail.planned}
        | {t.id: t.step.title for t in detail.done},
    )


def _asked(section: Rules, build: Build, as_of: datetime.date) -> Rules:
    """The section without steps and proof of lines that do not apply to this vehicle."""
    known = world(build, section, as_of, {})

    def asked(line: Line) -> Line:
        out = line.not_applicable or applies(line, known).holds is False
        return replace(line, steps=(), evidence=()) if out else line

    return replace(
        section,
        sheets=tuple(
            replace(s, requirements=tuple(asked(r) for r in s.requirements)) for s in section.sheets
        ),
    )


def progresses(
    section: Rules, states: Mapping[str, EvidenceState], as_of: datetime.date
) -> Mapping[str, Progress]:
    """The progress of every line, by its key."""
    proved = {name for name, state in states.items() if state.proved}
    changed = {name for name, state in states.items() if state.standing == "changed"}
    return {key_of(s, line): progress(line, proved, as_of, changed) for s, line in lines(section)}


def _tasks(section: Rules, as_of: datetime.date) -> Iterator[Task]:
    names = {p.id: p.name for p in section.people}
    for sheet, line in lines(section):
        groups = {g.id: g.title for g in sheet.groups}
        for step in line.steps:
            yield Task(
                step,
                key_of(sheet, line),
                line.title or line.statement,
                groups[line.group],
                names.get(step.owner, ""),
                step.due or line.due,
                is_done(step, as_of),
            )


def _detail(
    section: Rules,
    event: Event | None,
    made: Mapping[str, Progress],
    states: Mapping[str, EvidenceState],
    as_of: datetime.date,
) -> Detail:
    tasks = tuple(_tasks(section, as_of))
    day = event.date if event else None
    laid = _lay([t for t in tasks if not t.done], section, day, as_of)
    planned = _in_order(_planned(task, laid) for task in tasks if not task.done)
    dated = [p for p in planned if not p.undated]
    at_least = last_day(laid.schedule.finish, as_of) if dated else None
    return Detail(
        progress=made,
        titles={key_of(s, line): line.title or line.statement for s, line in lines(section)},
        evidence=states,
        as_of=as_of,
        event=day,
        event_name=event.name if event else "",
        planned=planned,
        done=tuple(t for t in tasks if t.done),
        orders=tuple(_awaited(section, tasks, laid)),
        people=tuple(_shares(section, planned, as_of)),
        groups=tuple(_groups(section, made, planned)),
        week=_week(section, planned),
        chain=laid.chain,
        ready=at_least if len(dated) == len(planned) else None,
        at_least=at_least,
        float_days=None if laid.deadline is None else laid.deadline - laid.schedule.finish,
        hours=sum(t.step.hours or 0.0 for t in tasks),
        hours_left=sum(p.task.step.hours or 0.0 for p in planned),
        hours_dated=sum(p.task.step.hours or 0.0 for p in dated),
        curve=curve((p.begins, p.ends, p.task.step.hours or 0.0) for p in dated),
        priority=laid.schedule.priority,
    )


def _in_order(planned: Iterable[Planned]) -> tuple[Planned, ...]:
    """In the order of the plan; what has no days comes last."""
    return tuple(sorted(planned, key=lambda p: (bool(p.undated), p.begins, p.ends)))


def _lay(
    tasks: Sequence[Task], section: Rules, event: datetime.date | None, as_of: datetime.date
) -> _Laid:
    """The open tasks on the time line; only orders that a dated step waits for are laid with them."""
    left = jobs_of([t.step for t in tasks], section.orders, section.people, as_of)
    asked = {w for job in left.jobs if job.owner for w in job.waits_for}
    jobs = tuple(job for job in left.jobs if job.owner or job.id in asked)
    schedule = level(jobs)
    return _Laid(
        Left(jobs, left.undated),
        behind([t.step for t in tasks]),
        {t.step.id: t.step.title for t in tasks} | {o.id: o.title for o in section.orders},
        {t.step.id: t.step.hours or 0.0 for t in tasks},
        schedule,
        driving_chain(schedule, jobs),
        before(event, as_of) if event else None,
        as_of,
    )


def _planned(task: Task, laid: _Laid) -> Planned:
    step, follows = task.step, laid.behind[task.step.id]
    hours = sum(laid.hours[name] for name in follows)
    if step.id in laid.left.undated:
        reason = laid.left.undated[step.id]
        return Planned(task, reason, behind=len(follows), hours_behind=hours)
    slot = laid.schedule.slots[step.id]
    return Planned(
        task,
        "",
        first_day(slot.start, laid.as_of),
        last_day(slot.finish, laid.as_of),
        slot.start,
        slot.finish,
        _slack(step.id, laid),
        step.id in laid.chain,
        _why_then(step.id, task.owner, laid),
        len(follows),
        hours,
    )


def _slack(name: str, laid: _Laid) -> float | None:
    """Days it may slip before the event is missed, by the network alone."""
    if laid.deadline is None:
        return None
    times, i = laid.schedule.earliest, laid.schedule.net.ids.index(name)
    return float(times.slack[i]) + laid.deadline - float(times.total)


def _why_then(name: str, owner: str, laid: _Laid) -> str:
    """What it waits for until then: an order, a step, or its owner; "" where it begins at once."""
    slot = laid.schedule.slots[name]
    if slot.start <= 1e-9:
        return ""
    job = next(j for j in laid.left.jobs if j.id == name)
    slots = laid.schedule.slots
    last = max(job.waits_for, key=lambda w: slots[w].finish, default="")
    if last and slots[last].finish >= slot.start - 1e-9:
        return f"after “{laid.titles[last]}”"
    own = [j for j in laid.left.jobs if j.owner == job.owner and slots[j.id].finish <= slot.start]
    before_it = max(own, key=lambda j: slots[j.id].finish, default=None)
    return f"once {owner} is through with “{laid.titles[before_it.id]}”" if before_it else ""


def _awaited(section: Rules, tasks: Sequence[Task], laid: _Laid) -> Iterator[Awaited]:
    for order in section.orders:
        if not has_arrived(order, laid.as_of):
            held = tuple(t.step.title for t in tasks if not t.done and order.id in t.step.waits_for)
            yield Awaited(order, held, order.expected < laid.as_of, order.id in laid.chain)


def _shares(section: Rules, planned: Sequence[Planned], as_of: datetime.date) -> Iterator[Share]:
    for person in section.people:
        own = [p for p in planned if p.task.step.owner == person.id]
        dated = [p for p in own if not p.undated]
        yield Share(
            person,
            len(own),
            sum(p.task.step.hours or 0.0 for p in own),
            min((p.start for p in dated if p.start), default=None),
            max((p.finish for p in dated if p.finish), default=None),
            sum(_hours_within(p, 0.0, WEEK) for p in dated),
        )


def _hours_within(planned: Planned, begin: float, end: float) -> float:
    """Hours of a step that fall between two days of the plan."""
    length = planned.ends - planned.begins
    part = overlap(planned.begins, planned.ends, begin, end)
    return (planned.task.step.hours or 0.0) * part / length if length > 0.0 else 0.0


def _week(section: Rules, planned: Sequence[Planned]) -> Mapping[str, tuple[Evening, ...]]:
    """By person: the steps of the first seven days in their order, with the hours that fall there."""
    found: dict[str, tuple[Evening, ...]] = {}
    for person in section.people:
        own = sorted(
            (p for p in planned if p.task.step.owner == person.id and not p.undated),
            key=lambda p: p.begins,
        )
        due = tuple(Evening(p, hours) for p in own if (hours := _hours_within(p, 0.0, WEEK)) > 0.05)
        if due:
            found[person.name] = due
    return found


def _groups(
    section: Rules, made: Mapping[str, Progress], planned: Sequence[Planned]
) -> Iterator[Readiness]:
    ends: dict[str, list[datetime.date | None]] = {}
    for p in planned:
        ends.setdefault(p.task.key, []).append(p.finish)
    for sheet in section.sheets:
        for group in sheet.groups:
            keys = [key_of(sheet, r) for r in sheet.requirements if r.group == group.id]
            if keys:
                days = [day for key in keys for day in ends.get(key, ())]
                yield _readiness(sheet.title, group.title, [made[k] for k in keys], days)


def _readiness(
    sheet: str, title: str, parts: Sequence[Progress], days: Sequence[datetime.date | None]
) -> Readiness:
    hours = sum(p.hours for p in parts)
    left = sum(p.hours_left for p in parts)
    known = [day for day in days if day is not None]
    return Readiness(
        sheet,
        title,
        len(parts),
        sum(p.complete for p in parts),
        sum(p.steps for p in parts),
        sum(len(p.steps_open) for p in parts),
        hours,
        left,
        1.0 - left / hours if hours else sum(p.done for p in parts) / len(parts),
        max(known) if days and len(known) == len(days) else None,
    )


def _results(detail: Detail) -> Iterator[Result]:
    yield Result(f"{WORD}.hours", "Hours of work, done and left", detail.hours * HOUR, "time")
    yield Result(f"{WORD}.hours_left", "Hours of work left", detail.hours_left * HOUR, "time")
    yield plan_said.float_result(detail, DAY)
    for key, part in detail.progress.items():
        if part.steps or part.evidence_missing:
            yield Result(f"{WORD}.progress.{key}", f"Progress of {key}", part.done, "share")


SUBJECT = Subject(
    word=WORD,
    title="Work that is left",
    purpose="How far each line of the rule sheets is, who does what next, and when it is all ready "
    "beside the day of the event.",
    group="What is left",
    evaluate=evaluate,
)
