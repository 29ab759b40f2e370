"""The subject `fire`: what the suppression system brings into each zone, for the fire and for the
driver.
"""

from __future__ import annotations

import datetime
import functools
import operator
from collections.abc import Iterable, Mapping
from dataclasses import replace

from buildspec.build import Build
from buildspec.plain import called, spoken
from buildspec.sections.fire import DATES, Bottle, Fire
from buildspec.sections.venue import Venue
from generator.formulas import fire as f
from generator.formulas.air import SEA_LEVEL_PRESSURE, standard_air
from generator.subjects import (
    fire_bottles,
    fire_doubts,
    fire_fuel,
    fire_rules,
    fire_supply,
    fire_zones,
)
from generator.subjects.dates import Done, ahead, deadline
from generator.subjects.fire_gas import gas
from generator.subjects.fire_records import (
    WORD,
    Air,
    Course,
    Detail,
    Levels,
    Loss,
    Part,
    Properties,
    Supply,
    combined,
    slug,
)
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Assumption, Caution, Outcome, Result
from generator.work import as_result, work


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Zones, bottles, prescriptions and failures; None without a section `fire`."""
    section = build.section(Fire)
    if section is None:
        return None
    stated, section = section, _past(section, given)
    air, about_air = _air(build, section)
    content, weighed = fire_supply.contents(section)
    supplies, delivered = fire_supply.supplies(section, content, fire_fuel.strange(build))
    zones, levels, courses = _zones(section, air, supplies)
    own = (fire_zones.reach(section), fire_bottles.bottles(section, content))
    needed, _ = deadline(build, given.as_of)
    general = (_general(stated, supplies, zones, given, needed), _unseen(build))
    part = _sum((about_air, weighed, delivered, zones, *own, *general))
    losses = fire_bottles.losses(section, air, supplies, {r.id: r for r in part.results})
    used = {s.properties.agent.name: s.properties for s in supplies}
    return Outcome(
        WORD,
        (*part.results, *(x.left for x in losses)),
        part.checks,
        part.steps,
        part.cautions,
        (*part.assumptions, *fire_supply.supplied(used.values())),
        part.open_items,
        fire_rules.requirements(build, stated, section, given.as_of),
        _detail(stated, levels, courses, losses, used),
    )


def _past(section: Fire, given: Given) -> Fire:
    """The section without readings that are yet to come: nobody has read those scales and gauges."""
    return replace(section, bottles=tuple(_read(bottle, given) for bottle in section.bottles))


def _read(bottle: Bottle, given: Given) -> Bottle:
    if bottle.weighed and not given.reached(bottle.weighed):
        bottle = replace(bottle, gross=None)
    if bottle.gauge_read and not given.reached(bottle.gauge_read):
        bottle = replace(bottle, gauge=None)
    return bottle


def _detail(
    section: Fire,
    levels: tuple[Levels, ...],
    courses: tuple[Course, ...],
    losses: tuple[Loss, ...],
    used: Mapping[str, Properties],
) -> Detail:
    remembered = tuple(
        (n, fire_supply.VALUES[key], k) for n, p in used.items() for key, k in p.memory.items()
    )
    names = {z.id: z.name or spoken(z.id) for z in section.zones}
    return Detail(
        levels, courses, losses, remembered, section.bottles, section.nozzles, names, section.zones
    )


def _sum(parts: Iterable[Part]) -> Part:
    return functools.reduce(operator.add, parts, Part())


def _zones(
    section: Fire, air: Air, supplies: tuple[Supply, ...]
) -> tuple[Part, tuple[Levels, ...], tuple[Course, ...]]:
    """Every zone and agent by the method of the agent's kind."""
    parts, levels, courses = [], [], []
    others = {
        "foam": fire_zones.foam,
        "powder": fire_zones.powder,
        "carbon dioxide": fire_zones.carbon_dioxide,
    }
    for supply in supplies:
        if other := others.get(supply.properties.agent.kind):
            parts.append(other(section, supply))
            continue
        part, level, course = gas(section, air, supply)
        parts.append(part)
        levels += [level] if level else []
        courses += [course] if course else []
    return _sum(parts), tuple(levels), tuple(courses)


# ------------------------------------------------------------------------------------- air


