"""The section `drive`: power at the wheels, or an engine with its gears; what the tires are rated for."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, Place
from buildspec.quantities import Basis, Quantity, show
from buildspec.sections.course import Course
from buildspec.sections.mass import Mass
from buildspec.sections.vehicle import Vehicle
from buildspec.sections.wheels import Wheels

SpeedSymbol = Literal["L", "M", "N", "P", "Q", "R", "S", "T", "U", "H", "V", "W", "Y"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerAt:
    """Power at the wheels at one speed."""

    speed: Quantity
    power: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueAt:
    """Full-throttle torque at one engine speed."""

    rotation: Quantity
    torque: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """An engine table with its gears, in the order they are used."""

    curve: tuple[TorqueAt, ...]
    gears: tuple[Quantity, ...]
    final_drive: Quantity
    rolling_radius: Quantity | None = None
    shift_at: Quantity
    shift_time: Quantity
    efficiency: Quantity
    inertia: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tires:
    """Tires of one kind: a maker's rating, or a road tire's service description."""

    id: str
    title: str = ""
    wheels: tuple[str, ...]
    rated_speed: Quantity | None = None
    rated_load: Quantity | None = None
    peak_load: Quantity | None = None
    load_factor: Quantity
    speed_symbol: SpeedSymbol | None = None
    load_index: int | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """One of `power`, `power_table` and `engine`; and what turns."""

    power: Quantity | None = None
    power_table: tuple[PowerAt, ...] = ()
    engine: Engine | None = None
    wheel_inertia: Quantity
    start_speed: Quantity
    fuel_flow: Quantity | None = None
    speed_factor: Quantity
    tires: tuple[Tires, ...] = ()
    basis: Basis | None = None
    source: str = ""


def problems(section: Drive, build: Build) -> Iterable[Diagnostic]:
    """One description of the power, tables that rise, gears in order."""
    given = [name for name in ("power", "power_table", "engine") if getattr(section, name)]
    if len(given) != 1:
        said = (
            "no power is given"
            if not given
            else f"the power is given {len(given)} times: {', '.join(given)}"
        )
        yield Diagnostic(
            "drive.power",
            said,
            build.place("drive") or Place("build.yaml"),
            "give exactly one of `power`, `power_table` and `engine`",
        )
    yield from _rising("power table", "speed", [row.speed for row in section.power_table])
    if section.engine:
        yield from _rising(
            "torque curve", "engine speed", [row.rotation for row in section.engine.curve]
        )
        yield from _engine(section.engine)
        yield from _rolling(section.engine, build)
    yield from _flow(section, build)


def fluids_aboard(mass: Mass | None) -> float | None:
    """The mass of all fluids in the design condition, kg: no more can be burned. None where no item is a fluid."""
    if mass is None:
        return None
    loaded = next((c for c in mass.conditions if c.id == mass.design_condition), None)
    left_out, fill = (loaded.without, loaded.fill) if loaded else ((), {})
    fluids = [item for item in mass.items if item.fluid and item.id not in left_out]
    shares = (fill[item.id].si if item.id in fill else 1.0 for item in fluids)
    found = sum(item.mass.si * item.count * n for item, n in zip(fluids, shares, strict=True))
    return found if fluids else None


def _flow(section: Drive, build: Build) -> Iterable[Diagnostic]:
    """A flow that burns more than is aboard even on a run that is at its target speed from the start on."""
    flow, course, vehicle = section.fuel_flow, build.section(Course), build.section(Vehicle)
    aboard, target = fluids_aboard(build.section(Mass)), vehicle.target_speed if vehicle else None
    if not (flow and course and target) or aboard is None:
        return
    least = flow.si * course.end / target.si
    if least > aboard:
        burned, held = show(least, "mass", build.system), show(aboard, "mass", build.system)
        yield Diagnostic(
            "drive.fuel-flow",
            f"at {flow.written} at least {burned} are burned on a run at the target speed, and all fluids "
            f"aboard in the design condition weigh {held}",
            flow.place or Place("build.yaml"),
            "look at the flow's unit, and at the fluids among the mass items",
            severity="warning",
        )


ROUND = 0.25
"""Share by which a rolling radius may differ from the loaded one; tires grow by far less."""


def _rolling(engine: Engine, build: Build) -> Iterable[Diagnostic]:
    """A rolling radius that the driven wheels cannot have: a unit or a point is wrong."""
    wheels, rolling = build.section(Wheels), engine.rolling_radius
    if wheels is None or rolling is None:
        return
    driven = [w.radius for w in wheels.positions if w.driven and w.radius]
    for radius in driven[:1]:
        if abs(rolling.si / radius.si - 1.0) > ROUND:
            yield Diagnostic(
                "drive.rolling-radius",
                f"the rolling radius of {rolling.written} is far from the loaded radius of the "
                f"driven wheels, {radius.written}",
                rolling.place or Place("build.yaml"),
                "look at the unit and the decimal point of both",
                (Note(radius.place, "the loaded radius"),) if radius.place else (),
                severity="warning",
            )


def _rising(table: str, column: str, values: list[Quantity]) -> Iterable[Diagnostic]:
    for before, after in itertools.pairwise(values):
        if after.si <= before.si:
            yield Diagnostic(
                "drive.not-rising",
                f"the {column} falls from {before.written} to {after.written} in the {table}",
                after.place or Place("build.yaml"),
                f"order the {table} by rising {column}, each only once",
            )


def _engine(engine: Engine) -> Iterable[Diagnostic]:
    for before, after in itertools.pairwise(engine.gears):
        if after.si >= before.si:
            yield Diagnostic(
                "drive.gears",
                f"the gears are out of order: {after.written} follows {before.written}",
                after.place or Place("build.yaml"),
                "write the gears as they are used, the highest ratio first",
            )
    last = engine.curve[-1].rotation
    if engine.shift_at.si > last.si or engine.shift_at.si <= engine.curve[0].rotation.si:
        yield Diagnostic(
            "drive.shift",
            f"{engine.shift_at.written} lies outside the torque curve, which goes from "
            f"{engine.curve[0].rotation.written} to {last.written}",
            engine.shift_at.place or Place("build.yaml"),
            "shift at an engine speed of the curve",
        )
