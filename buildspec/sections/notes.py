"""The section `notes`: remarks the team wants a reviewer to read."""

from __future__ import annotations

import datetime
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One remark. `about` is the dotted id of what it concerns, if anything."""

    id: str
    text: str
    date: datetime.date | None = None
    by: str = ""
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notes:
    """The remarks in the order written."""

    entries: tuple[Entry, ...] = ()
