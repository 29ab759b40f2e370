"""The section `rules`: rule sheets, what proves each line, and the work that is left."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from buildspec import plan_problems, rule_problems
from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from buildspec.quantities import Quantity

Found = Literal["conforms", "departs"]
Plain = str | int | float | bool
"""A bound as written: text with or without a unit, a number, or true or false."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """One condition on the description: exactly one of `fitted`, `not_fitted`, `has`, `has_no`, `value`.

    `value` goes with exactly one of `over`, `under`, `equal` and `one_of`.
    """

    fitted: str = ""
    not_fitted: str = ""
    has: str = ""
    has_no: str = ""
    value: str = ""
    over: Plain | None = None
    under: Plain | None = None
    equal: Plain | None = None
    one_of: tuple[str, ...] = ()
    otherwise: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordStep:
    """Bounds for class records above `above`."""

    above: Quantity
    least: Plain | None = None
    most: Plain | None = None
    equal: Plain | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Compare:
    """A `value` of the description or a `result` of the program, and what it is held against."""

    value: str = ""
    result: str = ""
    least: Plain | None = None
    most: Plain | None = None
    equal: Plain | None = None
    one_of: tuple[str, ...] = ()
    within: tuple[Plain, ...] = ()
    by_record: tuple[RecordStep, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What a person saw or tried, on which day; `found` is None until then."""

    what: str = ""
    by: str = ""
    date: datetime.date | None = None
    found: Found | None = None
    remark: str = ""
    evidence_needed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A document that must be held; without `issued` it is not. In force through `expires`."""

    what: str = ""
    number: str = ""
    issued: datetime.date | None = None
    expires: datetime.date | None = None
    unlimited: bool = False
    evidence_needed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiver:
    """An authority's written leave to depart."""

    authority: str
    reference: str
    date: datetime.date
    scope: str
    until: datetime.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A piece of work. `waits_for` names steps and orders; `hours` is all of it, done or not."""

    id: str
    title: str
    hours: float | None = None
    weight: float | None = None
    owner: str = ""
    due: datetime.date | None = None
    done: datetime.date | None = None
    evidence: tuple[str, ...] = ()
    waits_for: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a sheet, with exactly one of the five ways in which it is proved."""

    id: str
    group: str
    title: str = ""
    statement: str
    clause: str = ""
    edition: str = ""
    common_practice: bool = False
    ours: bool = False
    applies: tuple[Condition, ...] = ()
    not_applicable: str = ""
    compare: Compare | None = None
    attest: Looked | None = None
    demonstrate: Looked | None = None
    document: Document | None = None
    follows: tuple[str, ...] = ()
    waiver: Waiver | None = None
    checks: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    evidence: tuple[str, ...] = ()
    owner: str = ""
    due: datetime.date | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """A group of lines."""

    id: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspectors:
    """How many inspectors sign, for class records above `above`."""

    above: Quantity
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One rule sheet; groups and lines in the order of the inspection form."""

    id: str
    title: str
    edition: str = ""
    source: str = ""
    banner: str = ""
    groups: tuple[Group, ...]
    inspectors: tuple[Inspectors, ...] = ()
    requirements: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Equipment:
    """One kind of equipment; `fitted` is None until the team has said whether the vehicle has it."""

    id: str
    title: str = ""
    fitted: bool | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Who works on the vehicle, and for how many hours a week."""

    id: str
    name: str
    hours_a_week: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """Something on order."""

    id: str
    title: str
    expected: datetime.date
    arrived: datetime.date | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """A file of the build folder and what it proves; `sha256` is its digest when it was attested."""

    id: str
    file: str
    proves: str
    date: datetime.date | None = None
    sha256: str = ""
    attested_by: str = ""
    attested: datetime.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """The section as a whole."""

    sheets: tuple[Sheet, ...]
    equipment: tuple[Equipment, ...] = ()
    people: tuple[Person, ...] = ()
    orders: tuple[Order, ...] = ()
    evidence: tuple[Evidence, ...] = ()


def key_of(sheet: Sheet, line: Line) -> str:
    """What a line is called among all sheets: `starter.belt_angle`."""
    return f"{sheet.id}.{line.id}"


def lines(section: Rules) -> Iterator[tuple[Sheet, Line]]:
    """Every line of every sheet, in the order written."""
    for sheet in section.sheets:
        for line in sheet.requirements:
            yield sheet, line


def problems(section: Rules, build: Build) -> Iterator[Diagnostic]:
    """What the schema cannot say: of the lines, then of the work."""
    yield from rule_problems.look(section, build)
    yield from plan_problems.look(section, build)
