"""The section `wheels`: where each wheel stands and what it may carry."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, quoted
from buildspec.quantities import Basis, Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheel:
    """One wheel's contact point (x, y), loaded radius and rated load."""

    id: str
    name: str = ""
    x: Quantity
    y: Quantity
    radius: Quantity | None = None
    rated_load: Quantity | None = None
    driven: bool = False
    steered: bool = False
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheels:
    """All wheels. Wheels of equal x form an axle."""

    positions: tuple[Wheel, ...]


SAME = 1e-6
"""Metres within which two places are one: less than anyone measures, more than rounding makes."""


def axles(wheels: Wheels) -> tuple[tuple[Wheel, ...], ...]:
    """The wheels by axle, front first: wheels whose x is the same."""
    found: list[tuple[Wheel, ...]] = []
    for wheel in sorted(wheels.positions, key=lambda w: w.x.si):
        if found and abs(found[-1][0].x.si - wheel.x.si) <= SAME:
            found[-1] = (*found[-1], wheel)
        else:
            found.append((wheel,))
    return tuple(found)


def problems(section: Wheels, build: Build) -> Iterator[Diagnostic]:
    """Wheels that cannot carry a vehicle: two in one place, or all on one axle."""
    for number, wheel in enumerate(section.positions):
        for other in section.positions[:number]:
            if abs(wheel.x.si - other.x.si) <= SAME and abs(wheel.y.si - other.y.si) <= SAME:
                yield Diagnostic(
                    "wheels.place",
                    f"{quoted(wheel.id)} stands where {quoted(other.id)} stands",
                    build.where(f"wheels.positions.{wheel.id}.id"),
                    "correct `x` or `y` of one of the two; the left has negative `y`",
                    (Note(build.where(f"wheels.positions.{other.id}.id"), "the other one"),),
                )
    if len(axles(section)) == 1:
        yield Diagnostic(
            "wheels.axle",
            "all wheels stand on one axle: they have the same `x`",
            build.where("wheels.positions"),
            "give the wheels of each axle the `x` of that axle",
        )
