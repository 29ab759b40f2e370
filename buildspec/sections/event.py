"""The section `event`: the meeting the vehicle is being readied for."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """The next event. `date` is its first day, `last_day` its last where it lasts longer."""

    name: str
    date: datetime.date | None = None
    last_day: datetime.date | None = None
    organizer: str = ""


def problems(section: Event, build: Build) -> Iterator[Diagnostic]:
    """A last day without a first one, or before it."""
    first, last = section.date, section.last_day
    if last is None or (first is not None and last >= first):
        return
    said = "states no first day" if first is None else f"begins on {first}"
    yield Diagnostic(
        "event.last_day",
        f"the last day is {last}, and the event {said}",
        build.where("event.last_day"),
        "state the first day as `date` and the last one as `last_day`; leave `last_day` out where "
        "the event has one day",
        () if first is None else (Note(build.where("event.date"), "the first day"),),
    )


def after_event(
    code: str, done: str, day: datetime.date | None, place: Place, build: Build
) -> Diagnostic | None:
    """The problem with a day on which something was done that lies after the event; None where it
    does not, or where no event is dated. `done` is a past participle: `weighed`.
    """
    event = build.section(Event)
    if event is None or event.date is None or day is None:
        return None
    last = max(event.date, event.last_day or event.date)
    if day <= last:
        return None
    called = f"the event on {last}" if last == event.date else f"the event's last day, {last}"
    return Diagnostic(
        code,
        f"it was {done} on {day}, after {called}",
        place,
        "write the day on which it was done; what is only planned is left out, and a new event gets "
        "its own date",
        (Note(build.where("event.date"), "the event"),),
    )
