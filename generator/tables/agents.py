"""The table of extinguishing agents: what is known of each, from where, and whether it was read
there.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from generator.tables import rows_of
from generator.tables.known import Known, known

AgentKind = Literal["halocarbon", "inert", "carbon dioxide", "foam", "powder"]
_KINDS = {
    "k1": "specific volume",
    "k2": "specific volume slope",
    "rate": "application rate",
    "boils": "temperature",
}
_NAMES = ("k1", "k2", "design", "noael", "loael", "boils", "rate")


@dataclass(frozen=True, slots=True)
class Saturation:
    """Vapour pressures: rows of temperature in K and pressure in Pa, rising."""

    rows: tuple[tuple[float, float], ...]
    source: str


@dataclass(frozen=True)
class Agent:
    """An agent. `values` by name: k1, k2, design, noael, loael, boils, rate, as far as they are
    known.
    """

    name: str
    kind: AgentKind
    values: Mapping[str, Known] = field(default_factory=dict)
    vapour_pressure: Saturation | None = None
    refusal: str = ""
    cautions: tuple[str, ...] = ()


@functools.cache
def agents() -> Mapping[str, Agent]:
    """Every agent of the table by its name."""
    return {name: _agent(name, row) for name, row in rows_of("agents.yaml").items()}


def _agent(name: str, row: Mapping[str, Any]) -> Agent:
    values = {key: known(row[key], _KINDS.get(key, "share")) for key in _NAMES if key in row}
    return Agent(
        name,
        row["kind"],
        values,
        _saturation(row.get("vapour_pressure")),
        row.get("refusal", ""),
        tuple(row.get("cautions", ())),
    )


def _saturation(row: Mapping[str, Any] | None) -> Saturation | None:
    if row is None:
        return None
    return Saturation(tuple((t + 273.15, float(p)) for t, p in row["rows"]), row["source"])
