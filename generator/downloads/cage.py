"""The tables of the subject `cage` that are too long for a page: tubes and joints in every case."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Mapping

from buildspec.build import Build
from generator.vocabulary import Cell, Outcome, Table


def downloads(outcome: Outcome, build: Build, as_of: datetime.date) -> Mapping[str, bytes]:
    """`cage-forces.csv` and `cage-movements.csv`, as results.json has them too; SI units."""
    return {f"{table.id.replace('.', '-')}.csv": _csv(table) for table in outcome.tables}


def _csv(table: Table) -> bytes:
    sink = io.StringIO()
    rows = csv.writer(sink, lineterminator="\n")
    rows.writerow(f"{c.name} [{c.unit}]" if c.unit else c.name for c in table.columns)
    rows.writerows(map(_words, row) for row in table.rows)
    return sink.getvalue().encode()


def _words(cell: Cell) -> str:
    if cell is None:
        return ""
    return f"{cell:g}" if isinstance(cell, float) else cell
