"""What one part of a description says about another: references, cycles and counts."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from buildspec.diagnostics import Diagnostic, Note, Place, closest, listed, quoted, too_many
from buildspec.documents import Document, Path
from buildspec.graphs import circle_problem, find_circle
from buildspec.schema import Schema, load, resolved, top
from buildspec.validate import Placed, is_broken

MAX_FOUND = 200
"""Mistakes of reference looked for; past them the rest waits until these are mended."""


def check_references(document: Document) -> tuple[Placed, ...]:
    """Every reference that leads nowhere, every circle, and every count that does not fit."""
    whole = _Whole(document)
    found = (
        (path, problem)
        for path, schema, value in governed(top(), document.data, ())
        if not is_broken(document, path)
        for keyword, look in _LOOKS.items()
        if keyword in schema
        for problem in look(value, schema[keyword], whole, path)
    )
    first = tuple(itertools.islice(found, MAX_FOUND))
    if len(first) < MAX_FOUND:
        return first
    return (*first, ((), too_many(first[-1][1].place)))


@dataclass
class _Whole:
    """The whole description, with the ids of its lists, each gathered once."""

    document: Document
    gathered: dict[tuple[str, ...], dict[str, Path]] = field(default_factory=dict)

    def ids(self, places: tuple[str, ...]) -> dict[str, Path]:
        if places not in self.gathered:
            self.gathered[places] = known_ids(self.document.data, places)
        return self.gathered[places]


def governed(schema: Schema, data: object, path: Path) -> Iterator[tuple[Path, Schema, Any]]:
    """Every place whose schema has one of the keywords; keys too, for `propertyNames`."""
    here = resolved(schema)
    if not _needs(id(here), here):
        return
    if any(keyword in here for keyword in _LOOKS):
        yield path, here, data
    if isinstance(data, list) and "items" in here:
        for number, entry in enumerate(data):
            yield from governed(here["items"], entry, (*path, number))
    elif isinstance(data, Mapping):
        names = here.get("propertyNames", {})
        for key, value in data.items():
            if "x-refers" in names:
                yield (*path, key), {"x-refers-key": names["x-refers"]}, key
            if key in here.get("properties", {}):
                yield from governed(here["properties"][key], value, (*path, key))


_NEEDED: dict[int, bool] = {}


def _needs(identity: int, schema: Schema) -> bool:
    """Whether one of the keywords stands in a schema. Schemas live as long as the program."""
    if identity not in _NEEDED:
        _NEEDED[identity] = _has_keyword(schema)
    return _NEEDED[identity]


def _has_keyword(schema: Any) -> bool:
    if isinstance(schema, list):
        return any(_has_keyword(s) for s in schema)
    if not isinstance(schema, Mapping):
        return False
    if any(keyword in schema for keyword in _LOOKS):
        return True
    ref = str(schema.get("$ref", ""))
    if ref.endswith(".schema.json") and _has_keyword(load(ref.removesuffix(".schema.json"))):
        return True
    return any(_has_keyword(s) for s in schema.values())


# ------------------------------------------------------------------------------- references


def entries(data: object, place: str) -> list[tuple[Path, Any]]:
    """The entries of the lists that a dotted place names, `*` standing for every entry."""
    found: list[tuple[Path, Any]] = [((), data)]
    for step in (*place.split("."), "*"):
        below: list[tuple[Path, Any]] = []
        for path, value in found:
            if step == "*" and isinstance(value, list):
                below += [((*path, n), entry) for n, entry in enumerate(value)]
            elif isinstance(value, Mapping) and step in value:
                below.append(((*path, step), value[step]))
        found = below
    return found


def known_ids(data: object, places: tuple[str, ...]) -> dict[str, Path]:
    """The ids that stand in the lists named by `places`, with their paths."""
    found: dict[str, Path] = {}
    for place in places:
        for path, entry in entries(data, place):
            if isinstance(entry, Mapping) and isinstance(entry.get("id"), str):
                found.setdefault(entry["id"], path)
    return found


def _reference(value: object, target: Any, whole: _Whole, path: Path) -> Iterator[Diagnostic]:
    """A value that must be the id of an entry elsewhere."""
    if isinstance(value, str):
        yield from _dangling(value, target, whole, whole.document.place(path))


def _reference_by_key(
    value: object, target: Any, whole: _Whole, path: Path
) -> Iterator[Diagnostic]:
    """A key that must be the id of an entry elsewhere."""
    yield from _dangling(str(value), target, whole, whole.document.key(path))


def _dangling(
    name: str, target: str | list[str], whole: _Whole, place: Place
) -> Iterator[Diagnostic]:
    places = (target,) if isinstance(target, str) else tuple(target)
    if _unread(whole.document, places):
        return
    known = whole.ids(places)
    if name in known:
        return
    where = f"`{places[0]}`"
    if not known:
        yield Diagnostic(
            "reference.missing",
            f"{quoted(name)} is not described: there are no {where}",
            place,
            f"describe it under {where}, or take the name out",
        )
        return
    near = closest(name, tuple(known))
    hint = f"did you mean `{near}`? " if near else ""
    yield Diagnostic(
        "reference.missing",
        f"{quoted(name)} is none of {where}",
        place,
        f"{hint}{where} has {listed(known)}",
    )


def _unread(document: Document, places: tuple[str, ...]) -> bool:
    """Whether what a reference leads to could not be read: then nothing can be said about it."""
    for place in places:
        fixed = tuple(place.split(".*")[0].split("."))
        if is_broken(document, fixed):
            return True
    return False


# ------------------------------------------------------------------------ circles and counts


def _circle(value: object, key: str, whole: _Whole, path: Path) -> Iterator[Diagnostic]:
    """A circle among the entries of a list, each naming others under `key`."""
    document = whole.document
    if not isinstance(value, list):
        return
    graph: dict[str, list[str]] = {}
    numbers: dict[str, int] = {}
    for number, entry in enumerate(value):
        if isinstance(entry, Mapping) and isinstance(entry.get("id"), str):
            after = entry.get(key, [])
            graph.setdefault(
                entry["id"],
                [a for a in after if isinstance(a, str)] if isinstance(after, list) else [],
            )
            numbers.setdefault(entry["id"], number)
    circle = find_circle(graph)
    if circle:
        yield circle_problem(
            circle,
            key,
            document.place((*path, numbers[circle[0]], key)),
            tuple(
                Note(document.place((*path, numbers[c], "id")), f"{quoted(c)}") for c in circle[1:4]
            ),
        )


def _counts(value: object, place: str, whole: _Whole, path: Path) -> Iterator[Diagnostic]:
    """A number that says how many entries a list elsewhere has."""
    document = whole.document
    if not isinstance(value, int) or _unread(document, (place,)):
        return
    found = entries(document.data, place)
    if found and len(found) != value:
        yield Diagnostic(
            "reference.count",
            f"{quoted(path[-1])} is {value}, and `{place}` has {len(found)} entries",
            document.place(path),
            "make the two agree",
            (Note(document.place(found[0][0][:-1]), "the entries"),),
        )


_LOOKS: Mapping[str, Callable[[Any, Any, _Whole, Path], Iterator[Diagnostic]]] = {
    "x-refers": _reference,
    "x-refers-key": _reference_by_key,
    "x-acyclic": _circle,
    "x-counts": _counts,
}
