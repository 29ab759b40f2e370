"""A comparison as text for a terminal, as Markdown for a pull request, and as plain data."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

from buildspec.diagnostics import harmless
from buildspec.kinds import KINDS
from buildspec.quantities import Quantity
from generator.revisions.causes import Account, Causes
from generator.revisions.compare import Comparison, Move, Side
from generator.revisions.differences import Change
from generator.revisions.wording import ChangeRow, GivenRow, MoveRow, UndoneRow, Words
from generator.vocabulary import Check, OpenItem

SAFETY = (
    "This supports judgement; it replaces neither the rulebook in force, nor inspection, nor a "
    "licensed engineer."
)

# ------------------------------------------------------------------------------------- text


def as_text(said: Words) -> str:
    """The comparison for a terminal."""
    lines = [f"{said.earlier} → {said.later}", said.summary, *said.first, ""]
    lines += _titled("Checks", (line for row in said.moves for line in _move_lines(row)))
    lines += [said.few, ""] if said.few else []
    lines += _titled(
        "Prescriptions", (f"  {r.states}  {r.id}: {r.title}: {r.reason}" for r in said.rules)
    )
    lines += _titled("Sign-offs undone", map(_undone_line, said.undone))
    lines += _titled("Words given and answered", map(_given_line, said.given))
    lines += _titled("Values", (f"  {r.id}: {_row(r)}" for r in said.values))
    lines += _titled("Items added and removed", (f"  {r.kind:7}  {_item(r)}" for r in said.items))
    lines += _titled("Other changes", (f"  {r.id}: {_row(r)}" for r in said.others))
    lines += _titled("Open items that are new", map(_open_line, said.opened))
    lines += _titled("Open items that are closed", map(_open_line, said.closed))
    lines += _titled("To know", (f"  {note}" for note in said.notes))
    return "\n".join([*lines, SAFETY]) + "\n"


def _titled(title: str, lines: Iterable[str]) -> list[str]:
    found = list(lines)
    return [title, *found, ""] if found else []


def _move_lines(row: MoveRow) -> Iterable[str]:
    by = f" ({row.by})" if row.by else f" ({row.reason})" if row.reason else ""
    yield f"  {row.verdicts}  {row.id}: {row.title}: margin {row.margin}{by}"
    for cause in row.causes:
        yield f"      {cause.points:>8}  {cause.label}"


def _undone_line(row: UndoneRow) -> str:
    who = f"{row.by} ({row.role}), {row.says} in {row.seen_in}"
    return f"  {row.title}: {who}: {'; '.join(row.reasons)}"


def _given_line(row: GivenRow) -> str:
    return f"  {row.title}: {row.by}, {row.date}: {row.says}"


def _row(row: ChangeRow) -> str:
    """What was and what is, with the difference and how it is known."""
    more = "; ".join(part for part in (row.by, row.known) if part)
    return f"{row.was or 'nothing'} → {row.now or 'nothing'}{f' ({more})' if more else ''}"


def _item(row: ChangeRow) -> str:
    said = row.now or row.was
    known = not said or said.replace("_", " ") in row.label
    name = row.label if known else f"{row.label}: {said}"
    return f"{row.id}: {name}{f' ({row.known})' if row.known else ''}"


def _open_line(item: OpenItem) -> str:
    return f"  {harmless(item.text.rstrip('.'))}: {harmless(item.closes)}"


# --------------------------------------------------------------------------------- Markdown

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~&])")


def as_markdown(said: Words) -> str:
    """The comparison to paste into a pull request: tables, with every text of the users escaped."""
    lines = [f"### {_md(said.earlier)} → {_md(said.later)}", "", _md(said.summary), ""]
    lines += [line for hint in said.first for line in (_md(hint), "")]
    lines += _table(
        "Checks",
        ("Check", "Verdict", "Margin", "Moved by", "Because of, in points"),
        [_move_cells(row) for row in said.moves],
    )
    lines += [_md(said.few), ""] if said.few else []
    lines += [line for title, head, rows in _tables(said) for line in _table(title, head, rows)]
    lines += [f"- {_md(note)}" for note in said.notes] + ([""] if said.notes else [])
    return "\n".join([*lines, _md(SAFETY)]) + "\n"


Table = tuple[str, Sequence[str], Sequence[Sequence[str]]]


def _tables(said: Words) -> tuple[Table, ...]:
    """What stands below the checks: title, heads of the columns, and rows."""
    undone = [(r.title, f"{r.by} ({r.role})", r.seen_in, "; ".join(r.reasons)) for r in said.undone]
    given = [(r.title, r.by, r.date, r.says) for r in said.given]
    values = [(r.label, r.was, r.now, r.by, r.known) for r in said.values]
    items = [(r.label, r.kind, r.id, r.known) for r in said.items]
    closes = ("What", "What closes it")
    return (
        (
            "Prescriptions",
            ("Prescription", "State", "Why"),
            [(r.title, r.states, r.reason) for r in said.rules],
        ),
        ("Sign-offs undone", ("Part", "By", "Seen in", "Because of"), undone),
        ("Words given and answered", ("Part", "By", "On", "Word"), given),
        ("Values", ("Value", "was", "is", "Difference", "Basis"), values),
        ("Items added and removed", ("Item", "What", "Id", "With"), items),
        ("Other changes", ("What", "was", "is"), [(r.label, r.was, r.now) for r in said.others]),
        ("Open items that are new", closes, [(i.text, i.closes) for i in said.opened]),
        ("Open items that are closed", closes, [(i.text, i.closes) for i in said.closed]),
    )


def _move_cells(row: MoveRow) -> tuple[str, ...]:
    because = "; ".join(f"{c.points} {c.label}" for c in row.causes)
    return row.title, row.verdicts, row.margin, row.by, because or row.reason


def _table(title: str, head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    if not rows:
        return []
    body = [f"| {' | '.join(_md(cell) or ' ' for cell in row)} |" for row in rows]
    return [
        f"#### {title}",
        "",
        f"| {' | '.join(head)} |",
        f"|{'---|' * len(head)}",
        *body,
        "",
    ]


def _md(text: str) -> str:
    """Text that Markdown prints as it stands: no mark-up, no mention, no link."""
    said = _SPECIAL.sub(r"\\\1", harmless(text))
    return said.replace("@", "&#64;").replace("://", "&#58;//").replace("www.", "www&#46;")


# ------------------------------------------------------------------------------- plain data


def as_data(comparison: Comparison, found: Causes) -> dict[str, Any]:
    """The comparison as plain data, numbers in SI. An absent figure is null."""
    return {
        "format": 1,
        "earlier": _side(comparison.earlier),
        "later": _side(comparison.later),
        "renamed": dict(comparison.renames),
        "changes": [_change(c) for c in comparison.changes],
        "checks": [_move(m, found.accounts.get(m.check.id)) for m in comparison.moves],
        "requirements": [
            {
                "id": r.rule.id,
                "title": r.rule.title,
                "before": r.before.state if r.before else None,
                "after": r.after.state if r.after else None,
            }
            for r in comparison.rulings
        ],
        "opened": [_open(i) for i in comparison.opened],
        "closed": [_open(i) for i in comparison.closed],
        "signoffs_undone": [
            {"id": s.record.id, "scope": s.record.scope, "reasons": list(s.reasons)}
            for s in comparison.undone
        ],
        "look_renamed": [list(pair) for pair in comparison.alike],
        "taken_together": found.together or None,
        "unreadable_alone": [
            {"changes": [c.id for c in p.changes], "reason": p.reason} for p in found.unreadable
        ],
    }


def _side(side: Side) -> dict[str, str]:
    evaluation = side.evaluation
    return {
        "name": side.name,
        "as_of": evaluation.as_of.isoformat(),
        "fingerprint": evaluation.build.fingerprint,
    }


def _change(change: Change) -> dict[str, Any]:
    valued = change.before is not None or change.after is not None
    return {
        "id": change.id,
        "kind": change.kind,
        "label": change.label,
        "before": _quantity(change.before) if valued else change.old,
        "after": _quantity(change.after) if valued else change.new,
    }


def _quantity(quantity: Quantity | None) -> dict[str, Any] | None:
    if quantity is None:
        return None
    return {
        "value": quantity.si,
        "unit": KINDS[quantity.kind].si,
        "written": quantity.written,
        "half_width": quantity.half_width,
        "basis": quantity.basis,
        "source": quantity.source,
    }


def _move(move: Move, account: Account | None) -> dict[str, Any]:
    return {
        "id": move.check.id,
        "title": move.check.title,
        "before": _check(move.before),
        "after": _check(move.after),
        "margin_moved_by": move.by,
        "contributions": [
            {"changes": [c.id for c in s.part.changes], "margin": s.effect}
            for s in (account.shares if account else ())
        ],
        "remainder": account.remainder if account else None,
    }


def _check(check: Check | None) -> dict[str, Any] | None:
    return None if check is None else {"verdict": check.verdict, "margin": check.margin}


def _open(item: OpenItem) -> dict[str, str]:
    return {"id": item.id, "kind": item.kind, "text": item.text, "closes": item.closes}
