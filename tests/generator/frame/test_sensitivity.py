"""Central differences over re-solves against a complex step through the same matrices.

The complex step is exact to rounding (no difference is taken): f′ = Im f(x + ih)/h with h = 1e-30.
Source: W. Squire and G. Trapp, SIAM Review 40 (1998) 110–112 (from memory).
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from generator.frame.loading import end_loads, joint_loads
from generator.frame.model import Array, Frame, Loads, Refusal, reference_directions
from generator.frame.plan import motions_of, plan_of
from generator.frame.sensitivity import gradients
from generator.frame.solve import end_forces, solve, solve_many
from generator.frame.stiffness import members_of
from tests.generator.frame.frames import solution, some_loads, tower


def varied(frame: Frame, inputs: Array) -> Frame:
    """The frame with joint 6, the area and second moment of member 7, and E of all moved."""
    nodes = frame.nodes.astype(inputs.dtype)
    nodes[6] = nodes[6] + inputs[:3]
    area, second = frame.area.astype(inputs.dtype), frame.second_y.astype(inputs.dtype)
    area[7] = area[7] * (1 + inputs[3])
    second[7] = second[7] * (1 + inputs[4])
    return dataclasses.replace(
        frame,
        nodes=nodes,
        area=area,
        second_y=second,
        second_z=second,
        torsion=2 * second,
        modulus=frame.modulus * (1 + inputs[5]),
    )


def by_real_step(frame: Frame, loads: Loads, inputs: Array) -> Array:
    return solution(solve(varied(frame, inputs), loads)).forces[0, :, 0]


def by_complex_step(frame: Frame, loads: Loads, inputs: Array) -> Array:
    """The same axial forces through a dense general solver, which takes complex numbers."""
    moved = varied(frame, inputs)
    members = members_of(moved)
    ends = end_loads(moved, members, loads)
    joint = joint_loads(moved, members, loads, ends)
    at = motions_of(moved.ends)
    whole = np.zeros((6 * len(moved.nodes),) * 2, dtype=complex)
    for place, matrix in zip(at, members.world, strict=True):
        whole[np.ix_(place, place)] += matrix
    free = np.flatnonzero(~moved.held.ravel())
    u = np.zeros(len(whole), dtype=complex)
    u[free] = np.linalg.solve(whole[np.ix_(free, free)], joint[0].ravel()[free])
    return np.asarray(end_forces(moved, members, ends, u.reshape(1, -1, 6))[0, :, 0])


def test_central_differences_agree_with_the_complex_step() -> None:
    """To 1e-5 of the largest: a step of 1e-4 leaves its square, times a curvature of 10²."""
    frame, loads = tower(3), some_loads(tower(3), 1)
    size = np.array((0.4, 0.4, 0.4, 1.0, 1.0, 1.0))
    ours = gradients(lambda x: by_real_step(frame, loads, x), np.zeros(6), size)
    step = 1e-30
    exact = np.stack(
        [by_complex_step(frame, loads, step * 1j * np.eye(6)[i]).imag / step for i in range(6)],
        axis=-1,
    )
    assert np.abs(exact).max(axis=0).min() > 0
    assert ours == pytest.approx(exact, abs=1e-5 * np.abs(exact).max())


def test_the_complex_step_runs_through_the_same_formulas() -> None:
    frame, loads = tower(3), some_loads(tower(3), 1)
    dense = by_complex_step(frame, loads, np.zeros(6, dtype=complex))
    assert dense.real == pytest.approx(by_real_step(frame, loads, np.zeros(6)), rel=1e-8)


def test_many_variations_give_what_one_by_one_gives() -> None:
    frame, loads = tower(2), some_loads(tower(2), 2)
    rng = np.random.default_rng(3)
    frames = [
        dataclasses.replace(
            frame, nodes=frame.nodes + rng.normal(scale=1e-3, size=frame.nodes.shape)
        )
        for _ in range(5)
    ]
    for one, found in zip(frames, solve_many(frames, loads), strict=True):
        assert not isinstance(found, Refusal)
        assert found.displacement.tolist() == solution(solve(one, loads)).displacement.tolist()


def test_one_plan_serves_every_variation_and_no_other_supports() -> None:
    frame = tower(2)
    assert plan_of(frame).size == 6 * (len(frame.nodes) - 4)


def test_references_are_square_to_their_members_and_do_not_jump() -> None:
    """Tubes a little to both sides of upright have one reference: chosen once and kept."""
    nodes = np.array(((0, 0, 0), (0, 0, 1), (1e-3, -1e-3, 1)), dtype=float)
    ends = np.array(((0, 1), (0, 2)))
    look = reference_directions(nodes, ends)
    along = nodes[ends[:, 1]] - nodes[ends[:, 0]]
    assert np.abs((look * along).sum(axis=1)).max() < 0.01
    assert reference_directions(
        np.array(((0, 0, 0), (3, 1, 2), (0, 0, 0.0))), np.array(((0, 1),))
    ).tolist() == [[0, 1, 0]]
