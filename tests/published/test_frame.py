"""The frame engine against published frames, each in the units its source uses.

Closed forms stand beside where there are any; "none" otherwise. AFNOR's tests (Guide de validation
des progiciels de calcul de structures, 1990) are as listed in a SCIA Engineer test-case document of
2025.
"""

from __future__ import annotations

import dataclasses
import functools
import math

import numpy as np
import pytest

from generator.frame.buckling import critical_loads
from generator.frame.model import Array, Frame, Loads, Refusal, no_loads
from generator.frame.recover import section_forces, stations
from generator.frame.second_order import second_order
from generator.frame.solve import solve
from generator.frame.subdivide import split
from tests.generator.frame.frames import (
    FIXED,
    arc,
    chain_of,
    flat,
    frame_of,
    held,
    nodal,
    solution,
    with_points,
)
from tests.published.row import Row, Status, disagreements

KASSIMALI = (
    "Kassimali, Matrix Analysis of Structures, 2nd ed., example 8.4, "
    "as read in github connorivy/beamOS"
)
MGZ = (
    "McGuire, Gallagher, Ziemian, Matrix Structural Analysis, 2nd ed., example 5.4, "
    "as read in github feastruct"
)
LOGAN = "Logan, A First Course in the Finite Element Method, problem {}, as read in PyNite's tests"
BEDFORD = "Bedford and Fowler, Statics, 4th ed., example 6.64, as read in PyNite's examples"
AFNOR = "AFNOR Guide de validation (1990), test {}, as listed by SCIA Engineer (2025)"
AISC = "AISC 360 commentary C2, benchmark case {}, as read in PyNite's tests"
ZIEMIAN = "Ziemian and Ziemian (2021), frame 1, as read in github AkchurinDA/Hephaestus.jl"
DENAVIT = "Denavit and Hajjar (2013), cantilever, as read in github AkchurinDA/Hephaestus.jl"
TIMOSHENKO = "Timoshenko and Gere, Theory of Elastic Stability, portal frames (from memory)"
SOLVIA = "SOLVIA verification manual, problem B46, as read in github xcfem/xc"
PYNITE_TORQUE = "PyNite's test of torsion in a fixed bar (statics worked by hand there)"
DIGITS = "the digits printed"


def row(
    case: str,
    source: str,
    printed: float,
    ours: float,
    tolerance: float,
    *,
    unit: str = "",
    status: Status = "read",
    closed: float | None = None,
    exactness: float = 1e-9,
    reason: str = DIGITS,
) -> Row:
    return Row(
        case=case,
        source=source,
        status=status,
        printed=printed,
        closed_form=closed,
        ours=float(ours),
        tolerance=tolerance,
        reason=reason,
        unit=unit,
        exactness=exactness,
    )


# ------------------------------------------------------------------ three-dimensional frames


def kassimali() -> tuple[Frame, Loads]:
    """Three members to one joint, rolled by 0°, 90° and 30°; kip and in."""
    nodes = 12.0 * np.array(((0, 0, 0), (-20, 0, 0), (0, -20, 0), (0, 0, -20)))
    look = ((0, 1, 0), (0, 0, 1), (-0.5, math.sqrt(3) / 2, 0))
    frame = frame_of(
        nodes,
        ((1, 0), (2, 0), (3, 0)),
        look,
        modulus=29000,
        shear_modulus=11500,
        area=32.9,
        second_z=716,
        second_y=236,
        torsion=15.1,
    )
    loads = nodal(frame, (0, (0, 0, 0, -1800, 0, 1800)))
    loads.line[0, 0, :, 1] = -0.25
    return held(frame, n1=FIXED, n2=FIXED, n3=FIXED), loads


