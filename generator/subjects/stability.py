"""The subject `stability`: centre of pressure against CG, crosswind, axle loads at speed, steering stops."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace

from buildspec.build import Build
from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.mass import Mass
from buildspec.sections.shape import Shape
from generator.checks import make_check
from generator.formulas import stability as f
from generator.spread import NOWHERE, Shift, Source, at, sources, spread
from generator.subjects.parachutes import load_speed
from generator.subjects.parachutes_loads import Pace
from generator.subjects.run_model import (
    Parts,
    State,
    car,
    gears,
    ids,
    ids_of_all,
    made,
    of_sections,
    parts,
    states,
    ways,
)
from generator.subjects.stability_checks import checks
from generator.subjects.stability_crosswind import crosswind
from generator.subjects.stability_parts import contributors, placed, quantities, whole
from generator.subjects.stability_records import WORD, ConditionLine, Detail
from generator.subjects.stability_said import assumptions, cautions, open_items, worked
from generator.subjects.stability_tipping import tipping, tipping_speed
from generator.subjects.stability_wind import full_lock_speed, stance
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Outcome, Result

SPEEDS = 24
SLOWEST = 0.6
"""Least Prandtl–Glauert factor at which the fins' slope holds, at Mach 0.8."""
Rows = tuple[tuple[float, float, float], ...]
"""Speed in m/s, front and rear axle load in N, a row a speed."""


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Behaviour in yaw and axle loads at speed, or None where no `shape` is described."""
    shape, mass = build.section(Shape), build.section(Mass)
    if shape is None:
        return None
    of = parts(build, given)
    if isinstance(of, str) or mass is None:
        return _nothing(
            of if isinstance(of, str) and of else "the sections `aero` and `course` are missing"
        )
    shape = placed(shape, mass)
    pace = load_speed(of, None, given)
    speed, compressed = pace.speed, of.air.by_id["air.sound_speed"].inputs
    compression = math.sqrt(max(1.0 - (speed / of.sound) ** 2, 0.01)) if speed else 1.0
    if speed <= 0.0 or abs(whole(shape, compression)[0]) < 1e-9:
        return _nothing(
            "no speed is known" if speed <= 0.0 else "the slopes of the parts cancel each other"
        )
    pace = replace(pace, ids=(*pace.ids, *compressed))
    detail = replace(
        _detail(of, shape, mass, pace, compression, at=states(build, of, given)),
        inputs=of_sections(build, "shape", "aero", "course"),
    )
    return Outcome(
        subject=WORD,
        results=tuple(_results(detail)),
        checks=tuple(checks(detail)),
        steps=tuple(worked(detail, compression)),
        cautions=tuple(cautions(detail)),
        assumptions=tuple(assumptions(detail)),
        open_items=tuple(open_items(detail)),
        detail=detail,
    )


def _nothing(why: str) -> Outcome:
    lacking = Result("stability.static_margin", "Static margin", None, "share", absent=why)
    check = make_check(
        "stability.check.static_margin",
        "Centre of pressure behind the CG",
        demand=lacking,
        capacity=lacking,
    )
    return Outcome(subject=WORD, results=(lacking,), checks=(check,))


def _detail(
    of: Parts, shape: Shape, mass: Mass, pace_of: Pace, compression: float, *, at: tuple[State, ...]
) -> Detail:
    speed, paced = pace_of.speed, pace_of.ids
    slope, centre = _whole(shape, compression, paced)
    forward = _forward(shape, centre)
    astray = _astray(shape, compression)
    pace = [speed * (n + 1) / SPEEDS for n in range(SPEEDS)]
    every = tuple(dict.fromkeys((*ids_of_all(at), *of.drive_ids, *paced)))
    behind = tuple(dict.fromkeys((*centre.inputs, *every)))
    blown = crosswind(at, shape, compression, pace, behind)
    rows, lifted, front = _lifted(at, pace, every)
    return Detail(
        of,
        shape,
        speed,
        pace_of.why,
        contributors(shape, compression),
        slope,
        centre,
        forward,
        tuple(_conditions(of, shape, mass, forward, astray)),
        blown.winds,
        rows,
        blown.largest,
        tipping(at, shape, compression, pace, behind),
        blown.sides,
        tuple(_steering(of, shape, pace_of)),
        (),
        blown.when,
        lifted,
        front,
        blown.lifting,
        astray,
    )


def _astray(shape: Shape, compression: float) -> str:
    """Why the parts' slopes say nothing of the whole; empty where they do."""
    if shape.whole:
        return ""
    least = min(whole(shape, c)[0] for c in (1.0, compression))
    if least <= 0.0:
        return (
            "the slopes of the parts add up to less than nothing, so that they have no common centre of "
            "pressure: describe the nose and the wheels too, or the `whole`"
        )
    if compression < SLOWEST and (shape.bodies or shape.fins):
        return "the slopes of bodies and fins are not known beyond Mach 0.8: state the `whole` from a test or CFD"
    return ""


