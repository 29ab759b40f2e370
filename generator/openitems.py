"""The open items as rows: for the page's filter, and as CSV and JSON for whoever plans with them."""

from __future__ import annotations

import csv
import datetime
import io
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from generator.evaluation import Evaluation
from generator.results import open_item
from generator.vocabulary import OpenItem

CSV_NAME, JSON_NAME = "open-items.csv", "open-items.json"
COLUMNS = (
    "id",
    "kind",
    "what is open",
    "what would close it",
    "owner",
    "hours",
    "due",
    "subject",
    "holds up",
)
NOBODY = "nobody named"
_BEGINS = ("=", "+", "-", "@", "\t", "\r")
"""What makes a spreadsheet take text for a formula."""

OVERDUE = "overdue"
_FIRST = (OVERDUE, "departs", "short", "open")
GROUPS = {
    OVERDUE: "Overdue",
    "departs": "Departs from what is prescribed",
    "short": "Falls short",
    "open": "Cannot be decided",
    "missing": "A value is missing",
    "assumed": "Still assumed",
    "range": "Outside the valid range",
    "measurement": "A measurement is missing",
    "disagreement": "Prediction and measurement disagree",
    "work": "Work to do",
    "evidence": "Proof is missing",
    "date": "A date will not be kept",
    "review": "A reviewer's word is missing",
    "other": "Other",
}
"""What heads the items of a kind."""

Names = Callable[[OpenItem], str]


@dataclass(frozen=True, slots=True)
class Group:
    """Items that press alike: how many, and the first day on which one of them is due."""

    slug: str
    title: str
    items: tuple[OpenItem, ...]
    due: datetime.date | None


def grouped(items: tuple[OpenItem, ...], as_of: datetime.date) -> tuple[Group, ...]:
    """The items by kind, those overdue apart and before all; within one, the order stays.

    Then come departures, shortfalls and what cannot be decided; the other kinds as they come in.
    """
    found: dict[str, list[OpenItem]] = {slug: [] for slug in _FIRST}
    for item in items:
        late = item.due is not None and item.due < as_of
        found.setdefault(OVERDUE if late else item.kind, []).append(item)
    return tuple(
        Group(slug, GROUPS[slug], tuple(own), min((i.due for i in own if i.due), default=None))
        for slug, own in found.items()
        if own
    )


@dataclass(frozen=True, slots=True)
class Owner:
    """The items of one owner: how many, and the hours that are stated in them."""

    name: str
    items: tuple[OpenItem, ...]
    hours: float


def by_owner(items: tuple[OpenItem, ...]) -> tuple[Owner, ...]:
    """The items by owner, names sorted; those of nobody last. Within one, the order stays."""
    found: dict[str, list[OpenItem]] = {}
    for item in items:
        found.setdefault(item.owner, []).append(item)
    return tuple(
        Owner(name or NOBODY, tuple(own), sum(i.hours or 0.0 for i in own))
        for name, own in sorted(found.items(), key=lambda pair: (not pair[0], pair[0]))
    )


def as_csv(evaluation: Evaluation, kinds: Mapping[str, str], text: Names) -> bytes:
    """The items as CSV (RFC 4180) in UTF-8 with a mark that spreadsheets need to see that it is.

    `kinds` and `text` say kind and item in words. Text that a spreadsheet would take for a formula
    gets an apostrophe in front, as spreadsheets themselves write it.
    """
    sink = io.StringIO()
    writer = csv.writer(sink)
    writer.writerow(COLUMNS)
    for item in evaluation.open_items:
        cells = (
            item.id, kinds[item.kind], text(item), item.closes, item.owner,
            "" if item.hours is None else f"{item.hours:g}",
            item.due.isoformat() if item.due else "", item.subject, " ".join(item.blocks),
        )  # fmt: skip
        writer.writerow([_tame(cell) for cell in cells])
    return sink.getvalue().encode("utf-8-sig")


def _tame(cell: str) -> str:
    """Text that no spreadsheet runs."""
    return f"'{cell}" if cell.startswith(_BEGINS) else cell


def as_json(evaluation: Evaluation) -> bytes:
    """The items as results.json has them, with the day they are of."""
    data: dict[str, Any] = {
        "as_of": evaluation.as_of.isoformat(),
        "fingerprint": evaluation.build.fingerprint,
        "open_items": [open_item(item) for item in evaluation.open_items],
    }
    return (json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()
