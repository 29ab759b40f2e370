"""The table of materials of round tube: strengths and stiffness, each with its source."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from generator.tables import rows_of
from generator.tables.known import Known, known

KINDS: Mapping[str, str] = {
    "modulus": "stress",
    "poisson": "ratio",
    "density": "density",
    "yield_strength": "stress",
    "ultimate_strength": "stress",
    "welded_yield": "stress",
    "welded_ultimate": "stress",
}
"""The values of a row and their kinds."""


@dataclass(frozen=True)
class MaterialRow:
    """A material by its word. `values` by name, the welded ones only where they are known."""

    word: str
    title: str
    form: str
    note: str
    values: Mapping[str, Known]


@functools.cache
def materials() -> Mapping[str, MaterialRow]:
    """Every material of the table by its word."""
    return {
        word: MaterialRow(
            word,
            row["title"],
            row["form"],
            row["note"],
            {
                key: known({**row[key], "value": str(row[key]["value"])}, kind)
                for key, kind in KINDS.items()
                if key in row
            },
        )
        for word, row in rows_of("materials.yaml").items()
    }
