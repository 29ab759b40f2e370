"""Speeding up: from the start line through the timed sections, with shifts and the tires' grip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from generator.run.car import Car, Course, Gear, forces, speeding_up
from generator.run.stepping import Ends, Rate, State, march

Array = NDArray[np.float64]
LONGEST = 600.0
"""A run that has not passed the last mark after this many seconds is given up."""
TOLERANCE = 1e-9
"""Relative tolerance of the integration; against closed forms it is then right to 1e-6."""


MOST_BURNED = 0.5
"""Share of the vehicle's mass that can be burned at most; a run that gets there is named."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """When and how fast the vehicle passes a mark; None where it never does."""

    mark: float
    time: float | None
    speed: float | None


@dataclass(frozen=True, eq=False)
class Trace:
    """The run sampled in time: time s, distance m, speed m/s, thrust N; `gear` counts from 1, 0 while shifting."""

    time: Array
    distance: Array
    speed: Array
    thrust: Array
    gear: Array
    gripless: Array


@dataclass(frozen=True)
class Run:
    """How a run went. `stalled` says why it did not reach the end, where it did not."""

    crossings: tuple[Crossing, ...]
    peak: float
    distance: float
    time: float
    shifts: tuple[tuple[int, float, float], ...]
    held: bool
    stalled: str
    trace: Trace = field(repr=False, compare=False)
    steps: int = 0
    burned: float = 0.0

    @property
    def grip_share(self) -> float:
        """Share of the distance in which the tires' grip was the limit and not the power."""
        ahead = np.diff(self.trace.distance)
        whole = float(ahead.sum())
        return float((ahead * self.trace.gripless[:-1]).sum()) / whole if whole else 0.0


@dataclass(frozen=True, slots=True)
class _Way:
    """What stays the same during a run: vehicle, course, marks, and how finely to integrate and sample."""

    car: Car
    course: Course
    marks: Sequence[float]
    tolerance: float
    samples: int
    flow: float = 0.0
    aboard: float = float("inf")

    def burned(self, clock: float) -> float:
        """Fuel burned since the start, kg: never more than is aboard, or half of the vehicle."""
        return min(self.flow * clock, self.aboard, MOST_BURNED * self.car.mass)

    def at(self, clock: float, gear: Gear) -> tuple[Car, Gear]:
        """Vehicle and gear with the fuel burned by then taken off."""
        if self.flow <= 0.0:
            return self.car, gear
        burned = self.burned(clock)
        return self.car.lighter(burned), replace(gear, mass=gear.mass - burned)


@dataclass(frozen=True, slots=True)
class _Leg:
    """One piece of the run, in one gear or between two."""

    time: Array
    state: Array
    gear: int
    crossed: tuple[tuple[float, float, float], ...]
    ended: str
    steps: int
    last: State


def run_up(
    car: Car,
    course: Course,
    gears: Sequence[Gear],
    *,
    marks: Sequence[float],
    start: float = 0.0,
    shift_time: float = 0.0,
    tolerance: float = TOLERANCE,
    samples: int = 40,
    flow: float = 0.0,
    aboard: float = float("inf"),
) -> Run:
    """Integrate from the start line to the last of `marks` (m, rising) with full throttle.

    With a `flow` in kg/s the vehicle gets lighter by it from the start on, shifts included, at most by
    the kg `aboard`.

    Gears are taken in order, each until its `until` speed; no slip but the limit of grip. Thrust is
    cut for `shift_time` s at a shift. In the top gear the engine's limit holds the speed.
    """
    way, legs = _Way(car, course, marks, tolerance, samples, flow, aboard), list[_Leg]()
    state, number = State(0.0, 0.0, start), 0
    shifts: list[tuple[int, float, float]] = []
    ended = "shift"
    while ended == "shift":
        last = number == len(gears) - 1
        leg = _drive(way, gears[number], number + 1, state, last=last)
        legs.append(leg)
        state, ended = leg.last, leg.ended
        if ended == "shift":
            number += 1
            shifts.append((number + 1, state.distance, state.speed))
            if shift_time > 0.0:
                leg = _coast(way, gears[number], state, shift_time)
                legs.append(leg)
                state, ended = leg.last, leg.ended
    if ended == "limit":
        legs.append(_held(number + 1, state, marks))
    return _gathered(way, gears, legs, tuple(shifts))


