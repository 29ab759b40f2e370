"""Stops: throttle closing, parachutes, brakes, with whatever is to fail left out. Many are marched at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from generator.run.car import Car, Course
from generator.run.lanes import LONGEST, Lanes, Start, pack
from generator.run.plan import Plan
from generator.run.stepping import BETWEEN, ERROR, NODES, STAGES

__all__ = ["LOOSE", "TOLERANCE", "Happening", "Start", "Stop", "stop", "stops"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
TOLERANCE = 1e-7
"""Relative tolerance of a step; against closed forms a stop is then right to 1e-6."""
LOOSE = 1e-5
"""Tolerance for searches: right to about 1e-4."""
AT_ONCE = 1e-9
"""Happenings that are so many seconds apart count as simultaneous."""

# The pair of `stepping`, over arrays.
_STAGES = tuple(np.array(row) for row in STAGES)
_ERROR, _BETWEEN = np.array(ERROR), np.array(BETWEEN)
_NODES = NODES
NO_TRACE: Array = np.zeros((3, 0))
TOO_SMALL = 1e-10
"""A step of so many seconds cannot be made shorter: the stop is given up."""


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that happened during the stop."""

    what: str
    time: float
    distance: float
    speed: float


@dataclass(frozen=True, eq=False)
class Stop:
    """How a stop went: m, s, m/s², J. `trace` rows are time, distance, speed. `stalled` says why it never ended,
    `late` whether that is because it was still rolling when it was given up.

    `too_slow` are the line stretches that came below the parachute's least speed and so count for nothing.
    """

    distance: float
    time: float
    peak: float
    brake_energy: float
    stretched: tuple[Happening, ...]
    happenings: tuple[Happening, ...]
    stalled: str
    trace: Array = field(repr=False)
    final_speed: float = 0.0
    too_slow: tuple[Happening, ...] = ()
    late: bool = False


def stop(
    car: Car,
    course: Course,
    plan: Plan,
    *,
    speed: float,
    mass: float,
    tolerance: float = TOLERANCE,
) -> Stop:
    """One stop; see `stops`."""
    return stops([Start(car, course, plan, speed, mass)], tolerance)[0]


def stops(starts: Sequence[Start], tolerance: float = TOLERANCE) -> tuple[Stop, ...]:
    """Integrate each from the end of the timed section to a standstill, all side by side.

    Until the throttle is closed the thrust of the start goes on. What resists is drag, rolling resistance, grade, the
    engine's braking, parachutes out, and brakes as far as the tires grip. Each has steps of its own,
    so that none depends on which others are made with it.
    """
    if not starts:
        return ()
    march = _March(pack(starts, tolerance, max(tolerance, LOOSE)))
    while len(march.lanes.id):
        march.step()
    return march.gathered(starts)


