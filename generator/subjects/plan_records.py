"""What the subject `plan` hands from one of its parts to the next, and to page and charts."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from buildspec.sections.rules import Order, Person, Step
from generator.planning.progress import Progress
from generator.subjects.evidence import EvidenceState

WORD = "plan"


@dataclass(frozen=True, slots=True)
class Task:
    """One step with what it belongs to. `key` names its line, `owner` is a person's name or "". `due` is
    its own day, or else its line's.
    """

    step: Step
    key: str
    line: str
    group: str
    owner: str
    due: datetime.date | None
    done: bool

    @property
    def id(self) -> str:
        """The id of its row on the plan's page."""
        return f"{WORD}.step.{self.step.id}"


@dataclass(frozen=True, slots=True)
class Planned:
    """A step that is left, on the time line. `undated` says why it has no days, or is "".

    `start` and `finish` are the first and the last day of work; `begins` and `ends` the same in days
    from the start of the plan. `slack` is how many days it may slip before the event is missed, were
    nobody ever busy with something else. `sets_the_end` marks what the ready date hangs on.
    """

    task: Task
    undated: str
    start: datetime.date | None = None
    finish: datetime.date | None = None
    begins: float = 0.0
    ends: float = 0.0
    slack: float | None = None
    sets_the_end: bool = False
    why_then: str = ""
    behind: int = 0
    hours_behind: float = 0.0

    @property
    def late(self) -> bool:
        """Whether it ends after the day it is due."""
        due = self.task.due
        return due is not None and self.finish is not None and self.finish > due


@dataclass(frozen=True, slots=True)
class Awaited:
    """An order that has not arrived: `holds` are the titles of steps that wait for it."""

    order: Order
    holds: tuple[str, ...]
    overdue: bool
    sets_the_end: bool


@dataclass(frozen=True, slots=True)
class Share:
    """A person's part: steps and hours left, the day of the first and of the last of those that have
    days, and the hours of the first seven days.
    """

    person: Person
    steps: int
    hours_left: float
    begins: datetime.date | None
    free: datetime.date | None
    hours_this_week: float


@dataclass(frozen=True, slots=True)
class Readiness:
    """One group of lines: its lines, steps and hours, and when the last of its steps is done.

    `done` is the share of its work, 0 to 1; `complete` counts the lines with nothing left.
    """

    sheet: str
    title: str
    lines: int
    complete: int
    steps: int
    steps_open: int
    hours: float
    hours_left: float
    done: float
    ready: datetime.date | None


@dataclass(frozen=True, slots=True)
class Evening:
    """What one person does in the first week on one step."""

    planned: Planned
    hours: float


@dataclass(frozen=True)
class Detail:
    """For the page and the charts. `progress` and `titles` by line, `evidence` by entry. `planned` comes
    in the order of the plan, what has no days last.

    `ready` is the projected day on which the last dated step ends, None where a step has no days;
    `at_least` the same over the steps that have. `float_days` are the days between it and the event,
    negative where it comes after. `curve` is hours left over days from the start of the plan.
    """

    progress: Mapping[str, Progress]
    titles: Mapping[str, str]
    evidence: Mapping[str, EvidenceState]
    as_of: datetime.date
    event: datetime.date | None
    event_name: str
    planned: tuple[Planned, ...]
    done: tuple[Task, ...]
    orders: tuple[Awaited, ...]
    people: tuple[Share, ...]
    groups: tuple[Readiness, ...]
    week: Mapping[str, tuple[Evening, ...]]
    chain: tuple[str, ...]
    ready: datetime.date | None
    at_least: datetime.date | None
    float_days: float | None
    hours: float
    hours_left: float
    hours_dated: float
    curve: tuple[tuple[float, float], ...]
    priority: str
