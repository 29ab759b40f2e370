"""What the subject `gear` hands from one of its parts to the next, and to page, charts and
calendar.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from buildspec.sections.gear import Gear, Item, Seam
from generator.vocabulary import Result

WORD = "gear"
REGIONS: tuple[str, ...] = ("head", "face", "neck", "torso", "arms", "hands", "legs", "feet")
SEAMS = {"neck": "neck", "wrists": "hands", "ankles": "feet", "face": "face"}
"""Where two pieces meet, and the part of the body that is bare where they do not close."""
BESIDE = {"neck": "torso", "wrists": "arms", "ankles": "legs", "face": "head"}
"""What lies on the other side of each; a piece that covers both leaves no seam there."""


def unseen(section: Gear, name: str) -> str:
    """The seam of a part of the body that nobody has looked at, where two pieces meet there; "" without one."""
    place = next((p for p, region in SEAMS.items() if region == name), "")
    if not place or any(seam.place == place for seam in section.seams):
        return ""
    across = any({name, BESIDE[place]} <= {*item.covers} for item in section.items)
    return "" if across else place


@dataclass(frozen=True, slots=True)
class Region:
    """A part of the body: its protective time, and the piece or the gap that decides."""

    name: str
    time: Result
    decided_by: str
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Expiry:
    """Something that runs out: `day` is the last day it is valid, `rule` says by what."""

    id: str
    name: str
    day: datetime.date
    rule: str
    source: str


@dataclass(frozen=True)
class Detail:
    """For the page, the charts and the calendar. `event` is the day on which everything must be
    valid: today where the event is over or not dated; `called` says which.
    """

    items: tuple[Item, ...]
    seams: tuple[Seam, ...]
    regions: tuple[Region, ...]
    expiries: tuple[Expiry, ...]
    event: datetime.date
    season_end: datetime.date | None
    weakest: Region | None
    photo_faults: Mapping[str, str] = field(default_factory=dict)
    called: str = "the event"
