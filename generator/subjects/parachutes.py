"""The subject `parachutes`: opening loads, what must hold them, and what the pull does to the vehicle."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from buildspec.build import Build
from buildspec.quantities import Quantity, show
from buildspec.sections.parachutes import Canopy, Parachutes
from buildspec.sections.stopping import Stopping
from generator.checks import make_check
from generator.run.car import Course
from generator.subjects.parachutes_geometry import Geometry, axle_results, geometry
from generator.subjects.parachutes_loads import UNSURE, Loads, Pace, Scene, loads
from generator.subjects.parachutes_strength import strength, witnesses
from generator.subjects.parachutes_tables import table_assumptions
from generator.subjects.run_model import (
    Parts,
    State,
    car,
    course,
    of_air,
    of_sections,
    parts,
    rolling_mass,
    states,
)
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Assumption, Caution, Check, OpenItem, Outcome, Result, WorkedStep

WORD = "parachutes"


@dataclass(frozen=True, eq=False)
class Chute:
    """One parachute with everything found of it."""

    loads: Loads
    geometry: Geometry | None
    checks: tuple[Check, ...]
    steps: tuple[WorkedStep, ...]
    results: tuple[Result, ...]

    @property
    def canopy(self) -> Canopy:
        """Its entry in the description."""
        return self.loads.canopy


@dataclass(frozen=True, eq=False)
class Detail:
    """Everything the page and the charts show."""

    of: Parts
    speed: float
    why: str
    chutes: tuple[Chute, ...]
    inputs: tuple[Quantity, ...]


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Every parachute's loads and checks, or None where none is described."""
    section = build.section(Parachutes)
    if section is None:
        return None
    of = parts(build, given)
    if isinstance(of, str):
        return _nothing(of or "the sections `aero` and `course` are missing")
    pace = load_speed(of, section.speed, given)
    if pace.speed <= 0.0:
        return _nothing(
            "no speed is known: state `parachutes.speed`, `vehicle.target_speed` or a `drive`"
        )
    unwatched = tuple(_unwatched(build, of, section, given))
    runs = states(build, of, given)
    chutes = tuple(_watched(_chute(runs, c, pace), unwatched) for c in section.canopies)
    checks = tuple(k for c in chutes for k in c.checks)
    return Outcome(
        subject=WORD,
        results=tuple(r for c in chutes for r in (*c.results, *axle_results(c.loads, c.geometry))),
        checks=checks,
        steps=tuple(s for c in chutes for s in c.steps),
        cautions=(*_hazards(), *(k for c in chutes for k in _limits(c))),
        assumptions=tuple(_assumptions(section)),
        open_items=(
            *(i for c in chutes for i in _open(c)),
            *_no_stop(build),
            *of_air(of, WORD, checks),
        ),
        detail=Detail(of, pace.speed, pace.why, chutes, of_sections(build, "parachutes")),
    )


def load_speed(of: Parts, stated: Quantity | None, given: Given) -> Pace:
    """The speed that loads and stops start from. Only a computed one is uncertain: others are decisions."""
    if stated:
        return _decided(stated)
    target = of.vehicle.target_speed if of.vehicle else None
    speed = given.outcomes.get("speed")
    ends = speed.by_id.get("speed.exit") if speed else None
    computed = (ends.value or 0.0) if ends else 0.0
    if target and target.si > computed:
        above = ", which is above the computed one" if computed else ""
        return Pace(target.si, 0.0, (target.id,), f"the target speed{above}")
    return Pace(
        computed,
        ends.standard_uncertainty if ends else 0.0,
        ends.inputs if ends else (),
        "the computed speed at the end of the timed sections, which is above the target speed",
    )


def _decided(stated: Quantity) -> Pace:
    return Pace(stated.si, 0.0, (stated.id,), "the speed stated for it")


def too_slow(of: Parts, stated: Quantity | None, given: Given) -> str:
    """Why a stated speed is below what the run reaches or aims at; empty where it is not."""
    pace = load_speed(of, None, given)
    if stated is None or stated.si >= pace.speed:
        return ""
    reached = show(pace.speed, "speed", of.system)
    return f"{stated.written} are stated, less than {reached}: {pace.why}"


def _nothing(why: str) -> Outcome:
    lacking = Result("parachutes.design_load", "Design load", None, "force", absent=why)
    check = make_check(
        "parachutes.check.load", "Parachutes hold their load", demand=lacking, capacity=lacking
    )
    return Outcome(subject=WORD, results=(lacking,), checks=(check,))


def _windward(of: Parts) -> Course:
    """The course in the direction of the greater head wind: on a two-way course a tail wind turns."""
    way = course(of)
    return way.reversed() if of.course.two_way and way.wind < 0.0 else way


def _chute(runs: tuple[State, ...], canopy: Canopy, pace: Pace) -> Chute:
    """A parachute at its own speed or the one considered, in every condition the vehicle runs in."""
    of = runs[0].of
    own = _decided(canopy.speed) if canopy.speed else pace
    lightest = min(rolling_mass(state.of) for state in runs)
    weighed = tuple(dict.fromkeys(i for state in runs for i in state.of.rolling_ids))
    scene = Scene(of, car(of), _windward(of), own, rolling_mass(of), lightest, weighed)
    found = loads(canopy, scene)
    checks, strength_steps = strength(found)
    place = geometry(found, scene, runs)
    results = (
        found.design,
        found.steady,
        found.deceleration,
        found.snatch,
        found.governing,
        *found.filled,
        *(r for c in found.credits for r in (c.expected, c.integrated)),
        *(place.results if place else ()),
    )
    return Chute(
        found,
        place,
        (*checks, *(place.checks if place else ())),
        (*found.steps, *strength_steps, *(place.steps if place else ())),
        results,
    )


