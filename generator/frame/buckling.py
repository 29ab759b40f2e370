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
from scipy.sparse.linalg import ArpackError, LinearOperator, eigsh

from generator.frame.mechanism import free_motion, named, start_vector
from generator.frame.model import Array, Frame, Indices, Refusal
from generator.frame.plan import Plan, gathered, plan_of
from generator.frame.recover import piece_tension
from generator.frame.solve import Factor, factorised, scaled_band, solve
from generator.frame.stiffness import Members, geometric, members_of
from generator.frame.subdivide import Split

NOTHING = 1e-9
"""An eigenvalue 1/factor under this share of the largest is no critical load, only rounding."""

ENOUGH = 1e-6
"""Bound on an eigenvalue's relative error at which the search for it ends; it is then some 12 digits."""
VECTORS = 10
"""Lanczos vectors of that search: more cost more than they save."""
SMALL = 60
"""Free motions up to which all eigenvalues are found at once."""
DENSE = 6000
"""Free motions beyond which they are never: it would take minutes."""


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
        values, vectors = eigsh(
            operator, k=1, which="LA", v0=start_vector(n), tol=ENOUGH, ncv=VECTORS
        )
    except ArpackError:  # where hardly anything is compressed, eigenvalues crowd about 0
        if n > DENSE:
            raise
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
    if not (tension < 0).any() or plan.size == 0:
        return _no_load(frame)
    entries = gathered(plan, geometric_world(frame, members, tension))
    scaled = entries * factor.scale[plan.row] * factor.scale[plan.column]
    return _critical(frame, factor, plan, _sparse(plan, scaled), tension)


def sway_load(
    frame: Frame, plan: Plan, factor: Factor, columns: Indices, tension: Array
) -> Critical:
    """The critical load by P-Δ alone, of a frame that need not be split.

    columns (k, 2): the joints at the ends of each; tension (k,) N. What the axial force does is
    counted between those joints alone: a column's own bow is not seen, so that it hides no sway.
    What sways bows too: it buckles at 0.82 (π²/12) of this at the least.
    """
    if not (tension < 0).any() or plan.size == 0:
        return _no_load(frame)
    gain = chords(frame, plan, factor, columns, tension)
    if np.abs(gain.data).max(initial=0.0) <= _rounding(frame, tension):
        return _no_load(frame)
    return _critical(frame, factor, plan, gain, tension)


def chords(frame: Frame, plan: Plan, factor: Factor, columns: Indices, tension: Array) -> csr_array:
    """N/L against the movement of columns' ends across them, in scaled motions (f, f)."""
    along = frame.nodes[columns[:, 1]] - frame.nodes[columns[:, 0]]
    length = np.linalg.norm(along, axis=1)
    real = length > 0.0  # a tube that comes back to where it began has no chord
    columns, along, length = columns[real], along[real], length[real]
    along = along / length[:, None]
    across = np.eye(3) - along[:, :, None] * along[:, None, :]
    block = (tension[real] / length)[:, None, None] * across
    world = np.block([[block, -block], [-block, block]])
    place = np.full(6 * len(frame.nodes), -1, dtype=np.intp)
    place[plan.free] = np.arange(plan.size)
    at = place[(6 * columns[:, :, None] + np.arange(3)).reshape(-1, 6)]
    rows = np.broadcast_to(at[:, :, None], world.shape).ravel()
    cols = np.broadcast_to(at[:, None, :], world.shape).ravel()
    keep = (rows >= 0) & (cols >= 0)
    rows, cols, entries = rows[keep], cols[keep], world.ravel()[keep]
    entries = entries * factor.scale[rows] * factor.scale[cols]
    return csr_array((entries, (rows, cols)), shape=(plan.size, plan.size))


def _rounding(frame: Frame, tension: Array) -> float:
    """What an eigenvalue 1/factor must be over to be more than rounding."""
    return NOTHING * float(np.abs(tension).max() / np.abs(frame.modulus * frame.area).max())


def _no_load(frame: Frame) -> Critical:
    """No critical load: nothing is pressed, or nothing moves."""
    return Critical(float("inf"), np.zeros((len(frame.nodes), 6)), -1)


def _critical(
    frame: Frame, factor: Factor, plan: Plan, gain: csr_array, tension: Array
) -> Critical:
    """The critical load for a geometric stiffness `gain` in scaled motions."""
    value, vector = _largest(factor, -gain)
    if value <= _rounding(frame, tension):
        return _no_load(frame)
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
