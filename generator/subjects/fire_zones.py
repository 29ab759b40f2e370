"""The subject `fire`: foam, powder and carbon dioxide in a zone, and the reach of its nozzles."""

from __future__ import annotations

import math
from dataclasses import replace

from buildspec.quantities import Quantity
from buildspec.sections.fire import Fire
from generator.checks import make_check
from generator.formulas import fire as f
from generator.subjects.fire_draught import no_airflow
from generator.subjects.fire_records import WORD, Part, Supply
from generator.vocabulary import Caution, Check, Result
from generator.work import as_result, work


def known(quantity: Quantity | None, name: str, title: str, kind: str, absent: str) -> Result:
    """A quantity of the description as a side of a check, or why there is none."""
    if quantity is None:
        return Result(name, title, None, kind, absent=absent)
    inputs = () if quantity.default else (quantity.id,)
    return Result(name, title, quantity.si, kind, quantity.standard_uncertainty, inputs=inputs)


# ------------------------------------------------------------------------------------ foam


def foam(section: Fire, supply: Supply) -> Part:
    """Foam: the rate over the area, and how long it lasts."""
    rate, part = _rate(supply)
    stated = supply.zone.application_rate or supply.properties.decides.get("rate")
    asked = known(
        stated,
        f"{supply.id}.rate_asked",
        "application rate asked for",
        "application rate",
        supply.properties.lacking("rate"),
    )
    check = make_check(
        f"{supply.check_id}.rate",
        f"{supply.title}: application rate over the area",
        demand=asked,
        capacity=rate,
        factor=section.amount_factor.si,
        inputs=(*asked.inputs, *rate.inputs, section.amount_factor.id),
        sources=(stated.source,) if stated and stated.source else (),
        basis_of_verdict=_rate_basis(supply),
    )
    return part + Part(checks=(check, _lasts(supply)))


def _rate_basis(supply: Supply) -> str:
    if supply.zone.application_rate:
        return "the zone's own application rate"
    return (
        "the shipped rate is one for large spills on open ground; the agent's maker may state one "
        "for this fire"
    )


def _rate(supply: Supply) -> tuple[Result, Part]:
    """Solution that reaches each area and time unit."""
    name, title = f"{supply.id}.rate", f"{supply.title}: application rate"
    area, duration, there = supply.zone.area, supply.duration, supply.delivered
    if area is None or duration is None or there.value is None:
        lacking = (
            "the area to cover is not stated"
            if area is None
            else "a bottle states no discharge time"
            if duration is None
            else there.absent
        )
        absent = Result(name, title, None, "application rate", absent=f"{supply.title}: {lacking}")
        return absent, Part(results=(absent,))
    step = work(f.application_rate, name, title, volume=there, area=area, duration=duration)
    relative = math.hypot(
        there.standard_uncertainty / there.value if there.value else 0.0,
        area.standard_uncertainty / area.si,
        duration.standard_uncertainty / duration.si,
    )
    found = as_result(step, step.value * relative, (*there.inputs, area.id, duration.id))
    return found, Part(results=(found,), steps=(step,))


def _lasts(supply: Supply) -> Check:
    """The discharge time against the time that the rate must last."""
    asked = known(
        supply.zone.application_time,
        f"{supply.id}.time_asked",
        "application time asked for",
        "time",
        f"fire.zones.{supply.zone.id} states no application_time",
    )
    lasts = known(
        supply.duration,
        f"{supply.id}.discharge",
        "discharge time",
        "time",
        "a bottle states no discharge time",
    )
    return make_check(
        f"{supply.check_id}.time",
        f"{supply.title}: how long the foam lasts",
        demand=asked,
        capacity=lasts,
        inputs=(*asked.inputs, *lasts.inputs),
    )


# ---------------------------------------------------------------------------------- powder


def powder(section: Fire, supply: Supply) -> Part:
    """Powder: mass per volume against what its maker asks for."""
    name, title = f"{supply.id}.density", f"{supply.title}: powder per volume"
    asked = known(
        supply.zone.agent_density,
        f"{supply.id}.density_asked",
        "powder per volume asked for",
        "density",
        f"fire.zones.{supply.zone.id} states no agent_density, and no published figure is shipped",
    )
    if supply.delivered.value is None:
        found, steps = Result(name, title, None, "density", absent=supply.delivered.absent), ()
    else:
        step = work(
            f.mass_per_volume, name, title, mass=supply.delivered, volume=supply.zone.volume
        )
        spread = math.hypot(
            supply.delivered.standard_uncertainty / supply.zone.volume.si,
            step.value * supply.zone.volume.standard_uncertainty / supply.zone.volume.si,
        )
        found = as_result(step, spread, (*supply.delivered.inputs, supply.zone.volume.id))
        steps = (step,)  # type: ignore[assignment]
    check = make_check(
        f"{supply.check_id}.amount",
        f"{supply.title}: powder per volume",
        demand=asked,
        capacity=found,
        factor=section.amount_factor.si,
        inputs=(*asked.inputs, *found.inputs, section.amount_factor.id),
    )
    return Part(results=(found,), steps=steps, checks=(check,))


