"""The subject `stopping`: the pull of several parachutes at once, on the axles and across the tires' grip.

The page of the parachutes takes each alone. Which still pulls while the next opens is known from the
stops only.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.drive import Tires
from buildspec.sections.parachutes import Canopy
from generator.checks import make_check
from generator.run.car import forces
from generator.run.stop import Happening
from generator.spread import NOWHERE, Shift, at
from generator.subjects.compared import compared
from generator.subjects.parachutes_geometry import behind_pulls, drawn, pull_at, share
from generator.subjects.parachutes_loads import Loads
from generator.subjects.parachutes_tires import axle_loads, lowest, per_wheel, worst_on_rim
from generator.subjects.pulls import Axles, Pull, Side, lifted, over_the_rim, round_the_rim
from generator.subjects.run_model import ids as ids_of
from generator.subjects.run_model import made
from generator.subjects.run_tires import (
    Added,
    axles,
    kinds,
    load,
    load_check,
    rated_for_a_moment,
    still,
    wheels_on,
)
from generator.subjects.stability_wind import footing
from generator.subjects.stopping_cases import LONGEST_FILL, Case, Setting, Tried, vehicle
from generator.vocabulary import Check, Result

STRETCHED = "stretched: "
Drawn = tuple[tuple[Loads, float], ...]
"""Parachutes with what each pulls, N."""
SAME_PLACE = 0.05
"""Metres; lines attached closer than that are taken to share a mount. Our own bound."""


@dataclass(frozen=True, slots=True)
class Moment:
    """A parachute stretched in a stop at a speed in m/s while others pull: what they pull, and how deep each can
    point, rad, of which `canopies`; axle loads without any and with all level, N, the loads that all together take
    off, what the tires must hold sideways, and the moments that overturn and that right the vehicle, N·m. `off` is
    the relative standard uncertainty of all pulls. `drawn` are the parachutes with what each pulls, N.
    """

    setting: Setting
    drawn: Drawn
    said: str
    speed: float
    pulls: tuple[Pull, ...]
    lowest: tuple[float, ...]
    canopies: tuple[Canopy, ...]
    coasting: Axles
    least: Axles
    sides: tuple[Side, Side]
    turned: Axles
    off: float


def moments_together(tried: Iterable[Tried], known: Mapping[str, Loads]) -> tuple[Moment, ...]:
    """Every moment of all stops in which one parachute opens while another pulls."""
    return tuple(
        moment
        for one in tried
        for moment in _moments(one.setting, one.case, one.stop.stretched, known)
    )


def together(
    found: tuple[Moment, ...], known: Mapping[str, Loads], inputs: tuple[str, ...]
) -> Iterable[Check]:
    """Checks of axles, tires and overturning at the worst of those moments, and of what parachutes share.

    `inputs` are the ids of all that the stops rest on.
    """
    ids = (*inputs, *(i for loads in known.values() for i in _behind(loads)))
    if not found:
        return
    friction = found[0].setting.of.course.friction.si
    for n, axle in enumerate(("front", "rear")):
        yield _loaded(min(found, key=lambda m: m.least[n] / m.coasting[n]), (n, axle), ids)
    for n, axle in enumerate(("front", "rear")):
        worst = max(found, key=lambda m: (m.sides[n].used(friction), m.sides[n].need))
        yield _held(worst, (n, axle), ids)
    yield _tips(max(found, key=lambda m: _used(m.turned)), ids)
    yield from _carried(found, ids)
    yield from _mounts(found, ids)


def most_pull(found: tuple[Moment, ...], inputs: tuple[str, ...]) -> Iterable[Result]:
    """The greatest pull of several parachutes at once, where any pull so."""
    if found:
        worst = max(found, key=lambda m: sum(p.force for p in m.pulls))
        value = sum(p.force for p in worst.pulls)
        title = f"Greatest pull of parachutes together: {worst.said}"
        yield Result(
            "stopping.together.pull", title, value, "force", value * worst.off, inputs=inputs
        )


def _used(turned: Axles) -> float:
    over, righting = turned
    return over / righting if righting > 0.0 else math.inf


def _behind(loads: Loads) -> tuple[str, ...]:
    """What a parachute's pull on the axles rests on, beside the stop itself."""
    attach = loads.canopy.attach
    place = (attach.x.id, attach.y.id, attach.z.id, loads.canopy.cone.id)
    return (*loads.governing.inputs, *place)


