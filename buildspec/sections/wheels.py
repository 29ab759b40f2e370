"""The section `wheels`: where each wheel stands and what it may carry."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, quoted
from buildspec.quantities import Basis, Quantity
from buildspec.thousands import thousands


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheel:
    """One wheel's contact point (x, y), loaded radius, and what it may carry, for a moment too."""

    id: str
    name: str = ""
    x: Quantity
    y: Quantity
    radius: Quantity | None = None
    rated_load: Quantity | None = None
    peak_load: Quantity | None = None
    driven: bool = False
    steered: bool = False
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheels:
    """All wheels. Wheels of equal x form an axle."""

    positions: tuple[Wheel, ...]


SHORTEST, LONGEST = 0.5, 30.0
"""Metres; a wheelbase outside is probably a slip of the pen. Our own bounds, wide on purpose."""
SMALLEST, LARGEST = 0.05, 1.5
"""Metres; a wheel's radius outside is likewise a slip. Our own bounds, wide on purpose."""
NEAR = 0.1
"""Metres; axles this close are one axle measured on both sides. Two in line are a wheel apart."""
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
    yield from thousands(
        (value, build.where(f"wheels.positions.{wheel.id}"))
        for wheel in section.positions
        for value in (wheel.x, wheel.y)
    )
    yield from _wheelbase(section, build)
    yield from _near_axles(section, build)
    yield from _radii(section, build)
    yield from _sides(section, build)


def _wheelbase(section: Wheels, build: Build) -> Iterator[Diagnostic]:
    """A wheelbase that no vehicle with a driver has: a unit or a point is wrong."""
    first, last = axles(section)[0][0], axles(section)[-1][0]
    length = last.x.si - first.x.si
    if not SAME < length < SHORTEST and not length > LONGEST:
        return
    yield Diagnostic(
        "wheels.wheelbase",
        f"the wheelbase is {length:.3g} m, which is {'short' if length < SHORTEST else 'long'} "
        "for a vehicle with a driver",
        last.x.place or build.where(f"wheels.positions.{last.id}"),
        "look at the unit and the decimal point of each `x`",
        (Note(first.x.place or build.where(f"wheels.positions.{first.id}"), "the first axle"),),
        severity="warning",
    )


def _near_axles(section: Wheels, build: Build) -> Iterator[Diagnostic]:
    """Axles a finger apart: one axle, whose `x` was measured on either side of the vehicle."""
    rows = axles(section)
    if rows[-1][0].x.si - rows[0][0].x.si < SHORTEST:
        return  # said by the wheelbase
    for (first, *_), (next_, *_) in itertools.pairwise(rows):
        if next_.x.si - first.x.si <= NEAR:
            yield Diagnostic(
                "wheels.axle-near",
                f"{quoted(next_.id)} at {next_.x.written} and {quoted(first.id)} at "
                f"{first.x.written} count as two axles",
                next_.x.place or build.where(f"wheels.positions.{next_.id}"),
                "wheels of one axle have the same `x`: give both the mean of what was measured",
                (Note(first.x.place or build.where(f"wheels.positions.{first.id}"), "the other"),),
                severity="warning",
            )


def _radii(section: Wheels, build: Build) -> Iterator[Diagnostic]:
    """Radii that no wheel has: a unit or a point is wrong."""
    for wheel in section.positions:
        if wheel.radius and not SMALLEST <= wheel.radius.si <= LARGEST:
            yield Diagnostic(
                "wheels.radius",
                f"the radius of {quoted(wheel.id)}, {wheel.radius.written}, is "
                f"{'small' if wheel.radius.si < SMALLEST else 'large'} for a wheel",
                wheel.radius.place or build.where(f"wheels.positions.{wheel.id}"),
                "look at the unit and the decimal point",
                severity="warning",
            )


def _sides(section: Wheels, build: Build) -> Iterator[Diagnostic]:
    """Wheels that are called left and stand right, or the other way about."""
    for wheel in section.positions:
        said = {"left", "right"}.intersection(
            re.findall("[a-z]+", f"{wheel.id} {wheel.name}".casefold())
        )
        side = "left" if wheel.y.si < 0.0 else "right"
        if len(said) == 1 and side not in said and wheel.y.si != 0.0:
            yield Diagnostic(
                "wheels.side",
                f"{quoted(wheel.id)} stands on the driver's {side}, by `y: {wheel.y.written}`",
                wheel.y.place or build.where(f"wheels.positions.{wheel.id}"),
                "y is negative to the left and positive to the right: look at its sign",
                severity="warning",
            )
