"""The section `clock`: what comes before the exit, and what may be counted beside the clothing."""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """Times before the exit. `stopping` is None where the vehicle is taken to stand already."""

    detection: Quantity
    stopping: Quantity | None = None
    reaction: Quantity
    factor: Quantity
    fire_credit: bool = False
    source: str = ""