def kassimali_rows() -> list[Row]:
    found = solution(solve(*kassimali()))
    printed = {
        0: (-1.3522, -2.7965, -1.8120, -3.0021, 1.0569, 6.4986),
        1: (5.3757, 44.106, -0.74272, 2.1722, 58.987, 2330.5),
        2: (-4.6249, 11.117, -6.4607, -515.55, -0.76472, 369.67),
        3: (-0.75082, 4.7763, 7.2034, -383.5, -60.166, -4.702),
    }
    rows = []
    for node, values in printed.items():
        ours = found.displacement[0, 0] * 1e3 if node == 0 else found.reaction[0, node]
        kind = "motion (10⁻³ in, 10⁻³ rad)" if node == 0 else "reaction (kip, kip-in)"
        rows += [
            row(
                f"Kassimali 8.4, joint {node + 1}, {kind} {i + 1}",
                KASSIMALI,
                value,
                ours[i],
                1e-4 * abs(value),
                reason="five digits printed",
            )
            for i, value in enumerate(values)
        ]
    return rows


def ssll04() -> tuple[Frame, Loads]:
    """Two bars and a post with a hinge amid, at springs; SI."""
    nodes = ((0, 0, 0), (2, 0, 0), (0, 0, 2), (0, 2, 2), (0, 0, 1))
    frame = frame_of(
        nodes,
        ((0, 1), (0, 4), (4, 2), (2, 3)),
        modulus=2.1e11,
        shear_modulus=7.875e10,
        area=1e-3,
        second_y=1e-6,
        second_z=1e-6,
        torsion=2e-6,
    )
    frame = held(frame, n1=(0, 1, 1, 1, 0, 0), n3=(1, 0, 1, 0, 1, 0))
    frame.spring[1, (0, 4, 5)] = 52500.0
    frame.spring[3, (1, 3, 5)] = 52500.0
    frame.released[1, 1, 1:] = True
    return frame, nodal(frame, (2, (0, 0, -1e4)))


def ssll04_rows() -> list[Row]:
    """Moments by size: the source's signs are those of its own member axes."""
    found = solution(solve(*ssll04()))
    source = AFNOR.format("SSLL04")
    near = "the source neglects axial strain, which adds 0.008 %"
    first, second = np.abs(found.reaction[0, 1, 3:]), np.abs(found.reaction[0, 3, 3:])
    values = [
        ("torsion at N2, size", "N·m", 1562.5, first[0]),
        ("bending at N2 about y, size", "N·m", 8437.5, first[1]),
        ("bending at N2 about z, size", "N·m", 3125.0, first[2]),
        ("bending at N4 about x, size", "N·m", 8437.5, second[0]),
        ("torsion at N4, size", "N·m", 1562.5, second[1]),
        ("bending at N4 about z, size", "N·m", 3125.0, second[2]),
        ("u_y at N4", "mm", -29.762, found.displacement[0, 3, 1] * 1e3),
        ("θ_x at N4", "mrad", 160.71, found.displacement[0, 3, 3] * 1e3),
        ("u_z at N3", "mm", -370.04, found.displacement[0, 2, 2] * 1e3),
    ]
    return [
        row(
            f"SSLL04, {name}",
            source,
            printed,
            ours,
            2e-4 * abs(printed),
            unit=unit,
            reason=near,
            status="read in a transcription",
        )
        for name, unit, printed, ours in values
    ]


def logan_legs_rows() -> list[Row]:
    """Three legs in three directions; kip and in. A check of the second rank: two digits."""
    nodes = ((0, 0, 0), (120, 0, 0), (120, 0, -120), (120, -240, -120))
    look = ((0, 1, 0), (0, 1, 0), (1, 0, 0))
    frame = frame_of(
        nodes,
        ((0, 1), (1, 2), (2, 3)),
        look,
        modulus=30000,
        shear_modulus=10000,
        area=100,
        second_y=200,
        second_z=1000,
        torsion=100,
    )
    frame = held(frame, n0=FIXED, n3=FIXED)
    loads = nodal(frame, (1, (0, -5, 0, -1200)), (2, (0, 0, 40)))
    u = solution(solve(frame, loads)).displacement[0]
    why = "the source prints two or three digits"
    return [
        row(
            "Logan 5.58, u_y at joint 2",
            LOGAN.format("5.58"),
            -0.063,
            u[1, 1],
            0.0013,
            unit="in",
            reason=why,
        ),
        row(
            "Logan 5.58, u_z at joint 3",
            LOGAN.format("5.58"),
            1.825,
            u[2, 2],
            0.0037,
            unit="in",
            reason=why,
        ),
    ]


