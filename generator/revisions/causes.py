"""Which change moved which margin: the earlier design, evaluated with one change at a time."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from buildspec.assemble import Assembled, assemble
from buildspec.build import Build
from buildspec.documents import Document
from buildspec.plain import patched
from buildspec.schema import words
from generator.evaluation import needed
from generator.revisions.compare import Comparison, Move
from generator.revisions.differences import Change, meaning
from generator.revisions.reuse import Reuse

MOST = 48
"""Evaluations made for one comparison; more changes than that are taken together, and it is said."""
Margins = Mapping[str, float | None]
IDLE = frozenset({"notes", "signoffs"})
"""Sections of words, which no calculation reads."""


@dataclass(frozen=True)
class Part:
    """Changes made together, and what they alone do to each margin.

    `effects` maps ids of checks to the change of their margin. `reason` is said where the
    description cannot be read with these changes alone; then there are no effects.
    """

    changes: tuple[Change, ...]
    effects: Mapping[str, float]
    reason: str = ""

    @property
    def label(self) -> str:
        """What was changed, in words."""
        labels = list(dict.fromkeys(map(_label, self.changes)))
        more = [f"{len(labels) - 3} more"] if len(labels) > 3 else []
        return ", with ".join(labels[:3] + more)


def _label(change: Change) -> str:
    """A change's words; two records may have the same, so what came or went says that it did."""
    return f"{change.label}, {change.kind}" if change.kind in {"added", "removed"} else change.label


@dataclass(frozen=True, slots=True)
class Share:
    """What one part did to one margin."""

    part: Part
    effect: float


@dataclass(frozen=True, slots=True)
class Account:
    """How a margin's move adds up: `shares`, the largest first, and `remainder`, which the changes
    have only together.
    """

    move: Move
    shares: tuple[Share, ...]
    remainder: float


@dataclass(frozen=True)
class Causes:
    """The account of every margin that moved. `together` says how changes were taken together."""

    accounts: Mapping[str, Account]
    parts: tuple[Part, ...]
    together: str = ""

    @property
    def unreadable(self) -> tuple[Part, ...]:
        """The changes that cannot stand alone."""
        return tuple(p for p in self.parts if p.reason)


def causes(comparison: Comparison, most: int = MOST) -> Causes:
    """The account of each margin that moved, with at most about `most` evaluations."""
    moves = [m for m in comparison.moves if m.by is not None]
    if not moves:
        return Causes({}, ())
    trial = _Trial(comparison, moves)
    groups, together = _grouped(_able(comparison), most)
    parts = (*trial.day(), *trial.parts(groups))
    return Causes({m.check.id: _account(m, parts) for m in moves}, parts, together)


def _account(move: Move, parts: tuple[Part, ...]) -> Account:
    name, by = move.check.id, move.by or 0.0
    shares = [Share(p, p.effects[name]) for p in parts if abs(p.effects.get(name, 0.0)) > 1e-12]
    remainder = by - sum(s.effect for s in shares)
    if abs(remainder) < 1e-9 * max(abs(by), 1.0):
        remainder = 0.0
    return Account(move, tuple(sorted(shares, key=lambda s: -abs(s.effect))), remainder)


# ----------------------------------------------------------------------------- the changes


def _able(comparison: Comparison) -> list[Change]:
    """The changes of the description that a calculation could notice."""
    return [c for c in comparison.changes if not idle(c)]


def _day(before: datetime.date, after: datetime.date) -> Change:
    return Change("as_of", "day", "the day it is evaluated for", before, after)


def idle(change: Change) -> bool:
    """Whether only words changed: wording, a source, a page, a remark."""
    if change.kind in {"words", "page"} or change.section in IDLE or change.patch is None:
        return True
    one, other = change.before, change.after
    return one is not None and other is not None and meaning(one)[:-1] == meaning(other)[:-1]


def _grouped(changes: list[Change], most: int) -> tuple[list[tuple[Change, ...]], str]:
    """One change each; where they are too many, those of one record, then of one section."""
    if len(changes) <= most:
        return [(c,) for c in changes], ""
    said = ""
    for of_one, key in (("record", _record), ("section", _section)):
        groups: dict[str, list[Change]] = {}
        for change in changes:
            groups.setdefault(key(change), []).append(change)
        said = (
            f"{len(changes)} changes could matter; those of one {of_one} were taken together, so "
            "that the cost stays bounded"
        )
        if len(groups) <= most:
            break
    return [tuple(group) for group in groups.values()], said


