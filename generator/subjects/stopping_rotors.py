"""The rotors of the subject `stopping`: what each stop heats them by, and what a first run leaves in them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from generator.checks import make_check
from generator.subjects.air import Detail as AirDetail
from generator.subjects.run_model import ids, made
from generator.subjects.stopping_cases import WORKS, Setting, Tried
from generator.subjects.stopping_heat import (
    doubt,
    limits,
    most_heat,
    named,
    per_joule,
    room,
    stated,
)
from generator.subjects.stopping_records import Way
from generator.vocabulary import Check, Result


@dataclass(frozen=True, slots=True)
class Heat:
    """Heat in the rotors, J, and its standard uncertainty."""

    joules: float = 0.0
    off: float = 0.0


def of_rotors(setting: Setting) -> tuple[str, ...]:
    """Ids of what the rotors are."""
    return ids(stated(setting))


def of_room(setting: Setting) -> tuple[str, ...]:
    """Ids behind the heat that the rotors may take."""
    return (*of_rotors(setting), *ids(limits(setting)))


def risen(setting: Setting, rise: Result, heat: Heat) -> Result:
    """The rise that a heat makes in the hottest rotors, with its spread; the result given names it."""
    each, inputs = per_joule(setting), (*rise.inputs, *of_rotors(setting))
    if each is None:
        absent = "mass or specific heat of the rotors is not stated"
        return replace(rise, value=None, absent=rise.absent or absent, inputs=inputs)
    u = math.hypot(heat.off * each, heat.joules * doubt(setting))
    value = heat.joules * each
    return replace(rise, value=value, standard_uncertainty=u, absent="", inputs=inputs)


def carried(way: Way, others: Iterable[Way]) -> Heat:
    """What the rotors still hold of the run before, as the stop in one direction begins: nothing is taken to cool.

    The first stop is one in which everything worked; after another the vehicle does not turn round. A
    temperature that they are cooled to comes before that.
    """
    brakes, air = way.setting.section.brakes, way.setting.of.air.detail
    before = [
        one for other in others if other is not way for one in other.tried if one.case == WORKS
    ]
    if not before or brakes is None:
        return Heat()
    each = per_joule(way.setting)
    if brakes.cooled_to and each and isinstance(air, AirDetail):
        warm = max(brakes.cooled_to.si - air.temperature, 0.0)
        return Heat(warm / each, brakes.cooled_to.standard_uncertainty / each)
    hot = max(before, key=lambda one: one.stop.brake_energy)
    return Heat(hot.stop.brake_energy, hot.heat_off)


def hottest(ways: tuple[Way, ...]) -> tuple[Tried, Heat]:
    """The stop of all directions and conditions that ends with the hottest rotors, and what they held before it."""
    found = [(one, carried(way, ways)) for way in ways for one in way.tried]
    return max(found, key=lambda pair: pair[0].stop.brake_energy + pair[1].joules)


def left_for(settings: Iterable[Setting], ways: tuple[Way, ...]) -> float | None:
    """The heat in J that the rotors may take in a stop after another run; None where no limit is known."""
    most = most_heat(next(iter(settings)))
    return None if most is None else most - max(carried(way, ways).joules for way in ways)


def rotor_check(ways: tuple[Way, ...], lines: Iterable[Result], how: str) -> Iterable[Check]:
    """The hottest stop against the greatest temperature. `lines` are the distances, for what is behind them."""
    hot, before = hottest(ways)
    setting, brakes, left = hot.setting, hot.setting.section.brakes, room(hot.setting)
    if brakes is None:
        return
    behind = tuple(dict.fromkeys(i for line in lines for i in line.inputs))
    said = ", after the run before it" if before.joules > 0.0 else ""
    title = f"Rise of the {named(setting)}' mean temperature: {hot.case.title.lower()}{said}"
    name = Result("stopping.rotor_rise", title, None, "temperature difference", inputs=behind)
    # what moves one stop's heat moves the other's alike
    whole = Heat(hot.stop.brake_energy + before.joules, hot.heat_off + before.off)
    air = setting.of.air.detail
    warm = air.venue.temperature if isinstance(air, AirDetail) else None
    bounds = [q for q in (brakes.most_temperature, warm) if q]
    room_ = made(
        "stopping.rotor_room",
        "From the air's temperature to the greatest allowed",
        left,
        "temperature difference",
        absent="the greatest temperature of the rotors is not stated",
        u=math.hypot(*(q.standard_uncertainty for q in bounds)),
        inputs=ids(bounds),
    )
    demand = risen(setting, name, whole)
    yield make_check(
        "stopping.check.rotors",
        "Rotors stay below their greatest temperature",
        demand=replace(demand, value=None, standard_uncertainty=0.0, absent=setting.unfit)
        if setting.unfit
        else demand,
        capacity=room_,
        inputs=(*behind, *of_room(setting), *room_.inputs),
        sources=("heat balance of one stop, common practice",),
        basis_of_verdict=f"{how}; mean temperature, the rubbing surface gets hotter for a moment",
        ways="brake later or from a lower speed, let the rotors cool before the second run (`cooled_to`), or fit "
        "heavier rotors"
        if before.joules > 0.0
        else "brake later or from a lower speed, or fit heavier rotors",
    )
