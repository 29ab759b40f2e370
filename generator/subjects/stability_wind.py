"""Crosswind: how much of the tires' grip it asks for, the wind that asks for all of it, and the one that tips."""

from __future__ import annotations

import math
from collections.abc import Sequence
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
MOST_SLIP = 0.18
"""Greatest side-slip in rad at which the slopes hold."""


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
    standing = stance(car, course, speed, box)
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
    standing, behind = stance(car, course, speed, box), side.behind_front / car.wheelbase
    if standing.slips:
        return 0.0
    held = min(
        _across(standing.front, car.driven[0], car, standing.thrust, 1.0 - behind),
        _across(standing.rear, car.driven[1], car, standing.thrust, behind),
    )
    return wind_of(side, course, speed, held)


def _across(load: float, driven: float, car: Car, thrust: float, share: float) -> float:
    """The side force in N on the whole vehicle, `share` of it on an axle, that this axle's grip holds."""
    along = thrust if driven > 0.0 else 0.0
    left = math.sqrt(max((car.friction * max(load, 0.0)) ** 2 - along * along, 0.0))
    if left <= 0.0:
        return 0.0
    return left / abs(share) if share else math.inf


def wind_of(side: Side, course: Course, speed: float, force: float) -> float:
    """The crosswind in m/s that makes a side force in N, at most that of a side-slip of 0.18 rad.

    With t = w/u and the speed u through the air, Y = ρ u² (1 + t²) A C atan(t)/2, by Newton's method.
    """
    through = speed + course.wind
    unit = 0.5 * course.density * through * through * side.area * abs(side.slope)
    most = math.tan(MOST_SLIP)
    if unit <= 0.0 or force >= unit * (1.0 + most * most) * MOST_SLIP:
        return max(through, 0.0) * most
    t = force / unit
    for _ in range(6):  # from above the root of a function that curves upward: never past it
        angle = math.atan(t)
        t -= ((1.0 + t * t) * angle - force / unit) / (1.0 + 2.0 * t * angle)
    return through * t


@dataclass(frozen=True, slots=True)
class Held:
    """A crosswind in m/s that is held, and the speed in m/s at which it is; `wide`: at full throttle."""

    wind: float
    speed: float
    wide: bool = True


def least_held(
    side: Side, car: Car, course: Course, pace: Sequence[float], box: Sequence[Gear]
) -> Held:
    """The least crosswind that the tires hold: at full throttle at the last speed of `pace`, the greatest, and at
    all of them with as much throttle as keeps the speed.

    Below the greatest speed a driver whose tires ask for it lifts; at the end of the run full throttle is what
    the run is made of. Where the method ends before the grip does, nothing is known to be less.
    """
    last = pace[-1]
    found = [Held(largest(side, car, course, last, box), last)]
    for speed in pace:
        wind = largest(side, car, course, speed)
        if within(course, speed, wind):
            found.append(Held(wind, speed, wide=False))
    return min(found, key=lambda one: one.wind)


def within(course: Course, speed: float, wind: float) -> bool:
    """Whether a wind in m/s lies below the side-slip at which the method ends."""
    return wind < (1.0 - 1e-9) * (speed + course.wind) * math.tan(MOST_SLIP)


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
    return wind_of(side, course, speed, held / height if height > 0.0 else math.inf)


def least_tipping(
    side: Side,
    car: Car,
    course: Course,
    pace: Sequence[float],
    *,
    on: Footing,
    height: float,
    box: Sequence[Gear],
) -> Held:
    """The least wind that lifts the windward wheels at the speeds of `pace`, full throttle, as `least_held`."""
    found = [
        Held(tipping_wind(side, car, course, speed, on=on, height=height, box=box), speed)
        for speed in pace
    ]
    known = [one for one in found if within(course, one.speed, one.wind)]
    return min(known or found[-1:], key=lambda one: one.wind)


def full_lock_speed(radius: float, friction: float) -> float:
    """Speed in m/s at which full lock asks for all the grip, lift left out."""
    return math.sqrt(friction * GRAVITY * radius)
