"""The tires of the subject `speed`: rated speed and rated load against what the run asks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

from buildspec.plain import called
from buildspec.sections.drive import Tires
from generator.checks import make_check
from generator.formulas.tires import SPEED_SYMBOLS
from generator.run.car import Car, Course, Gear
from generator.spread import Shift
from generator.subjects.run_axles import accelerating
from generator.subjects.run_model import State, car, gears, ids_of_all, ways
from generator.subjects.run_tires import (
    TIRE_WAYS,
    UNNAMED,
    Added,
    axles,
    kinds,
    load,
    load_check,
    load_sources,
    rated,
    wheels_on,
)
from generator.vocabulary import Check, Result

STEPS = 24
"""In so many steps the loads are looked at up to the greatest speed."""
WORDS = ("lifting off the throttle", "full throttle")
ELSEWHERE = "brakes and opening parachutes have checks of their own"


@dataclass(frozen=True, slots=True)
class TireLine:
    """Tires with what is asked of them and what they are rated for; `when` says at what the load is greatest."""

    tires: Tires
    title: str
    speed: Result
    rated_speed: Result
    load: Result
    rated_load: Result
    sources: tuple[str, ...]
    when: str


def tire_lines(runs: tuple[State, ...], fastest: Result) -> tuple[TireLine, ...]:
    """One line a kind of tires, at the greatest speed computed or aimed at, in every condition the vehicle runs in."""
    return tuple(_line(runs, tires, fastest) for tires in kinds(runs[0].of, unrated=True))


def _line(runs: tuple[State, ...], tires: Tires, fastest: Result) -> TireLine:
    title, name, of = called(tires), f"speed.tires.{tires.id}", runs[0].of
    speed = fastest.value or 0.0
    added = tuple(a for state in runs for a in _added(state, tires, speed))
    behind = (*fastest.inputs, *ids_of_all(runs), *of.drive_ids)
    values = (*of.values, *of.drive_values)
    demand, when = load(of, tires, f"{name}.load", added, values, behind=behind)
    return TireLine(
        tires,
        title,
        fastest,
        _rated_speed(tires, name),
        demand,
        rated(of, tires, name, speed),
        load_sources(tires),
        when,
    )


def _rated_speed(tires: Tires, name: str) -> Result:
    if tires.rated_speed:
        q = tires.rated_speed
        return Result(
            q.id, "Speed the maker allows", q.si, "speed", q.standard_uncertainty, inputs=(q.id,)
        )
    if tires.speed_symbol:
        return Result(
            f"{name}.rated_speed",
            f"Speed of the symbol {tires.speed_symbol}",
            SPEED_SYMBOLS[tires.speed_symbol] / 3.6,
            "speed",
        )
    return Result(
        f"{name}.rated_speed",
        "Speed the maker allows",
        None,
        "speed",
        absent="no entry of `drive.tires` names these wheels"
        if tires.id.startswith(UNNAMED)
        else "neither a maker's rated speed nor a speed symbol is stated",
    )


def _added(state: State, tires: Tires, fastest: float) -> Iterable[Added]:
    """What speed adds in one condition, at every speed and in every direction: lifting off loads the front
    axle, full throttle the rear one.
    """
    of, paces = state.of, tuple(fastest * n / STEPS for n in range(STEPS + 1))
    usual = (car(of), gears(of))  # made once: most calls are without a shift
    for axle, way, speed in product(axles(of, tires), range(len(ways(of))), paces):

        def more(shift: Shift, axle: int = axle, way: int = way, speed: float = speed) -> float:
            built = (car(of, shift), gears(of, shift)) if shift else usual
            return _more(built, ways(of, shift)[way], axle, speed) / wheels_on(of, axle)

        yield Added(more, f"{WORDS[axle]}, {state.title}")


def _more(built: tuple[Car, tuple[Gear, ...]], course: Course, axle: int, speed: float) -> float:
    """What a speed in m/s adds to the load of an axle, N."""
    model, box = built
    standing, moving = accelerating(model, course, box if axle else (), speed)
    return moving[axle] - standing[axle]


def tire_checks(lines: tuple[TireLine, ...]) -> Iterable[Check]:
    """For each kind of tires: its speed and its load."""
    for line in lines:
        name = f"speed.check.tires.{line.tires.id}"
        yield make_check(
            f"{name}.speed",
            f"{line.title}: speed",
            demand=line.speed,
            capacity=line.rated_speed,
            inputs=(*line.speed.inputs, *line.rated_speed.inputs),
            sources=line.sources,
            ways=TIRE_WAYS,
        )
        yield load_check(
            f"{name}.load",
            f"{line.title}: load at speed",
            line.tires,
            (line.load, line.rated_load),
            f"worst: {line.when}; {ELSEWHERE}",
        )
