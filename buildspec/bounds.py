"""Bounds of rule sheets against the scale of what they bound: units, order, and which is the lower."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping

from buildspec.diagnostics import Diagnostic, Note, Place, quoted
from buildspec.dotted import Bound, is_ordered, read_bound
from buildspec.quantities import Misread

PlaceOf = Callable[[str], Place]
"""Where a key of the record in question stands."""

_ORDERING = frozenset({"least", "most", "over", "under", "within"})


def bound_problems(
    bounds: Mapping[str, object], scale: str, place: PlaceOf, value: str
) -> Iterator[Diagnostic]:
    """What is wrong with the bounds of a value of `scale`, by their keys; `place` finds a key's place."""
    for key, bound in bounds.items():
        yield from _unfit(key, scale, place, value) or _unread(key, bound, scale, place, value)
    pairs = [("least", "most"), ("within.0", "within.1")]
    for lower, upper in pairs:
        yield from _reversed(lower, upper, bounds, scale, place)


def _unfit(key: str, scale: str, place: PlaceOf, value: str) -> list[Diagnostic]:
    """A bound of order on what has none, or words for what is no word."""
    if key in _ORDERING and not is_ordered(scale):
        said = f"{quoted(value)} is no number, and cannot be more or less than another"
        return [Diagnostic("rules.bound", said, place(key), "use `equal` or `one_of`")]
    if key == "one_of" and scale != "word":
        advice = "use `equal`, `least`, `most` or `within`"
        return [Diagnostic("rules.bound", f"{quoted(value)} is no word", place(key), advice)]
    return []


def _unread(
    key: str, bound: object, scale: str, place: PlaceOf, value: str
) -> Iterator[Diagnostic]:
    for where, entry in _entries(key, bound):
        reading = read_bound(entry, scale)
        if isinstance(reading, Misread):
            advice = f"{reading.help}; {quoted(value)} is compared with it"
            yield Diagnostic(reading.code, reading.message, place(where), advice)


def _entries(key: str, bound: object) -> list[tuple[str, str | int | float | bool]]:
    """The single bounds behind a key, each with the key of its place."""
    if isinstance(bound, tuple):
        return [(f"{key}.{number}", entry) for number, entry in enumerate(bound)]
    return [(key, bound)] if isinstance(bound, str | int | float | bool) else []


def _reversed(
    lower: str, upper: str, bounds: Mapping[str, object], scale: str, place: PlaceOf
) -> Iterator[Diagnostic]:
    """Two bounds between which nothing lies."""
    if not is_ordered(scale):
        return
    singles = dict(e for key, bound in bounds.items() for e in _entries(key, bound))
    if lower not in singles or upper not in singles:
        return
    if _above(read_bound(singles[lower], scale), read_bound(singles[upper], scale)):
        yield Diagnostic(
            "rules.bound",
            "the lower bound is above the upper one, and nothing lies between them",
            place(lower),
            "exchange the two",
            (Note(place(upper), "the upper one"),),
        )


def _above(lower: Bound | Misread, upper: Bound | Misread) -> bool:
    if isinstance(lower, float) and isinstance(upper, float):
        return lower > upper
    both = isinstance(lower, datetime.date) and isinstance(upper, datetime.date)
    return both and lower > upper  # type: ignore[operator]
