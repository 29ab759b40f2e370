"""The snatch load of a parachute: what catching the pack costs when the lines come taut."""

from __future__ import annotations

from collections.abc import Iterable

from buildspec.sections.parachutes import Canopy, Lines, Riser
from generator.formulas import parachutes as f
from generator.tables.canopies import webbings
from generator.vocabulary import Result, WorkedStep
from generator.work import Given, work

Steps = dict[str, WorkedStep]


def snatch(canopy: Canopy, *, pressure: float, through: float, mass: Given, steps: Steps) -> Result:
    """The snatch load at a dynamic pressure in Pa and a speed through the air in m/s; its steps
    are added to `steps`.
    """
    name, title = f"parachutes.{canopy.id}", f"{canopy.name}: snatch load"
    lacking = tuple(_lacking(canopy))
    lines, riser, pack, pilot = canopy.lines, canopy.riser, canopy.mass, canopy.pilot_drag_area
    if lacking or not (lines and riser and pack and pilot):
        absent = f"not stated: {', '.join(lacking)}"
        return Result(f"{name}.snatch_load", title, None, "force", absent=absent)
    away = work(
        f.pack_speed,
        f"{name}.step.pack",
        "Speed of the pack at line stretch",
        pressure=pressure,
        pilot=pilot,
        length=lines.length.si + riser.length.si,
        canopy=pack,
    )
    stiff = _stiffness(canopy, lines, riser)
    force = work(
        f.snatch_load,
        f"{name}.step.snatch",
        "Snatch load",
        relative=min(away.value, through),
        stiffness=stiff["stiffness"].value,
        mass=mass,
        canopy=pack,
    )
    steps |= {"pack": away, **stiff, "snatch": force}
    return Result(
        f"{name}.snatch_load", title, float(force.value), "force", inputs=_ids(canopy, mass)
    )


def _ids(canopy: Canopy, mass: Given) -> tuple[str, ...]:
    """The ids of the description that a snatch load rests on, those of the speed left out."""
    lines, riser = canopy.lines, canopy.riser
    own = (
        canopy.mass,
        canopy.pilot_drag_area,
        *((lines.length, lines.strength, lines.stretch) if lines else ()),
        *((riser.length, riser.strength, riser.stretch) if riser else ()),
    )
    return (*(q.id for q in own if q), *(mass.inputs if isinstance(mass, Result) else ()))


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
