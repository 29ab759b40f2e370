"""What the parachute's textiles, shackle and mount must hold, and hold."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import partial

from buildspec.quantities import Quantity
from buildspec.sections.parachutes import Canopy
from generator.checks import make_check
from generator.formulas import parachutes as f
from generator.subjects.parachutes_loads import Loads
from generator.subjects.parachutes_snatch import leg_strength
from generator.subjects.run_model import made
from generator.tables.canopies import webbings
from generator.vocabulary import Check, OpenItem, Result, WorkedStep
from generator.work import Given, work

NO_LOSSES = "the losses of strength are not stated"


def strength(loads: Loads) -> tuple[tuple[Check, ...], tuple[WorkedStep, ...]]:
    """Checks of lines, riser, shackle and mount, and of the speed the maker allows; with their steps."""
    steps: dict[str, WorkedStep] = {}
    checks = (
        _lines(loads, steps),
        _riser(loads, steps),
        _rated(loads, "shackle", loads.canopy.shackle),
        _rated(loads, "mount", loads.canopy.mount),
        _speed(loads),
    )
    return checks, tuple(steps.values())


def _check(
    loads: Loads,
    word: str,
    title: str,
    *,
    demand: Result,
    capacity: Result,
    sources: tuple[str, ...] = (),
) -> Check:
    canopy = loads.canopy
    made_ = partial(
        make_check,
        f"parachutes.check.{canopy.id}.{word}",
        f"{canopy.name}: {title}",
        capacity=capacity,
        factor=canopy.factor.si,
        inputs=(*demand.inputs, *capacity.inputs, canopy.factor.id),
        sources=sources,
        basis_of_verdict="against the design load, no credit for slowing"
        if not loads.snaps
        else "against the snatch load, which is above the design load",
        ways="a part rated for more, or a lower speed or smaller canopy at the opening",
    )
    found = made_(demand=demand)
    if found.verdict != "holds" or loads.snatch.value is not None:
        return found
    why = f"the snatch load is not known and may be the greater one; {loads.snatch.absent}"
    return made_(demand=replace(demand, value=None, standard_uncertainty=0.0, absent=why))


def _usable(
    canopy: Canopy, word: str, base: Given, count: float, steps: dict[str, WorkedStep]
) -> Result:
    title = f"{canopy.name}: usable strength of {'one line' if word == 'lines' else 'the riser'}"
    name, losses = f"parachutes.{canopy.id}", canopy.losses
    if losses is None:
        return Result(f"{name}.{word}_strength", title, None, "force", absent=NO_LOSSES)
    step = work(
        f.usable_strength,
        f"{name}.step.{word}_strength",
        title,
        strength=base,
        count=count,
        seam=losses.seam,
        knot=losses.knot,
        abrasion=losses.abrasion,
        age=losses.age,
        heat=losses.heat,
    )
    steps[f"{word}_strength"] = step
    parts = (losses.seam, losses.knot, losses.abrasion, losses.age, losses.heat)
    inputs = (*(q.id for q in parts), *((base.id,) if isinstance(base, Quantity) else ()))
    share = sum((q.standard_uncertainty / q.si) ** 2 for q in parts)
    if isinstance(base, Quantity):
        share += (base.standard_uncertainty / base.si) ** 2
    return Result(
        f"{name}.{word}_strength",
        title,
        step.value,
        "force",
        step.value * share**0.5,
        inputs=inputs,
    )


def _lines(loads: Loads, steps: dict[str, WorkedStep]) -> Check:
    canopy, lines = loads.canopy, loads.canopy.lines
    if lines is None:
        return _lines_open(loads, "no lines are stated", None)
    if loads.governing.value is None or loads.ranges.projected is None:
        return _lines_open(loads, loads.governing.absent or "no nominal diameter is stated", None)
    capacity = _usable(canopy, "lines", lines.strength, 1.0, steps)
    if lines.length.si <= 0.5 * loads.ranges.projected:
        return _lines_open(loads, "the lines are shorter than half the open canopy", capacity)
    step = work(
        f.line_load,
        f"parachutes.{canopy.id}.step.line_load",
        "Load of one line",
        load=loads.governing.value,
        count=float(lines.count),
        projected=loads.ranges.projected,
        length=lines.length,
    )
    steps["line_load"] = step
    share = float(step.value) / loads.governing.value
    demand = Result(
        f"parachutes.{canopy.id}.line_load",
        f"{canopy.name}: load of one line",
        float(step.value),
        "force",
        share * loads.governing.standard_uncertainty,
        inputs=(*loads.governing.inputs, lines.length.id),
    )
    return _check(loads, "lines", "suspension lines", demand=demand, capacity=capacity)


def _lines_open(loads: Loads, why: str, capacity: Result | None) -> Check:
    """The check of the lines where their load cannot be said."""
    name = f"parachutes.{loads.canopy.id}"
    demand = Result(f"{name}.line_load", "Load of one line", None, "force", absent=why)
    lacking = Result(f"{name}.lines_strength", "Strength of one line", None, "force", absent=why)
    return _check(loads, "lines", "suspension lines", demand=demand, capacity=capacity or lacking)


def _riser(loads: Loads, steps: dict[str, WorkedStep]) -> Check:
    canopy, riser = loads.canopy, loads.canopy.riser
    leg = leg_strength(canopy)
    title = f"{canopy.name}: usable strength of the riser"
    if riser is None or leg is None:
        capacity = Result(
            f"parachutes.{canopy.id}.riser_strength",
            title,
            None,
            "force",
            absent="neither webbing nor strength of the riser is stated",
        )
        return _check(loads, "riser", "riser", demand=loads.governing, capacity=capacity)
    capacity = _usable(canopy, "riser", riser.strength or leg, float(riser.legs), steps)
    source = (webbings()[riser.webbing].source,) if riser.webbing else ()
    return _check(
        loads, "riser", "riser", demand=loads.governing, capacity=capacity, sources=source
    )


def _rated(loads: Loads, word: str, rated: Quantity | None) -> Check:
    title = f"{loads.canopy.name}: strength of the {word}"
    if rated is None:
        capacity = Result(
            f"parachutes.{loads.canopy.id}.{word}_strength",
            title,
            None,
            "force",
            absent=f"the strength of the {word} is not stated",
        )
    else:
        capacity = Result(
            rated.id, title, rated.si, "force", rated.standard_uncertainty, inputs=(rated.id,)
        )
    sources = (rated.source,) if rated and rated.source else ()
    return _check(loads, word, word, demand=loads.governing, capacity=capacity, sources=sources)


def _speed(loads: Loads) -> Check:
    canopy, most = loads.canopy, loads.canopy.most_speed
    demand = Result(
        f"parachutes.{canopy.id}.speed",
        "Speed through the air the loads are computed at",
        loads.through,
        "speed",
        loads.pace.off,
        inputs=loads.paced,
    )
    capacity = made(
        most.id if most else f"parachutes.{canopy.id}.most_speed",
        "Greatest speed its maker allows",
        most.si if most else None,
        "speed",
        absent="its maker's greatest speed is not stated",
        inputs=(most.id,) if most else (),
    )
    return make_check(
        f"parachutes.check.{canopy.id}.speed",
        f"{canopy.name}: speed of opening",
        demand=demand,
        capacity=capacity,
        inputs=(*demand.inputs, *capacity.inputs),
        sources=(most.source,) if most and most.source else (),
        ways="pull it at a lower speed, or use a canopy that its maker rates for this one",
    )


def witnesses(loads: Loads) -> Iterable[OpenItem]:
    """A webbing strength that only one public source gives wants the maker's own certificate."""
    riser = loads.canopy.riser
    if riser and riser.webbing and webbings()[riser.webbing].witnesses < 2:
        yield OpenItem(
            f"parachutes.{loads.canopy.id}.webbing",
            "parachutes",
            "measurement",
            f"{loads.canopy.name}: the strength of {riser.webbing} stands in one public source only",
            "get the maker's certificate for this roll and state `riser.strength`",
            (f"parachutes.check.{loads.canopy.id}.riser",),
            f"parachutes.canopies.{loads.canopy.id}.riser",
        )
