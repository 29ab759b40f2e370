"""The vehicle and its surroundings as the integrations see them: frozen records of SI floats."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

GRAVITY = 9.80665
"""Standard gravity, m/s²."""


@dataclass(frozen=True, slots=True)
class Car:
    """A rigid vehicle on two axles, SI.

    `arm` is how far the CG is behind the front axle, `height` how high; lift areas act at the
    axles, up positive; the drag acts at `drag_height`. `driven` and `braked` are the shares of the
    front and rear axle load that drive or brake. Rolling resistance grows in proportion to
    speed and has doubled at `doubling` (infinite: it stays). `balance` is the share of the brakes' force on the
    front axle; None: as the braked shares of both are to each other. `compressed` holds speeds through the air
    and the drag there over that of `drag_area`, linear between, the ends kept; empty where it stays.
    """

    mass: float
    arm: float
    height: float
    wheelbase: float
    drag_area: float
    drag_height: float
    front_lift: float
    rear_lift: float
    rolling: float
    doubling: float
    friction: float
    driven: tuple[float, float] = (0.0, 1.0)
    braked: tuple[float, float] = (0.0, 0.0)
    compressed: tuple[tuple[float, ...], tuple[float, ...]] = ((), ())
    balance: float | None = None

    @property
    def front_share(self) -> float:
        """The share of the brakes' force on the front axle."""
        if self.balance is not None:
            return self.balance
        whole = sum(self.braked)
        return self.braked[0] / whole if whole else 0.0

    def area(self, wind: float) -> float:
        """The drag area in m² at a speed through the air in m/s."""
        speeds, factors = self.compressed
        return self.drag_area * (between(speeds, factors, abs(wind)) if speeds else 1.0)

    def lighter(self, burned: float) -> Car:
        """The same vehicle with so many kg less; its centre of gravity stays."""
        return replace(self, mass=self.mass - burned)


def between(places: Sequence[float], values: Sequence[float], place: float) -> float:
    """Linear between the places, which rise; beyond them the first and the last value."""
    n = bisect_right(places, place)
    if n == 0 or n == len(places):
        return values[0] if n == 0 else values[-1]
    low, high = places[n - 1], places[n]
    return values[n - 1] + (values[n] - values[n - 1]) * (place - low) / (high - low)


@dataclass(frozen=True, slots=True)
class Course:
    """Air density, head wind along the course (tail wind negative) and rise per length of it."""

    density: float
    wind: float = 0.0
    grade: float = 0.0

    def reversed(self) -> Course:
        """The same course the other way."""
        return replace(self, wind=-self.wind, grade=-self.grade)


@dataclass(frozen=True, slots=True)
class Gear:
    """What one gear gives over speed: a piecewise linear table of thrust in N or power in W.

    Below the table its first value holds, as thrust. Above it a power holds its last value; a thrust is
    nothing, for the engine is then at its limit. `mass` is that of the vehicle with the
    rotating parts in this gear.
    """

    speeds: tuple[float, ...]
    values: tuple[float, ...]
    power: bool
    mass: float
    until: float = float("inf")

    def thrust(self, speed: float) -> float:
        """Thrust in N at a speed in m/s, before the tires' grip."""
        first = self.speeds[0]
        if speed <= first:
            return self.values[0] / first if self.power else self.values[0]
        if speed >= self.speeds[-1]:
            return self.values[-1] / speed if self.power else 0.0
        value = between(self.speeds, self.values, speed)
        return value / speed if self.power else value

    def onward(self) -> Gear:
        """The gear with a thrust that goes on unchanged beyond its table, for steps that end at its last speed."""
        if self.power:
            return self
        return replace(
            self, speeds=(*self.speeds, math.inf), values=(*self.values, self.values[-1])
        )


class Forces(NamedTuple):
    """What acts at a speed, N. `front` and `rear` are axle loads without the part acceleration shifts."""

    drag: float
    rolling: float
    grade: float
    front: float
    rear: float

    @property
    def resistance(self) -> float:
        """All that holds the vehicle back without brakes and parachutes."""
        return self.drag + self.rolling + self.grade


