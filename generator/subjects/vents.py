"""The subject `vents`: whether a tank's vent lets liquid out in any attitude the vehicle may come
to rest in.
"""

from __future__ import annotations

from buildspec.build import Build
from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.vents import Attitude, Tank, Vents
from generator.checks import make_check
from generator.formulas import vents as f
from generator.spread import Shift, at, sources, spread
from generator.subjects.fire_records import slug
from generator.subjects.subject import Given, Subject
from generator.subjects.vents_records import (
    SIZES,
    TILT,
    UP,
    WAYS,
    WORD,
    Detail,
    Lying,
    along,
    closing,
)
from generator.subjects.vents_sphere import at_any_attitude
from generator.subjects.vents_sweep import swept
from generator.vocabulary import Assumption, Caution, Check, Outcome, Result
from generator.work import as_result, work


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Every tank in every attitude; None without a section `vents`."""
    section = build.section(Vents)
    if section is None:
        return None
    lying = tuple(_lying(tank, attitude) for tank in section.tanks for attitude in UP)
    turned = tuple(s for tank in section.tanks for s in swept(tank))
    free = tuple(at_any_attitude(tank) for tank in section.tanks)
    return Outcome(
        WORD,
        results=(
            *(r for x in lying for r in (x.level, x.highest)),
            *(r for s in turned for r in s.results),
            *(r for x in free for r in x.results),
        ),
        checks=(*(x.check for x in lying), *(s.check for s in turned), *(x.check for x in free)),
        steps=(
            *(s for x in lying for s in x.steps),
            *(s for x in turned for s in x.steps),
            *(s for x in free for s in x.steps),
        ),
        cautions=_cautions(),
        assumptions=_assumptions(),
        detail=Detail(lying, turned, free),
    )


def _lying(tank: Tank, attitude: Attitude) -> Lying:
    """The liquid's level and the highest point of the vent, both above the tank's lowest point."""
    axis, sign = UP[attitude]
    size: Quantity = getattr(tank, SIZES[axis])
    middle: Quantity = getattr(tank, axis)
    name, title = f"{WORD}.tank.{tank.id}.{slug(attitude)}", f"{called(tank)}, {attitude}"
    filled = work(f.level, f"{name}.level", f"{title}: liquid level", fill=tank.fill, height=size)
    level = as_result(
        filled,
        spread(lambda s: at(tank.fill, s) * at(size, s), sources((tank.fill, size))),
        (tank.fill.id, size.id),
    )
    top = max(tank.vent, key=lambda p: sign * along(p, axis).si)
    step = work(
        f.height_in_tank,
        f"{name}.vent",
        f"{title}: highest point of the vent",
        point=sign * along(top, axis).si,
        middle=sign * middle.si,
        height=size,
    )

    def height(shift: Shift) -> float:
        return sign * (at(along(top, axis), shift) - at(middle, shift)) + at(size, shift) / 2.0

    highest = as_result(
        step,
        spread(height, sources((along(top, axis), middle, size))),
        (*(along(p, axis).id for p in tank.vent), middle.id, size.id),
    )
    closed = _closes(tank, attitude)
    check = _check(tank, attitude, title, level, highest)
    return Lying(tank, attitude, axis, sign, level, highest, closed, check, (filled, step))


def _closes(tank: Tank, attitude: Attitude) -> bool:
    """Whether the valve closes in an attitude, by what its maker says of it or of the tilt."""
    return attitude in tank.closes or TILT[attitude] >= closing(tank) - 1e-9


def _check(tank: Tank, attitude: Attitude, title: str, level: Result, highest: Result) -> Check:
    """The level against the vent's highest point; a valve that closes leaves nothing to hold back."""
    closed = _closes(tank, attitude)
    demand = (
        Result(
            f"{WORD}.tank.{tank.id}.{slug(attitude)}.pressing",
            "liquid against an open vent",
            0.0,
            "length",
        )
        if closed
        else level
    )
    basis = (
        f"the valve closes here, by its maker: {tank.valve}. A leak test shows whether it does"
        if closed
        else "by the vent's highest point, with nothing sloshing"
    )
    return make_check(
        f"{WORD}.check.{tank.id}.{slug(attitude)}",
        f"{title}: liquid stays in",
        demand=demand,
        capacity=highest,
        nothing_asked="the valve closes in this attitude, by its maker" if closed else "",
        inputs=(*level.inputs, *highest.inputs),
        sources=("hydrostatics",),
        basis_of_verdict=basis,
        ways=WAYS,
    )


def _cautions() -> tuple[Caution, ...]:
    texts = (
        "Fuel that runs out near hot metal or a torn wire burns. Test each vent with water, tank "
        "full, in every attitude, before any fuel goes in; fuel work belongs outdoors, earthed, "
        "with an extinguisher and a second person at hand.",
        "Liquid sloshes and pumps through a vent that holds it at rest, and a filled line goes on "
        "as a siphon.",
    )
    return tuple(
        Caution(f"{WORD}.caution.{i}", t, WORD, hazard=True) for i, t in enumerate(texts, 1)
    )


def _assumptions() -> tuple[Assumption, ...]:
    texts = (
        (
            "rest",
            "The vehicle lies still, in whatever attitude: square on one of its six sides, rolled or "
            "pitched to any angle, or both at once.",
            "hydrostatics",
        ),
        (
            "box",
            "A tank is a box, without foam, swelling or pressure from warm vapour.",
            "as described",
        ),
    )
    return tuple(Assumption(f"{WORD}.assumption.{k}", t, WORD, s) for k, t, s in texts)


SUBJECT = Subject(
    word=WORD,
    title="Tanks and vents",
    purpose="Whether liquid stays in each tank when the vehicle stands, lies on its roof, a side, "
    "its nose or its tail, or at any angle between.",
    evaluate=evaluate,
)
