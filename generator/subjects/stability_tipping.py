"""Whether a crosswind, or full lock, turns the vehicle over."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from buildspec.quantities import Quantity, show
from buildspec.sections.shape import Shape
from generator.formulas import stability as f
from generator.run.car import forces
from generator.spread import NOWHERE, Shift, at, sources, spread
from generator.subjects.run_model import Parts, State, car, gears, ids, made, number, ways
from generator.subjects.stability_parts import quantities
from generator.subjects.stability_wind import Held, footing, least_tipping, side_of
from generator.vocabulary import Result

TITLE = "Largest crosswind before the windward wheels lift, at any speed up to that, full throttle"


def tipping(
    states: tuple[State, ...],
    shape: Shape,
    compression: float,
    pace: Sequence[float],
    inputs: tuple[str, ...],
) -> tuple[Result, str]:
    """The crosswind that lifts the windward wheels, full throttle, at the worst of the speeds of `pace`, in the
    worst condition and direction; and when that is.
    """
    height = shape.side_height
    if height is None:
        why = "the height at which the side force acts is not stated: `shape.side_height`"
        return Result("stability.tipping_wind", TITLE, None, "speed", absent=why), ""

    least = partial(_least, (shape, compression, height))
    found = [
        (least((state.of, way), pace), state, way)
        for state in states
        for way in range(len(ways(state.of)))
    ]
    held, state, way = min(found, key=lambda one: one[0].wind)
    of, own = state.of, (*_across(state.of), height)
    known = sources((*of.values, *of.drive_values, *quantities(shape), *own))
    result = Result(
        "stability.tipping_wind",
        TITLE,
        held.wind,
        "speed",
        spread(lambda shift: least((of, way), [held.speed], shift).wind, known),
        inputs=tuple(dict.fromkeys((*inputs, *ids(own)))),
    )
    return result, f"{state.title}, at {show(held.speed, 'speed', of.system)}"


def _least(
    seen: tuple[Shape, float, Quantity],
    there: tuple[Parts, int],
    pace: Sequence[float],
    shift: Shift = NOWHERE,
) -> Held:
    """The least wind that tips, of a shape at a compression with its side force at a height, in one condition and
    direction.
    """
    (shape, compression, height), (of, way) = seen, there
    return least_tipping(
        side_of(of, shape, compression, shift),
        car(of, shift),
        ways(of, shift)[way],
        pace,
        on=footing(of, shift),
        height=at(height, shift),
        box=gears(of, shift),
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
