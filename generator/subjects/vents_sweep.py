"""The subject `vents`: a tank turned to every angle about the vehicle's length and about its width.

Angles run from upright, 0, to inverted, ±180°. Rolled, they are positive towards the left side; pitched,
towards the nose.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.vents import Tank
from generator.checks import make_check
from generator.formulas import vents as f
from generator.spread import NOWHERE, Shift, at, sources, spread
from generator.subjects.vents_records import (
    SIZES,
    WAYS,
    WORD,
    Array,
    Swept,
    along,
    closing,
    closing_said,
)
from generator.vocabulary import Check, Result, WorkedStep
from generator.work import as_result, work

STEP = 0.1
"""Step of the sweep in degrees; between two steps a level moves by less than 0.2 % of the tank."""
ENOUGH = 1e-9
"""Metres by which a level may pass the vent: what the arithmetic leaves where both are equal."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A way to turn: the direction of the vehicle that comes up at +90°, and what to call it."""

    word: str
    across: str
    positive: str
    negative: str


TURNS = (
    Turn("rolled", "y", "to its left", "to its right"),
    Turn("pitched", "x", "on its nose", "on its tail"),
)


def swept(tank: Tank) -> tuple[Swept, ...]:
    """The tank rolled and pitched to every angle."""
    return tuple(_turned(tank, turn) for turn in TURNS)


def _turned(tank: Tank, turn: Turn) -> Swept:
    angles = np.radians(np.linspace(-180.0, 180.0, round(360.0 / STEP) + 1))
    levels, highest = _level(tank, turn, angles, NOWHERE), _highest(tank, turn, angles, NOWHERE)
    closed = _closed(tank, angles)
    ratio = np.where(closed, np.inf, highest / np.maximum(levels, 1e-12))
    worst = float(angles[int(np.argmin(ratio))])
    level, step = _worst_level(tank, turn, worst)
    vent = _worst_vent(tank, turn, worst)
    first = _first(tank, turn, angles, highest - levels)
    check = _check(
        tank, turn, (worst, level, vent), leaks=first.value, all_closed=bool(closed.all())
    )
    return Swept(
        tank,
        turn.word,
        angles,
        highest - levels,
        closed,
        worst,
        (level, vent, first),
        check,
        (step,),
    )


# ------------------------------------------------------------------------------- geometry


def _rises(tank: Tank, turn: Turn, angles: Array, shift: Shift) -> tuple[Array, Array]:
    """How much each side of the box rises along the vertical, m."""
    wide: Quantity = getattr(tank, SIZES[turn.across])
    return (
        at(wide, shift) * np.abs(np.sin(angles)),
        at(tank.height, shift) * np.abs(np.cos(angles)),
    )


def _level(tank: Tank, turn: Turn, angles: Array, shift: Shift) -> Array:
    """The liquid's level above the tank's lowest corner, m."""
    return f.tilted_level(min(at(tank.fill, shift), 1.0), *_rises(tank, turn, angles, shift))


def _highest(tank: Tank, turn: Turn, angles: Array, shift: Shift) -> Array:
    """The vent's highest point above the tank's lowest corner, m."""
    up = {turn.across: np.sin(angles), "z": np.cos(angles)}
    points = [
        sum(u * (at(along(p, a), shift) - at(getattr(tank, a), shift)) for a, u in up.items())
        for p in tank.vent
    ]
    first, second = _rises(tank, turn, angles, shift)
    highest: Array = np.max(np.array(points), axis=0) + (first + second) / 2.0
    return highest