def _worst(at: tuple[State, ...], figure: Callable[[State, int], float]) -> tuple[int, State]:
    """The direction and the condition in which a figure is least."""
    pairs = ((way, state) for state in at for way in range(len(ways(state.of))))
    return min(pairs, key=lambda pair: figure(pair[1], pair[0]))


def _whole(shape: Shape, compression: float, paced: tuple[str, ...]) -> tuple[Result, Result]:
    """Slope and centre of pressure of the whole vehicle; where neither is stated, the speed counts."""
    slope, centre = whole(shape, compression)
    known = sources(quantities(shape))
    inputs = (*ids(quantities(shape)), *(() if shape.whole else paced))
    u = [spread(lambda shift, n=n: whole(shape, compression, shift)[n], known) for n in (0, 1)]  # type: ignore[misc]
    title = "Slope of the side-force coefficient, per radian"
    return (
        Result("stability.slope", title, slope, "ratio", u[0], inputs=inputs),
        Result(
            "stability.centre",
            "Centre of pressure, aft of the origin",
            centre,
            "length",
            u[1],
            inputs=inputs,
        ),
    )


def _forward(shape: Shape, centre: Result) -> Result:
    """The centre of pressure where it lies furthest forward between standstill and the speed of `centre`.

    Prandtl and Glauert's factor makes fins gain with speed, and nothing else change, so that is at one end.
    """
    slope, slow = whole(shape, 1.0)
    if abs(slope) < 1e-9 or centre.value is None or slow >= centre.value:
        return centre
    values = tuple(quantities(shape))
    return Result(
        "stability.centre_slow",
        "Centre of pressure at low speed, aft of the origin",
        slow,
        "length",
        spread(lambda shift: whole(shape, 1.0, shift)[1], sources(values)),
        inputs=tuple(dict.fromkeys((*centre.inputs, *ids(values)))),
    )


def _conditions(
    of: Parts, shape: Shape, mass: Mass, centre: Result, astray: str
) -> Iterable[ConditionLine]:
    """Every condition whose CG is known; `astray` says why no centre of pressure is."""
    length = shape.length
    absent = "" if length else "the length of the body is not stated"
    for condition in mass.conditions:
        cg = of.masses.by_id.get(f"mass.condition.{condition.id}.cg_x")
        if cg is None or cg.value is None or centre.value is None:
            continue
        runs = not condition.without or condition.id == mass.design_condition
        name, title = f"stability.condition.{condition.id}.static_margin", called(condition)
        base = _margin(of, name, f"Static margin in wheelbases, {title}", (cg, centre), astray)
        yield ConditionLine(
            title,
            cg.value,
            runs,
            base,
            _in_lengths(of, base, length, f"Static margin in body lengths, {title}", absent),
        )


def _margin(of: Parts, name: str, title: str, places: tuple[Result, Result], astray: str) -> Result:
    """From the CG back to the centre of pressure, in wheelbases; none where `astray` says why."""
    (cg, centre), base = places, of.axles.wheelbase()
    off = math.hypot(cg.standard_uncertainty, centre.standard_uncertainty)
    share = f.static_margin(pressure=centre.value or 0.0, gravity=cg.value or 0.0, length=base)
    wheels = (w.x for w in (*of.axles.front, *of.axles.rear))
    inputs = tuple(dict.fromkeys((*centre.inputs, *ids((cg, *wheels)))))
    value, u = (None, 0.0) if astray else (share, off / base)
    return made(name, title, value, "share", u=u, inputs=inputs, absent=astray)


