"""Axle loads under a parachute's pull, and what they mean for the tires as it opens."""

from __future__ import annotations

import math
from collections.abc import Iterable

from buildspec.quantities import Quantity
from buildspec.sections.drive import Tires
from buildspec.sections.parachutes import Canopy
from generator.formulas import motion
from generator.run.car import GRAVITY, Car, Course, forces
from generator.spread import Shift, at
from generator.subjects.parachutes_loads import Loads, Scene
from generator.subjects.run_model import Parts, State, car, ids, number
from generator.subjects.run_tires import (
    Added,
    axles,
    kinds,
    load,
    load_check,
    rated_for_a_moment,
    still,
    wheels_on,
)
from generator.vocabulary import Check


def axle_loads(
    car: Car,
    course: Course,
    *,
    speed: float,
    aft: float,
    up: float,
    place: tuple[float, float],
    retarding: float,
) -> tuple[float, float]:
    """Front and rear axle load in N under a pull `aft` and `up`, N, while `retarding` N slows the vehicle.

    `place` is where the pull acts: behind the front axle and above the ground, m.
    """
    acting, (station, height) = forces(car, course, speed), place
    # Not drag over drag area: the drag's growth with Mach number is none of the lift's.
    pressure = 0.5 * course.density * (speed + course.wind) ** 2
    lifts = {"front_lift": pressure * car.front_lift, "rear_lift": pressure * car.rear_lift}
    pace = GRAVITY * course.grade - retarding / car.mass  # the weight's pull along the slope counts
    rear = motion.rear_load(
        mass=car.mass,
        gravity=GRAVITY,
        arm=car.arm,
        drag=acting.drag,
        drag_height=car.drag_height,
        pull=aft,
        pull_height=height,
        acceleration=pace,
        height=car.height,
        wheelbase=car.wheelbase,
        lift=lifts["rear_lift"],
        upward=up,
        pull_station=station,
    )
    front = motion.front_load(mass=car.mass, gravity=GRAVITY, **lifts, upward=up, rear=rear)
    return front, rear


def opening_tires(
    loads: Loads,
    scene: Scene,
    runs: tuple[State, ...],
    place: tuple[float, float],
    behind: tuple[str, ...],
) -> Iterable[Check]:
    """Each kind of tires at the governing pull: straight down its cone, and at its side with the roll that brings.

    `behind` are the ids of the description behind that pull and the vehicle under it.
    """
    canopy = loads.canopy
    for tires in kinds(scene.of):
        name = f"parachutes.{canopy.id}.tires_{tires.id}"
        added = (a for state in runs for a in _added(loads, scene, state, tires, place))
        values = (*scene.of.values, *_of_place(canopy, scene.of), loads.governing)
        inputs = (*behind, *ids(values))
        demand, when = load(scene.of, tires, f"{name}_load", added, values, behind=inputs)
        yield load_check(
            f"parachutes.check.{canopy.id}.tires_{tires.id}",
            f"{canopy.name}: {tires.title or tires.id} carry the opening",
            tires,
            (demand, rated_for_a_moment(scene.of, tires, name, loads.speed)),
            f"worst: {when}; the peak lasts a moment, ask the maker what it allows then (`peak_load`)"
            if tires.peak_load is None
            else f"worst: {when}; the peak lasts a moment",
        )


def _of_place(canopy: Canopy, of: Parts) -> Iterable[Quantity]:
    """Where the pull acts and how far down it can point, and how far apart the wheels stand."""
    yield from (canopy.cone, canopy.attach.x, canopy.attach.z)
    yield from (part.length for part in (canopy.riser, canopy.lines) if part)
    yield from (w.y for w in (*of.axles.front, *of.axles.rear))


def _added(
    loads: Loads, scene: Scene, state: State, tires: Tires, place: tuple[float, float]
) -> Iterable[Added]:
    of, words = (
        state.of,
        ("opening, pull straight aft", "pull down its cone", "pull at the side of its cone"),
    )
    for axle in axles(of, tires):
        for n, when in enumerate(words):

            def more(shift: Shift, axle: int = axle, n: int = n) -> float:
                pull, cone = number(loads.governing, shift), at(loads.canopy.cone, shift)
                down = (0.0, lowest(loads.canopy, cone, place[1]), 0.0)[n]
                side = cone if n == 2 else 0.0
                moves = _moves(car(of, shift), scene, (pull, down, side), place)[axle]
                rolled = pull * math.sin(side) * place[1] / track(of, axle, shift)
                return moves / wheels_on(of, axle) + rolled

            yield Added(more, f"{when}, {state.title}")


def _moves(
    model: Car, scene: Scene, pulled: tuple[float, float, float], place: tuple[float, float]
) -> tuple[float, float]:
    """What a pull in N, pointing down and to the side by two angles in rad, adds to both axle loads at rest, N."""
    pull, down, side = pulled
    aft = pull * math.cos(down) * math.cos(side)
    acting = forces(model, scene.course, scene.speed)
    found = axle_loads(
        model,
        scene.course,
        speed=scene.speed,
        aft=aft,
        up=-pull * math.sin(down),
        place=place,
        retarding=acting.resistance + aft,
    )
    standing = still(model, scene.course)
    return found[0] - standing[0], found[1] - standing[1]


def lowest(canopy: Canopy, cone: float, height: float) -> float:
    """How far down the pull can point, rad: its cone, and never a canopy whose middle is under the ground."""
    if canopy.riser is None or canopy.lines is None:
        return cone
    away = canopy.riser.length.si + canopy.lines.length.si
    return min(cone, math.asin(height / away)) if away > height else cone


def track(of: Parts, axle: int, shift: Shift) -> float:
    """Between the outermost wheels of an axle, m; without end where it has one wheel, which takes no roll."""
    across = [at(w.y, shift) for w in (of.axles.front, of.axles.rear)[axle]]
    return (max(across) - min(across)) or math.inf
