"""Figures by which to judge a solution: sums, residual, energy balance, condition."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from generator.frame.loading import end_loads, joint_loads, passed_on
from generator.frame.model import Array, Flags, Frame, Loads, Refusal, cross
from generator.frame.recover import breaks, internal_forces
from generator.frame.solve import Factor, Ready, Solution, ready, scaled_members
from generator.frame.stiffness import Members


@dataclass(frozen=True)
class Figures:
    """applied, supported (c, 6) N, N·m: loads and reactions summed, moments about the origin
    gap (c,): the larger of their force and moment gaps, over the largest single force
        (and that force times the frame's size)
    residual (c,): as in `Solution`
    energy (c,): strain energy from the diagrams against work of the loads, relative difference
    condition (c,): estimate of the scaled stiffness matrix's condition number
    softest (c,): its least eigenvalue
    """

    applied: Array
    supported: Array
    gap: Array
    residual: Array
    energy: Array
    condition: Array
    softest: Array


def about_origin(nodes: Array, forces: Array) -> Array:
    """Forces and couples at joints (c, n, 6), summed, moments taken about the origin (c, 6)."""
    turned = cross(nodes, forces[..., :3]) + forces[..., 3:]
    return np.concatenate((forces[..., :3].sum(axis=1), turned.sum(axis=1)), axis=-1)


_GAUSS, _WEIGHT = np.polynomial.legendre.leggauss(4)
"""Four points integrate the square of a cubic moment exactly."""


def strain_energy(frame: Frame, members: Members, loads: Loads, forces: Array) -> Array:
    """Energy stored in all members (c,) J, integrated over the diagrams of internal forces."""
    edges = breaks(loads.points, len(frame.ends))
    low, wide = edges[:, :-1, None], np.diff(edges)[:, :, None]
    at = (low + wide * (1 + _GAUSS) / 2).reshape(len(edges), -1)
    weight = (wide * _WEIGHT / 2).reshape(len(edges), -1) * members.length[:, None]
    inner = internal_forces(frame, members, loads, forces, at)
    e, g = frame.modulus, frame.shear_modulus
    give = 1 / np.stack(
        (
            e * frame.area,
            g * frame.shear_y,
            g * frame.shear_z,
            g * frame.torsion,
            e * frame.second_y,
            e * frame.second_z,
        ),
        axis=-1,
    )
    return np.asarray(np.einsum("cmsk,mk,ms->c", inner * inner, give, weight) / 2)


def energy_gap(
    frame: Frame, members: Members, loads: Loads, solution: Solution, *, ends: Array, joint: Array
) -> Array:
    """Relative difference of strain energy and work, (c,), for a linear solution; `ends` and `joint`: its
    loads as end loads and at the joints.

    Energy of the diagrams and of the springs stands against the work of the loads on the joints
    plus the energy that loads along members store while the joints stand still (Clapeyron).
    """
    u = solution.displacement
    work = (joint * u).sum(axis=(1, 2)) / 2
    still = -passed_on(members, ends)
    work = work + strain_energy(frame, members, loads, still)
    stored = strain_energy(frame, members, loads, solution.forces)
    stored = stored + (frame.spring * u * u).sum(axis=(1, 2)) / 2
    return np.asarray(np.abs(stored - work) / np.maximum(np.abs(work), np.finfo(float).tiny))


def condition(frame: Frame, members: Members, factor: Factor) -> Array:
    """The scaled matrix's condition number under each set of supports (g,), the largest eigenvalue taken
    as its bound, the largest sum over a column; 1 where nothing can move."""
    each = zip(factor.plan.on, factor.softest.tolist(), strict=True)
    return np.array(
        [_norm(frame, members, factor, on) / least if on.any() else 1.0 for on, least in each]
    )


def _norm(frame: Frame, members: Members, factor: Factor, on: Flags) -> float:
    """The 1-norm of the scaled matrix of the motions `on` (f,): the largest sum over a column."""
    plan, n, scale = factor.plan, len(frame.nodes), factor.scale * on
    scaled = scaled_members(frame, plan, scale, members.world)
    a, b = frame.ends.T
    own = np.zeros((n, 6, 6))
    np.add.at(own, a, scaled[:, :6, :6])
    np.add.at(own, b, scaled[:, 6:, 6:])
    loop = a == b
    np.add.at(own, a[loop], (scaled[:, :6, 6:] + scaled[:, 6:, :6])[loop])
    every = np.zeros(6 * n)
    every[plan.free] = frame.spring.ravel()[plan.free] * scale**2
    own[:, range(6), range(6)] += every.reshape(n, 6)
    apart = np.where((a < b)[:, None, None], scaled[:, :6, 6:], scaled[:, 6:, :6])[~loop]
    pair, at = np.unique(
        (np.minimum(a, b) * n + np.maximum(a, b))[~loop], return_inverse=True
    )  # members between the same joints add up
    between = np.zeros((len(pair), 6, 6))
    np.add.at(between, at, apart)
    columns = np.abs(own).sum(axis=1)
    np.add.at(columns, pair % n, np.abs(between).sum(axis=1))
    np.add.at(columns, pair // n, np.abs(between).sum(axis=2))
    return float(columns.max())


def figures(frame: Frame, loads: Loads, solution: Solution, of: Ready | None = None) -> Figures:
    """The figures of a linear solution; `of` is what it was solved with."""
    found = of or ready(frame)
    if isinstance(found, Refusal):
        raise ValueError("a solution belongs to a frame that could be solved")
    members, factor = found.members, found.factor
    sets = factor.plan.sets(np.arange(loads.cases))
    ends = end_loads(frame, members, loads)
    given = joint_loads(frame, members, loads, ends)
    applied = about_origin(frame.nodes, given)
    supported = about_origin(frame.nodes, solution.reaction)
    both = np.abs(np.concatenate((given, solution.reaction), axis=1))
    force = np.maximum(both[..., :3].max(axis=(1, 2)), np.finfo(float).tiny)
    gap = np.abs(applied + supported) / np.concatenate(
        [force[:, None]] * 3 + [force[:, None] * frame.size] * 3, axis=1
    )
    return Figures(
        applied,
        supported,
        gap.max(axis=1),
        solution.residual,
        energy_gap(frame, members, loads, solution, ends=ends, joint=given),
        condition(frame, members, factor)[sets],
        factor.softest[sets],
    )
