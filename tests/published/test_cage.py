"""Published frames, columns and beams as whole descriptions of a cage, read and evaluated.

Each is a frame of round tubes; where the source has another section, a tube of the same stiffness
stands for it. The resistance factor of 0.90 is the program's own, as in the sources.
"""

from __future__ import annotations

import functools
import math
import tempfile
from pathlib import Path

import numpy as np
import pytest

from buildspec.sections.cage import Cage
from generator.evaluation import Evaluation
from generator.formulas import cage as formulas
from generator.subjects.cage_checks import Known
from generator.subjects.cage_outcome import known
from generator.subjects.subject import Given
from tests.generator.subjects.cage_builds import cage, detail, figures
from tests.generator.subjects.scenes import DAY, evaluated, read_text
from tests.published.row import Row, Status, disagreements

AISC = "AISC Design Examples v16.0, {}, as read in a public repository's text of it"
C2 = "AISC 360 commentary C2, benchmark case {}, as read in PyNite's tests"
AFNOR = "AFNOR Guide de validation (1990), test {}, as listed by SCIA Engineer (2025)"
MGZ = (
    "McGuire, Gallagher, Ziemian, Matrix Structural Analysis, 2nd ed., example 5.4, "
    "as read in github feastruct"
)
COLUMN = "worked example of a round HSS20x1/2 column at homeworksource.com, a weak source"
WORKSHEET = "a public worksheet of ASME B31.3-2006, Table D300"
EULER = "Euler's column, π²EI/L²"
DIGITS = "the digits printed"


METRIC = (
    "{id: steel, modulus: 200 GPa, poisson: 0.3, density: 7800 kg/m³, yield_strength: 300 MPa, "
    "ultimate_strength: 400 MPa}"
)


def evaluation(text: str) -> Evaluation:
    """The description evaluated, by the subject alone."""
    with tempfile.TemporaryDirectory() as folder:
        return evaluated(
            Path(folder), f"format: 1\nunits: us\nvehicle: {{name: Wren}}\n{text}", "cage"
        )


def solved(text: str) -> Known:
    """The description solved, before it becomes a page."""
    with tempfile.TemporaryDirectory() as folder:
        build, problems = read_text(Path(folder), text)
    assert build is not None, problems
    section = build.section(Cage)
    assert section is not None
    return known(section, build, Given(DAY))


def tube(outer: float, wall: float) -> str:
    return f"{{id: t, outer: {outer!r} in, wall: {wall!r} in, material: steel}}"


def steel(strength: float, ultimate: float = 65.0) -> str:
    return (
        "{id: steel, modulus: 29000 ksi, poisson: 0.3, density: 0.284 lb/in³, "
        f"yield_strength: {strength} ksi, ultimate_strength: {ultimate} ksi}}"
    )


def load(at: str, force: str, **direction: float) -> str:
    way = ", ".join(f"{axis}: {part}" for axis, part in direction.items())
    return f"{{at: [{at}], force: {force}, direction: {{{way}}}}}"


def case(*loads: str, criterion: str = "yield") -> str:
    return f"{{id: a, criterion: {criterion}, loads: [{', '.join(loads)}]}}"


def stuff_for(area: float, second: float) -> tuple[float, float]:
    """Outer diameter and wall of the tube that has this area and second moment."""
    total, less = 16.0 * second / area, 4.0 * area / math.pi
    outer, inner = math.sqrt((total + less) / 2), math.sqrt((total - less) / 2)
    return outer, (outer - inner) / 2


# ------------------------------------------------------------------ strength of members


@functools.cache
def column() -> Evaluation:
    """A pinned column of 36 ft under 100 kip."""
    return evaluation(
        cage(
            {"foot": "0 in, 0 in, 0 in", "head": "0 in, 0 in, 432 in"},
            ("{id: post, from: foot, to: head, tube: t}",),
            (case(load("head", "100000 lbf", z=-1)),),
            supports=(
                "{nodes: [foot], motions: [x, y, z, turn_z]}",
                "{nodes: [head], motions: [x, y]}",
            ),
            tubes=(tube(20.0, 0.5),),
            material=steel(42),
        )
    )


