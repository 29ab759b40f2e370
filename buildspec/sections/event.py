"""The section `event`: the meeting the vehicle is being readied for."""

from __future__ import annotations

import datetime
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


def after_event(
    code: str, done: str, day: datetime.date | None, place: Place, build: Build
) -> Diagnostic | None:
    """The problem with a day on which something was done that lies after the event; None where it
    does not, or where no event is dated. `done` is a past participle: `weighed`.
    """
    event = build.section(Event)
    if event is None or event.date is None or day is None or day <= event.date:
        return None
    return Diagnostic(
        code,
        f"it was {done} on {day}, after the event on {event.date}",
        place,
        "write the day on which it was done; what is only planned is left out, and a new event gets "
        "its own date",
        (Note(build.where("event.date"), "the event"),),
    )
