"""What the mass subject says in words: assumptions, cautions and open items."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from buildspec.kinds import System
from buildspec.plain import called, spoken
from buildspec.quantities import Quantity, both
from buildspec.sections.mass import Mass
from generator.subjects import mass_growth as growth
from generator.subjects.mass_detail import Detail, Loading
from generator.subjects.mass_weighing import Compared, Weighed
from generator.subjects.mass_wheels import ONE_AXLE, G
from generator.vocabulary import Assumption, Caution, Check, OpenItem

GRAVITY = Quantity(
    id="mass.assumed.gravity",
    si=G,
    kind="acceleration",
    written="9.80665 m/s²",
    unit="m/s²",
    basis="assumed",
    source="standard acceleration of gravity, 3rd CGPM 1901, ISO 80000-3; local gravity differs "
    "by up to about 0.3 %",
    default=True,
    basis_given=False,
)
_PRACTICE = "common practice"


# ------------------------------------------------------------------------------ assumptions


def assumptions(mass: Mass, detail: Detail) -> tuple[Assumption, ...]:
    """What the calculation rests on beside the values of the description."""
    found = [
        _says(
            "independent",
            "The masses and coordinates of different items are uncorrelated; the parts of one item "
            "with a count are fully correlated.",
            "JCGM 100:2008, 5.1 and 5.2",
        ),
    ]
    if detail.wheels:
        found += _of_wheels(detail)
    found += [*_of_inertia(detail), *_of_growth(detail), *_of_weighing(mass, detail)]
    return tuple(found)


def _says(word: str, text: str, source: str = _PRACTICE) -> Assumption:
    return Assumption(f"mass.assumed.{word}", text, "mass", source)


def _of_wheels(detail: Detail) -> Iterable[Assumption]:
    yield Assumption(
        GRAVITY.id, "Weight is mass times standard gravity.", "mass", GRAVITY.source, GRAVITY
    )
    yield _says(
        "at_rest",
        "Axle and wheel loads are those of the vehicle at rest on level ground: no air load, no "
        "acceleration, no bump.",
    )
    if len(detail.wheels) > 3:
        yield _says(
            "equal_stiffness",
            "With more than three wheels the loads are those of a rigid chassis on wheels of equal "
            "vertical stiffness (the least-norm solution). Springs, tire pressures and a twisted "
            "chassis shift load between the diagonals; only scales under every wheel show how much. "
            + (
                "Here the weighing had one under each: what it showed is kept, and only mass put "
                "aboard or taken out since is spread that way."
                if detail.design.base and detail.design.base.weighed.on_scales
                else "No such weighing is in force here."
            ),
        )
    if not all(axle.even for axle in detail.axles):
        yield _says(
            "one_axle",
            f"Wheels whose x differ by less than {ONE_AXLE:.0%} of the wheelbase count as one axle "
            "at their mean x.",
        )


def _of_inertia(detail: Detail) -> Iterable[Assumption]:
    points = sum(1 for i in detail.table.items if i.size is None)
    if points:
        yield _says(
            "points",
            f"{points} of {len(detail.table.items)} items state no size and count as points: their "
            "own moment of inertia is left out, so that the totals are on the low side.",
        )
    if any(i.count > 1 for i in detail.table.items):
        yield _says(
            "counted",
            "The parts of an item with a count stand together at its one place, so that what they "
            "add to the inertia by being apart is left out; parts far apart are better listed one "
            "by one.",
        )
    if points < len(detail.table.items):
        yield _says("boxes", "Items with a size count as uniform boxes with edges along the axes.")
    if detail.design.base:
        yield _says(
            "inertia_scaled",
            "The scales tell nothing of inertia: the predicted one is scaled to the weighed total, "
            "as if what is unexplained were spread like the rest.",
        )


def _of_growth(detail: Detail) -> Iterable[Assumption]:
    for line in detail.growth:
        yield _says(
            f"growth_{line.row}_{line.maturity}".replace(" ", "_").replace("-", "_"),
            f"Growth allowance, {line.row}, {line.maturity}: {line.allowance:.0%} of the mass "
            f"known today ({line.items} {'item' if line.items == 1 else 'items'}).",
            growth.SOURCE,
        )
    if detail.growth:
        yield _says(
            "growth_classes",
            "An item of category `other` counts as structure; one without a maturity counts as "
            "actual where its mass is measured, and as estimated otherwise.",
            "choice of this program, to the heavy side",
        )


def _of_weighing(mass: Mass, detail: Detail) -> Iterable[Assumption]:
    if any(w.lifts for w in detail.weighings):
        yield _says(
            "lift",
            "Axle lift: suspension locked, tires squashed as when level, wheels free to roll, "
            "brakes off, and no liquid that runs to the low end.",
            "ISO 10392 asks for locked suspension (as quoted by "
            "others); the rest is common practice",
        )
    if any(w.weighing.common_error is None for w in detail.weighings):
        yield _says(
            "scales_apart",
            "A weighing without a `common_error`: what its scales are off counts as unrelated from "
            "scale to scale. If one calibration is behind them all, their errors add up in the "
            "total, which is then up to twice as uncertain for four pads.",
            "JCGM 100:2008, 5.2",
        )
    base = detail.design.base
    if base:
        yield _says(
            "transfer",
            "Conditions other than the weighed one are the weighed vehicle plus or minus the "
            "predicted mass of what is aboard in one and not in the other.",
        )
        for axis in base.weighed.borrowed:
            yield _says(
                f"borrowed_{axis}",
                f"The weighing does not tell {axis}: it is taken from the prediction.",
            )
        for axis, last in base.weighed.carried.items():
            yield _says(
                f"carried_{axis}",
                f"The weighing {called(base.weighed.weighing)} does not tell {axis}: it is that of the "
                f"weighing {spoken(last.weighing)}, plus or minus what is aboard in one condition and not "
                "in the other.",
            )


# -------------------------------------------------------------------------------- cautions

_HAZARDS = (
    (
        "lifting",
        "Nobody under a vehicle that is held by a jack alone. Stands of rated capacity on hard "
        "level ground, wheels at the other end chocked, and a second person present.",
    ),
    (
        "axle_lift",
        "Axle lift: a raised vehicle wants to roll. The wheels on the scales must be free to roll, "
        "so block the path beyond them, tie the raised end to its hoist or stand, lift in small "
        "steps, and keep clear of the line of fall. Stop if it moves or tilts sideways.",
    ),
    (
        "scales",
        "Weigh on level pads with tire pressures set, liquids at the stated level, steering "
        "straight, and the suspension settled; roll onto the pads, don't drop onto them. Read "
        "twice, rolling off and on between.",
    ),
    (
        "ballast",
        "Ballast is bolted, not strapped: what comes loose in a crash hits the driver. The "
        "rulebook in force says how it is fastened.",
    ),
)


def cautions(mass: Mass, detail: Detail) -> tuple[Caution, ...]:
    """Cautions of the work, and those that the arithmetic raises."""
    lifts = any(w.lifts for w in mass.weighings)
    said = [
        Caution(f"mass.caution.{word}", text, "mass", hazard=True)
        for word, text in _HAZARDS
        if (word != "axle_lift" or lifts) and (word != "ballast" or mass.ballast)
    ]
    said += [c for loading in detail.loadings for c in _lifting(detail, loading)]
    said += [c for w in detail.weighings for c in _scattered(w)]
    if mass.use == "weighed" and detail.design.base is None:
        said.append(
            Caution(
                "mass.caution.not_weighed",
                "The description asks for the weighed mass, and no weighing gives it: the "
                "predicted one is used.",
                "mass",
            )
        )
    return tuple(said)


def _lifting(detail: Detail, loading: Loading) -> Iterable[Caution]:
    for n in np.flatnonzero(loading.wheel_loads < 0.0):
        wheel = detail.wheels[n]
        yield Caution(
            f"mass.caution.lifts.{loading.condition.id}.{wheel.id}",
            f"{loading.title}: {called(wheel)} carries no load and lifts off the ground. "
            "The vehicle does not stand as described; none of its wheel loads in this condition "
            "are right.",
            "mass",
            ref=f"mass.condition.{loading.condition.id}.wheel.{wheel.id}",
        )


def _scattered(weighed: Weighed) -> Iterable[Caution]:
    for lifted in weighed.scattered:
        yield Caution(
            f"mass.caution.lift.{weighed.weighing.id}.{lifted.lift.id}",
            f"The lift {called(lifted.lift)} disagrees with the height the lifts give together by "
            "more than the readings' spread explains: look for suspension travel, a dragging "
            "brake or moving liquid.",
            "mass",
            ref=lifted.height.id,
        )


# ------------------------------------------------------------------------------ open items


def open_items(
    mass: Mass, detail: Detail, checks: tuple[Check, ...], system: System
) -> tuple[OpenItem, ...]:
    """What only mass knows to be open: no weighing, mass that nobody can explain, disagreement."""
    blocked = tuple(c.id for c in checks)
    if detail.latest is None:
        return (
            OpenItem(
                "mass.open.unweighed",
                "mass",
                "measurement",
                "The vehicle has not been weighed: all its mass is predicted.",
                "weigh it in a stated condition, with each scale's accuracy, and describe that "
                "under `mass.weighings`",
                blocked,
            ),
        )
    found = [
        item for w, words in _telling(detail) for item in _of_session(w, words, blocked, system)
    ]
    if mass.use == "weighed" and detail.design.base is None:
        lacking = detail.latest.total.absent or detail.latest.x.absent
        found.append(
            OpenItem(
                "mass.open.weighing",
                "mass",
                "missing",
                f"The weighed mass is asked for and cannot be had: {lacking}.",
                "complete the latest weighing, or set `mass.use` to predicted",
                blocked,
            )
        )
    return tuple(found)


def _telling(detail: Detail) -> Iterable[tuple[Weighed, tuple[str, ...]]]:
    """The latest weighing, and of those before it what it takes from them."""
    if detail.latest:
        yield detail.latest, tuple(c.word for c in detail.latest.compared)
        for axis, last in detail.latest.carried.items():
            word = {"y": "cg_y", "z": "cg_height"}[axis]
            yield from ((w, (word,)) for w in detail.weighings if w.weighing.id == last.weighing)


def _of_session(
    w: Weighed, words: tuple[str, ...], blocked: tuple[str, ...], system: System
) -> Iterable[OpenItem]:
    for c in w.compared:
        if c.word in words:
            yield from _of_compared(w, c, blocked, system)
    if w.scattered and ("cg_height" in words or not w.compared):
        yield OpenItem(
            f"mass.open.lifts.{w.weighing.id}",
            "mass",
            "disagreement",
            f"The lifts of the weighing {called(w.weighing)} contradict one another: by more than the "
            "readings' spreads explain.",
            "repeat the axle lift with the suspension locked, brakes off, wheels free to roll and "
            "tanks full or empty",
            blocked,
            w.height.id,
        )


def _of_compared(
    w: Weighed, c: Compared, blocked: tuple[str, ...], system: System
) -> Iterable[OpenItem]:
    if c.agrees or (c.error is None and abs(c.difference) < 1e-9):
        return
    said = both(abs(c.difference), c.measured.kind, system, figures=3)
    why = c.reason if c.error is None else f"|E_n| is {abs(c.error):.2f}, more than 1"
    ref = f"mass.weighing.{w.weighing.id}.{c.word}"
    if c.word == "total":
        sign = "more" if c.difference < 0.0 else "less"
        yield OpenItem(
            f"mass.open.unexplained.{w.weighing.id}",
            "mass",
            "disagreement",
            f"Unexplained mass: the scales show {said} {sign} than the items add up to ({why}).",
            "find what is aboard and not listed, or listed and not aboard; weigh the largest items "
            "whose mass is not measured; state the scales' accuracy",
            blocked,
            ref,
        )
    else:
        yield OpenItem(
            f"mass.open.disagreement.{w.weighing.id}.{c.word}",
            "mass",
            "disagreement",
            f"{c.title}: prediction and weighing are {said} apart ({why}).",
            "measure the place of the heaviest items whose coordinates are not measured, or "
            "repeat the weighing",
            blocked,
            ref,
        )