@functools.cache
def beam() -> Evaluation:
    """A pipe 8 XS of 10 ft between two rests, with 10 kip amid: 25 kip-ft."""
    return evaluation(
        cage(
            {"a": "0 in, 0 in, 0 in", "mid": "60 in, 0 in, 0 in", "b": "120 in, 0 in, 0 in"},
            ("{id: left, from: a, to: mid, tube: t}", "{id: right, from: mid, to: b, tube: t}"),
            (case(load("mid", "10000 lbf", z=-1), criterion="ultimate"),),
            supports=(
                "{nodes: [a], motions: [x, y, z, turn_x]}",
                "{nodes: [b], motions: [y, z]}",
            ),
            tubes=(tube(8.625, 0.465),),
            material=steel(35, 60),
        )
    )


@functools.cache
def shaft() -> Evaluation:
    """An HSS5.000x0.250 of 14 ft, built in, turned by a couple of 2 × 10 kip at 5 in."""
    arm = (
        "{id: arm_left, from: tip, to: left, tube: s}",
        "{id: arm_right, from: tip, to: right, tube: s}",
    )
    return evaluation(
        cage(
            {
                "root": "0 in, 0 in, 0 in",
                "tip": "168 in, 0 in, 0 in",
                "left": "168 in, -5 in, 0 in",
                "right": "168 in, 5 in, 0 in",
            },
            ("{id: main, from: root, to: tip, tube: t}", *arm),
            (case(load("left", "10000 lbf", z=-1), load("right", "10000 lbf", z=1)),),
            supports=("{nodes: [root]}",),
            tubes=(tube(5.0, 0.233), "{id: s, outer: 5 in, wall: 2 in, material: steel}"),
            material=steel(50),
        )
    )


# ------------------------------------------------------------------ second order, buckling


@functools.cache
def cantilever(push: float) -> float:
    """Moment in N·m at the root of AISC's W14x48 of 28 ft, a tube of its area and stiffness: 1 kip
    aside, `push` kip down, in second order of the frame as drawn."""
    outer, wall = stuff_for(14.1, 484.0)
    text = cage(
        {"root": "0 in, 0 in, 0 in", "tip": "0 in, 0 in, 336 in"},
        ("{id: post, from: root, to: tip, tube: t}",),
        (case(load("tip", "1000 lbf", x=1), load("tip", f"{1000 * push} lbf", z=-1)),),
        supports=("{nodes: [root]}",),
        tubes=(tube(outer, wall),),
        material=steel(50),
    )
    forces = solved(text).found.cases[0].forces
    assert forces is not None
    return float(np.linalg.norm(forces[0, 0, 4:]))


# ------------------------------------------------------------------ bent tubes and trusses


@functools.cache
def quarter() -> Evaluation:
    """A quarter circle of 1 m, built in, with 1 N across its plane at the tip."""
    return evaluation(
        cage(
            {"root": "0 m, 0 m, 0 m", "corner": "1 m, 0 m, 0 m", "tip": "1 m, 0 m, 1 m"},
            (),
            (case(load("tip", "1 N", y=1)),),
            supports=("{nodes: [root]}",),
            tubes=("{id: t, outer: 20 mm, wall: 2 mm, material: steel}",),
            material=METRIC,
            more=(
                "weld_share: 100 %",
                "beams: euler",
                "paths: [{id: bend, through: [root, corner, tip], radius: 1 m, tube: t, thinning: 0 %}]",
            ),
        )
    )


