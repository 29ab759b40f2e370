"""The section `datum`: where the team measures from. x aft, y to the driver's right, z up."""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Datum:
    """`origin` says in words where x = y = z = 0 is; `ground` is the z of the ground there."""

    origin: str = "on the ground under the front axle, on the centre plane"
    ground: Quantity
