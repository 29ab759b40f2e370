"""The snatch load of a parachute: what catching the pack costs when the lines come taut."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from buildspec.quantities import Quantity
from buildspec.sections.parachutes import Canopy, Lines, Riser
from generator.formulas import parachutes as f
from generator.spread import Shift, Source, at, sources, spread
from generator.tables.canopies import webbings
from generator.vocabulary import Result, WorkedStep
from generator.work import Given, work

Steps = dict[str, WorkedStep]


@dataclass(frozen=True, slots=True)
class Stretched:
    """Line stretch: dynamic pressure in Pa, its relative standard uncertainty `share`, speed through the air in m/s,
    the vehicle's mass, and the ids behind pressure and speed.
    """

    pressure: float
    share: float
    through: float
    mass: Result
    ids: tuple[str, ...]


def snatch(canopy: Canopy, at_: Stretched, steps: Steps) -> Result:
    """The snatch load as stated, or else as estimated; the estimate's steps are added to `steps`."""
    name, title = f"parachutes.{canopy.id}", f"{canopy.name}: snatch load"
    stated = canopy.snatch_load
    if stated:
        u = stated.standard_uncertainty
        return Result(f"{name}.snatch_load", title, stated.si, "force", u, inputs=(stated.id,))
    lacking = tuple(_lacking(canopy))
    lines, riser, pack, pilot = canopy.lines, canopy.riser, canopy.mass, canopy.pilot_drag_area
    if lacking or not (lines and riser and pack and pilot):
        absent = f"not stated: {', '.join(lacking)}"
        return Result(f"{name}.snatch_load", title, None, "force", absent=absent)
    away = work(
        f.pack_speed,
        f"{name}.step.pack",
        "Speed of the pack at line stretch",
        pressure=at_.pressure,
        pilot=pilot,
        length=lines.length.si + riser.length.si,
        canopy=pack,
    )
    stiff = _stiffness(canopy, lines, riser)
    force = work(
        f.snatch_load,
        f"{name}.step.snatch",
        "Snatch load",
        relative=min(away.value, at_.through),
        stiffness=stiff["stiffness"].value,
        mass=at_.mass,
        canopy=pack,
    )
    steps |= {"pack": away, **stiff, "snatch": force}
    value, inputs = float(force.value), tuple(dict.fromkeys((*_ids(canopy, at_.mass), *at_.ids)))
    return Result(f"{name}.snatch_load", title, value, "force", _off(canopy, at_), inputs=inputs)


def _off(canopy: Canopy, at_: Stretched) -> float:
    """Standard uncertainty of the estimate, N: of all that is stated, the pressure and the mass."""
    known = (*sources((*_stated(canopy), at_.mass)), Source("pressure", at_.share * at_.pressure))
    return spread(lambda shift: _force(canopy, at_, shift), known)


def _force(canopy: Canopy, at_: Stretched, shift: Shift) -> float:
    """The estimate in N with values moved. Needs all that it is made of."""
    lines, riser, pack, pilot = canopy.lines, canopy.riser, canopy.mass, canopy.pilot_drag_area
    if not (lines and riser and pack and pilot and lines.stretch and riser.stretch):
        raise ValueError("the snatch load needs what it is made of")
    leg = at(riser.strength, shift) if riser.strength else leg_strength(canopy) or 0.0
    springs = (
        (float(lines.count), at(lines.strength, shift), lines.stretch, lines.length),
        (float(riser.legs), leg, riser.stretch, riser.length),
    )
    first, second = (
        f.textile_stiffness(count=n, strength=b, stretch=at(e, shift), length=at(length, shift))
        for n, b, e, length in springs
    )
    away = f.pack_speed(
        pressure=at_.pressure + shift.get("pressure", 0.0),
        pilot=at(pilot, shift),
        length=at(lines.length, shift) + at(riser.length, shift),
        canopy=at(pack, shift),
    )
    return f.snatch_load(
        relative=min(away, at_.through),
        stiffness=f.in_series(first=first, second=second),
        mass=(at_.mass.value or 0.0) + shift.get(at_.mass.id, 0.0),
        canopy=at(pack, shift),
    )


def _stated(canopy: Canopy) -> tuple[Quantity, ...]:
    """The values of the description that a snatch load rests on, those of the speed left out."""
    lines, riser = canopy.lines, canopy.riser
    own = (
        canopy.mass,
        canopy.pilot_drag_area,
        *((lines.length, lines.strength, lines.stretch) if lines else ()),
        *((riser.length, riser.strength, riser.stretch) if riser else ()),
    )
    return tuple(q for q in own if q)


def _ids(canopy: Canopy, mass: Result) -> tuple[str, ...]:
    return (*(q.id for q in _stated(canopy)), *mass.inputs)


def _lacking(canopy: Canopy) -> Iterable[str]:
    """What the snatch load needs and the description does not say."""
    lines, riser = canopy.lines, canopy.riser
    needed = {
        "mass of the packed parachute": canopy.mass,
        "drag area of the pilot chute (`pilot_drag_area`)": canopy.pilot_drag_area,
        "lines": lines,
        "riser": riser,
        "stretch of the lines (`lines.stretch`)": lines and lines.stretch,
        "stretch of the riser (`riser.stretch`)": riser and riser.stretch,
        "riser strength": riser and leg_strength(canopy),
    }
    return (word for word, value in needed.items() if value is None)


def _stiffness(canopy: Canopy, lines: Lines, riser: Riser) -> Steps:
    """Lines and riser as springs, one behind the other."""
    name = f"parachutes.{canopy.id}.step"
    strap: Given = riser.strength or leg_strength(canopy) or 0.0
    soft = work(
        f.textile_stiffness,
        f"{name}.lines_stiffness",
        "Stiffness of the lines",
        count=float(lines.count),
        strength=lines.strength,
        stretch=lines.stretch or 0.0,
        length=lines.length,
    )
    stiff = work(
        f.textile_stiffness,
        f"{name}.riser_stiffness",
        "Stiffness of the riser",
        count=float(riser.legs),
        strength=strap,
        stretch=riser.stretch or 0.0,
        length=riser.length,
    )
    both = work(
        f.in_series,
        f"{name}.stiffness",
        "Stiffness of both",
        first=soft.value,
        second=stiff.value,
    )
    return {"lines_stiffness": soft, "riser_stiffness": stiff, "stiffness": both}


def leg_strength(canopy: Canopy) -> float | None:
    """Breaking strength of one leg of the riser, new, N."""
    riser = canopy.riser
    if riser is None:
        return None
    if riser.strength:
        return riser.strength.si
    return webbings()[riser.webbing].strength if riser.webbing else None