@functools.cache
def arch() -> dict[str, tuple[float, float, float]]:
    """How the joints of a semicircle of 1 m move, on a hinge and a roller, with 1 N on its crown."""
    found = evaluation(
        cage(
            {
                "a": "0 m, 0 m, 0 m",
                "left": "0 m, 0 m, 1 m",
                "crown": "1 m, 0 m, 1 m",
                "right": "2 m, 0 m, 1 m",
                "b": "2 m, 0 m, 0 m",
            },
            (),
            (case(load("crown", "1 N", z=-1)),),
            supports=(
                "{nodes: [a], motions: [x, y, z, turn_x, turn_z]}",
                "{nodes: [b], motions: [y, z, turn_x, turn_z]}",
            ),
            tubes=("{id: t, outer: 20 mm, wall: 2 mm, material: steel}",),
            material=METRIC,
            more=(
                "weld_share: 100 %",
                "beams: euler",
                "paths: [{id: bend, through: [a, left, crown, right, b], radius: 1 m, tube: t, "
                "thinning: 0 %}]",
            ),
        )
    )
    return {move.joint: move.by for move in detail(found).cases[0].moves}


@functools.cache
def truss() -> dict[str, float]:
    """Reactions in kN of the space truss of example 5.4, tubes of the areas given, pinned."""
    feet = {"b": (0, 0, 0), "c": (8, 0, 0), "d": (8, 6, 0), "e": (0, 6, 0)}
    areas = {"b": 20e3, "c": 30e3, "d": 40e3, "e": 30e3}
    nodes = {"a": "2 m, 4 m, 8 m"} | {n: ", ".join(f"{c} m" for c in at) for n, at in feet.items()}
    sizes = {n: (400.0, 200.0 - math.sqrt(200.0**2 - area / math.pi)) for n, area in areas.items()}
    text = cage(
        nodes,
        [f"{{id: m{n}, from: a, to: {n}, tube: t{n}, pinned: both}}" for n in feet],
        (case(load("a", "200 kN", x=1), load("a", "600 kN", y=1), load("a", "800 kN", z=-1)),),
        supports=("{nodes: [b, c, d, e]}",),
        tubes=[
            f"{{id: t{n}, outer: {d} mm, wall: {t!r} mm, material: steel}}"
            for n, (d, t) in sizes.items()
        ],
    )
    k = solved(text)
    first = k.found.cases[0].first
    assert first is not None
    return {
        f"{n}{axis}": float(first.reaction[k.model.geometry.joint(n), i]) / 1e3
        for n in feet
        for i, axis in enumerate("xyz")
    }


def tip_rotation_moment(push: float) -> float:
    """The exact amplified moment of the cantilever under `push` kip, HL·tan α/α, kip·in."""
    alpha = 336.0 * math.sqrt(push / (29000.0 * 484.0))
    return 336.0 * math.tan(alpha) / alpha


def euler(length: float, outer: float, inner: float) -> float:
    return math.pi**3 * 29000.0 * (outer**4 - inner**4) / 64.0 / length**2


def critical(found: Evaluation) -> float:
    check = detail(found).cases[0].critical
    assert check is not None
    assert check.capacity.value is not None
    return check.capacity.value


KIP_IN = 112.984829
"""One kip·in in N·m."""


