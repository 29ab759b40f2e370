"""Checked plain data → the frozen records of the sections, generically from their type hints."""

from __future__ import annotations

import dataclasses
import datetime
import enum
import functools
import hashlib
import json
import types
import typing
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple, cast

from buildspec.documents import Document, Path
from buildspec.evidence import FileFact
from buildspec.quantities import Basis, Quantity, Reading, read
from buildspec.schema import Schema, child, quantity_kind, resolved
from buildspec.values import Value, read_value, written


class Inherited(NamedTuple):
    """What a record says about its values that do not say so themselves."""

    basis: Basis | None = None
    source: str = ""


class Spot(NamedTuple):
    """Where a value is being filled in: its path in the document, its id, and its schema."""

    path: Path
    id: str
    schema: Schema

    def down(self, step: str | int, name: str | None = None) -> Spot:
        """The spot of a child; `name` is what the child is called in ids, where not `step`."""
        schema = resolved(child(self.schema, step) or {})
        return Spot((*self.path, step), f"{self.id}.{step if name is None else name}", schema)


def fill_section(
    record: type, data: object, document: Document, word: str, schema: Schema
) -> object:
    """The section `word` as `record`. `data` must have passed the checks against `schema`."""
    return _fill(record, data, Spot((word,), word, schema), document, Inherited())


def _fill(hint: Any, data: object, spot: Spot, document: Document, above: Inherited) -> object:
    """Data in the form that a type hint asks for."""
    kind = plain_hint(hint)
    origin = typing.get_origin(kind)
    if kind is Quantity:
        return _quantity(data, spot, document, above)
    if dataclasses.is_dataclass(kind):
        return _record(cast(type, kind), cast(Mapping[str, Any], data), spot, document, above)
    if isinstance(origin, type) and issubclass(origin, tuple | Mapping):
        return _several(typing.get_args(kind), data, spot, document, above)
    if kind is datetime.date:
        return datetime.date.fromisoformat(cast(str, data))
    return kind(data) if isinstance(kind, type) and issubclass(kind, enum.Enum) else data


def _several(
    hints_of: tuple[Any, ...], data: object, spot: Spot, document: Document, above: Inherited
) -> object:
    """The entries of a list as a tuple, or the values of a group as a mapping."""
    if isinstance(data, Mapping):
        return {
            key: _fill(hints_of[1], value, spot.down(key), document, above)
            for key, value in data.items()
        }
    return tuple(
        _fill(hints_of[0], entry, spot.down(n, _name(entry, n)), document, above)
        for n, entry in enumerate(cast(list[Any], data))
    )


@functools.cache
def plain_hint(hint: Any) -> Any:
    """A type hint without its `| None`."""
    if isinstance(hint, types.UnionType) or typing.get_origin(hint) is typing.Union:
        return next(a for a in typing.get_args(hint) if a is not types.NoneType)
    return hint


def _name(entry: object, number: int) -> str:
    """What an entry of a list is called in ids: its `id`, or its place."""
    if isinstance(entry, Mapping) and isinstance(entry.get("id"), str):
        return str(entry["id"])
    return str(number)


@functools.cache
def hints(record: type) -> Mapping[str, Any]:
    """The type hints of a record."""
    return typing.get_type_hints(record)


def _record(
    record: type, data: Mapping[str, Any], spot: Spot, document: Document, above: Inherited
) -> object:
    inherited = _inherited(data, spot.schema, above)
    values: dict[str, object] = {}
    for name, hint in hints(record).items():
        key = key_of(name)
        if key in data:
            values[name] = _fill(hint, data[key], spot.down(key), document, inherited)
        elif assumed := spot.schema["properties"][key].get("x-assumed"):
            values[name] = _assumed(assumed, spot.down(key), document)
    return record(**values)


def key_of(name: str) -> str:
    """The key that fills a field: its name, without the `_` that keeps it from a word of Python."""
    return name.removesuffix("_")


def _inherited(data: Mapping[str, Any], schema: Schema, above: Inherited) -> Inherited:
    """What the values of this record inherit: its own basis and source, else those above."""
    if "basis" not in schema.get("properties", {}):
        return above
    return Inherited(data.get("basis", above.basis), data.get("source", above.source))


