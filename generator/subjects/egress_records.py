"""What the subject `egress` finds, as records for its page and charts. Times in seconds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from buildspec.quantities import Quantity
from buildspec.sections.egress import Activity, Drill, Scenario
from generator.formulas.egress import Array, Percentile
from generator.vocabulary import Assumption, Caution, Check, OpenItem, Result, WorkedStep

LimitWord = Literal["required_time", "protective_time"]


@dataclass(frozen=True, slots=True)
class Limit:
    """One time the exit must fit.

    `capacity` is the time as a result, absent where none is known; `quantity` is the statement it
    comes from, if it comes from one under `egress.limits`. `factor` is the factor asked of it,
    `allowed` the longest exit that it allows with that factor, s. `unused` is a statement that
    a better one took the place of.
    """

    word: LimitWord
    title: str
    capacity: Result
    quantity: Quantity | None = None
    factor: Quantity | None = None
    allowed: float | None = None
    unused: Quantity | None = None

    @property
    def known(self) -> Quantity | Result:
        """The time with the id that leads a reader to where it stands."""
        return self.quantity or self.capacity


@dataclass(frozen=True, slots=True)
class Row:
    """One activity of a scenario.

    `likely_…` follow from the likely durations, the other passes from the expected ones.
    `finish_p95` is the 95th percentile of when it is finished, `critical_share` the share of
    samples in which it had no slack.
    """

    activity: Activity
    likely: float
    mean: float
    variance: float
    likely_start: float
    likely_finish: float
    likely_slack: float
    likely_critical: bool
    start: float
    finish: float
    latest_start: float
    latest_finish: float
    slack: float
    critical: bool
    critical_share: float
    finish_p95: float


@dataclass(frozen=True, slots=True)
class Timed:
    """A drill with the time that counts, or the reason why none does.

    `unaccounted` is the total less what its single times come to along the network, where both
    were taken. `exceeds` are the names of the limits it broke. `early` is whether its day is yet to
    come.
    """

    drill: Drill
    time: float | None
    uncertainty: float = 0.0
    inputs: tuple[str, ...] = ()
    refused: str = ""
    early: bool = False
    unaccounted: float | None = None
    above_p50: bool = False
    above_p95: bool = False
    exceeds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Compared:
    """The drills of a scenario as a set, beside its budget.

    `trusted` counts those recorded in full dress, which may take the budget's place;
    `undressed` counts, by what a drill must be done in, the drills whose records do not say so;
    `optimistic` is whether so many long drills are improbable if the budget is right.
    """

    count: int
    trusted: int
    persons: int
    above_p50: int
    above_p95: int
    undressed: Mapping[str, int]
    conditions: tuple[tuple[str, int], ...]
    optimistic: bool


@dataclass(frozen=True)
class Found:
    """Everything found of one scenario.

    `paths` are the critical paths on expected durations, the first few of `path_count`.
    `results` go by what follows the scenario in their ids. `finish` (samples,) is sorted. `overlapping` says
    what the budget lets one person do at the same time.
    """

    scenario: Scenario
    rows: tuple[Row, ...]
    paths: tuple[tuple[str, ...], ...]
    path_count: int
    decided_by_drills: bool
    drills: tuple[Timed, ...]
    compared: Compared
    percentiles: Mapping[str, Percentile]
    results: Mapping[str, Result]
    checks: tuple[Check, ...]
    steps: tuple[WorkedStep, ...]
    cautions: tuple[Caution, ...]
    open_items: tuple[OpenItem, ...]
    assumptions: tuple[Assumption, ...]
    finish: Array = field(compare=False, repr=False)
    overlapping: str = ""

    @property
    def overall(self) -> tuple[Result, ...]:
        """The results of the scenario as a whole, without those of single activities."""
        return tuple(r for name, r in self.results.items() if not name.startswith("activity."))


@dataclass(frozen=True)
class Detail:
    """The subject's own record for its page and charts.

    `cautions` are those about the limits, `sources` those of the equations and of the values used.
    """

    scenarios: tuple[Found, ...]
    limits: tuple[Limit, ...]
    cautions: tuple[Caution, ...]
    samples: int
    seed: int
    sources: tuple[str, ...]
