"""The loads of the tires in a run: at rest, with what speed, brakes and parachutes add, against their rating."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from buildspec.quantities import Quantity
from buildspec.sections.drive import Tires
from buildspec.sections.wheels import Wheel
from generator.checks import make_check
from generator.formulas.tires import LOAD_INDEX, LOAD_SOURCE, SPEED_SOURCE, load_share
from generator.run.car import GRAVITY, Car, Course, forces
from generator.spread import NOWHERE, Shift, sources, spread
from generator.subjects.run_model import Parts, ids
from generator.vocabulary import Check, Result

FACTOR = "bumps, crosswind and a twisted frame are in the load factor alone"


@dataclass(frozen=True, slots=True)
class Added:
    """What something adds to the load of one wheel, N, as a function of the values' shift; and when, in words."""

    of: Callable[[Shift], float]
    when: str


NO_FACTOR = Quantity("", 1.0, "ratio", "1", "", stated=True)
UNNAMED = "wheels."
"""Begins the id of a kind of tires that is made for wheels which no entry names."""


def kinds(of: Parts, *, unrated: bool = False) -> tuple[Tires, ...]:
    """The kinds of tires that are described, and the wheels of each axle that none of them names.

    Such wheels count where each states a `rated_load`; with `unrated` those without one, too.
    """
    named = of.drive.tires if of.drive else ()
    known = {wheel for tires in named for wheel in tires.wheels}
    found = list(named)
    for word, wheels in (("front", of.axles.front), ("rear", of.axles.rear)):
        left = [wheel for wheel in wheels if wheel.id not in known]
        if left and (unrated or all(wheel.rated_load for wheel in left)):
            names, title = tuple(wheel.id for wheel in left), f"{word.capitalize()} wheels"
            found.append(
                Tires(id=f"{UNNAMED}{word}", title=title, wheels=names, load_factor=NO_FACTOR)
            )
    return tuple(found)


def axles(of: Parts, tires: Tires) -> tuple[int, ...]:
    """On which axles they stand: 0 in front, 1 behind."""
    both = (of.axles.front, of.axles.rear)
    return tuple(n for n, wheels in enumerate(both) if any(w.id in tires.wheels for w in wheels))


def wheels_on(of: Parts, axle: int) -> int:
    """How many wheels stand on the front axle, 0, or the rear one, 1."""
    return len((of.axles.front, of.axles.rear)[axle])


def still(model: Car, course: Course) -> tuple[float, float]:
    """Front and rear axle load at rest in still air, N."""
    acting = forces(model, Course(course.density), 0.0)
    return acting.front, acting.rear


def at_rest(of: Parts, tires: Tires, name: str) -> Result:
    """The greatest load of any of its wheels in any condition, standing."""
    ends = tuple(f".wheel.{wheel}" for wheel in tires.wheels)
    found = [
        r
        for r in of.masses.results
        if r.id.startswith("mass.condition.") and r.id.endswith(ends) and r.value is not None
    ]
    if not found:
        absent = "the wheel loads are not known"
        return Result(name, "Greatest wheel load at rest", None, "force", absent=absent)
    return replace(max(found, key=lambda r: r.value or 0.0), inputs=ids(found))


def load(
    of: Parts,
    tires: Tires,
    name: str,
    added: Iterable[Added],
    values: Iterable[Quantity | Result | None],
    *,
    behind: tuple[str, ...],
) -> tuple[Result, str]:
    """The greatest wheel load with the most that any of `added` adds, and when that is.

    Not less than the load at rest. Its spread is that of the load at rest and, by `values`, of what is added,
    first order; `behind` are the ids of the description behind all that may be added.
    """
    title = "Greatest wheel load: at rest in any condition, and what is added then"
    rest, known = at_rest(of, tires, name), sources(v for v in values if v is not None)
    if rest.value is None:
        return Result(name, title, None, "force", absent=rest.absent), ""
    inputs = tuple(dict.fromkeys((*rest.inputs, *behind)))
    most = max(added, key=lambda one: one.of(NOWHERE), default=None)
    more = most.of(NOWHERE) if most else 0.0
    if most is None or more <= 0.0:
        u = rest.standard_uncertainty
        return Result(name, title, rest.value, "force", u, inputs=inputs), "at rest"
    variance = rest.standard_uncertainty**2 + spread(most.of, known) ** 2
    return Result(name, title, rest.value + more, "force", variance**0.5, inputs=inputs), most.when


