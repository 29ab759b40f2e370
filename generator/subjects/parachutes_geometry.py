"""Where the pull acts: moments about the CG, axle loads over speed, and what the tires hold sideways."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from generator.checks import make_check
from generator.formulas import motion
from generator.formulas import parachutes as f
from generator.run.car import GRAVITY, Car, Course, forces
from generator.subjects.parachutes_loads import Loads, Scene
from generator.subjects.run_model import Parts, number
from generator.vocabulary import Check, Result, WorkedStep
from generator.work import work

SHARES = (1.0, 0.8, 0.6, 0.4)
"""At these shares of the speed considered the axle loads are shown."""


@dataclass(frozen=True, slots=True)
class AxleRow:
    """Axle loads at one speed, N: coasting, and with the governing pull straight aft, up and down the cone."""

    speed: float
    coasting: tuple[float, float]
    straight: tuple[float, float]
    up: tuple[float, float]
    down: tuple[float, float]
    least_front: float
    least_rear: float


@dataclass(frozen=True, eq=False)
class Geometry:
    """What the place of the pull does."""

    rows: tuple[AxleRow, ...]
    checks: tuple[Check, ...]
    steps: tuple[WorkedStep, ...]
    results: tuple[Result, ...]


def geometry(loads: Loads, scene: Scene) -> Geometry | None:
    """Moments, axle loads and side pull at the design load; None where there is no design load."""
    if loads.design.value is None:
        return None
    of, car, attach = scene.of, scene.car, loads.canopy.attach
    height = attach.z.si - (of.ground.si if of.ground else 0.0)
    station = attach.x.si - of.axles.x(of.axles.front)
    rows = tuple(_row(loads, scene, (station, height), share * loads.speed) for share in SHARES)
    steps = _moments(of, loads, car, height)
    checks = (*_axles(loads, rows), *_sideways(of, loads, car, rows[0], station))
    return Geometry(rows, checks, steps, tuple(_results(loads, steps)))


def _pull(loads: Loads, speed: float) -> float:
    """The greater of both loads at a speed: the design load goes with its square, the snatch load with it."""
    share = speed / loads.speed
    design, snatch = loads.design.value or 0.0, loads.snatch.value or 0.0
    return max(design * share**2, snatch * share)


def _row(loads: Loads, scene: Scene, place: tuple[float, float], speed: float) -> AxleRow:
    acting = forces(scene.car, scene.course, speed)
    pull, cone = _pull(loads, speed), loads.canopy.cone.si

    def under(pull: float, angle: float) -> tuple[float, float]:
        return axle_loads(
            scene.car,
            scene.course,
            speed=speed,
            aft=pull * math.cos(angle),
            up=pull * math.sin(angle),
            place=place,
            retarding=acting.resistance + pull * math.cos(angle),
        )

    cases = [under(pull, angle) for angle in (0.0, cone, -cone)]
    return AxleRow(
        speed,
        under(0.0, 0.0),
        cases[0],
        cases[1],
        cases[2],
        min(c[0] for c in cases),
        min(c[1] for c in cases),
    )


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
    front_lift, rear_lift = pressure * car.front_lift, pressure * car.rear_lift
    rear = motion.rear_load(
        mass=car.mass,
        gravity=GRAVITY,
        arm=car.arm,
        drag=acting.drag,
        drag_height=car.drag_height,
        pull=aft,
        pull_height=height,
        acceleration=-retarding / car.mass,
        height=car.height,
        wheelbase=car.wheelbase,
        lift=rear_lift,
        upward=up,
        pull_station=station,
    )
    return motion.front_load(
        mass=car.mass,
        gravity=GRAVITY,
        front_lift=front_lift,
        rear_lift=rear_lift,
        upward=up,
        rear=rear,
    ), rear


def _moments(of: Parts, loads: Loads, car: Car, height: float) -> tuple[WorkedStep, ...]:
    name, attach, cone = (
        f"parachutes.{loads.canopy.id}.step",
        loads.canopy.attach,
        loads.canopy.cone.si,
    )
    aft = (loads.design.value or 0.0) * math.cos(cone)
    lever = (attach.x.si - number(of.cg_x, {})) * math.tan(cone)
    return (
        work(
            f.pitching_moment,
            f"{name}.pitching",
            "Pitching moment of the design pull, straight aft",
            pull=loads.design.value or 0.0,
            height=height,
            cg_height=of.cg_height,
        ),
        work(
            f.yawing_moment,
            f"{name}.yawing",
            "Yawing moment of the design pull at the edge of its cone",
            pull=aft,
            offset=attach.y.si + math.copysign(lever, attach.y.si - number(of.cg_y, {})),
            cg_offset=of.cg_y,
            note="The pull line is carried forward to the station of the CG, where the cone has opened by the "
            "distance between.",
        ),
    )


def _results(loads: Loads, steps: tuple[WorkedStep, ...]) -> list[Result]:
    name = f"parachutes.{loads.canopy.id}"
    return [
        Result(
            f"{name}.pitching_moment",
            f"{loads.canopy.name}: pitching moment about the CG",
            steps[0].value,
            "torque",
        ),
        Result(
            f"{name}.yawing_moment",
            f"{loads.canopy.name}: yawing moment about the CG",
            steps[1].value,
            "torque",
        ),
    ]


def _axles(loads: Loads, rows: tuple[AxleRow, ...]) -> list[Check]:
    """Whether any axle is unloaded by the pull, at the speed where that is worst."""
    made = []
    for n, axle in enumerate(("front", "rear")):
        worst = min(rows, key=lambda r: (r.least_front, r.least_rear)[n] / r.coasting[n])
        name = f"parachutes.{loads.canopy.id}.{axle}"
        least = (worst.least_front, worst.least_rear)[n]
        demand = Result(
            f"{name}_taken",
            f"Load the pull takes off the {axle} axle",
            worst.coasting[n] - least,
            "force",
            inputs=_inputs(loads),
        )
        capacity = Result(
            f"{name}_load",
            f"Load of the {axle} axle, coasting at that speed",
            worst.coasting[n],
            "force",
        )
        made.append(
            make_check(
                f"parachutes.check.{loads.canopy.id}.{axle}",
                f"{loads.canopy.name}: {axle} axle stays loaded",
                demand=demand,
                capacity=capacity,
                signed=True,  # a pull from below the CG presses the axle down
                inputs=demand.inputs,
                basis_of_verdict="governing pull anywhere in its cone, at the worst of the speeds listed",
                ways="attach the line nearer the height of the centre of gravity, or a smaller canopy",
            )
        )
    return made


def _inputs(loads: Loads) -> tuple[str, ...]:
    attach = loads.canopy.attach
    return (*loads.design.inputs, attach.x.id, attach.z.id, loads.canopy.cone.id)


def _sideways(of: Parts, loads: Loads, car: Car, row: AxleRow, station: float) -> list[Check]:
    """Whether the tires hold the pull at the side of its cone, in steady balance, at the speed considered."""
    pull, cone, attach = loads.governing.value or 0.0, loads.canopy.cone.si, loads.canopy.attach
    offset = abs(attach.y.si - number(of.cg_y, {}))
    side = pull * math.sin(cone)
    rear = (side * station + pull * math.cos(cone) * offset) / car.wheelbase
    needs = np.abs(np.array([side - rear, rear]))
    made = []
    for n, axle in enumerate(("front", "rear")):
        name = f"parachutes.{loads.canopy.id}.{axle}"
        least = max(min(row.straight[n], row.coasting[n]), 0.0)
        demand = Result(
            f"{name}_side",
            f"Side force the {axle} tires must hold",
            float(needs[n]),
            "force",
            inputs=(*_inputs(loads), attach.y.id),
        )
        capacity = Result(
            f"{name}_grip",
            f"Grip of the {axle} tires sideways",
            car.friction * least,
            "force",
            of.course.friction.standard_uncertainty * least,
            inputs=(of.course.friction.id,),
        )
        made.append(
            make_check(
                f"parachutes.check.{loads.canopy.id}.{axle}_side",
                f"{loads.canopy.name}: {axle} tires hold the side pull",
                demand=demand,
                capacity=capacity,
                inputs=(*demand.inputs, *capacity.inputs),
                basis_of_verdict="governing pull at the side of its cone, held steadily; the peak lasts a moment",
            )
        )
    return made
