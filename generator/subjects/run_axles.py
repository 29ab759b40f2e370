"""Whether each axle keeps its load in a run: at rest, less what air, thrust, brakes and pulls take off."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import product

from buildspec.quantities import Quantity, show
from generator.checks import make_check
from generator.run.car import Car, Course, Gear, forces, full_throttle
from generator.spread import NOWHERE, Shift, sources
from generator.subjects.run_model import Parts, State, car, gears, ways
from generator.subjects.run_tires import still
from generator.vocabulary import Check, Result

STEPS = 24
"""In so many steps the loads are looked at up to the greatest speed."""
WORDS = ("front", "rear")
WAYS = "less lift there, or more load on that axle"

Loads = tuple[float, float]
"""A figure of the front and of the rear axle, N."""
Built = tuple[Car, tuple[Course, ...], tuple[Gear, ...]]


@dataclass(frozen=True)
class Moment:
    """A moment of a run: its speed in m/s and what it is in words.

    `loads` gives the axles' loads at rest and what is left of them then, N, for a shift of the `values`.
    """

    loads: Callable[[Shift], tuple[Loads, Loads]]
    values: tuple[Quantity | Result, ...]
    speed: float
    when: str

    @cached_property
    def usual(self) -> tuple[Loads, Loads]:
        """The loads at rest and then, as described: asked for more than once."""
        return self.loads(NOWHERE)

    def left(self, axle: int) -> float:
        """The share of an axle's load that is left."""
        rest, now = self.usual
        return now[axle] / rest[axle]


def accelerating(
    model: Car, course: Course, box: tuple[Gear, ...], speed: float
) -> tuple[Loads, Loads]:
    """Axle loads at rest and at a speed with all the thrust of `box`, none of it where that is empty; N."""
    acting = forces(model, course, speed)
    gained = full_throttle(model, course, box, speed)[0]
    moved = model.mass * gained * model.height / model.wheelbase
    return still(model, course), (acting.front - moved, acting.rear + moved)


def moments_of_run(runs: Iterable[State], fastest: float) -> Iterable[Moment]:
    """Every condition and direction up to a speed in m/s, at full throttle and with the throttle shut."""
    for state in runs:
        of, values = state.of, (*state.of.values, *state.of.drive_values)
        built = partial(
            _built, of, _built(of, None, {})
        )  # made once: most calls are without a shift
        for way, n, wide in product(range(len(ways(of))), range(STEPS + 1), (True, False)):
            speed = fastest * n / STEPS
            loads = partial(_at_speed, built, (way, speed), wide)
            words = "full throttle" if wide else "lifting off the throttle"
            yield Moment(loads, values, speed, f"{words}, {state.title}")


def _built(of: Parts, usual: Built | None, shift: Shift) -> Built:
    """Vehicle, course in each direction and gears, moved by a shift."""
    return usual if usual and not shift else (car(of, shift), ways(of, shift), gears(of, shift))


def _at_speed(
    built: Callable[[Shift], Built], at: tuple[int, float], wide: bool, shift: Shift
) -> tuple[Loads, Loads]:
    """Loads at rest and at a speed in m/s in one direction, the throttle `wide` open or shut."""
    (model, courses, box), (way, speed) = built(shift), at
    return accelerating(model, courses[way], box if wide else (), speed)


def lifted(moments: Iterable[Moment], most: float, of: Parts) -> str:
    """Why nothing computed holds: an axle without load at a speed in m/s up to `most`. Empty where none is."""
    found = [
        (moment.speed, axle, moment.when)
        for moment in moments
        if moment.speed <= most
        for axle in (0, 1)
        if moment.left(axle) <= 0.0
    ]
    if not found:
        return ""
    speed, axle, when = min(found)
    return (
        f"the {WORDS[axle]} axle is off the ground at {show(speed, 'speed', of.system)} ({when}), and nothing "
        "computed beyond that holds"
    )


def axle_checks(word: str, moments: tuple[Moment, ...], behind: tuple[str, ...]) -> Iterable[Check]:
    """For both axles whether they stay on the ground, at the worst of the moments.

    `word` is the subject's; `behind` are the ids of the description behind all moments.
    """
    for axle, name in enumerate(WORDS):
        worst = min(moments, key=lambda moment: moment.left(axle))
        rest, now = worst.usual

        offs = _effects(worst, axle)
        u = [math.hypot(*(pair[n] for pair in offs)) for n in (0, 1)]
        taken = Result(
            f"{word}.axle.{name}_taken",
            f"Most load that is taken off the {name} axle",
            rest[axle] - now[axle],
            "force",
            u[0],
            inputs=behind,
        )
        if now[axle] > 0.0 and (why := _unknown_lift(worst, axle)):
            taken = replace(taken, value=None, standard_uncertainty=0.0, absent=why)
        yield make_check(
            f"{word}.check.axle.{name}",
            f"{name.capitalize()} axle stays on the ground",
            demand=taken,
            capacity=Result(
                f"{word}.axle.{name}_rest",
                f"Load of the {name} axle at rest",
                rest[axle],
                "force",
                u[1],
                inputs=behind,
            ),
            covariance=sum(taken * standing for taken, standing in offs),
            signed=True,  # what presses an axle down takes nothing off
            inputs=behind,
            basis_of_verdict=f"worst: {worst.when}",
            ways=WAYS,
        )


def _unknown_lift(moment: Moment, axle: int) -> str:
    """Why nothing is known of what air does to an axle: nobody states it; "" where somebody does."""
    name = f"aero.{WORDS[axle]}_lift_area"
    if any(isinstance(v, Quantity) and v.asks and v.id == name for v in moment.values):
        return (
            f"nobody states what air does to this axle: give `{name}`, by a test, by CFD, or by an estimate with "
            "its spread"
        )
    return ""


def _effects(moment: Moment, axle: int) -> list[tuple[float, float]]:
    """What one standard uncertainty of each value does to the load taken off an axle, and to that at rest; N."""
    found = []
    for source in sources(moment.values):
        up, down = (
            moment.loads({source.id: by}) for by in (source.uncertainty, -source.uncertainty)
        )
        at_rest, then = (0.5 * (up[n][axle] - down[n][axle]) for n in (0, 1))
        found.append((at_rest - then, at_rest))
    return found
