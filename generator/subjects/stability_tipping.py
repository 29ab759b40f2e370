"""Whether a crosswind, or full lock, turns the vehicle over."""

from __future__ import annotations

from buildspec.quantities import Quantity
from buildspec.sections.shape import Shape
from generator.formulas import stability as f
from generator.run.car import forces
from generator.spread import NOWHERE, Shift, at, sources, spread
from generator.subjects.run_model import Parts, State, car, gears, ids, made, number, ways
from generator.subjects.stability_parts import quantities
from generator.subjects.stability_wind import footing, side_of, tipping_wind
from generator.vocabulary import Result

TITLE = "Largest crosswind before the windward wheels lift, full throttle"


def tipping(
    states: tuple[State, ...],
    shape: Shape,
    compression: float,
    speed: float,
    inputs: tuple[str, ...],
) -> Result:
    """The crosswind that lifts the windward wheels, full throttle, in the worst condition and direction."""
    height = shape.side_height
    if height is None:
        why = "the height at which the side force acts is not stated: `shape.side_height`"
        return Result("stability.tipping_wind", TITLE, None, "speed", absent=why)

    def wind(of: Parts, way: int, shift: Shift = NOWHERE) -> float:
        return tipping_wind(
            side_of(of, shape, compression, shift),
            car(of, shift),
            ways(of, shift)[way],
            speed,
            on=footing(of, shift),
            height=at(height, shift),
            box=gears(of, shift),
        )

    pairs = ((state.of, way) for state in states for way in range(len(ways(state.of))))
    of, way = min(pairs, key=lambda pair: wind(*pair))
    own = (*_across(of), height)
    known = sources((*of.values, *of.drive_values, *quantities(shape), *own))
    return Result(
        "stability.tipping_wind",
        TITLE,
        wind(of, way),
        "speed",
        spread(lambda shift: wind(of, way, shift), known),
        inputs=tuple(dict.fromkeys((*inputs, *ids(own)))),
    )


def _across(of: Parts) -> tuple[Quantity | Result, ...]:
    """What says where the vehicle stands across its course."""
    return (*(w.y for w in (*of.axles.front, *of.axles.rear)), of.cg_y)


def tipping_speed(of: Parts, radius: float, inputs: tuple[str, ...]) -> Result:
    """The speed at which the inner wheels lift on a path of `radius` m, at the axle loads of standstill."""
    still = forces(car(of), ways(of)[0], 0.0)
    held = footing(of).righting(still.front, still.rear)
    height, mass = number(of.cg_height, NOWHERE), number(of.mass, NOWHERE)
    stands = held > 0.0 and height > 0.0
    return made(
        "stability.tipping_speed",
        "Speed at which full lock would lift the inner wheels",
        float(f.tipping_speed(moment=held, radius=radius, mass=mass, height=height))
        if stands
        else None,
        "speed",
        absent="the vehicle does not stand on its wheels",
        inputs=(*ids((*_across(of), of.cg_height, of.cg_x)), *inputs),
    )
