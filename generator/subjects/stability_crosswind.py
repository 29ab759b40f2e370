"""The crosswind that the tires hold, in the worst condition and direction and at the worst speed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from buildspec.quantities import show
from buildspec.sections.shape import Shape
from generator.spread import Shift, sources, spread
from generator.subjects.run_model import Parts, State, car, gears, ways
from generator.subjects.stability_parts import quantities
from generator.subjects.stability_wind import (
    Held,
    Side,
    largest,
    least_held,
    side_forces,
    side_of,
    used,
    wind_of,
    within,
)
from generator.vocabulary import Result

QUARTER = 4
"""The curves over speed begin at this part of the greatest."""


@dataclass(frozen=True, slots=True)
class Crosswind:
    """The largest crosswind that the tires hold, and `when` that is; the stated one's forces; the largest over speed at
    full throttle and at constant speed, and where the method ends, m/s; the speeds at which full throttle is too much.
    """

    largest: Result
    when: str
    sides: tuple[Result, ...]
    winds: tuple[tuple[float, float, float, float], ...]
    lifting: tuple[float, ...]


def crosswind(
    at: tuple[State, ...],
    shape: Shape,
    compression: float,
    pace: Sequence[float],
    inputs: tuple[str, ...],
) -> Crosswind:
    """In the worst condition and direction, up to the last speed of `pace`, m/s; `inputs` is what it rests on."""
    side = side_of(at[0].of, shape, compression)
    found = [
        (least_held(side, car(state.of), course, pace, gears(state.of)), state, way)
        for state in at
        for way, course in enumerate(ways(state.of))
    ]
    least, weak, way = min(found, key=lambda one: one[0].wind)
    of = weak.of
    return Crosswind(
        _largest(of, shape, compression, (least, way), inputs),
        f"{weak.title}, {_throttle(least)} at {show(least.speed, 'speed', of.system)}",
        tuple(_sides(of, side, way, pace[-1], inputs)),
        tuple(_winds(of, side, way, pace[len(pace) // QUARTER :])),
        tuple(_lifting(of, side, way, pace, _asked(of, shape))),
    )


def _throttle(held: Held) -> str:
    return "full throttle" if held.wide else "just enough throttle to keep the speed"


def _asked(of: Parts, shape: Shape) -> float:
    """The crosswind asked for with its factor, m/s; 0 where none is stated."""
    wind, limits = of.course.cross_wind, shape.limits
    return wind.si * (limits.factor.si if limits else 1.0) if wind else 0.0


def _winds(
    of: Parts, side: Side, nth: int, pace: Iterable[float]
) -> Iterable[tuple[float, float, float, float]]:
    """Speed, the largest crosswind at full throttle and at constant speed, and where the method ends, m/s."""
    model, way, box = car(of), ways(of)[nth], gears(of)
    for speed in pace:
        yield (
            speed,
            largest(side, model, way, speed, box),
            largest(side, model, way, speed),
            wind_of(side, way, speed, math.inf),
        )


def _lifting(
    of: Parts, side: Side, nth: int, pace: Iterable[float], asked: float
) -> Iterable[float]:
    """The speeds at which full throttle leaves the tires too little for the crosswind asked, or nothing at all."""
    model, way, box = car(of), ways(of)[nth], gears(of)
    for speed in pace:
        held = largest(side, model, way, speed, box)
        if held <= 0.0 or (held < asked and within(way, speed, held)):
            yield speed


def _largest(
    of: Parts, shape: Shape, compression: float, pace: tuple[Held, int], inputs: tuple[str, ...]
) -> Result:
    """`pace` is where the least is held, and which of the ways the run goes; `inputs` is what it rests on."""
    least, way = pace

    def found(shift: Shift) -> float:
        box = gears(of, shift) if least.wide else ()
        side = side_of(of, shape, compression, shift)
        return largest(side, car(of, shift), ways(of, shift)[way], least.speed, box)

    known = sources((*of.values, *of.drive_values, *quantities(shape)))
    return Result(
        "stability.largest_wind",
        "Largest crosswind that the tires hold at every speed up to that",
        found({}),
        "speed",
        spread(found, known),
        inputs=inputs,
    )


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
