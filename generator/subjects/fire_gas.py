"""The subject `fire`: gaseous agents in a zone, for the fire when it is cold and for people when it
is hot.
"""

from __future__ import annotations

import functools
import math
from dataclasses import replace

from buildspec.quantities import Quantity
from buildspec.sections.fire import Fire
from generator.checks import make_check
from generator.formulas import fire as f
from generator.formulas.air import ZERO_CELSIUS
from generator.formulas.formula import Formula
from generator.subjects.fire_draught import at_end, hold, times
from generator.subjects.fire_limits import breathable, ceiling, design_of, exposure
from generator.subjects.fire_records import Air, Course, Levels, Part, Supply, combined
from generator.subjects.fire_vapour import concentration, concentration_formula, constants, specific
from generator.vocabulary import Check, OpenItem, Result, WorkedStep
from generator.work import as_result, work

FLOODING = (f.NFPA_2001, f.ISO_14520)


def gas(section: Fire, air: Air, supply: Supply) -> tuple[Part, Levels | None, Course | None]:
    """Everything about one gaseous agent in one zone."""
    needed, need_steps = _needed(section, air, supply)
    end, end_steps = at_end(section, air, supply)
    lasting, held = hold(section, air, supply, end)
    cold = _concentration(section.coldest, "coldest", air.amount, supply)
    breathed = replace(supply, delivered=supply.charged)
    hot = _concentration(section.hottest, "hottest", air.exposure, breathed)
    part = Part(
        results=(*needed, end, *cold[0], *hot[0]),
        steps=(*need_steps, *end_steps, *cold[1], *hot[1]),
        checks=(
            _amount(section, supply, needed[-1], end),
            *exposure(section, supply, hot[0][0]),
            *ceiling(section, air, supply),
        ),
        open_items=_open(supply),
    )
    return (
        part + breathable(section, air, supply, hot[0][-1]) + lasting,
        _levels(supply, cold[0][0], hot[0][0]),
        _course(supply, needed[-1], end, held),
    )


# --------------------------------------------------------------------------- agent needed


def _needed(
    section: Fire, air: Air, supply: Supply
) -> tuple[tuple[Result, ...], tuple[WorkedStep, ...]]:
    """The agent that gives the design concentration in the coldest zone."""
    design = design_of(supply)
    name, title = f"{supply.id}.needed", f"{supply.title}: agent needed when coldest"
    names = ("k1", "k2") if design is not None else ("k1", "k2", "design")
    if reason := supply.properties.lacking(*names):
        return (Result(name, title, None, "mass", absent=reason),), ()
    assert design is not None
    vapour = specific(section.coldest, "coldest", supply)
    formula = f.inert_mass if supply.properties.agent.kind == "inert" else f.halocarbon_mass
    step = work(
        formula,
        name,
        title,
        factor=air.amount,
        volume=supply.zone.volume,
        specific_volume=as_result(vapour),
        concentration=design,
    )
    used = _inputs(supply, section.coldest, design) + air.amount.inputs
    uncertainty = combined(
        functools.partial(_mass, formula, air.amount.value or 1.0),
        volume=supply.zone.volume,
        concentration=design,
        **constants(section.coldest, supply),
    )
    by_air = step.value * air.amount.standard_uncertainty / (air.amount.value or 1.0)
    needed = as_result(step, math.hypot(uncertainty, by_air), used)
    return (as_result(vapour, inputs=used), needed), (vapour, step)


def _mass(
    formula: Formula[..., float],
    factor: float,
    *,
    volume: float,
    concentration: float,
    k1: float,
    k2: float,
    temperature: float,
) -> float:
    s = f.specific_volume(k1=k1, k2=k2, temperature=temperature, zero=ZERO_CELSIUS)
    return formula(factor=factor, volume=volume, specific_volume=s, concentration=concentration)


def _inputs(supply: Supply, *more: Quantity) -> tuple[str, ...]:
    """Ids of the description only: the table's values are assumptions of the program."""
    used = (supply.zone.volume, *more, *(supply.properties.decides[n] for n in ("k1", "k2")))
    return tuple(q.id for q in used if not q.default)


