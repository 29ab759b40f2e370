"""The section `gear`: the driver's protective equipment, its ratings, dates and lives."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from buildspec.quantities import Basis, Quantity
from buildspec.sections.event import after_event

Type = Literal[
    "suit",
    "underwear",
    "gloves",
    "shoes",
    "socks",
    "head sock",
    "helmet",
    "visor",
    "head and neck restraint",
    "arm restraints",
    "belts",
    "window net",
    "canopy",
    "fuel bladder",
    "other",
]
Region = Literal["head", "face", "neck", "torso", "arms", "hands", "legs", "feet"]
SeamPlace = Literal["neck", "wrists", "ankles", "face"]
CountedFrom = Literal["manufactured", "tested"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLife:
    """A life rule of the team's rule sheet: `months` counted from a date of the piece."""

    months: int
    counted_from: CountedFrom = "manufactured"
    ends: Literal["day", "month", "year"] = "day"
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One piece of equipment. `rating` and `life` name rows of the shipped tables."""

    id: str
    name: str = ""
    type: Type
    specification: str = ""
    rating: str = ""
    protective_time: Quantity | None = None
    covers: tuple[Region, ...] = ()
    manufactured: datetime.date | None = None
    tested: datetime.date | None = None
    expires: datetime.date | None = None
    life: str = ""
    own_life: OwnLife | None = None
    photo: str = ""
    owner: str = ""
    remark: str = ""
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """One place where two pieces meet, and whether skin shows there."""

    place: SeamPlace
    closed: bool
    checked: datetime.date | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gear:
    """The section as a whole."""

    season_end: datetime.date | None = None
    items: tuple[Item, ...]
    seams: tuple[Seam, ...] = ()


def problems(section: Gear, build: Build) -> Iterator[Diagnostic]:
    """Dates that contradict each other, and days after the event on which something was done."""
    for item in section.items:
        yield from _item_problems(item, build)
    for number, seam in enumerate(section.seams):
        place = build.where(f"gear.seams.{number}.checked", f"gear.seams.{number}")
        if problem := after_event("gear.dates", "checked", seam.checked, place, build):
            yield problem


def _item_problems(item: Item, build: Build) -> Iterator[Diagnostic]:
    name = f"gear.items.{item.id}"
    for word, done, day in (
        ("manufactured", "made", item.manufactured),
        ("tested", "tested", item.tested),
    ):
        place = build.where(f"{name}.{word}")
        if problem := after_event("gear.dates", done, day, place, build):
            yield problem
    if item.manufactured and item.tested and item.tested < item.manufactured:
        yield Diagnostic(
            "gear.dates",
            f"it was tested on {item.tested}, before it was made on {item.manufactured}",
            build.where(f"{name}.tested"),
            "correct one of the two dates",
        )
    if item.manufactured and item.expires and item.expires < item.manufactured:
        yield Diagnostic(
            "gear.dates",
            f"its last day, {item.expires}, lies before it was made on {item.manufactured}",
            build.where(f"{name}.expires"),
            "correct one of the two dates",
        )
