"""How much of a line's work is done: a fraction that is 1 only where nothing is left."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal

from buildspec.sections.rules import Line, Step

Measure = Literal["weight", "hours", "number of steps"]


@dataclass(frozen=True, slots=True)
class Progress:
    """The work of one line.

    `done` is 0 to 1, and 1 only where no step is open and no proof is missing. `by` says what it is
    measured by. `steps_open` and `evidence_missing` are ids; `hours_left` is the sum of the open
    steps that state hours, `hours` of all of them, and `unsized` the open steps that state none.
    `evidence_changed` are those of `evidence_missing` that are there with another content.
    """

    done: float
    steps: int
    steps_open: tuple[str, ...]
    evidence_missing: tuple[str, ...]
    hours: float
    hours_left: float
    unsized: tuple[str, ...]
    by: Measure
    evidence_changed: tuple[str, ...] = ()

    @property
    def complete(self) -> bool:
        """Whether nothing is left to do or to prove."""
        return not self.steps_open and not self.evidence_missing


def is_done(step: Step, as_of: datetime.date) -> bool:
    """Whether the step's work is finished; a day to come does not count."""
    return step.done is not None and step.done <= as_of


def progress(
    line: Line, proved: Collection[str], as_of: datetime.date, changed: Collection[str] = ()
) -> Progress:
    """The progress of a line; `proved` are the ids of the evidence that is there and whole, `changed`
    of that which is there and is not what was attested.

    A step counts once it is done and its proof is there. Each proof of the line itself counts as one
    more step of average weight. A line with neither is complete.
    """
    by = measure(line.steps)
    sizes = [_size(step, by) for step in line.steps]
    ready = [_counts(step, proved, as_of) for step in line.steps]
    average = sum(sizes) / len(sizes) if sizes else 1.0
    shown = [average * (name in proved) for name in line.evidence]
    whole = sum(sizes) + average * len(line.evidence)
    lacking = _missing(line, proved, as_of)
    left = [step for step in line.steps if not is_done(step, as_of)]
    return Progress(
        done=_share(sum(s for s, r in zip(sizes, ready, strict=True) if r) + sum(shown), whole),
        steps=len(line.steps),
        steps_open=tuple(step.id for step in left),
        evidence_missing=lacking,
        evidence_changed=tuple(name for name in lacking if name in changed),
        hours=sum(step.hours or 0.0 for step in line.steps),
        hours_left=sum(step.hours or 0.0 for step in left),
        unsized=tuple(step.id for step in left if step.hours is None),
        by=by,
    )


def measure(steps: Sequence[Step]) -> Measure:
    """What the steps of a line are measured by: weights where one states one, hours where all do."""
    if any(step.weight is not None for step in steps):
        return "weight"
    return "hours" if steps and all(step.hours for step in steps) else "number of steps"


def _size(step: Step, by: Measure) -> float:
    if by == "weight":
        return 1.0 if step.weight is None else step.weight
    return step.hours or 1.0 if by == "hours" else 1.0


def _counts(step: Step, proved: Collection[str], as_of: datetime.date) -> bool:
    return is_done(step, as_of) and all(name in proved for name in step.evidence)


def _missing(line: Line, proved: Collection[str], as_of: datetime.date) -> tuple[str, ...]:
    """Proof of the line, and of its steps that are done: proof of work to come is not missing yet."""
    asked = (*line.evidence, *(e for s in line.steps if is_done(s, as_of) for e in s.evidence))
    return tuple(dict.fromkeys(name for name in asked if name not in proved))


def _share(part: float, whole: float) -> float:
    """Part of the whole; rounding never makes a part whole."""
    return 1.0 if whole <= 0.0 or part >= whole * (1.0 - 1e-12) else part / whole
