"""The subject `fire`: what a draught leaves of a gaseous agent, and for how long."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.fire import Fire
from generator.checks import make_check
from generator.formulas import fire as f
from generator.formulas.air import ZERO_CELSIUS
from generator.subjects.fire_limits import design_of
from generator.subjects.fire_records import Air, Part, Supply, combined
from generator.subjects.fire_vapour import concentration, concentration_formula, constants, specific
from generator.vocabulary import Result, WorkedStep
from generator.work import as_result, work

Array = NDArray[np.float64]


def times(supply: Supply) -> dict[str, Quantity] | None:
    """The discharge time of each bottle, by a name of its own; None where one states none."""
    stated = {f"t{n}": b.discharge_time for n, b in enumerate(supply.bottles)}
    known = {n: t for n, t in stated.items() if t is not None}
    return known if len(known) == len(stated) else None


def at_end(section: Fire, air: Air, supply: Supply) -> tuple[Result, tuple[WorkedStep, ...]]:
    """The agent in the zone when the last discharge ends: what was delivered, less what blew out."""
    flow, durations, there = supply.zone.airflow, times(supply), supply.delivered
    name = f"{supply.id}.at_end"
    title = f"{supply.title}: agent in the zone when the discharge ends"
    if there.value is None or (flow is not None and flow.si == 0.0):
        return replace(there, id=name, title=title), ()
    if flow is None:
        # what nobody looked at must not come out better than a draught that was measured
        return Result(name, title, None, "mass", absent=no_airflow(supply)), ()
    if durations is None:
        absent = f"{supply.title}: air passes through, and no discharge time is stated"
        return Result(name, title, None, "mass", absent=absent), ()
    if supply.properties.agent.kind == "inert":
        return _inert_at_end(section, air, supply, durations)
    each = np.array([t.si for t in durations.values()])
    step = work(
        f.left_at_end,
        name,
        title,
        masses=np.array(supply.masses),
        durations=each,
        volume=supply.zone.volume,
        flow=flow,
        longest=float(each.max()),
    )
    return _found(supply, air, step, {"volume": supply.zone.volume, "flow": flow, **durations}), (
        step,
    )


def _inert_at_end(
    section: Fire, air: Air, supply: Supply, durations: dict[str, Quantity]
) -> tuple[Result, tuple[WorkedStep, ...]]:
    """The mass of an inert gas that would give a closed zone the concentration that the draught leaves.

    An inert gas takes so much room that it pushes the mixture out itself, the gas in it too.
    """
    name, zone, flow = f"{supply.id}.at_end", supply.zone, supply.zone.airflow
    title = f"{supply.title}: agent when the discharge ends, as in a closed zone"
    lacking = supply.properties.lacking("k1", "k2")
    if lacking or flow is None:
        return Result(name, title, None, "mass", absent=lacking), ()
    vapour = as_result(specific(section.coldest, "coldest", supply))
    steps: list[WorkedStep] = []
    for n, (inflow, time) in enumerate(_parts(supply, vapour.value or 0.0, air, durations), 1):
        before = as_result(steps[-1]) if steps else 0.0
        steps.append(
            work(
                f.reached_in_draught,
                f"{supply.id}.draught_{n}",
                f"{supply.title}: concentration after part {n} of the discharge, when coldest",
                before=before,
                inflow=inflow,
                flow=flow,
                volume=zone.volume,
                time=time,
            )
        )
    last = work(
        f.inert_mass,
        name,
        title,
        factor=air.amount,
        volume=zone.volume,
        specific_volume=vapour,
        concentration=as_result(steps[-1]),
    )
    gas = constants(section.coldest, supply)
    found = _found(supply, air, last, {"volume": zone.volume, "flow": flow, **gas, **durations})
    return found, (*steps, last)


def _parts(
    supply: Supply, specific_volume: float, air: Air, durations: dict[str, Quantity]
) -> list[tuple[float, float]]:
    """The gas that enters, m³/s, in each part of the discharge, and how long that part lasts, s."""
    each = [t.si for t in durations.values()]
    return _inflows(np.array(supply.masses), each, specific_volume / (air.amount.value or 1.0))


def _inflows(masses: Array, each: list[float], volume: float) -> list[tuple[float, float]]:
    """As `_parts`, with `volume` in m³/kg; a part ends when a bottle is empty."""
    found, begun = [], 0.0
    for end in sorted(set(each)):
        rates = [m / t for m, t in zip(masses, each, strict=True) if t >= end]
        found.append((float(sum(rates)) * volume, end - begun))
        begun = end
    return found


def _found(supply: Supply, air: Air, step: WorkedStep, given: Mapping[str, Quantity]) -> Result:
    """What is left, with its uncertainty and all it rests on."""
    there, centre = supply.delivered, {n: q.si for n, q in given.items()}
    left = functools.partial(_left, supply, air.amount.value or 1.0)
    off = there.standard_uncertainty / there.value if there.value else 0.0
    by_mass = (left(share=1.0 + off, **centre) - left(share=1.0 - off, **centre)) / 2.0
    own = (q.id for q in given.values() if not q.default)
    uncertainty = math.hypot(combined(left, **given), by_mass)
    return as_result(step, uncertainty, (*there.inputs, *own))


def _left(
    supply: Supply,
    factor: float,
    *,
    volume: float,
    flow: float,
    share: float = 1.0,
    k1: float = math.nan,
    k2: float = math.nan,
    temperature: float = math.nan,
    **durations: float,
) -> float:
    """Agent left when the last discharge ends, kg, with `share` of the mass that is stated. The gas's
    constants count for an inert gas only; `factor` is the air's pressure over that at sea level.
    """
    masses, each = share * np.array(supply.masses), list(durations.values())
    if supply.properties.agent.kind != "inert":
        ends = np.array(each)
        return f.left_at_end(
            masses=masses, durations=ends, volume=volume, flow=flow, longest=max(each)
        )
    s = f.specific_volume(k1=k1, k2=k2, temperature=temperature, zero=ZERO_CELSIUS)
    reached = 0.0
    for inflow, time in _inflows(masses, each, s / factor):
        reached = f.reached_in_draught(
            before=reached, inflow=inflow, flow=flow, volume=volume, time=time
        )
    return f.inert_mass(factor=factor, volume=volume, specific_volume=s, concentration=reached)


def kept(section: Fire, air: Air, supply: Supply, masses: tuple[float, ...]) -> float:
    """The agent still in the zone when the last discharge ends, kg, where each of its bottles delivers but
    these `masses` of gas; a bottle that does not open counts as long as it would have discharged.
    """
    zone, durations = supply.zone, times(supply)
    if not any(masses) or zone.airflow is None or zone.airflow.si == 0.0 or durations is None:
        return sum(masses)
    inert = supply.properties.agent.kind == "inert"
    given = {
        "volume": zone.volume,
        "flow": zone.airflow,
        **(constants(section.coldest, supply) if inert else {}),
        **durations,
    }
    reduced = replace(supply, masses=masses)
    return _left(reduced, air.amount.value or 1.0, **{n: q.si for n, q in given.items()})


def no_airflow(supply: Supply) -> str:
    """Why nothing is known of what stays in a zone whose airflow nobody stated."""
    zone = called(supply.zone)
    return f"the airflow through {zone} is not stated; state `airflow: 0 L/min` if it is closed"


def hold(section: Fire, air: Air, supply: Supply, end: Result) -> tuple[Part, float | None]:
    """How long the agent lasts, where a hold time is asked for and the zone is not tight; and that in s."""
    zone = supply.zone
    if zone.airflow and zone.airflow.si == 0.0:
        return Part(), None
    found, steps = _held(section, air, supply, end)
    if zone.hold is None and not zone.hot_surfaces:
        return Part(), found.value
    asked = _asked(supply)
    check = make_check(
        f"{supply.check_id}.hold",
        f"{supply.title}: how long the agent lasts",
        demand=asked,
        capacity=found,
        inputs=(*asked.inputs, *found.inputs),
        sources=(f.BALANCE,),
        ways="less air through the zone, more agent, or a longer discharge",
    )
    return Part(results=(found,), steps=steps, checks=(check,)), found.value


def _asked(supply: Supply) -> Result:
    """The hold time asked for; open where hot surfaces are listed that may light the fuel again, and none is."""
    hold, zone = supply.zone.hold, supply.zone
    if hold is not None:
        return Result(hold.id, "hold time asked for", hold.si, "time", inputs=(hold.id,))
    absent = (
        f"{', '.join(zone.hot_surfaces)} may light the fuel again, and no `hold` says how long "
        "the agent must stay"
    )
    return Result(f"{supply.id}.hold_asked", "hold time asked for", None, "time", absent=absent)


def _held(
    section: Fire, air: Air, supply: Supply, end: Result
) -> tuple[Result, tuple[WorkedStep, ...]]:
    """The time above the design concentration, by the concentration and not by the mass."""
    zone, design, name = supply.zone, design_of(supply), f"{supply.id}.hold"
    title = f"{supply.title}: time above the design concentration after the discharge"
    names = ("k1", "k2") if design is not None else ("k1", "k2", "design")
    lacking = "" if zone.airflow else no_airflow(supply)
    lacking = lacking or end.absent or supply.properties.lacking(*names)
    if lacking or not end.value or zone.airflow is None or design is None:
        absent = lacking or "no agent is delivered"
        return Result(name, title, None, "time", absent=absent), ()
    reached = work(
        concentration_formula(supply),
        f"{supply.id}.concentration_end",
        f"{supply.title}: concentration when the discharge ends, when coldest",
        mass=end,
        specific_volume=as_result(specific(section.coldest, "coldest", supply)),
        factor=air.amount,
        volume=zone.volume,
    )
    step = work(
        f.hold_time,
        name,
        title,
        volume=zone.volume,
        flow=zone.airflow,
        reached=as_result(reached),
        design=design,
    )
    own = (*constants(section.coldest, supply).values(), design, zone.volume, zone.airflow)
    inputs = (*(q.id for q in own if not q.default), *end.inputs, *air.amount.inputs)
    return as_result(step, _hold_spread(section, air, supply), inputs), (reached, step)


def _hold_spread(section: Fire, air: Air, supply: Supply) -> float:
    """Standard uncertainty of the hold time: zone, flow, agent and design concentration vary, each
    alone.
    """
    zone, durations, design = supply.zone, times(supply), design_of(supply)
    there, u = supply.delivered.value, supply.delivered.standard_uncertainty
    if zone.airflow is None or durations is None or design is None or not there:
        return 0.0
    gas = constants(section.coldest, supply)

    def held(
        *, volume: float, flow: float, design: float, share: float = 1.0, **others: float
    ) -> float:
        own, factor = {n: others[n] for n in gas}, air.amount.value or 1.0
        left = _left(supply, factor, volume=volume, flow=flow, share=share, **others)
        reached = concentration(supply, factor, mass=left, volume=volume, **own)
        return f.hold_time(volume=volume, flow=flow, reached=reached, design=design)

    given = {"volume": zone.volume, "flow": zone.airflow, "design": design, **gas, **durations}
    centre = {n: q.si for n, q in given.items()}
    off = u / there
    by_mass = (held(share=1.0 + off, **centre) - held(share=1.0 - off, **centre)) / 2.0
    return math.hypot(combined(held, **given), by_mass)
