"""The subject `gear`: how long each piece is valid, against the event and the season's end."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from buildspec.build import Build
from buildspec.plain import called
from buildspec.sections.fire import Fire
from buildspec.sections.gear import Gear, Item
from generator.formulas.dates import last_day
from generator.subjects.fire_rules import due_dates
from generator.subjects.gear_records import WORD, Expiry
from generator.tables.gear import Life, lives
from generator.vocabulary import Conformance, Fact, OpenItem, Requirement


def life_of(item: Item) -> tuple[Life, ...]:
    """The rules that a piece lives by: the team's own instead of the table's."""
    own = item.own_life
    if own is not None:
        return (Life("own rule", own.source, own.counted_from, own.months, own.ends),)
    named = [lives()[item.life]] if item.life and not foreign(item) else []
    return (*named, *(lives()[life.also] for life in named if life.also))


def foreign(item: Item) -> str:
    """Why the shipped rule that a piece names is none for it; "" where it is, or names none."""
    life = lives()[item.life] if item.life and item.own_life is None else None
    if life is None or life.covers(item.type):
        return ""
    return f"“{life.name}” is a rule for {life.of}, and this is of the type {item.type}"


def expiry(item: Item) -> Expiry | None:
    """The earliest of the printed last day and what the rule gives; None where neither can be said."""
    found = [(item.expires, "last day printed on it", "label")] if item.expires else []
    for life in life_of(item):
        start = item.tested if life.counted_from == "tested" else item.manufactured
        if life.until is not None:
            found.append((life.until, life.name, life.source))
        elif start is not None:
            found.append((last_day(start, life.months, life.ends), _words(life), life.source))
    if not found:
        return None
    day, rule, source = min(found, key=lambda f: f[0] or datetime.date.max)
    return Expiry(f"{WORD}.items.{item.id}", called(item), day, rule, source) if day else None


def _words(life: Life) -> str:
    """A rule in words."""
    ends = {
        "day": "to the day",
        "month": "to the end of the month",
        "year": "to the end of the year",
    }[life.ends]
    name = "" if life.name == "own rule" else f"{life.name}: "
    return f"{name}{life.months} months from the day it was {life.counted_from}, {ends}"


def expiries(build: Build, section: Gear) -> tuple[Expiry, ...]:
    """Everything that runs out, the fire bottles' inspections included, the earliest first."""
    pieces = [e for item in section.items if (e := expiry(item))]
    fire = build.section(Fire)
    source = fire.prescribed.source if fire and fire.prescribed else ""
    due = due_dates(fire) if fire else ()
    bottles = [Expiry(i, title, day, "interval prescribed", source) for i, title, day in due]
    return tuple(sorted((*pieces, *bottles), key=lambda e: (e.day, e.id)))


# ----------------------------------------------------------------------------- requirements


def requirements(
    section: Gear, needed: tuple[datetime.date, str], as_of: datetime.date
) -> tuple[Requirement, ...]:
    """Every piece's life against the day it is needed, which is given with what it is called."""
    return tuple(_life(item, needed, as_of) for item in section.items)


def _life(item: Item, needed: tuple[datetime.date, str], as_of: datetime.date) -> Requirement:
    day, occasion = needed
    late = next((d for d in (item.manufactured, item.tested) if d and d > as_of), None)
    found = expiry(item)
    if late is not None:
        return _rule(item, (None, late), ("open", f"{late} lies in the future on {as_of}"), "")
    if found is None:
        lacking = _lacking(item)
        return _rule(item, (None, item.manufactured), ("open", lacking), "")
    unknown = unproven(item)
    if unknown and found.day >= day:
        said = f"valid to {found.day} by what is known; {unknown}"
        return _rule(item, (found.rule, item.manufactured), ("open", said), found.source)
    state: Conformance = "conforms" if found.day >= day else "departs"
    said = f"valid to {found.day}; held against {occasion}"
    return _rule(item, (found.rule, item.manufactured), (state, said), found.source)


def _lacking(item: Item) -> str:
    return unproven(item) or (
        "no life rule is stated: choose one under `life`, or write the rule sheet's as `own_life`"
    )


def unproven(item: Item) -> str:
    """The rule that is none for the piece, or whose first day is not stated: its life may end before whatever else
    is known.
    """
    if wrong := foreign(item):
        return wrong
    for life in life_of(item):
        start = item.tested if life.counted_from == "tested" else item.manufactured
        if life.until is None and start is None:
            return f"its rule counts from the day it was {life.counted_from}, which is not stated"
    return ""


def life_id(item: Item) -> str:
    """The id of the line that asks whether a piece is still in force."""
    return f"{WORD}.requirement.life.{item.id}"


def _rule(
    item: Item, facts: tuple[Fact, Fact], said: tuple[Conformance, str], source: str
) -> Requirement:
    """One piece's line: `facts` are what is prescribed and found, `said` the state and the reason."""
    return Requirement(
        life_id(item),
        WORD,
        f"{called(item)}: valid at the event",
        *facts,
        *said,
        source,
        (f"{WORD}.items.{item.id}",),
    )


def season_items(
    found: tuple[Expiry, ...], event: datetime.date, season_end: datetime.date | None
) -> Iterable[OpenItem]:
    """What lasts to the event and not to the season's end."""
    for one in found if season_end else ():
        if event <= one.day < (season_end or event):
            yield OpenItem(
                f"{WORD}.season.{one.id.replace('.', '_')}",
                WORD,
                "other",
                f"{one.name}: runs out on {one.day}, before the season ends on {season_end}",
                "renew it, or have it recertified, before that day",
                ref=one.id,
            )