def _moments(
    setting: Setting, case: Case, stretched: tuple[Happening, ...], known: Mapping[str, Loads]
) -> Iterable[Moment]:
    for now in stretched:
        before = [h for h in stretched if h is not now and h.time <= now.time]
        there = [known.get(h.what.removeprefix(STRETCHED)) for h in (now, *before)]
        if not before or any(x is None or x.design.value is None for x in there):
            continue
        loads = [x for x in there if x is not None]
        forces_ = [pull_at(loads[0], now.speed)]
        forces_ += [
            _still(setting, one, since, now) for one, since in zip(loads[1:], before, strict=True)
        ]
        said = f"{loads[0].canopy.name} opens, {case.title.lower()}"
        yield _moment(setting, said, now.speed, tuple(zip(loads, forces_, strict=True)))


def _pulls(setting: Setting, by: Drawn, shift: Shift = NOWHERE) -> tuple[Pull, ...]:
    """The pulls at once, for a shift of the values."""
    return tuple(drawn(setting.of, loads, force, shift) for loads, force in by)


def _still(setting: Setting, loads: Loads, since: Happening, now: Happening) -> float:
    """What an earlier parachute pulls by then, N: its opening load while it fills, its drag after that."""
    found, way = loads.ranges, vehicle(setting)[1]
    fills = (found.fill or LONGEST_FILL) * (found.diameter or 0.0) / max(since.speed, 1.0)
    if found.diameter is None or now.time - since.time < fills:
        return pull_at(loads, now.speed)
    return 0.5 * way.density * (now.speed + max(way.wind, 0.0)) ** 2 * found.high_area


def _moment(setting: Setting, said: str, speed: float, by: Drawn) -> Moment:
    pulls = _pulls(setting, by)
    whole = sum(pull.force for pull in pulls)
    off = math.hypot(*(share(one) * p.force for (one, _), p in zip(by, pulls, strict=True)))
    deep = (lowest(one.canopy, p.cone, p.height) for (one, _), p in zip(by, pulls, strict=True))
    coasting, least = _left(setting, pulls, speed)
    return Moment(
        setting,
        by,
        said,
        speed,
        pulls,
        tuple(deep),
        tuple(one.canopy for one, _ in by),
        coasting,
        least,
        _aside(setting, pulls, speed),
        _turned(setting, pulls, speed),
        off / whole if whole else 0.0,
    )


def _left(
    setting: Setting, pulls: tuple[Pull, ...], speed: float, shift: Shift = NOWHERE
) -> tuple[Axles, Axles]:
    """Axle loads in N coasting, and those that are left wherever in their cones the pulls point."""
    base = vehicle(setting, shift)[0].wheelbase
    coasting, pulled = (_level(setting, some, speed, shift=shift) for some in ((), pulls))
    up = lifted(pulls, base)
    return coasting, (pulled[0] - abs(up[0]), pulled[1] - abs(up[1]))


def _aside(
    setting: Setting, pulls: tuple[Pull, ...], speed: float, shift: Shift = NOWHERE
) -> tuple[Side, Side]:
    """What each axle's tires must hold of the pulls, where on the rims they hold it least."""
    both = (_level(setting, some, speed, shift=shift) for some in ((), pulls))
    front, rear = (min(pair) for pair in zip(*both, strict=True))
    base, friction = vehicle(setting, shift)[0].wheelbase, at(setting.of.course.friction, shift)
    return round_the_rim(pulls, (front, rear), base, friction)


def _turned(
    setting: Setting, pulls: tuple[Pull, ...], speed: float, shift: Shift = NOWHERE
) -> Axles:
    """Overturning and righting moment of the pulls, N·m."""
    base = vehicle(setting, shift)[0].wheelbase
    pulled = _level(setting, pulls, speed, shift=shift)
    return over_the_rim(pulls, pulled, base, footing(setting.of, shift))


