"""The tables of heat ratings and of lives, each row with its source."""

from __future__ import annotations

import datetime
import functools
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from generator.formulas.dates import Ends
from generator.tables import rows_of
from generator.tables.known import Known, known

CLOTHING = frozenset({"suit", "underwear", "gloves", "shoes", "socks", "head sock"})
From = Literal["manufactured", "tested"]


@dataclass(frozen=True)
class Rating:
    """A published rating: a heat dose at a flux, or times by kind of garment."""

    name: str
    tpp: Known | None = None
    flux: Known | None = None
    times: Mapping[str, Known] = field(default_factory=dict)
    of: str = ""
    """The type of piece that the heat dose is one of; times are by type."""


@dataclass(frozen=True, slots=True)
class Life:
    """A rule for how long something is valid: months counted from a date, or a fixed last day. `also` names the
    rule that ends it sooner, whatever this one says.
    """

    name: str
    source: str
    counted_from: From | None = None
    months: int = 0
    ends: Ends = "day"
    until: datetime.date | None = None
    also: str = ""
    of: str = ""
    """What kind of piece the rule is one for; "" where any may live by it."""

    def covers(self, piece: str) -> bool:
        """Whether a piece of that type may live by this rule. What is called `other` may be anything."""
        kinds = CLOTHING if self.of == "clothing" else {self.of}
        return not self.of or piece in kinds or piece == "other"


@functools.cache
def ratings() -> Mapping[str, Rating]:
    """Every rating by its name."""
    return {name: _rating(name, row) for name, row in rows_of("ratings.yaml").items()}


@functools.cache
def lives() -> Mapping[str, Life]:
    """Every life rule by its name."""
    return {
        name: Life(
            name,
            row["source"],
            row.get("from"),
            row.get("months", 0),
            row.get("ends", "day"),
            row.get("until"),
            row.get("also", ""),
            row["of"],
        )
        for name, row in rows_of("lives.yaml").items()
    }


def _rating(name: str, row: Mapping[str, Any]) -> Rating:
    tpp = known(row["tpp"], "heat dose") if "tpp" in row else None
    flux = known(row["flux"], "heat flux") if "flux" in row else None
    times = {k: known(v, "time") for k, v in row.get("times", {}).items()}
    return Rating(name, tpp, flux, times, row.get("of", ""))
