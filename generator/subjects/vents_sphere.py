"""The subject `vents`: a tank with any direction of the vehicle up, rolled and pitched at once."""

from __future__ import annotations

import math

import numpy as np

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.vents import Tank
from generator.checks import make_check
from generator.formulas import vents as f
from generator.formulas.vents import corners, held_rises, level_of_box
from generator.spread import NOWHERE, Shift, at, sources, spread
from generator.subjects.vents_records import (
    SIZES,
    WAYS,
    WORD,
    Array,
    Free,
    along,
    closing,
    closing_said,
)
from generator.vocabulary import Check, Result, WorkedStep
from generator.work import work

DIRECTIONS = 4000
"""Directions spread evenly over the sphere: some 3° from one to the next."""
ROUNDS, NEAR, FINER = 5, 300, 0.35
"""Searches about the worst direction, directions in each, and how much nearer each one looks."""
ENOUGH = 1e-6
"""Part of the tank's extent by which a level may pass the vent: what solving for it may leave."""
AXES = tuple(SIZES)


def at_any_attitude(tank: Tank) -> Free:
    """Level and vent in the worst of all attitudes that no valve closes, and the check of them."""
    up = _worst(tank)
    name, title = f"{WORD}.tank.{tank.id}.any", f"{called(tank)}, rolled and pitched"
    if up is None:
        level = Result(f"{name}.pressing", "liquid against an open vent", 0.0, "length")
        vent = Result(f"{name}.vent", f"{title}: nothing is left open", 0.0, "length")
        check = _check(tank, title, level, vent, "the valve closes in every attitude")
        return Free(tank, None, (level, vent), check, ())
    given = _given(tank)
    ids = tuple(q.id for q in given)

    def found(which: int, word: str, what: str) -> Result:
        value = float(_heights(tank, up, NOWHERE)[which][0])
        u = spread(lambda s: float(_heights(tank, up, s)[which][0]), sources(given))
        return Result(
            f"{name}.{word}", f"{title}, the worst attitude: {what}", value, "length", u, inputs=ids
        )

    level, vent = found(0, "level", "liquid level"), found(1, "vent", "highest point of the vent")
    check = _check(tank, title, level, _known(tank, level, vent), _basis(tank, up))
    return Free(tank, up[0], (level, vent), check, _steps(tank, up[0], level))


def _steps(tank: Tank, up: Array, level: Result) -> tuple[WorkedStep, ...]:
    """The share of the tank below the level found, and the height of the vent's highest point."""
    name, title = f"{WORD}.step.{tank.id}.any", f"{called(tank)}, the worst attitude"
    size, middle = (
        np.array([getattr(tank, key).si for key in keys]) for keys in (SIZES.values(), AXES)
    )
    rises = size * np.abs(up)
    held = held_rises(rises[None, :])[0]
    over = (level.value or 0.0) + (held.sum() - rises.sum()) / 2.0
    signs, heights = corners(over, held)
    points = [np.array([along(p, a).si for a in AXES]) for p in tank.vent]
    return (
        work(
            f.share_below,
            f"{name}.share",
            f"{title}: part of the tank below the level",
            "The level that gives the stated fill is found by halving; this puts it back in. Eight corners: "
            "none up, then one to three sides of the box.",
            signs=signs,
            heights=heights,
            first=float(held[0]),
            second=float(held[1]),
            third=float(held[2]),
        ),
        work(
            f.height_turned,
            f"{name}.vent",
            f"{title}: highest point of the vent",
            upward=up,
            point=max(points, key=lambda p: float(p @ up)),
            middle=middle,
            rises=rises,
        ),
    )


def around(tank: Tank, tilts: Array, towards: Array) -> tuple[Array, Array]:
    """How far the vent stands above the liquid, m, and where a valve closes by its tilt, 1 or 0.

    Over tilts from upright (n,) and directions towards which it tilts (m,), rad: 0 on its nose, a quarter
    turn on its left side. Both results (n, m).
    """
    tilt, turn = np.meshgrid(tilts, towards, indexing="ij")
    # What comes up is opposite to what goes down: tilted on its nose, the tail (+x) comes up.
    up = np.stack((np.sin(tilt) * np.cos(turn), np.sin(tilt) * np.sin(turn), np.cos(tilt)), axis=-1)
    level, vent = _heights(tank, up.reshape(-1, 3), NOWHERE)
    limit = tank.closes_beyond
    closed = (tilt >= limit.si - 1e-9).astype(np.float64) if limit else np.zeros(tilt.shape)
    return (vent - level).reshape(tilt.shape), closed


