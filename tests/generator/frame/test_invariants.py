"""What must hold for every frame: equilibrium, reciprocity, turning, scaling, splitting, energy."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from generator.frame.figures import figures
from generator.frame.loading import member_motions
from generator.frame.model import Array, Frame, Loads, no_loads
from generator.frame.recover import peak_stress, section_forces, stations
from generator.frame.second_order import second_order
from generator.frame.solve import solve
from generator.frame.stiffness import members_of
from generator.frame.subdivide import split
from tests.generator.frame.frames import frame_of, held, solution, some_loads, tower, tubes

SEEDS = st.integers(0, 10**6)


def random_frame(seed: int, joints: int = 7) -> Frame:
    """A connected random frame with releases, a spring and joint masses, fixed at one joint."""
    rng = np.random.default_rng(seed)
    ends = [(i, int(rng.integers(0, i))) for i in range(1, joints)]
    ends += [
        (i, j) for i in range(joints) for j in range(i) if (i, j) not in ends and rng.random() < 0.4
    ]
    frame = tubes(rng.normal(size=(joints, 3)), np.asarray(ends, dtype=np.intp))
    frame = held(frame, n0=(1,) * 6)
    loose = len(ends) - 1
    if loose >= joints - 1:  # only members that close a loop may be released
        frame.released[joints - 1 :, 0, 1:] = rng.random((len(ends) - joints + 1, 2)) < 0.3
        frame.released[joints - 1 :, 1, 0] = rng.random(len(ends) - joints + 1) < 0.3
    frame.spring[joints - 1, 2] = 1e5
    frame.node_mass[1] = 12.0
    return frame


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_loads_and_reactions_balance_and_energies_agree(seed: int) -> None:
    """Sums, joints, Clapeyron; the tolerance is rounding times a condition of some 1e6."""
    frame = random_frame(seed)
    loads = some_loads(frame, 3, seed, force=1.0)
    found = figures(frame, loads, solution(solve(frame, loads)))
    assert found.gap.max() < 1e-9
    assert found.residual.max() < 1e-9
    assert found.energy.max() < 1e-8
    assert (found.condition >= 1.0).all()
    assert (found.condition < 1e9).all()


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_reciprocity(seed: int) -> None:
    """Maxwell and Betti: the work of one load system on the other's displacements is mutual."""
    frame = random_frame(seed)
    loads = no_loads(frame, 2)
    loads.nodal[:] = np.random.default_rng(seed).normal(size=loads.nodal.shape)
    u = solution(solve(frame, loads)).displacement
    one, other = (loads.nodal[0] * u[1]).sum(), (loads.nodal[1] * u[0]).sum()
    assert one == pytest.approx(other, rel=1e-9, abs=1e-12 * np.abs(loads.nodal[0] * u[1]).sum())


def turned(frame: Frame, loads: Loads, matrix: Array) -> tuple[Frame, Loads]:
    """Frame and loads turned in space, the supports being the same (all six motions, or none)."""
    p = loads.points
    points = dataclasses.replace(p, force=p.force @ matrix.T, couple=p.couple @ matrix.T)
    nodal = np.concatenate(
        (loads.nodal[..., :3] @ matrix.T, loads.nodal[..., 3:] @ matrix.T), axis=-1
    )
    return (
        dataclasses.replace(
            frame,
            nodes=frame.nodes @ matrix.T,
            reference=frame.reference @ matrix.T,
            spring=np.zeros_like(frame.spring),
        ),
        Loads(nodal, loads.line @ matrix.T, loads.field @ matrix.T, points),
    )


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_turning_the_whole_turns_the_answer(seed: int) -> None:
    frame = dataclasses.replace(random_frame(seed), spring=np.zeros((7, 6)))
    loads = some_loads(frame, 2, seed, force=1.0)
    matrix = Rotation.random(random_state=seed).as_matrix()
    before, after = solution(solve(frame, loads)), solution(solve(*turned(frame, loads, matrix)))
    expected = np.concatenate(
        [before.displacement[..., k : k + 3] @ matrix.T for k in (0, 3)], axis=-1
    )
    assert after.displacement == pytest.approx(expected, abs=1e-9 * np.abs(expected).max())
    assert after.forces == pytest.approx(before.forces, abs=1e-9 * np.abs(before.forces).max())


