"""A comparison in words: rows of plain text that the terminal, Markdown and the page all print."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from buildspec.diagnostics import harmless
from buildspec.kinds import KINDS, System
from buildspec.quantities import Quantity, digits, show_written, spread_from_si
from buildspec.sections.signoffs import ACCEPTED, COMMENTED, REFUSED, Answer, Record, Signoffs
from generator.revisions.causes import Account, Causes, Part
from generator.revisions.compare import Comparison, Move, Ruling, Side
from generator.revisions.differences import NAMES, Change
from generator.vocabulary import Check, OpenItem, Standing

SAYS = {ACCEPTED: "accepted", COMMENTED: "accepted with a comment", REFUSED: "not accepted"}
"""A reviewer's word as it is read."""
NO_PERCENT = frozenset({"temperature"})
"""Kinds whose zero is a convention, so that a percentage of them means nothing."""
LEAST_CAUSES = 4
"""Contributions that are listed of a margin; the smaller ones are added up."""
MOST_REASONS = 3
"""Reasons that are listed of a sign-off that was undone."""
_LONGEST = 160
_UNTOLD = "only together: no change does it alone, or it cannot be tried alone"


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One difference of the description. `by` is the difference with its percentage, or ""."""

    id: str
    kind: str
    label: str
    was: str
    now: str
    by: str = ""
    known: str = ""

    @property
    def holds(self) -> str:
        """What a record that came or went holds: values, else a count or words; no bare id."""
        said = self.now or self.was
        return self.known or (said if " " in said and said != self.label else "")


@dataclass(frozen=True, slots=True)
class CauseRow:
    """What one change, or several together, did to a margin, in percentage points."""

    points: str
    label: str
    ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MoveRow:
    """One check: verdict and margin before and now, the move in points, and its causes."""

    id: str
    title: str
    verdict: str
    verdicts: str
    was: str
    now: str
    by: str
    causes: tuple[CauseRow, ...] = ()
    reason: str = ""

    @property
    def margin(self) -> str:
        """The margin before and now; one figure where only one is there, or both are the same."""
        known = [said for said in (self.was, self.now) if said]
        return " → ".join(dict.fromkeys(known)) or "none"


@dataclass(frozen=True, slots=True)
class RuleRow:
    """One prescription: its state before and now."""

    id: str
    title: str
    state: str
    states: str
    reason: str


@dataclass(frozen=True, slots=True)
class UndoneRow:
    """A sign-off that the changes undid."""

    scope: str
    title: str
    by: str
    role: str
    says: str
    seen_in: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GivenRow:
    """A word that was given, or a comment that was answered, between the two states."""

    id: str
    title: str
    by: str
    date: str
    says: str


@dataclass(frozen=True)
class Words:
    """All that is said of a comparison. `notes` say what a reader has to know to trust it; `first` what
    may make most of the rest needless, and stands under the heading.
    """

    earlier: str
    later: str
    summary: str
    moves: tuple[MoveRow, ...]
    few: str
    rules: tuple[RuleRow, ...]
    opened: tuple[OpenItem, ...]
    closed: tuple[OpenItem, ...]
    undone: tuple[UndoneRow, ...]
    given: tuple[GivenRow, ...]
    values: tuple[ChangeRow, ...]
    items: tuple[ChangeRow, ...]
    others: tuple[ChangeRow, ...]
    notes: tuple[str, ...]
    first: tuple[str, ...] = ()


def words_of(comparison: Comparison, found: Causes, most: int | None = None) -> Words:
    """The comparison in words; of the checks that moved, the `most` foremost."""
    system = comparison.later.evaluation.build.system
    rows = tuple(_change(c, comparison, system) for c in comparison.changes if not _told(c))
    listed = comparison.listed[:most]
    moves = tuple(_move(m, found.accounts.get(m.check.id)) for m in listed)
    return Words(
        said_of(comparison.earlier),
        said_of(comparison.later),
        _summary(comparison),
        moves,
        _few(comparison, len(listed)),
        tuple(_rule(r) for r in comparison.rulings),
        comparison.opened,
        comparison.closed,
        tuple(_undone(s) for s in comparison.undone),
        given(comparison),
        tuple(r for r in rows if r.kind == "value"),
        tuple(r for r in rows if r.kind in {"added", "removed"}),
        tuple(r for r in rows if r.kind not in {"value", "added", "removed"}),
        tuple(_notes(comparison, found)),
        tuple(_alike(comparison)),
    )


def said_of(side: Side) -> str:
    """A side by its name and the day it was evaluated for."""
    return f"{harmless(side.name)} ({side.evaluation.as_of})"


# ------------------------------------------------------------------------------- the whole


def _summary(comparison: Comparison) -> str:
    if comparison.nothing:
        return "Nothing of the design differs, and nothing that was computed."
    kinds = [c.kind for c in comparison.changes if not _told(c)]
    moves = comparison.moves
    there = [m for m in moves if m.before and m.after]
    words = given(comparison)
    counts = (
        (kinds.count("value"), "value changed", "values changed"),
        (kinds.count("added"), "item added", "items added"),
        (kinds.count("removed"), "item removed", "items removed"),
        (len(comparison.renames), "item renamed", "items renamed"),
        (sum(m.turned for m in there), "verdict turned", "verdicts turned"),
        (sum(not m.turned for m in there), "margin moved", "margins moved"),
        (sum(m.before is None for m in moves), "check new", "checks new"),
        (sum(m.after is None for m in moves), "check gone", "checks gone"),
        (len(comparison.rulings), "prescription turned", "prescriptions turned"),
        (len(comparison.undone), "sign-off undone", "sign-offs undone"),
        (len(words), "word given or answered", "words given or answered"),
        (len(comparison.opened), "open item more", "open items more"),
        (len(comparison.closed), "open item closed", "open items closed"),
    )
    said = [f"{n} {one if n == 1 else many}" for n, one, many in counts if n]
    return f"{', '.join(said) or 'Only words changed'}."


def _few(comparison: Comparison, listed: int) -> str:
    """The checks that are not listed, in a line."""
    later = len(comparison.listed) - listed
    small = len(comparison.moves) - len(comparison.listed)
    said = [
        f"{later} more {'check' if later == 1 else 'checks'} moved." if later else "",
        f"{small} more {'margin' if small == 1 else 'margins'} moved by less than 0.05 points."
        if small
        else "",
    ]
    return " ".join(s for s in said if s)


def _alike(comparison: Comparison) -> list[str]:
    return [
        f"{old} and {new} differ in their id alone; if it is the same part, say "
        f"--renamed {old}={new}."
        for old, new in comparison.alike
    ]


def _notes(comparison: Comparison, found: Causes) -> list[str]:
    before, after = comparison.days
    notes = [f"{old} is called {new} now." for old, new in comparison.renames.items()]
    if before != after:
        notes.append(
            f"Evaluated for different days, {before} and {after}. The later day alone counts as a "
            "change; every other one is tried on it."
        )
    if found.together:
        notes.append(f"{found.together[:1].upper()}{found.together[1:]}.")
    notes += [_unreadable(part) for part in found.unreadable]
    return notes


def _unreadable(part: Part) -> str:
    """What is said where a change cannot be tried alone."""
    which = "; ".join(c.id for c in part.changes[:4])
    more = len(part.changes) - 4
    also = f" and {more} more" if more > 0 else ""
    return (
        f"With {which}{also} alone the earlier description cannot be read ({part.reason}); what it "
        "did to the margins is in their remainder."
    )


# ----------------------------------------------------------------------------------- checks


def percent(margin: float | None) -> str:
    """A margin in per cent, with its sign; `none` where there is none."""
    return "none" if margin is None else f"{points(margin)} %"


def points(share: float) -> str:
    """A share in percentage points, with its sign."""
    text = digits(float(f"{100.0 * share:.9g}"), figures=3)
    return text if text.startswith("−") or text == "0" else f"+{text}"


def _move(move: Move, account: Account | None) -> MoveRow:
    check = move.check
    return MoveRow(
        check.id,
        harmless(check.title),
        move.after.verdict if move.after else "not there",
        _verdicts(move.before, move.after),
        percent(move.before.margin) if move.before else "",
        percent(move.after.margin) if move.after else "",
        f"{points(move.by)} points" if move.by is not None else "",
        _causes(account) if account else (),
        harmless(check.reason) or ("" if move.by is not None else _why_not(move)),
    )


def _verdicts(before: Check | None, after: Check | None) -> str:
    """`holds → short`, or one word where it is the same; a check that came or went says so."""
    if before is None or after is None:
        return f"new: {after.verdict}" if after else f"gone, was {before.verdict}" if before else ""
    return (
        after.verdict if before.verdict == after.verdict else f"{before.verdict} → {after.verdict}"
    )


def _why_not(move: Move) -> str:
    """Why a check has no contributions."""
    if move.before and move.after:
        return "there is no margin on one of the two sides"
    return "it came with what is new" if move.after else "it went with what was taken out"


def _causes(account: Account) -> tuple[CauseRow, ...]:
    """The largest contributions, the others added up, and what the changes have only together."""
    shares = account.shares
    shown = shares[:LEAST_CAUSES] if len(shares) > LEAST_CAUSES + 1 else shares
    rest = shares[len(shown) :]
    large = max((abs(s.effect) for s in shares), default=abs(account.remainder))
    places = max(2 - math.floor(math.log10(100.0 * large)), 0) if large else 0
    rows = [
        CauseRow(
            _fixed(s.effect, places), harmless(s.part.label), tuple(c.id for c in s.part.changes)
        )
        for s in shown
    ]
    if rest:
        said = f"{len(rest)} smaller ones"
        rows.append(CauseRow(_fixed(sum(s.effect for s in rest), places), said))
    if account.remainder:
        said = "only together: what the changes do to each other" if shares else _UNTOLD
        rows.append(CauseRow(_fixed(account.remainder, places), said))
    return tuple(rows)


def _fixed(share: float, places: int) -> str:
    """A share in percentage points with so many decimals: those of one margin add up by eye."""
    text = f"{100.0 * share:+,.{places}f}".replace("-", "−")
    return text if any(c in "123456789" for c in text) else "0"


def _rule(ruling: Ruling) -> RuleRow:
    was, now = (r.state if r else "not there" for r in (ruling.before, ruling.after))
    rule = ruling.rule
    return RuleRow(rule.id, harmless(rule.title), now, f"{was} → {now}", harmless(rule.reason))


def _undone(standing: Standing) -> UndoneRow:
    record, reasons = standing.record, standing.reasons
    more = (f"and {len(reasons) - MOST_REASONS} more",) if len(reasons) > MOST_REASONS else ()
    return UndoneRow(
        record.scope,
        harmless(standing.title),
        harmless(record.by),
        harmless(record.as_),
        SAYS[record.says],
        record.revision or record.commit[:8] or "a folder under no git",
        tuple(harmless(r) for r in reasons[:MOST_REASONS]) + more,
    )


# ----------------------------------------------------------------------------- the sign-offs


def _told(change: Change) -> bool:
    """Whether a change of the section is a word or an answer that came, which are told as such."""
    return change.section == "signoffs" and (
        change.kind in {"added", "list"} and not change.id.startswith("signoffs.groups")
    )


def given(comparison: Comparison) -> tuple[GivenRow, ...]:
    """The words and answers of the later side that the earlier one does not hold, as they were given."""
    one, other = (
        s.evaluation.build.section(Signoffs) for s in (comparison.earlier, comparison.later)
    )
    if other is None:
        return ()
    old_words = {r.id for r in one.records} if one else set()
    old_answers = set(one.answers) if one else set()
    titles = {s.record.id: s.title for s in comparison.later.evaluation.signoffs}
    words = [_word(r, titles) for r in other.records if r.id not in old_words]
    answers = [_answer(a, titles) for a in other.answers if a not in old_answers]
    return (*words, *answers)


def _word(record: Record, titles: Mapping[str, str]) -> GivenRow:
    said = SAYS[record.says] + (f": “{record.note}”" if record.note else "")
    who = f"{record.by} ({record.as_})"
    title = titles.get(record.id, record.scope)
    return GivenRow(
        f"signoffs.records.{record.id}",
        harmless(title),
        harmless(who),
        record.date.isoformat(),
        _cut(said),
    )


def _answer(answer: Answer, titles: Mapping[str, str]) -> GivenRow:
    title = titles.get(answer.to, answer.to)
    said = f"answers the comment: “{answer.text}”"
    return GivenRow(
        f"signoffs.records.{answer.to}",
        harmless(title),
        harmless(answer.by),
        answer.date.isoformat(),
        _cut(said),
    )


# ------------------------------------------------------------------------------ the changes


def _change(change: Change, comparison: Comparison, system: System) -> ChangeRow:
    label = _cut(change.label)
    if change.before is not None and change.after is not None:
        one, other = change.before, change.after
        return ChangeRow(
            change.id,
            "value",
            label,
            _value(one, system),
            _value(other, system),
            difference(one, other, system),
            _known(one, other),
        )
    return ChangeRow(
        change.id,
        change.kind,
        label,
        _plain(change.old, change.before, system),
        _plain(change.new, change.after, system),
        known=_holds(change, comparison, system),
    )


def _holds(change: Change, comparison: Comparison, system: System) -> str:
    """The first values of a record that came or went."""
    side = {"added": comparison.later, "removed": comparison.earlier}.get(change.kind)
    if side is None or change.before or change.after:
        return ""
    inside = f"{change.id}."
    found = [
        q
        for q in side.evaluation.build.quantities.values()
        if q.id.startswith(inside) and not q.default
    ]
    said = [f"{_spoken(q.id[len(inside) :])} {_value(q, system)}" for q in found[:3]]
    more = len(found) - 3
    return ", ".join(said + ([f"{more} more value{'s' if more > 1 else ''}"] if more > 0 else []))


def _spoken(dotted: str) -> str:
    return dotted.replace("_", " ").replace(".", " ")


def _value(quantity: Quantity, system: System) -> str:
    first, second = show_written(quantity, system)
    return str(first) if second is None else f"{first} ({second})"


def difference(before: Quantity, after: Quantity, system: System) -> str:
    """How much more, in the unit that is printed first, and in per cent where that means something."""
    by = after.si - before.si
    if not by:
        return ""
    unit = after.unit or KINDS[after.kind].printed_unit(system)
    exact = spread_from_si(by, after.kind, unit)
    number = digits(float(f"{exact:.9g}"), figures=3)  # 99.99999999999 is a hundred
    said = f"{number if number.startswith('−') else f'+{number}'}{f' {unit}' if unit else ''}"
    if unit == "%" or before.kind in NO_PERCENT or not before.si or before.si * after.si < 0.0:
        return said
    return f"{said}, {points(by / abs(before.si))} %"


def _known(before: Quantity, after: Quantity) -> str:
    """What changed in how the value is known."""
    said = []
    if before.basis != after.basis:
        said.append(f"{before.basis} → {after.basis}")
    if before.half_width != after.half_width:
        said.append(f"± {_half(before)} → ± {_half(after)}")
    if before.source != after.source:
        said.append(f"source: {_cut(before.source) or 'none'} → {_cut(after.source) or 'none'}")
    return "; ".join(said)


def _half(quantity: Quantity) -> str:
    if not quantity.half_width:
        return "none"
    half = spread_from_si(quantity.half_width, quantity.kind, quantity.unit)
    return f"{digits(half, half)} {quantity.unit}".strip()


def _plain(value: Any, quantity: Quantity | None, system: System) -> str:
    """Anything of the description in a few words."""
    if quantity is not None:
        return _value(quantity, system)
    if value is None:
        return ""
    if isinstance(value, Mapping):
        name = next((str(value[k]) for k in (*NAMES, "id") if k in value), "")
        return _cut(name) or _counted(len(value))
    if isinstance(value, list):
        plain = all(isinstance(v, str | int | float) for v in value)
        return _cut(", ".join(str(v) for v in value)) if plain else _counted(len(value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.isoformat() if isinstance(value, datetime.date) else _cut(str(value))


def _counted(number: int) -> str:
    return f"{number} {'entry' if number == 1 else 'entries'}"


def _cut(text: str) -> str:
    said = harmless(text)
    return said if len(said) <= _LONGEST else f"{said[:_LONGEST]}…"
