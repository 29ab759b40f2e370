"""What the front page says: counts, what is short or open, least margins, biggest unknowns."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from buildspec.quantities import BASES, Quantity
from generator.evaluation import Evaluation
from generator.ranking import doubtful as is_doubtful
from generator.vocabulary import Check, OpenItem, Requirement, once

LISTED, SHORT = 5, 3
"""Checks that the front page lists, and how many short ones at most; it stays one screen of a phone."""
DEPARTURES = 2
UNKNOWNS = 4
PAPERS = frozenset({"plan", "evidence", "inspection"})
"""Subjects about the papers; where they are not described, no part of the vehicle goes unlooked at."""


@dataclass(frozen=True, slots=True)
class Tally:
    """How the checks of one subject, or of all, came out, and apart from that its prescriptions."""

    word: str
    title: str
    holds: int
    short: int
    open: int
    conforms: int = 0
    departs: int = 0
    undecided: int = 0
    waived: int = 0
    not_applicable: int = 0
    prescriptions: int = 0

    @property
    def total(self) -> int:
        """All checks."""
        return self.holds + self.short + self.open


@dataclass(frozen=True, slots=True)
class Overview:
    """`listed` are the checks that matter most: short, then open, then the least margins;
    `unlisted` counts the others. `own` counts what the team asks of itself, which `total` leaves out.
    A prescription that a line of a rule sheet follows is counted in that line only.

    `doubtful` are checks whose margin lies within two standard uncertainties of zero, the most
    doubtful first; `assumed` the records whose assumed values the most checks wait for. `undescribed` are titles of the
    subjects of the vehicle that the description is silent about.
    """

    tallies: tuple[Tally, ...]
    total: Tally
    own: Tally
    ready: bool
    listed: tuple[Check, ...]
    unlisted: Tally
    departures: tuple[Requirement, ...]
    more_departures: int
    doubtful: tuple[Check, ...]
    assumed: tuple[OpenItem, ...]
    bases: Mapping[str, int]
    values: int
    with_spread: int
    undescribed: tuple[str, ...] = ()


def overview(evaluation: Evaluation, titles: Mapping[str, str]) -> Overview:
    """The front page's facts. `titles` names each subject of the program by its word."""
    ranked = tuple(sorted(evaluation.checks, key=_urgency))
    listed = _listed(ranked)
    known = tuple(q for q in evaluation.build.quantities.values() if not q.stated)
    rules = once(evaluation.requirements)
    counted = {r.id for r in rules if not r.ours}
    departures = tuple(r for r in rules if r.state == "departs")
    total = _tally("", "All", evaluation.checks, [r for r in rules if not r.ours])
    own = _tally("", "The team's own", (), [r for r in rules if r.ours])
    return Overview(
        tallies=tuple(
            _tally(w, titles[w], o.checks, [r for r in o.requirements if r.id in counted])
            for w, o in evaluation.outcomes.items()
        ),
        total=total,
        own=own,
        ready=bool(evaluation.checks)
        and total.holds == total.total
        and not total.departs
        and not total.undecided
        and not own.departs
        and not own.undecided
        and not evaluation.open_items,
        listed=listed,
        unlisted=_tally("", "", [c for c in ranked if c not in listed], ()),
        departures=departures[:DEPARTURES],
        more_departures=max(len(departures) - DEPARTURES, 0),
        doubtful=tuple(sorted(filter(is_doubtful, ranked), key=_certainty))[:UNKNOWNS],
        assumed=tuple(i for i in evaluation.open_items if i.kind == "assumed")[:UNKNOWNS],
        bases=_bases(known),
        values=len(known),
        with_spread=sum(1 for q in known if q.half_width > 0.0),
        undescribed=tuple(
            title
            for word, title in titles.items()
            if word not in evaluation.outcomes and word not in PAPERS
        ),
    )


def _tally(
    word: str, title: str, checks: Iterable[Check], requirements: Sequence[Requirement]
) -> Tally:
    counts = Counter(c.verdict for c in checks)
    states = Counter(r.state for r in requirements)
    return Tally(
        word,
        title,
        counts["holds"],
        counts["short"],
        counts["open"],
        states["conforms"],
        states["departs"],
        states["open"],
        states["waived"],
        states["not applicable"],
        len(requirements),
    )


def _listed(ranked: tuple[Check, ...]) -> tuple[Check, ...]:
    """What is short first, then what is open, and room for one that holds."""
    short, open_, holds = (
        tuple(c for c in ranked if c.verdict == verdict) for verdict in ("short", "open", "holds")
    )
    urgent = (*short[:SHORT], *open_)[: LISTED - 1]
    return (*urgent, *holds[: LISTED - len(urgent)])


def _urgency(check: Check) -> tuple[bool, float, str]:
    """The least margin first; what has none last."""
    return check.margin is None, check.margin or 0.0, check.id


def _certainty(check: Check) -> float:
    return abs(0.5 - (check.probability_short or 0.0))


def _bases(known: Iterable[Quantity]) -> dict[str, int]:
    counts: Counter[str] = Counter(q.basis for q in known)
    return {basis: counts[basis] for basis in BASES}