def _air(build: Build, section: Fire) -> tuple[Air, Part]:
    """The pressure factor of the venue's air: always for people, for the amount where it is above one
    or with credit. Air denser than at sea level takes more agent, whoever asks.
    """
    venue = build.section(Venue)
    stated = venue.pressure if venue else None
    height = venue.elevation if venue else None
    name, title = f"{WORD}.air.pressure", "Air pressure at the venue"
    if stated:
        pressure = Result(
            name, title, stated.si, "pressure", stated.standard_uncertainty, inputs=(stated.id,)
        )
    elif height:
        pressure = Result(
            name,
            f"{title}, standard atmosphere",
            standard_air(height.si)[1],
            "pressure",
            combined(lambda height: standard_air(height)[1], height=height),
            inputs=(height.id,),
        )
    else:
        pressure = Result(name, f"{title}, taken as at sea level", SEA_LEVEL_PRESSURE, "pressure")
    step = work(
        f.pressure_factor,
        f"{WORD}.air.factor",
        "Air pressure over that at sea level",
        pressure=pressure,
        sea_level=SEA_LEVEL_PRESSURE,
    )
    factor = as_result(step, pressure.standard_uncertainty / SEA_LEVEL_PRESSURE, pressure.inputs)
    sea = Result(f"{WORD}.air.sea_level", "No credit for thin air", 1.0, "ratio")
    counts = section.altitude_credit or (factor.value or 1.0) > 1.0
    air = Air(pressure, factor, factor if counts else sea)
    return air, Part(
        results=(pressure, factor),
        steps=(step,),
        assumptions=(*_air_assumption(bool(stated or height)), *_fuel_assumption(build)),
    )


def _fuel_assumption(build: Build) -> tuple[Assumption, ...]:
    if not fire_fuel.unstated(build):
        return ()
    return (
        Assumption(
            f"{WORD}.fuel",
            "What burns is not stated (vehicle.energy_source): taken as a hydrocarbon such as gasoline. Alcohols "
            "and nitromethane take other foam and more of a gas.",
            WORD,
            "no value stated",
        ),
    )


def _air_assumption(known: bool) -> tuple[Assumption, ...]:
    if known:
        return ()
    return (
        Assumption(
            f"{WORD}.air.assumed",
            "The venue states neither pressure nor elevation: the air is taken as at sea level. "
            "Higher up the same agent gives people a higher concentration.",
            WORD,
            "no value stated",
        ),
    )


# -------------------------------------------------------------------------------- in general


def _general(
    section: Fire,
    supplies: tuple[Supply, ...],
    zones: Part,
    given: Given,
    needed: datetime.date,
) -> Part:
    names = {s.properties.agent.name: s.properties.agent for s in supplies}
    own = tuple(
        Caution(f"{WORD}.agent.{slug(a.name)}.caution_{i}", f"{a.name}: {text}", WORD, hazard=True)
        for a in names.values()
        for i, text in enumerate(a.cautions, 1)
    )
    return Part(
        cautions=(*_cautions(section), *own),
        assumptions=_assumptions(section),
        open_items=(
            *fire_doubts.unserved(section),
            *fire_doubts.unshared(section, supplies, zones),
            *fire_doubts.old_readings(section, supplies, zones, needed),
            *ahead(WORD, _done(section), given),
        ),
    )


def _unseen(build: Build) -> Part:
    """A flame that nobody sees."""
    if "methanol" not in fire_fuel.strange(build).lower():
        return Part()
    text = (
        "Methanol burns with a flame that daylight hides: look for shimmering air and for paint that blisters, "
        "keep people away until water has been put on it, and never feel for it with a hand."
    )
    return Part(cautions=(Caution(f"{WORD}.caution.methanol", text, WORD, hazard=True),))


def _cautions(section: Fire) -> tuple[Caution, ...]:
    texts = (
        "Pressurised bottles: pin the valve before any work on the system, secure the bottle "
        "against falling, wear eye protection, and leave filling, valves and cartridges to a shop "
        "that is licensed for them.",
        "A fire system buys time to get out; it is no reason to stay. What counts is the exit, "
        "and the clothing until then.",
        "Discharge tests, agents, bottles and their transport fall under local law, the rulebook "
        "in force and the maker's instructions; where those say otherwise, they hold.",
    )
    return tuple(
        Caution(f"{WORD}.caution.{i}", t, WORD, hazard=True) for i, t in enumerate(texts, 1)
    )


def _assumptions(section: Fire) -> tuple[Assumption, ...]:
    texts = (
        ("mixed", "A gaseous agent mixes evenly through its zone.", "total flooding method"),
        (
            "shares",
            "Every nozzle delivers its stated share of the bottle, all of it into its zone, and "
            "nothing stays in bottle and lines.",
            "as stated for the nozzles; a discharge test shows whether it is so",
        ),
        (
            "apart",
            "Agents of different kinds in one zone are not added up.",
            "no source supports adding them",
        ),
    )
    return tuple(Assumption(f"{WORD}.assumption.{k}", t, WORD, s) for k, t, s in texts)


def _done(section: Fire) -> Iterable[Done]:
    """Every day on which something is said to have been done to a bottle."""
    for bottle in section.bottles:
        for word, done in DATES.items():
            title = f"{called(bottle)}: {done}"
            yield f"fire.bottles.{bottle.id}.{word}", title, getattr(bottle, word)


SUBJECT = Subject(
    word=WORD,
    title="Fire suppression",
    purpose="Whether each zone gets the agent it needs when it is coldest, what the driver "
    "breathes when it is hottest, what a single failure leaves, and what the rules prescribe.",
    group="The driver",
    evaluate=evaluate,
)