def rows() -> tuple[Row, ...]:
    """Every case in three columns."""
    moved = detail(quarter()).cases[0].moved.value
    assert moved is not None
    e, g, i = 200e9, 200e9 / 2.6, math.pi * (0.02**4 - 0.016**4) / 64
    made = [
        Row(
            case="Design strength of a round column, kip",
            source=COLUMN,
            status="read in a transcription",
            printed=909.1,
            closed_form=None,
            ours=100.0 / figures(column(), "post").by_member,
            tolerance=0.91,
            reason="0.1 %: the source rounds its steps",
        ),
        Row(
            case="Critical load of that column, kip",
            source=EULER,
            status="derived",
            printed=None,
            closed_form=euler(432.0, 20.0, 19.0),
            ours=100.0 * critical(column()),
            tolerance=0.0,
            reason="",
            exactness=6e-4,
        ),
        Row(
            case="Design flexural strength of a pipe 8 XS, kip·ft",
            source=AISC.format("F.9"),
            status="read",
            printed=81.4,
            closed_form=None,
            ours=25.0 / figures(beam(), "left").by_member,
            tolerance=0.09,
            reason="0.1 %: Z is printed with three digits",
        ),
        Row(
            case="Design torsional strength of an HSS5.000x0.250, kip·in",
            source=AISC.format("H.5B"),
            status="read",
            printed=215.0,
            closed_form=None,
            ours=100.0 / figures(shaft(), "main").by_member,
            tolerance=0.65,
            reason="0.3 %: C is printed with three digits",
        ),
        Row(
            case="Tip of a quarter circle pushed across its plane by 100 N, mm",
            source=AFNOR.format("SSLL07"),
            status="read in a transcription",
            printed=134.62,
            closed_form=1e5 * (math.pi / (4 * e * i) + (0.75 * math.pi - 2) / (2 * g * i)),
            ours=moved * 1e5,
            tolerance=0.27,
            reason="16 chords follow the quarter circle: 0.17 % too stiff",
            exactness=2e-3,
        ),
    ]
    made += [
        Row(
            case=f"Amplified moment of a cantilever under {push} kip, kip·in",
            source=C2.format(2),
            status="read",
            printed=printed_,
            closed_form=tip_rotation_moment(push),
            ours=cantilever(push) / KIP_IN,
            tolerance=0.005 * printed_,
            reason="0.5 %: the benchmark's own tolerance",
            exactness=1e-3,
        )
        for push, printed_ in ((150, 598.0), (200, 848.0))
    ]
    made += [
        Row(
            case=f"Semicircle on hinge and roller, 100 N on its crown, {words}, mm",
            source=AFNOR.format("SSLL08"),
            status="read in a transcription",
            printed=value,
            closed_form=1e5 * closed / (e * i),
            ours=1e5 * arch()[joint][axis],
            tolerance=0.002 * abs(value),
            reason="32 chords follow the semicircle: up to 0.2 % too stiff",
            exactness=2e-3,
        )
        for words, joint, axis, value, closed in (
            ("how far the roller goes", "b", 0, 53.912, 0.5),
            ("how far the crown sinks", "crown", 2, -19.206, -(3 * math.pi / 8 - 1)),
        )
    ]
    printed = {
        "b": (-76.4, -152.8, -305.6),
        "c": (170.8, -113.9, -227.8),
        "d": (-470.8, -156.9, 627.8),
        "e": (176.4, -176.4, 705.6),
    }
    made += [
        Row(
            case=f"Space truss, reaction {name.upper()}{axis}, kN",
            source=MGZ,
            status="read",
            printed=value,
            closed_form=None,
            ours=truss()[f"{name}{axis}"],
            tolerance=0.1,
            reason="one digit behind the point, and tubes that pass on torsion",
        )
        for name, three in printed.items()
        for axis, value in zip("xyz", three, strict=True)
    ]
    return (*made, *bends())


def bends() -> tuple[Row, ...]:
    """An elbow of NPS 28: wall 9.400 mm, mean radius 350.9 mm, bend radius 1,066.8 mm."""
    h = formulas.bend_characteristic(wall=9.400e-3, radius=1.0668, outer=0.7112)
    by_hand = 9.4 * 1066.8 / 350.9**2
    root = by_hand ** (2 / 3)
    read_: tuple[Status, str] = ("read", WORKSHEET)
    derived: tuple[Status, str] = ("derived", WORKSHEET + ", whose 0.75 / h^(2/3) is 3.99")
    figures = (
        ("flexibility characteristic h", read_, 0.081, by_hand, h),
        ("flexibility factor k", read_, 20.26, 1.65 / by_hand, formulas.bend_flexibility(bend=h)),
        ("B₂", derived, 6.92, 1.30 / root, formulas.bend_limit_index(bend=h)),
        ("C₂", derived, 10.37, 1.95 / root, formulas.bend_stress_index(bend=h)),
    )
    return tuple(
        Row(
            case=f"Elbow of NPS 28, {words}",
            source=source,
            status=status,
            printed=printed,
            closed_form=closed,
            ours=float(ours),
            tolerance=0.0005 if printed < 1.0 else 0.01 if status == "read" else 0.002 * printed,
            reason="the digits printed, and their third in what is derived",
        )
        for words, (status, source), printed, closed, ours in figures
    )


ROWS = rows()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.case)
def test_published_value(row: Row) -> None:
    assert disagreements(row) == ()
