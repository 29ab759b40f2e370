"""Crosswind: how much of the tires' grip it asks for, the wind that asks for all of it, and the one that tips."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from buildspec.sections.shape import Shape
from generator.formulas import air as air_formulas
from generator.formulas import stability as f
from generator.run.car import GRAVITY, Car, Course, Gear, forces, full_throttle
from generator.spread import NOWHERE, Shift, at
from generator.subjects.run_model import Parts, number
from generator.subjects.stability_parts import whole

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Side:
    """What makes the side force: reference area m², slope per radian, centre behind the front axle, m."""

    area: float
    slope: float
    behind_front: float


def side_of(of: Parts, shape: Shape, compression: float, shift: Shift | None = None) -> Side:
    """The side force of the whole shape; `compression` is the Prandtl–Glauert factor."""
    moved = shift or {}
    slope, centre = whole(shape, compression, moved)
    area = shape.reference_area.si + moved.get(shape.reference_area.id, 0.0)
    return Side(area, slope, centre - of.axles.x(of.axles.front, moved))


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


@dataclass(frozen=True, slots=True)
class Stance:
    """What each axle carries and what the driven wheels pass along the course, N; `slips` where that is all
    their grip allows.
    """

    front: float
    rear: float
    thrust: float
    slips: bool = False


def stance(car: Car, course: Course, speed: float, box: Sequence[Gear] = ()) -> Stance:
    """Axle loads and thrust at full throttle, in the gear of `box` that pulls most; at constant speed without
    gears. Where the thrust does not keep the speed, that which would keep it counts beside the loads.
    """
    acting = forces(car, course, speed)
    gained, push, slips = (
        full_throttle(car, course, box, speed) if box else (0.0, acting.resistance, False)
    )
    moved = car.mass * gained * car.height / car.wheelbase
    return Stance(acting.front - moved, acting.rear + moved, max(push, acting.resistance), slips)


def used(
    side: Side, car: Car, course: Course, speed: float, wind: float, *, box: Sequence[Gear] = ()
) -> float:
    """Greatest share of an axle's grip that is used in a crosswind; more than 1 cannot be held.

    The driven axle also passes the thrust, so only √((μN)² − F²) is left of it: that of full throttle with
    `box`, that of constant speed without.
    """
    return _used(side, car, course, stance(car, course, speed, box), speed=speed, wind=wind)


def _used(
    side: Side, car: Car, course: Course, standing: Stance, *, speed: float, wind: float
) -> float:
    _, front, rear = side_forces(side, car, course, speed, wind)
    return max(
        _share(abs(front), standing.front, car.driven[0], car, standing.thrust),
        _share(abs(rear), standing.rear, car.driven[1], car, standing.thrust),
    )


def _share(side: float, load: float, driven: float, car: Car, thrust: float) -> float:
    along = thrust if driven > 0.0 else 0.0
    return math.hypot(side, along) / (car.friction * load) if load > 0.0 else float("inf")


def largest(side: Side, car: Car, course: Course, speed: float, box: Sequence[Gear] = ()) -> float:
    """The crosswind in m/s at which an axle's grip is used up; 0 where none can be held. At full throttle with
    `box`, at constant speed without.

    Sought up to a side-slip of 0.18 rad, where the slopes end; there that wind is given.
    """
    standing = stance(car, course, speed, box)
    share = functools.partial(_used, side, car, course, standing, speed=speed)
    return _most_wind(lambda wind: share(wind=wind), speed + course.wind)


def _most_wind(share: Callable[[float], float], through: float) -> float:
    """The wind in m/s at which `share`, which grows with it, reaches 1, up to a side-slip of 0.18 rad."""
    low, high = 0.0, through * math.tan(0.18)
    if share(0.0) >= 1.0:
        return 0.0
    if share(high) < 1.0:
        return high
    while high - low > 1e-4:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if share(middle) < 1.0 else (low, middle)
    return low


@dataclass(frozen=True, slots=True)
class Footing:
    """The outer wheels of the front and the rear axle to each side, and the CG, y in m; the right is positive."""

    left: tuple[float, float]
    right: tuple[float, float]
    gravity: float

    def weaker(self, front: float, rear: float) -> tuple[Array, float]:
        """The outer wheels and the CG, y in m to the side to which it tips more easily, for axle loads in N."""
        loads = np.array([front, rear])
        right = np.array(self.right), self.gravity
        left = -np.array(self.left), -self.gravity
        return min(
            (right, left),
            key=lambda s: f.righting_moment(loads=loads, outer=s[0], gravity=s[1]),
        )

    def righting(self, front: float, rear: float) -> float:
        """Moment in N·m that keeps the wheels down on the weaker side, for axle loads in N."""
        outer, gravity = self.weaker(front, rear)
        return f.righting_moment(loads=np.array([front, rear]), outer=outer, gravity=gravity)


def footing(of: Parts, shift: Shift = NOWHERE) -> Footing:
    """Where the outer wheels of both axles stand, and the CG between them."""
    front, rear = ([at(w.y, shift) for w in axle] for axle in (of.axles.front, of.axles.rear))
    return Footing((min(front), min(rear)), (max(front), max(rear)), number(of.cg_y, shift))


def tipping_wind(
    side: Side,
    car: Car,
    course: Course,
    speed: float,
    *,
    on: Footing,
    height: float,
    box: Sequence[Gear] = (),
) -> float:
    """The crosswind in m/s that lifts the windward wheels, its side force acting at `height` m; 0 where the
    vehicle does not stand without wind. Sought up to a side-slip of 0.18 rad.
    """
    standing = stance(car, course, speed, box)
    held = on.righting(standing.front, standing.rear)
    if held <= 0.0:
        return 0.0

    def share(wind: float) -> float:
        return abs(side_forces(side, car, course, speed, wind)[0]) * height / held

    return _most_wind(share, speed + course.wind)


def full_lock_speed(radius: float, friction: float) -> float:
    """Speed in m/s at which full lock asks for all the grip, lift left out."""
    return math.sqrt(friction * GRAVITY * radius)
