"""Figures that are too many for values of their own: every tube and every joint in every load case."""

from __future__ import annotations

from collections.abc import Iterator

from generator.subjects.cage_detail import Detail, Figures, MemberLine
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
    forces = (row for member in detail.members for row in _rows(member, detail))
    moves: Iterator[Row] = (
        (move.joint, case.id, *(_kept(c) for c in move.by))
        for case in detail.cases
        for move in case.moves
    )
    return (
        Table(
            f"{WORD}.forces",
            "Every tube in every load case under the factored load, by direct analysis, tension positive",
            FORCES,
            tuple(forces),
        ),
        Table(
            f"{WORD}.movements",
            "How every joint moves in every load case under the factored load, in second order",
            MOVEMENTS,
            tuple(moves),
        ),
    )


def _rows(member: MemberLine, detail: Detail) -> Iterator[Row]:
    for case, found in zip(detail.cases, member.figures, strict=True):
        figures = _numbers(found) if found else (None,) * (len(FORCES) - 3)
        yield (member.id, case.id, *figures, "" if found else case.why or "no answer")


def _numbers(f: Figures) -> tuple[float, ...]:
    every = (
        f.axial,
        f.shear,
        f.torsion,
        f.start,
        f.end,
        f.span,
        f.stress,
        f.by_stress,
        f.by_member,
    )
    return tuple(map(_kept, every))


def _kept(number: float) -> float:
    """Six digits, and nothing that is only rounding."""
    return float(f"{number:.{DIGITS}g}") if abs(number) > NOTHING else 0.0