def truss(nodes: Array, members: list[tuple[int, int]], free: int, **numbers: object) -> Frame:
    """A space truss: joint `free` moves, no joint turns."""
    frame = frame_of(nodes, members, **numbers)  # type: ignore[arg-type]
    mask = np.ones_like(frame.held)
    mask[free, :3] = False
    return dataclasses.replace(frame, held=mask)


def mgz_rows() -> list[Row]:
    """Space truss of four bars; kN and mm."""
    nodes = 1000.0 * np.array(((2, 4, 8), (0, 0, 0), (8, 0, 0), (8, 6, 0), (0, 6, 0)))
    frame = truss(
        nodes,
        [(0, 1), (0, 2), (0, 3), (0, 4)],
        0,
        modulus=200.0,
        area=(20e3, 30e3, 40e3, 30e3),
        second_y=1e-9,
        second_z=1e-9,
        torsion=1e-9,
    )
    found = solution(solve(frame, nodal(frame, (0, (200, 600, -800)))))
    printed = {
        1: (-76.4, -152.8, -305.6),
        2: (170.8, -113.9, -227.8),
        3: (-470.8, -156.9, 627.8),
        4: (176.4, -176.4, 705.6),
    }
    rows = [
        row(
            f"space truss MGZ 5.4, displacement {i + 1}",
            MGZ,
            value,
            found.displacement[0, 0, i],
            5e-4,
            unit="mm",
        )
        for i, value in enumerate((0.178, 2.722, -0.487))
    ]
    for node, values in printed.items():
        rows += [
            row(
                f"space truss MGZ 5.4, reaction {'ABCDE'[node]}{i + 1}",
                MGZ,
                value,
                found.reaction[0, node, i],
                0.05,
                unit="kN",
            )
            for i, value in enumerate(values)
        ]
    return rows


def bedford_rows() -> list[Row]:
    """Space truss of six bars, statically determinate; kN and m."""
    nodes = np.array(((1.1, -0.4, 0), (1, 0, 0), (0, 0, 0.6), (0, 0, -0.4), (0, 0.8, 0)))
    frame = truss(
        nodes,
        [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (1, 4)],
        0,
        modulus=1e6,
        second_y=1e-9,
        second_z=1e-9,
        torsion=1e-9,
    )
    frame = dataclasses.replace(
        frame,
        held=np.where(np.arange(5)[:, None] == 1, [0, 0, 0, 1, 1, 1], frame.held).astype(bool),
    )
    found = solution(solve(frame, nodal(frame, (0, (10, 60, 20)))))
    values = (("BC", 3, 32.7), ("BD", 4, 45.2), ("BE", 5, -112.1))
    return [
        row(
            f"space truss Bedford 6.64, {name}",
            BEDFORD,
            printed,
            found.tension[0, member],
            0.06,
            unit="kN",
        )
        for name, member, printed in values
    ]


# ------------------------------------------------------------------ beams, plane frames, arcs


def logan_gable_rows() -> list[Row]:
    """Gable frame, bases fixed; kip and in."""
    points = [
        (x, 0, z) for x, z in ((0, 0), (0, 360), (180, 480), (420, 480), (600, 360), (600, 0))
    ]
    frame = held(
        flat(chain_of(points, modulus=30000, area=12, second_y=200, second_z=200)),
        n0=FIXED,
        n5=FIXED,
    )
    found = solution(solve(frame, nodal(frame, (2, (0, 0, -30)), (3, (0, 0, -30)))))
    source = LOGAN.format("5.30")
    return [
        row("Logan 5.30, thrust", source, 11.6877, found.reaction[0, 0, 0], 1e-4, unit="kip"),
        row(
            "Logan 5.30, base moment, size",
            source,
            1810.0745,
            abs(found.reaction[0, 0, 4]),
            1e-3,
            unit="kip-in",
        ),
        row(
            "Logan 5.30, u_z at joint 3",
            source,
            -6.666757,
            found.displacement[0, 2, 2],
            1e-5,
            unit="in",
        ),
    ]


