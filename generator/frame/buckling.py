"""Elastic critical load: the factor on a load case at which the frame loses its stiffness.

The frame is split by `subdivide` first. The eigenproblem is K·shape = −factor·K_G·shape, with K_G
from the axial forces of the linear solution; the least positive factor is wanted. Loads keep their
direction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import eigh
from scipy.linalg.lapack import dtbtrs
from scipy.sparse import csr_array
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from generator.frame.mechanism import free_motion, named, start_vector
from generator.frame.model import Array, Frame, Refusal
from generator.frame.plan import Plan, gathered, plan_of
from generator.frame.recover import piece_tension
from generator.frame.solve import Factor, factorised, scaled_band, solve
from generator.frame.stiffness import Members, geometric, members_of
from generator.frame.subdivide import Split

NOTHING = 1e-9
"""An eigenvalue 1/factor under this share of the largest is no critical load, only rounding."""

SMALL = 60
"""Free motions up to which all eigenvalues are found at once."""


@dataclass(frozen=True)
class Critical:
    """factor > 0: how many times a case's loads may act before the frame buckles, inf where nothing
    is compressed; under 1 it buckles under the loads as they are. shape (n, 6): the buckled
    shape of the split frame, largest motion 1; node: the joint that moves most, −1 for none.
    """

    factor: float
    shape: Array
    node: int


def geometric_world(frame: Frame, members: Members, tension: Array) -> Array:
    """Geometric stiffness in global axes (m, 12, 12), with freed motions following elastically.

    The following is that without axial force: exact only in the limit of short pieces. With
    four pieces a member it is right to 0.1 % on Euler's columns.
    """
    own = geometric(frame, tension, members.length, members.phi_y, members.phi_z)
    if members.freed.any():
        follow = np.eye(12) * ~members.freed[:, None, :] + members.relax
        own = follow.transpose(0, 2, 1) @ own @ follow
    return np.asarray(members.turn.transpose(0, 2, 1) @ own @ members.turn)


def _sparse(plan: Plan, entries: Array) -> csr_array:
    """A symmetric sparse matrix from entries of its upper half."""
    above = plan.row < plan.column
    rows = np.r_[plan.row, plan.column[above]]
    columns = np.r_[plan.column, plan.row[above]]
    return csr_array(
        (np.r_[entries, entries[above]], (rows, columns)), shape=(plan.size, plan.size)
    )


def _softened(factor: Factor, loss: csr_array, vectors: Array) -> Array:
    """U⁻ᵀ(−K_G)U⁻¹ times vectors (f, k), with K = UᵀU, in scaled motions."""
    inner, _ = dtbtrs(factor.upper, vectors, uplo="U", trans="N")
    outer, _ = dtbtrs(factor.upper, loss @ inner, uplo="U", trans="T")
    return np.asarray(outer)


def _largest(factor: Factor, loss: csr_array) -> tuple[float, Array]:
    """The largest eigenvalue of U⁻ᵀ(−K_G)U⁻¹ and its vector (f, 1)."""
    n = factor.upper.shape[1]
    if n <= SMALL:
        return _of_all(factor, loss)
    operator = LinearOperator(
        (n, n), dtype=np.float64, matvec=lambda v: _softened(factor, loss, v.reshape(-1, 1))[:, 0]
    )
    try:
        values, vectors = eigsh(operator, k=1, which="LA", v0=start_vector(n), tol=1e-10)
    except ArpackNoConvergence:  # where hardly anything is compressed, eigenvalues crowd about 0
        return _of_all(factor, loss)
    return float(values[0]), vectors


def _of_all(factor: Factor, loss: csr_array) -> tuple[float, Array]:
    """The largest of all eigenvalues, found at once."""
    values, vectors = eigh(_softened(factor, loss, np.eye(factor.upper.shape[1])))
    return float(values[-1]), vectors[:, -1:]


def critical_load(
    frame: Frame, plan: Plan, members: Members, factor: Factor, tension: Array
) -> Critical:
    """The critical load of a split frame for the axial forces `tension` (m,) of one case."""
    none = Critical(float("inf"), np.zeros((len(frame.nodes), 6)), -1)
    if not (tension < 0).any() or plan.size == 0:
        return none
    entries = gathered(plan, geometric_world(frame, members, tension))
    scaled = entries * factor.scale[plan.row] * factor.scale[plan.column]
    value, vector = _largest(factor, -_sparse(plan, scaled))
    if value <= NOTHING * np.abs(tension).max() / np.abs(frame.modulus * frame.area).max():
        return none
    free, _ = dtbtrs(factor.upper, vector, uplo="U", trans="N")
    shape = np.zeros(6 * len(frame.nodes))
    shape[plan.free] = free[:, 0] * factor.scale
    six = shape.reshape(-1, 6)
    node, motion = named(frame, six)
    return Critical(1.0 / value, six / six[node, motion], node)


def critical_loads(split: Split) -> tuple[Critical, ...] | Refusal:
    """The elastic critical load of every case in order, or the mechanism that the frame is."""
    linear = solve(split.whole, split.whole_loads)
    if isinstance(linear, Refusal):
        return linear
    plan, members = plan_of(split.frame), members_of(split.frame)
    factor = factorised(split.frame, plan, members.world)
    if factor is None:
        return free_motion(split.frame, plan, *scaled_band(split.frame, plan, members.world))
    tension = piece_tension(split.whole, split.whole_loads, linear, split.pieces)
    return tuple(critical_load(split.frame, plan, members, factor, row) for row in tension)
