"""Frames for the tests, in whatever consistent units a test likes: the engine knows none."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from generator.frame.model import (
    Array,
    Frame,
    Indices,
    Loads,
    Points,
    Refusal,
    no_loads,
    reference_directions,
)
from generator.frame.solve import Solution
from generator.frame.subdivide import SECTION

NUMBERS = tuple(name for name in SECTION if name != "reference")


def frame_of(
    nodes: ArrayLike, ends: ArrayLike, reference: ArrayLike | None = None, **numbers: ArrayLike
) -> Frame:
    """A frame without supports, releases, springs or joint masses; properties default to 1,
    shear areas to inf (no shear strain), masses to 0."""
    at, members = np.asarray(nodes, dtype=float), np.asarray(ends, dtype=np.intp)
    n, m = len(at), len(members)
    default = dict.fromkeys(NUMBERS, 1.0) | {
        "shear_y": np.inf,
        "shear_z": np.inf,
        "line_mass": 0.0,
    }
    given = {
        k: np.broadcast_to(np.asarray(v, dtype=float), (m,)).copy()
        for k, v in (default | numbers).items()
    }
    look = reference_directions(at, members) if reference is None else np.asarray(reference, float)
    return Frame(
        at,
        members,
        np.broadcast_to(look, (m, 3)),
        released=np.zeros((m, 2, 3), dtype=bool),
        held=np.zeros((n, 6), dtype=bool),
        spring=np.zeros((n, 6)),
        node_mass=np.zeros(n),
        **given,
    )


def chain_of(points: ArrayLike, **numbers: ArrayLike) -> Frame:
    """Members one after the other through points."""
    count = len(np.asarray(points))
    return frame_of(points, [(i, i + 1) for i in range(count - 1)], **numbers)


def held(frame: Frame, **nodes: Sequence[int]) -> Frame:
    """The frame with supports: n3=(1, 1, 1, 0, 0, 0) holds the translations of joint 3."""
    mask = frame.held.copy()
    for name, motions in nodes.items():
        mask[int(name[1:])] = np.asarray(motions, dtype=bool)
    return dataclasses.replace(frame, held=mask)


FIXED, PINNED = (1,) * 6, (1, 1, 1, 0, 0, 0)


def flat(frame: Frame, out: int = 1) -> Frame:
    """The frame kept in a plane: motions out of it are held. `out` is the axis square to it."""
    mask = frame.held.copy()
    for motion in range(6):
        if (motion < 3) == (motion % 3 == out):
            mask[:, motion] = True
    return dataclasses.replace(frame, held=mask)


def nodal(frame: Frame, *forces: tuple[int, Sequence[float]]) -> Loads:
    """One load case of forces (and couples, if six numbers) at joints."""
    loads = no_loads(frame, 1)
    for node, values in forces:
        loads.nodal[0, node, : len(values)] += values
    return loads


def with_points(
    loads: Loads, *points: tuple[int, float, Sequence[float], Sequence[float]]
) -> Loads:
    """Case 0 with loads along members: member, share of its length, force, couple."""
    rows = list(zip(*points, strict=True))
    zeros = np.zeros(len(points), dtype=np.intp)
    made = Points(
        zeros,
        np.asarray(rows[0], dtype=np.intp),
        np.asarray(rows[1], dtype=float),
        np.asarray(rows[2], dtype=float),
        np.asarray(rows[3], dtype=float),
    )
    return dataclasses.replace(loads, points=made)


def solution(found: Solution | Refusal) -> Solution:
    """The solution; a refusal fails the test and says why."""
    assert isinstance(found, Solution), found
    return found


def arc(radius: float, start: float, end: float, chords: int) -> Array:
    """Points on an arc in the x-z plane, angles in rad from x, ends included (chords + 1, 3)."""
    angle = np.linspace(start, end, chords + 1)
    return radius * np.stack((np.cos(angle), np.zeros_like(angle), np.sin(angle)), axis=1)


def tower(bays: int, seed: int = 0) -> Frame:
    """A slightly irregular tower of tubes in SI, its four feet held: 12 members a bay and 4."""
    rng = np.random.default_rng(seed)
    corner = np.array(((-1, -1), (1, -1), (1, 1), (-1, 1)))
    nodes = [(0.35 * y, 0.3 * z, 0.4 * i) for i in range(bays + 1) for y, z in corner]
    ends: list[tuple[int, int]] = []
    for base in range(0, 4 * bays + 4, 4):
        ends += [(base + j, base + (j + 1) % 4) for j in range(4)]
        if base < 4 * bays:
            ends += [(base + j, base + 4 + j) for j in range(4)]
            ends += [(base + j, base + 4 + (j + 1) % 4) for j in range(4)]
    spread = np.asarray(nodes) + rng.normal(scale=0.02, size=(len(nodes), 3))
    made = tubes(spread, np.asarray(ends, dtype=np.intp))
    mask = made.held.copy()
    mask[:4] = True
    return dataclasses.replace(made, held=mask)


def tubes(nodes: Array, ends: Indices, outer: float = 0.04445, wall: float = 0.002413) -> Frame:
    """Steel tubes in SI, with shear strain and mass."""
    d = outer - 2 * wall
    area = np.pi / 4 * (outer**2 - d**2)
    second = np.pi / 64 * (outer**4 - d**4)
    return frame_of(
        nodes,
        ends,
        modulus=2.0e11,
        shear_modulus=7.7e10,
        area=area,
        second_y=second,
        second_z=second,
        torsion=2 * second,
        shear_y=0.53 * area,
        shear_z=0.53 * area,
        line_mass=7850.0 * area,
    )


def some_loads(frame: Frame, cases: int, seed: int = 0, force: float = 1e3) -> Loads:
    """Loads at all joints, along members, at points and by weight, near `force` in N."""
    rng = np.random.default_rng(seed)
    m, k = len(frame.ends), 2 * cases
    loads = no_loads(frame, cases)
    loads.nodal[:] = rng.normal(size=loads.nodal.shape) * force * (1, 1, 1, 0.05, 0.05, 0.05)
    loads.line[:] = rng.normal(size=loads.line.shape) * force / 2
    loads.field[:, 2] = -9.81e-3 * force
    points = Points(
        np.arange(k, dtype=np.intp) % cases,
        rng.integers(0, m, k),
        rng.random(k),
        rng.normal(size=(k, 3)) * force,
        rng.normal(size=(k, 3)) * force / 20,
    )
    return dataclasses.replace(loads, points=points)
