"""The section `vents`: tanks as boxes, their fill, and their vent lines."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, quoted
from buildspec.quantities import Basis, Quantity
from buildspec.sections.driver import Point

Attitude = Literal["upright", "inverted", "left side", "right side", "nose down", "tail down"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tank:
    """One tank: a box about (x, y, z). `vent` leads from the port in the tank to the outlet."""

    id: str
    name: str = ""
    fluid: str = ""
    x: Quantity
    y: Quantity
    z: Quantity
    length: Quantity
    width: Quantity
    height: Quantity
    fill: Quantity
    vent: tuple[Point, ...]
    valve: str = ""
    closes: tuple[Attitude, ...] = ()
    closes_beyond: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Vents:
    """The section as a whole."""

    tanks: tuple[Tank, ...]


def problems(section: Vents, build: Build) -> Iterator[Diagnostic]:
    """Tanks in one place, ports outside their tank, and attitudes that no valve closes in."""
    yield from _overlaps(section, build)
    for tank in section.tanks:
        name = f"vents.tanks.{tank.id}"
        if axis := _outside(tank, tank.vent[0]):
            yield Diagnostic(
                "vents.port",
                f"the vent's first point lies outside the tank along {axis}",
                build.where(f"{name}.vent.0.{axis}"),
                "begin the vent with its port in the tank, or correct the tank's box",
            )
        stated = {"closes": tank.closes, "closes_beyond": tank.closes_beyond}
        for word in (w for w, value in stated.items() if value and not tank.valve):
            yield Diagnostic(
                "vents.valve",
                f"`{word}` says when a valve closes, and no valve is stated",
                build.where(f"{name}.{word}"),
                f"name it under `valve`, or take `{word}` out",
            )


def _overlaps(section: Vents, build: Build) -> Iterator[Diagnostic]:
    """Tanks whose boxes share room: a warning, since a box may be larger than its tank."""
    for first, second in itertools.combinations(section.tanks, 2):
        if all(low < high - 1e-6 for low, high in _shared(first, second)):
            yield Diagnostic(
                "vents.overlap",
                f"the box of {quoted(second.id)} reaches into that of {quoted(first.id)}",
                build.where(f"vents.tanks.{second.id}"),
                "measure both again; two tanks cannot stand in one place",
                (Note(build.where(f"vents.tanks.{first.id}"), "the other tank"),),
                "warning",
            )


def _shared(first: Tank, second: Tank) -> Iterator[tuple[float, float]]:
    """What two boxes share along each axis, from and to, m; the wrong way round where nothing."""
    for axis, size in (("x", "length"), ("y", "width"), ("z", "height")):
        ends = [
            (
                getattr(t, axis).si - getattr(t, size).si / 2,
                getattr(t, axis).si + getattr(t, size).si / 2,
            )
            for t in (first, second)
        ]
        yield max(e[0] for e in ends), min(e[1] for e in ends)


def _outside(tank: Tank, point: Point) -> str:
    """The first axis along which a point lies outside the tank's box; "" for one inside or on a wall."""
    sides = (
        ("x", point.x, tank.x, tank.length),
        ("y", point.y, tank.y, tank.width),
        ("z", point.z, tank.z, tank.height),
    )
    off = (a for a, p, mid, size in sides if abs(p.si - mid.si) > size.si / 2.0 + 1e-9)
    return next(off, "")
