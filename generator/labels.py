"""What a dotted id is called, and where on the site it stands."""

from __future__ import annotations

import functools
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from importlib.resources import files
from typing import Any

from buildspec.build import Build
from buildspec.dotted import find
from buildspec.plain import spoken
from buildspec.quantities import Quantity
from generator.vocabulary import Outcome


@dataclass(frozen=True, slots=True)
class Label:
    """The words of an id: of its record first, then of itself. `page` is the file it stands on,
    empty for a record without a value of its own."""

    record: str
    own: str
    page: str

    @property
    def whole(self) -> str:
        """The words on one line."""
        return f"{self.record}: {self.own}" if self.record and self.own else self.record or self.own


Labels = Mapping[str, Label]
INPUTS = "inputs.html"


def labels(build: Build, outcomes: Mapping[str, Outcome]) -> Labels:
    """Every id of the description, then every result, step and check by its title."""
    shown = {*build.quantities, *(q.rpartition(".")[0] for q in build.quantities)}
    found = {
        dotted: Label(record, own, INPUTS if dotted in shown else "")
        for word, section in build.sections.items()
        for dotted, record, own in _Walk(build).over(section, _schema(word), word, ())
    }
    for dotted in build.quantities:
        found.setdefault(dotted, Label("", dotted, INPUTS))
    for outcome in outcomes.values():
        page = f"{outcome.subject}.html"
        titled = (
            *((r.id, r.title) for r in outcome.results),
            *((s.id, s.title) for s in outcome.steps),
            *((c.id, c.title) for c in outcome.checks),
            *((r.id, r.title) for r in outcome.requirements),
            *outcome.shown.items(),
        )
        found |= {dotted: Label("", title, page) for dotted, title in titled}
    return found


@functools.cache
def _schema(word: str) -> Any:
    """The schema of a section; empty where there is none of that name."""
    source = files("buildspec").joinpath("schema", f"{word}.schema.json")
    return json.loads(source.read_text("utf-8")) if source.is_file() else {}


def section_title(word: str) -> str:
    """What a section is called, by its schema."""
    return str(_schema(word).get("title", word))


@dataclass(frozen=True, slots=True)
class _Walk:
    """Goes through a description; an entry that stands for another one is called as that is."""

    build: Build

    def over(
        self, value: Any, schema: Any, dotted: str, words: tuple[str, ...]
    ) -> Iterator[tuple[str, str, str]]:
        """Every record and quantity below `value`: id, words of its record, words of its own."""
        if isinstance(value, Quantity):
            yield value.id, ": ".join(words[:-1]), words[-1] if words else ""
        elif is_dataclass(value):
            yield dotted, ": ".join(words) or str(schema.get("title", dotted)), ""
            yield from self._fields(value, schema, dotted, words)
        elif isinstance(value, tuple):
            yield from self._list(value, schema.get("items", {}), dotted, words)
        elif isinstance(value, Mapping):
            below, keys = schema.get("additionalProperties", {}), schema.get("propertyNames", {})
            yield dotted, ": ".join(words), ""
            for key, entry in value.items():
                name = self._meant(str(key), keys)
                yield from self.over(entry, below, f"{dotted}.{key}", (*words, name))

    def _fields(
        self, value: Any, schema: Any, dotted: str, words: tuple[str, ...]
    ) -> Iterator[tuple[str, str, str]]:
        for field in fields(value):
            below = schema.get("properties", {}).get(field.name, {})
            title = str(below.get("title", spoken(field.name)))
            yield from self.over(
                getattr(value, field.name),
                below,
                f"{dotted}.{field.name}",
                (*words, _lower(title) if words else title),
            )

    def _list(
        self, entries: tuple[Any, ...], schema: Any, dotted: str, words: tuple[str, ...]
    ) -> Iterator[tuple[str, str, str]]:
        """A list's entries stand under their own name, and the list's word is left out; bare values
        have that word and a number."""
        if entries:
            yield dotted, ": ".join(words), ""
        for index, entry in enumerate(entries):
            if isinstance(entry, Quantity):
                yield entry.id, ": ".join(words[:-1]), f"{words[-1]}, no. {index + 1}"
                continue
            key = str(getattr(entry, "id", index))
            name = self._name(entry, schema) or _numbered(words, schema, index)
            yield from self.over(entry, schema, f"{dotted}.{key}", (*words[:-1], name))

    def _name(self, entry: Any, schema: Any) -> str:
        """What an entry calls itself: its name, title or text, or else its id in words; or ""."""
        other = str(getattr(entry, "activity", ""))
        meant = schema.get("properties", {}).get("activity", {})
        own = _own_name(entry) or self._meant(other, meant)
        return own or spoken(str(getattr(entry, "id", "")))

    def _meant(self, other: str, schema: Any) -> str:
        """The name of the entry elsewhere that an id stands for, by its schema's `x-refers`."""
        targets = schema.get("x-refers", ())
        places = (targets,) if isinstance(targets, str) else tuple(targets)
        found = (find(self.build.sections, f"{place}.{other}") for place in places if other)
        return next((name for entry in found if (name := _own_name(entry))), spoken(other))


def _own_name(entry: Any) -> str:
    """What an entry calls itself, or ""."""
    own = (getattr(entry, field, "") for field in ("name", "title", "text"))
    return next((words for words in own if isinstance(words, str) and words), "")


def _numbered(words: tuple[str, ...], schema: Any, index: int) -> str:
    """What an entry without any name is called, after its list and its schema: `vent, point 1`; in a list of
    points, `point 1`.
    """
    one = f"{_lower(str(schema.get('title', 'no.')))} {index + 1}"
    own = words[-1] if words else ""
    return one if not own or own.lower() == f"{one.split(maxsplit=1)[0]}s" else f"{own}, {one}"


def _lower(title: str) -> str:
    """A title in the middle of a line: `Loaded radius` → `loaded radius`, but `CG` stays."""
    return title if title[1:2].isupper() else title[:1].lower() + title[1:]
