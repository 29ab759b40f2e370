"""The subject `stability`: its worked steps, and what it says in words."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from buildspec.quantities import Quantity, show
from generator.formulas import air as air_formulas
from generator.formulas import stability as f
from generator.run.car import GRAVITY, forces
from generator.subjects.run_model import Parts, car, number, ways
from generator.subjects.stability_parts import steps
from generator.subjects.stability_records import WORD, Detail, leaves_too_little
from generator.subjects.stability_wind import footing
from generator.vocabulary import Assumption, Caution, OpenItem, WorkedStep
from generator.work import work


def worked(detail: Detail, compression: float) -> Iterable[WorkedStep]:
    """The steps behind slope and centre, the static margin, the crosswind and the steering stops."""
    yield from steps(detail.shape, compression)
    running = [line for line in detail.conditions if line.running and not detail.astray]
    for line in sorted(running, key=lambda line: line.in_wheelbases.value or 0.0)[:1]:
        yield work(
            f.static_margin,
            "stability.step.static_margin",
            f"Static margin, {line.title}",
            pressure=detail.forward,
            gravity=line.cg_x,
            length=detail.of.axles.wheelbase(),
        )
    if detail.of.course.cross_wind:
        yield from _wind_steps(detail, detail.of.course.cross_wind)
    if detail.shape.steering_stop:
        yield from _lock_steps(detail, detail.shape.steering_stop)


def _wind_steps(detail: Detail, wind: Quantity) -> Iterable[WorkedStep]:
    angle = work(
        f.sideslip,
        "stability.step.sideslip",
        "Side-slip angle in the crosswind",
        wind=wind,
        speed=detail.speed,
    )
    q = work(
        air_formulas.dynamic_pressure,
        "stability.step.pressure",
        "Dynamic pressure of the resulting wind",
        density=detail.of.density,
        speed=math.hypot(detail.speed, wind.si),
    )
    yield from (angle, q)
    yield work(
        f.side_force,
        "stability.step.side_force",
        "Side force in the crosswind",
        pressure=q.value,
        reference=detail.shape.reference_area,
        slope=detail.slope,
        angle=angle.value,
    )


def _lock_steps(detail: Detail, stop: Quantity) -> Iterable[WorkedStep]:
    radius = work(
        f.turning_radius,
        "stability.step.radius",
        "Least radius at the steering stops",
        wheelbase=detail.of.axles.wheelbase(),
        angle=stop,
    )
    yield radius
    yield work(
        f.lateral_acceleration,
        "stability.step.lock",
        "Lateral acceleration full lock would ask for at that speed",
        speed=detail.speed,
        radius=radius.value,
    )
    yield from _tipping_steps(detail.of, radius.value)


def _tipping_steps(of: Parts, radius: float) -> Iterable[WorkedStep]:
    still = forces(car(of), ways(of)[0], 0.0)
    outer, gravity = footing(of).weaker(still.front, still.rear)
    held = work(
        f.righting_moment,
        "stability.step.righting",
        "Moment that keeps the inner wheels on the ground, at rest, to the weaker side",
        loads=np.array([still.front, still.rear]),
        outer=outer,
        gravity=gravity,
    )
    yield held
    if held.value > 0.0 and number(of.cg_height, {}) > 0.0:
        yield work(
            f.tipping_speed,
            "stability.step.tipping",
            "Speed at which full lock would lift the inner wheels",
            moment=held.value,
            radius=radius,
            mass=of.mass,
            height=of.cg_height,
        )


# ----------------------------------------------------------------------------- in words


def cautions(detail: Detail) -> Iterable[Caution]:
    """What the method cannot know, and the hazards of wind and lock."""
    yield Caution(
        "stability.caution.method",
        "An estimate by components is for arranging and comparing. A body near the ground, exposed "
        "wheels and the flow behind them need a test or CFD; enter such results under "
        "`shape.whole`, and they decide.",
        WORD,
    )
    yield Caution(
        "stability.caution.wind",
        "Gusts, dust devils and a sudden lee are stronger than the wind that is announced. The "
        "rulebook in force and the officials decide in which wind cars run.",
        WORD,
        hazard=True,
    )
    if detail.lifting:
        said = f"{leaves_too_little(detail)}: the driver has to lift in one, down to the throttle that keeps the speed."
        yield Caution("stability.caution.slipping", said[0].upper() + said[1:], WORD, hazard=True)
    for line in detail.steering:
        much = (line.value or 0.0) > 2.0 * detail.of.course.friction.si * GRAVITY
        if line.id == "stability.lock_acceleration" and much:
            yield Caution(
                "stability.caution.lock",
                f"At {show(detail.speed, 'speed', detail.of.system, figures=3)} full lock would "
                f"ask for {(line.value or 0.0) / GRAVITY:.1f} g, many times what the tires hold: "
                "the stops do not protect at speed, only the driver's hands do.",
                WORD,
                hazard=True,
            )


def assumptions(detail: Detail) -> Iterable[Assumption]:
    """What the figures rest on."""
    rests = [
        (
            "slender",
            "Bodies count as slender bodies without ground or wheels; a section counts as the "
            "circle of its height, because the flow across a slender body depends on its height "
            "alone.",
            f.BARROWMAN,
        ),
        (
            "balance",
            "The crosswind is steady and the tires hold force and moment in balance; the driven axle "
            "also passes the thrust of full throttle.",
            "common practice",
        ),
        ("friction", "The friction across is that along the course.", "common practice"),
    ]
    limits = detail.shape.limits
    if detail.lifting and limits and limits.driver_lifts:
        lifts = (
            f"The driver lifts in a crosswind where that is needed: {leaves_too_little(detail)}."
        )
        rests.append(("driver_lifts", lifts, "the team's word, under the limits of the shape"))
    if not (limits and limits.static_margin):
        least = "No static margin is stated; at least 0 is asked in every condition that runs."
        rests.append(("static_margin", least, "common practice"))
    for word, text, source in rests:
        yield Assumption(f"stability.assumption.{word}", text, WORD, source)


def open_items(detail: Detail) -> Iterable[OpenItem]:
    """That a test of the whole shape is missing: a guess at the whole is none."""
    given = detail.shape.whole
    if given is None or {given.slope.basis, given.x.basis} & {"estimated", "assumed"}:
        how = "by components" if given is None else "of the whole"
        yield OpenItem(
            "stability.method",
            WORD,
            "measurement",
            f"Slope and centre of pressure are an estimate {how}",
            "test the shape or compute its flow, ground and wheels included, and state the result under "
            "`shape.whole`",
            (
                "stability.check.static_margin",
                "stability.check.crosswind",
                "stability.check.overturning",
            ),
        )
