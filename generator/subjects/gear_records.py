"""What the subject `gear` hands from one of its parts to the next, and to page, charts and
calendar.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from buildspec.plain import called
from buildspec.sections.gear import Gear, Item, Seam
from generator.formulas.dates import add_months
from generator.subjects.subject import Given
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


def doubt(seam: Seam, section: Gear, given: Given) -> str:
    """Why the word that a seam is closed proves nothing now, or ""; that it is open counts whoever says it.

    Looked at on no stated day, more than a year ago, or before a piece that meets there was made.
    """
    if not seam.closed:
        return ""
    if seam.checked is None:
        return "on a day that is not stated"
    if not given.reached(seam.checked):
        return f"on {seam.checked}, which lies ahead"
    if given.reached(add_months(seam.checked, 12) + datetime.timedelta(days=1)):
        return f"on {seam.checked}, more than a year ago"
    sides = {SEAMS[seam.place], BESIDE[seam.place]}
    newer = (i for i in section.items if sides & {*i.covers} and _after(i, seam.checked))
    return next((f"on {seam.checked}, before {called(i)} was made" for i in newer), "")


def _after(item: Item, day: datetime.date) -> bool:
    return item.manufactured is not None and item.manufactured > day


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