def _drive(way: _Way, gear: Gear, number: int, since: State, *, last: bool) -> _Leg:
    """Full throttle in one gear until its shift speed, the last mark, or the end of patience."""
    ends = "limit" if last else "shift"
    pulling = (
        gear.onward()
    )  # else no step could reach the limit: its stages beyond would find no thrust

    def rate(time: float, speed: float) -> float:
        car, geared = way.at(time, pulling)
        return speeding_up(car, way.course, geared, speed)[0]

    limit = gear.speeds[-1] if last and not gear.power else gear.until
    if since.speed >= limit:
        place = np.array([[since.distance], [since.speed]])
        return _Leg(np.array([since.time]), place, number, (), ends, 0, since)
    return _leg(way, rate, since, limit=limit, number=number, at_limit=ends)


def _coast(way: _Way, gear: Gear, since: State, lasting: float) -> _Leg:
    """No thrust for a while."""

    def rate(time: float, speed: float) -> float:
        car, geared = way.at(time, gear)
        return -forces(car, way.course, speed).resistance / geared.mass

    return _leg(
        replace(way, samples=3),
        rate,
        since,
        limit=float("inf"),
        number=0,
        at_limit="shift",
        lasting=lasting,
    )


def _leg(
    way: _Way,
    rate: Rate,
    since: State,
    *,
    limit: float,
    number: int,
    at_limit: str,
    lasting: float = LONGEST,
) -> _Leg:
    """Integrate one piece; it ends at the last mark, a standstill, a speed, or after a time."""
    ahead = [m for m in way.marks if m > since.distance]
    path = march(rate, since, since.time + lasting, way.tolerance, Ends(ahead, limit))
    end = path.last.time
    grid = np.unique(np.append(np.linspace(since.time, end, way.samples), end))
    words = {"limit": at_limit, "time": "time" if lasting == LONGEST else at_limit}
    ended = words.get(path.ended, path.ended)
    return _Leg(grid, path.at(grid), number, path.crossed, ended, len(path.steps) + 1, path.last)


def _held(number: int, since: State, marks: Sequence[float]) -> _Leg:
    """The rest of the way at the engine's limit, at constant speed."""
    clock, place, speed = since.time, since.distance, since.speed
    ahead = [m for m in marks if m > place]
    crossed = tuple((m, clock + (m - place) / speed, speed) for m in ahead)
    last = crossed[-1][1] if crossed else clock
    end = ahead[-1] if ahead else place
    places = np.array([[place, end], [speed, speed]])
    there = State(last, end, speed)
    return _Leg(np.array([clock, last]), places, number, crossed, "mark", 1, there)


def _gathered(
    way: _Way,
    gears: Sequence[Gear],
    legs: Sequence[_Leg],
    shifts: tuple[tuple[int, float, float], ...],
) -> Run:
    known = {mark: (t, v) for leg in legs for mark, t, v in leg.crossed}
    crossings = tuple(Crossing(m, *known.get(m, (None, None))) for m in way.marks)
    trace = _trace(way, gears, legs)
    held = len(legs) > 1 and legs[-1].steps == 1 and legs[-1].ended == "mark" and legs[-1].gear > 0
    stalled = {
        "mark": "",
        "stood": "the thrust is less than what resists, and the vehicle comes to a standstill",
        "stuck": "the integration cannot go on there: no step is small enough for its forces",
    }.get(
        legs[-1].ended, f"the vehicle has not passed the last mark {LONGEST:.0f} s after the start"
    )
    return Run(
        crossings,
        float(trace.speed.max()),
        float(trace.distance[-1]),
        float(trace.time[-1]),
        shifts,
        held,
        stalled,
        trace,
        sum(leg.steps for leg in legs),
        way.burned(float(trace.time[-1])),
    )


def _trace(way: _Way, gears: Sequence[Gear], legs: Sequence[_Leg]) -> Trace:
    time = np.concatenate([leg.time for leg in legs])
    distance = np.concatenate([leg.state[0] for leg in legs])
    speed = np.concatenate([leg.state[1] for leg in legs])
    gear = np.concatenate([np.full(len(leg.time), float(leg.gear)) for leg in legs])
    pairs = [
        _thrust(way, gears, int(n), (float(t), float(v)))
        for n, t, v in zip(gear, time, speed, strict=True)
    ]
    return Trace(
        time,
        distance,
        speed,
        np.array([p[0] for p in pairs]),
        gear,
        np.array([p[1] for p in pairs]),
    )


def _thrust(
    way: _Way, gears: Sequence[Gear], number: int, when: tuple[float, float]
) -> tuple[float, float]:
    """Thrust at a time and speed, and 1.0 where grip limits it."""
    if not number:
        return 0.0, 0.0
    clock, speed = when
    car, gear = way.at(clock, gears[number - 1])
    _, force, gripless = speeding_up(car, way.course, gear, speed)
    return force, float(gripless)
