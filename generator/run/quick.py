"""The run-up by quadrature, for differences: many runs at once, right to about 1e-4.

Within one gear the acceleration depends on speed alone, so time is ∫ dv/a and distance ∫ v dv/a. The
stepped integration in `speed` is the record; this serves spread and what-ifs, and checks it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from generator.run.car import GRAVITY, Car, Course, Gear

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
NODES = 500
NEAR = 1e-7
"""The run is followed up to this relative distance below the speed at which thrust and resistance balance."""
MOST = 400.0
"""Where nothing else ends a run, it is followed up to this speed, m/s."""


@dataclass(frozen=True, slots=True)
class RunUp:
    """One run to be made, at full throttle from `start` m/s at the start line past all `marks`, m."""

    car: Car
    course: Course
    gears: Sequence[Gear]
    marks: Sequence[float]
    start: float = 0.0
    shift_time: float = 0.0


@dataclass(frozen=True, slots=True)
class Passed:
    """When a run passes each of its marks, s, those left out that it never reaches; and how fast the last, m/s."""

    times: Mapping[float, float]
    last: float | None


def run_ups(runs: Sequence[RunUp]) -> list[Passed]:
    """Each run by quadrature. All have as many gears."""
    if not runs:
        return []
    rows = _Rows(runs)
    speed, running = np.array([r.start for r in runs]), np.ones(len(runs), dtype=bool)
    shift = np.array([r.shift_time for r in runs])
    t, x, v = [np.zeros((len(runs), 1))], [np.zeros((len(runs), 1))], [speed[:, None]]
    count = len(runs[0].gears)
    for number in range(count):
        gear = rows.gear(number)
        end = gear.highest if number == count - 1 else gear.until
        going = running & (speed < end)
        dt, dx, pace, balanced = _leg(rows, gear, speed, np.where(going, end, speed))
        t.append(t[-1][:, -1:] + np.where(going[:, None], dt, 0.0))
        x.append(x[-1][:, -1:] + np.where(going[:, None], dx, 0.0))
        v.append(np.where(going[:, None], pace, speed[:, None]))
        speed = v[-1][:, -1]
        running = running & ~(going & balanced)
        if number < count - 1:
            pause = np.where(running, shift, 0.0)
            slower = rows.resistance(speed[:, None])[:, 0] / rows.gear(number + 1).mass * pause
            t.append(t[-1][:, -1:] + pause[:, None])
            x.append(x[-1][:, -1:] + ((speed - 0.5 * slower) * pause)[:, None])
            speed = speed - slower
            v.append(speed[:, None])
    whole = zip(*(np.concatenate(part, axis=1) for part in (t, x, v)), runs, strict=True)
    return [_passed(*row) for row in whole]


@dataclass(frozen=True, slots=True)
class _Gear:
    """One gear of every run: tables, the mass with the rotating parts, kg, and the speeds it ends at, m/s."""

    tables: Sequence[Gear]
    mass: Array
    until: Array
    highest: Array

    def thrust(self, speeds: Array) -> Array:
        """Thrust in N, a row a run."""
        pairs = zip(self.tables, speeds, strict=True)
        return np.array([_thrust(gear, row) for gear, row in pairs])


class _Rows:
    """What acts on each run, a row each; speeds come with a column a node."""

    def __init__(self, runs: Sequence[RunUp]) -> None:
        self.runs = runs
        cars, courses = [r.car for r in runs], [r.course for r in runs]
        single = {
            f.name: np.array([getattr(car, f.name) for car in cars])[:, None]
            for f in fields(Car)
            if f.name not in {"driven", "braked", "compressed"}
        }
        self.car = single
        self.driven = np.array([car.driven for car in cars]).T[:, :, None]
        self.weight = single["mass"] * GRAVITY
        self.density = np.array([c.density for c in courses])[:, None]
        self.wind = np.array([c.wind for c in courses])[:, None]
        self.grade = np.array([c.grade for c in courses])[:, None]

    def gear(self, number: int) -> _Gear:
        """One gear of all."""
        tables = [r.gears[number] for r in self.runs]
        return _Gear(
            tables,
            np.array([g.mass for g in tables]),
            np.array([g.until for g in tables]),
            np.array([g.until if g.power else g.speeds[-1] for g in tables]),
        )

    def _air(self, speeds: Array) -> tuple[Array, Array, Array]:
        """Dynamic pressure, without its sign too, and drag."""
        wind = speeds + self.wind
        size = np.abs(wind)
        pressure = 0.5 * self.density * wind * size
        drag = pressure * self.car["drag_area"]
        if any(r.car.compressed[0] for r in self.runs):
            drag = drag * np.array(
                [_compressed(r.car, w) for r, w in zip(self.runs, size, strict=True)]
            )
        return pressure, np.abs(pressure), drag

    def _resists(self, speeds: Array, lifting: Array, drag: Array) -> tuple[Array, Array]:
        """Load on all wheels, and all that resists, N."""
        car = self.car
        whole = self.weight - lifting * (car["front_lift"] + car["rear_lift"])
        rolling = car["rolling"] * (1.0 + speeds / car["doubling"]) * np.maximum(whole, 0.0)
        return whole, drag + rolling + self.weight * self.grade

    def resistance(self, speeds: Array) -> Array:
        """All that resists, N."""
        _, lifting, drag = self._air(speeds)
        return self._resists(speeds, lifting, drag)[1]

    def acceleration(self, gear: _Gear, speeds: Array) -> Array:
        """Full-throttle acceleration in m/s², the same physics as the stepped integration."""
        car, mass, (front, rear_share) = self.car, gear.mass[:, None], self.driven
        _, lifting, drag = self._air(speeds)
        whole, resists = self._resists(speeds, lifting, drag)
        uphill = self.weight * self.grade * car["height"]
        rear = (self.weight * car["arm"] + uphill + drag * car["drag_height"]) / car["wheelbase"]
        rear = rear - lifting * car["rear_lift"]
        shift = (rear_share - front) * car["height"] / car["wheelbase"]
        slope = 1.0 - car["friction"] * shift
        still = front * (whole - rear) + rear_share * rear - shift * resists
        held = np.maximum(car["friction"] * still / np.where(slope > 0.0, slope, 1.0), 0.0)
        grip = np.where(slope > 0.0, held, np.inf)
        by_power = (gear.thrust(speeds) - resists) / mass
        found: Array = np.minimum(by_power, (grip - resists) / car["mass"])
        return found


def _thrust(gear: Gear, speeds: Array) -> Array:
    table: Array = np.interp(speeds, gear.speeds, gear.values)
    return table / np.maximum(speeds, gear.speeds[0]) if gear.power else table


def _compressed(car: Car, wind: Array) -> Array:
    speeds, factors = car.compressed
    return np.interp(wind, speeds, factors) if speeds else np.ones_like(wind)


def _leg(rows: _Rows, gear: _Gear, start: Array, end: Array) -> tuple[Array, Array, Array, Mask]:
    """Times and distances since the start of a gear, speeds, and whether thrust and resistance balance at the end."""
    most = np.where(np.isfinite(end), end, MOST)
    balance = _balance(rows, gear, start, most)
    balanced = np.isfinite(balance)
    limit = np.where(balanced, balance, most)[:, None]
    evenly = np.linspace(1.0, 0.0, NODES)
    decay = np.exp(np.linspace(0.0, np.log(NEAR), NODES))
    left = np.where(balanced[:, None], decay, evenly)
    speeds = limit - (limit - start[:, None]) * left
    inverse = 1.0 / np.maximum(rows.acceleration(gear, speeds), 1e-12)
    half = 0.5 * np.diff(speeds)
    dt = np.cumsum(half * (inverse[:, 1:] + inverse[:, :-1]), axis=1)
    pace = speeds * inverse
    dx = np.cumsum(half * (pace[:, 1:] + pace[:, :-1]), axis=1)
    return dt, dx, speeds[:, 1:], balanced


def _balance(rows: _Rows, gear: _Gear, start: Array, most: Array) -> Array:
    """The first speed of each above `start` at which nothing is left to accelerate; none below `most`: infinite."""
    low, high = start, most
    none: Mask = np.zeros(len(start), dtype=bool)
    each, parts = np.arange(len(start)), np.linspace(0.0, 1.0, 33)
    for turn in range(5):
        speeds = low[:, None] + (high - low)[:, None] * parts
        gone = rows.acceleration(gear, speeds) <= 0.0
        if turn == 0:
            none = np.logical_not(gone.any(axis=1))
            if none.all():
                break
        # in a later turn the upper end of the bracket is the one that was found before
        first = np.where(gone.any(axis=1), gone.argmax(axis=1), len(parts) - 1)
        low, high = speeds[each, np.maximum(first - 1, 0)], speeds[each, first]
    return np.where(none, np.inf, low)


def _passed(t: Array, x: Array, v: Array, run: RunUp) -> Passed:
    """Times at the marks, and the speed at the last; behind the last point the speed stays."""
    found, speed = {}, float(v[-1])
    for mark in run.marks:
        if mark <= x[-1]:
            found[mark] = float(np.interp(mark, x, t))
        elif speed > 1e-3 and x[-1] > x[0]:
            found[mark] = float(t[-1] + (mark - x[-1]) / speed)
    last = run.marks[-1]
    return Passed(found, float(np.interp(last, x, v)) if last in found else None)