def _level(
    setting: Setting,
    pulls: tuple[Pull, ...],
    speed: float,
    down: tuple[float, ...] = (),
    shift: Shift = NOWHERE,
) -> Axles:
    """Axle loads in N under some pulls, on the rims of their cones, with a part `down` of each, N, if any."""
    model, way, _ = vehicle(setting, shift)
    aft, pressed = sum(p.aft for p in pulls), sum(down)
    height = sum(p.aft * p.height for p in pulls) / aft if aft else 0.0
    turned = sum(d * p.station for d, p in zip(down, pulls, strict=False))
    resistance = forces(model, way, speed).resistance
    found = axle_loads(
        model, way, speed=speed, aft=aft, up=0.0, place=(0.0, height), retarding=resistance + aft
    )
    rear = turned / model.wheelbase
    return found[0] + pressed - rear, found[1] + rear


def _values(worst: Moment) -> tuple[Quantity | Result, ...]:
    return behind_pulls(worst.setting.of, (loads for loads, _ in worst.drawn))


def _loaded(worst: Moment, which: tuple[int, str], inputs: tuple[str, ...]) -> Check:
    """Whether the axle stays on the ground under all pulls."""
    axle, word = which

    def taken(shift: Shift) -> Axles:
        pulls = _pulls(worst.setting, worst.drawn, shift)
        coasting, least = _left(worst.setting, pulls, worst.speed, shift)
        return coasting[axle] - least[axle], coasting[axle]

    return compared(
        taken,
        _values(worst),
        f"stopping.check.together.{word}",
        f"Parachutes together: {word} axle stays loaded",
        said=(
            f"Load the pulls take off the {word} axle",
            f"Load of the {word} axle, coasting at that speed",
        ),
        signed=True,  # pulls from below the CG press the axle down
        inputs=inputs,
        basis_of_verdict=f"{worst.said}, while an earlier one pulls; each anywhere in its cone",
    )


def _held(worst: Moment, which: tuple[int, str], inputs: tuple[str, ...]) -> Check:
    """Whether the tires hold all pulls sideways."""
    axle, word = which
    friction = worst.setting.of.course.friction

    def held(shift: Shift) -> Axles:
        pulls = _pulls(worst.setting, worst.drawn, shift)
        side = _aside(worst.setting, pulls, worst.speed, shift)[axle]
        return side.need, at(friction, shift) * side.load

    return compared(
        held,
        _values(worst),
        f"stopping.check.together.{word}_side",
        f"Parachutes together: {word} tires hold the side pull",
        said=(f"Side force the {word} tires must hold", f"Grip of the {word} tires sideways"),
        inputs=(*inputs, friction.id, *worst.setting.of.cg_y.inputs),
        basis_of_verdict=f"{worst.said}, while an earlier one pulls; both one way round the rims of their "
        "cones, held steadily; the peak lasts a moment",
    )


def _tips(worst: Moment, inputs: tuple[str, ...]) -> Check:
    """Whether the inner wheels stay on the ground under all pulls."""
    of = worst.setting.of

    def tipped(shift: Shift) -> Axles:
        pulls = _pulls(worst.setting, worst.drawn, shift)
        return _turned(worst.setting, pulls, worst.speed, shift)

    return compared(
        tipped,
        _values(worst),
        "stopping.check.together.tipping",
        "Parachutes together: inner wheels stay on the ground",
        said=(
            "Moment of the pulls about the outer wheels",
            "Moment that keeps the inner wheels on the ground",
        ),
        kind="torque",
        inputs=(*inputs, *of.cg_y.inputs, *(w.y.id for w in (*of.axles.front, *of.axles.rear))),
        basis_of_verdict=f"{worst.said}, while an earlier one pulls; both one way round the rims of their "
        "cones, held steadily; the peak lasts a moment",
    )


