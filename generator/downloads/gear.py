"""The calendar file of the subject `gear`."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from buildspec.build import Build
from buildspec.sections.vehicle import Vehicle
from generator.calendar import Entry, calendar
from generator.subjects.gear_records import Detail, Expiry
from generator.vocabulary import Outcome


def downloads(outcome: Outcome, build: Build, as_of: datetime.date) -> Mapping[str, bytes]:
    """`gear.ics`: the last valid day of every piece and every bottle's next inspection."""
    detail = outcome.detail
    if not isinstance(detail, Detail) or not detail.expiries:
        return {}
    vehicle = build.section(Vehicle)
    name = vehicle.name if vehicle else "vehicle"
    entries = tuple(_entry(e, name) for e in detail.expiries)
    return {"gear.ics": calendar(f"{name}: what runs out", entries, as_of)}


def _entry(expiry: Expiry, vehicle: str) -> Entry:
    owner = "".join(c if c.isalnum() else "-" for c in vehicle.lower())
    return Entry(
        f"{expiry.id}.{owner}@marginbook",
        expiry.day,
        f"{expiry.name}: last valid day",
        f"{expiry.rule}. Source: {expiry.source or 'none stated'}. Vehicle: {vehicle}.",
    )
