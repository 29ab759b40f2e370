"""What the subject `vents` hands from one of its parts to the next, and to its page and drawings."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from buildspec.quantities import Quantity
from buildspec.sections.driver import Point
from buildspec.sections.vents import Attitude, Tank
from generator.vocabulary import Check, Result, WorkedStep

WORD = "vents"
UP: dict[Attitude, tuple[str, int]] = {
    "upright": ("z", 1),
    "inverted": ("z", -1),
    "left side": ("y", 1),
    "right side": ("y", -1),
    "nose down": ("x", 1),
    "tail down": ("x", -1),
}
"""Which direction of the vehicle points up in each attitude: on its left side, the right side does.
"""
TILT: dict[Attitude, float] = {
    attitude: 0.0 if attitude == "upright" else math.pi if attitude == "inverted" else math.pi / 2
    for attitude in UP
}
"""How far each attitude is tilted from upright, rad."""
WAYS = "lead the outlet higher, fill the tank less, or fit a valve that closes there and state it"
SIZES = {"x": "length", "y": "width", "z": "height"}
Array = NDArray[np.float64]


def closing(tank: Tank) -> float:
    """The tilt from upright, rad, from which on the valve has closed, at the late end of its ±; endless
    where none is stated.
    """
    limit = tank.closes_beyond
    return math.inf if limit is None else limit.si + limit.reach


def closing_said(tank: Tank) -> str:
    """From where on the valve closes, in words; "" where no tilt is stated."""
    limit = tank.closes_beyond
    if limit is None:
        return ""
    late = f", by its ± at {math.degrees(closing(tank)):.4g}° at the latest," if limit.reach else ""
    return f"from {limit.written} on{late} the valve closes, by its maker"


@dataclass(frozen=True, slots=True)
class Lying:
    """One tank in one attitude."""

    tank: Tank
    attitude: Attitude
    axis: str
    sign: int
    level: Result
    highest: Result
    closed: bool
    check: Check
    steps: tuple[WorkedStep, ...]


@dataclass(frozen=True, eq=False)
class Swept:
    """One tank turned all the way round: angles in rad, and at each how far the vent's highest point
    stands above the liquid, m. `closed` marks the angles at which a valve closes.
    """

    tank: Tank
    word: str
    angles: Array
    above: Array
    closed: NDArray[np.bool_]
    worst: float
    results: tuple[Result, ...]
    check: Check
    steps: tuple[WorkedStep, ...]


@dataclass(frozen=True, eq=False)
class Free:
    """One tank with any direction up. `up` is the worst that no valve closes; None where it closes in all."""

    tank: Tank
    up: Array | None
    results: tuple[Result, ...]
    check: Check
    steps: tuple[WorkedStep, ...]


@dataclass(frozen=True)
class Detail:
    """For the page and the drawings."""

    lying: tuple[Lying, ...]
    swept: tuple[Swept, ...] = ()
    free: tuple[Free, ...] = ()


def along(point: Point, axis: str) -> Quantity:
    """A point's coordinate along an axis."""
    found: Quantity = getattr(point, axis)
    return found