@settings(max_examples=20, deadline=None)
@given(SEEDS)
def test_a_round_tube_has_no_preferred_direction_of_bending(seed: int) -> None:
    """The reference direction may be any: displacements do not change."""
    frame = dataclasses.replace(
        random_frame(seed), released=np.zeros_like(random_frame(seed).released)
    )
    loads = some_loads(frame, 1, seed, force=1.0)
    other = dataclasses.replace(
        frame, reference=np.random.default_rng(seed + 1).normal(size=frame.reference.shape)
    )
    one, two = (
        solution(solve(frame, loads)).displacement,
        solution(solve(other, loads)).displacement,
    )
    assert two == pytest.approx(one, abs=1e-9 * np.abs(one).max())


def rescaled(frame: Frame, loads: Loads, kg: float, m: float, s: float) -> tuple[Frame, Loads]:
    """Frame and loads written in other units: one new unit is kg, m, s of the old ones."""
    force, length = kg * m / s**2, m
    stress = force / length**2
    six = np.array((force,) * 3 + (force * length,) * 3)
    stiff = np.array((force / length,) * 3 + (force * length,) * 3)
    p = loads.points
    return (
        dataclasses.replace(
            frame,
            nodes=frame.nodes / length,
            modulus=frame.modulus / stress,
            shear_modulus=frame.shear_modulus / stress,
            area=frame.area / m**2,
            second_y=frame.second_y / m**4,
            second_z=frame.second_z / m**4,
            torsion=frame.torsion / m**4,
            shear_y=frame.shear_y / m**2,
            shear_z=frame.shear_z / m**2,
            line_mass=frame.line_mass / (kg / m),
            spring=frame.spring / stiff,
            node_mass=frame.node_mass / kg,
        ),
        Loads(
            loads.nodal / six,
            loads.line / (force / length),
            loads.field / (m / s**2),
            dataclasses.replace(p, force=p.force / force, couple=p.couple / (force * length)),
        ),
    )


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.tuples(*[st.floats(1e-3, 1e3)] * 3))
def test_units_do_not_matter(seed: int, units: tuple[float, float, float]) -> None:
    """Rescaling kg, m and s rescales every result by its own dimension: no hidden constant."""
    kg, m, s = units
    force, stress = kg * m / s**2, kg / m / s**2
    frame = random_frame(seed)
    loads = some_loads(frame, 2, seed, force=1.0)
    one, two = solution(solve(frame, loads)), solution(solve(*rescaled(frame, loads, kg, m, s)))
    length, six = np.array((m,) * 3 + (1.0,) * 3), np.array((force,) * 3 + (force * m,) * 3)
    assert two.displacement * length == pytest.approx(
        one.displacement, abs=1e-9 * np.abs(one.displacement).max()
    )
    assert two.reaction * six == pytest.approx(one.reaction, abs=1e-9 * np.abs(one.reaction).max())
    at = stations(loads.points, len(frame.ends), 5)
    tube = np.full(len(frame.ends), 0.05)
    old = peak_stress(section_forces(frame, loads, one, at), tube, tube * 0.9)
    new = peak_stress(
        section_forces(*rescaled(frame, loads, kg, m, s), two, at), tube / m, tube * 0.9 / m
    )
    assert new * stress == pytest.approx(old, rel=1e-8, abs=1e-9 * old.max())


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.integers(2, 5))
def test_splitting_members_changes_nothing_in_first_order(seed: int, pieces: int) -> None:
    """Elements are exact: joints amid members add no freedom that the whole had not."""
    frame = random_frame(seed)
    loads = some_loads(frame, 2, seed, force=1.0)
    parts = split(frame, loads, pieces)
    one, two = solution(solve(frame, loads)), solution(solve(parts.frame, parts.loads))
    n = len(frame.nodes)
    assert two.displacement[:, :n] == pytest.approx(
        one.displacement, abs=1e-8 * np.abs(one.displacement).max()
    )
    whole = section_forces(frame, loads, one, np.tile((0.0, 1.0), (len(frame.ends), 1)))
    ends = section_forces(
        parts.frame, parts.loads, two, np.tile((0.0, 1.0), (len(parts.frame.ends), 1))
    )
    joined = ends.reshape(2, len(frame.ends), 2 * pieces, 6)
    assert joined[:, :, (0, -1)] == pytest.approx(whole, abs=1e-8 * np.abs(whole).max())


