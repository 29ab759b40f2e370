"""The section `vents`: tanks as boxes, their fill, and their vent lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Place
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
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Vents:
    """The section as a whole."""

    tanks: tuple[Tank, ...]


def problems(section: Vents, build: Build) -> Iterator[Diagnostic]:
    """Ports outside their tank, and attitudes that no valve closes in."""
    for tank in section.tanks:
        name = f"vents.tanks.{tank.id}"
        if not _inside(tank, tank.vent[0]):
            yield Diagnostic(
                "vents.port",
                "the vent's first point lies outside the tank",
                build.place(f"{name}.vent.0.x") or Place("build.yaml"),
                "begin the vent with its port in the tank, or correct the tank's box",
            )
        if tank.closes and not tank.valve:
            yield Diagnostic(
                "vents.valve",
                "`closes` says when a valve closes, and no valve is stated",
                build.place(f"{name}.closes") or build.place(name) or Place("build.yaml"),
                "name it under `valve`, or take `closes` out",
            )


def _inside(tank: Tank, point: Point) -> bool:
    """Whether a point lies in the tank's box, its walls included."""
    sides = (
        (point.x, tank.x, tank.length),
        (point.y, tank.y, tank.width),
        (point.z, tank.z, tank.height),
    )
    return all(abs(p.si - middle.si) <= size.si / 2.0 + 1e-9 for p, middle, size in sides)