def ssll02_rows() -> list[Row]:
    """Short beam on two supports, with shear strain; SI, E 2.0e11 (with the header's 2.1e11 the
    printed figure does not come out)."""
    length, area, second, load = 1.44, 31e-4, 2810e-8, 1e5
    e, g, shear = 2.0e11, 2.0e11 / 2.6, 31e-4 / 2.42
    frame = flat(
        frame_of(
            ((0, 0, 0), (length / 2, 0, 0), (length, 0, 0)),
            ((0, 1), (1, 2)),
            modulus=e,
            shear_modulus=g,
            area=area,
            second_y=second,
            second_z=second,
            shear_y=shear,
            shear_z=shear,
        )
    )
    frame = held(frame, n0=(1, 1, 1, 1, 0, 1), n2=(0, 1, 1, 1, 0, 1))
    loads = no_loads(frame, 1)
    loads.line[0, :, :, 2] = -load
    closed = 5 * load * length**4 / (384 * e * second) + load * length**2 / (8 * g * shear)
    ours = -solution(solve(frame, loads)).displacement[0, 1, 2]
    return [
        row(
            "SSLL02, short beam with shear strain",
            AFNOR.format("SSLL02"),
            1.2593,
            ours * 1e3,
            5e-4 * 1.2593,
            unit="mm",
            status="read in a transcription",
            closed=closed * 1e3,
            reason="the source prints five digits of a rounded calculation",
        )
    ]


PIPE = {
    "modulus": 2.0e11,
    "shear_modulus": 2.0e11 / 2.6,
    "area": 1.130973e-4,
    "second_y": 4.636991e-9,
    "second_z": 4.636991e-9,
    "torsion": 9.273982e-9,
}
"""Tube 20 × 2 mm of the arc tests."""
EI, GJ = 2.0e11 * 4.636991e-9, 2.0e11 / 2.6 * 9.273982e-9


def ssll07_rows() -> list[Row]:
    """Quarter circle held at one end, loaded out of plane at the other: a chord a degree; SI."""
    frame = held(chain_of(arc(1.0, 0.0, math.pi / 2, 90), **PIPE), n90=FIXED)
    loads = nodal(frame, (0, (0, 100.0)))
    found = solution(solve(frame, loads))
    ends = section_forces(frame, loads, found, np.tile((0.0, 1.0), (90, 1)))[0]
    before, after = ends[74, 1], ends[75, 0]  # both sides of the joint 15° from the fixed end
    torsion = abs(before[3] + after[3]) / 2
    bending = (math.hypot(before[4], before[5]) + math.hypot(after[4], after[5])) / 2
    closed = 100 * (math.pi / (4 * EI) + (3 * math.pi / 4 - 2) / GJ)
    at = math.radians(75)  # angle between load and section
    values = (
        ("displacement", "mm", 134.62, found.displacement[0, 0, 1] * 1e3, closed * 1e3, 0.02, 1e-4),
        ("torsion at 15°", "N·m", 74.12, torsion, 100 * (1 - math.cos(at)), 0.02, 1e-4),
        ("bending at 15°", "N·m", 96.59, bending, 100 * math.sin(at), 0.02, 1e-4),
    )
    return [
        row(
            f"SSLL07, quarter circle out of plane, {name}",
            AFNOR.format("SSLL07"),
            printed,
            ours,
            tolerance,
            unit=unit,
            status="read in a transcription",
            closed=exact,
            exactness=within,
            reason="four or five digits printed; 90 chords are 0.005 % low",
        )
        for name, unit, printed, ours, exact, tolerance, within in values
    ]


