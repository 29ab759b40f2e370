"""What the pages of the rule sheets are written from: lines in their groups, and counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from buildspec.sections.rules import Group, Line, Sheet, key_of
from generator.rules.comparing import step_below
from generator.rules.judging import Done, requirement_id
from generator.rules.world import World
from generator.vocabulary import Check, Conformance, Requirement

STATES: tuple[Conformance, ...] = ("departs", "open", "waived", "conforms", "not applicable")


@dataclass(frozen=True, slots=True)
class Counts:
    """How many lines are in each state; `done` of those that apply conform with nothing left."""

    departs: int = 0
    open: int = 0
    waived: int = 0
    conforms: int = 0
    not_applicable: int = 0

    @property
    def total(self) -> int:
        """All lines."""
        return self.departs + self.open + self.waived + self.conforms + self.not_applicable

    @property
    def apply(self) -> int:
        """Those that apply to this vehicle."""
        return self.total - self.not_applicable


@dataclass(frozen=True, slots=True)
class Row:
    """One line as it is shown. `number` counts within its sheet, from 1.

    `checks` are the margins beside it, `unknown` those linked ids that no check has. `work` is None
    where nothing is planned or the plan is not evaluated.
    """

    key: str
    number: int
    line: Line
    rule: Requirement
    proof: str
    checks: tuple[Check, ...]
    unknown: tuple[str, ...]
    work: Done | None


@dataclass(frozen=True, slots=True)
class Block:
    """A group with its lines."""

    group: Group
    rows: tuple[Row, ...]
    counts: Counts


@dataclass(frozen=True, slots=True)
class Signers:
    """How many inspectors sign, and why that many."""

    count: int
    reason: str


@dataclass(frozen=True)
class Leaf:
    """A sheet as it is shown; `counts` are of the rules, `ours` of what the team adds to them.

    `clauses` is how many lines name their clause in the rulebook.
    """

    sheet: Sheet
    blocks: tuple[Block, ...]
    signers: Signers
    counts: Counts
    ours: Counts
    clauses: int

    @property
    def total(self) -> int:
        """All its lines."""
        return self.counts.total + self.ours.total

    @property
    def owners(self) -> tuple[str, ...]:
        """Who sees to its lines, by name."""
        return tuple(sorted({r.rule.owner for b in self.blocks for r in b.rows if r.rule.owner}))


@dataclass(frozen=True)
class Detail:
    """All sheets, and the counts over all of them."""

    leaves: tuple[Leaf, ...]
    counts: Counts
    ours: Counts
    states: tuple[Conformance, ...] = STATES


@dataclass(frozen=True)
class _Known:
    """What rows are made from: `rules` by the id of the requirement, `progress` by a line's key."""

    world: World
    rules: Mapping[str, Requirement]
    progress: Mapping[str, Done]


def detail(world: World, rules: Mapping[str, Requirement], progress: Mapping[str, Done]) -> Detail:
    """Every sheet with its lines in their groups; `rules` by the id of the requirement."""
    known = _Known(world, rules, progress)
    leaves = tuple(_leaf(sheet, known) for sheet in world.section.sheets)
    return Detail(leaves, *_apart(rules.values()))


def _leaf(sheet: Sheet, known: _Known) -> Leaf:
    rows = [_row(n, sheet, line, known) for n, line in enumerate(sheet.requirements, 1)]
    blocks = tuple(_block(group, rows) for group in sheet.groups)
    return Leaf(
        sheet,
        tuple(b for b in blocks if b.rows),
        signers(sheet, known.world),
        *_apart(r.rule for r in rows),
        sum(1 for r in rows if r.line.clause),
    )


def _row(number: int, sheet: Sheet, line: Line, known: _Known) -> Row:
    key, checks = key_of(sheet, line), known.world.checks
    return Row(
        key,
        number,
        line,
        known.rules[requirement_id(sheet, line)],
        proof_of(line),
        tuple(checks[c] for c in line.checks if c in checks),
        tuple(c for c in line.checks if c not in checks),
        known.progress.get(key),
    )


def _block(group: Group, rows: Iterable[Row]) -> Block:
    own = tuple(r for r in rows if r.line.group == group.id)
    return Block(group, own, counted(r.rule for r in own))


def proof_of(line: Line) -> str:
    """The word of the one proof that a line asks for."""
    asked = ("compare", "attest", "demonstrate", "document")
    return next((word for word in asked if getattr(line, word) is not None), "follows")


def _apart(rules: Iterable[Requirement]) -> tuple[Counts, Counts]:
    """Counts of the rules, and apart from them of the team's own lines."""
    every = tuple(rules)
    return counted(r for r in every if not r.ours), counted(r for r in every if r.ours)


def counted(rules: Iterable[Requirement]) -> Counts:
    """How many lines are in each state."""
    number = Counter(r.state for r in rules)
    return Counts(
        number["departs"],
        number["open"],
        number["waived"],
        number["conforms"],
        number["not applicable"],
    )


def signers(sheet: Sheet, world: World) -> Signers:
    """How many inspectors sign: by the highest step below the class record.

    Without a record, room for the most. A sheet that says nothing takes one.
    """
    if not sheet.inspectors:
        return Signers(1, "the sheet does not say how many sign")
    record = world.record
    if record is None:
        most = max(s.count for s in sheet.inspectors)
        return Signers(most, "the most the sheet asks, since the class record is not stated")
    step = step_below(sheet.inspectors, record)
    if step is None:
        return Signers(1, f"the class record, {record.written}, lies below the first step")
    return Signers(
        step.count, f"for a class record above {step.above.written}; it is {record.written}"
    )
