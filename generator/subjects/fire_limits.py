"""The subject `fire`: what bounds a gaseous agent's concentration, people above and the cold below."""

from __future__ import annotations

from dataclasses import replace

from buildspec.quantities import Quantity
from buildspec.sections.fire import Fire
from generator.checks import make_check
from generator.formulas import fire as f
from generator.formulas.air import SEA_LEVEL_PRESSURE
from generator.subjects.fire_records import Air, Part, Supply
from generator.tables.agents import Saturation, agents
from generator.vocabulary import Check, Result, WorkedStep
from generator.work import as_result, work


def design_of(supply: Supply) -> Quantity | None:
    """The design concentration: the zone's own where stated, else the agent's."""
    return supply.zone.design_concentration or supply.properties.decides.get("design")


def exposure(section: Fire, supply: Supply, hot: Result) -> tuple[Check, ...]:
    """The concentration people breathe against the level without effect; only where people are."""
    if not supply.zone.occupied:
        return ()
    limit = supply.properties.decides.get("noael")
    name, title = f"{supply.id}.noael", f"{supply.properties.agent.name}: no-effect level (NOAEL)"
    if limit is None:
        capacity = Result(name, title, None, "share", absent=supply.properties.lacking("noael"))
    elif _alone(section, supply) or (hot.value or 0.0) * section.exposure_factor.si > limit.si:
        capacity = Result(name, title, limit.si, "share", limit.standard_uncertainty)
    else:
        capacity = Result(name, title, None, "share", absent=TOGETHER)
    inputs = (
        *hot.inputs,
        section.exposure_factor.id,
        *((limit.id,) if limit and not limit.default else ()),
    )
    return (
        make_check(
            f"{supply.check_id}.exposure",
            f"{supply.title}: what the driver breathes",
            demand=hot,
            capacity=capacity,
            factor=section.exposure_factor.si,
            inputs=inputs,
            sources=(limit.source,) if limit else (),
            basis_of_verdict="at the hottest, in the venue's air, bottles charged to their labels, all agent "
            "evenly mixed in; nearer a nozzle it is more",
            ways="less of this agent where the driver is, or one that may be breathed at more, with "
            "what puts the fire out still there when it is coldest",
            fixed="capacity",
        ),
    )


LEAST_OXYGEN = 0.12
"""With less than this share people may stay no more than three minutes; a maker's manual for inert gases."""
OXYGEN_SOURCE = (
    "a maker's manual for inert gases: 12 % oxygen for no more than 5 minutes, less for no more than 3. 12 % is also "
    "the least that French rules for merchant ships leave (division 322, annex 322-6.A.1)"
)


DALTON = "as so much at sea level: Dalton's law, applied here and no part of that manual's text"


def breathable(section: Fire, air: Air, supply: Supply, oxygen: Result) -> Part:
    """The oxygen left in a zone with people in it, as so much at sea level; what the fire itself uses is not in it."""
    if not supply.zone.occupied:
        return Part()
    asked = Result(f"{supply.id}.least_oxygen", "oxygen that people need", LEAST_OXYGEN, "share")
    there, step = _at_sea_level(air, supply, oxygen)
    enough = there.value is not None and there.value >= LEAST_OXYGEN
    together = enough and not _alone(section, supply)
    check = make_check(
        f"{supply.check_id}.oxygen",
        f"{supply.title}: oxygen left for the driver",
        demand=asked,
        capacity=replace(there, value=None, absent=DISPLACED) if together else there,
        inputs=there.inputs,
        sources=(OXYGEN_SOURCE, DALTON),
        basis_of_verdict="12 % is a manual's figure, held here against the share at sea level that gives as much "
        "(Dalton's law); at the hottest, where it is least; what the fire itself uses is not in it",
    )
    return Part(results=(there,) if step else (), steps=(step,) if step else (), checks=(check,))


def _at_sea_level(air: Air, supply: Supply, oxygen: Result) -> tuple[Result, WorkedStep | None]:
    """The share of oxygen at sea level that gives as much; both spreads added, since they go together."""
    name, title = f"{supply.id}.oxygen_sea_level", f"{supply.title}: oxygen left, as at sea level"
    if oxygen.value is None:
        return Result(name, title, None, "share", absent=oxygen.absent), None
    step = work(f.sea_level_oxygen, name, title, share=oxygen, factor=air.exposure)
    u = (air.exposure.value or 1.0) * oxygen.standard_uncertainty
    u += oxygen.value * air.exposure.standard_uncertainty
    return as_result(step, u, (*oxygen.inputs, *air.exposure.inputs)), step


TOGETHER = (
    "gases of other kinds are discharged here too, and no source says what people bear of them "
    "together; keep to one where a person is"
)


DISPLACED = "gases of other kinds are discharged here too and take oxygen away as well; keep to one where a person is"


def _alone(section: Fire, supply: Supply) -> bool:
    """Whether no other gas is discharged into the zone."""
    bottles = {b.id: agents()[b.agent] for b in section.bottles}
    into = {bottles[n.bottle].name for n in section.nozzles if n.zone == supply.zone.id}
    gases = {a.name for a in bottles.values() if a.kind not in ("foam", "powder")}
    return into & gases <= {supply.properties.agent.name}


def ceiling(section: Fire, air: Air, supply: Supply) -> tuple[Check, ...]:
    """Whether the agent's vapour pressure lets the design concentration be reached at all when
    coldest.
    """
    saturation, design = supply.properties.agent.vapour_pressure, design_of(supply)
    if saturation is None or design is None:
        return ()
    asked = Result(
        f"{supply.id}.design",
        f"{supply.properties.agent.name}: design concentration",
        design.si,
        "share",
        design.standard_uncertainty,
    )
    return (
        make_check(
            f"{supply.check_id}.ceiling",
            f"{supply.title}: whether the cold lets enough of it evaporate",
            demand=asked,
            capacity=_vapour_limit(section, air, supply, saturation),
            inputs=(section.coldest.id, *(() if design.default else (design.id,))),
            sources=(saturation.source,),
        ),
    )


def _vapour_limit(section: Fire, air: Air, supply: Supply, saturation: Saturation) -> Result:
    """The highest share that the vapour's own pressure can be of the air's, no less than at sea level."""
    name = f"{supply.id}.ceiling"
    title = f"{supply.title}: highest concentration its vapour pressure allows"
    vapour = f.saturation_pressure(rows=saturation.rows, temperature=section.coldest.si)
    if vapour is None:
        absent = "the vapour pressure's table does not reach this temperature"
        return Result(name, title, None, "share", absent=absent)
    pressure = SEA_LEVEL_PRESSURE * max(air.exposure.value or 1.0, 1.0)
    limit = f.vapour_ceiling(vapour=vapour, pressure=pressure)
    return Result(name, title, limit, "share", inputs=(section.coldest.id,))