class _March:
    """All stops on their way. `state` rows are distance, speed and heat into the brakes; a column each."""

    def __init__(self, lanes: Lanes) -> None:
        self.lanes = lanes
        count = len(lanes.id)
        self.happened = np.full((count, 2 * len(lanes.area) + 2, 3), np.nan)
        self.peak, self.late = np.zeros(count), np.zeros(count, dtype=bool)
        self.stuck, self.final = np.zeros(count, dtype=bool), np.zeros((4, count))
        self.rows: list[tuple[NDArray[np.intp], Array]] = []
        self._begin(np.ones(count, dtype=bool))

    def step(self) -> None:
        """One step of every stop, as long as its error allows, at most to its next happening."""
        lanes = self.lanes
        until = lanes.due.min(axis=0)
        step = np.minimum(lanes.step, until - lanes.time)
        slopes, there, error = _tried(lanes, step)
        error = np.where(np.isfinite(error), error, 1e12)  # not a number is no step
        good = error <= 1.0
        whole = good & (step >= until - lanes.time)
        wider = step * np.clip(0.9 * np.maximum(error, 1e-12) ** -0.2, 0.2, 10.0)
        # one cut short by what is due says little of how long the next may be
        lanes.step = np.where(whole, np.maximum(wider, lanes.step), wider)
        part, which = _crossed(lanes, slopes, there, step, good)
        inner = which >= 0
        time = np.where(whole, until, lanes.time + step)
        if inner.any():
            time[inner] = lanes.time[inner] + part[inner] * step[inner]
            there[:, inner] = _within(lanes, slopes, step, part, inner)
        slowing = np.where(inner, _slope(slopes, part), slopes[6, 1])
        self._moved(good, time, there, slowing, slopes[6])
        self._happen(good, which)
        self._give_up()

    def _moved(self, good: Mask, time: Array, there: Array, slope: Array, last: Array) -> None:
        """Take over the steps that are good."""
        lanes = self.lanes
        lanes.time = np.where(good, time, lanes.time)
        lanes.state = np.where(good, there, lanes.state)
        lanes.slope = np.where(good, last, lanes.slope)
        ids = lanes.id[good]
        self.peak[ids] = np.maximum(self.peak[ids], -slope[good])
        self._trace(good)

    def _trace(self, moved: Mask) -> None:
        """Keep where these are, as far as their way is wanted."""
        lanes, kept = self.lanes, moved & self.lanes.traced
        self.rows.append((lanes.id[kept], np.vstack([lanes.time[kept], lanes.state[:2, kept]])))

    def _happen(self, good: Mask, which: NDArray[np.intp]) -> None:
        """What the steps led to: crossings, then all that is due, until nothing more is."""
        lanes = self.lanes
        changed = good & ((which >= 0) | (lanes.due.min(axis=0) <= lanes.time + AT_ONCE))
        if not changed.any():
            return
        over = which == 0
        for event in range(1, len(lanes.zero)):
            self._trip(event, which == event)
        self._begin(changed & ~over)
        lanes = self.lanes
        self.late[lanes.id[lanes.time >= LONGEST]] = True
        self._end(over | (lanes.time >= LONGEST))

    def _give_up(self) -> None:
        """Leave out those whose steps have become too small to go on."""
        small = self.lanes.step < TOO_SMALL
        if small.any():
            self.stuck[self.lanes.id[small]] = True
            self._end(small)

    def _end(self, done: Mask) -> None:
        lanes = self.lanes
        if done.any():
            self.final[:, lanes.id[done]] = np.vstack([lanes.time[done], lanes.state[:, done]])
            self.lanes = lanes.taken(~done)

    def _begin(self, changed: Mask) -> None:
        """Everything that is due or crossed at once in these, and the slopes that follow."""
        lanes = self.lanes
        busy = True
        while busy:
            due = changed & (lanes.due[:-1] <= lanes.time + AT_ONCE)
            for number in np.flatnonzero(due.any(axis=1)):
                self._fall_due(int(number), due[number])
            crossed = changed & (lanes.values(lanes.state) <= 0.0)
            for event in range(1, len(crossed)):
                self._trip(event, crossed[event])
            busy = bool(due.any() or crossed[1:].any())
        lanes.slope = np.where(changed, lanes.rates(lanes.time, lanes.state), lanes.slope)
        ids = lanes.id[changed]
        self.peak[ids] = np.maximum(self.peak[ids], -lanes.slope[1, changed])
        self._trace(changed)

    def _trip(self, event: int, lanes_hit: Mask) -> None:
        """A mark is passed or a speed fallen below: a parachute is pulled, or a foot goes to the brake."""
        lanes, deployments = self.lanes, len(self.lanes.delay)
        if not lanes_hit.any():
            return
        lanes.zero[event, lanes_hit] = np.inf
        if event <= deployments:
            self._pull(event - 1, lanes_hit)
        else:
            lanes.due[-2, lanes_hit] = (lanes.time + lanes.reaction)[lanes_hit]

    def _fall_due(self, number: int, hit: Mask) -> None:
        """Something planned is due: see `Lanes.due` for the order."""
        lanes, count = self.lanes, len(self.lanes.delay)
        kind, n = divmod(number - 1, count) if 0 < number <= 3 * count else (-1, 0)
        lanes.due[number, hit] = np.inf
        if number == 0:
            lanes.closed |= hit
            self._note(2 * count, hit)
        elif kind == 0:
            self._pull(n, hit)
        elif kind == 1:
            self._stretch(n, hit)
        elif number == len(lanes.due) - 2:
            lanes.braking |= hit
            self._note(2 * count + 1, hit)

    def _pull(self, n: int, hit: Mask) -> None:
        lanes = self.lanes
        self._note(2 * n, hit)
        lanes.due[1 + len(lanes.delay) + n, hit] = (lanes.time + lanes.delay[n])[hit]

    def _stretch(self, n: int, hit: Mask) -> None:
        """Line stretch: the canopy fills in its travel, and the parachute behind it may be timed from here."""
        lanes, count = self.lanes, len(self.lanes.delay)
        self._note(2 * n + 1, hit)
        filling = lanes.fill[n] / np.maximum(lanes.state[1], 1.0)
        at_once = filling <= 0.0
        lanes.filling[n, hit] = np.where(at_once, 1.0, filling)[hit]
        lanes.since[n, hit] = np.where(at_once, lanes.time - 1.0, lanes.time)[hit]
        lanes.due[1 + 2 * count + n, hit] = np.where(at_once, np.inf, lanes.time + filling)[hit]
        if n + 1 < count:
            lanes.due[2 + n, hit] = np.minimum(lanes.due[2 + n], lanes.time + lanes.after[n + 1])[
                hit
            ]

    def _note(self, code: int, hit: Mask) -> None:
        lanes = self.lanes
        self.happened[lanes.id[hit], code] = np.vstack([lanes.time, lanes.state[:2]])[:, hit].T

    def gathered(self, starts: Sequence[Start]) -> tuple[Stop, ...]:
        """Every stop, in the order asked for."""
        traces, noted = self._traces(), self.happened.tolist()
        figures = zip(*self.final.tolist(), self.peak.tolist(), strict=True)
        return tuple(
            Stop(
                distance,
                time,
                peak,
                heat,
                tuple(h for h in happened if h.what.startswith("stretched:")),
                happened,
                self._why(n),
                traces.get(n, NO_TRACE),
                speed,
                late=bool(self.late[n]),
            )
            for n, (time, distance, speed, heat, peak) in enumerate(figures)
            for happened in [_happenings(starts[n], noted[n])]
        )

    def _traces(self) -> dict[int, Array]:
        """The way of each that is traced."""
        ids = np.concatenate([ids for ids, _ in self.rows])
        order = np.argsort(ids, kind="stable")
        whole = np.concatenate([row for _, row in self.rows], axis=1)[:, order]
        traced, begins = np.unique(ids[order], return_index=True)
        return dict(zip(traced.tolist(), np.split(whole, begins[1:], axis=1), strict=False))

    def _why(self, n: int) -> str:
        """Why a stop never ended, where it did not."""
        if self.stuck[n]:
            return "the integration cannot go on there: no step is small enough for its forces"
        return f"it is still rolling after {LONGEST:.0f} s" if self.late[n] else ""


