"""Inertia relief against rigid-body mechanics and a free bar worked by hand."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from generator.frame.inertia import Relief, centred, mass_matrix, relieved
from generator.frame.model import Frame, Refusal, no_loads
from generator.frame.recover import section_forces
from generator.frame.solve import solve
from tests.generator.frame.frames import (
    chain_of,
    frame_of,
    nodal,
    solution,
    some_loads,
    tower,
    with_points,
)


def free(frame: Frame) -> Frame:
    return dataclasses.replace(frame, held=np.zeros_like(frame.held))


def relief(frame: Frame, *forces: tuple[int, tuple[float, ...]]) -> Relief:
    found = relieved(frame, nodal(frame, *forces))
    assert isinstance(found, Relief)
    return found


def test_a_pulled_bar_carries_half_the_pull_amid() -> None:
    """Mass spread evenly, force P at one end: N falls linearly from P to 0, acceleration P/m."""
    frame = frame_of(
        ((0, 0, 0), (2, 0, 0), (2, 1, 0)), ((0, 1), (1, 2)), line_mass=(3.0, 1e-9), modulus=1e4
    )
    frame.node_mass[2] = 1e-6
    found = relief(frame, (1, (6.0, 0, 0)))
    assert found.acceleration[0, 0] == pytest.approx(1.0, rel=1e-5)
    answer = solution(solve(found.frame, found.loads))
    normal = section_forces(
        found.frame, found.loads, answer, np.array([[0.0, 0.5, 1.0], [0.0, 0.5, 1.0]])
    )[0, 0, :, 0]
    assert normal == pytest.approx([0.0, 3.0, 6.0], abs=1e-4)


def test_a_bar_pushed_off_its_centre_spins_up() -> None:
    """Uniform bar, F at its end, square to it: a = F/m, α = F·(L/2)/(mL²/12)."""
    frame = frame_of(
        ((0, 0, 0), (2, 0, 0), (1, 0, 0)), ((0, 2), (2, 1)), line_mass=3.0, modulus=1e4
    )
    frame.node_mass[2] = 1e-9
    slim = dataclasses.replace(frame, nodes=frame.nodes + np.diag((0, 0, 1e-3))[:, (0, 2, 1)])
    found = relief(slim, (1, (0, 0, 6.0)))
    assert found.acceleration[0] == pytest.approx([0, 0, 1.0], abs=1e-6)
    assert found.spin_up[0, 1] == pytest.approx(-6.0 * 1 / (6.0 * 4 / 12), rel=1e-5)


def test_the_held_motions_carry_nothing_and_the_shape_does_not_depend_on_them() -> None:
    frame = free(tower(3))
    frame.node_mass[:] = np.linspace(1, 9, len(frame.nodes))
    loads = some_loads(frame, 2)
    found = relieved(frame, loads)
    assert isinstance(found, Relief)
    answer = solution(solve(found.frame, found.loads))
    assert np.abs(answer.reaction).max() < 1e-8 * np.abs(answer.forces).max()
    other = np.zeros_like(frame.held)
    other[2] = True  # one joint held altogether in place of the six motions chosen
    again = solution(solve(dataclasses.replace(frame, held=other), found.loads))
    assert again.forces == pytest.approx(answer.forces, abs=1e-7 * np.abs(answer.forces).max())
    one, two = centred(frame, answer.displacement), centred(frame, again.displacement)
    assert one == pytest.approx(two, abs=1e-9 * np.abs(two).max() + 1e-12)


def test_a_force_on_the_centre_of_mass_of_a_rigid_frame_spins_nothing() -> None:
    frame = free(tower(2))
    mass, centre, inertia = mass_matrix(frame)
    own = frame.line_mass * np.linalg.norm(
        frame.nodes[frame.ends[:, 1]] - frame.nodes[frame.ends[:, 0]], axis=1
    )
    assert mass == pytest.approx(own.sum(), rel=1e-12)
    assert np.linalg.eigvalsh(inertia)[0] > 0
    lever = centre - frame.nodes[5]
    found = relief(frame, (5, (0, 0, 50, *np.cross(lever, (0, 0, 50)))))
    assert found.spin_up[0] == pytest.approx([0, 0, 0], abs=1e-9)
    assert found.acceleration[0] == pytest.approx([0, 0, 50 / mass], abs=1e-9)


def test_the_inertia_of_a_bar_is_that_of_a_thin_rod() -> None:
    frame = frame_of(((0, 0, 0), (2, 0, 0)), ((0, 1),), line_mass=3.0)
    mass, centre, inertia = mass_matrix(frame)
    assert (mass, centre.tolist()) == (6.0, [1.0, 0.0, 0.0])
    assert np.diag(inertia) == pytest.approx([0, 6 * 4 / 12, 6 * 4 / 12])


def test_masses_that_cannot_balance_are_refused() -> None:
    """No mass, or all of it on one line: a torque about that line has nothing to act on."""
    bare = free(tower(2))
    bare = dataclasses.replace(bare, line_mass=np.zeros(len(bare.ends)))
    line = chain_of(((0, 0, 0), (1, 0, 0), (2, 0, 0)), line_mass=1.0)
    for frame in (bare, line):
        found = relieved(frame, no_loads(frame, 1))
        assert isinstance(found, Refusal)
        assert found.reason == "massless"
        assert "masses" in found.says()


def test_loads_along_members_count() -> None:
    """A point load amid a member accelerates as one at a joint does."""
    frame = free(tower(2))
    loads = with_points(no_loads(frame, 1), (3, 0.5, (0, 70, 0), (0, 0, 0)))
    found = relieved(frame, loads)
    assert isinstance(found, Relief)
    assert found.acceleration[0] == pytest.approx([0, 70 / mass_matrix(frame)[0], 0], abs=1e-9)