def ssll08_rows() -> list[Row]:
    """Semicircle on a pin and a roller, loaded at the crown, 64 chords a quarter; SI."""
    count = 128
    frame = flat(chain_of(arc(1.0, math.pi, 0.0, count), **PIPE))
    frame = held(frame, n0=(1, 1, 1, 1, 0, 1), n128=(0, 1, 1, 1, 0, 1))
    u = solution(solve(frame, nodal(frame, (64, (0, 0, -100.0))))).displacement[0]
    near = "128 chords: 0.02 % of the closed form, which neglects axial strain"
    rows = (
        ("spread", "mm", 53.912, u[128, 0] * 1e3, 100 / (2 * EI) * 1e3),
        ("sag", "mm", -19.206, u[64, 2] * 1e3, -(3 * math.pi / 8 - 1) * 100 / EI * 1e3),
        (
            "rotation at the roller",
            "mrad",
            30.774,
            abs(u[128, 4]) * 1e3,
            (math.pi / 2 - 1) * 100 / (2 * EI) * 1e3,
        ),
    )
    return [
        row(
            f"SSLL08, semicircle, {name}",
            AFNOR.format("SSLL08"),
            printed,
            ours,
            5e-4 * abs(printed),
            unit=unit,
            status="read in a transcription",
            closed=closed,
            exactness=5e-4,
            reason=near,
        )
        for name, unit, printed, ours, closed in rows
    ]


def ssll09_rows() -> list[Row]:
    """Two bars at 30°, hinged; SI."""
    half = 4.5 * math.cos(math.radians(30))
    frame = flat(
        chain_of(
            ((-half, 0, 0), (0, 0, -4.5 / 2), (half, 0, 0)),
            modulus=2.1e11,
            area=3e-4,
            second_y=1e-12,
            second_z=1e-12,
        )
    )
    frame = held(frame, n0=FIXED, n1=(0, 1, 0, 1, 1, 1), n2=FIXED)
    found = solution(solve(frame, nodal(frame, (1, (0, 0, -21e3)))))
    source = AFNOR.format("SSLL09")
    return [
        row(
            "SSLL09, displacement",
            source,
            -3.0,
            found.displacement[0, 1, 2] * 1e3,
            1e-3,
            unit="mm",
            status="read in a transcription",
            closed=-3.0,
            exactness=1e-6,
        ),
        row(
            "SSLL09, stress",
            source,
            70.0,
            found.tension[0, 0] / 3e-4 / 1e6,
            0.01,
            unit="MPa",
            status="read in a transcription",
            closed=70.0,
            exactness=1e-6,
        ),
    ]


def torque_rows() -> list[Row]:
    """Torques along a bar held at both ends; ft and kip-ft."""
    frame = held(frame_of(((0, 0, 0), (14, 0, 0)), ((0, 1),)), n0=FIXED, n1=FIXED)
    none = (0.0, 0.0, 0.0)
    loads = with_points(
        no_loads(frame, 1), (0, 3 / 14, none, (5.0, 0, 0)), (0, 11 / 14, none, (10.0, 0, 0))
    )
    reaction = solution(solve(frame, loads)).reaction[0, :, 3]
    return [
        row(
            "torque at one end of a fixed bar",
            PYNITE_TORQUE,
            -6.07,
            reaction[0],
            0.005,
            unit="kip-ft",
            closed=-(5 * 11 + 10 * 3) / 14,
        ),
        row(
            "torque at its other end",
            PYNITE_TORQUE,
            -8.93,
            reaction[1],
            0.005,
            unit="kip-ft",
            closed=-(5 * 3 + 10 * 11) / 14,
        ),
    ]