def _happenings(start: Start, noted: list[list[float]]) -> tuple[Happening, ...]:
    """What happened, in order; of a brief stop the line stretches only."""
    names = [
        f"{word}: {d.name}" for d in start.plan.deployments for word in ("pulled", "stretched")
    ]
    pairs = list(zip(names, noted, strict=False))
    if start.brief:
        pairs = pairs[1::2]
    else:
        pairs += [("throttle closed", noted[-2]), ("brakes on", noted[-1])]
    found = [Happening(what, *row) for what, row in pairs if row[0] == row[0]]
    return tuple(sorted(found, key=lambda h: h.time))


# ---------------------------------------------------------------------------------- stepping


def _tried(lanes: Lanes, step: Array) -> tuple[Array, Array, Array]:
    """Slopes of the seven stages, the state at the end, and its error over what is allowed."""
    slopes = np.empty((7, *lanes.state.shape))
    slopes[0] = lanes.slope
    there = lanes.state
    for n in range(1, 7):
        there = lanes.state + step * _weighed(_STAGES[n], slopes[:n])
        slopes[n] = lanes.rates(lanes.time + _NODES[n] * step, there)
    size = np.maximum(np.abs(lanes.state), np.abs(there))
    off = step * _weighed(_ERROR, slopes) / (lanes.tolerance * (1.0 + size))
    return slopes, there, np.sqrt((off * off).mean(axis=0))


