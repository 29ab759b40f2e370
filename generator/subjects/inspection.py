"""The subject `inspection`: the rule sheets as paper for the day of inspection. It computes nothing.

Every line of a sheet in its order, with room for as many initials as inspectors sign.
"""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.build import Build
from buildspec.sections.event import Event
from buildspec.sections.vehicle import Vehicle
from generator.rules.detail import Detail, Leaf, Row
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Outcome

WORD = "inspection"
BLANK = 6
"""Lines left empty at the end of each sheet, for what the inspector adds."""
PER_PROOF = 2
"""Files or pages named as proof of one line on the paper; the rest stand on the Requirements page."""


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the paper. `files` are ids of evidence, `pages` words of the pages that prove it."""

    row: Row
    files: tuple[str, ...]
    pages: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """One group of the paper."""

    title: str
    items: tuple[Item, ...]


@dataclass(frozen=True)
class Paper:
    """One sheet of the paper; `initials` counts from 1 to as many as sign."""

    leaf: Leaf
    parts: tuple[Part, ...]
    initials: tuple[int, ...]
    blank: tuple[int, ...]

    @property
    def columns(self) -> int:
        """Number, item, the team's word, the initials, and the proof."""
        return 4 + len(self.initials)


@dataclass(frozen=True)
class Papers:
    """Everything the paper is written from."""

    papers: tuple[Paper, ...]
    vehicle: Vehicle | None
    event: Event | None


def evaluate(build: Build, given: Given) -> Outcome | None:
    """The paper of every sheet; None where no sheet was judged."""
    rules = given.outcomes.get("rules")
    if rules is None or not isinstance(rules.detail, Detail):
        return None
    papers = tuple(_paper(leaf) for leaf in rules.detail.leaves)
    return Outcome(WORD, detail=Papers(papers, build.section(Vehicle), build.section(Event)))


def _paper(leaf: Leaf) -> Paper:
    parts = tuple(Part(b.group.title, tuple(_item(r) for r in b.rows)) for b in leaf.blocks)
    return Paper(leaf, parts, tuple(range(1, leaf.signers.count + 1)), tuple(range(1, BLANK + 1)))


def _item(row: Row) -> Item:
    """What proves a line: its files, and the pages of what it compares or follows."""
    files = dict.fromkeys((*row.line.evidence, *(e for s in row.line.steps for e in s.evidence)))
    compare = row.line.compare
    compared = (compare.result or "inputs",) if compare else ()
    pages = dict.fromkeys(p.split(".", 1)[0] for p in (*compared, *row.line.follows))
    return Item(row, tuple(files)[:PER_PROOF], tuple(pages)[:PER_PROOF])


SUBJECT = Subject(
    word=WORD,
    title="Inspection sheet",
    purpose="The requirements on paper, in the order of the inspection: to be printed and clipped to "
    "a board.",
    group="Inspection",
    evaluate=evaluate,
    needs=("rules",),
)
