"""Ids and bounds of rule sheets that only an evaluation can find wrong, as problems at their lines.

The reader knows no results: whether an id leads to one, and whether a bound has its unit, shows only
once everything is computed. Such a line stays open; the problem says where to mend it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from buildspec.bounds import bound_problems
from buildspec.diagnostics import Diagnostic, Place
from buildspec.sections.rules import Compare, Line, RecordStep, lines
from generator.rules.world import World, unknown
from generator.subjects import SUBJECTS

_ADVICE = "ids are those that `check --json` prints; the line stays open until this one leads there"


@dataclass(frozen=True, slots=True)
class _At:
    """A record of the section, and what it is held against."""

    world: World
    id: str

    def place(self, key: str) -> Place:
        """Where a key of the record stands."""
        return self.world.build.where(f"{self.id}.{key}")


def strays(world: World) -> tuple[Diagnostic, ...]:
    """Every warning about the rule sheets that needs the results."""
    found: list[Diagnostic] = []
    for sheet, line in lines(world.section):
        at = f"rules.sheets.{sheet.id}.requirements.{line.id}"
        found += _checks(line, _At(world, f"{at}.checks"))
        found += _follows(line, _At(world, f"{at}.follows"))
        if line.compare is not None and line.compare.result:
            found += _result(line.compare, _At(world, f"{at}.compare"))
    return tuple(found)


def _checks(line: Line, at: _At) -> Iterator[Diagnostic]:
    for number, name in enumerate(line.checks):
        if name not in at.world.checks and _expected(name, at):
            yield _unknown(name, "check", at.world.checks, at, str(number))


def _follows(line: Line, at: _At) -> Iterator[Diagnostic]:
    known = at.world.requirements
    for number, name in enumerate(line.follows):
        leads = name in known or any(k.startswith(f"{name}.") for k in known)
        if not leads and _expected(name, at):
            yield _unknown(name, "prescription", known, at, str(number))


def _result(compare: Compare, at: _At) -> Iterator[Diagnostic]:
    """The result's id, and each bound as the result's kind reads it."""
    result = at.world.results.get(compare.result)
    if result is None:
        if _expected(compare.result, at):
            yield _unknown(compare.result, "result", at.world.results, at, "result")
        return
    for bounds, where in _bounds(compare, at):
        for problem in bound_problems(bounds, result.kind, where.place, compare.result):
            yield replace(problem, severity="warning")


def _bounds(compare: Compare, at: _At) -> Iterator[tuple[Mapping[str, object], _At]]:
    """The bounds of each record, with the record that they stand in."""
    yield _given(compare, ("least", "most", "equal", "within", "one_of")), at
    for number, step in enumerate(compare.by_record):
        below = _At(at.world, f"{at.id}.by_record.{number}")
        yield _given(step, ("least", "most", "equal")), below


def _given(record: Compare | RecordStep, keys: tuple[str, ...]) -> Mapping[str, object]:
    found = ((key, getattr(record, key)) for key in keys)
    return {key: bound for key, bound in found if bound is not None and bound != ()}


def _expected(name: str, at: _At) -> bool:
    """Whether an id should lead somewhere: not where its subject is simply not described here."""
    word = name.split(".", 1)[0]
    return word in at.world.evaluated or word not in SUBJECTS


def _unknown(name: str, what: str, known: Collection[str], at: _At, key: str) -> Diagnostic:
    said = unknown(name, what, tuple(known), at.world.evaluated)
    return Diagnostic("rules.unknown", said, at.place(key), _ADVICE, severity="warning")
