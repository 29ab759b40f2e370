"""The section `notes`: remarks the team wants a reviewer to read."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.dotted import Lost, governing, missing_entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One remark. `about` is the dotted id of what it concerns, in the description or among the results."""

    id: str
    text: str
    date: datetime.date | None = None
    by: str = ""
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notes:
    """The remarks in the order written."""

    entries: tuple[Entry, ...] = ()


def lost(about: str, build: Build) -> Lost | None:
    """Why an id leads nowhere in the description; None where it leads somewhere.

    It may still name a result or a check: that is known once there is an evaluation.
    """
    schema = governing(about)
    return schema if isinstance(schema, Lost) else missing_entry(build.sections, about)