def ziemian_rows() -> list[Row]:
    """Fixed portal with sway; kip and in."""
    points = ((0, 0, 0), (0, 0, 180), (360, 0, 180), (360, 0, 0))
    frame = flat(
        chain_of(
            points,
            modulus=29000,
            area=(20, 10.3, 20),
            second_y=(722, 510, 722),
            second_z=(722, 510, 722),
        )
    )
    frame = held(frame, n0=FIXED, n3=FIXED)
    loads = nodal(frame, (1, (34.849, 0, -348.49)), (2, (0, 0, -348.49)))
    found = solution(solve(frame, loads))
    values = (
        ("u_x at left top", 0.80447, found.displacement[0, 1, 0], 1e-5, "in"),
        ("u_x at right top", 0.78367, found.displacement[0, 2, 0], 1e-5, "in"),
        ("left thrust", -17.587, found.reaction[0, 0, 0], 1e-3, "kip"),
        ("left column", 342.57, found.reaction[0, 0, 2], 1e-2, "kip"),
        ("left base moment, size", 2095.0, abs(found.reaction[0, 0, 4]), 0.1, "kip-in"),
        ("right thrust", -17.262, found.reaction[0, 3, 0], 1e-3, "kip"),
        ("right column", 354.40, found.reaction[0, 3, 2], 1e-2, "kip"),
        ("right base moment, size", 2048.6, abs(found.reaction[0, 3, 4]), 0.1, "kip-in"),
    )
    return [
        row(f"Ziemian frame 1, {name}", ZIEMIAN, printed, ours, tolerance, unit=unit)
        for name, printed, ours, tolerance, unit in values
    ]


def denavit_rows() -> list[Row]:
    """Cantilever, first order; kip and in."""
    frame = held(
        frame_of(
            ((0, 0, 0), (0, 0, 180)),
            ((0, 1),),
            modulus=29000,
            area=9.12,
            second_y=110,
            second_z=110,
        ),
        n0=FIXED,
    )
    u = solution(solve(frame, nodal(frame, (1, (1, 0, -50))))).displacement[0, 1, 0]
    return [
        row(
            "Denavit and Hajjar cantilever, deflection",
            DENAVIT,
            0.609,
            u,
            5e-4,
            unit="in",
            closed=180**3 / (3 * 29000 * 110),
        )
    ]


# ------------------------------------------------------------------ second order, buckling


def aisc_column(case: int, load: float) -> tuple[Frame, Loads]:
    """W14x48 of 28 ft, pinned under a line load (1) or cantilever (2); kip and in."""
    frame = flat(
        frame_of(
            ((0, 0, 0), (0, 0, 336)),
            ((0, 1),),
            modulus=29000,
            shear_modulus=11200,
            area=14.1,
            second_y=484,
            second_z=484,
            torsion=100,
        )
    )
    if case == 1:
        loads = nodal(frame, (1, (0, 0, -load)))
        loads.line[0, :, :, 0] = 0.2 / 12
        return held(frame, n0=(1, 1, 1, 1, 0, 1), n1=(1, 1, 0, 1, 0, 1)), loads
    return held(frame, n0=FIXED), nodal(frame, (1, (1, 0, -load)))


def amplified(frame: Frame, loads: Loads) -> tuple[float, float]:
    """Largest moment and deflection in second order, eight pieces a member."""
    parts = split(frame, loads, 8)
    found = solution(second_order(parts)[0])
    forces = section_forces(parts.frame, parts.loads, found, stations(loads.points, 8, 5))
    return float(np.abs(forces[..., 4]).max()), float(np.abs(found.displacement[0, :, 0]).max())


def stability_functions(case: int, load: float) -> tuple[float, float]:
    """Moment and deflection by the differential equation of the beam-column (P > 0)."""
    ei, length = 29000.0 * 484.0, 336.0
    if case == 2:
        a = length * math.sqrt(load / ei)
        return length * math.tan(a) / a, length * (math.tan(a) / a - 1) / load
    w, u = 0.2 / 12, length / 2 * math.sqrt(load / ei)
    moment = w * length**2 / 4 / u**2 * (1 / math.cos(u) - 1)
    return moment, w * length**4 / (16 * ei * u**4) * (1 / math.cos(u) - 1 - u * u / 2)


