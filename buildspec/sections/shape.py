"""The section `shape`: the outside of the vehicle in side view, for its behaviour in yaw."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, Place, quoted
from buildspec.quantities import Basis, Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """A part of the body whose height changes from `front_height` to `rear_height`."""

    id: str
    title: str = ""
    start: Quantity
    length: Quantity
    front_height: Quantity
    rear_height: Quantity
    volume: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fin:
    """An upright fin of trapezoidal outline, or `count` alike; `sweep` is of the leading edge, as a length."""

    id: str
    title: str = ""
    start: Quantity
    root: Quantity
    tip: Quantity
    sweep: Quantity
    height: Quantity
    body_radius: Quantity
    count: int = 1
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part with a slope of its own, per radian on the reference area."""

    id: str
    title: str = ""
    slope: Quantity
    x: Quantity | None = None
    item: str = ""
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """Slope and centre of pressure of the whole vehicle, from a test or CFD."""

    slope: Quantity
    x: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What the team asks for."""

    static_margin: Quantity | None = None
    front_load: Quantity | None = None
    driver_lifts: bool = False
    factor: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Contributors to the side force; `whole` decides where it is given."""

    reference_area: Quantity
    length: Quantity | None = None
    bodies: tuple[Body, ...] = ()
    fins: tuple[Fin, ...] = ()
    parts: tuple[Part, ...] = ()
    whole: Whole | None = None
    side_height: Quantity | None = None
    steering_stop: Quantity | None = None
    limits: Limits | None = None
    basis: Basis | None = None
    source: str = ""


def problems(section: Shape, build: Build) -> Iterable[Diagnostic]:
    """Something must make a side force."""
    if not (section.bodies or section.fins or section.parts or section.whole):
        yield Diagnostic(
            "shape.empty",
            "no part of the shape is described",
            build.place("shape") or Place("build.yaml"),
            "describe `bodies`, `fins` and `parts`, or the `whole` from a test or CFD",
        )
    for part in section.parts:
        if (part.x is None) == (not part.item):
            said = "says twice" if part.item else "does not say"
            yield Diagnostic(
                "shape.place",
                f"{quoted(part.id)} {said} where its side force acts",
                build.where(f"shape.parts.{part.id}"),
                "give its `x`, or the mass `item` it stands for; one of the two",
            )
    yield from _radii(section, build)


TALLER = 1.5
"""How many times half the body's greatest height a fin's `body_radius` may be. Our own bound."""


def _radii(section: Shape, build: Build) -> Iterable[Diagnostic]:
    """A radius that no body described here has: it would make the fin more than it is."""
    ends = [q for body in section.bodies for q in (body.front_height, body.rear_height)]
    tallest = max(ends, key=lambda q: q.si, default=None)
    for fin in section.fins:
        if tallest and fin.body_radius.si > TALLER * 0.5 * tallest.si:
            yield Diagnostic(
                "shape.body-radius",
                f"the body under {quoted(fin.id)} has a radius of {fin.body_radius.written}, and the "
                f"tallest section described is {tallest.written} high",
                fin.body_radius.place or build.where(f"shape.fins.{fin.id}"),
                "half the height of the body that the fin stands on belongs here",
                (Note(tallest.place, "the tallest section"),) if tallest.place else (),
                severity="warning",
            )
