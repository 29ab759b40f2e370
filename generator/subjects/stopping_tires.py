"""The tires of the subject `stopping`: what braking adds to their load."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from itertools import product

from buildspec.plain import called
from buildspec.sections.drive import Tires
from generator.formulas import air as air_formulas
from generator.run.car import Course, braking, forces
from generator.spread import Shift
from generator.subjects.parachutes_loads import ranges
from generator.subjects.run_axles import Loads, Moment
from generator.subjects.run_tires import (
    Added,
    axles,
    kinds,
    load,
    load_check,
    rated,
    still,
    wheels_on,
)
from generator.subjects.stopping_cases import WORKS, Scene, Setting, inputs, scene, values
from generator.vocabulary import Check

FINE = 24
"""In so many steps the axles' loads are looked at over the speeds of a stop."""
STEPS = 12
"""In so many steps braking is looked at below the speed the brakes are used at."""
NONE, ALL = "no parachute out", "all parachutes out"


def braked_tires(settings: list[Setting]) -> Iterable[Check]:
    """Each kind of tires under braking, in every direction and condition, with and without parachutes out."""
    first = settings[0]
    if first.section.brakes is None:
        return
    for tires in kinds(first.of):
        name = f"stopping.tires.{tires.id}"
        added = (a for setting in settings for a in _added(setting, tires))
        behind = inputs(settings, WORKS)
        demand, when = load(first.of, tires, f"{name}.load", added, values(first), behind=behind)
        yield load_check(
            f"stopping.check.tires.{tires.id}",
            f"{called(tires)}: load under braking",
            tires,
            (demand, rated(first.of, tires, name, first.section.brakes.below.si)),
            f"worst: {when}",
        )


def _added(setting: Setting, tires: Tires) -> Iterable[Added]:
    brakes = setting.section.brakes
    most = min(brakes.below.si, setting.speed) if brakes else 0.0
    way = f", run {setting.way}" if setting.way else ""
    usual = scene(setting)  # made once: most calls are without a shift
    for axle, out, n in product(axles(setting.of, tires), (False, True), range(STEPS + 1)):
        pace = most * n / STEPS

        def more(shift: Shift, axle: int = axle, pace: float = pace, out: bool = out) -> float:
            moves = _more(scene(setting, shift) if shift else usual, pace, shift, out=out)
            return moves[axle] / wheels_on(setting.of, axle)

        yield Added(more, f"braking, {ALL if out else NONE}{way}, {setting.state}")


def moments_of_stop(settings: Iterable[Setting]) -> Iterable[Moment]:
    """Every direction and condition from the speed of the stop down, the parachutes out and not, the brakes on where
    they are used.
    """
    for setting in settings:
        usual, known = scene(setting), tuple(values(setting))
        way = f", run {setting.way}" if setting.way else ""
        for n, out in product(range(1, FINE + 1), (False, True)):
            if out and not setting.section.deploy:
                continue

            pace = setting.speed * n / FINE
            loads = partial(_slowing, usual, pace, out)
            yield Moment(loads, known, pace, f"{ALL if out else NONE}{way}, {setting.state}")


def _slowing(usual: Scene, pace: float, out: bool, shift: Shift) -> tuple[Loads, Loads]:
    """Axle loads at rest and while slowing at a speed in m/s, N."""
    there = scene(usual.setting, shift) if shift else usual
    more, rest = _more(there, pace, shift, out=out), still(there.car, there.course)
    return rest, (rest[0] + more[0], rest[1] + more[1])


def _more(there: Scene, pace: float, shift: Shift, *, out: bool) -> tuple[float, float]:
    """What slowing as hard as torque and grip allow adds to the front and rear axle's load at a speed in m/s, N.

    The brakes count from the speed down at which they are used.
    """
    model, way, mass, done = there.car, there.course, there.mass, there.plan
    pull, height = _pull(there.setting, way, pace, shift) if out else (0.0, 0.0)
    acting, standing = forces(model, way, pace, pull, height), still(model, way)
    other = acting.resistance + pull + done.engine_braking
    limit = braking(model, acting, mass=mass, resistance=other)
    brakes = done.brakes if done.brakes and pace <= done.brakes.below else None
    held = min(limit, brakes.limit) if brakes else 0.0
    moved = (other + held) / mass * model.mass * model.height / model.wheelbase
    return acting.front + moved - standing[0], acting.rear - moved - standing[1]


def _pull(setting: Setting, way: Course, pace: float, shift: Shift) -> tuple[float, float]:
    """The steady pull of all parachutes at the high end of their drag, N, and the height it acts at, m."""
    ground = setting.of.ground.si if setting.of.ground else 0.0
    pressure = air_formulas.dynamic_pressure(density=way.density, speed=max(pace + way.wind, 0.0))
    used = dict.fromkeys(d.parachute for d in setting.section.deploy)
    canopies = [setting.canopies[name] for name in used]
    pulls = [pressure * ranges(canopy, shift).high_area for canopy in canopies]
    whole = sum(pulls)
    moment = sum(p * (c.attach.z.si - ground) for p, c in zip(pulls, canopies, strict=True))
    return (whole, moment / whole) if whole > 0.0 else (0.0, 0.0)