def rated(of: Parts, tires: Tires, name: str, speed: float) -> Result:
    """What one tire may carry at a speed in m/s, by its own rating or that of its wheel, whichever is less."""
    stated = (w.rated_load for w in _wheels(of, tires))
    return _less(_rated(tires, name, speed), stated, "Load that wheel and tire are rated for")


def _wheels(of: Parts, tires: Tires) -> Iterable[Wheel]:
    return (w for w in (*of.axles.front, *of.axles.rear) if w.id in tires.wheels)


def _less(own: Result, stated: Iterable[Quantity | None], title: str) -> Result:
    """The tire's own rating, or the least of those stated with its wheels, whichever is less."""
    least = min((q for q in stated if q), key=lambda q: q.si, default=None)
    if least is None or (own.value is not None and own.value <= least.si):
        return own
    return _stated(least, title)


def _rated(tires: Tires, name: str, speed: float) -> Result:
    """What its maker, or the service description, lets one tire carry at a speed in m/s."""
    if tires.rated_load:
        return _stated(tires.rated_load, "Load the maker allows")
    if tires.load_index is None:
        absent = "neither a maker's rated load nor a load index is stated"
        return Result(f"{name}.rated_load", "Load the maker allows", None, "force", absent=absent)
    share = load_share(tires.speed_symbol, speed) if tires.speed_symbol else None
    kilograms = LOAD_INDEX.get(tires.load_index)
    if share is None or kilograms is None:
        why = (
            f"the load index {tires.load_index} is not in the table: state the maker's `rated_load`"
            if kilograms is None
            else "by its speed symbol the load index says nothing at this speed: state what the maker allows"
        )
        return Result(f"{name}.rated_load", "Load by the load index", None, "force", absent=why)
    return Result(
        f"{name}.rated_load",
        f"Load of the index {tires.load_index} at this speed",
        kilograms * GRAVITY * share,
        "force",
    )


def rated_for_a_moment(of: Parts, tires: Tires, name: str, speed: float) -> Result:
    """What one tire and its wheel may carry for a moment: for each the peak load, or no more than its rated load."""
    peak = tires.peak_load
    own = (
        _stated(peak, "Load the maker allows for a moment") if peak else _rated(tires, name, speed)
    )
    stated = (w.peak_load or w.rated_load for w in _wheels(of, tires))
    return _less(own, stated, "Load that wheel and tire may carry for a moment")


def _stated(q: Quantity, title: str) -> Result:
    return Result(q.id, title, q.si, "force", q.standard_uncertainty, inputs=(q.id,))


def load_sources(tires: Tires) -> tuple[str, ...]:
    """Where the ratings come from."""
    own = (q.source for q in (tires.rated_speed, tires.rated_load, tires.peak_load) if q)
    return (
        *dict.fromkeys(source for source in own if source),
        *((SPEED_SOURCE,) if tires.speed_symbol else ()),
        *((LOAD_SOURCE,) if tires.load_index else ()),
    )


TIRE_WAYS = "tires that their maker rates for this, in writing"
"""What a builder can do about a tire that is short of speed or load."""


def load_check(
    check_id: str, title: str, tires: Tires, of: tuple[Result, Result], how: str
) -> Check:
    """A wheel load against what its tire may carry, with the factor asked of it."""
    factor, (demand, capacity) = tires.load_factor, of
    return make_check(
        check_id,
        title,
        demand=demand,
        capacity=capacity,
        factor=factor.si,
        inputs=(*demand.inputs, *capacity.inputs, *((factor.id,) if factor.id else ())),
        sources=load_sources(tires),
        basis_of_verdict=f"{how}; {FACTOR}",
        ways=TIRE_WAYS,
    )
