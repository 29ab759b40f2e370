"""What the subject `fire` hands from one of its parts to the next, and to its page and charts."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from buildspec.plain import called, spoken
from buildspec.quantities import Quantity
from buildspec.sections.fire import Bottle, Nozzle, Zone
from generator.spread import at, sources, spread
from generator.tables.agents import Agent
from generator.tables.known import Known
from generator.vocabulary import (
    Assumption,
    Caution,
    Check,
    OpenItem,
    Requirement,
    Result,
    WorkedStep,
)

WORD = "fire"
GASES = ("halocarbon", "inert")
"""Kinds of agents that flood a zone by their volume."""


def combined(function: Callable[..., float], **given: Quantity) -> float:
    """Standard uncertainty of a function of quantities, named by its arguments, first order,
    uncorrelated.
    """
    return spread(
        lambda shift: function(**{n: at(q, shift) for n, q in given.items()}),
        sources(given.values()),
    )


def slug(name: str) -> str:
    """A name as a part of an id: `FK-5-1-12` → `fk_5_1_12`."""
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")


@dataclass(frozen=True)
class Part:
    """What one part of the subject found; parts are added up."""

    results: tuple[Result, ...] = ()
    checks: tuple[Check, ...] = ()
    steps: tuple[WorkedStep, ...] = ()
    cautions: tuple[Caution, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    open_items: tuple[OpenItem, ...] = ()
    requirements: tuple[Requirement, ...] = ()

    def __add__(self, other: Part) -> Part:
        return Part(
            self.results + other.results,
            self.checks + other.checks,
            self.steps + other.steps,
            self.cautions + other.cautions,
            self.assumptions + other.assumptions,
            self.open_items + other.open_items,
            self.requirements + other.requirements,
        )


@dataclass(frozen=True)
class Properties:
    """An agent's values. `decides` are those a verdict may rest on; `memory` those only remembered; `unfit` says of
    those that were found for another fuel why they do not count.
    """

    agent: Agent
    decides: Mapping[str, Quantity]
    memory: Mapping[str, Known]
    unfit: Mapping[str, str] = field(default_factory=dict)

    def lacking(self, *names: str) -> str:
        """Why a figure that needs these values cannot be had; "" where it can."""
        missing = [n for n in names if n not in self.decides]
        if not missing:
            return ""
        if reason := next((self.unfit[n] for n in missing if n in self.unfit), ""):
            return reason
        said = ", ".join(missing)
        if any(n in self.memory for n in missing):
            return (
                f"{self.agent.name}: {said} is known from memory only, and decides nothing; state "
                "it with its source under `fire.agents`"
            )
        return (
            f"{self.agent.name}: {said} is not in the shipped table; state it with its source "
            "under `fire.agents`"
        )


@dataclass(frozen=True)
class Air:
    """The air pressure that people's exposure is reckoned with, and that the amount is."""

    pressure: Result
    exposure: Result
    amount: Result


@dataclass(frozen=True)
class Supply:
    """What one agent's nozzles bring into one zone: by the last weighing, and with bottles that weigh less than
    their labels charged again, which is what people breathe then.
    """

    zone: Zone
    properties: Properties
    nozzles: tuple[Nozzle, ...]
    bottles: tuple[Bottle, ...]
    delivered: Result
    charged: Result
    masses: tuple[float, ...] = ()
    """What each of the bottles delivers here, kg; empty where that is not known, or is a volume."""
    amounts: Mapping[str, float] = field(default_factory=dict)
    """What is in each of the bottles, kg or m³, by its id; empty where that is not known."""

    @property
    def id(self) -> str:
        """The beginning of the ids of this pair."""
        return f"{WORD}.zone.{self.zone.id}.{slug(self.properties.agent.name)}"

    @property
    def check_id(self) -> str:
        """The beginning of the ids of this pair's checks."""
        return f"{WORD}.check.{self.zone.id}.{slug(self.properties.agent.name)}"

    @property
    def title(self) -> str:
        """Zone and agent in words."""
        return f"{called(self.zone)}, {self.properties.agent.name}"

    @property
    def duration(self) -> Quantity | None:
        """The longest discharge of its bottles; None where one of them states none."""
        times = [b.discharge_time for b in self.bottles]
        known = [t for t in times if t is not None]
        return max(known, key=lambda t: t.si) if known and len(known) == len(times) else None


@dataclass(frozen=True, slots=True)
class Levels:
    """One bar of the chart: a zone's concentrations and the levels they are held against, shares of
    1.
    """

    title: str
    occupied: bool
    cold: float
    hot: float
    design: float | None
    noael: float | None
    loael: float | None
    loael_remembered: bool


@dataclass(frozen=True, slots=True)
class Course:
    """A zone's agent over time: each bottle's mass in kg and discharge in s, the longest discharge, the
    mass at its end, decay in 1/s, mass needed in kg, and how long it then lasts in s, where that is known.
    """

    title: str
    bottles: tuple[tuple[float, float], ...]
    duration: float
    end: float
    decay: float
    needed: float
    held: float | None


@dataclass(frozen=True, slots=True)
class Loss:
    """What one failure leaves in one zone: `left` is agent left over agent needed, or None."""

    case: str
    zone: str
    left: Result


@dataclass(frozen=True)
class Detail:
    """For the page and the charts."""

    levels: tuple[Levels, ...] = ()
    courses: tuple[Course, ...] = ()
    losses: tuple[Loss, ...] = ()
    remembered: tuple[tuple[str, str, Known], ...] = ()
    bottles: tuple[Bottle, ...] = ()
    nozzles: tuple[Nozzle, ...] = ()
    names: Mapping[str, str] = field(default_factory=dict)
    zones: tuple[Zone, ...] = ()

    def bottle(self, name: str) -> str:
        """A bottle's name by its id."""
        return next((b.name for b in self.bottles if b.id == name), "") or spoken(name)
