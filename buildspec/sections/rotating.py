"""The section `rotating`: parts that could burst, and what lies beside them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from buildspec.quantities import Basis, Quantity
from buildspec.sections.driver import Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One rotating part about (x, y, z), turning about a direction of the vehicle."""

    id: str
    name: str = ""
    x: Quantity
    y: Quantity
    z: Quantity
    axis: Literal["x", "y", "z"]
    radius: Quantity
    half_width: Quantity
    spread_angle: Quantity
    shield: str = ""
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line as a chain of straight pieces."""

    id: str
    name: str = ""
    carries: str = ""
    points: tuple[Point, ...]
    radius: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """A hot or moving thing as a ball, and the gap asked for between it and any line."""

    id: str
    name: str = ""
    x: Quantity
    y: Quantity
    z: Quantity
    radius: Quantity
    clearance: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rotating:
    """The section as a whole."""

    factor: Quantity
    parts: tuple[Part, ...]
    lines: tuple[Line, ...] = ()
    surfaces: tuple[Surface, ...] = ()
    watch: tuple[str, ...] = ()
