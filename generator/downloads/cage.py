"""The tables of the subject `cage` that are too long for a page: tubes and joints in every case."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Iterable, Iterator, Mapping

from buildspec.build import Build
from generator.subjects.cage_detail import Detail, Figures, MemberLine
from generator.vocabulary import Outcome

HEAD = (
    "tube",
    "load case",
    "axial force [N]",
    "transverse force [N]",
    "torsion [N·m]",
    "moment at start [N·m]",
    "moment at end [N·m]",
    "largest moment between [N·m]",
    "peak stress [Pa]",
    "utilisation by stress",
    "utilisation by AISC 360",
)


def downloads(outcome: Outcome, build: Build, as_of: datetime.date) -> Mapping[str, bytes]:
    """`cage-forces.csv` and `cage-movements.csv`: factored load, SI units; forces by direct analysis,
    tension positive; movements in second order.
    """
    detail = outcome.detail
    if not isinstance(detail, Detail):
        return {}
    forces = (row for member in detail.members for row in _rows(member, detail))
    moves = (
        (move.joint, case.id, *(f"{c:.6g}" for c in move.by))
        for case in detail.cases
        for move in case.moves
    )
    return {
        "cage-forces.csv": _table(HEAD, forces),
        "cage-movements.csv": _table(("joint", "load case", "x [m]", "y [m]", "z [m]"), moves),
    }


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> bytes:
    sink = io.StringIO()
    table = csv.writer(sink, lineterminator="\n")
    table.writerow(head)
    table.writerows(rows)
    return sink.getvalue().encode()


def _rows(member: MemberLine, detail: Detail) -> Iterator[tuple[str, ...]]:
    for case, found in zip(detail.cases, member.figures, strict=True):
        yield (member.id, case.id, *(_numbers(found) if found else ("",) * (len(HEAD) - 2)))


def _numbers(f: Figures) -> tuple[str, ...]:
    """Six digits, and nothing that is only rounding."""
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
    return tuple(f"{number if abs(number) > 1e-9 else 0.0:.6g}" for number in every)
