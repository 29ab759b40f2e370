"""Linear frames against PyNiteFEA (MIT, an independent program), to 1e-6.

Only what that program is known to do right: linear statics, forces at joints, uniform loads, end
releases, springs to ground. Its members are Euler–Bernoulli. Tolerance: 1e-6 of the largest value
of its kind in the case; both sides solve in double precision, and differ by some 1e-10.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from Pynite import FEModel3D

from generator.frame.model import Array, Frame, Loads, no_loads
from generator.frame.solve import solve
from generator.frame.stiffness import lengths_and_axes
from tests.generator.frame.frames import FIXED, PINNED, held, solution, tower, tubes

SIX = ("DX", "DY", "DZ", "RX", "RY", "RZ")
FORCES = ("FX", "FY", "FZ", "MX", "MY", "MZ")


def theirs(frame: Frame, loads: Loads) -> Any:
    """The same frame in PyNite, case 0 solved."""
    model = FEModel3D()
    for i, at in enumerate(frame.nodes):
        model.add_node(f"N{i}", *map(float, at))
        model.def_support(f"N{i}", *map(bool, frame.held[i]))
        for motion in np.flatnonzero(frame.spring[i]):
            model.def_support_spring(f"N{i}", SIX[motion], float(frame.spring[i, motion]))
    for i, (a, b) in enumerate(frame.ends):
        model.add_material(
            f"E{i}", float(frame.modulus[i]), float(frame.shear_modulus[i]), 0.3, 1.0
        )
        model.add_section(
            f"S{i}",
            float(frame.area[i]),
            float(frame.second_y[i]),
            float(frame.second_z[i]),
            float(frame.torsion[i]),
        )
        model.add_member(f"M{i}", f"N{a}", f"N{b}", f"E{i}", f"S{i}")
        start, end = map(bool_list, frame.released[i])
        model.def_releases(
            f"M{i}", Rxi=start[0], Ryi=start[1], Rzi=start[2], Rxj=end[0], Ryj=end[1], Rzj=end[2]
        )
    for i, forces in enumerate(loads.nodal[0]):
        for k in np.flatnonzero(forces):
            model.add_node_load(f"N{i}", FORCES[k], float(forces[k]))
    for i, line in enumerate(loads.line[0]):
        for k in np.flatnonzero(line[0]):
            model.add_member_dist_load(f"M{i}", FORCES[k], float(line[0, k]), float(line[1, k]))
    model.analyze_linear(check_stability=False)
    return model


def bool_list(flags: Array) -> list[bool]:
    return [bool(f) for f in flags]


def their_displacements(model: Any, count: int) -> Array:
    nodes = [model.nodes[f"N{i}"] for i in range(count)]
    return np.array([[getattr(n, d)["Combo 1"] for d in SIX] for n in nodes])


def their_reactions(model: Any, count: int) -> Array:
    nodes = [model.nodes[f"N{i}"] for i in range(count)]
    return np.array([[getattr(n, f"Rxn{f}")["Combo 1"] for f in FORCES] for n in nodes])


def their_end_forces(model: Any, frame: Frame) -> Array:
    """End forces turned to global axes: its local axes are not ours."""
    out = []
    for i in range(len(frame.ends)):
        member = next(iter(model.members[f"M{i}"].sub_members.values()))
        out.append(np.asarray(member.T()).T @ np.asarray(member.f("Combo 1")).ravel())
    return np.array(out)


def our_end_forces(frame: Frame, forces: Array) -> Array:
    _, axes = lengths_and_axes(frame)
    return np.concatenate(
        [np.einsum("mji,mj->mi", axes, forces[:, k : k + 3]) for k in range(0, 12, 3)], axis=1
    )


def agrees(ours: Array, printed: Array, within: float = 1e-6) -> None:
    """Forces with forces, moments with moments, each within a share of its largest."""
    for k in range(0, ours.shape[1], 3):
        part = slice(k, k + 3)
        kind = [slice(j, j + 3) for j in range(k % 6, ours.shape[1], 6)]
        size = max(np.abs(printed[:, j]).max() for j in kind)
        assert ours[:, part] == pytest.approx(printed[:, part], abs=within * size)


def euler(frame: Frame) -> Frame:
    none = np.full(len(frame.ends), np.inf)
    return dataclasses.replace(frame, shear_y=none, shear_z=none)


def portal() -> tuple[Frame, Loads]:
    """A flat portal under a uniform beam load and a push."""
    frame = held(
        euler(
            tubes(
                np.array(((0, 0, 0), (0, 0, 1.0), (1.2, 0, 1), (1.2, 0, 0))),
                np.array(((0, 1), (1, 2), (2, 3))),
            )
        ),
        n0=FIXED,
        n3=PINNED,
    )
    loads = no_loads(frame, 1)
    loads.line[0, 1, :, 2] = -900.0
    loads.nodal[0, 1, 0] = 400.0
    return frame, loads


def skew_tripod() -> tuple[Frame, Loads]:
    """Three legs of different tube to one joint, forces and couples there."""
    nodes = np.array(((0, 0, 1.1), (0.7, 0.1, 0), (-0.3, 0.6, 0), (-0.4, -0.5, 0.1)))
    frame = euler(tubes(nodes, np.array(((1, 0), (2, 0), (0, 3)))))
    frame = dataclasses.replace(
        frame,
        area=frame.area * (1, 2, 3),
        second_y=frame.second_y * (1, 3, 5),
        second_z=frame.second_z * (1, 3, 5),
    )
    loads = no_loads(frame, 1)
    loads.nodal[0, 0] = (300, -700, -2000, 40, -25, 60)
    return held(frame, n1=FIXED, n2=FIXED, n3=PINNED), loads


def released_grid() -> tuple[Frame, Loads]:
    """A grid out of plane with bending released at two member ends."""
    nodes = np.array([(x, y, 0.0) for y in (0, 0.8) for x in (0, 1.0, 2.1)])
    ends = np.array(((0, 1), (1, 2), (3, 4), (4, 5), (1, 4), (0, 3), (2, 5)))
    frame = held(euler(tubes(nodes, ends)), n0=FIXED, n2=FIXED, n3=FIXED, n5=FIXED)
    frame.released[4, 0, 1:] = True
    frame.released[0, 1, 2] = True
    upright = np.where(np.arange(7)[:, None] == 0, (0.0, 1.0, 0.0), frame.reference)
    frame = dataclasses.replace(
        frame, reference=upright
    )  # theirs: a member's y is Y where it can be
    loads = no_loads(frame, 1)
    loads.line[0, 4, :, 2] = -1500.0
    loads.nodal[0, 1, :3] = (100, 50, -400)
    return frame, loads


def sprung_beam() -> tuple[Frame, Loads]:
    """A beam of three spans, one joint on springs, uniform load along and across."""
    frame = euler(
        tubes(
            np.array([(0.9 * i, 0.1 * i, 0.0) for i in range(4)]),
            np.array([(0, 1), (1, 2), (2, 3)]),
        )
    )
    frame = held(frame, n0=FIXED, n3=(0, 1, 1, 1, 0, 0))
    frame.spring[1, 2], frame.spring[1, 5] = 2e5, 3e3
    loads = no_loads(frame, 1)
    loads.line[0, :, :, 2] = -700.0
    loads.line[0, 1, :, 0] = 250.0
    return frame, loads


def bent_hoop() -> tuple[Frame, Loads]:
    """Half a circle of twelve chords on two fixed feet with a push at the crown."""
    angle = np.linspace(np.pi, 0, 13)
    nodes = 0.6 * np.stack((0.1 * np.sin(2 * angle), np.cos(angle), np.sin(angle)), axis=1)
    frame = held(euler(chain_like(nodes)), n0=FIXED, n12=FIXED)
    loads = no_loads(frame, 1)
    loads.nodal[0, 6] = (800, 200, -3000, 0, 30, 0)
    return frame, loads


def chain_like(nodes: Array) -> Frame:
    return tubes(nodes, np.array([(i, i + 1) for i in range(len(nodes) - 1)]))


def tall_tower() -> tuple[Frame, Loads]:
    """A frame of 64 members in 3-D with forces on all joints and two loaded members."""
    frame = euler(tower(5))
    loads = no_loads(frame, 1)
    loads.nodal[:] = np.random.default_rng(4).normal(size=loads.nodal.shape) * (
        500,
        500,
        500,
        20,
        20,
        20,
    )
    loads.line[0, 7, :, 0] = 300.0
    loads.line[0, 20, :, 2] = -600.0
    return frame, loads


@pytest.mark.parametrize(
    "make", [portal, skew_tripod, released_grid, sprung_beam, bent_hoop, tall_tower]
)
def test_agrees_with_an_independent_program(make: Callable[[], tuple[Frame, Loads]]) -> None:
    frame, loads = make()
    ours, model = solution(solve(frame, loads)), theirs(frame, loads)
    agrees(ours.displacement[0], their_displacements(model, len(frame.nodes)))
    agrees(ours.reaction[0], their_reactions(model, len(frame.nodes)))
    agrees(our_end_forces(frame, ours.forces[0]), their_end_forces(model, frame))


def test_the_comparison_can_fail() -> None:
    """Our own answer with shear strain is not theirs without."""
    frame, loads = tower(5), tall_tower()[1]
    ours = solution(solve(frame, loads)).displacement[0]
    assert not np.allclose(
        ours, their_displacements(theirs(frame, loads), len(frame.nodes)), rtol=1e-6
    )
