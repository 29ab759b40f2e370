"""From steps and orders to jobs on a time line, and why some steps have no place on it."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from buildspec.sections.rules import Order, Person, Step
from generator.planning.days import after, days_of
from generator.planning.levelling import Job


@dataclass(frozen=True, slots=True)
class Left:
    """What is left to do: `jobs` that have a place on the time line, and the steps that have none,
    each with the reason.
    """

    jobs: tuple[Job, ...]
    undated: Mapping[str, str]


def jobs_of(
    steps: Sequence[Step], orders: Iterable[Order], people: Iterable[Person], begin: datetime.date
) -> Left:
    """The open `steps` and the orders that have not arrived by `begin` as jobs.

    What a step waits for and is no longer open is behind it. A step without hours, without an owner,
    or whose owner has no hours a week has no place, and nothing that waits for it has one.
    """
    rates = {p.id: p.hours_a_week or 0.0 for p in people}
    awaited = [o for o in orders if not has_arrived(o, begin)]
    open_ids = {s.id for s in steps} | {o.id for o in awaited}
    undated = _undated(steps, {s.id: _own_reason(s, rates) for s in steps})
    deliveries = (Job(o.id, 0.0, not_before=after(o.expected, begin)) for o in awaited)
    work = (
        Job(
            s.id,
            days_of(s.hours or 0.0, rates[s.owner]),
            s.owner,
            tuple(w for w in s.waits_for if w in open_ids),
        )
        for s in steps
        if s.id not in undated
    )
    return Left((*deliveries, *work), undated)


def has_arrived(order: Order, day: datetime.date) -> bool:
    """Whether it is there; a day to come does not count."""
    return order.arrived is not None and order.arrived <= day


def _own_reason(step: Step, rates: Mapping[str, float]) -> str:
    """Why a step has no place on the time line for itself, or ""."""
    if step.hours is None:
        return "no hours are stated"
    if not step.owner:
        return "nobody is named to do it"
    return "" if rates.get(step.owner) else "its owner has no hours a week"


def _undated(steps: Sequence[Step], own: Mapping[str, str]) -> dict[str, str]:
    """The steps without a place, and those that wait for one of them, however far behind."""
    found = {name: reason for name, reason in own.items() if reason}
    titles = {s.id: s.title for s in steps}
    while True:
        held = {
            s.id: f"it waits for “{titles[w]}”, which has no days"
            for s in steps
            for w in s.waits_for
            if s.id not in found and w in found
        }
        if not held:
            return found
        found |= held


def behind(steps: Sequence[Step]) -> Mapping[str, frozenset[str]]:
    """The steps that wait for each step, directly or through others."""
    direct: dict[str, set[str]] = {}
    for step in steps:
        for name in step.waits_for:
            direct.setdefault(name, set()).add(step.id)
    return {step.id: frozenset(_reached(step.id, direct)) for step in steps}


def _reached(start: str, direct: Mapping[str, set[str]]) -> set[str]:
    found: set[str] = set()
    todo = [start]
    while todo:
        fresh = direct.get(todo.pop(), set()) - found
        found |= fresh
        todo += fresh
    return found


def curve(jobs: Iterable[tuple[float, float, float]]) -> tuple[tuple[float, float], ...]:
    """Work left over time, as corners of a broken line: (day, hours left).

    `jobs` are (first day, last day, hours), each worked at an even pace. Ends at 0 hours.
    """
    known = [job for job in jobs if job[2] > 0.0]
    corners = sorted({0.0, *(day for start, finish, _ in known for day in (start, finish))})
    return tuple((day, sum(_left(job, day) for job in known)) for day in corners)


def _left(job: tuple[float, float, float], day: float) -> float:
    start, finish, hours = job
    if day <= start:
        return hours
    return 0.0 if day >= finish else hours * (finish - day) / (finish - start)
