"""What differs between two descriptions, by the ids of the design and not by their text.

A value counts by what it means: another unit for the same length, a comment, the file it stands in,
CSV or YAML are no difference.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from buildspec.build import Build
from buildspec.plain import Address, Patch, entry_ids, step_into
from buildspec.quantities import Quantity
from buildspec.schema import Schema, child, quantity_kind, resolved, top
from generator.labels import labels, section_title

ChangeKind = Literal["value", "choice", "words", "list", "order", "added", "removed", "day", "page"]
NAMES = ("name", "title", "text")
"""Keys under which a record says what it is called, the first that it has."""
_INHERITED = ("basis", "source")
_WORDS = frozenset({"name", "title", "text", "note", "notes", "source", "summary", "description"})


@dataclass(frozen=True)
class Design:
    """A description as read: plain data, and the build made of it."""

    data: Any
    build: Build


@dataclass(frozen=True)
class Change:
    """One difference. `id` is dotted, `label` its words.

    `before` and `after` are the quantities of a changed value; `old` and `new` the plain data of
    anything else (None where absent). `patch` makes this change, alone, in the earlier
    description; it is None where there is nothing to make, as for wording.
    """

    id: str
    kind: ChangeKind
    label: str
    old: Any = None
    new: Any = None
    before: Quantity | None = None
    after: Quantity | None = None
    patch: Patch | None = None

    @property
    def section(self) -> str:
        """The section it stands in."""
        return self.id.split(".", 1)[0]

    @property
    def number_moved(self) -> bool:
        """Whether the number itself changed, and not only how it is known."""
        if self.before is None or self.after is None:
            return False
        return not same_number(self.before.si, self.after.si)


def same_number(one: float, other: float) -> bool:
    """Equal to twelve digits, which another unit for the same value is."""
    return abs(one - other) <= 1e-11 * max(abs(one), abs(other))


def differences(earlier: Design, later: Design) -> tuple[Change, ...]:
    """Every difference, in the order of the later description; what was removed stands last."""
    walker = _Walker(earlier, later)
    found = tuple(walker.between(earlier.data, later.data, (), top()))
    lasting = tuple(c for c in found if c.kind != "removed")
    gone = tuple(c for c in found if c.kind == "removed")
    return lasting + gone + tuple(_pages(earlier.build, later.build))


class _Walker:
    """Walks both descriptions side by side; holds what every step needs to know."""

    def __init__(self, earlier: Design, later: Design) -> None:
        self.earlier, self.later = earlier.build, later.build
        self.data = later.data, earlier.data
        self.words = {**labels(earlier.build, {}), **labels(later.build, {})}

    def between(self, old: Any, new: Any, at: Address, schema: Schema) -> Iterator[Change]:
        """The differences at one place, which both descriptions have."""
        here = resolved(schema)
        if quantity_kind(schema) is not None:
            yield from self.quantity(old, new, at)
        elif isinstance(old, Mapping) and isinstance(new, Mapping):
            yield from self.group(old, new, at, here)
        elif isinstance(old, list) and isinstance(new, list):
            yield from self.entries(old, new, at, here)
        elif old != new:
            kind: ChangeKind = "list" if isinstance(new, list) else _kind_of(at, here)
            yield self.change(at, kind, old, new, Patch("set", at, new))

    def change(
        self, at: Address, kind: ChangeKind, old: Any, new: Any, patch: Patch | None
    ) -> Change:
        dotted = _dotted(at)
        return Change(
            dotted,
            kind,
            self.label(at),
            old,
            new,
            self.earlier.quantities.get(dotted),
            self.later.quantities.get(dotted),
            patch,
        )

    def label(self, at: Address) -> str:
        """The words of a place, below its section's title where nothing on the way has a name of its own."""
        words = self.own_label(at)
        section = section_title(str(at[0])) if at else ""
        if len(at) < 2 or words.startswith(section) or self.is_named(at):
            return words
        return f"{section}: {words[:1].lower()}{words[1:]}"

    def own_label(self, at: Address) -> str:
        """The words of a place: its own, or those of what holds it and the title of the key."""
        known = self.words.get(_dotted(at))
        if known is not None and known.whole:
            return known.whole
        if not at:
            return "the description"
        title = str((_schema_at(at) or {}).get("title", str(at[-1]).replace("_", " ")))
        return title if len(at) == 1 else f"{self.own_label(at[:-1])}: {title.lower()}"

    def is_named(self, at: Address) -> bool:
        """Whether something on the way to a place, or at it, says what it is called."""
        return any(
            isinstance(held, Mapping) and any(held.get(key) for key in NAMES)
            for data in self.data
            for held in _on_the_way(data, at)
        )

    # -- values

    def quantity(self, old: Any, new: Any, at: Address) -> Iterator[Change]:
        dotted = _dotted(at)
        before, after = self.earlier.quantities[dotted], self.later.quantities[dotted]
        if meaning(before) != meaning(after):
            yield self.change(at, "value", old, new, Patch("set", at, explicit(new, after)))

    # -- groups

    def group(
        self, old: Mapping[str, Any], new: Mapping[str, Any], at: Address, schema: Schema
    ) -> Iterator[Change]:
        for key in (k for k in dict.fromkeys((*new, *old)) if not _inherited(k, schema)):
            below, place = child(schema, key) or {}, (*at, key)
            if key not in old:
                yield from self.added(place, new[key], below)
            elif key not in new:
                yield from self.removed(place, old[key], below)
            else:
                yield from self.between(old[key], new[key], place, below)

    def added(
        self, at: Address, value: Any, schema: Schema, after: tuple[str, ...] = ()
    ) -> Iterator[Change]:
        quantity = self.later.quantities.get(_dotted(at))
        plain = explicit(value, quantity) if quantity else value
        patch = Patch("add", at, plain, after)
        if quantity is not None and _dotted(at) in self.earlier.quantities:
            yield from self.supplied(at, None, value, patch)
        else:
            yield self.change(at, _kind_of(at, schema, "added"), None, value, patch)

    def removed(self, at: Address, value: Any, schema: Schema) -> Iterator[Change]:
        dotted, patch = _dotted(at), Patch("drop", at)
        if dotted in self.earlier.quantities and dotted in self.later.quantities:
            yield from self.supplied(at, value, None, patch)
        else:
            yield self.change(at, _kind_of(at, schema, "removed"), value, None, patch)

    def supplied(self, at: Address, old: Any, new: Any, patch: Patch) -> Iterator[Change]:
        """A value that the program supplies on one side, and the description on the other."""
        before, after = self.earlier.quantities[_dotted(at)], self.later.quantities[_dotted(at)]
        if meaning(before) != meaning(after):
            yield self.change(at, "value", old, new, patch)

    # -- lists

    def entries(
        self, old: list[Any], new: list[Any], at: Address, schema: Schema
    ) -> Iterator[Change]:
        before, after = entry_ids(old), entry_ids(new)
        below: Schema = schema.get("items", {})
        if before is not None and after is not None and (before or after):
            yield from self.records(old, new, at, below)
        elif len(old) == len(new) and _records(old) and _records(new):
            for number, (one, other) in enumerate(zip(old, new, strict=True)):
                yield from self.between(one, other, (*at, number), below)
        elif old != new:
            yield self.change(at, "list", old, new, Patch("set", at, new))

    def records(
        self, old: list[Any], new: list[Any], at: Address, below: Schema
    ) -> Iterator[Change]:
        before, after = entry_ids(old) or [], entry_ids(new) or []
        kept = set(before)
        before_it: tuple[str, ...] = ()
        for name, value in zip(after, new, strict=True):
            if name in kept:
                yield from self.between(step_into(old, name), value, (*at, name), below)
                before_it = ()
            else:
                yield from self.added((*at, name), value, below, before_it)
            before_it = (name, *before_it)
        for name in before:
            if name not in set(after):
                yield from self.removed((*at, name), step_into(old, name), below)
        if [n for n in before if n in set(after)] != [n for n in after if n in kept]:
            yield self.change(at, "order", before, after, Patch("order", at, after))


