"""The table of load cases to choose from: what was read, and nothing else."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from buildspec.quantities import Misread, read
from generator.tables import rows_of

Criterion = Literal["yield", "ultimate"]
Three = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Part:
    """One force of a shipped case: its size in N, or `factor`, a multiple of a weight; and where it
    points, where the source says so.
    """

    force: float | None
    factor: float | None
    direction: Three | None
    written: str


@dataclass(frozen=True)
class ShippedCase:
    """A load case by its word."""

    word: str
    title: str
    text: str
    criterion: Criterion
    source: str
    parts: Mapping[str, Part]


@functools.cache
def load_cases() -> Mapping[str, ShippedCase]:
    """Every load case of the table by its word; rows that nobody read are no rows."""
    return {
        word: ShippedCase(
            word,
            row["title"],
            row["text"],
            row["criterion"],
            row["source"],
            {name: _part(part) for name, part in row["parts"].items()},
        )
        for word, row in rows_of("load_cases.yaml").items()
        if row["status"] == "read"
    }


def _part(row: Mapping[str, Any]) -> Part:
    if "factor" in row:
        return Part(None, float(row["factor"]), None, f"{row['factor']} × weight")
    given = row["force"]
    if isinstance(given, str):
        return Part(_newtons(given), None, None, given)
    x, y, z = (_newtons(part) for part in given)
    size = math.sqrt(x * x + y * y + z * z)
    return Part(size, None, (x / size, y / size, z / size), ", ".join(given))


def _newtons(written: str) -> float:
    """A force of the table in N; ValueError where the table is wrong, which is a fault of the program."""
    reading = read(written, "force")
    if isinstance(reading, Misread):
        raise ValueError(f"{written!r}: {reading.message}")
    return reading.si
