"""The worked steps of the subject `speed`: the balance of forces at the end of the last timed section."""

from __future__ import annotations

from generator.formulas import air as air_formulas
from generator.formulas import motion
from generator.run.car import GRAVITY, Car, forces, speeding_up
from generator.run.speed import Run
from generator.subjects.run_model import Parts, car, course, gears, radius
from generator.vocabulary import WorkedStep
from generator.work import Given, work

STANDING = 0.1
"""Slower than this, m/s, a run has ended in a standstill: a force is not power over speed there."""


def steps(
    of: Parts, out: Run, section: str, first: float | None, second: float | None
) -> tuple[WorkedStep, ...]:
    """The balance at the speed the run out ends with, and the average of both runs."""
    speed = float(out.trace.speed[-1])
    gear = int(out.trace.gear[-1])
    if out.stalled and speed < STANDING:  # nothing is balanced by a vehicle that stands
        return ()
    model = car(of)
    found = [*_resistance(of, model, speed), *_thrust(of, model, speed, max(gear, 1))]
    if first is not None and second is not None:
        found.append(
            work(
                motion.two_way,
                f"speed.average.{section}.step",
                "Average of both runs",
                first=first,
                second=second,
            )
        )
    return tuple(found)


def _resistance(of: Parts, model: Car, speed: float) -> list[WorkedStep]:
    q = work(
        air_formulas.dynamic_pressure,
        "speed.step.pressure",
        "Dynamic pressure at the end of the run out",
        density=of.density,
        speed=speed + course(of).wind,
        note="The speed is that through the air: the run's own plus the head wind.",
    )
    grown = model.area(speed + course(of).wind)
    area: Given = grown if of.aero.drag_over_mach else of.aero.drag_area or model.drag_area
    drag = work(
        motion.drag,
        "speed.step.drag",
        "Drag there",
        "The drag area is that of the table over Mach number." if of.aero.drag_over_mach else "",
        pressure=q.value,
        drag_area=area,
    )
    return [*_area(of), q, drag, *_rolling(of, model, speed, q.value)]


def _area(of: Parts) -> list[WorkedStep]:
    """The drag area, where it is a product."""
    if not (of.aero.drag_coefficient and of.aero.frontal_area):
        return []
    return [
        work(
            motion.drag_area,
            "speed.step.drag_area",
            "Drag area",
            coefficient=of.aero.drag_coefficient,
            area=of.aero.frontal_area,
        )
    ]


def _rolling(of: Parts, model: Car, speed: float, pressure: float) -> list[WorkedStep]:
    rolling, coefficient = of.course.rolling, model.rolling
    found = []
    if rolling.doubling_speed:
        growth = work(
            motion.rolling_coefficient,
            "speed.step.rolling",
            "Rolling resistance coefficient there",
            base=rolling.coefficient,
            speed=speed,
            doubling=rolling.doubling_speed,
        )
        found.append(growth)
        coefficient = growth.value
    resistance = work(
        motion.rolling_resistance,
        "speed.step.rolling_resistance",
        "Rolling resistance there",
        coefficient=coefficient,
        mass=of.mass,
        gravity=GRAVITY,
        front_lift=pressure * model.front_lift,
        rear_lift=pressure * model.rear_lift,
    )
    return [*found, resistance]


def _thrust(of: Parts, model: Car, speed: float, number: int) -> list[WorkedStep]:
    drive, gear = of.drive, gears(of)[number - 1]
    found = []
    if drive and drive.engine:
        found.append(_engine(of, speed, number))
    elif drive:
        power: Given = drive.power or gear.thrust(speed) * speed
        found.append(
            work(motion.power_thrust, "speed.step.thrust", "Thrust there", power=power, speed=speed)
        )
    rear, front = _loads(of, model, speed, number)
    grip = work(
        motion.traction,
        "speed.step.grip",
        "Greatest thrust the surface holds there",
        friction=of.course.friction,
        load=model.driven[0] * front.value + model.driven[1] * rear.value,
    )
    return [*found, rear, front, grip, *_bound(of, gear.thrust(speed) * speed, model)]


def _loads(of: Parts, model: Car, speed: float, number: int) -> tuple[WorkedStep, WorkedStep]:
    """Rear and front axle load at that speed, with what the acceleration moves."""
    acting, gear = forces(model, course(of), speed), gears(of)[number - 1]
    pressure = acting.drag / model.area(speed + course(of).wind)
    rear = work(
        motion.rear_load,
        "speed.step.rear_load",
        "Load on the rear axle there",
        mass=of.mass,
        gravity=GRAVITY,
        arm=model.arm,
        drag=acting.drag,
        drag_height=model.drag_height,
        acceleration=speeding_up(model, course(of), gear, speed)[0] + GRAVITY * course(of).grade,
        height=of.cg_height,
        wheelbase=model.wheelbase,
        lift=pressure * model.rear_lift,
        note="The acceleration counts that of gravity along the grade.",
    )
    front = work(
        motion.front_load,
        "speed.step.front_load",
        "Load on the front axle there",
        mass=of.mass,
        gravity=GRAVITY,
        front_lift=pressure * model.front_lift,
        rear_lift=pressure * model.rear_lift,
        rear=rear.value,
    )
    return rear, front


def _engine(of: Parts, speed: float, number: int) -> WorkedStep:
    """The engine's thrust in the gear in use, the torque read from its curve at that speed."""
    engine = of.drive.engine if of.drive else None
    if engine is None:
        raise ValueError("no engine")
    ratio, r = engine.gears[number - 1], radius(of)
    gear = gears(of)[number - 1]
    torque = gear.thrust(speed) * r / (engine.efficiency.si * ratio.si * engine.final_drive.si)
    return work(
        motion.engine_thrust,
        "speed.step.thrust",
        f"Thrust there, in gear {number}",
        efficiency=engine.efficiency,
        torque=torque,
        gear=ratio,
        final=engine.final_drive,
        radius=engine.rolling_radius or r,
        note="The torque is read from the curve between its two nearest engine speeds.",
    )


def _bound(of: Parts, power: float, model: Car) -> list[WorkedStep]:
    """The closed form beside the integration: no run can be faster than this with the power it ends with."""
    if power <= 0.0:
        return []
    return [
        work(
            motion.terminal_speed,
            "speed.step.bound",
            "Upper bound: drag alone against the power there",
            power=power,
            density=of.density,
            drag_area=model.drag_area * min((*model.compressed[1], 1.0)),
            note="Rolling resistance, wind and the length of the course only take from this.",
        )
    ]
