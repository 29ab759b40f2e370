"""Second order (P-Δ and P-δ): equilibrium of the displaced frame, iterated to convergence.

The axial forces of one pass give the geometric stiffness of the next, until displacements stay. A
tangent that is not positive definite, or a case that does not settle, is beyond the elastic
critical load: a refusal, never a number. All cases go through a pass together; joints between
pieces are eliminated member by member, so that the frame that is solved is as small as before it
was split.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from generator.frame.chain import between, condensed
from generator.frame.loading import end_loads, member_motions, passed_on, to_joints
from generator.frame.mechanism import excessive
from generator.frame.model import Array, Flags, Frame, Indices, Reason, Refusal, with_weight
from generator.frame.plan import Plan, plan_of
from generator.frame.recover import piece_tension
from generator.frame.solve import Solution, balance, end_forces, factorised, moved, solve
from generator.frame.stiffness import Members, bowing, loaded, members_of
from generator.frame.subdivide import Split

TOLERANCE = 1e-8
"""Change between passes, over the largest motion, of a case that has settled."""
PASSES = 60
"""Passes after which a case that has not settled is taken as beyond the critical load."""


@dataclass(frozen=True)
class _Given:
    """What stays from pass to pass; loads: ends (c, m·pieces, 12) and nodal (c, joints, 6); unit:
    the pieces' geometric stiffness for 1 N."""

    split: Split
    plan: Plan
    members: Members
    unit: Array
    ends: Array
    nodal: Array


def _change(new: Array, old: Array, size: float) -> Array:
    """Largest change in each case over the largest motion, translations as shares of `size`.

    Translations and rotations go together: where a column is merely pressed, its rotations are
    rounding, and would never settle by themselves.
    """
    scale = np.array((size,) * 3 + (1.0,) * 3)
    moved_by = np.abs((new - old) / scale).max(axis=(1, 2), initial=0.0)
    whole = np.abs(new / scale).max(axis=(1, 2), initial=0.0)
    return np.asarray(np.divide(moved_by, whole, out=np.zeros_like(whole), where=whole > 0.0))


def _joint_motions(given: _Given, world: Array, loads: Array) -> tuple[Array, Flags, Array]:
    """Motions (k, n, 6) of the whole frame's joints, which cases resist, and least eigenvalues."""
    whole, n = given.split.whole, len(given.split.whole.nodes)
    motions, soft = np.zeros((len(world), n, 6)), np.zeros(len(world))
    for i, matrices in enumerate(world):
        factor = factorised(whole, given.plan, matrices)
        if factor is not None:
            motions[i] = moved(whole, given.plan, factor, loads[i : i + 1])[0]
            soft[i] = factor.softest
    return motions, soft > 0.0, soft


def _pass(given: _Given, members: Members, cases: Indices) -> tuple[Array, Flags, Array]:
    """Motions (k, joints, 6) of some cases, which of them resist, and least eigenvalues."""
    split, whole = given.split, given.split.whole
    k, m, p = len(cases), len(whole.ends), split.pieces
    loads = passed_on(members, given.ends[cases]).reshape(k, m, p, 12)
    chain = condensed(members.local.reshape(k, m, p, 12, 12), loads)
    turn, n = members.turn[::p], len(whole.nodes)
    world = turn.swapaxes(1, 2) @ chain.stiffness @ turn
    joint = given.nodal[cases, :n] + to_joints(whole, turn, chain.loads)
    motions, firm, soft = _joint_motions(given, world, joint)
    inner = between(chain, member_motions(whole, motions, turn))
    axes = members.axes[::p, None]
    parts = [
        (axes.swapaxes(-1, -2) @ inner[..., part, None])[..., 0] for part in (slice(3), slice(3, 6))
    ]
    inner = np.concatenate(parts, axis=-1).reshape(k, -1, 6)
    return np.concatenate((motions, inner), axis=1), firm & chain.positive.all(axis=1), soft


def _refused(reason: Reason, case: int) -> Refusal:
    return Refusal(reason, -1, -1, np.zeros((0, 6)), case)


def _answer(frame: Frame, one: Solution, case: int, count: int) -> Solution | Refusal:
    """The settled solution of a case, or its refusal where displacements are too large."""
    no = excessive(frame, one.displacement)
    return replace(no, case=case) if no else replace(one, iterations=np.array([float(count)]))


def _solution(given: _Given, members: Members, case: int, motions: Array, soft: float) -> Solution:
    """The solution of one case from its motions (1, joints, 6); `members` are that case's."""
    frame, ends = given.split.frame, given.ends[case : case + 1]
    forces = end_forces(frame, members, ends, motions)
    nodal = given.nodal[case : case + 1]
    reaction, residual = balance(frame, members, nodal, motions, forces)
    return Solution(motions, forces, reaction, residual, soft, np.ones(1), second_order=True)


def _tension(members: Members, frame: Frame, ends: Array, motions: Array) -> Array:
    """Axial force of every piece (k, m·pieces), the mean of its ends."""
    forces = end_forces(frame, members, ends, motions)
    return np.asarray((forces[..., 6] - forces[..., 0]) / 2)


def settled(given: _Given, tension: Array) -> dict[int, Solution | Refusal]:
    """Every case by number, from first axial forces `tension` (c, m·pieces) on."""
    frame = given.split.frame
    found: dict[int, Solution | Refusal] = {}
    cases = np.arange(len(tension), dtype=np.intp)
    before = np.zeros((len(tension), len(frame.nodes), 6))
    for count in range(1, PASSES + 1):
        members = loaded(given.members, given.unit, tension)
        motions, firm, soft = _pass(given, members, cases)
        done = _change(motions, before, frame.size) <= TOLERANCE
        for i, case in enumerate(cases.tolist()):
            if not firm[i]:
                found[case] = _refused("unstable", case)
            elif done[i]:
                own = loaded(given.members, given.unit, tension[i : i + 1])
                one = _solution(given, own, case, motions[i : i + 1], float(soft[i]))
                found[case] = _answer(frame, one, case, count)
        on = firm & ~done
        if not on.any():
            return found
        tension = _tension(members, frame, given.ends[cases], motions)[on]
        cases, before = cases[on], motions[on]
    return found | {case: _refused("unsettled", case) for case in cases.tolist()}


def second_order(
    split: Split, plan: Plan | None = None, linear: Solution | None = None
) -> tuple[Solution | Refusal, ...]:
    """Each case by itself (solutions of one case, of the split frame), or its refusal, in order.

    `plan` is that of the whole frame, `linear` its linear solution where that is known. A mechanism
    refuses every case, and so does a case whose linear displacement is excessive: its refusal
    names it.
    """
    plan = plan or plan_of(split.whole)
    first = linear or solve(split.whole, split.whole_loads, plan)
    if isinstance(first, Refusal):
        return (first,) * split.loads.cases
    members = members_of(split.frame)
    ends = end_loads(split.frame, members, split.loads)
    nodal = with_weight(split.frame, split.loads).nodal
    given = _Given(split, plan, members, bowing(split.frame, members), ends, nodal)
    tension = piece_tension(split.whole, split.whole_loads, first, split.pieces)
    found = settled(given, tension)
    return tuple(found[case] for case in range(split.loads.cases))
