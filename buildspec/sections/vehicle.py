"""The section `vehicle`: what is being built, and for which record."""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """The vehicle's names, its class, and the speeds it is measured by."""

    name: str
    team: str = ""
    number: str = ""
    category: str = ""
    class_name: str = ""
    class_record: Quantity | None = None
    target_speed: Quantity | None = None
    wheel_count: int | None = None
    energy_source: str = ""
    summary: str = ""

    @property
    def called(self) -> str:
        """The vehicle's name, and its number where it has one."""
        return " ".join(part for part in (self.name, self.number) if part)
