"""The subject `fire`: gaseous agents in a zone, for the fire when it is cold and for people when it
is hot.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import replace

from buildspec.quantities import Quantity
from buildspec.sections.fire import Fire
from generator.checks import make_check
from generator.formulas import fire as f
from generator.formulas.air import ZERO_CELSIUS
from generator.formulas.formula import Formula
from generator.subjects.fire_limits import breathable, ceiling, design_of, exposure
from generator.subjects.fire_records import Air, Course, Levels, Part, Supply, combined
from generator.vocabulary import Check, OpenItem, Result, WorkedStep
from generator.work import as_result, work

FLOODING = (f.NFPA_2001, f.ISO_14520)


def gas(section: Fire, air: Air, supply: Supply) -> tuple[Part, Levels | None, Course | None]:
    """Everything about one gaseous agent in one zone."""
    needed, need_steps = _needed(section, air, supply)
    end, end_steps = _at_end(supply)
    cold = _concentration(section.coldest, "coldest", air.amount, supply)
    hot = _concentration(section.hottest, "hottest", air.exposure, supply)
    part = Part(
        results=(*needed, end, *cold[0], *hot[0]),
        steps=(*need_steps, *end_steps, *cold[1], *hot[1]),
        checks=(
            _amount(section, supply, needed[-1], end),
            *exposure(section, supply, hot[0][0]),
            *breathable(supply, hot[0][-1]),
            *ceiling(section, supply),
        ),
        open_items=_open(supply),
    )
    return (
        part + _hold(section, air, supply, needed[-1], end),
        _levels(supply, cold[0][0], hot[0][0]),
        _course(supply, needed[-1], end),
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
    specific = _specific(section.coldest, "coldest", supply)
    formula = f.inert_mass if supply.properties.agent.kind == "inert" else f.halocarbon_mass
    step = work(
        formula,
        name,
        title,
        factor=air.amount,
        volume=supply.zone.volume,
        specific_volume=as_result(specific),
        concentration=design,
    )
    used = _inputs(supply, section.coldest, design) + air.amount.inputs
    uncertainty = combined(
        functools.partial(_mass, formula, air.amount.value or 1.0),
        volume=supply.zone.volume,
        concentration=design,
        **_gas(section.coldest, supply),
    )
    return (as_result(specific, inputs=used), as_result(step, uncertainty, used)), (specific, step)


def _specific(temperature: Quantity, when: str, supply: Supply) -> WorkedStep:
    known = supply.properties.decides
    return work(
        f.specific_volume,
        f"{supply.id}.specific_volume_{when}",
        f"{supply.title}: specific vapour volume when {when}",
        k1=known["k1"],
        k2=known["k2"],
        temperature=temperature,
        zero=ZERO_CELSIUS,
    )


def _gas(temperature: Quantity, supply: Supply) -> dict[str, Quantity]:
    known = supply.properties.decides
    return {"k1": known["k1"], "k2": known["k2"], "temperature": temperature}


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


# ----------------------------------------------------------------------- agent there is


def _at_end(supply: Supply) -> tuple[Result, tuple[WorkedStep, ...]]:
    """The agent in the zone when the discharge ends: what was delivered, less what blew out."""
    flow, duration, there = supply.zone.airflow, supply.duration, supply.delivered
    name = f"{supply.id}.at_end"
    title = f"{supply.title}: agent in the zone when the discharge ends"
    if there.value is None or (flow is not None and flow.si == 0.0):
        return replace(there, id=name, title=title), ()
    if flow is None:
        # what nobody looked at must not come out better than a draught that was measured
        return Result(name, title, None, "mass", absent=_no_airflow(supply)), ()
    if duration is None:
        return Result(
            name,
            title,
            None,
            "mass",
            absent=f"{supply.title}: air passes through, and no discharge time is stated",
        ), ()
    step = work(
        f.left_at_end,
        name,
        title,
        mass=there,
        volume=supply.zone.volume,
        flow=flow,
        duration=duration,
    )
    by_zone = combined(
        functools.partial(f.left_at_end, mass=there.value),
        volume=supply.zone.volume,
        flow=flow,
        duration=duration,
    )
    uncertainty = math.hypot(by_zone, there.standard_uncertainty * step.value / there.value)
    inputs = (*there.inputs, supply.zone.volume.id, flow.id, duration.id)
    return as_result(step, uncertainty, inputs), (step,)


def _no_airflow(supply: Supply) -> str:
    zone = supply.zone.id
    return f"the airflow through {zone} is not stated; state `airflow: 0 L/min` if it is closed"


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


def _hold(section: Fire, air: Air, supply: Supply, needed: Result, end: Result) -> Part:
    """How long the agent lasts, where a hold time is asked for and the zone is not tight."""
    zone, name = supply.zone, f"{supply.id}.hold"
    title = f"{supply.title}: time above the design concentration after the discharge"
    if zone.hold is None or (zone.airflow and zone.airflow.si == 0.0):
        return Part()
    asked = Result(
        zone.hold.id, "hold time asked for", zone.hold.si, "time", inputs=(zone.hold.id,)
    )
    steps: tuple[WorkedStep, ...] = ()
    if zone.airflow is None:
        found = Result(name, title, None, "time", absent=_no_airflow(supply))
    elif not needed.value or not end.value:
        found = Result(
            name, title, None, "time", absent=end.absent or needed.absent or "no agent is delivered"
        )
    else:
        step = work(
            f.hold_time, name, title, volume=zone.volume, flow=zone.airflow, mass=end, needed=needed
        )
        inputs = (*needed.inputs, *end.inputs, zone.airflow.id)
        steps, found = (step,), as_result(step, _hold_spread(section, air, supply), inputs)
    check = make_check(
        f"{supply.check_id}.hold",
        f"{supply.title}: how long the agent lasts",
        demand=asked,
        capacity=found,
        inputs=(zone.hold.id, *found.inputs),
        sources=(f.BALANCE,),
        ways="less air through the zone, more agent, or a longer discharge",
    )
    return Part(results=(found,), steps=steps, checks=(check,))


def _hold_spread(section: Fire, air: Air, supply: Supply) -> float:
    """Standard uncertainty of the hold time: zone, flow, agent and design concentration vary, each
    alone.
    """
    zone, duration, design = supply.zone, supply.duration, design_of(supply)
    there, u = supply.delivered.value, supply.delivered.standard_uncertainty
    if zone.airflow is None or duration is None or design is None or not there:
        return 0.0
    formula = f.inert_mass if supply.properties.agent.kind == "inert" else f.halocarbon_mass

    def held(
        *, volume: float, flow: float, duration: float, mass: float = there, **gas_: float
    ) -> float:
        left = f.left_at_end(mass=mass, volume=volume, flow=flow, duration=duration)
        return f.hold_time(
            volume=volume,
            flow=flow,
            mass=left,
            needed=_mass(formula, air.amount.value or 1.0, volume=volume, **gas_),
        )

    given = {
        "volume": zone.volume,
        "flow": zone.airflow,
        "duration": duration,
        "concentration": design,
        **_gas(section.coldest, supply),
    }
    centre = {n: q.si for n, q in given.items()}
    by_mass = (held(mass=there + u, **centre) - held(mass=there - u, **centre)) / 2.0
    return math.hypot(combined(held, **given), by_mass)


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
    specific = _specific(temperature, when, supply)
    inert = supply.properties.agent.kind == "inert"
    formula = f.inert_concentration if inert else f.halocarbon_concentration
    step = work(
        formula,
        name,
        title,
        mass=there,
        specific_volume=as_result(specific),
        factor=factor,
        volume=supply.zone.volume,
    )
    inputs = (*_inputs(supply, temperature), *there.inputs, *factor.inputs)
    found = as_result(step, _concentration_spread(formula, temperature, factor, supply), inputs)
    left = work(
        f.oxygen,
        f"{supply.id}.oxygen_{when}",
        f"{supply.title}: oxygen left when {when}",
        air=f.OXYGEN_IN_AIR,
        concentration=found,
    )
    own = () if when == "coldest" else (specific,)
    return (found, as_result(left, f.OXYGEN_IN_AIR * found.standard_uncertainty, inputs)), (
        *own,
        step,
        left,
    )


def _concentration_spread(
    formula: Formula[..., float], temperature: Quantity, factor: Result, supply: Supply
) -> float:
    mass = supply.delivered.value or 0.0

    def at(*, mass: float = mass, volume: float, k1: float, k2: float, temperature: float) -> float:
        s = f.specific_volume(k1=k1, k2=k2, temperature=temperature, zero=ZERO_CELSIUS)
        return formula(mass=mass, specific_volume=s, factor=factor.value or 1.0, volume=volume)

    others = _gas(temperature, supply)
    by_zone = combined(at, volume=supply.zone.volume, **others)
    fixed: Callable[[float], float] = lambda m: at(  # noqa: E731
        mass=m, volume=supply.zone.volume.si, **{n: q.si for n, q in others.items()}
    )
    u = supply.delivered.standard_uncertainty
    return math.hypot(by_zone, (fixed(mass + u) - fixed(mass - u)) / 2.0)


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


def _course(supply: Supply, needed: Result, end: Result) -> Course | None:
    if needed.value is None or end.value is None:
        return None
    if supply.duration is None or supply.zone.airflow is None:
        return None
    decay = supply.zone.airflow.si / supply.zone.volume.si
    return Course(supply.title, supply.duration.si, end.value, decay, needed.value)