def _unwatched(build: Build, of: Parts, section: Parachutes, given: Given) -> Iterable[Check]:
    """Open for each parachute whose loads are computed below the run's speed while no stop says when it opens."""
    stop = build.section(Stopping)
    used = {d.parachute for d in stop.deploy} if stop else set()
    for canopy in section.canopies:
        stated = canopy.speed or section.speed
        slow = too_slow(of, stated, given)
        if canopy.id in used or not slow or stated is None:
            continue
        name = f"parachutes.{canopy.id}.opening"
        absent = f"no `stopping.deploy` says at which speed it opens, and {slow}"
        yield make_check(
            f"parachutes.check.{canopy.id}.opening",
            f"{canopy.name}: opens no faster than its loads were computed for",
            demand=Result(name, "Speed at line stretch", None, "speed", absent=absent),
            capacity=Result(stated.id, "Speed its loads were computed at", stated.si, "speed"),
            inputs=(stated.id,),
        )


def _watched(chute: Chute, unwatched: tuple[Check, ...]) -> Chute:
    """A parachute with its own of those checks."""
    own = (c for c in unwatched if c.id == f"parachutes.check.{chute.canopy.id}.opening")
    return replace(chute, checks=(*chute.checks, *own))


def _hazards() -> Iterable[Caution]:
    for word, text in (
        (
            "behind",
            "Never stand behind a packed parachute, and keep its lever pinned until the driver is "
            "strapped in and the crew is clear.",
        ),
        (
            "packing",
            "Pack by the maker's sheet, by one trained person, with a second who checks; replace lanyards and "
            "release lines before they are worn. A lanyard that is too short opens the pack by itself.",
        ),
        (
            "heat",
            "Nylon loses strength in heat long before it melts: keep packs, lines and the strap "
            "out of the exhaust's way and inspect them after every run.",
        ),
        (
            "speed",
            "Open a parachute only inside the speeds its maker allows. The figures here are for arranging and "
            "comparing; the rulebook in force and the maker decide.",
        ),
    ):
        yield Caution(f"parachutes.caution.{word}", text, WORD, hazard=True)


def _limits(chute: Chute) -> Iterable[Caution]:
    canopy = chute.canopy
    for credit in chute.loads.credits[:1]:
        if credit.ballistic < UNSURE:
            yield Caution(
                f"parachutes.{canopy.id}.caution.light",
                f"{canopy.name}: the ballistic parameter is {credit.ballistic:.2g}. Below {UNSURE} "
                "the published figure and the exact solution differ by 10 to 20 %, so the "
                "expected load is no better than that; the design load stands.",
                WORD,
            )
        if abs(credit.agrees) > 1e-3:
            yield Caution(
                f"parachutes.{canopy.id}.caution.integration",
                f"{canopy.name}: integration and closed form "
                f"differ by {credit.agrees:.2%}; neither expected load should be used.",
                WORD,
            )
    if chute.loads.design.value is not None and not chute.loads.credits:
        yield Caution(
            f"parachutes.{canopy.id}.caution.fill",
            f"{canopy.name}: no fill constant is known, so no expected load is computed; the "
            "design load needs none.",
            WORD,
        )


def _assumptions(section: Parachutes) -> Iterable[Assumption]:
    yield Assumption(
        "parachutes.assumption.mass",
        "The pull acts on the whole vehicle as a rigid body; the strap's own spring is counted "
        "only in the snatch load.",
        WORD,
        "common practice",
    )
    yield Assumption(
        "parachutes.assumption.wind",
        "For loads a head wind is added to the speed, a tail wind is not taken off; on a two-way "
        "course the greater head wind of both runs counts.",
        WORD,
        "conservative",
    )
    for canopy in section.canopies:
        yield from table_assumptions(canopy)


def _open(chute: Chute) -> Iterable[OpenItem]:
    yield from witnesses(chute.loads)
    if chute.loads.snatch.value is None:
        canopy = chute.canopy
        yield OpenItem(
            f"parachutes.{canopy.id}.snatch",
            WORD,
            "missing",
            f"{canopy.name}: the snatch load is not known; {chute.loads.snatch.absent}",
            "state those, or the maker's own `snatch_load`",
            tuple(c.id for c in chute.checks if c.verdict == "open" and "snatch" in c.reason),
            ref=f"parachutes.canopies.{canopy.id}",
        )


def _no_stop(build: Build) -> Iterable[OpenItem]:
    """Parachutes without a stop: nobody knows whether they stop the vehicle, or what happens when one fails."""
    if build.section(Stopping) is None:
        yield OpenItem(
            "parachutes.stop",
            WORD,
            "missing",
            "No stop is described: neither how far the vehicle goes, nor what happens when a parachute fails, is known",
            "describe the plan of the stop in `stopping`",
            ref="parachutes",
        )


SUBJECT = Subject(
    word=WORD,
    title="Parachutes",
    group="The run",
    evaluate=evaluate,
    needs=("mass", "air", "speed"),
    purpose="The loads of each parachute as it opens, what lines, riser, shackle and mount hold, and what the pull "
    "does to the axles.",
)
