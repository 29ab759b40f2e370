"""Axle loads under a parachute's pull, and what they mean for the tires as it opens."""

from __future__ import annotations

import math
from collections.abc import Iterable

from buildspec.plain import called
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
        acceleration=pace,
        height=car.height,
        wheelbase=car.wheelbase,
        lift=lifts["rear_lift"],
    )
    rear += motion.pull_on_rear_axle(
        pull=aft, height=height, upward=up, station=station, wheelbase=car.wheelbase
    )
    front = motion.front_load(mass=car.mass, gravity=GRAVITY, **lifts, rear=rear) - up
    return front, rear


def opening_tires(
    loads: Loads,
    scene: Scene,
    runs: tuple[State, ...],
    place: tuple[float, float],
    behind: tuple[str, ...],
) -> Iterable[Check]:
    """Each kind of tires at the governing pull, straight aft and anywhere on the rim of its cone, with its roll.

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
            f"{canopy.name}: {called(tires)} carry the opening",
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
    of, canopy = state.of, loads.canopy
    for axle in axles(of, tires):
        for rim in (False, True):

            def more(shift: Shift, axle: int = axle, rim: bool = rim) -> float:
                model, pull = car(of, shift), number(loads.governing, shift)
                each = per_wheel(of, model, axle, place, shift)
                cone = at(canopy.cone, shift) if rim else 0.0
                down, side = worst_on_rim(pull, cone, lowest(canopy, cone, place[1]), each)
                moves = _moves(model, scene, (pull * math.cos(cone), -down), place)[axle]
                return moves / wheels_on(of, axle) + side * each[1]

            where = "pull on the rim of its cone" if rim else "pull straight aft"
            yield Added(more, f"opening, {where}, {state.title}")


def per_wheel(
    of: Parts, model: Car, axle: int, place: tuple[float, float], shift: Shift
) -> tuple[float, float]:
    """What a newton down and a newton aside, pulling at `place`, add to the worse wheel of an axle.

    How axles share the roll depends on springs that nobody has described: it counts on each alone.
    """
    station, height = place
    behind = station / model.wheelbase
    down = (behind if axle else 1.0 - behind) / wheels_on(of, axle)
    return down, height / track(of, axle, shift)


def worst_on_rim(
    pull: float, cone: float, lowest: float, each: tuple[float, float]
) -> tuple[float, float]:
    """The parts of a pull down and aside, N, where on the rim of its cone it loads a wheel most.

    Down at most by the angle `lowest`; `each` is what a newton down (it may be less than nothing) and a newton
    aside add to the wheel.
    """
    across, most = pull * math.sin(cone), pull * math.sin(lowest)
    around = math.atan2(each[1], each[0])
    down = min(across * math.cos(around), most)
    return down, math.sqrt(max(across**2 - down**2, 0.0))


def _moves(
    model: Car, scene: Scene, pulled: tuple[float, float], place: tuple[float, float]
) -> tuple[float, float]:
    """What a pull aft and up, N, adds to both axle loads at rest, N."""
    aft, up = pulled
    acting = forces(model, scene.course, scene.speed)
    found = axle_loads(
        model,
        scene.course,
        speed=scene.speed,
        aft=aft,
        up=up,
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
