"""A calendar file of everything that runs out, as RFC 5545 has it."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

import icalendar


@dataclass(frozen=True, slots=True)
class Entry:
    """One whole-day entry: `uid` stays the same from issue to issue, so that a calendar renews it."""

    uid: str
    day: datetime.date
    summary: str
    description: str


def calendar(
    name: str, entries: Iterable[Entry], issued: datetime.date, *, warn_days: int = 60
) -> bytes:
    """The entries as a file; each warns `warn_days` before. The same entries and day give the same
    bytes.
    """
    whole = icalendar.Calendar()
    whole.add("prodid", "-//marginbook//EN")
    whole.add("version", "2.0")
    whole.add("x-wr-calname", name)
    stamp = datetime.datetime(issued.year, issued.month, issued.day, tzinfo=datetime.UTC)
    for entry in entries:
        whole.add_component(_event(entry, stamp, warn_days))
    return bytes(whole.to_ical())


def _event(entry: Entry, stamp: datetime.datetime, warn_days: int) -> icalendar.Event:
    event = icalendar.Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", stamp)
    event.add("dtstart", entry.day)
    event.add("summary", entry.summary)
    event.add("description", entry.description)
    event.add("transp", "TRANSPARENT")
    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", entry.summary)
    alarm.add("trigger", datetime.timedelta(days=-warn_days))
    event.add_component(alarm)
    return event
