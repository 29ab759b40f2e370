"""Mechanisms are refused and named, sound frames are not; hundreds of each, drawn at random."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from generator.frame import mechanism
from generator.frame.buckling import critical_loads
from generator.frame.loading import member_motions
from generator.frame.model import Array, Frame, Refusal, connected, no_loads
from generator.frame.second_order import second_order
from generator.frame.solve import solve
from generator.frame.stiffness import members_of
from generator.frame.subdivide import split
from tests.generator.frame.frames import (
    FIXED,
    PINNED,
    chain_of,
    frame_of,
    held,
    nodal,
    solution,
    tower,
    tubes,
)


def rigid_body(nodes: Array) -> Array:
    """Velocities of the joints in the six rigid motions, (6, n, 3)."""
    rows = [np.tile(axis, (len(nodes), 1)) for axis in np.eye(3)]
    return np.array(rows + [np.cross(axis, nodes) for axis in np.eye(3)])


def sound_frame(rng: np.random.Generator) -> Frame:
    """Joints in space, each tied to an earlier one by a tube, plus more tubes; one fixed."""
    n = int(rng.integers(3, 14))
    ends = [(i, int(rng.integers(0, i))) for i in range(1, n)]
    ends += [(i, int(rng.integers(0, i))) for i in range(2, n) if rng.random() < 0.5]
    ends = sorted(set(ends))
    return held(
        tubes(
            rng.normal(size=(n, 3)),
            np.asarray(ends),
            outer=float(rng.uniform(0.01, 0.08)),
            wall=0.002,
        ),
        n0=FIXED,
    )


def weakened(rng: np.random.Generator) -> Frame:
    """A sound frame spoilt in one of six ways, so that it can move without strain."""
    frame = sound_frame(rng)
    way = rng.integers(0, 6)
    mask, loose = frame.held.copy(), frame.released.copy()
    leaf = len(frame.nodes) - 1
    at_leaf = np.flatnonzero((frame.ends == leaf).any(axis=1))
    if way == 0:  # no support at all
        mask[:] = False
    elif way == 1:  # one hinge in place of the fixed support
        mask[0, 3:] = False
    elif way == 2:  # a support that lets the frame slide
        mask[0, int(rng.integers(0, 3))] = False
    elif way == 3:  # a support that lets it turn
        mask[0, int(rng.integers(3, 6))] = False
    elif way == 4:  # a joint whose members all are hinged there: it turns by itself
        for m in at_leaf:
            loose[m, 0 if frame.ends[m, 0] == leaf else 1] = True
    else:  # a tube more, hinged where it starts, nothing else holding its far end
        far = frame.nodes[0] + rng.normal(size=3)
        nodes, ends = np.vstack((frame.nodes, far)), np.vstack((frame.ends, (len(frame.nodes), 0)))
        more = tubes(nodes, ends)
        loose = np.zeros((len(ends), 2, 3), dtype=bool)
        loose[-1, 1, 1:] = True
        mask = np.vstack((mask, np.zeros((1, 6), dtype=bool)))
        return dataclasses.replace(more, held=mask, released=loose)
    return dataclasses.replace(frame, held=mask, released=loose)


def strain(frame: Frame, shape: Array) -> float:
    """Strain energy of a motion over what its parts would store if they did not cancel."""
    members = members_of(frame)
    motions = member_motions(frame, shape[None], members.turn)[0]
    stored = np.einsum("mi,mij,mj->", motions, members.local, motions)
    uncancelled = np.einsum("mi,mij,mj->", np.abs(motions), np.abs(members.raw), np.abs(motions))
    return float(abs(stored) / uncancelled)


@pytest.mark.parametrize("batch", range(5))
def test_mechanisms_are_refused_whatever_the_load(batch: int) -> None:
    """100 a batch, without any load: the matrix is refused, and its motion strains nothing."""
    rng = np.random.default_rng(1000 + batch)
    for _ in range(100):
        frame = weakened(rng)
        found = solve(frame, no_loads(frame, 1))
        assert isinstance(found, Refusal)
        assert found.reason == "free"
        assert strain(frame, found.shape) < 1e-10
        assert not (np.abs(found.shape) > 1e-6)[frame.held].any()


@pytest.mark.parametrize("batch", range(5))
def test_sound_frames_are_accepted(batch: int) -> None:
    """100 a batch, slender tubes and long arms included."""
    rng = np.random.default_rng(2000 + batch)
    for _ in range(100):
        frame = sound_frame(rng)
        found = solution(solve(frame, no_loads(frame, 1)))
        assert found.softest > 1e-9


def test_a_long_slender_chain_is_sound() -> None:
    """200 tubes in a row on one fixed end: soft, and no mechanism."""
    frame = held(
        chain_of(
            [(0.05 * i, 0, 0) for i in range(201)],
            modulus=2e11,
            shear_modulus=7.7e10,
            area=1e-4,
            second_y=5e-9,
            second_z=5e-9,
            torsion=1e-8,
        ),
        n0=FIXED,
    )
    found = solution(solve(frame, nodal(frame, (200, (0, 0, 0.01)))))
    assert found.displacement[0, 200, 2] == pytest.approx(
        0.01 * 10**3 / (3 * 2e11 * 5e-9), rel=1e-6
    )


def test_a_mast_that_can_turn_is_named() -> None:
    """A post on a ball joint: its top moves, and it is the top that is named."""
    frame = held(chain_of(((0, 0, 0), (0, 0, 1), (0, 0, 2)), second_y=2.0), n0=(1, 1, 1, 0, 0, 1))
    found = solve(frame, no_loads(frame, 1))
    assert isinstance(found, Refusal)
    assert found.node == 2
    assert found.says("ABC".__getitem__) in {
        "joint C is free to move along x: a support or a member is missing",
        "joint C is free to move along y: a support or a member is missing",
    }


def test_a_missing_brace_is_named() -> None:
    """A hinged portal without a brace sways: its beam moves along x."""
    frame = frame_of(((0, 0, 0), (0, 0, 1), (1, 0, 1), (1, 0, 0)), ((0, 1), (1, 2), (2, 3)))
    frame = held(frame, n0=FIXED, n3=FIXED, n1=(0, 1, 0, 1, 1, 1), n2=(0, 1, 0, 1, 1, 1))
    frame.released[0, :, 1:] = frame.released[2, :, 1:] = True
    found = solve(frame, no_loads(frame, 1))
    assert isinstance(found, Refusal)
    assert (found.node, found.motion) == (1, 0)
    braced = frame_of(frame.nodes, ((0, 1), (1, 2), (2, 3), (0, 2)))
    braced = dataclasses.replace(braced, held=frame.held)
    braced.released[[0, 2, 3], :, 1:] = True
    solution(solve(braced, nodal(braced, (1, (1e-3, 0, 0)))))


def test_a_joint_that_only_rounding_holds_is_refused() -> None:
    """The last tube is turned by 1e-9 rad: its torsion resists the last rotation by 1e-18."""
    frame = held(chain_of(((0, 0, 0), (1, 0, 0), (2, 1e-9, 0))), n0=FIXED, n2=(1, 1, 1, 1, 0, 1))
    frame.released[1, 1, 1:] = True
    found = solve(frame, no_loads(frame, 1))
    assert isinstance(found, Refusal)
    assert (found.reason, found.node, found.motion) == ("free", 2, 4)
    assert found.says() == "joint 2 is free to turn about y: a support or a member is missing"


def test_a_displacement_beyond_the_theory_is_refused_and_its_case_named() -> None:
    frame = held(chain_of(((0, 0, 0), (1, 0, 0))), n0=FIXED)
    loads = no_loads(frame, 2)
    loads.nodal[0, 1, 2] = 1.4  # deflection 0.467 of the length, rotation 0.7
    solution(solve(frame, dataclasses.replace(loads, nodal=loads.nodal)))
    loads.nodal[1, 1, 2] = 1.6  # 0.533
    found = solve(frame, loads)
    assert isinstance(found, Refusal)
    assert (found.reason, found.case, found.node, found.motion) == ("excessive", 1, 1, 2)
    assert found.says() == "joint 1 would move along z by more than the theory allows"


def test_second_order_and_buckling_refuse_a_mechanism_too() -> None:
    frame = held(chain_of(((0, 0, 0), (0, 0, 1), (0, 0, 2))), n0=PINNED)
    parts = split(frame, no_loads(frame, 2))
    assert [r.reason for r in second_order(parts) if isinstance(r, Refusal)] == ["free", "free"]
    found = critical_loads(parts)
    assert isinstance(found, Refusal)
    assert found.reason == "free"


def test_torsion_released_at_both_ends_is_no_mechanism() -> None:
    """The tube passes no torque and does not spin; a torque along it goes to its end."""
    frame = held(frame_of(((0, 0, 0), (1, 0, 0)), ((0, 1),)), n0=FIXED, n1=(0, 1, 1, 1, 1, 1))
    frame.released[0, :, 0] = True
    loads = nodal(frame, (1, (1e-3, 0, 0)))
    found = solution(solve(frame, loads))
    assert found.forces[0, 0, (3, 9)].tolist() == [0.0, 0.0]


def test_parts_that_do_not_touch_are_told_apart() -> None:
    """Joints at the same place are not joined unless a member says so."""
    frame = frame_of(((0, 0, 0), (1, 0, 0), (1, 0, 0), (2, 0, 0)), ((0, 1), (2, 3)))
    assert connected(frame).tolist() == [0, 0, 1, 1]
    found = solve(held(frame, n0=FIXED), no_loads(frame, 1))
    assert isinstance(found, Refusal)
    assert found.node in {2, 3}


def test_every_case_of_a_big_sound_frame_is_accepted() -> None:
    frame = tower(40)
    assert solution(solve(frame, no_loads(frame, 3))).softest > 1e-8


@pytest.mark.parametrize("spoil", ["length", "direction", "number"])
def test_what_is_no_frame_is_an_error_and_never_hangs(spoil: str) -> None:
    """A member without length, a reference along its member, a property that is no number."""
    frame = held(chain_of(((0, 0, 0), (1, 0, 0), (2, 0, 0))), n0=FIXED)
    spoilt = {
        "length": dataclasses.replace(frame, nodes=frame.nodes * ((1,), (1,), (0.5,))),
        "direction": dataclasses.replace(frame, reference=np.tile((1.0, 0, 0), (2, 1))),
        "number": dataclasses.replace(frame, area=np.array((1.0, np.nan))),
    }
    with np.errstate(all="ignore"), pytest.raises(ValueError, match="has no length"):
        solve(spoilt[spoil], no_loads(frame, 1))


def test_a_matrix_that_is_not_even_semidefinite_ends_the_search_for_its_softest_motion() -> None:
    """[[1, −3], [−3, 1]] in band form: eigenvalues −2 and 4, the softest motion along (1, 1)."""
    motion = mechanism._softest(np.array([[0.0, -3.0], [1.0, 1.0]]))
    assert motion[0] == pytest.approx(motion[1], rel=1e-2)


def test_numbers_without_bound_end_the_search_with_an_error() -> None:
    with pytest.raises(ValueError, match="no finite numbers"):
        mechanism._softest(np.array([[0.0, np.inf], [1.0, 1.0]]))
