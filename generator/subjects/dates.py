"""Days on which something is said to have been done, held against the day of the evaluation."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from buildspec.build import Build
from buildspec.sections.event import Event
from generator.subjects.subject import Given
from generator.vocabulary import OpenItem

Done = tuple[str, str, datetime.date | None]
"""The id of a date of the description, what was done then in words, and the day."""


def deadline(build: Build, as_of: datetime.date) -> tuple[datetime.date, str]:
    """The day on which papers and equipment must be in force, and what it is called.

    The event's last day; the day of the evaluation where there is none, or where it has passed.
    """
    event = build.section(Event)
    if event is None or event.date is None:
        return as_of, f"today, {as_of}, since the event has no date"
    last = max(event.date, event.last_day or event.date)
    if last < as_of:
        return as_of, f"today, {as_of}, since the event is over"
    called = f"the event on {last}" if last == event.date else f"the event's last day, {last}"
    return last, called


def ahead(subject: str, done: Iterable[Done], given: Given) -> Iterable[OpenItem]:
    """An open item for each day that lies after the day of the evaluation."""
    for ref, words, day in done:
        if day is not None and not given.reached(day):
            yield OpenItem(
                f"{subject}.ahead.{ref.split('.', 1)[1].replace('.', '_')}",
                subject,
                "disagreement",
                f"{words} on {day}, which lies ahead of {given.as_of}",
                "correct the date, or take it out until it is done",
                ref=ref,
            )
