"""The subject `stability`: centre of pressure against CG, crosswind, axle loads at speed, steering stops."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace

from buildspec.build import Build
from buildspec.plain import called
from buildspec.sections.mass import Mass
from buildspec.sections.shape import Shape
from generator.checks import make_check
from generator.formulas import stability as f
from generator.spread import NOWHERE, Shift, sources, spread
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
from generator.subjects.stability_parts import contributors, placed, quantities, whole
from generator.subjects.stability_records import WORD, ConditionLine, Detail
from generator.subjects.stability_said import assumptions, cautions, open_items, worked
from generator.subjects.stability_tipping import tipping, tipping_speed
from generator.subjects.stability_wind import (
    Side,
    full_lock_speed,
    largest,
    side_forces,
    side_of,
    stance,
    used,
)
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Outcome, Result

SPEEDS = 24
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
    of: Parts,
    shape: Shape,
    mass: Mass,
    pace_of: Pace,
    compression: float,
    *,
    at: tuple[State, ...],
) -> Detail:
    speed, paced = pace_of.speed, pace_of.ids
    slope, centre = _whole(shape, compression, paced)
    forward = _forward(shape, centre)
    side = side_of(of, shape, compression)
    pace = [speed * (n + 1) / SPEEDS for n in range(SPEEDS)]
    every = tuple(dict.fromkeys((*ids_of_all(at), *of.drive_ids, *paced)))
    behind = tuple(dict.fromkeys((*centre.inputs, *every)))
    nth, weak = _worst(at, lambda state, way: _held(state.of, side, way, speed))
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
        tuple(_conditions(of, shape, mass, forward)),
        tuple(_winds(weak.of, side, nth, pace[SPEEDS // 4 :])),
        rows,
        _largest(weak.of, shape, compression, (speed, nth), behind),
        tipping(at, shape, compression, speed, behind),
        tuple(_sides(weak.of, side, nth, speed, behind)),
        tuple(_steering(of, shape, pace_of)),
        (),
        weak.title,
        lifted,
        front,
        tuple(_slipping(weak.of, nth, pace)),
    )


def _winds(
    of: Parts, side: Side, nth: int, pace: Iterable[float]
) -> Iterable[tuple[float, float, float]]:
    """Speed, and the largest crosswind at full throttle and at constant speed, m/s."""
    model, way, box = car(of), ways(of)[nth], gears(of)
    for speed in pace:
        yield (
            speed,
            largest(side, model, way, speed, box),
            largest(side, model, way, speed),
        )


def _slipping(of: Parts, nth: int, pace: Iterable[float]) -> Iterable[float]:
    """The speeds at which the engine alone uses all the driven tires' grip."""
    model, way, box = car(of), ways(of)[nth], gears(of)
    return (speed for speed in pace if stance(model, way, speed, box).slips)


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


def _conditions(of: Parts, shape: Shape, mass: Mass, centre: Result) -> Iterable[ConditionLine]:
    base = of.axles.wheelbase()
    for condition in mass.conditions:
        cg = of.masses.by_id.get(f"mass.condition.{condition.id}.cg_x")
        if cg is None or cg.value is None or centre.value is None:
            continue
        off = math.hypot(cg.standard_uncertainty, centre.standard_uncertainty)
        name, title = f"stability.condition.{condition.id}", called(condition)
        wheels = (w.x for w in (*of.axles.front, *of.axles.rear))
        inputs = tuple(dict.fromkeys((*centre.inputs, *ids((cg, *wheels)))))
        share = f.static_margin(pressure=centre.value, gravity=cg.value, length=base)
        length = shape.length.si if shape.length else None
        yield ConditionLine(
            title,
            cg.value,
            not condition.without,
            Result(
                f"{name}.static_margin",
                f"Static margin in wheelbases, {title}",
                share,
                "share",
                off / base,
                inputs=inputs,
            ),
            made(
                f"{name}.static_margin_length",
                f"Static margin in body lengths, {title}",
                share * base / length if length else None,
                "share",
                u=off / length if length else 0.0,
                inputs=(*inputs, *((shape.length.id,) if shape.length else ())),
                absent="the length of the body is not stated",
            ),
        )