def _record(change: Change) -> str:
    return change.id.rpartition(".")[0] if change.kind not in {"added", "removed"} else change.id


def _section(change: Change) -> str:
    return change.section


# ------------------------------------------------------------------------------- the trials


class _Trial:
    """The earlier design, ready to be tried with changes.

    Where the days differ, the later one comes first: what was done meanwhile counts only from then on.
    """

    def __init__(self, comparison: Comparison, moves: list[Move]) -> None:
        self.side, self.days = comparison.earlier, comparison.days
        self.before = {m.check.id: m.before.margin for m in moves if m.before}
        self.subjects = needed({m.check.subject for m in moves})
        self.reuse = Reuse()
        moved = self.days[0] != self.days[1]
        self.margins = self.margins_of(self.side.evaluation.build) if moved else self.before

    def margins_of(self, build: Build) -> Margins:
        """The margins of a description on the later day."""
        found = self.reuse.evaluate(build, as_of=self.days[1], subjects=self.subjects)
        return {c.id: c.margin for c in found.checks}

    def day(self) -> Iterator[Part]:
        """What the day alone does, where there is another one."""
        if self.days[0] != self.days[1]:
            yield Part((_day(*self.days),), dict(_effects(self.before, self.margins)))

    def parts(self, groups: list[tuple[Change, ...]]) -> Iterator[Part]:
        """Every group alone; groups that cannot stand alone, with what they hang together with."""
        alone = [self.part(group) for group in groups]
        bundles = list(_bundles(alone))
        joined = {id(part) for bundle in bundles for part in bundle}
        yield from (part for part in alone if id(part) not in joined)
        tried = [self.part(_changes_of(bundle)) for bundle in bundles]
        left = [part for part in tried if part.reason]
        yield from (part for part in tried if not part.reason)
        last = self.part(_changes_of(left)) if len(left) > 1 else None
        yield from left if last is None or last.reason else (last,)

    def part(self, group: tuple[Change, ...]) -> Part:
        """What these changes alone do."""
        made = self.read(group)
        if made.sound is None:
            first = next((p.message for p in made.problems if p.severity == "error"), "")
            return Part(group, {}, first or "these changes do not fit the earlier description")
        margins = self.margins_of(made.sound)
        known = {name: self.margins.get(name) for name in self.before}
        return Part(group, dict(_effects(known, margins)))

    def read(self, group: tuple[Change, ...]) -> Assembled:
        patches = [c.patch for c in group if c.patch is not None]
        build = self.side.evaluation.build
        if not patches:
            return Assembled(build, ())
        try:
            return assemble(Document(patched(self.side.data, patches)), build.pages)
        except KeyError:  # it changes what another of the changes brings
            return Assembled(None, ())


def _effects(before: Margins, after: Margins) -> Iterator[tuple[str, float]]:
    """How far each margin moved that is there before and after."""
    for name, was in before.items():
        now = after.get(name)
        if was is not None and now is not None:
            yield name, now - was


def _bundles(parts: Iterable[Part]) -> Iterator[tuple[Part, ...]]:
    """Parts that cannot stand alone, each with those whose records it names or that name its."""
    pool = sorted(parts, key=lambda part: not part.reason)
    while pool and pool[0].reason:
        bundle = [pool.pop(0)]
        near = bundle
        while near:
            near = [p for p in pool if any(_linked(p.changes, b.changes) for b in bundle)]
            pool = [p for p in pool if p not in near]
            bundle += near
        yield tuple(bundle)


def _changes_of(parts: Iterable[Part]) -> tuple[Change, ...]:
    return tuple(change for part in parts for change in part.changes)


def _linked(one: tuple[Change, ...], other: tuple[Change, ...]) -> bool:
    """Whether one group brings or takes a record that the other one names, or both change one
    record, whose values may have to fit each other.
    """
    if {_record(c) for c in one} & {_record(c) for c in other}:
        return True
    return bool(_brings(one) & _names(other) or _brings(other) & _names(one))


def _brings(group: Iterable[Change]) -> set[str]:
    return {c.id.rpartition(".")[2] for c in group if c.kind in {"added", "removed"}} - {*words()}


def _names(group: Iterable[Change]) -> set[str]:
    return {text for c in group for value in (c.old, c.new) for text in _texts(value)}


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield str(key)
            if key != "id":
                yield from _texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner)
