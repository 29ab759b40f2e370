"""The section `event`: the meeting the vehicle is being readied for."""

from __future__ import annotations

import datetime
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """The next event. `date` is its first day."""

    name: str
    date: datetime.date | None = None
    organizer: str = ""
