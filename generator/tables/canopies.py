"""The tables of canopies and webbing: ranges as they were read, with their source."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from generator.tables import rows_of

LBF = 4.4482216152605
"""Newtons in a pound-force."""


@dataclass(frozen=True, slots=True)
class CanopyRow:
    """A type of canopy: ranges of drag and opening-force coefficient, of open over nominal diameter; fill
    constant and growth exponent where one is printed."""

    title: str
    drag: tuple[float, float]
    opening: tuple[float, float]
    projected: tuple[float, float] | None
    fill: float | None
    exponent: float | None


@dataclass(frozen=True, slots=True)
class Webbing:
    """A webbing: least breaking strength in N, its source, and how many independent sources agree."""

    name: str
    strength: float
    source: str
    witnesses: int


@functools.cache
def canopies() -> Mapping[str, CanopyRow]:
    """Every type of canopy by its word."""
    return {
        word: CanopyRow(
            row["title"],
            _pair(row["drag"]),
            _pair(row["opening"]),
            _pair(row["projected"]) if "projected" in row else None,
            row.get("fill"),
            row.get("exponent"),
        )
        for word, row in rows_of("canopies.yaml")["types"].items()
    }


@functools.cache
def canopy_source() -> str:
    """Where the table of canopies comes from."""
    return str(rows_of("canopies.yaml")["source"])


def _pair(values: list[float]) -> tuple[float, float]:
    return float(values[0]), float(values[1])


@functools.cache
def webbings() -> Mapping[str, Webbing]:
    """Every webbing by specification, revision and type, such as `MIL-W-4088K type XXVI`."""
    return {
        f"{specification}{revision} type {word}": Webbing(
            f"{specification}{revision} type {word}",
            row["break_lbf"] * LBF,
            page["source"],
            row.get("witnesses", 1),
        )
        for specification, revisions in rows_of("webbing.yaml")["specifications"].items()
        for revision, page in revisions.items()
        for word, row in page["types"].items()
    }
