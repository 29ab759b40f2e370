"""The subject `fire`: each bottle's weight and temperatures, and what a single failure leaves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.fire import Bottle, Fire, Nozzle
from generator.checks import make_check
from generator.subjects.fire_draught import kept
from generator.subjects.fire_records import GASES, WORD, Air, Loss, Part, Supply
from generator.subjects.fire_zones import known
from generator.vocabulary import Check, OpenItem, Result

RANGE = "counted from the middle of the event's temperatures, since a temperature has no zero to divide by"


def bottles(section: Fire, content: Mapping[str, Result]) -> Part:
    """Every bottle's own checks."""
    checks = tuple(
        c
        for b in section.bottles
        for c in (
            *_weight(section, b, content[b.id]),
            *_pressure(section, b),
            *_temperatures(section, b),
        )
    )
    doubts = tuple(
        i for b in section.bottles for i in (*_missing(b), *_too_much(section, b, content[b.id]))
    )
    return Part(checks=checks, open_items=doubts)


def _too_much(section: Fire, bottle: Bottle, content: Result) -> Iterable[OpenItem]:
    """More agent than the label says, or more pressure than a full bottle has, by more than may be lost: then a
    tare, a label, a chart or a filling is wrong, and a loss may hide behind it.
    """
    label, shown, full = bottle.agent_mass, bottle.gauge, bottle.gauge_expected
    name, id_ = called(bottle), f"{WORD}.bottle.{bottle.id}"
    weighed = bool(bottle.gross and bottle.tare) and not bottle.agent_volume
    if label and weighed and (content.value or 0.0) > label.si * (1.0 + section.loss_allowed.si):
        yield OpenItem(
            f"{id_}.heavy",
            WORD,
            "disagreement",
            f"{name}: it weighs more than its tare and the agent on its label come to",
            "check tare and label, and ask who filled it: too much agent, or a wrong tare behind which a loss hides",
            (f"{WORD}.check.{bottle.id}.weight",),
            label.id,
        )
    if shown and full and shown.si > full.si * (1.0 + section.pressure_loss_allowed.si):
        yield OpenItem(
            f"{id_}.pressure_high",
            WORD,
            "disagreement",
            f"{name}: its gauge shows more than a full bottle has at that temperature",
            "keep it out of the vehicle until a shop licensed for it has looked at bottle, gauge and chart",
            (f"{WORD}.check.{bottle.id}.pressure",),
            shown.id,
        )


def _weight(section: Fire, bottle: Bottle, content: Result) -> tuple[Check, ...]:
    """Agent found by weighing against the label, less what may be lost."""
    if not (bottle.agent_mass and bottle.gross and bottle.tare) or bottle.agent_volume:
        return ()
    label = known(bottle.agent_mass, bottle.agent_mass.id, "agent by the label", "mass", "")
    return (
        make_check(
            f"{WORD}.check.{bottle.id}.weight",
            f"{called(bottle)}: agent by weighing against its label",
            demand=label,
            capacity=content,
            factor=1.0 - section.loss_allowed.si,
            inputs=(*label.inputs, *content.inputs, section.loss_allowed.id),
            sources=(section.loss_allowed.source,),
            basis_of_verdict="the factor is 1 less the loss allowed",
            ways="have the bottle serviced and filled",
            fixed="demand",
        ),
    )


def _pressure(section: Fire, bottle: Bottle) -> tuple[Check, ...]:
    """The gauge against what a full bottle shows at that temperature, less what may be lost."""
    if bottle.gauge is None and bottle.gauge_expected is None:
        return ()
    name = f"{WORD}.bottle.{bottle.id}"
    expected = known(
        bottle.gauge_expected,
        f"{name}.gauge_expected",
        "pressure of a full bottle at the temperature of the reading",
        "pressure",
        f"fire.bottles.{bottle.id} states no gauge_expected",
    )
    shown = known(
        bottle.gauge,
        f"{name}.gauge",
        "pressure by its gauge",
        "pressure",
        f"fire.bottles.{bottle.id} states no gauge",
    )
    return (
        make_check(
            f"{WORD}.check.{bottle.id}.pressure",
            f"{called(bottle)}: pressure by its gauge",
            demand=expected,
            capacity=shown,
            factor=1.0 - section.pressure_loss_allowed.si,
            inputs=(*expected.inputs, *shown.inputs, section.pressure_loss_allowed.id),
            sources=(section.pressure_loss_allowed.source,),
            basis_of_verdict="the factor is 1 less the loss allowed; both are gauge pressures",
            ways="have the bottle serviced and filled",
            fixed="demand",
        ),
    )


def _temperatures(section: Fire, bottle: Bottle) -> tuple[Check, ...]:
    """The rated temperatures, and the freezing point, against what an event brings."""
    middle = 0.5 * (section.coldest.si + section.hottest.si)
    name = called(bottle)
    stated = (
        ("cold", "coldest it is rated for", bottle.lowest_temperature, section.coldest, "coldest"),
        ("heat", "hottest it is rated for", bottle.highest_temperature, section.hottest, "hottest"),
        ("freezing", "freezing point", bottle.freezes, section.coldest, "coldest"),
    )
    return tuple(
        make_check(
            f"{WORD}.check.{bottle.id}.{word}",
            f"{name}: {title}",
            demand=_off(
                met, met, middle, f"from the middle of the event's temperatures to its {end}"
            ),
            capacity=_off(limit, met, middle, f"from that middle to the {title}"),
            inputs=(limit.id, section.coldest.id, section.hottest.id),
            basis_of_verdict=RANGE,
            ways="keep the bottle cooler or warmer, as it needs, or fit one rated for the range",
        )
        for word, title, limit, met, end in stated
        if limit is not None
    )


