"""Steps through a motion along a line, with error control and events. Plain floats, SI.

Dormand and Prince's pair of orders 5 and 4, with its continuous extension of order 4. Source: Hairer,
Nørsett, Wanner, Solving Ordinary Differential Equations I, table II.5.2 and section II.6; the extension
as Shampine gives it (Math. Comp. 46, 1986). `stop` takes the same pair over many stops at once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from operator import mul
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Rate = Callable[[float, float], float]
"""Acceleration in m/s² at a time in s and a speed in m/s."""
Ended = Literal["time", "mark", "limit", "stood", "stuck"]

NODES = (0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0)
STAGES = (
    (),
    (1 / 5,),
    (3 / 40, 9 / 40),
    (44 / 45, -56 / 15, 32 / 9),
    (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
    (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
    (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84),
)
ERROR = (-71 / 57600, 0.0, 71 / 16695, -71 / 1920, 17253 / 339200, -22 / 525, 1 / 40)
BETWEEN = (
    (1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    (
        -8048581381 / 2820520608,
        0.0,
        131558114200 / 32700410799,
        -1754552775 / 470086768,
        127303824393 / 49829197408,
        -282668133 / 205662961,
        40617522 / 29380423,
    ),
    (
        8663915743 / 2820520608,
        0.0,
        -68118460800 / 10900136933,
        14199869525 / 1410260304,
        -318862633887 / 49829197408,
        2019193451 / 616988883,
        -110615467 / 29380423,
    ),
    (
        -12715105075 / 11282082432,
        0.0,
        87487479700 / 32700410799,
        -10690763975 / 1880347072,
        701980252875 / 199316789632,
        -1453857185 / 822651844,
        69997945 / 29380423,
    ),
)
"""A row a power of the part of a step, from the first; a column a stage."""
FIRST_STEP = 0.05
"""The first step that is tried, s."""
SMALLEST = 1e-12
"""A step below this share of a second cannot be made: the integration is stuck."""
MOST_STEPS = 20_000
"""So is one that takes more steps than this; a run takes about a hundred."""


@dataclass(frozen=True, slots=True)
class State:
    """Where the motion is: s, m, m/s."""

    time: float
    distance: float
    speed: float


@dataclass(frozen=True, slots=True)
class Ends:
    """What is looked out for: marks in m, rising, of which the last ends the motion, and a speed in m/s."""

    marks: Sequence[float] = ()
    limit: float = float("inf")


@dataclass(frozen=True, eq=False)
class Path:
    """A motion through its steps: how it `ended`, where, and each mark with its time and speed."""

    ended: Ended
    last: State
    crossed: tuple[tuple[float, float, float], ...]
    steps: tuple[_Step, ...] = field(repr=False)

    def at(self, times: Array) -> Array:
        """Distance and speed at times in s within the motion, a row each."""
        if not self.steps:
            return np.repeat([[self.last.distance], [self.last.speed]], len(times), axis=1)
        begun = np.array([step.since.time for step in self.steps])
        n = np.clip(np.searchsorted(begun, times, side="right") - 1, 0, len(begun) - 1)
        wide = np.array([step.wide for step in self.steps])[n]
        part = (times - begun[n]) / wide
        powers = np.vstack([part, part**2, part**3, part**4])
        found = []
        for start, slopes in (
            ([step.since.distance for step in self.steps], [step.speeds for step in self.steps]),
            ([step.since.speed for step in self.steps], [step.slopes for step in self.steps]),
        ):
            weights = (np.array(slopes) @ np.array(BETWEEN).T)[n]
            found.append(np.array(start)[n] + wide * (weights.T * powers).sum(axis=0))
        return np.array(found)


@dataclass(frozen=True, slots=True)
class _Step:
    """A step with the speeds and accelerations at its seven stages; the last is that at its end."""

    since: State
    wide: float
    speeds: list[float]
    slopes: list[float]

    def end(self) -> State:
        """The state at the end."""
        ahead = self.wide * sum(map(mul, STAGES[6], self.speeds))
        return State(self.since.time + self.wide, self.since.distance + ahead, self.speeds[6])

    def error(self, end: State, tolerance: float) -> float:
        """The estimated error over what is allowed."""
        size = max(abs(self.since.distance), abs(end.distance))
        x = sum(map(mul, ERROR, self.speeds)) / (1.0 + size)
        size = max(abs(self.since.speed), abs(end.speed))
        v = sum(map(mul, ERROR, self.slopes)) / (1.0 + size)
        return float(self.wide * (0.5 * (x * x + v * v)) ** 0.5 / tolerance)

    def within(self, part: float) -> State:
        """The state at a part of the step."""
        since = self.since
        powers = (part, part**2, part**3, part**4)
        weights = [sum(map(mul, powers, column)) for column in zip(*BETWEEN, strict=True)]
        return State(
            since.time + part * self.wide,
            since.distance + self.wide * sum(map(mul, weights, self.speeds)),
            since.speed + self.wide * sum(map(mul, weights, self.slopes)),
        )


def march(rate: Rate, since: State, until: float, tolerance: float, ends: Ends) -> Path:
    """The motion from `since` to the last mark, the speed `limit`, a standstill, or the time `until` in s.

    Each step is as long as the relative `tolerance` allows. Where none can be made, or no end is near, it
    is `stuck`.
    """
    here, slope, wide = since, rate(since.time, since.speed), min(FIRST_STEP, until - since.time)
    steps: list[_Step] = []
    crossed: list[tuple[float, float, float]] = []
    while here.time < until:
        wide = min(wide, until - here.time)
        step = _tried(rate, here, slope, wide)
        there = step.end()
        error = step.error(there, tolerance)
        if not error <= 1.0:  # not a number is no step either
            wide *= max(0.9 * error**-0.2, 0.2) if error < float("inf") else 0.2
            if wide < SMALLEST * max(1.0, here.time):
                return Path("stuck", here, tuple(crossed), tuple(steps))
            continue
        steps.append(step)
        if len(steps) > MOST_STEPS:
            return Path("stuck", there, tuple(crossed), tuple(steps))
        ended, last = _noted(step, there, ends, crossed)
        if ended:
            return Path(ended, last, tuple(crossed), tuple(steps))
        rest = until - there.time
        here, slope = there, step.slopes[6]
        wide *= min(0.9 * max(error, 1e-12) ** -0.2, 10.0)
        if rest < SMALLEST * max(1.0, until):
            break
    return Path("time", here, tuple(crossed), tuple(steps))


def _tried(rate: Rate, since: State, first: float, wide: float) -> _Step:
    time, speed = since.time, since.speed
    speeds, slopes = [speed], [first]
    for node, weights in zip(NODES[1:], STAGES[1:], strict=True):
        there = speed + wide * sum(map(mul, weights, slopes))
        speeds.append(there)
        slopes.append(rate(time + node * wide, there))
    return _Step(since, wide, speeds, slopes)


def _noted(
    step: _Step, there: State, ends: Ends, crossed: list[tuple[float, float, float]]
) -> tuple[Ended | None, State]:
    """What ends the motion within the step, and where; marks passed before that are added to `crossed`."""
    ended: Ended | None = None
    last, part = there, 1.0
    if there.speed <= 0.0:
        ended, part = "stood", _part(step, lambda now: now.speed <= 0.0)
    elif there.speed >= ends.limit:
        ended, part = "limit", _part(step, lambda now: now.speed >= ends.limit)
    if ended:
        last = step.within(part)
    for mark in ends.marks[len(crossed) :]:
        if last.distance < mark:
            break
        found = step.within(_part(step, lambda now, mark=mark: now.distance >= mark))  # type: ignore[misc]
        crossed.append((mark, found.time, found.speed))
        if mark == ends.marks[-1]:
            return "mark", found
    return ended, last


def _part(step: _Step, happened: Callable[[State], bool]) -> float:
    """The part of the step at which something has happened that has not at its beginning: by halving."""
    low, high = 0.0, 1.0
    for _ in range(52):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if happened(step.within(middle)) else (middle, high)
    return high
