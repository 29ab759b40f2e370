"""The section `driver`: the driver seated and belted, and what surrounds the driver."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Place
from buildspec.quantities import Basis, Quantity

Hand = Literal["left", "right"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A point of the vehicle: x aft, y to the driver's right, z up."""

    x: Quantity
    y: Quantity
    z: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tether:
    """One arm restraint: from `anchor` to the cuff, and on to the grip of the hand."""

    hand: Hand
    anchor: Point
    length: Quantity
    cuff_to_grip: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Helmet:
    """The helmet as a ball, and the clearance asked for around it."""

    x: Quantity
    y: Quantity
    z: Quantity
    radius: Quantity
    clearance: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """A straight tube near the helmet."""

    id: str
    name: str = ""
    begin: Point
    end: Point
    radius: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """An edge that the driver must look over, by an angle below the horizontal."""

    id: str
    name: str = ""
    at: Point
    least_angle: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """An opening that the driver leaves through."""

    id: str
    name: str = ""
    width: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Steering:
    """The steering wheel as a disc square to its column, which points up by `rake`."""

    x: Quantity
    y: Quantity
    z: Quantity
    radius: Quantity
    rake: Quantity
    clearance: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of the driver's body as a ball."""

    id: str
    name: str = ""
    x: Quantity
    y: Quantity
    z: Quantity
    radius: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """The rows of the shipped table of body sizes that stand for a driver nobody has measured."""

    reach: str = ""
    breadth: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """The section as a whole."""

    source: str = ""
    left_shoulder: Point
    right_shoulder: Point
    left_reach: Quantity | None = None
    right_reach: Quantity | None = None
    survey: Survey | None = None
    belted_loss: Quantity
    tethers: tuple[Tether, ...] = ()
    helmet: Helmet | None = None
    structure: tuple[Tube, ...] = ()
    eyes: Point | None = None
    view: tuple[Edge, ...] = ()
    breadth: Quantity | None = None
    openings: tuple[Opening, ...] = ()
    steering: Steering | None = None
    body: tuple[Part, ...] = ()


def problems(section: Driver, build: Build) -> Iterator[Diagnostic]:
    """Shoulders on the wrong sides, and belts that take the whole reach."""
    if section.left_shoulder.y.si >= section.right_shoulder.y.si:
        yield Diagnostic(
            "driver.sides",
            "the left shoulder is not to the left of the right one",
            _place(build, "driver.left_shoulder.y"),
            "y is negative to the driver's left: exchange the two",
        )
    for side in ("left", "right"):
        yield from _reach_problems(section, side, build)


def _reach_problems(section: Driver, side: str, build: Build) -> Iterator[Diagnostic]:
    reach: Quantity | None = getattr(section, f"{side}_reach")
    if reach is None:
        if not (section.survey and section.survey.reach):
            yield Diagnostic(
                "driver.reach-missing",
                f"nothing says how far the {side} hand reaches",
                build.where(f"driver.{side}_reach"),
                f"measure it and give `{side}_reach`, or name a row of the table under `survey`, such "
                'as `survey: {reach: "British women, 5th percentile"}`',
            )
    elif section.belted_loss.si >= reach.si:
        yield Diagnostic(
            "driver.reach",
            f"the loss by belts, {section.belted_loss.written}, takes the whole {side} reach "
            f"of {reach.written}",
            _place(build, "driver.belted_loss"),
            "correct one of the two",
        )


def _place(build: Build, dotted: str) -> Place:
    return build.place(dotted) or Place("build.yaml")
