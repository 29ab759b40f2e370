"""The subject `fire`: what a draught leaves of a gaseous agent, and for how long."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from buildspec.quantities import Quantity
from buildspec.sections.fire import Fire
from generator.checks import make_check
from generator.formulas import fire as f
from generator.subjects.fire_limits import design_of
from generator.subjects.fire_records import Air, Part, Supply, combined
from generator.subjects.fire_vapour import concentration, concentration_formula, constants, specific
from generator.vocabulary import Result, WorkedStep
from generator.work import as_result, work


def times(supply: Supply) -> dict[str, Quantity] | None:
    """The discharge time of each bottle, by a name of its own; None where one states none."""
    stated = {f"t{n}": b.discharge_time for n, b in enumerate(supply.bottles)}
    known = {n: t for n, t in stated.items() if t is not None}
    return known if len(known) == len(stated) else None


def at_end(supply: Supply) -> tuple[Result, tuple[WorkedStep, ...]]:
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
    by_zone = combined(
        lambda **at: _left(supply, **at), volume=supply.zone.volume, flow=flow, **durations
    )
    part = step.value / there.value if there.value else 0.0
    uncertainty = math.hypot(by_zone, there.standard_uncertainty * part)
    own = (supply.zone.volume.id, flow.id, *(t.id for t in durations.values()))
    return as_result(step, uncertainty, (*there.inputs, *own)), (step,)


def _left(
    supply: Supply, *, volume: float, flow: float, share: float = 1.0, **durations: float
) -> float:
    """Agent left when the last discharge ends, kg, with `share` of the mass that is stated."""
    each = np.array(list(durations.values()))
    masses = share * np.array(supply.masses)
    longest = float(each.max())
    return f.left_at_end(masses=masses, durations=each, volume=volume, flow=flow, longest=longest)


def no_airflow(supply: Supply) -> str:
    """Why nothing is known of what stays in a zone whose airflow nobody stated."""
    zone = supply.zone.id
    return f"the airflow through {zone} is not stated; state `airflow: 0 L/min` if it is closed"


def hold(section: Fire, air: Air, supply: Supply, end: Result) -> tuple[Part, float | None]:
    """How long the agent lasts, where a hold time is asked for and the zone is not tight; and that in s."""
    zone = supply.zone
    if zone.airflow and zone.airflow.si == 0.0:
        return Part(), None
    found, steps = _held(section, air, supply, end)
    if zone.hold is None:
        return Part(), found.value
    asked = Result(
        zone.hold.id, "hold time asked for", zone.hold.si, "time", inputs=(zone.hold.id,)
    )
    check = make_check(
        f"{supply.check_id}.hold",
        f"{supply.title}: how long the agent lasts",
        demand=asked,
        capacity=found,
        inputs=(zone.hold.id, *found.inputs),
        sources=(f.BALANCE,),
        ways="less air through the zone, more agent, or a longer discharge",
    )
    return Part(results=(found,), steps=steps, checks=(check,)), found.value


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
        own = {n: others[n] for n in gas}
        by_bottle = {n: t for n, t in others.items() if n not in gas}
        left = _left(supply, volume=volume, flow=flow, share=share, **by_bottle)
        reached = concentration(supply, air.amount.value or 1.0, mass=left, volume=volume, **own)
        return f.hold_time(volume=volume, flow=flow, reached=reached, design=design)

    given = {"volume": zone.volume, "flow": zone.airflow, "design": design, **gas, **durations}
    centre = {n: q.si for n, q in given.items()}
    off = u / there
    by_mass = (held(share=1.0 + off, **centre) - held(share=1.0 - off, **centre)) / 2.0
    return math.hypot(combined(held, **given), by_mass)
