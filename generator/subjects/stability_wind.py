"""Crosswind against the tires: how much of their grip a side wind asks for, and the wind that asks for all of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.formulas import air as air_formulas
from generator.formulas import stability as f
from generator.run.car import GRAVITY, Car, Course, forces


@dataclass(frozen=True, slots=True)
class Side:
    """What makes the side force: reference area m², slope per radian, centre behind the front axle, m."""

    area: float
    slope: float
    behind_front: float


def side_forces(
    side: Side, car: Car, course: Course, speed: float, wind: float
) -> tuple[float, float, float]:
    """Side force, and what the front and the rear tires must hold of it in steady balance, N; m/s over ground."""
    through = speed + course.wind
    pressure = air_formulas.dynamic_pressure(
        density=course.density, speed=math.hypot(through, wind)
    )
    angle = float(f.sideslip(wind=wind, speed=through))
    force = f.side_force(pressure=pressure, reference=side.area, slope=side.slope, angle=angle)
    rear = force * side.behind_front / car.wheelbase
    return force, force - rear, rear


def used(side: Side, car: Car, course: Course, speed: float, wind: float) -> float:
    """Greatest share of an axle's grip that is used at constant speed in a crosswind; more than 1 cannot be held.

    The driven axle also passes the thrust that keeps the speed, so only √((μN)² − F²) is left of it.
    """
    acting = forces(car, course, speed)
    _, front, rear = side_forces(side, car, course, speed, wind)
    return max(
        _share(abs(front), acting.front, car.driven[0], car, acting.resistance),
        _share(abs(rear), acting.rear, car.driven[1], car, acting.resistance),
    )


def _share(side: float, load: float, driven: float, car: Car, thrust: float) -> float:
    along = thrust if driven > 0.0 else 0.0
    return math.hypot(side, along) / (car.friction * load) if load > 0.0 else float("inf")


def largest(side: Side, car: Car, course: Course, speed: float) -> float:
    """The crosswind in m/s at which an axle's grip is used up at constant speed; 0 where none can be held.

    Sought up to a side-slip of 0.18 rad, where the slopes end; there that wind is given.
    """
    most = (speed + course.wind) * math.tan(0.18)
    if used(side, car, course, speed, 0.0) >= 1.0:
        return 0.0
    low, high = 0.0, most
    if used(side, car, course, speed, high) < 1.0:
        return most
    while high - low > 1e-4:
        middle = 0.5 * (low + high)
        low, high = (
            (middle, high) if used(side, car, course, speed, middle) < 1.0 else (low, middle)
        )
    return low


def full_lock_speed(radius: float, friction: float) -> float:
    """Speed in m/s at which full lock asks for all the grip, lift left out."""
    return math.sqrt(friction * GRAVITY * radius)
