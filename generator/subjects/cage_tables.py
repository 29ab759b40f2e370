"""Figures that are too many for values of their own: every tube and every joint in every load case."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from generator.subjects.cage_detail import Detail, Figures
from generator.vocabulary import Cell, Column, Table

Row = tuple[Cell, ...]
WORD = "cage"
DIGITS = 6
"""Digits that are kept, and what is below NOTHING is rounding."""
NOTHING = 1e-9
WHY = Column("why there is no answer", "")
FORCES = (
    Column("tube", ""),
    Column("load case", ""),
    Column("axial force", "N"),
    Column("transverse force", "N"),
    Column("torsion", "N·m"),
    Column("moment at start", "N·m"),
    Column("moment at end", "N·m"),
    Column("largest moment between", "N·m"),
    Column("peak stress", "Pa"),
    Column("utilisation by stress", ""),
    Column("utilisation by AISC 360", ""),
    WHY,
)
MOVEMENTS = (
    Column("joint", ""),
    Column("load case", ""),
    Column("x", "m"),
    Column("y", "m"),
    Column("z", "m"),
)


def tables(detail: Detail) -> tuple[Table, ...]:
    """Under the factored load: forces by direct analysis, tension positive; movements in second order."""
    moves = [(case.id, move) for case in detail.cases for move in case.moves]
    places = _kept([move.by for _, move in moves])
    return (
        Table(
            f"{WORD}.forces",
            "Every tube in every load case under the factored load, by direct analysis, tension positive",
            FORCES,
            tuple(_forces(detail)),
        ),
        Table(
            f"{WORD}.movements",
            "How every joint moves in every load case under the factored load, in second order",
            MOVEMENTS,
            tuple(
                (move.joint, case, *place)
                for (case, move), place in zip(moves, places, strict=True)
            ),
        ),
    )


def _forces(detail: Detail) -> Iterator[Row]:
    """A row for each member and case; what has no answer says why."""
    figures = iter(_kept([f for m in detail.members for f in m.figures if f]))
    nothing = (None,) * len(Figures._fields)
    for member in detail.members:
        for case, found in zip(detail.cases, member.figures, strict=True):
            numbers = next(figures) if found else nothing
            yield (member.id, case.id, *numbers, "" if found else case.why or "no answer")


def _kept(rows: Sequence[Sequence[float]]) -> list[list[float]]:
    """Six digits of every number, and nothing that is only rounding."""
    numbers = np.array(rows, dtype=float)
    some = np.abs(numbers) > NOTHING
    size = np.floor(np.log10(np.where(some, np.abs(numbers), 1.0)))
    up, down = (10.0 ** np.maximum(n, 0.0) for n in (DIGITS - 1 - size, size - DIGITS + 1))
    kept = np.rint(numbers * up / down) * down / up
    found: list[list[float]] = np.where(some, kept, 0.0).tolist()
    return found