def _quantity(data: object, spot: Spot, document: Document, above: Inherited) -> Quantity:
    kind = cast(str, quantity_kind(spot.schema))
    given: Mapping[str, Any] = data if isinstance(data, Mapping) else {"value": data}
    value = cast(Value, read_value(data, kind, spot.schema))
    basis: Basis | None = given.get("basis") or above.basis or spot.schema.get("x-basis")
    at = (*spot.path, "value") if isinstance(data, Mapping) else spot.path
    return Quantity(
        id=spot.id,
        si=value.reading.si,
        kind=kind,
        written=_as_written(given["value"], at, document),
        unit=value.reading.unit,
        half_width=value.half_width,
        distribution=value.distribution,
        coverage=value.coverage,
        basis=basis or "assumed",
        source=given.get("source", above.source),
        fraction=value.reading.fraction,
        stated=bool(spot.schema.get("x-stated")),
        basis_given=basis is not None,
        place=document.place(at),
    )


def _as_written(raw: object, path: Path, document: Document) -> str:
    """A number as its author wrote it, `1.50` and not 1.5; text as it stands."""
    spot = document.values.get(path)
    return (
        raw.strip() if isinstance(raw, str) else (spot.text if spot and spot.text else written(raw))
    )


def _assumed(assumed: Mapping[str, Any], spot: Spot, document: Document) -> Quantity:
    """A value that the program supplies, with the reason it gives."""
    kind = cast(str, quantity_kind(spot.schema))
    reading = cast(Reading, read(assumed["value"], kind))
    return Quantity(
        id=spot.id,
        si=reading.si,
        kind=kind,
        written=assumed["value"],
        unit=reading.unit,
        source=assumed["source"],
        stated=bool(spot.schema.get("x-stated")),
        default=True,
        asks=bool(assumed.get("asks")),
        place=document.place(spot.path),
    )


# ------------------------------------------------------------------------ ids and fingerprint


def quantities(value: Any) -> Iterator[Quantity]:
    """Every quantity in a filled record, in its order."""
    if isinstance(value, Quantity):
        yield value
    elif (names := _names(value.__class__)) is not None:
        for name in names:
            yield from quantities(getattr(value, name))
    elif isinstance(value, tuple):
        for entry in value:
            yield from quantities(entry)
    elif isinstance(value, dict):
        for entry in value.values():
            yield from quantities(entry)


@functools.cache
def _names(kind: type) -> tuple[str, ...] | None:
    """The names of a record's fields, in their order; None of what is no record."""
    return (
        tuple(f.name for f in dataclasses.fields(kind)) if dataclasses.is_dataclass(kind) else None
    )


def ids(data: object, path: Path, name: str) -> Iterator[tuple[str, Path]]:
    """Every id of the description below `path`, with its path: records, values and entries."""
    yield name, path
    if isinstance(data, dict):
        for key, value in data.items():
            yield from ids(value, (*path, key), f"{name}.{key}")
    elif isinstance(data, list):
        for number, entry in enumerate(data):
            yield from ids(entry, (*path, number), f"{name}.{_name(entry, number)}")


def fingerprint(sections: Mapping[str, object], files: Mapping[str, FileFact] | None = None) -> str:
    """SHA-256 of what the sections mean: 64 hexadecimal digits.

    Values count in SI to twelve digits, with spread, basis and source. Comments, layout, the
    files things stand in, CSV or YAML, and the unit a value is written in do not count. The
    content of the files that are named as proof does.
    """
    meaning = {word: _meaning(section) for word, section in sections.items()}
    if files:
        meaning["files"] = {name: known.sha256 for name, known in files.items()}
    text = json.dumps(meaning, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _meaning(value: Any) -> object:
    if isinstance(value, Quantity):
        return [
            f"{value.si:.11e}",
            f"{value.half_width:.11e}",
            value.distribution,
            f"{value.coverage:.11e}",
            value.basis,
            value.source,
        ]
    if (names := _names(value.__class__)) is not None:
        return {name: _meaning(getattr(value, name)) for name in names}
    if isinstance(value, tuple):
        return [_meaning(entry) for entry in value]
    if isinstance(value, dict):
        return {key: _meaning(entry) for key, entry in value.items()}
    if isinstance(value, enum.Enum | datetime.date):
        return str(value)
    return value
