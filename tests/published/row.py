"""One published value beside a closed form worked by hand and what the program computes.

Each module of this folder has `ROWS: tuple[Row, ...]`; its tests walk them, and a page of the
manual shows the same table.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Status = Literal["read", "read in a transcription", "from memory", "derived"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A case in three columns.

    `printed` is the figure as its source prints it (None where the source prints none),
    `closed_form` the same worked by hand from the inputs (None where no closed form exists), `ours`
    what the program says. `tolerance` is absolute, two-sided, between `ours` and `printed`, and
    `reason` says where it comes from. `exactness` is the relative tolerance between `ours` and
    `closed_form` (absolute where that is zero). `status` says whether the printed figure was read,
    and where; `derived` is one that follows exactly from stated assumptions.
    """

    case: str
    source: str
    status: Status
    printed: float | None
    closed_form: float | None
    ours: float
    tolerance: float
    reason: str
    unit: str = ""
    exactness: float = 1e-9


def disagreements(row: Row) -> tuple[str, ...]:
    """What differs by more than it may; empty where all three columns agree."""
    found = []
    if row.printed is not None and not abs(row.ours - row.printed) <= row.tolerance:
        found.append(f"{row.case}: ours {row.ours!r}, printed {row.printed!r} ± {row.tolerance!r}")
    closed = row.closed_form
    if closed is not None and not abs(row.ours - closed) <= row.exactness * (abs(closed) or 1.0):
        found.append(f"{row.case}: ours {row.ours!r}, closed form {closed!r}")
    return tuple(found)