# -------------------------------------------------------------------------- carbon dioxide


def carbon_dioxide(section: Fire, supply: Supply) -> Part:
    """Carbon dioxide: refused where a person is; elsewhere by the supply factors."""
    return _refusal(supply) if supply.zone.occupied else _flooded(section, supply)


def _refusal(supply: Supply) -> Part:
    """No amount of it is reckoned for an occupied zone: none of it may be there."""
    agent = supply.properties.agent
    least = supply.properties.decides["design"]
    asked = Result(
        f"{supply.id}.design", "least concentration that puts a fuel fire out", least.si, "share"
    )
    none = Result(f"{supply.id}.allowed", "allowed where a person is", 0.0, "share")
    check = make_check(
        f"{supply.check_id}.refused",
        f"{supply.title}: refused where a person is",
        demand=asked,
        capacity=none,
        inputs=(supply.nozzles[0].share.id,),
        sources=(least.source,),
        basis_of_verdict=agent.refusal,
        closes="take the nozzle out: no amount of this agent is safe where a person is",
    )
    return Part(
        checks=(check,),
        cautions=(
            Caution(
                f"{supply.id}.refused",
                f"{supply.title}: {agent.refusal} Take the nozzle out.",
                WORD,
                hazard=True,
                ref=check.id,
            ),
        ),
    )


def _flooded(section: Fire, supply: Supply) -> Part:
    """Mass for a closed zone without people; no credit for thin air."""
    design = supply.zone.design_concentration or supply.properties.decides["design"]
    conversion = work(
        f.conversion_factor,
        f"{supply.id}.conversion",
        f"{supply.title}: material conversion factor",
        concentration=design,
    )
    factor = f.supply_factor(volume=supply.zone.volume.si)
    step = work(
        f.carbon_dioxide_mass,
        f"{supply.id}.needed",
        f"{supply.title}: carbon dioxide needed",
        volume=supply.zone.volume,
        supply_factor=factor,
        conversion=max(conversion.value, 1.0),
    )
    needed = as_result(
        step,
        step.value * supply.zone.volume.standard_uncertainty / supply.zone.volume.si,
        (supply.zone.volume.id, *(() if design.default else (design.id,))),
    )
    check = make_check(
        f"{supply.check_id}.amount",
        f"{supply.title}: carbon dioxide against the amount for the volume",
        demand=needed,
        capacity=_closed(section, supply, needed),
        factor=section.amount_factor.si,
        inputs=(*needed.inputs, *supply.delivered.inputs, section.amount_factor.id),
        sources=(step.formula.source,),
        basis_of_verdict="for a closed zone; openings and a draught take more",
    )
    return Part(results=(needed,), steps=(conversion, step), checks=(check,))


def _closed(section: Fire, supply: Supply, needed: Result) -> Result:
    """What is delivered; no amount for a closed zone stands for one with a draught, but too little is too
    little in either.
    """
    there, flow = supply.delivered, supply.zone.airflow
    other = "" if supply.zone.design_concentration else supply.properties.unfit.get("flood", "")
    tight = flow is not None and flow.si == 0.0
    if there.value is None or (tight and not other):
        return there
    if there.value < section.amount_factor.si * (needed.value or 0.0):
        return there
    absent = other or (
        "air passes through, and the supply factors are those of a closed zone"
        if flow
        else no_airflow(supply)
    )
    return replace(there, value=None, absent=absent)


# ----------------------------------------------------------------------------------- reach


def reach(section: Fire) -> Part:
    """Each nozzle's throw against the distance to what it must reach, where either is stated."""
    return Part(
        checks=tuple(
            make_check(
                f"{WORD}.check.nozzle_{n.id}.reach",
                f"{n.title}: throw to {n.aim or 'what it points at'}",
                demand=known(
                    n.distance,
                    f"{WORD}.nozzle.{n.id}.distance",
                    "distance",
                    "length",
                    f"fire.nozzles.{n.id} states no distance",
                ),
                capacity=known(
                    n.reach,
                    f"{WORD}.nozzle.{n.id}.reach",
                    "throw by its maker",
                    "length",
                    f"fire.nozzles.{n.id} states no reach",
                ),
                inputs=tuple(q.id for q in (n.distance, n.reach) if q),
            )
            for n in section.nozzles
            if n.distance or n.reach
        )
    )
