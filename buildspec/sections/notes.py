"""The section `notes`: remarks the team wants a reviewer to read."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from buildspec.dotted import Lost, governing, missing_entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One remark. `about` is the dotted id of what it concerns in the description, if anything."""

    id: str
    text: str
    date: datetime.date | None = None
    by: str = ""
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notes:
    """The remarks in the order written."""

    entries: tuple[Entry, ...] = ()


def problems(notes: Notes, build: Build) -> Iterator[Diagnostic]:
    """Every remark about something that the description does not have."""
    for entry in notes.entries:
        lost = _lost(entry.about, build) if entry.about else None
        if lost:
            place = build.where(f"notes.entries.{entry.id}.about")
            yield Diagnostic("reference.missing", lost.message, place, lost.help)


def _lost(about: str, build: Build) -> Lost | None:
    """Why an id leads nowhere; None where it leads somewhere."""
    schema = governing(about)
    return schema if isinstance(schema, Lost) else missing_entry(build.sections, about)
