"""The words of an evaluation: results, worked steps, checks, cautions, open items. Frozen, SI.

A `kind` is a name from `buildspec.kinds.KINDS`; every number is in that kind's SI unit.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from buildspec.diagnostics import Diagnostic
from buildspec.quantities import Quantity
from buildspec.sections.signoffs import ACCEPTED, Answer, Record
from generator.formulas.formula import Formula

Verdict = Literal["holds", "short", "open"]
Conformance = Literal["conforms", "departs", "open", "waived", "not applicable"]
OpenKind = Literal[
    "short",
    "departs",
    "open",
    "missing",
    "assumed",
    "range",
    "measurement",
    "disagreement",
    "work",
    "evidence",
    "date",
    "review",
    "other",
]


@dataclass(frozen=True, slots=True)
class Result:
    """A number the program computed: `id` is dotted and begins with its subject's word.

    `value` is None where it cannot be had, and `absent` then says why. `standard_uncertainty`
    is first-order GUM unless the subject says otherwise.
    """

    id: str
    title: str
    value: float | None
    kind: str
    standard_uncertainty: float = 0.0
    absent: str = ""
    inputs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Argument:
    """What went into a worked step for one symbol. `ref` is the id of the value or result, or "".

    `values` has one number for a scalar symbol and as many as the array has otherwise.
    """

    name: str
    values: tuple[float, ...]
    ref: str = ""
    scalar: bool = True


@dataclass(frozen=True, slots=True)
class WorkedStep:
    """One recorded call of a formula: what the page shows is what ran."""

    id: str
    title: str
    formula: Formula[..., float]
    arguments: tuple[Argument, ...]
    value: float
    note: str = ""
    outside: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Check:
    """Demand against capacity. margin = capacity / (factor × demand) − 1 (NASA-STD-5001).

    `margin` is None with a `reason` when a value is missing (verdict `open`) or when there is no
    demand at all (verdict `holds`). `inputs` are the ids of every quantity of the description
    that demand or capacity depend on. `ways` says how a builder would mend it, and the figures that
    are enough are added; `fixed` is the side that nobody can change for that, such as a limit.
    `closes` is the whole of it, where the subject knows better.
    """

    id: str
    title: str
    subject: str
    kind: str
    demand: Result
    capacity: Result
    factor: float
    margin: float | None
    verdict: Verdict
    reason: str = ""
    margin_uncertainty: float | None = None
    probability_short: float | None = None
    inputs: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    basis_of_verdict: str = ""
    closes: str = ""
    fingerprint: str = ""
    ways: str = ""
    fixed: Literal["", "demand", "capacity"] = ""


Fact = str | int | datetime.date | Quantity | Result | None
"""What a rule prescribes or what is found: words, a count, a date, or a value."""


@dataclass(frozen=True, slots=True)
class Requirement:
    """One line of what is prescribed, beside what is found. No calculation excuses a departure.

    `reason` says in words why it conforms, departs or is open; `source` names the rule sheet;
    `refs` are ids of the description that it looks at; `owner` is who sees to it, by name;
    `ours` marks what the team asks of itself beyond the rules; `closes` says what would settle it.
    """

    id: str
    subject: str
    title: str
    prescribed: Fact
    found: Fact
    state: Conformance
    reason: str = ""
    source: str = ""
    refs: tuple[str, ...] = ()
    owner: str = ""
    due: datetime.date | None = None
    ours: bool = False
    closes: str = ""

    @property
    def why(self) -> str:
        """The reason; without one what is found beside what is prescribed, where both are words."""
        if self.reason or not (isinstance(self.found, str) and isinstance(self.prescribed, str)):
            return self.reason
        return f"{self.found}; prescribed: {self.prescribed}"


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning shown in place. `hazard` marks one of the work itself, not of the arithmetic."""

    id: str
    text: str
    subject: str
    hazard: bool = False
    ref: str = ""


@dataclass(frozen=True, slots=True)
class OpenItem:
    """Something that stands between today and a vehicle ready for inspection.

    `closes` says what would close it; `blocks` are the ids of the checks and
    requirements that wait for it. `owner`
    is the name of who sees to it, `hours` the work that is left in it, `due` the day it is due.
    """

    id: str
    subject: str
    kind: OpenKind
    text: str
    closes: str
    blocks: tuple[str, ...] = ()
    ref: str = ""
    owner: str = ""
    hours: float | None = None
    due: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class Assumption:
    """A value nobody measured or rated, or a statement the calculation rests on (`quantity` None)."""

    id: str
    text: str
    subject: str
    source: str
    quantity: Quantity | None = None


@dataclass(frozen=True)
class Standing:
    """One record of a sign-off, and whether it stands. `reasons` say what undid it, `since` which
    revision did, where the history was looked at; `answer` is the last one; `subject` is the word
    of the subject it is about.

    `superseded` marks a record behind which the same person gave a later word on the same scope.
    """

    record: Record
    title: str
    reasons: tuple[str, ...] = ()
    superseded: bool = False
    answer: Answer | None = None
    subject: str = ""
    since: str = ""

    @property
    def stands(self) -> bool:
        """Whether what was signed is what is there."""
        return not self.reasons

    @property
    def state(self) -> str:
        """`stands`, `undone` or `replaced`."""
        return "replaced" if self.superseded else "stands" if self.stands else "undone"

    @property
    def accepts(self) -> bool:
        """Whether it is a word of consent that stands and is the last one."""
        said = self.record.says.startswith(ACCEPTED)
        return said and self.stands and not self.superseded


Cell = str | float | None
"""What stands in a table: words, a number in the column's unit, or nothing."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: what stands in it, and its SI unit, "" for words and shares."""

    name: str
    unit: str


@dataclass(frozen=True, slots=True)
class Table:
    """Figures that are too many for a result each: one row a case of something, named in its first
    columns by their ids."""

    id: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True)
class Outcome:
    """Everything one subject found. `tables` hold figures too many for results; `detail` is the
    subject's own record for its page and charts; `shown` are ids of other things that its
    page shows, with what they are called; `problems` are mistakes of the description that only the
    evaluation can see.
    """

    subject: str
    results: tuple[Result, ...] = ()
    checks: tuple[Check, ...] = ()
    steps: tuple[WorkedStep, ...] = ()
    cautions: tuple[Caution, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    open_items: tuple[OpenItem, ...] = ()
    requirements: tuple[Requirement, ...] = ()
    detail: object = None
    shown: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[Diagnostic, ...] = ()
    tables: tuple[Table, ...] = ()
    by_id: Mapping[str, Result] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_id", {r.id: r for r in self.results})


def once(requirements: Iterable[Requirement]) -> tuple[Requirement, ...]:
    """The requirements as they are counted: what a line of a rule sheet follows counts in that line."""
    known = tuple(requirements)
    followed = {ref for r in known for ref in r.refs}
    return tuple(r for r in known if r.id not in followed)