def _weighed(weights: Array, slopes: Array) -> Array:
    """Σ of weights and slopes over the stages."""
    found: Array = weights @ slopes.reshape(len(slopes), -1)
    return found.reshape(slopes.shape[1:])


def _crossed(
    lanes: Lanes, slopes: Array, there: Array, step: Array, good: Mask
) -> tuple[Array, NDArray[np.intp]]:
    """Which event each step passes first, −1 where none, and the part of the step at which it does."""
    part, which = np.ones(len(step)), np.full(len(step), -1)
    passed = good & (lanes.values(there) <= 0.0)
    events, hit = np.nonzero(passed)
    if not len(hit):
        return part, which
    ends = lanes.zero[events, hit] + lanes.on_x[events, hit] * lanes.state[0, hit]
    ends = ends + lanes.on_v[events, hit] * lanes.state[1, hit]
    weighed = (
        lanes.on_x[events, hit] * slopes[:, 0, hit] + lanes.on_v[events, hit] * slopes[:, 1, hit]
    )
    roots = _root(ends, step[hit] * (_BETWEEN @ weighed))
    late_first = np.argsort(-roots, kind="stable")  # so that the earliest is written last
    part[hit[late_first]], which[hit[late_first]] = roots[late_first], events[late_first]
    return part, which


def _root(start: Array, powers: Array) -> Array:
    """Where start + Σ powers θⁿ, above zero at 0 and not at 1, vanishes: Newton's method within a bracket."""
    low, high = np.zeros_like(start), np.ones_like(start)
    end = start + powers.sum(axis=0)
    theta = start / np.where(start > end, start - end, 1.0)
    a, b, c, d = powers
    for _ in range(6):
        theta = np.clip(theta, low, high)
        value = start + theta * (a + theta * (b + theta * (c + theta * d)))
        low, high = np.where(value > 0.0, theta, low), np.where(value > 0.0, high, theta)
        slope = a + theta * (2.0 * b + theta * (3.0 * c + theta * 4.0 * d))
        theta = np.where(
            slope < 0.0, theta - value / np.where(slope < 0.0, slope, 1.0), 0.5 * (low + high)
        )
    return np.clip(theta, low, high)


def _within(lanes: Lanes, slopes: Array, step: Array, part: Array, inner: Mask) -> Array:
    """The state at a part of the step."""
    theta = part[inner]
    powers = np.vstack([theta, theta**2, theta**3, theta**4])
    weights = _BETWEEN.T @ powers
    inside: Array = lanes.state[:, inner] + step[inner] * (
        weights[:, None] * slopes[:, :, inner]
    ).sum(axis=0)
    return inside


def _slope(slopes: Array, part: Array) -> Array:
    """dv/dt at a part of the step."""
    powers = np.vstack([np.ones_like(part), 2.0 * part, 3.0 * part**2, 4.0 * part**3])
    found: Array = ((_BETWEEN.T @ powers) * slopes[:, 1]).sum(axis=0)
    return found
