"""What a subject is: a word, what it needs, and a pure function from a build to an outcome."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from buildspec.build import Build
from generator.vocabulary import Outcome

Group = Literal["What is left", "The driver", "The vehicle", "The run", "Inspection"]
"""Where a subject stands in the menu, by what a reader has in mind."""
GROUPS: tuple[Group, ...] = get_args(Group)


class Given:
    """What a subject may look at beside the build: the date, and the outcomes it needs.

    It remembers what was asked of the date, so that an outcome can be kept for another day on which
    the answers are the same.
    """

    __slots__ = ("_answers", "_as_of", "_looked", "outcomes")

    def __init__(self, as_of: datetime.date, outcomes: Mapping[str, Outcome] | None = None) -> None:
        self.outcomes: Mapping[str, Outcome] = outcomes or {}
        self._as_of, self._looked = as_of, False
        self._answers: dict[datetime.date, bool] = {}

    @property
    def as_of(self) -> datetime.date:
        """The day itself; whoever looks at it comes out otherwise on every day."""
        self._looked = True
        return self._as_of

    def reached(self, day: datetime.date) -> bool:
        """Whether a day has come."""
        return self._answers.setdefault(day, day <= self._as_of)

    def ask_like(self, other: Given) -> None:
        """Ask what another one was asked: whoever takes its outcome over rests on the same answers."""
        self._looked = self._looked or other._looked
        for day in other._answers:
            self.reached(day)

    def same_on(self, other: datetime.date) -> bool:
        """Whether everything that was asked has the same answer on another day."""
        same = all(answer == (day <= other) for day, answer in self._answers.items())
        return other == self._as_of or (same and not self._looked)


@dataclass(frozen=True)
class Subject:
    """One calculation page.

    `needs` are words of subjects evaluated before, where the description has them. `evaluate`
    returns None where the description does not describe the subject. `group` is its part of the menu.
    """

    word: str
    title: str
    purpose: str
    evaluate: Callable[[Build, Given], Outcome | None]
    needs: tuple[str, ...] = ()
    group: Group = "The vehicle"
