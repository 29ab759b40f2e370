"""The section `controls`: what the driver must be able to work, belted in."""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.quantities import Basis, Quantity
from buildspec.sections.driver import Hand


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """One control: where the hand takes hold of it, and which hands may. `outside` is None where
    nobody says.
    """

    id: str
    name: str = ""
    x: Quantity
    y: Quantity
    z: Quantity
    hands: tuple[Hand, ...] = ("left", "right")
    two_handed: bool = False
    outside: bool | None = None
    needs_outside: bool = False
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Controls:
    """The section as a whole."""

    factor: Quantity
    items: tuple[Control, ...]
    source: str = ""
