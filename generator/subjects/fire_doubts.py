"""The subject `fire`: what is described and not joined up, and readings too old to go by."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from buildspec.plain import called
from buildspec.sections.fire import Bottle, Fire
from generator.subjects.fire_records import WORD, Part, Supply
from generator.vocabulary import OpenItem

A_YEAR = 12
"""Months after which a weighing or a gauge's reading is asked for again, where no rule sheet's interval is stated."""


def unserved(section: Fire) -> Iterable[OpenItem]:
    """Zones without a nozzle, bottles without one, bottles that nothing sets off."""
    zones, fed = {n.zone for n in section.nozzles}, {n.bottle for n in section.nozzles}
    released = {b for r in section.releases for b in r.bottles}
    for zone in section.zones:
        if zone.id not in zones:
            yield OpenItem(
                f"{WORD}.zone.{zone.id}.unserved",
                WORD,
                "missing",
                f"{called(zone)}: no nozzle discharges into it",
                "add a nozzle, or take the zone out",
                ref=f"fire.zones.{zone.id}",
            )
    for bottle in section.bottles:
        lacking = [
            w for w, s in (("no nozzle", fed), ("no release", released)) if bottle.id not in s
        ]
        if lacking:
            yield OpenItem(
                f"{WORD}.bottle.{bottle.id}.unserved",
                WORD,
                "missing",
                f"{called(bottle)}: {' and '.join(lacking)} is stated",
                "state it",
                ref=f"fire.bottles.{bottle.id}",
            )


def unshared(section: Fire, supplies: tuple[Supply, ...], zones: Part) -> Iterable[OpenItem]:
    """Bottles of which a part goes nowhere: a forgotten nozzle would raise what people breathe."""
    for bottle in section.bottles:
        shares = [n.share for n in section.nozzles if n.bottle == bottle.id]
        most = sum(q.si + q.reach for q in shares)
        if not shares or most >= 1.0 - 1e-9:
            continue
        fed = tuple(f"{s.check_id}." for s in supplies if bottle in s.bottles)
        yield OpenItem(
            f"{WORD}.bottle.{bottle.id}.shares",
            WORD,
            "missing",
            f"{called(bottle)}: its nozzles take {100.0 * sum(q.si for q in shares):.4g} % of it together; "
            "where the rest goes is not stated",
            "state the nozzle that is missing, or measure the shares again: what is forgotten raises "
            "what people breathe",
            tuple(c.id for c in zones.checks if c.id.startswith(fed)),
            f"fire.bottles.{bottle.id}",
        )


def old_readings(
    section: Fire, supplies: tuple[Supply, ...], zones: Part, needed: datetime.date
) -> Iterable[OpenItem]:
    """Weighings and gauge readings that are undated, or older than an interval on the day they are needed."""
    stated = section.prescribed.inspection_months if section.prescribed else None
    months = stated or A_YEAR
    for bottle in section.bottles:
        fed = tuple(f"{s.check_id}.amount" for s in supplies if bottle in s.bottles)
        amounts = tuple(c.id for c in zones.checks if c.id in fed)
        for word, day, check in _readings(bottle):
            if day is not None and not _older(day, months, needed):
                continue
            when = (
                f"of {day}, more than {months} months before {needed}"
                if day
                else "of no stated day"
            )
            yield OpenItem(
                f"{WORD}.bottle.{bottle.id}.{check}_old",
                WORD,
                "measurement",
                f"{called(bottle)}: its {word} is {when}",
                "weigh the bottle, or read its gauge, again, and write the day",
                (*_own(bottle, check), *(amounts if check == "weight" else ())),
                f"fire.bottles.{bottle.id}",
            )


def _own(bottle: Bottle, check: str) -> tuple[str, ...]:
    """The bottle's own check that a reading decides; a weighing has one only beside a label."""
    there = check == "pressure" or bottle.agent_mass is not None
    return (f"{WORD}.check.{bottle.id}.{check}",) if there else ()


def _older(day: datetime.date, months: int, needed: datetime.date) -> bool:
    """Whether more than so many months lie between two days."""
    passed = (needed.year - day.year) * 12 + needed.month - day.month
    return passed > months or (passed == months and needed.day > day.day)


def _readings(bottle: Bottle) -> Iterable[tuple[str, datetime.date | None, str]]:
    """Each reading that a check of the bottle rests on: what it is, its day, and the check."""
    if bottle.gross and bottle.tare and not bottle.agent_volume:
        yield "weighing", bottle.weighed, "weight"
    if bottle.gauge:
        yield "gauge reading", bottle.gauge_read, "pressure"