def _closed(tank: Tank, angles: Array) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Where the valve closes, by a tilt its maker states; where none is stated, nowhere."""
    found: np.ndarray[tuple[int, ...], np.dtype[np.bool_]] = np.abs(angles) >= closing(tank) - 1e-9
    return found


def _given(tank: Tank, turn: Turn) -> tuple[Quantity, ...]:
    wide: Quantity = getattr(tank, SIZES[turn.across])
    middles: tuple[Quantity, ...] = (getattr(tank, turn.across), tank.z)
    points = tuple(along(p, axis) for p in tank.vent for axis in (turn.across, "z"))
    return (tank.fill, wide, tank.height, *middles, *points)


# -------------------------------------------------------------------------------- results


def _name(tank: Tank, turn: Turn) -> tuple[str, str]:
    return f"{WORD}.tank.{tank.id}.{turn.word}", f"{called(tank)}, {turn.word}"


def said(turn: Turn, angle: float) -> str:
    """An angle in words: `63.4° to its left`."""
    degrees = abs(math.degrees(angle))
    return f"{degrees:.1f}° {turn.positive if angle >= 0.0 else turn.negative}"


def _worst_level(tank: Tank, turn: Turn, angle: float) -> tuple[Result, WorkedStep]:
    name, title = _name(tank, turn)
    rises = tuple(float(r) for r in _rises(tank, turn, np.array(angle), NOWHERE))
    step = work(
        f.tilted(tank.fill.si, (rises[0], rises[1])),
        f"{name}.level",
        f"{title} {said(turn, angle)}, the worst angle: liquid level",
        fill=tank.fill,
        short=min(rises),
        long=max(rises),
        note="A side's rise is its length times the sine or the cosine of the angle.",
    )
    given = _given(tank, turn)
    u = spread(lambda s: float(_level(tank, turn, np.array(angle), s)), sources(given))
    return as_result(step, u, tuple(q.id for q in given)), step


def _worst_vent(tank: Tank, turn: Turn, angle: float) -> Result:
    name, title = _name(tank, turn)
    given = _given(tank, turn)
    return Result(
        f"{name}.vent",
        f"{title}, at the worst angle: highest point of the vent",
        float(_highest(tank, turn, np.array(angle), NOWHERE)),
        "length",
        spread(lambda s: float(_highest(tank, turn, np.array(angle), s)), sources(given)),
        inputs=tuple(q.id for q in given[1:]),
    )


def _first(tank: Tank, turn: Turn, angles: Array, above: Array) -> Result:
    """The least tilt at which the liquid would stand above an open vent."""
    name, title = _name(tank, turn)
    runs = angles[above < -ENOUGH]
    title = f"{title}: least tilt at which liquid would run out of an open vent"
    if not len(runs):
        return Result(
            f"{name}.leaks_from",
            title,
            None,
            "angle",
            absent=f"{turn.word} alone, it does at no angle",
        )
    least, ids = float(np.min(np.abs(runs))), tuple(q.id for q in _given(tank, turn))
    return Result(f"{name}.leaks_from", title, least, "angle", inputs=ids)


def _check(
    tank: Tank,
    turn: Turn,
    found: tuple[float, Result, Result],
    *,
    leaks: float | None,
    all_closed: bool,
) -> Check:
    """The worst angle that no valve closes; with a valve whose tilt is not known, only what holds without."""
    worst, level, vent = found
    name, title = _name(tank, turn)
    inputs = (*level.inputs, *vent.inputs)
    limit = tank.closes_beyond
    basis = f"worst {said(turn, worst)}, by steps of {STEP:g}°"
    if all_closed:
        level = Result(f"{name}.pressing", "liquid against an open vent", 0.0, "length")
        basis = "the valve closes at every angle, by its maker"
    elif limit is not None:
        inputs = (*inputs, limit.id)
        basis = f"{basis}; {closing_said(tank)}: {tank.valve}"
    elif tank.valve and leaks is not None:
        absent = (
            f"from {math.degrees(leaks):.1f}° on the liquid stands above the vent, and nothing says at "
            "what tilt the valve closes: state it as `closes_beyond`"
        )
        vent = Result(vent.id, vent.title, None, "length", absent=absent)
    return make_check(
        f"{WORD}.check.{tank.id}.{turn.word}",
        f"{title} alone to any angle: liquid stays in",
        demand=level,
        capacity=vent,
        inputs=inputs,
        sources=("hydrostatics",),
        basis_of_verdict=basis,
        ways=WAYS,
    )