def forces(
    car: Car, course: Course, speed: float, pull: float = 0.0, pull_height: float = 0.0
) -> Forces:
    """Drag, rolling resistance, grade and axle loads at a speed in m/s and a parachute's pull in N."""
    wind = speed + course.wind
    pressure = 0.5 * course.density * wind * abs(wind)
    drag = pressure * car.area(wind)
    front_lift, rear_lift = abs(pressure) * car.front_lift, abs(pressure) * car.rear_lift
    weight = car.mass * GRAVITY
    slope = weight * course.grade * car.height  # uphill the weight pulls back at the CG's height
    rear = (
        weight * car.arm + slope + drag * car.drag_height + pull * pull_height
    ) / car.wheelbase - rear_lift
    front = weight - front_lift - rear_lift - rear
    coefficient = car.rolling * (1.0 + speed / car.doubling)
    return Forces(drag, coefficient * max(front + rear, 0.0), weight * course.grade, front, rear)


def grip(
    car: Car,
    acting: Forces,
    share: tuple[float, float],
    *,
    mass: float,
    resistance: float,
    sign: float,
) -> float:
    """Greatest force in N that the wheels of `share` pass to the surface, load transfer included.

    `sign` is 1 for thrust and −1 for brakes; `mass` counts the rotating parts. The acceleration a
    that the force gives moves m a h/l from the front axle to the rear one, so both are solved
    together: F = μ (N₀ + c a), a = (±F − R)/m_e. Never below zero.
    """
    shift = (share[1] - share[0]) * car.mass * car.height / car.wheelbase
    still = share[0] * acting.front + share[1] * acting.rear - shift * resistance / mass
    slope = 1.0 - sign * car.friction * shift / mass
    if slope <= 0.0:
        return float("inf")
    return max(car.friction * still / slope, 0.0)


def speeding_up(car: Car, course: Course, gear: Gear, speed: float) -> tuple[float, float, bool]:
    """Acceleration in m/s² at full throttle, force in N at the driven wheels, and whether the grip is its limit.

    The engine and what it drives take part of its thrust to turn faster; the grip pushes the vehicle alone.
    """
    return full_throttle(car, course, (gear,), speed)


def full_throttle(
    car: Car, course: Course, box: Sequence[Gear], speed: float
) -> tuple[float, float, bool]:
    """As `speeding_up`, in the gear of `box` that gains most; rolling free where there is none."""
    acting = forces(car, course, speed)
    resists = acting.drag + acting.rolling + acting.grade
    if not box:
        return -resists / car.mass, 0.0, False
    held = grip(car, acting, car.driven, mass=car.mass, resistance=resists, sign=1.0)
    thrusts = [gear.thrust(speed) for gear in box]
    by_power, thrust = max(
        ((push - resists) / gear.mass, push) for push, gear in zip(thrusts, box, strict=True)
    )
    by_grip = (held - resists) / car.mass
    return (by_grip, held, True) if by_grip < by_power else (by_power, thrust, False)


def braking(car: Car, acting: Forces, *, mass: float, resistance: float) -> float:
    """Greatest brake force in N at which neither axle locks, its load transfer included; `mass` counts what turns.

    The force is shared by `front_share`, whatever each axle could hold: s F = μ b (N ± c (F + R)/m_e) for the
    axle that locks first, with the braked share b of its load. Never below zero; infinite where none locks.
    """
    moved, found = car.mass * car.height / car.wheelbase / mass, float("inf")
    front = car.front_share
    for share, braked, load, sign in (
        (front, car.braked[0], acting.front, 1.0),
        (1.0 - front, car.braked[1], acting.rear, -1.0),
    ):
        slope = share - sign * car.friction * braked * moved
        if share > 0.0 and slope > 0.0:
            held = car.friction * braked * (load + sign * moved * resistance)
            found = min(found, max(held / slope, 0.0))
    return found


def terminal(car: Car, course: Course, gear: Gear, high: float = 400.0) -> float:
    """Speed in m/s at which the thrust of `gear` no longer exceeds what resists; found by bisection."""
    low = 1.0
    if not _gains(car, course, gear, low):
        return 0.0
    while high - low > 1e-9 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _gains(car, course, gear, middle) else (low, middle)
    return low


def _gains(car: Car, course: Course, gear: Gear, speed: float) -> bool:
    acting = forces(car, course, speed)
    limit = grip(car, acting, car.driven, mass=gear.mass, resistance=acting.resistance, sign=1.0)
    return min(gear.thrust(speed), limit) > acting.resistance