# ------------------------------------------------------------------------ wind and axles


def _largest(
    of: Parts, shape: Shape, compression: float, pace: tuple[float, int], inputs: tuple[str, ...]
) -> Result:
    """`pace` is the speed in m/s, and which of the ways the run goes; `inputs` is what it rests on."""
    speed, way = pace

    def found(shift: Shift) -> float:
        return _held(of, side_of(of, shape, compression, shift), way, speed, shift)

    known = sources((*of.values, *of.drive_values, *quantities(shape)))
    return Result(
        "stability.largest_wind",
        "Largest crosswind that the tires hold at that speed, full throttle",
        found({}),
        "speed",
        spread(found, known),
        inputs=inputs,
    )


def _held(of: Parts, side: Side, way: int, speed: float, shift: Shift = NOWHERE) -> float:
    """The largest crosswind in m/s that the tires hold at full throttle."""
    return largest(side, car(of, shift), ways(of, shift)[way], speed, gears(of, shift))


def _axles(
    of: Parts, way: int, pace: Iterable[float], shift: Shift = NOWHERE
) -> Iterable[tuple[float, float, float]]:
    """Speed, front and rear axle load at full throttle, N."""
    model, course, box = car(of, shift), ways(of, shift)[way], gears(of, shift)
    for speed in pace:
        standing = stance(model, course, speed, box)
        yield speed, standing.front, standing.rear


def _sides(
    of: Parts, side: Side, nth: int, speed: float, behind: tuple[str, ...]
) -> Iterable[Result]:
    """What a stated crosswind does to the car at full throttle, on its way, at a speed in m/s."""
    if of.course.cross_wind is None:
        return
    model, way, box = car(of), ways(of)[nth], gears(of)
    wind = of.course.cross_wind
    force, front, rear = side_forces(side, model, way, speed, wind.si)
    said = f"in {wind.written} of crosswind"
    share = used(side, model, way, speed, wind.si, box=box)
    lifted = "an axle carries no load at that speed, and has no grip" if math.isinf(share) else ""
    moment = force * (side.behind_front - model.arm)
    inputs = (*behind, wind.id)
    for word, title, value, kind in (
        ("side_force", f"Side force {said}", force, "force"),
        (
            "yaw_moment",
            f"Yawing moment about the CG {said}, into the wind positive",
            moment,
            "torque",
        ),
        ("side_front", f"Side force the front tires hold {said}", front, "force"),
        ("side_rear", f"Side force the rear tires hold {said}", rear, "force"),
    ):
        yield Result(f"stability.{word}", title, value, kind, inputs=inputs)
    yield Result(
        "stability.grip_used",
        f"Greatest share of an axle's grip used {said}",
        None if lifted else share,
        "share",
        absent=lifted,
        inputs=inputs,
    )


def _steering(of: Parts, shape: Shape, pace: Pace) -> Iterable[Result]:
    stop = shape.steering_stop
    if stop is None:
        return
    radius = float(f.turning_radius(wheelbase=of.axles.wheelbase(), angle=stop.si))
    own = (stop.id, *(w.x.id for w in (*of.axles.front, *of.axles.rear)))
    yield Result(
        "stability.least_radius",
        "Least radius at the steering stops",
        radius,
        "distance",
        inputs=own,
    )
    yield Result(
        "stability.lock_acceleration",
        "Lateral acceleration that full lock would ask for at that speed",
        f.lateral_acceleration(speed=pace.speed, radius=radius),
        "acceleration",
        inputs=(*own, *pace.ids),
    )
    yield Result(
        "stability.lock_speed",
        "Speed at which full lock asks for all the grip",
        full_lock_speed(radius, of.course.friction.si),
        "speed",
        inputs=(*own, of.course.friction.id),
    )
    yield tipping_speed(of, radius, own)


# ------------------------------------------------------------------------------- results


def _results(detail: Detail) -> Iterable[Result]:
    yield from (detail.slope, detail.centre)
    if detail.forward is not detail.centre:
        yield detail.forward
    for line in detail.conditions:
        yield from (line.in_wheelbases, line.in_lengths)
    yield from (detail.wind, detail.tipping, *detail.side, *detail.steering)


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