def test_all_cases_at_once_are_the_cases_one_by_one() -> None:
    """Superposition, and no case sees another."""
    frame, loads = tower(3), some_loads(tower(3), 4)
    together = solution(solve(frame, loads))
    summed = dataclasses.replace(
        loads,
        nodal=loads.nodal.sum(axis=0, keepdims=True),
        line=loads.line.sum(axis=0, keepdims=True),
        field=loads.field.sum(axis=0, keepdims=True),
        points=dataclasses.replace(loads.points, case=np.zeros_like(loads.points.case)),
    )
    total = solution(solve(frame, summed))
    assert total.displacement[0] == pytest.approx(together.displacement.sum(axis=0), abs=1e-12)
    assert total.forces[0] == pytest.approx(together.forces.sum(axis=0), abs=1e-6)


def test_second_order_stays_in_balance_and_tends_to_first_order_for_small_loads() -> None:
    frame, loads = tower(3), some_loads(tower(3), 3)
    for found in second_order(split(frame, loads)):
        assert solution(found).residual.max() < 1e-9
    faint = dataclasses.replace(
        loads,
        nodal=loads.nodal * 1e-6,
        line=loads.line * 1e-6,
        field=loads.field * 1e-6,
        points=dataclasses.replace(
            loads.points, force=loads.points.force * 1e-6, couple=loads.points.couple * 1e-6
        ),
    )
    linear = solution(solve(frame, faint)).displacement
    for case, found in enumerate(second_order(split(frame, faint))):
        second = solution(found).displacement[0, : len(frame.nodes)]
        assert second == pytest.approx(linear[case], abs=1e-6 * np.abs(linear[case]).max())


@pytest.mark.parametrize("hinged", [False, True])
def test_every_piece_is_in_balance_where_it_is_displaced(hinged: bool) -> None:
    """Statics alone: forces at the ends, the load between, and the axial force's lever on the displaced
    piece turn it neither way; and joints are in balance, hinges or not."""
    frame = tower(2)
    if hinged:
        frame.released[::3, 0, 1:] = frame.released[1::5, 1, 1:] = True
    loads = no_loads(frame, 2)
    rng = np.random.default_rng(5)
    loads.nodal[:, -4:, :3] = rng.normal(size=(2, 4, 3)) * 2e4
    loads.line[:] = rng.normal(size=loads.line.shape) * 2e4
    parts = split(frame, loads)
    members = members_of(parts.frame)
    local = np.einsum("mij,cmkj->cmki", members.axes, parts.loads.line)
    length = members.length
    for case, answer in enumerate(second_order(parts)):
        found = solution(answer)
        assert found.residual.max() < 1e-9
        f = found.forces[0]
        motions = member_motions(parts.frame, found.displacement, members.turn)[0]
        tension = found.tension[0]
        for across, moment, sign in ((1, 5, 1.0), (2, 4, -1.0)):
            first, last = local[case, :, 0, across], local[case, :, 1, across]
            load = length**2 * (first / 6 + last / 3)  # its moment about the start
            lever = tension * (motions[:, 6 + across] - motions[:, across])
            turned = sign * (f[:, moment] + f[:, 6 + moment]) + f[:, 6 + across] * length + load
            assert turned == pytest.approx(lever, abs=1e-7 * np.abs(f[:, 3:6]).max())
            assert np.abs(lever).max() > 1e-4 * np.abs(f[:, 3:6]).max()


def test_a_frame_held_everywhere_does_not_move() -> None:
    frame = held(frame_of(((0, 0, 0), (1, 0, 0)), ((0, 1),)), n0=(1,) * 6, n1=(1,) * 6)
    loads = no_loads(frame, 1)
    loads.line[0, 0, :, 2] = -12.0
    found = solution(solve(frame, loads))
    assert not found.displacement.any()
    assert found.reaction[0, :, 2] == pytest.approx([6.0, 6.0])
    assert abs(found.reaction[0, :, 4]) == pytest.approx([1.0, 1.0])
