"""The section `datum`: where the team measures from. x aft, y to the driver's right, z up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from buildspec.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Datum:
    """`origin` says in words where x = y = z = 0 is; `ground` is the z of the ground there."""

    origin: str = "on the ground under the front axle, on the centre plane"
    ground: Quantity


SUNK = 0.02
"""Metres that an origin may lie below the ground: as much as a tire gives, and nobody asks why."""


def problems(section: Datum, build: Build) -> Iterator[Diagnostic]:
    """A ground above the origin: with z up nobody measures from there, the sign is probably wrong."""
    if section.ground.si > SUNK:
        yield Diagnostic(
            "datum.ground",
            f"by `ground: {section.ground.written}` the origin lies below the ground",
            section.ground.place or build.where("datum"),
            "z is up: where the origin is above the ground, the ground's z is negative",
            severity="warning",
        )
