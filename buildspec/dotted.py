"""Dotted ids of the description that a description names itself: where they lead, and what stands there."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from buildspec.diagnostics import closest, listed, quoted
from buildspec.quantities import Misread, Quantity, read
from buildspec.schema import Schema, quantity_kind, resolved, top
from buildspec.validate import is_date
from buildspec.values import written


@dataclass(frozen=True, slots=True)
class Lost:
    """Why an id leads nowhere: `message` says what was found, `help` what is allowed."""

    message: str
    help: str


# ------------------------------------------------------------------------------ by the schema


def governing(dotted: str) -> Schema | Lost:
    """The schema of the place that `dotted` names, or where its path ends."""
    schema: Schema = {"properties": top()["properties"]}
    steps = dotted.split(".")
    for number, step in enumerate(steps):
        below = _below(schema, step)
        if below is None:
            return _lost(steps, number, tuple(_known(schema)))
        schema = below
    return schema


def _below(schema: Schema, step: str) -> Schema | None:
    if quantity_kind(schema):
        return None
    here = resolved(schema)
    if "items" in here:
        entry: Schema = here["items"]
        return entry
    inner = here.get("properties", {}).get(step)
    other = here.get("additionalProperties")
    return inner if inner is not None else other if isinstance(other, Mapping) else None


def _known(schema: Schema) -> Mapping[str, Schema]:
    known: Mapping[str, Schema] = (
        {} if quantity_kind(schema) else resolved(schema).get("properties", {})
    )
    return known


def _lost(steps: list[str], number: int, known: tuple[str, ...]) -> Lost:
    """The sentence for a path that ends before its step `number`."""
    step, holder = steps[number], ".".join(steps[:number])
    if not known:
        return Lost(
            f"{quoted('.'.join(steps))} leads nowhere: {quoted(holder)} is a value, with nothing below it",
            f"write {quoted(holder)}",
        )
    where = f"{quoted(holder)} has no" if holder else "there is no section"
    near = closest(step, known)
    meant = ".".join((*steps[:number], near or "", *steps[number + 1 :]))
    return Lost(
        f"{quoted('.'.join(steps))} leads nowhere: {where} {quoted(step)}",
        f"did you mean {quoted(meant)}?" if near else f"known there: {listed(known, 30)}",
    )


# -------------------------------------------------------------------------------- by the data


def find(sections: Mapping[str, object], dotted: str) -> object | None:
    """What the description says at a dotted id: a value, a record, a list; None where nothing.

    Empty text, an empty list and a value that the program supplied are nothing.
    """
    value: object | None = sections
    for step in dotted.split("."):
        value = _entry(value, step)
    if isinstance(value, Quantity) and value.default:
        return None
    return None if value in ("", ()) else value


def _entry(value: object | None, step: str) -> object | None:
    """What stands one step down; an entry of a list goes by its id, or else by its number."""
    if isinstance(value, Mapping):
        return value.get(step)
    if isinstance(value, tuple):
        by_id = (e for e in value if getattr(e, "id", None) == step)
        by_number = (
            value[int(step)]
            if step.isascii() and step.isdigit() and int(step) < len(value)
            else None
        )
        return next(by_id, by_number)
    if dataclasses.is_dataclass(value) and not isinstance(value, Quantity):
        names = {f.name for f in dataclasses.fields(value)}
        name = next((n for n in (step, f"{step}_") if n in names), None)
        return getattr(value, name) if name else None
    return None


def missing_entry(sections: Mapping[str, object], dotted: str) -> Lost | None:
    """Where a path names an entry that a described list does not have; None where it does not."""
    steps = dotted.split(".")
    value: object | None = sections
    for number, step in enumerate(steps):
        below = _entry(value, step)
        if below is None and isinstance(value, tuple) and value:
            known = tuple(str(getattr(e, "id", n)) for n, e in enumerate(value))
            return _lost(steps, number, known)
        value = below
    return None


# ---------------------------------------------------------------------------- what is compared

Bound = float | str | bool | datetime.date
"""A bound as read: SI number, count, word, true or false, or a date."""


def scale_of(schema: Schema) -> str:
    """How values of a schema are compared: a kind of quantity, or `count`, `word`, `switch`, `date`.

    "" for a record, which cannot be compared.
    """
    if kind := quantity_kind(schema):
        return kind
    here = resolved(schema)
    type_ = here.get("type")
    first = type_[0] if isinstance(type_, list) else type_
    if here.get("format") == "date":
        return "date"
    names = {
        "integer": "count",
        "number": "count",
        "array": "count",
        "boolean": "switch",
        "string": "word",
    }
    return names.get(str(first), "")


PLAIN_SCALES = ("count", "word", "switch", "date")
ORDERED = ("count", "date")


def is_ordered(scale: str) -> bool:
    """Whether values of a scale can be more or less than another."""
    return scale in ORDERED or scale not in PLAIN_SCALES


def read_bound(raw: str | int | float | bool, scale: str) -> Bound | Misread:
    """A bound as its scale reads it, or why it cannot be compared with a value of that scale."""
    if scale == "word":
        return written(raw) if not isinstance(raw, bool) else str(raw).lower()
    if scale == "switch":
        return raw if isinstance(raw, bool) else _unfit(raw, "true or false", "`true` or `false`")
    if isinstance(raw, bool):
        return _unfit(raw, "a number or a date", "a number, with its unit where it has one")
    if scale == "date":
        return _date(raw)
    return _count(raw) if scale == "count" else _quantity(raw, scale)


def _quantity(raw: str | int | float, kind: str) -> float | Misread:
    reading = read(written(raw), kind)
    return reading if isinstance(reading, Misread) else reading.si


def _count(raw: str | int | float) -> float | Misread:
    if isinstance(raw, str):
        return _unfit(raw, "a number", "a plain number, such as `2`, without quotes or a unit")
    return float(raw)


def _date(raw: str | int | float) -> datetime.date | Misread:
    if isinstance(raw, str) and is_date(raw):
        return datetime.date.fromisoformat(raw)
    return _unfit(raw, "a date", "year, month and day, such as `2026-09-12`")


def _unfit(raw: object, what: str, allowed: str) -> Misread:
    said = str(raw).lower() if isinstance(raw, bool) else str(raw)
    return Misread(
        "rules.bound",
        f"{quoted(said)} cannot be compared: the value is {what}",
        f"write {allowed}",
        0,
        len(said),
    )
