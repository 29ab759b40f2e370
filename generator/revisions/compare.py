"""Two states of a design → what changed, what it did to checks, prescriptions and open items. Pure."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from buildspec.assemble import assemble
from buildspec.documents import Document
from buildspec.plain import entry_ids
from buildspec.renames import RenameError, renamed
from generator.evaluation import Evaluation, evaluate
from generator.revisions.differences import Change, Design, differences
from generator.signoffs.reviewed import reviewed
from generator.signoffs.standing import is_undone
from generator.vocabulary import Check, OpenItem, Requirement, Standing

SMALL = 0.0005
"""A margin that moves by less, five in ten thousand, did move, and is counted and not listed."""


@dataclass(frozen=True)
class Side:
    """One of the two states: what it is called, its plain data, and its evaluation."""

    name: str
    data: Any
    evaluation: Evaluation

    @property
    def design(self) -> Design:
        """Its description."""
        return Design(self.data, self.evaluation.build)


@dataclass(frozen=True, slots=True)
class Move:
    """A check on both sides; one of the two is None where the check is not there."""

    before: Check | None
    after: Check | None

    @property
    def check(self) -> Check:
        """The check as it is now, or as it last was."""
        found = self.after or self.before
        assert found is not None
        return found

    @property
    def by(self) -> float | None:
        """Change of the margin, where there is one on both sides."""
        one = self.before.margin if self.before else None
        other = self.after.margin if self.after else None
        return None if one is None or other is None else other - one

    @property
    def turned(self) -> bool:
        """Whether the verdict is another, or the check came or went."""
        return _verdict(self.before) != _verdict(self.after)

    @property
    def small(self) -> bool:
        """Whether only a margin moved, and by next to nothing."""
        return not self.turned and self.by is not None and abs(self.by) < SMALL


@dataclass(frozen=True, slots=True)
class Ruling:
    """A prescription whose state is another; None where it is not there."""

    before: Requirement | None
    after: Requirement | None

    @property
    def rule(self) -> Requirement:
        """The prescription as it is now, or as it last was."""
        found = self.after or self.before
        assert found is not None
        return found


@dataclass(frozen=True)
class Comparison:
    """What a reviewer of `earlier` has to know of `later`.

    `undone` are the sign-offs that stand in the earlier state and not in the later one.
    `moves` and `rulings` come by importance; `renames` are those that were told, `alike` the pairs of
    ids that look renamed and were not told.
    """

    earlier: Side
    later: Side
    changes: tuple[Change, ...]
    moves: tuple[Move, ...]
    rulings: tuple[Ruling, ...]
    opened: tuple[OpenItem, ...]
    closed: tuple[OpenItem, ...]
    undone: tuple[Standing, ...] = ()
    renames: Mapping[str, str] = field(default_factory=dict)
    alike: tuple[tuple[str, str], ...] = ()

    @property
    def days(self) -> tuple[datetime.date, datetime.date]:
        """The days the two sides were evaluated for."""
        return self.earlier.evaluation.as_of, self.later.evaluation.as_of

    @property
    def listed(self) -> tuple[Move, ...]:
        """The moves that are worth a line."""
        return tuple(m for m in self.moves if not m.small)

    @property
    def nothing(self) -> bool:
        """Whether the two sides are the same in all that is compared."""
        found = (self.changes, self.moves, self.rulings, self.opened, self.closed, self.renames)
        return not any(found)


def compare(earlier: Side, later: Side, renames: Mapping[str, str] | None = None) -> Comparison:
    """Compare two states. `renames` maps dotted ids of the earlier one to those of the later one.

    RenameError where a record cannot be renamed so.
    """
    told = dict(renames or {})
    if told:
        earlier = with_renames(earlier, told)
    earlier, later = (replace(s, evaluation=reviewed(s.evaluation)) for s in (earlier, later))
    changes = differences(earlier.design, later.design)
    one, other = earlier.evaluation, later.evaluation
    return Comparison(
        earlier,
        later,
        changes,
        tuple(sorted(_moves(one.checks, other.checks), key=_importance)),
        tuple(sorted(_rulings(one.requirements, other.requirements), key=_weight)),
        _without(other.open_items, one.open_items),
        _without(one.open_items, other.open_items),
        tuple(_undone(one, other)),
        told,
        tuple(_alike(changes)),
    )


def with_renames(side: Side, renames: Mapping[str, str]) -> Side:
    """The side with its records called as on the other one."""
    data = side.data
    for old, new in renames.items():
        data = renamed(data, old, new)
    made = assemble(Document(data), side.evaluation.build.pages)
    if made.sound is None:
        first = next(p for p in made.problems if p.severity == "error")
        raise RenameError(
            f"with the ids renamed the earlier description cannot be read: {first.message}"
        )
    return Side(side.name, data, evaluate(made.sound, as_of=side.evaluation.as_of))


# ------------------------------------------------------------------------- checks and rules


def _moves(before: Iterable[Check], after: Iterable[Check]) -> Iterable[Move]:
    old, new = {c.id: c for c in before}, {c.id: c for c in after}
    for name in dict.fromkeys((*new, *old)):
        move = Move(old.get(name), new.get(name))
        if move.turned or _moved(move):
            yield move


def _moved(move: Move) -> bool:
    """Whether the margin differs by more than the last digits of another processor."""
    if move.by is None:
        one, other = (c.margin if c else None for c in (move.before, move.after))
        return one is not other
    return abs(move.by) > 1e-9


def _verdict(check: Check | None) -> str:
    return check.verdict if check else ""


def _importance(move: Move) -> tuple[int, float, str]:
    """What fell short first, then what cannot be decided any more, what is gone, what is still
    short, what was mended, and the others, new ones among them, by the margin that is left.
    """
    was, now = _verdict(move.before), _verdict(move.after)
    ranks = (
        now == "short" and was != "short",
        now == "open" and was != "open",
        not now,
        now == "short",
        was in {"short", "open"} and now == "holds",
    )
    rank = ranks.index(True) if True in ranks else len(ranks)
    left = move.check.margin
    return rank, float("inf") if left is None else left, move.check.id


def _rulings(before: Iterable[Requirement], after: Iterable[Requirement]) -> Iterable[Ruling]:
    old, new = {r.id: r for r in before}, {r.id: r for r in after}
    for name in dict.fromkeys((*new, *old)):
        one, other = old.get(name), new.get(name)
        if (one.state if one else "") != (other.state if other else ""):
            yield Ruling(one, other)


_STATES = ("departs", "open", "waived", "", "conforms", "not applicable")


def _weight(ruling: Ruling) -> tuple[int, str]:
    return _STATES.index(ruling.after.state if ruling.after else ""), ruling.rule.id


def _without(items: Iterable[OpenItem], others: Iterable[OpenItem]) -> tuple[OpenItem, ...]:
    known = {item.id for item in others}
    return tuple(item for item in items if item.id not in known)


def _undone(earlier: Evaluation, later: Evaluation) -> Iterable[Standing]:
    """Sign-offs that the changes undid; a later word of the same person takes their place."""
    lost = (s for s in later.signoffs if s.state == "undone")
    return (s for s in lost if not is_undone(s.record, earlier))


# ---------------------------------------------------------------------------------- renames


def _alike(changes: tuple[Change, ...]) -> Iterable[tuple[str, str]]:
    """Records that went and came with the same content under another id."""
    came = [c for c in changes if c.kind == "added" and _has_id(c.new)]
    for gone in (c for c in changes if c.kind == "removed" and _has_id(c.old)):
        for other in came:
            same_list = gone.id.rpartition(".")[0] == other.id.rpartition(".")[0]
            if same_list and {**gone.old, "id": ""} == {**other.new, "id": ""}:
                yield gone.id, other.id
                break


def _has_id(value: Any) -> bool:
    return entry_ids([value]) is not None
