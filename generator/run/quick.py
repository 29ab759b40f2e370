"""The run-up by quadrature, for differences: many runs a second, right to about 1e-4.

Within one gear the acceleration depends on speed alone, so time is ∫ dv/a and distance ∫ v dv/a. The
stepped integration in `speed` is the record; this serves spread and what-ifs, and checks it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from generator.run.car import GRAVITY, Car, Course, Gear, forces

Array = NDArray[np.float64]
NODES = 500
NEAR = 1e-7
"""The run is followed up to this relative distance below the speed at which thrust and resistance balance."""


def acceleration(car: Car, course: Course, gear: Gear, speeds: Array) -> Array:
    """Full-throttle acceleration in m/s² at speeds in m/s, the same physics as the stepped integration."""
    wind = speeds + course.wind
    pressure = 0.5 * course.density * wind * np.abs(wind)
    speeds_, factors = car.compressed
    grown = np.interp(np.abs(wind), speeds_, factors) if speeds_ else 1.0
    drag, weight = pressure * car.drag_area * grown, car.mass * GRAVITY
    rear = (weight * car.arm + drag * car.drag_height) / car.wheelbase - np.abs(
        pressure
    ) * car.rear_lift
    whole = weight - np.abs(pressure) * (car.front_lift + car.rear_lift)
    resists = (
        drag
        + car.rolling * (1.0 + speeds / car.doubling) * np.maximum(whole, 0.0)
        + weight * course.grade
    )
    shift = (car.driven[1] - car.driven[0]) * car.mass * car.height / car.wheelbase
    slope = 1.0 - car.friction * shift / gear.mass
    still = car.driven[0] * (whole - rear) + car.driven[1] * rear - shift * resists / gear.mass
    grip = (
        np.maximum(car.friction * still / slope, 0.0)
        if slope > 0.0
        else np.full_like(speeds, np.inf)
    )
    return (np.minimum(_thrust(gear, speeds), grip) - resists) / gear.mass


def _thrust(gear: Gear, speeds: Array) -> Array:
    table = np.interp(speeds, gear.speeds, gear.values)
    if not gear.power:
        return table
    return table / np.maximum(speeds, gear.speeds[0])


def times(
    car: Car,
    course: Course,
    gears: Sequence[Gear],
    *,
    marks: Sequence[float],
    start: float = 0.0,
    shift_time: float = 0.0,
) -> Mapping[float, float]:
    """When each mark (m) is passed, s; marks that are never reached are left out."""
    t, x, v = [np.array([0.0])], [np.array([0.0])], start
    for number, gear in enumerate(gears):
        last = number == len(gears) - 1
        end = gear.speeds[-1] if last and not gear.power else gear.until
        if v < end:
            dt, dx, v, balanced = _leg(car, course, gear, v, end)
            t.append(t[-1][-1] + dt)
            x.append(x[-1][-1] + dx)
            if balanced:
                break
        if not last and shift_time > 0.0:
            slower = forces(car, course, v).resistance / gears[number + 1].mass * shift_time
            t.append(t[-1][-1:] + shift_time)
            x.append(x[-1][-1:] + (v - 0.5 * slower) * shift_time)
            v -= slower
    return _passed(np.concatenate(t), np.concatenate(x), v, marks)


def _leg(
    car: Car, course: Course, gear: Gear, start: float, end: float
) -> tuple[Array, Array, float, bool]:
    """Times and distances since the start of a gear, its last speed, and whether thrust and resistance balance."""
    most = end if np.isfinite(end) else 400.0
    balance = _balance(car, course, gear, start, most)
    if balance is None:
        speeds = np.linspace(start, most, NODES)
    else:
        decay = np.linspace(0.0, -np.log(NEAR), NODES)
        speeds = balance - (balance - start) * np.exp(-decay)
    inverse = 1.0 / np.maximum(acceleration(car, course, gear, speeds), 1e-12)
    step = np.diff(speeds)
    dt = np.cumsum(0.5 * step * (inverse[1:] + inverse[:-1]))
    pace = speeds * inverse
    dx = np.cumsum(0.5 * step * (pace[1:] + pace[:-1]))
    return dt, dx, float(speeds[-1]), balance is not None


def _balance(car: Car, course: Course, gear: Gear, start: float, most: float) -> float | None:
    """The first speed above `start` at which nothing is left to accelerate, or None below `most`."""
    low, high = start, most
    for _ in range(5):
        speeds = np.linspace(low, high, 33)
        gone = np.flatnonzero(acceleration(car, course, gear, speeds) <= 0.0)
        if not len(gone):
            return None
        first = int(gone[0])
        if first == 0:
            return float(speeds[0])
        low, high = float(speeds[first - 1]), float(speeds[first])
    return low


def _passed(t: Array, x: Array, speed: float, marks: Sequence[float]) -> Mapping[float, float]:
    """Times at the marks; behind the last point the speed stays."""
    found = {}
    for mark in marks:
        if mark <= x[-1]:
            found[mark] = float(np.interp(mark, x, t))
        elif speed > 1e-3 and len(x) > 1:
            found[mark] = float(t[-1] + (mark - x[-1]) / speed)
    return found
