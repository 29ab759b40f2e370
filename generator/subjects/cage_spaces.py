"""The room that tubes must leave free: the helmet, and whatever else is to be kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from buildspec.build import Build
from buildspec.quantities import Quantity
from buildspec.sections.cage import Cage, Helmet, Point
from buildspec.sections.cage import Space as Kept
from buildspec.sections.driver import Driver
from generator.frame.model import Array


@dataclass(frozen=True, eq=False)
class Space:
    """A ball about `centre` (3,) with `radius` m, or a box from `low` (3,) to `high` (3,) m. What must
    stay free between it and the tubes is `clearance`, on top of `padding` on the tubes. `around`:
    the tubes must stand around it.
    """

    id: str
    title: str
    kind: Literal["ball", "box"]
    centre: Array
    radius: float
    low: Array
    high: Array
    clearance: Quantity
    padding: Quantity | None
    inputs: tuple[str, ...]
    spread: float = 0.0
    around: bool = False


def spaces(cage: Cage, build: Build) -> tuple[Space, ...]:
    """The helmet first, then the spaces to keep in the order of the description."""
    helmet = (_helmet(cage.helmet, build),) if cage.helmet else ()
    return (*(h for h in helmet if h), *(_kept(space) for space in cage.keep_out))


def _helmet(helmet: Helmet, build: Build) -> Space | None:
    """The helmet as the cage has it, or else as the driver has it; None where neither says."""
    four = (helmet.x, helmet.y, helmet.z, helmet.radius)
    driver = build.section(Driver)
    if driver and driver.helmet and all(q is None for q in four):
        four = (driver.helmet.x, driver.helmet.y, driver.helmet.z, driver.helmet.radius)
    x, y, z, radius = four
    if x is None or y is None or z is None or radius is None:
        return None
    centre = np.array([x.si, y.si, z.si])
    values = (x, y, z, radius, helmet.padding, helmet.clearance)
    return Space(
        "helmet",
        "Helmet",
        "ball",
        centre,
        radius.si,
        centre - radius.si,
        centre + radius.si,
        helmet.clearance,
        helmet.padding,
        tuple(q.id for q in values),
        _spread(x, y, z, radius, helmet.padding),
        around=True,
    )


def _kept(space: Kept) -> Space:
    """One space of the description."""
    if space.centre is not None and space.radius is not None:
        centre, radius = _at(space.centre), space.radius.si
        low, high = centre - radius, centre + radius
        values = (*_three(space.centre), space.radius)
        kind: Literal["ball", "box"] = "ball"
    else:
        assert space.least is not None  # the reader has seen to it
        assert space.most is not None
        low, high = _at(space.least), _at(space.most)
        centre, radius = (low + high) / 2, 0.0
        values = (*_three(space.least), *_three(space.most))
        kind = "box"
    ids = tuple(q.id for q in (*values, space.clearance))
    return Space(
        space.id,
        space.name,
        kind,
        centre,
        radius,
        low,
        high,
        space.clearance,
        None,
        ids,
        _spread(*values),
    )


def _three(point: Point) -> tuple[Quantity, ...]:
    return (point.x, point.y, point.z)


def _at(point: Point) -> Array:
    return np.array([q.si for q in _three(point)])


def _spread(*values: Quantity) -> float:
    """Standard uncertainty in m of the distance to a tube: every value counted fully, uncorrelated."""
    return float(np.sqrt(sum(q.standard_uncertainty**2 for q in values)))
