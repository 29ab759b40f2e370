"""The demonstration's cage: what it is meant to show, and its frame against an independent program."""

from __future__ import annotations

import dataclasses
import datetime
import functools
from pathlib import Path

import numpy as np
import pytest

from buildspec.build import Build
from buildspec.read import read_folder
from buildspec.sections.cage import Cage
from generator.evaluation import Evaluation, evaluate
from generator.frame.model import Frame, Loads, one_case
from generator.frame.solve import Solution, solve
from generator.subjects.cage_frame import frame_of, sections
from generator.subjects.cage_geometry import expand
from generator.subjects.cage_loads import carried, cases, loads_of
from generator.subjects.cage_stock import stock_of
from generator.subjects.subject import Given
from tests.generator.frame.test_against_pynite import (
    agrees,
    our_end_forces,
    their_displacements,
    their_end_forces,
    their_reactions,
    theirs,
)

EXAMPLE = Path(__file__).parents[3] / "example_build"
DAY = datetime.date(2026, 11, 25)


@functools.cache
def build() -> Build:
    reading = read_folder(EXAMPLE)
    assert reading.build is not None
    assert reading.problems == ()
    return reading.build


@functools.cache
def evaluation() -> Evaluation:
    return evaluate(build(), as_of=DAY)


def cage() -> Cage:
    section = build().section(Cage)
    assert section is not None
    return section


def test_it_is_a_cage_of_a_believable_size() -> None:
    geometry = expand(cage())
    assert len(geometry.lines) >= 60
    assert len(cage().load_cases) == 8
    hoop = next(line for line in geometry.lines if line.id == "main_hoop")
    assert len(hoop.bends) == 2
    low, high = geometry.position.min(axis=0), geometry.position.max(axis=0)
    assert low[1] == pytest.approx(-high[1])
    assert 0.0 < low[2] < high[2] < 1.0  # inside a lakester's body, above the ground
    assert 1.0 < low[0] < high[0] < 170 * 0.0254  # between the axles


def short(kind: str) -> set[str]:
    return {
        c.id.removeprefix("cage.check.member.").removesuffix("_twin")
        for c in evaluation().outcomes["cage"].checks
        if c.id.startswith("cage.check.member.") and c.verdict == kind
    }


def departing() -> set[str]:
    rules = evaluation().outcomes["cage"].requirements
    ids = (r.id.split(".")[2] for r in rules if r.state == "departs")
    return {name.removesuffix("_twin") for name in ids}


def test_every_combination_of_conformance_and_margin_is_there() -> None:
    """Short on purpose; holding and departing; conforming and short; holding and conforming."""
    assert short("short") == {"side_post", "harness_bar"}
    assert departing() == {"brace_upper", "brace_lower"}
    rules = [r for r in evaluation().outcomes["cage"].requirements if ".harness_bar" in r.id]
    assert rules
    assert {r.state for r in rules} == {"conforms"}
    assert {"brace_upper", "brace_lower", "main_hoop"} <= short("holds")
    assert short("open") == set()


def test_of_a_tube_and_its_twin_used_alike_the_written_one_stands_first() -> None:
    """Which one is named first must not hang on rounding."""
    members = [c for c in evaluation().outcomes["cage"].checks if ".check.member." in c.id]
    place = {c.id: n for n, c in enumerate(members)}
    margin = {c.id: c.margin for c in members}
    alike = [
        name
        for name in place
        if f"{name}_twin" in place
        and margin[name] == pytest.approx(margin[f"{name}_twin"], abs=1e-9)
    ]
    assert len(alike) >= 5
    assert all(place[name] < place[f"{name}_twin"] for name in alike)


def linear_case(name: str) -> tuple[Frame, Loads]:
    """The frame without shear strain, which the other program does not count, and one case."""
    section, geometry = cage(), expand(cage())
    of = sections(section, geometry, stock_of(section, geometry))
    frame = frame_of(section, geometry, of, np.zeros(len(geometry.joints)))
    none = np.full(len(frame.ends), np.inf)
    given = Given(DAY, evaluation().outcomes)
    fixed = carried(section, geometry, build(), given)
    made = cases(section, geometry, build(), given, fixed)
    number = [case.id for case in made].index(name)
    loads = one_case(loads_of(frame, made), number)
    return dataclasses.replace(frame, shear_y=none, shear_z=none), loads


@pytest.mark.parametrize("name", ["on_a_corner", "belts"])
def test_its_frame_agrees_with_an_independent_program(name: str) -> None:
    """PyNiteFEA (MIT), linear, bends and a pinned tube included; within 1e-6 of the largest of a kind."""
    frame, loads = linear_case(name)
    ours, model = solve(frame, loads), theirs(frame, loads)
    assert isinstance(ours, Solution)
    agrees(ours.displacement[0], their_displacements(model, len(frame.nodes)))
    agrees(ours.reaction[0], their_reactions(model, len(frame.nodes)))
    agrees(our_end_forces(frame, ours.forces[0]), their_end_forces(model, frame))