def aisc_rows() -> list[Row]:
    printed = {
        (1, 150.0): (269, 0.224),
        (1, 300.0): (313, 0.261),
        (1, 450.0): (375, 0.311),
        (2, 100.0): (469, 1.33),
        (2, 150.0): (598, 1.75),
        (2, 200.0): (848, 2.56),
    }
    rows = []
    for (case, load), values in printed.items():
        ours, closed = amplified(*aisc_column(case, load)), stability_functions(case, load)
        for what, unit, value, mine, exact in zip(
            ("moment", "deflection"), ("kip-in", "in"), values, ours, closed, strict=True
        ):
            rows.append(
                row(
                    f"AISC benchmark {case}, P {load:.0f} kip, {what}",
                    AISC.format(case),
                    value,
                    mine,
                    5e-3 * value,
                    unit=unit,
                    closed=exact,
                    exactness=1e-4,
                    reason="three digits printed; the benchmark allows 3 % and 5 %",
                )
            )
    return rows


def portal_factor(base: tuple[int, ...]) -> float:
    """Sway buckling of a square portal of equal members, P on both columns, in EI/h²."""
    frame = flat(chain_of(((0, 0, 0), (0, 0, 1), (1, 0, 1), (1, 0, 0)), area=1e6))
    frame = held(frame, n0=base, n3=base)
    found = critical_loads(split(frame, nodal(frame, (1, (0, 0, -1)), (2, (0, 0, -1))), 8))
    assert not isinstance(found, Refusal)
    return found[0].factor


def sway(equation: str) -> float:
    """Critical load of the portal, in EI/h²: k tan k = 6 hinged, k cot k = −6 fixed."""
    low, high = (
        (1e-6, math.pi / 2 - 1e-9) if equation == "hinged" else (math.pi / 2 + 1e-9, math.pi - 1e-9)
    )
    for _ in range(200):
        k = (low + high) / 2
        over = k * math.tan(k) > 6 if equation == "hinged" else k / math.tan(k) < -6
        low, high = (low, k) if over else (k, high)
    return low * low


def buckling_rows() -> list[Row]:
    frame = held(
        frame_of(
            ((0, 0, 0), (0, 0, 4)),
            ((0, 1),),
            modulus=30e9,
            shear_modulus=12.5e9,
            area=0.04,
            second_y=0.2**4 / 12,
            second_z=0.2**4 / 12,
            torsion=2.25e-4,
        ),
        n0=(1, 1, 1, 0, 0, 1),
        n1=(1, 1, 0, 0, 0, 1),
    )
    found = critical_loads(split(frame, nodal(frame, (1, (0, 0, -1e6))), 8))
    assert not isinstance(found, Refusal)
    pinned = (1, 1, 1, 1, 0, 1)
    return [
        row(
            "pinned column, critical load",
            SOLVIA,
            2.4674,
            found[0].factor,
            2.5e-4,
            unit="MN",
            closed=math.pi**2 * 30e9 * 0.2**4 / 12 / 16 / 1e6,
            exactness=4e-5,
            reason="five digits printed; eight pieces are 0.003 % high",
        ),
        row(
            "portal, bases hinged, critical load h²/EI",
            TIMOSHENKO,
            1.82,
            portal_factor(pinned),
            5e-3,
            status="from memory",
            closed=sway("hinged"),
            exactness=1e-4,
            reason="three digits",
        ),
        row(
            "portal, bases fixed, critical load h²/EI",
            TIMOSHENKO,
            7.38,
            portal_factor(FIXED),
            5e-3,
            status="from memory",
            closed=sway("fixed"),
            exactness=1e-4,
            reason="three digits",
        ),
    ]


@functools.cache
def rows() -> tuple[Row, ...]:
    made = (
        kassimali_rows,
        ssll04_rows,
        logan_legs_rows,
        mgz_rows,
        bedford_rows,
        logan_gable_rows,
        ssll02_rows,
        ssll07_rows,
        ssll08_rows,
        ssll09_rows,
        torque_rows,
        ziemian_rows,
        denavit_rows,
        aisc_rows,
        buckling_rows,
    )
    return tuple(r for make in made for r in make())


ROWS: tuple[Row, ...] = rows()


@pytest.mark.parametrize("one", ROWS, ids=lambda r: r.case)
def test_published(one: Row) -> None:
    assert disagreements(one) == ()
