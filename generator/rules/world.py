"""What lines of a rule sheet are held against, and what is said of one."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from buildspec.build import Build
from buildspec.diagnostics import closest, quoted
from buildspec.quantities import Quantity
from buildspec.sections.rules import Equipment, Rules
from buildspec.sections.vehicle import Vehicle
from generator.subjects.dates import deadline
from generator.vocabulary import Check, Conformance, Fact, Outcome, Requirement, Result


@dataclass(frozen=True, slots=True)
class Told:
    """What is found of a line: its state and the reason, and what is prescribed beside what is found."""

    state: Conformance
    reason: str
    prescribed: Fact = None
    found: Fact = None
    refs: tuple[str, ...] = ()
    closes: str = ""

    def now(self, state: Conformance, reason: str, closes: str = "") -> Told:
        """The same with another state and reason; `closes` says what would settle it."""
        return replace(self, state=state, reason=reason, closes=closes or self.closes)


@dataclass(frozen=True)
class World:
    """The description, and everything that the other subjects found."""

    build: Build
    section: Rules
    as_of: datetime.date
    results: Mapping[str, Result] = field(default_factory=dict)
    checks: Mapping[str, Check] = field(default_factory=dict)
    requirements: Mapping[str, Requirement] = field(default_factory=dict)
    evaluated: frozenset[str] = frozenset()

    @property
    def record(self) -> Quantity | None:
        """The class record, which some bounds step with."""
        vehicle = self.build.section(Vehicle)
        return vehicle.class_record if vehicle else None

    @property
    def day(self) -> tuple[datetime.date, str]:
        """The day on which documents must be in force, and what it is called."""
        return deadline(self.build, self.as_of)

    def equipment(self, name: str) -> Equipment:
        """The equipment of this id, which the reader has looked for already."""
        return next(e for e in self.section.equipment if e.id == name)


def world(
    build: Build, section: Rules, as_of: datetime.date, outcomes: Mapping[str, Outcome]
) -> World:
    """Everything that lines may be held against."""
    found = tuple(outcomes.values())
    return World(
        build,
        section,
        as_of,
        {r.id: r for o in found for r in o.results},
        {c.id: c for o in found for c in o.checks},
        {r.id: r for o in found for r in o.requirements},
        frozenset(outcomes),
    )


def unknown(name: str, what: str, known: tuple[str, ...], evaluated: frozenset[str]) -> str:
    """What is said of an id that nothing computed: a misspelling, or a subject that is not there."""
    word = name.split(".", 1)[0]
    if word not in evaluated and word.isidentifier():
        near = closest(word, tuple(sorted(evaluated)))
        hint = f"; did you mean `{near}`?" if near else ""
        return f"nothing in this build computes {quoted(name)}{hint}"
    own = tuple(k for k in known if k.startswith(f"{word}."))
    near = closest(name, own)
    return f"{quoted(name)} is no {what}" + (f"; did you mean `{near}`?" if near else "")
