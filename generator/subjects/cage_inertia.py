"""Cases that inertia holds: whether what resists there weighs as much as the vehicle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

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


def weighty(cases: tuple[Case, ...], frame: Frame, build: Build, given: Given) -> tuple[Case, ...]:
    """The cases; `absent` where inertia holds a load that is more or less than what resists it."""
    there = mass_matrix(frame)[0]
    return tuple(_weighed(case, there, build, given) for case in cases)


def _weighed(case: Case, there: float, build: Build, given: Given) -> Case:
    """One case with `there` kg on the frame."""
    if case.absent or not case.inertia:
        return case
    conditions = _conditions(case, build)
    wholes = [total_of(given, condition) for condition in conditions]
    reasons = (_apart(there, *one, build) for one in zip(wholes, conditions, strict=True))
    ids = tuple(i for whole in wholes for i in whole.inputs)
    return replace(case, absent=next(filter(None, reasons), ""), masses=(*case.masses, *ids))


def _apart(there: float, whole: Result, condition: str, build: Build) -> str:
    """Why `there` kg cannot stand for the vehicle in a condition; "" where they can."""
    if whole.value is None:
        return f"how much the vehicle weighs is not known: {whole.absent}"
    if abs(there - whole.value) > APART * whole.value:
        return _said(there, whole, condition, build)
    return ""


def cautions(
    cases: tuple[Case, ...], frame: Frame, build: Build, given: Given
) -> Iterator[Caution]:
    """Cases held by inertia whose forces are all stated: they may be a multiple of anything, so that
    the vehicle in its design condition is held against what resists them, and no verdict waits."""
    section, there = build.section(Mass), mass_matrix(frame)[0]
    for case in cases:
        if section is None or case.absent or not case.inertia or _conditions(case, build):
            continue
        condition = section.design_condition
        why = _apart(there, total_of(given, condition), condition, build)
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
            f"must weigh what the vehicle weighs within {100 * APART:.0f} %; else the case is open.",
            WORD,
            "Newton's second law; the share is the program's own",
        )
