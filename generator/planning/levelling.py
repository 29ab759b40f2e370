"""Steps on a time line where each person does one thing at a time.

The critical path method alone lets a person do everything at once. Here each step is put, in the
order of a priority, into the first gap that its owner has once what it waits for is done: the
serial schedule generation scheme of resource-constrained scheduling (common practice; as in Kolisch,
Serial and parallel resource-constrained project scheduling methods revisited, European Journal of
Operational Research 90 (1996), from memory). The best of several priorities is kept, so the finish
is good, but not proven the earliest possible.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from generator.formulas.egress import Network, Passes, network, passes


@dataclass(frozen=True, slots=True)
class Job:
    """Something that takes `days` (≥ 0) of its `owner`, after those it waits for and `not_before`.

    Without an owner, or taking no time, it needs nobody, as a delivery does. Days count from the start of the plan.
    """

    id: str
    days: float
    owner: str = ""
    waits_for: tuple[str, ...] = ()
    not_before: float = 0.0


@dataclass(frozen=True, slots=True)
class Slot:
    """When a job is done, in days from the start of the plan."""

    start: float
    finish: float


@dataclass(frozen=True)
class Schedule:
    """`slots` by job; `earliest` are the passes of the same network as if nobody were ever busy.

    `finish` is the end of the last job, in days; `priority` says which order gave it.
    """

    slots: Mapping[str, Slot]
    net: Network
    earliest: Passes
    finish: float
    priority: str


Priority = Callable[[int, Passes], float]

PRIORITIES: Mapping[str, Priority] = {
    "least latest start": lambda i, times: float(times.latest_start[i]),
    "least latest finish": lambda i, times: float(times.latest_finish[i]),
    "least slack": lambda i, times: float(times.slack[i]),
}


def level(jobs: Sequence[Job]) -> Schedule:
    """The jobs on a time line; raises graphlib.CycleError where they wait for one another.

    A job may wait only for jobs of the list. The same jobs in the same order give the same plan.
    """
    net = network({job.id: job.waits_for for job in jobs})
    times = _passes(net, jobs)
    tried = {name: _serial(jobs, net, times, rule) for name, rule in PRIORITIES.items()}
    best = min(tried, key=lambda name: _finish(tried[name]))
    return Schedule(tried[best], net, times, _finish(tried[best]), best)


def _passes(net: Network, jobs: Sequence[Job]) -> Passes:
    """The passes with each `not_before` as a wait of its own, which needs nobody."""
    held = {f"\0{job.id}": job for job in jobs if job.not_before > 0.0}
    waits: dict[str, tuple[str, ...]] = {
        job.id: (*job.waits_for, *([f"\0{job.id}"] if job.not_before > 0.0 else [])) for job in jobs
    }
    whole = network(waits | dict.fromkeys(held, ()))
    days = np.array([*(j.days for j in jobs), *(j.not_before for j in held.values())], dtype=float)
    none = np.zeros(0)
    times = passes(whole, days) if days.size else Passes(none, none, none, none, np.asarray(0.0))
    n = len(net.ids)
    return Passes(
        times.start[:n], times.finish[:n], times.latest_start[:n], times.latest_finish[:n],
        times.total,
    )  # fmt: skip


def _serial(jobs: Sequence[Job], net: Network, times: Passes, rule: Priority) -> Mapping[str, Slot]:
    """Every job in the first gap of its owner, the most pressing of those that can be put first."""
    waiting = [len(before) for before in net.before]
    ready = [(rule(i, times), i) for i, count in enumerate(waiting) if not count]
    heapq.heapify(ready)
    slots: dict[str, Slot] = {}
    busy: dict[str, list[Slot]] = {}
    while ready:
        _, i = heapq.heappop(ready)
        job = jobs[i]
        after = max((job.not_before, *(slots[w].finish for w in job.waits_for)))
        slots[job.id] = _place(job, after, busy)
        for b in net.behind[i]:
            waiting[b] -= 1
            if not waiting[b]:
                heapq.heappush(ready, (rule(b, times), b))
    return {job.id: slots[job.id] for job in jobs}


def _place(job: Job, after: float, busy: dict[str, list[Slot]]) -> Slot:
    """The first time from `after` on at which the owner has room for the whole job."""
    if not job.owner or not job.days:
        return Slot(after, after + job.days)
    taken = busy.setdefault(job.owner, [])
    start = after
    for slot in taken:
        if slot.finish <= start:
            continue
        if slot.start - start >= job.days:
            break
        start = slot.finish
    found = Slot(start, start + job.days)
    taken.append(found)
    taken.sort(key=lambda s: (s.start, s.finish))
    return found


def _finish(slots: Mapping[str, Slot]) -> float:
    return max((slot.finish for slot in slots.values()), default=0.0)


def driving_chain(schedule: Schedule, jobs: Sequence[Job]) -> tuple[str, ...]:
    """What sets the finish, from first to last: each starts when the one before it ends.

    The one before may be something it waits for, or what its owner does before it. Empty where there
    is nothing to do. Of several that end at that moment, what it waits for goes first.
    """
    by_id = {job.id: job for job in jobs}
    last = max(schedule.slots, key=lambda i: schedule.slots[i].finish, default="")
    chain: list[str] = []
    while last and last not in chain:
        chain.append(last)
        last = _driver(by_id[last], schedule.slots, by_id)
    return tuple(reversed(chain))


def _driver(job: Job, slots: Mapping[str, Slot], by_id: Mapping[str, Job]) -> str:
    """The job whose end lets `job` start, or "" where nothing does."""
    start = slots[job.id].start
    near = 1e-9 * max(start, 1.0)
    if start - job.not_before <= near:
        return ""
    own = (i for i, j in by_id.items() if job.owner and j.owner == job.owner and j.days > 0.0)
    ended = (i for i in (*job.waits_for, *own) if abs(slots[i].finish - start) <= near)
    return next((i for i in ended if i != job.id), "")