def explicit(raw: Any, quantity: Quantity) -> dict[str, Any]:
    """A value's plain data with the basis and the source it has from the record that holds it."""
    given = dict(raw) if isinstance(raw, Mapping) else {"value": raw}
    if quantity.basis_given:
        given["basis"] = quantity.basis
    if quantity.source:
        given["source"] = quantity.source
    return given


def meaning(quantity: Quantity) -> tuple[object, ...]:
    """What a value means: number and spread to twelve digits, basis and source."""
    numbers = (quantity.si, quantity.half_width, quantity.coverage)
    return (
        *(f"{number:.11e}" for number in numbers),
        quantity.distribution,
        quantity.basis,
        quantity.source,
    )


def _on_the_way(data: Any, at: Address) -> Iterator[Any]:
    """What stands at each step below the section, as far as the description has it."""
    for number, step in enumerate(at):
        try:
            data = step_into(data, step)
        except KeyError:
            return
        if number:
            yield data


def _dotted(at: Address) -> str:
    return ".".join(str(step) for step in at)


def _records(entries: list[Any]) -> bool:
    return bool(entries) and all(isinstance(e, Mapping) for e in entries)


def _inherited(key: str, schema: Schema) -> bool:
    """Whether a key only says how the values below are known: they show that themselves."""
    return key in _INHERITED and "basis" in resolved(schema).get("properties", {})


def _schema_at(at: Address) -> Schema | None:
    schema: Schema | None = top()
    for step in at:
        if schema is None:
            return None
        here = resolved(schema)
        schema = here["items"] if "items" in here else child(here, step)
    return resolved(schema) if schema is not None else None


def _kind_of(at: Address, schema: Schema, otherwise: ChangeKind = "choice") -> ChangeKind:
    """`words` for free text, which no calculation reads; else what the caller says."""
    here = resolved(schema)
    free = here.get("type") == "string" and not {"enum", "x-refers", "pattern", "format"} & {*here}
    return "words" if free and at and at[-1] in _WORDS else otherwise


def _pages(earlier: Build, later: Build) -> Iterator[Change]:
    """The team's own pages."""
    old, new = ({p.name: p for p in b.pages} for b in (earlier, later))
    for name in sorted({*old, *new}):
        one, other = old.get(name), new.get(name)
        if (one.text if one else None) != (other.text if other else None):
            title = (other or one).title  # type: ignore[union-attr]  # one of the two is there
            yield Change(
                f"pages.{name}",
                "page",
                title,
                "there" if one else None,
                "there" if other else None,
            )