def _in_lengths(
    of: Parts, base: Result, length: Quantity | None, title: str, absent: str
) -> Result:
    """The same in lengths of the body."""
    known = base.value is not None and length is not None
    scale = of.axles.wheelbase() / length.si if length else 0.0
    return made(
        f"{base.id}_length",
        title,
        (base.value or 0.0) * scale if known else None,
        "share",
        u=base.standard_uncertainty * scale,
        inputs=(*base.inputs, *((length.id,) if length else ())),
        absent=base.absent or absent,
    )


# ------------------------------------------------------------------------ wind and axles


def _axles(
    of: Parts, way: int, pace: Iterable[float], shift: Shift = NOWHERE
) -> Iterable[tuple[float, float, float]]:
    """Speed, front and rear axle load at full throttle, N."""
    model, course, box = car(of, shift), ways(of, shift)[way], gears(of, shift)
    for speed in pace:
        standing = stance(model, course, speed, box)
        yield speed, standing.front, standing.rear


def _steering(of: Parts, shape: Shape, pace: Pace) -> Iterable[Result]:
    stop, friction = shape.steering_stop, of.course.friction
    if stop is None:
        return

    def radius(shift: Shift) -> float:
        return float(f.turning_radius(wheelbase=of.axles.wheelbase(shift), angle=at(stop, shift)))

    def asked(shift: Shift) -> float:
        speed = pace.speed + shift.get("pace", 0.0)
        return f.lateral_acceleration(speed=speed, radius=radius(shift))

    wheels = tuple(w.x for w in (*of.axles.front, *of.axles.rear))
    known, own = sources((stop, *wheels, friction)), (stop.id, *(x.id for x in wheels))
    for word, title, kind, figure, more in (
        ("least_radius", "Least radius at the steering stops", "distance", radius, ()),
        (
            "lock_acceleration",
            "Lateral acceleration that full lock would ask for at that speed",
            "acceleration",
            asked,
            pace.ids,
        ),
        (
            "lock_speed",
            "Speed at which full lock asks for all the grip",
            "speed",
            lambda shift: full_lock_speed(radius(shift), at(friction, shift)),
            (friction.id,),
        ),
    ):
        u = spread(figure, (*known, Source("pace", pace.off)))
        yield Result(f"stability.{word}", title, figure({}), kind, u, inputs=(*own, *more))
    yield tipping_speed(of, radius({}), own)


# ------------------------------------------------------------------------------- results


def _results(detail: Detail) -> Iterable[Result]:
    yield from (detail.slope, detail.centre)
    if detail.forward is not detail.centre:
        yield detail.forward
    for line in detail.conditions:
        yield from (line.in_wheelbases, line.in_lengths)
    yield from (detail.wind, detail.tipping[0], detail.front, *detail.side, *detail.steering)


def _lifted(
    at: tuple[State, ...], pace: list[float], inputs: tuple[str, ...]
) -> tuple[Rows, str, Result]:
    """Axle loads over speed where the front axle carries least, that condition's title, and the least load."""
    way, state = _worst(at, lambda state, way: min(row[1] for row in _axles(state.of, way, pace)))
    rows = tuple(_axles(state.of, way, pace))
    return rows, state.title, _least_front(state.of, way, rows, inputs)


def _least_front(of: Parts, way: int, rows: Rows, inputs: tuple[str, ...]) -> Result:
    """The least load on the front axle, with the spread of all that it rests on at that speed."""
    speed, front, _ = min(rows, key=lambda row: row[1])
    return Result(
        "stability.front_load",
        "Least load on the front axle up to that speed",
        front,
        "force",
        spread(
            lambda shift: next(iter(_axles(of, way, [speed], shift)))[1],
            sources((*of.values, *of.drive_values)),
        ),
        inputs=inputs,
    )


SUBJECT = Subject(
    word=WORD,
    title="Stability",
    group="The run",
    evaluate=evaluate,
    needs=("mass", "air", "speed"),
    purpose="Whether the vehicle tends to run straight: centre of pressure behind the CG, crosswind against the tires, "
    "axle loads at speed, and what the steering stops allow.",
)
