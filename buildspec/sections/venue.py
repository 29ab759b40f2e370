"""The section `venue`: where the vehicle runs, and in what air."""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Venue:
    """The course's place and air. `pressure` is station pressure, not corrected to sea level."""

    name: str = ""
    elevation: Quantity | None = None
    temperature: Quantity | None = None
    pressure: Quantity | None = None
    humidity: Quantity | None = None
    surface: str = ""