def _amount(section: Fire, supply: Supply, needed: Result, end: Result) -> Check:
    credit = "with" if section.altitude_credit else "without"
    return make_check(
        f"{supply.check_id}.amount",
        f"{supply.title}: agent against the design concentration",
        demand=needed,
        capacity=end,
        factor=section.amount_factor.si,
        inputs=(*needed.inputs, *end.inputs, section.amount_factor.id),
        sources=FLOODING,
        basis_of_verdict=f"at the coldest, {credit} credit for thin air",
        ways="a larger bottle or share, or a smaller zone; what the driver breathes rises with it",
    )


# --------------------------------------------------------------------------- concentration


def _concentration(
    temperature: Quantity, when: str, factor: Result, supply: Supply
) -> tuple[tuple[Result, ...], tuple[WorkedStep, ...]]:
    """Concentration and oxygen with all agent evenly mixed in, and none blown out yet."""
    name = f"{supply.id}.concentration_{when}"
    title = f"{supply.title}: concentration at once when {when}"
    there = supply.delivered
    if (reason := supply.properties.lacking("k1", "k2") or there.absent) or there.value is None:
        return (Result(name, title, None, "share", absent=reason),), ()
    vapour = specific(temperature, when, supply)
    step = work(
        concentration_formula(supply),
        name,
        title,
        mass=there,
        specific_volume=as_result(vapour),
        factor=factor,
        volume=supply.zone.volume,
    )
    inputs = (*_inputs(supply, temperature), *there.inputs, *factor.inputs)
    found = as_result(step, _concentration_spread(temperature, factor, supply), inputs)
    left = work(
        f.oxygen,
        f"{supply.id}.oxygen_{when}",
        f"{supply.title}: oxygen left when {when}",
        air=f.OXYGEN_IN_AIR,
        concentration=found,
    )
    own = () if when == "coldest" else (vapour,)
    return (found, as_result(left, f.OXYGEN_IN_AIR * found.standard_uncertainty, inputs)), (
        *own,
        step,
        left,
    )


def _concentration_spread(temperature: Quantity, factor: Result, supply: Supply) -> float:
    mass = supply.delivered.value or 0.0

    def at(*, mass: float = mass, share: float = 0.0, **others: float) -> float:
        thick = (factor.value or 1.0) + share * factor.standard_uncertainty
        return concentration(supply, thick, mass=mass, **others)

    given = {"volume": supply.zone.volume, **constants(temperature, supply)}
    by_zone = combined(at, **given)
    fixed = {n: q.si for n, q in given.items()}
    u = supply.delivered.standard_uncertainty
    by_mass = (at(mass=mass + u, **fixed) - at(mass=mass - u, **fixed)) / 2.0
    by_air = (at(share=1.0, **fixed) - at(share=-1.0, **fixed)) / 2.0
    return math.hypot(by_zone, by_mass, by_air)


# ----------------------------------------------------------------------- for page and charts


def _open(supply: Supply) -> tuple[OpenItem, ...]:
    if supply.zone.airflow is not None:
        return ()
    return (
        OpenItem(
            f"{supply.id}.airflow",
            "fire",
            "missing",
            f"{supply.title}: the airflow through the zone is not stated, so that nobody can say "
            "how much agent stays in it",
            f"state `airflow` of fire.zones.{supply.zone.id}, 0 where the zone is tight",
            (f"{supply.check_id}.amount",),
            supply.zone.volume.id,
        ),
    )


def _levels(supply: Supply, cold: Result, hot: Result) -> Levels | None:
    if cold.value is None or hot.value is None:
        return None
    design, known = design_of(supply), supply.properties
    loael = known.decides.get("loael")
    remembered = known.memory.get("loael")
    noael = known.decides.get("noael")
    return Levels(
        supply.title,
        supply.zone.occupied,
        cold.value,
        hot.value,
        design.si if design else None,
        noael.si if noael else None,
        loael.si if loael else remembered.si if remembered else None,
        loael is None,
    )


def _course(supply: Supply, needed: Result, end: Result, held: float | None) -> Course | None:
    if needed.value is None or end.value is None:
        return None
    if (durations := times(supply)) is None or supply.zone.airflow is None:
        return None
    each = tuple(t.si for t in durations.values())
    decay = supply.zone.airflow.si / supply.zone.volume.si
    bottles = tuple(zip(supply.masses, each, strict=True))
    return Course(supply.title, bottles, max(each), end.value, decay, needed.value, held)
