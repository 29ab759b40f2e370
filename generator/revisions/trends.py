"""How the design went from revision to revision, each computed by the present program."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from generator.evaluation import Evaluation
from generator.revisions import cache
from generator.revisions.archive import known_of, reading_of, why_unreadable
from generator.revisions.crew import each, first_process, processors
from generator.revisions.history import Repository, Revision
from generator.revisions.reuse import Reuse
from generator.revisions.sides import UnreadableSideError
from generator.signoffs.reviewed import still_open
from generator.vocabulary import once

RESULTS: Mapping[str, str] = {
    "mass": "mass.design.total",
    "cg_x": "mass.design.cg_x",
    "cg_share": "mass.design.cg_share",
    "cg_height": "mass.design.cg_height",
    "hours_left": "plan.hours_left",
}
"""Figures that are results of subjects."""
LIMITS: Mapping[str, str] = {
    "mass_most": "mass.limits.total",
    "cg_x_least": "mass.limits.cg_x.least",
    "cg_x_most": "mass.limits.cg_x.most",
    "cg_share_least": "mass.limits.cg_share.least",
    "cg_share_most": "mass.limits.cg_share.most",
    "cg_height_most": "mass.limits.cg_height",
}
"""Their targets, which are values of the description."""


@dataclass(frozen=True)
class Figures:
    """What is followed of one state, in SI. `values` holds results and limits that it has;
    `margins` the least margin of each subject that has one.
    """

    values: Mapping[str, float] = field(default_factory=dict)
    margins: Mapping[str, float] = field(default_factory=dict)
    holds: int = 0
    checks: int = 0
    departs: int = 0
    rules: int = 0
    open_items: int = 0
    measured: int = 0
    known: int = 0

    @property
    def ready(self) -> float | None:
        """The share of the checks that hold."""
        return self.holds / self.checks if self.checks else None

    @property
    def measured_share(self) -> float | None:
        """The share of the values that were measured; decisions are left out."""
        return self.measured / self.known if self.known else None


@dataclass(frozen=True)
class Point:
    """One revision, or the draft. `figures` is None, with a `reason`, where it cannot be read."""

    name: str
    title: str
    day: datetime.date
    figures: Figures | None
    reason: str = ""


def figures_of(evaluation: Evaluation) -> Figures:
    """What is followed of an evaluation, whether its sign-offs were looked at or not."""
    known = [q for q in evaluation.build.quantities.values() if not q.stated]
    rules = [r for r in once(evaluation.requirements) if r.state != "not applicable"]
    return Figures(
        dict(_values(evaluation)),
        dict(_least(evaluation)),
        sum(c.verdict == "holds" for c in evaluation.checks),
        len(evaluation.checks),
        sum(r.state == "departs" for r in rules),
        len(rules),
        still_open(evaluation),
        sum(q.basis == "measured" for q in known),
        len(known),
    )


def _values(evaluation: Evaluation) -> Iterator[tuple[str, float]]:
    for name, dotted in RESULTS.items():
        outcome = evaluation.outcomes.get(dotted.split(".", 1)[0])
        result = outcome.by_id.get(dotted) if outcome else None
        if result is not None and result.value is not None:
            yield name, float(result.value)
    for name, dotted in LIMITS.items():
        quantity = evaluation.build.quantities.get(dotted)
        if quantity is not None:
            yield name, quantity.si


def _least(evaluation: Evaluation) -> Iterator[tuple[str, float]]:
    for word, outcome in evaluation.outcomes.items():
        margins = [float(c.margin) for c in outcome.checks if c.margin is not None]
        if margins:
            yield word, min(margins)


@dataclass(frozen=True, slots=True)
class Least:
    """The least margin of a subject over all states: in the last one, in the one before, and the worst.

    None where a state has none, or cannot be read.
    """

    subject: str
    now: float | None
    before: float | None
    worst: float
    worst_in: str

    @property
    def moved(self) -> float | None:
        """How far it moved since the state before."""
        return None if self.now is None or self.before is None else self.now - self.before


def least_margins(found: Sequence[Point], words: Iterable[str]) -> tuple[Least, ...]:
    """For each of these subjects; the worst is the first of equals."""
    return tuple(_least_of(found, word) for word in words)


def _least_of(found: Sequence[Point], word: str) -> Least:
    margins = [p.figures.margins.get(word) if p.figures else None for p in found]
    known = [(m, p.name) for m, p in zip(margins, found, strict=True) if m is not None]
    worst, name = min(known, key=lambda pair: pair[0])
    return Least(word, margins[-1], margins[-2] if len(margins) > 1 else None, worst, name)


# --------------------------------------------------------------------------- the revisions


def points(repository: Repository, revisions: Sequence[Revision]) -> tuple[Point, ...]:
    """A point for each revision, in their order; none is dropped.

    Those of which nothing is kept are computed, by several processes where they are many.
    """
    known = {r: from_data(cache.load(r.tree, r.date)) for r in revisions}
    missing = [revision for revision, kept in known.items() if kept is None]
    for revision, computed in zip(missing, _computed(repository, missing), strict=True):
        known[revision] = computed
        cache.store(revision.tree, revision.date, to_data(*computed))
    return tuple(Point(r.name, r.title, r.date, *(known[r] or (None, ""))) for r in revisions)


Computed = tuple[Figures | None, str]
FEW = 8
"""Revisions for which no other process is started: that takes as long as some of them."""
MOST = 25
"""Revisions that are computed before their figures are kept."""


def _computed(repository: Repository, revisions: Sequence[Revision]) -> Iterator[Computed]:
    """The figures of revisions, or why there are none. Neighbours go to one process: they differ little."""
    size = min(MOST, max(FEW // 2, math.ceil(len(revisions) / processors())))
    parts = [tuple(revisions[n : n + size]) for n in range(0, len(revisions), size)]
    alone = len(revisions) < FEW or not first_process()
    with each(run_of, [(repository, part) for part in parts], alone=alone) as found:
        for computed in found:
            yield from computed


def run_of(repository: Repository, revisions: Sequence[Revision]) -> tuple[Computed, ...]:
    """The figures of some revisions, one after the other."""
    reuse = Reuse()
    return tuple(_figures(repository, revision, reuse) for revision in revisions)


def _figures(repository: Repository, revision: Revision, reuse: Reuse) -> Computed:
    evaluation = known_of(repository, revision)
    if evaluation is None:
        reading = reading_of(repository, revision.tree)
        if reading.build is None:
            return None, why_unreadable(UnreadableSideError(revision.name, reading))
        evaluation = reuse.evaluate(reading.build, as_of=revision.date)
    return figures_of(evaluation), ""


# ------------------------------------------------------------------------------ plain data


def to_data(figures: Figures | None, reason: str) -> dict[str, Any]:
    """Figures, or why there are none, as plain data."""
    return {"figures": asdict(figures) if figures else None, "reason": reason}


def from_data(data: Any) -> tuple[Figures | None, str] | None:
    """The same read back; None for anything that is not of this form."""
    if not isinstance(data, dict) or set(data) != {"figures", "reason"}:
        return None
    figures, reason = data["figures"], data["reason"]
    if figures is None:
        return (None, reason) if isinstance(reason, str) and reason else None
    if not isinstance(figures, dict) or reason != "":
        return None
    try:
        found = Figures(**figures)
    except TypeError:
        return None
    return (found, "") if _sound(found) else None


def _sound(figures: Figures) -> bool:
    groups = (figures.values, figures.margins)
    if not all(isinstance(group, dict) for group in groups):
        return False
    numbers = [n for group in groups for n in group.values()]
    counts = [v for k, v in asdict(figures).items() if k not in {"values", "margins"}]
    return all(isinstance(n, float) and math.isfinite(n) for n in numbers) and all(
        isinstance(n, int) and not isinstance(n, bool) and n >= 0 for n in counts
    )
