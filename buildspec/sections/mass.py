"""The section `mass`: what the vehicle is made of, how it is loaded, and what the scales said."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, Place, listed, quoted
from buildspec.quantities import Basis, Quantity
from buildspec.sections.datum import Datum
from buildspec.sections.wheels import Wheels, axles
from buildspec.thousands import thousands

Maturity = Literal["estimated", "layout", "pre-released", "released", "existing", "actual"]
Category = Literal[
    "structure", "propulsion", "battery", "wiring", "electronics", "crew", "composite", "other"
]
Use = Literal["predicted", "weighed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """The box an item fills, for its own inertia: edge lengths along x, y and z."""

    x: Quantity
    y: Quantity
    z: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One part or group of parts. `mass` is that of one; `count` of them stand at (x, y, z)."""

    id: str
    name: str
    group: str = "other"
    mass: Quantity
    x: Quantity
    y: Quantity
    z: Quantity
    size: Size | None = None
    count: int = 1
    fluid: bool = False
    maturity: Maturity | None = None
    category: Category = "other"
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """A loading: `fill` gives the fraction of an item aboard, `without` leaves items out."""

    id: str
    title: str = ""
    fill: Mapping[str, Quantity] = field(default_factory=dict)
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The least and the most a value may be; either may be missing."""

    least: Quantity | None = None
    most: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What the team or its rule sheet allows. `cg_share` is (x_CG − x_front axle) / wheelbase."""

    total: Quantity | None = None
    cg_x: Window | None = None
    cg_share: Window | None = None
    cg_height: Quantity | None = None
    cg_offset: Quantity | None = None
    wheel_load: bool = True
    factor: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """What one scale showed, and the wheels that stood on it."""

    id: str
    under: tuple[str, ...]
    reading: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """An axle lift: the wheels `raised` to `height`, and what the other axle's scales showed."""

    id: str
    raised: tuple[str, ...]
    height: Quantity
    reading: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """One session on the scales, in a stated condition."""

    id: str
    date: datetime.date
    condition: str
    scales: tuple[Scale, ...]
    common_error: Quantity | None = None
    lifts: tuple[Lift, ...] = ()
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BallastPlace:
    """A place where ballast may be bolted, and how much at most."""

    id: str
    name: str = ""
    x: Quantity
    y: Quantity
    z: Quantity
    most: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ballast:
    """Where ballast may go."""

    places: tuple[BallastPlace, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mass:
    """The section as a whole. `use` decides which mass other subjects receive."""

    items: tuple[Item, ...]
    conditions: tuple[Condition, ...]
    design_condition: str
    use: Use = "predicted"
    growth_allowance: bool = False
    limits: Limits | None = None
    weighings: tuple[Weighing, ...] = ()
    ballast: Ballast | None = None


# --------------------------------------------------------- what the schema alone cannot say


def problems(section: Mass, build: Build) -> Iterator[Diagnostic]:
    """Conditions, windows and weighings that contradict themselves or the wheels."""
    for condition in section.conditions:
        yield from _condition_problems(section, condition, build)
    for name in ("cg_x", "cg_share"):
        yield from _window_problems(
            getattr(section.limits, name, None), f"mass.limits.{name}", build
        )
    yield from thousands(
        (value, build.where(f"mass.items.{item.id}"))
        for item in section.items
        for value in (item.x, item.y, item.z)
    )
    yield from _below_ground(section, build)
    wheels = build.section(Wheels)
    if wheels is None:
        return
    for weighing in section.weighings:
        yield from _scale_problems(weighing, wheels, build)
        yield from _lift_problems(weighing, wheels, build)


def _below_ground(section: Mass, build: Build) -> Iterator[Diagnostic]:
    """Parts whose middle lies below the ground: a sign is wrong, and would lower the whole vehicle."""
    datum = build.section(Datum)
    ground = datum.ground if datum else None
    notes = (Note(ground.place, "the ground"),) if ground and ground.place else ()
    for item in section.items:
        if item.z.si < (ground.si if ground else 0.0):
            yield Diagnostic(
                "mass.below-ground",
                f"{quoted(item.id)} lies below the ground, by `z: {item.z.written}`",
                item.z.place or build.where(f"mass.items.{item.id}"),
                "z is up: look at its sign, and at `ground` of the datum",
                notes,
                severity="warning",
            )


def _condition_problems(section: Mass, condition: Condition, build: Build) -> Iterator[Diagnostic]:
    name = f"mass.conditions.{condition.id}"
    fluids = {item.id for item in section.items if item.fluid}
    for item in condition.fill:
        place = build.where(f"{name}.fill.{item}")
        if item in condition.without:
            number = condition.without.index(item)
            yield Diagnostic(
                "mass.both",
                f"{quoted(item)} is filled in this condition and left out of it",
                place,
                "take it out of `fill` or out of `without`",
                (Note(build.where(f"{name}.without.{number}"), "left out here"),),
            )
        elif item not in fluids:
            yield Diagnostic(
                "mass.fill",
                f"{quoted(item)} is filled, and is no fluid",
                place,
                "write `fluid: true` at the item; or leave it out of the condition under `without`",
                severity="warning",
            )
    if not any(_aboard(item, condition) for item in section.items):
        yield Diagnostic(
            "mass.nothing",
            f"nothing that has a mass is aboard in the condition {quoted(condition.id)}",
            build.where(f"{name}.id"),
            "leave out fewer items, or fill them",
        )


def _aboard(item: Item, condition: Condition) -> bool:
    """Whether an item adds any mass in a condition."""
    share = condition.fill[item.id].si if item.id in condition.fill else 1.0
    return item.id not in condition.without and item.mass.si * share > 0.0


def _window_problems(window: Window | None, name: str, build: Build) -> Iterator[Diagnostic]:
    if window and window.least and window.most and window.least.si >= window.most.si:
        yield Diagnostic(
            "mass.window",
            f"the least, {window.least.written}, is not below the most, {window.most.written}",
            build.where(f"{name}.least", name),
            "a window needs some width: exchange or correct the two",
        )


def _scale_problems(weighing: Weighing, wheels: Wheels, build: Build) -> Iterator[Diagnostic]:
    """Every wheel stands on one scale."""
    name = f"mass.weighings.{weighing.id}"
    seen: dict[str, Place] = {}
    for scale in weighing.scales:
        for number, wheel in enumerate(scale.under):
            place = build.where(
                f"{name}.scales.{scale.id}.under.{number}", f"{name}.scales.{scale.id}"
            )
            if wheel in seen:
                yield Diagnostic(
                    "mass.weighed",
                    f"{quoted(wheel)} stands on two scales",
                    place,
                    "put it under one of them",
                    (Note(seen[wheel], "the first one"),),
                )
            seen.setdefault(wheel, place)
    lacking = [w.id for w in wheels.positions if w.id not in seen]
    if lacking:
        yield Diagnostic(
            "mass.weighed",
            f"{listed(lacking)} {'stands' if len(lacking) == 1 else 'stand'} on no scale",
            build.where(f"{name}.id"),
            "add a scale for it, or add it to `under` of the scale it stood on",
        )


def _lift_problems(weighing: Weighing, wheels: Wheels, build: Build) -> Iterator[Diagnostic]:
    """A lift raises one whole axle, and another stays down."""
    whole = {frozenset(w.id for w in axle) for axle in axles(wheels)}
    for lift in weighing.lifts:
        if frozenset(lift.raised) not in whole:
            said = "; ".join(listed(sorted(axle)) for axle in sorted(whole, key=sorted))
            yield Diagnostic(
                "mass.lift",
                f"{listed(lift.raised)}: not one whole axle",
                build.where(f"mass.weighings.{weighing.id}.lifts.{lift.id}.raised"),
                f"a lift raises all wheels of one axle: {said}",
            )