def _known(tank: Tank, level: Result, vent: Result) -> Result:
    """The vent, or nothing where a valve may close it and nobody says at what tilt."""
    runs = (vent.value or 0.0) < (level.value or 0.0) * (1.0 - ENOUGH)
    if not (tank.valve and tank.closes_beyond is None and runs):
        return vent
    absent = (
        "liquid would stand above the open vent, and nothing says at what tilt the valve closes: "
        "state `closes_beyond`"
    )
    return Result(vent.id, vent.title, None, "length", absent=absent)


def _check(tank: Tank, title: str, level: Result, vent: Result, basis: str) -> Check:
    limit = (tank.closes_beyond.id,) if tank.closes_beyond else ()
    closed = level.id.endswith(".pressing")
    return make_check(
        f"{WORD}.check.{tank.id}.any",
        f"{title} to any attitude: liquid stays in",
        demand=level,
        capacity=vent,
        nothing_asked=basis if closed else "",
        inputs=(*level.inputs, *vent.inputs, *limit),
        sources=("hydrostatics",),
        basis_of_verdict=basis,
        ways=WAYS,
    )


def _basis(tank: Tank, up: Array) -> str:
    x, y, z = (float(v) for v in up[0])
    tilt = math.degrees(math.acos(max(-1.0, min(1.0, z))))
    x, y, z = (round(part, 2) + 0.0 for part in (x, y, z))  # no minus before a nought
    said = f"worst {tilt:.0f}° from upright, with the direction ({x:.2f}, {y:.2f}, {z:.2f}) up"
    closes = closing_said(tank)
    return f"{said}; {DIRECTIONS} directions and a search about the worst" + (
        f"; {closes}" if closes else ""
    )


# ------------------------------------------------------------------------------- geometry


def _worst(tank: Tank) -> Array | None:
    """The direction up (1, 3) with the least height of the vent over the level; None where a valve
    closes in all.
    """
    up = _even(DIRECTIONS)
    reach = math.sqrt(4.0 * math.pi / DIRECTIONS)
    best = _least(tank, up)
    for number in range(ROUNDS if best is not None else 0):
        assert best is not None
        near = best + reach * FINER**number * _even(NEAR)
        best = _least(tank, np.vstack((best, near / np.linalg.norm(near, axis=1)[:, None])))
    return best


def _even(count: int) -> Array:
    """Directions spread evenly over the sphere along a spiral of the golden angle, and its axes."""
    n = np.arange(count) + 0.5
    z, turn = 1.0 - 2.0 * n / count, n * math.pi * (3.0 - math.sqrt(5.0))
    r = np.sqrt(1.0 - z**2)
    spiral = np.column_stack((r * np.cos(turn), r * np.sin(turn), z))
    return np.vstack((spiral, np.eye(3), -np.eye(3)))


def _least(tank: Tank, up: Array) -> Array | None:
    tilt = np.arccos(np.clip(up[:, 2], -1.0, 1.0))
    up = up[tilt < closing(tank) - 1e-9]
    if not len(up):
        return None
    level, vent = _heights(tank, up, NOWHERE)
    return up[[int(np.argmin(vent / np.maximum(level, 1e-12)))]]


def _heights(tank: Tank, up: Array, shift: Shift) -> tuple[Array, Array]:
    """Liquid level and highest point of the vent (n,), above the tank's lowest corner, m."""
    size = np.array([at(getattr(tank, SIZES[a]), shift) for a in AXES])
    middle = np.array([at(getattr(tank, a), shift) for a in AXES])
    points = np.array([[at(along(p, a), shift) for a in AXES] for p in tank.vent])
    rises = size * np.abs(up)
    level = level_of_box(min(at(tank.fill, shift), 1.0), rises)
    highest = np.max((points - middle) @ up.T, axis=0) + rises.sum(axis=1) / 2.0
    return level, highest


def _given(tank: Tank) -> tuple[Quantity, ...]:
    own = (tank.fill, *(getattr(tank, SIZES[a]) for a in AXES), *(getattr(tank, a) for a in AXES))
    return (*own, *(along(p, a) for p in tank.vent for a in AXES))