def _mounts(moments: tuple[Moment, ...], inputs: tuple[str, ...]) -> Iterable[Check]:
    """Whether a mount holds all that are attached at one place, where any are."""
    groups = [(m, shared) for m in moments if len(shared := _at_one_place(m)) > 1]
    if not groups:
        return
    worst, shared = max(groups, key=lambda one: sum(pull for _, pull in one[1]))
    load, stated = sum(pull for _, pull in shared), [c.mount for c, _ in shared]
    lacking = next((c.name for c, _ in shared if c.mount is None), "")
    least = min((q for q in stated if q), key=lambda q: q.si, default=None)
    known = least if not lacking else None
    yield make_check(
        "stopping.check.together.mount",
        "Parachutes together: the mount at one place holds all of them",
        demand=Result(
            "stopping.together.mount_load",
            "Pull of all parachutes attached there",
            load,
            "force",
            load * worst.off,
        ),
        capacity=made(
            "stopping.together.mount_strength",
            "Least strength stated for a mount there",
            known.si if known else None,
            "force",
            u=known.standard_uncertainty if known else 0.0,
            absent=f"the strength of the mount of {lacking} is not stated",
            inputs=ids_of(q for q in stated if q),
        ),
        factor=max(c.factor.si for c, _ in shared),
        inputs=(*inputs, *ids_of((*(q for q in stated if q), *(c.factor for c, _ in shared)))),
        basis_of_verdict=f"{worst.said}, while an earlier one pulls; attached within {SAME_PLACE * 1000:.0f} mm they "
        "are taken to share one mount, and a shackle or strap that they share carries as much",
        ways="a mount for both, or mounts apart",
    )


def _at_one_place(moment: Moment) -> list[tuple[Canopy, float]]:
    """The parachute that opens and those attached where it is, each with its pull, N."""
    pairs = list(zip(moment.canopies, moment.pulls, strict=True))
    here = pairs[0][0].attach
    return [
        (canopy, pull.force)
        for canopy, pull in pairs
        if math.dist(
            [q.si for q in (here.x, here.y, here.z)],
            [q.si for q in (canopy.attach.x, canopy.attach.y, canopy.attach.z)],
        )
        <= SAME_PLACE
    ]


def _carried(moments: tuple[Moment, ...], inputs: tuple[str, ...]) -> Iterable[Check]:
    """Whether each kind of tires carries all pulls, each where on its rim it loads a wheel most."""
    of = moments[0].setting.of
    for tires in kinds(of):
        name = f"stopping.together.tires_{tires.id}"
        more, worst = max(
            ((_on_wheel(m, tires, axle), m) for m in moments for axle in axles(of, tires)),
            key=lambda one: one[0],
        )
        added = [Added(_always(more), worst.said)]
        rest, when = load(of, tires, name, added, (), behind=inputs)
        off = math.hypot(rest.standard_uncertainty, max(more, 0.0) * worst.off)
        yield load_check(
            f"stopping.check.together.tires_{tires.id}",
            f"Parachutes together: {called(tires)} carry the opening",
            tires,
            (
                replace(rest, standard_uncertainty=off),
                rated_for_a_moment(of, tires, name, worst.speed),
            ),
            f"worst: {when}, while an earlier one pulls; the peak lasts a moment",
        )


def _always(more: float) -> Callable[[Shift], float]:
    """What does not move with any value."""
    return lambda _: more


def _on_wheel(moment: Moment, tires: Tires, axle: int) -> float:
    """What all pulls add to the load at rest of the worse wheel of an axle, N."""
    of, (model, way, _) = moment.setting.of, vehicle(moment.setting)
    pairs = [
        (worst_on_rim(p.force, p.cone, deep, each), each)
        for p, deep in zip(moment.pulls, moment.lowest, strict=True)
        for each in [per_wheel(of, model, axle, (p.station, p.height), {})]
    ]
    down = tuple(d for (d, _), _ in pairs)
    moved = _level(moment.setting, moment.pulls, moment.speed, down)[axle] - still(model, way)[axle]
    return moved / wheels_on(of, axle) + sum(side * each[1] for (_, side), each in pairs)
