"""Cases that inertia holds: whether what resists there weighs as much as the vehicle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from buildspec.build import Build
from buildspec.quantities import both
from buildspec.sections.mass import Mass
from generator.frame.inertia import mass_matrix
from generator.frame.model import Array, Frame
from generator.subjects.cage_loads import Case, total_of
from generator.subjects.subject import Given
from generator.vocabulary import Assumption, Caution, Result

WORD = "cage"
APART = 0.05
"""Share of a vehicle's mass by which that of tubes and `masses` may differ from it. A load that is a
multiple of the vehicle's weight, or a parachute's pull, must go through the frame to where that
mass is; what is not there takes nothing, and the rest is accelerated by more than the vehicle."""
ASIDE = {"x": 0.25, "y": 0.1}
"""How far the centre of tubes and `masses` may lie from the vehicle's, over the length and the width of
the frame. What is fixed where it is struck takes the load before a tube feels it. Along z masses
act at joints, which lie lower than an engine; that is left out, and said."""


@dataclass(frozen=True, eq=False)
class _There:
    """What resists: mass in kg, its centre (3,) and the extent of the frame's joints (3,), m."""

    mass: float
    centre: Array
    extent: Array


def _there(frame: Frame) -> _There:
    mass, centre, _ = mass_matrix(frame)
    return _There(mass, centre, np.ptp(frame.nodes, axis=0))


def weighty(cases: tuple[Case, ...], frame: Frame, build: Build, given: Given) -> tuple[Case, ...]:
    """The cases; `absent` where inertia holds a load that is more or less than what resists it."""
    there = _there(frame)
    return tuple(_weighed(case, there, build, given) for case in cases)


def _weighed(case: Case, there: _There, build: Build, given: Given) -> Case:
    """One case with what is there on the frame."""
    if case.absent or not case.inertia:
        return case
    conditions = _conditions(case, build)
    wholes = [total_of(given, condition) for condition in conditions]
    pairs = tuple(zip(wholes, conditions, strict=True))
    reasons = (
        _apart(there.mass, *one, build) or _aside(there, one[1], build, given) for one in pairs
    )
    centres = (_centre(c, axis, given) for c in conditions for axis in ASIDE)
    ids = tuple(i for of in (*wholes, *centres) if of for i in of.inputs)
    return replace(case, absent=next(filter(None, reasons), ""), masses=(*case.masses, *ids))


def _apart(there: float, whole: Result, condition: str, build: Build) -> str:
    """Why `there` kg cannot stand for the vehicle in a condition; "" where they can."""
    if whole.value is None:
        return f"how much the vehicle weighs is not known: {whole.absent}"
    if abs(there - whole.value) > APART * whole.value:
        return _said(there, whole, condition, build)
    return ""


def _aside(there: _There, condition: str, build: Build, given: Given) -> str:
    """Why what resists stands too far from where the vehicle's mass is; "" where it does not, or
    where nobody knows."""
    for axis, most in ASIDE.items():
        found = _centre(condition, axis, given)
        number = "xyz".index(axis)
        here, allowed = float(there.centre[number]), most * float(there.extent[number])
        if found is None or found.value is None or abs(here - found.value) <= allowed:
            continue
        at, own, off = (both(v, "length", build.system) for v in (here, found.value, allowed))
        return (
            f"inertia holds it, and the centre of the tubes with what `masses` fixes to them is at {axis} = "
            f"{at}, while that of the vehicle ({condition}) is at {own}, more than {off} from it: fix the "
            "rest of the vehicle to the joints that carry it, with `shares`"
        )
    return ""


def _centre(condition: str, axis: str, given: Given) -> Result | None:
    """Where the vehicle's centre of gravity is along x or y, as the mass page has it."""
    outcome = given.outcomes.get("mass")
    return outcome.by_id.get(f"mass.condition.{condition}.cg_{axis}") if outcome else None


def cautions(
    cases: tuple[Case, ...], frame: Frame, build: Build, given: Given
) -> Iterator[Caution]:
    """Cases held by inertia whose forces are all stated: they may be a multiple of anything, so that
    the vehicle in its design condition is held against what resists them, and no verdict waits."""
    section, there = build.section(Mass), _there(frame)
    for case in cases:
        if section is None or case.absent or not case.inertia or _conditions(case, build):
            continue
        condition = section.design_condition
        why = _apart(there.mass, total_of(given, condition), condition, build)
        why = why or _aside(there, condition, build, given)
        if why:
            yield Caution(f"{WORD}.case.{case.id}.resists", f"{case.title}: {why}.", WORD)


def _conditions(case: Case, build: Build) -> tuple[str, ...]:
    """The conditions whose whole mass resists the loads of a case: those that loads name, and the
    design condition for a multiple of another force or of the weight of items."""
    section, loads = build.section(Mass), case.own.loads
    named = [load.condition for load in loads if load.condition]
    if section and any(load.result or load.items for load in loads):
        named.append(section.design_condition)
    return tuple(dict.fromkeys(named))


def _said(there: float, whole: Result, condition: str, build: Build) -> str:
    mend = (
        f"give the rest an entry under `masses`, such as `rest_of: {condition}`"
        if there < (whole.value or 0.0)
        else "name the items that are the tubes under `mass_items`, and take out what counts twice"
    )
    resists, weighs = (both(m, "mass", build.system) for m in (there, whole.value or 0.0))
    return (
        f"inertia holds it, and the tubes with what `masses` fixes to them are {resists}, while the "
        f"vehicle ({condition}) is {weighs}: {mend}"
    )


def accelerations(case: str, title: str, of: tuple[Array, Array] | None) -> tuple[Result, ...]:
    """How a load as written accelerates and spins up what inertia holds; `of`: acceleration of the
    centre of mass (3,) m/s² and spin-up (3,) rad/s², None where the case has no answer."""
    figures = (
        ("acceleration", "acceleration of the whole", "acceleration"),
        ("spin_up", "spin-up of the whole", "angular acceleration"),
    )
    return tuple(
        Result(
            f"{WORD}.case.{case}.{word}",
            f"{title}: {words}",
            float(np.linalg.norm(of[n])) if of else None,
            kind,
            absent="" if of else "the case has no answer",
        )
        for n, (word, words, kind) in enumerate(figures)
    )


def assumptions(cases: Iterable[Case]) -> Iterator[Assumption]:
    """What cases held by inertia rest on, where there are any."""
    if any(case.inertia for case in cases):
        yield Assumption(
            f"{WORD}.assumption.resists",
            "Where inertia holds the frame, the tubes and `masses` resist a load on the vehicle. They "
            f"must weigh what the vehicle weighs within {100 * APART:.0f} %, and their centre must lie no further from "
            f"the vehicle's than {100 * ASIDE['x']:.0f} % of the frame's length and {100 * ASIDE['y']:.0f} % of its "
            "width; else the case is open.",
            WORD,
            "Newton's second law; the shares are the program's own",
        )