def _off(of: Quantity, met: Quantity, middle: float, title: str) -> Result:
    """How far a temperature lies from the middle, counted positive on the side of `met`."""
    sign = 1.0 if met.si >= middle else -1.0
    return Result(
        of.id,
        title,
        sign * (of.si - middle),
        "temperature difference",
        of.standard_uncertainty,
        inputs=(of.id,),
    )


def _missing(bottle: Bottle) -> Iterable[OpenItem]:
    """What a bottle does not say about itself and somebody should know."""
    watery = bottle.agent in {"AFFF", "AR-AFFF"}
    asked = {
        "lowest_temperature": bottle.lowest_temperature,
        "highest_temperature": bottle.highest_temperature,
        "inspected": bottle.inspected,
        "mount_rating": bottle.mount_rating,
        "manufactured": bottle.manufactured,
        **({"gauge": bottle.gauge} if bottle.propellant == "stored pressure" else {}),
        **({"freezes": bottle.freezes} if watery else {"gross": bottle.gross, "tare": bottle.tare}),
    }
    lacking = [name for name, value in asked.items() if value is None]
    if lacking:
        yield OpenItem(
            f"{WORD}.bottle.{bottle.id}.missing",
            WORD,
            "missing",
            f"{called(bottle)}: {', '.join(lacking)} not stated",
            "read it off the label or the maker's data sheet, or weigh the bottle",
            ref=f"fire.bottles.{bottle.id}",
        )


# -------------------------------------------------------------------------------- failures


def losses(
    section: Fire,
    air: Air,
    supplies: tuple[Supply, ...],
    results: Mapping[str, Result],
) -> tuple[Loss, ...]:
    """For each nozzle blocked and each bottle failed, what every zone that suffers is left with."""
    cases = [(f"nozzle_{n.id}", f"{n.title}: blocked", {n.id}) for n in section.nozzles]
    cases += [
        (
            f"bottle_{b.id}",
            f"{called(b)}: does not open",
            {n.id for n in section.nozzles if n.bottle == b.id},
        )
        for b in section.bottles
    ]
    return tuple(
        Loss(words, supply.title, _left(section, air, supply, results, (case, words, gone)))
        for case, words, gone in cases
        for supply in supplies
        if gone & {n.id for n in supply.nozzles}
    )


def _left(
    section: Fire,
    air: Air,
    supply: Supply,
    results: Mapping[str, Result],
    failure: tuple[str, str, set[str]],
) -> Result:
    """Agent left over agent needed. What a blocked nozzle does not deliver counts as lost."""
    case, words, gone = failure
    name = f"{WORD}.case.{case}.{supply.id.removeprefix(f'{WORD}.zone.')}"
    title = f"{supply.title}, {words}: agent left over agent needed"
    there, needed = _there(supply, results), _needed(supply, results)
    lacking = needed.absent or there.absent or supply.delivered.absent
    if not there.value or not needed.value or not supply.delivered.value:
        reason = lacking or "no amount is reckoned for this agent here"
        return Result(name, title, None, "share", absent=reason)
    part = _part(section, air, supply, gone)
    behind = (*supply.delivered.inputs, *there.inputs, *needed.inputs)
    value = there.value / needed.value * part
    return Result(name, title, value, "share", inputs=tuple(dict.fromkeys(behind)))


def _part(section: Fire, air: Air, supply: Supply, gone: set[str]) -> float:
    """The part of what is there with everything working that is there after a failure."""
    working = [n for n in supply.nozzles if n.id not in gone]
    if supply.properties.agent.kind not in GASES:
        whole, left = (_sum_of(nozzles, supply) for nozzles in (supply.nozzles, working))
        return left / whole if whole else 0.0
    masses = tuple(
        mass * _share(working, b.id) / (_share(supply.nozzles, b.id) or 1.0)
        for b, mass in zip(supply.bottles, supply.masses, strict=True)
    )
    return kept(section, air, supply, masses) / kept(section, air, supply, supply.masses)


def _share(nozzles: Iterable[Nozzle], bottle: str) -> float:
    return sum(n.share.si for n in nozzles if n.bottle == bottle)


def _sum_of(nozzles: Iterable[Nozzle], supply: Supply) -> float:
    """What nozzles deliver: volumes of foam, or masses."""
    return sum(n.share.si * supply.amounts[n.bottle] for n in nozzles)


def _there(supply: Supply, results: Mapping[str, Result]) -> Result:
    """What counts against the need with everything working: what the draught leaves of a gas."""
    kind = supply.properties.agent.kind
    word = "rate" if kind == "foam" else "at_end" if kind in GASES else ""
    return results.get(f"{supply.id}.{word}", supply.delivered)


def _needed(supply: Supply, results: Mapping[str, Result]) -> Result:
    """What the zone needs of the agent, or why that cannot be said."""
    if supply.properties.agent.kind != "foam":
        return results.get(f"{supply.id}.needed", Result("", "", None, "mass"))
    asked = supply.zone.application_rate or supply.properties.decides.get("rate")
    return known(asked, "", "", "application rate", "no application rate is stated")
