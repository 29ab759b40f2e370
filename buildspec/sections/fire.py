"""The section `fire`: the fire suppression system, its zones, bottles, nozzles and releases."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, Place, quoted
from buildspec.plain import spoken
from buildspec.quantities import Basis, Quantity
from buildspec.sections.event import after_event
from buildspec.sections.mass import Size

Propellant = Literal["stored pressure", "cartridge"]
Releaser = Literal["driver", "outside", "automatic"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """One space that the system protects. What concerns only foam or powder is left out elsewhere."""

    id: str
    name: str = ""
    volume: Quantity
    occupied: bool
    start: Quantity | None = None
    end: Quantity | None = None
    area: Quantity | None = None
    airflow: Quantity | None = None
    opening: Quantity | None = None
    hot_surfaces: tuple[str, ...] = ()
    hold: Quantity | None = None
    design_concentration: Quantity | None = None
    application_rate: Quantity | None = None
    application_time: Quantity | None = None
    agent_density: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottle:
    """One bottle: its agent by the label, its last weighing, its dates, its mount, its place and the box it fills."""

    id: str
    name: str = ""
    agent: str
    agent_mass: Quantity | None = None
    agent_volume: Quantity | None = None
    gross: Quantity | None = None
    tare: Quantity | None = None
    weighed: datetime.date | None = None
    gauge: Quantity | None = None
    gauge_expected: Quantity | None = None
    gauge_read: datetime.date | None = None
    propellant: Propellant | None = None
    filled: datetime.date | None = None
    inspected: datetime.date | None = None
    manufactured: datetime.date | None = None
    pressure_tested: datetime.date | None = None
    lowest_temperature: Quantity | None = None
    highest_temperature: Quantity | None = None
    freezes: Quantity | None = None
    discharge_time: Quantity | None = None
    mount: str = ""
    mount_rating: Quantity | None = None
    inside: str = ""
    system: str = ""
    x: Quantity | None = None
    y: Quantity | None = None
    z: Quantity | None = None
    size: Size | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Nozzle:
    """One nozzle: `share` of the agent of `bottle` leaves through it into `zone`."""

    id: str
    name: str = ""
    bottle: str
    zone: str
    share: Quantity
    aim: str = ""
    distance: Quantity | None = None
    reach: Quantity | None = None
    basis: Basis | None = None
    source: str = ""

    @property
    def title(self) -> str:
        """Its name, or its id as it is read."""
        return self.name or f"Nozzle {spoken(self.id)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """One thing that sets bottles off, and who or what works it."""

    id: str
    name: str = ""
    bottles: tuple[str, ...]
    by: Releaser


@dataclass(frozen=True, slots=True, kw_only=True)
class AgentValues:
    """The team's own values of an agent; what is not given stays the shipped table's."""

    agent: str
    k1: Quantity | None = None
    k2: Quantity | None = None
    design: Quantity | None = None
    noael: Quantity | None = None
    loael: Quantity | None = None
    rate: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastAgent:
    """One step of the least agent: for class records above `above`."""

    above: Quantity
    mass: Quantity | None = None
    volume: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NozzleCount:
    """The least count of nozzles of a zone, and what they must point at."""

    zone: str
    count: int
    aims: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Prescribed:
    """What the rule sheet in force prescribes."""

    source: str = ""
    least_agent: tuple[LeastAgent, ...] = ()
    nozzles: tuple[NozzleCount, ...] = ()
    inspection_months: int | None = None
    pressure_test_months: int | None = None
    bottle_life_months: int | None = None
    systems: int | None = None
    releases: tuple[Releaser, ...] = ()
    inside: str = ""
    mount: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fire:
    """The section as a whole."""

    coldest: Quantity
    hottest: Quantity
    altitude_credit: bool = False
    amount_factor: Quantity
    exposure_factor: Quantity
    loss_allowed: Quantity
    pressure_loss_allowed: Quantity
    zones: tuple[Zone, ...]
    bottles: tuple[Bottle, ...]
    nozzles: tuple[Nozzle, ...] = ()
    releases: tuple[Release, ...] = ()
    agents: tuple[AgentValues, ...] = ()
    prescribed: Prescribed | None = None


# --------------------------------------------------------- what the schema alone cannot say


def problems(section: Fire, build: Build) -> Iterator[Diagnostic]:
    """Temperatures the wrong way round, open zones that are said to be tight, bottles lighter than empty,
    dates that cannot be, more agent shared out than there is.
    """
    if section.coldest.si >= section.hottest.si:
        yield Diagnostic(
            "fire.temperatures",
            f"the coldest, {section.coldest.written}, is not below the hottest, "
            f"{section.hottest.written}",
            _place(build, "fire.coldest"),
            "exchange or correct the two",
        )
    for zone in section.zones:
        if zone.start and zone.end and zone.start.si >= zone.end.si:
            yield Diagnostic(
                "fire.zone-ends",
                f"the zone begins at {zone.start.written}, which is not ahead of its end at "
                f"{zone.end.written}",
                build.where(f"fire.zones.{zone.id}.start"),
                "x points aft: exchange or correct the two",
            )
        if zone.opening and zone.airflow and zone.airflow.si == 0.0:
            yield Diagnostic(
                "fire.opening",
                f"no air is said to pass through a zone with an opening of {zone.opening.written}",
                build.where(f"fire.zones.{zone.id}.airflow"),
                "measure what passes with the vehicle as it stands then, or take the opening out "
                "where the discharge closes it",
                (Note(build.where(f"fire.zones.{zone.id}.opening"), "the opening"),),
            )
    for bottle in section.bottles:
        yield from _bottle_problems(bottle, build)
        yield from _date_problems(bottle, build)
        yield from _share_problems(section, bottle, build)


def _place(build: Build, *names: str) -> Place:
    """The place of the first of several ids that the description has."""
    found = (build.place(name) for name in names)
    return next((place for place in found if place is not None), Place("build.yaml"))


def _bottle_problems(bottle: Bottle, build: Build) -> Iterator[Diagnostic]:
    name = f"fire.bottles.{bottle.id}"
    if bottle.gross and bottle.tare and bottle.gross.si < bottle.tare.si:
        yield Diagnostic(
            "fire.weighing",
            f"the gross mass, {bottle.gross.written}, is below the tare, {bottle.tare.written}",
            _place(build, f"{name}.gross"),
            "exchange the two, or weigh the bottle again",
            (Note(_place(build, f"{name}.tare"), "the tare"),),
        )
    low, high = bottle.lowest_temperature, bottle.highest_temperature
    if low and high and low.si >= high.si:
        yield Diagnostic(
            "fire.temperatures",
            f"the lowest temperature, {low.written}, is not below the highest, {high.written}",
            _place(build, f"{name}.lowest_temperature"),
            "exchange or correct the two",
        )


DATES = {
    "weighed": "weighed",
    "gauge_read": "read",
    "filled": "filled",
    "inspected": "inspected",
    "manufactured": "made",
    "pressure_tested": "pressure tested",
}
"""The dates of a bottle, and what was done on them."""


def _date_problems(bottle: Bottle, build: Build) -> Iterator[Diagnostic]:
    """Days after the event, before the bottle was made, and a weighing before the last filling."""
    name = f"fire.bottles.{bottle.id}"
    for word, done in DATES.items():
        day: datetime.date | None = getattr(bottle, word)
        place = build.where(f"{name}.{word}")
        if problem := after_event("fire.dates", done, day, place, build):
            yield problem
        elif day and bottle.manufactured and day < bottle.manufactured:
            yield Diagnostic(
                "fire.dates",
                f"it was {done} on {day}, before it was made on {bottle.manufactured}",
                place,
                "correct one of the two dates",
                (Note(build.where(f"{name}.manufactured"), "the day it was made"),),
            )
    if bottle.weighed and bottle.filled and bottle.weighed < bottle.filled:
        yield Diagnostic(
            "fire.weighing",
            f"it was weighed on {bottle.weighed} and filled after that, on {bottle.filled}: the "
            "weighing says nothing of what is in it now",
            build.where(f"{name}.weighed"),
            "weigh it again, or correct the date",
            (Note(build.where(f"{name}.filled"), "the filling"),),
        )


def _share_problems(section: Fire, bottle: Bottle, build: Build) -> Iterator[Diagnostic]:
    """The shares of one bottle's nozzles, together at most the whole."""
    total = 0.0
    for nozzle in (n for n in section.nozzles if n.bottle == bottle.id):
        total += nozzle.share.si
        if total > 1.0 + 1e-9:
            yield Diagnostic(
                "fire.shares",
                f"with this nozzle {100 * total:.4g} % of the bottle {quoted(bottle.id)} are "
                "shared out",
                _place(build, f"fire.nozzles.{nozzle.id}.share"),
                "the shares of one bottle's nozzles are at most 100 % together",
                (Note(_place(build, f"fire.bottles.{bottle.id}"), "the bottle"),),
            )
            return
