"""Numbering: which motions are free, in which order they are eliminated, and where each entry goes.

A plan depends on joints, members and supports alone, not on geometry or sections: make it once
and solve many variations of a frame with it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import reverse_cuthill_mckee

from generator.frame.model import Array, Frame, Indices


@dataclass(frozen=True)
class Plan:
    """free (f,): free motions (6·joint + motion) in order of elimination; band: entries above the
    diagonal in any column. pick, row, column, slot: entries of the members' matrices that
    go into the upper band, their place in the reduced matrix, and in its banded store
    (band + 1, f), flattened.
    """

    free: Indices
    band: int
    pick: Indices
    row: Indices
    column: Indices
    slot: Indices

    @property
    def size(self) -> int:
        """The number of free motions."""
        return len(self.free)


def _joint_order(frame: Frame) -> Indices:
    """Joints in reverse Cuthill–McKee order, which keeps the band narrow."""
    n, (a, b) = len(frame.nodes), frame.ends.T
    links = csr_array((np.ones(2 * len(a)), (np.r_[a, b], np.r_[b, a])), shape=(n, n))
    return np.asarray(reverse_cuthill_mckee(links, symmetric_mode=True), dtype=np.intp)


def motions_of(ends: Indices) -> Indices:
    """The twelve motions (6·joint + motion) of each member, (m, 12)."""
    six = np.arange(6)
    return np.concatenate((6 * ends[:, :1] + six, 6 * ends[:, 1:] + six), axis=1)


def plan_of(frame: Frame) -> Plan:
    """The plan of a frame."""
    order = (6 * _joint_order(frame)[:, None] + np.arange(6)).ravel()
    free = order[~frame.held.ravel()[order]]
    place = np.full(6 * len(frame.nodes), -1, dtype=np.intp)
    place[free] = np.arange(len(free))
    at = place[motions_of(frame.ends)]
    rows = np.broadcast_to(at[:, :, None], (len(at), 12, 12)).ravel()
    columns = np.broadcast_to(at[:, None, :], (len(at), 12, 12)).ravel()
    pick = np.flatnonzero((rows >= 0) & (rows <= columns))
    row, column = rows[pick], columns[pick]
    band = int((column - row).max(initial=0))
    return Plan(free, band, pick, row, column, (band + row - column) * len(free) + column)


def gathered(plan: Plan, matrices: Array) -> Array:
    """The entries of the members' global matrices (m, 12, 12) that the plan uses."""
    return np.asarray(matrices.reshape(-1)[plan.pick])


def diagonal(plan: Plan, entries: Array, spring: Array) -> Array:
    """The diagonal of the reduced matrix, (f,); `spring` (n, 6) is added."""
    own = plan.row == plan.column
    total = np.bincount(plan.row[own], weights=entries[own], minlength=plan.size)
    return np.asarray(total + spring.reshape(-1)[plan.free])


def banded(plan: Plan, entries: Array) -> Array:
    """The upper band of the reduced matrix as LAPACK stores it, (band + 1, f)."""
    flat = np.bincount(plan.slot, weights=entries, minlength=(plan.band + 1) * plan.size)
    return np.asarray(flat.reshape(plan.band + 1, plan.size))
