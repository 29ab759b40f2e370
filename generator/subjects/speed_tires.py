"""The tires of the subject `speed`: rated speed and rated load against what the run asks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from buildspec.sections.drive import Tires
from generator.checks import make_check
from generator.formulas.tires import (
    LOAD_INDEX,
    LOAD_SOURCE,
    SPEED_SOURCE,
    SPEED_SYMBOLS,
    load_share,
)
from generator.run.car import GRAVITY
from generator.subjects.run_model import Parts
from generator.vocabulary import Check, Result


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
        _load(of, tires, name),
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


def _load(of: Parts, tires: Tires, name: str) -> Result:
    """The greatest static load of any of its wheels in any condition that the mass subject knows."""
    ends = tuple(f".wheel.{wheel}" for wheel in tires.wheels)
    found = [
        r
        for r in of.masses.results
        if r.id.startswith("mass.condition.") and r.id.endswith(ends) and r.value is not None
    ]
    if not found:
        return Result(
            f"{name}.load",
            "Greatest wheel load at rest",
            None,
            "force",
            absent="the wheel loads are not known",
        )
    most = max(found, key=lambda r: r.value or 0.0)
    return Result(
        f"{name}.load",
        "Greatest wheel load at rest, any condition",
        most.value,
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
            )
