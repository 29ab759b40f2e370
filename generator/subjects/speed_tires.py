"""The tires of the subject `speed`: rated speed and rated load against what the run asks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

from buildspec.sections.drive import Tires
from generator.checks import make_check
from generator.formulas.tires import (
    LOAD_INDEX,
    LOAD_SOURCE,
    SPEED_SOURCE,
    SPEED_SYMBOLS,
    load_share,
)
from generator.run.car import GRAVITY, Car, Course, Forces, forces, grip
from generator.subjects.run_model import Parts, car, course, gears
from generator.vocabulary import Check, Result

STEPS = 24
"""In so many steps the loads are looked at up to the greatest speed."""
AT_SPEED = "full throttle and coasting up to that speed; braking and bumps are not counted"


@dataclass(frozen=True, slots=True)
class TireLine:
    """Tires with what is asked of them and what they are rated for."""

    tires: Tires
    title: str
    speed: Result
    rated_speed: Result
    load: Result
    rated_load: Result
    sources: tuple[str, ...]


def tire_lines(of: Parts, fastest: float) -> tuple[TireLine, ...]:
    """One line a kind of tires, at the greatest speed computed or aimed at, m/s."""
    return tuple(_line(of, tires, fastest) for tires in (of.drive.tires if of.drive else ()))


def _line(of: Parts, tires: Tires, fastest: float) -> TireLine:
    title, name = tires.title or tires.id, f"speed.tires.{tires.id}"
    speed = Result(f"{name}.speed", "Greatest speed computed or aimed at", fastest, "speed")
    return TireLine(
        tires,
        title,
        speed,
        _rated_speed(tires, name),
        _load(of, tires, name, fastest),
        _rated_load(tires, name, fastest),
        _sources(tires),
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
        absent="neither a maker's rated speed nor a speed symbol is stated",
    )


def _added(of: Parts, tires: Tires, fastest: float) -> float:
    """The most that lift, drag and full throttle add to the load of any of its wheels up to a speed, N; not below 0."""
    model, most = car(of), 0.0
    ways = (course(of), course(of).reversed()) if of.course.two_way else (course(of),)
    still = forces(model, Course(ways[0].density), 0.0)
    for speed, way in product((fastest * n / STEPS for n in range(STEPS + 1)), ways):
        acting = forces(model, way, speed)
        shift = _push(of, model, acting, speed) * model.height / model.wheelbase
        resisted = acting.resistance * model.height / model.wheelbase
        # between coasting, which loads the front, and full throttle, which loads the rear
        ahead = acting.front + resisted - still.front
        behind = acting.rear + shift - resisted - still.rear
        for added, wheels in ((ahead, of.axles.front), (behind, of.axles.rear)):
            if any(w.id in tires.wheels for w in wheels):
                most = max(most, added / len(wheels))
    return most


def _push(of: Parts, model: Car, acting: Forces, speed: float) -> float:
    """The thrust at full throttle, N."""
    found = 0.0
    for gear in gears(of):
        limit = grip(
            model, acting, model.driven, mass=gear.mass, resistance=acting.resistance, sign=1.0
        )
        found = max(found, min(gear.thrust(speed), limit))
    return found


def _load(of: Parts, tires: Tires, name: str, fastest: float) -> Result:
    """The greatest load of any of its wheels in any condition, with what speed adds to it."""
    ends = tuple(f".wheel.{wheel}" for wheel in tires.wheels)
    found = [
        r
        for r in of.masses.results
        if r.id.startswith("mass.condition.") and r.id.endswith(ends) and r.value is not None
    ]
    if not found:
        return Result(
            f"{name}.load",
            "Greatest wheel load up to that speed",
            None,
            "force",
            absent="the wheel loads are not known",
        )
    most = max(found, key=lambda r: r.value or 0.0)
    return Result(
        f"{name}.load",
        "Greatest wheel load up to that speed, any condition: at rest, with lift, drag and full throttle",
        (most.value or 0.0) + _added(of, tires, fastest),
        "force",
        most.standard_uncertainty,
        inputs=most.inputs,
    )


def _rated_load(tires: Tires, name: str, fastest: float) -> Result:
    if tires.rated_load:
        q = tires.rated_load
        return Result(
            q.id, "Load the maker allows", q.si, "force", q.standard_uncertainty, inputs=(q.id,)
        )
    if tires.load_index is None:
        return Result(
            f"{name}.rated_load",
            "Load the maker allows",
            None,
            "force",
            absent="neither a maker's rated load nor a load index is stated",
        )
    share = load_share(tires.speed_symbol, fastest) if tires.speed_symbol else None
    kilograms = LOAD_INDEX.get(tires.load_index)
    if share is None or kilograms is None:
        why = (
            f"the load index {tires.load_index} is not in the table"
            if kilograms is None
            else "no speed symbol covers this speed, so the load index says nothing here"
        )
        return Result(f"{name}.rated_load", "Load by the load index", None, "force", absent=why)
    return Result(
        f"{name}.rated_load",
        f"Load of the index {tires.load_index} at this speed",
        kilograms * GRAVITY * share,
        "force",
    )


def _sources(tires: Tires) -> tuple[str, ...]:
    own = tuple(q.source for q in (tires.rated_speed, tires.rated_load) if q and q.source)
    return (
        own
        + ((SPEED_SOURCE,) if tires.speed_symbol else ())
        + ((LOAD_SOURCE,) if tires.load_index else ())
    )


def tire_checks(lines: tuple[TireLine, ...]) -> Iterable[Check]:
    """For each kind of tires: its speed and its load."""
    for line in lines:
        for word, title, demand, capacity in (
            ("speed", "speed", line.speed, line.rated_speed),
            ("load", "load", line.load, line.rated_load),
        ):
            yield make_check(
                f"speed.check.tires.{line.tires.id}.{word}",
                f"{line.title}: {title}",
                demand=demand,
                capacity=capacity,
                inputs=(*demand.inputs, *capacity.inputs),
                sources=line.sources,
                basis_of_verdict=AT_SPEED if word == "load" else "",
                ways="tires that their maker rates for this, in writing",
            )
