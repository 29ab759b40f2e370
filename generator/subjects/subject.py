"""What a subject is: a word, what it needs, and a pure function from a build to an outcome."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from buildspec.build import Build
from generator.vocabulary import Outcome


@dataclass(frozen=True)
class Given:
    """What a subject may look at beside the build: the date, and the outcomes it needs."""

    as_of: datetime.date
    outcomes: Mapping[str, Outcome] = field(default_factory=dict)


@dataclass(frozen=True)
class Subject:
    """One calculation page.

    `needs` are words of subjects evaluated before, where the description has them. `evaluate`
    returns None where the description does not describe the subject.
    """

    word: str
    title: str
    purpose: str
    evaluate: Callable[[Build, Given], Outcome | None]
    needs: tuple[str, ...] = ()
