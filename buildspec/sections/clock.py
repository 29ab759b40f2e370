"""The section `clock`: what comes before the exit, and what may be counted beside the clothing."""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """Times before the exit. `stopping` is 0 where a fire at speed is left out, None where nothing is said of it."""

    detection: Quantity
    stopping: Quantity | None = None
    reaction: Quantity
    factor: Quantity
    fire_credit: bool = False
    source: str = ""
