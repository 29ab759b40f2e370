"""A frame in pieces, factorised once for all its load cases.

Most joints of such a frame stand amid a tube and have two neighbours. A sparse elimination that takes
them first leaves factors not much larger than the matrix, where a band would be mostly zeros. Motions
here are scaled ones, in which the stiffness has a unit diagonal: motions = scale × scaled motions.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.linalg import SuperLU, splu

from generator.frame.band import Band as Plan
from generator.frame.band import band_of as plan_of
from generator.frame.band import diagonal, gathered
from generator.frame.mechanism import scales
from generator.frame.model import Array, Frame, Indices
from generator.frame.stiffness import Members, bowing, following, loaded, members_of


@dataclass(frozen=True)
class Pattern:
    """Where entries of the members' matrices go in a symmetric sparse matrix: source (k,) picks
    them in the order of their places, starts (z,) is where each place's begin, indices and
    indptr are the matrix's own."""

    source: Indices
    starts: Indices
    indices: NDArray[np.intc]
    indptr: NDArray[np.intc]

    def matrix(self, entries: Array) -> csr_array:
        """The matrix (f, f) of the entries that a plan uses, (e,); of several cases' entries (k, e) the
        matrix (k·f, k·f) that has each case's as a block, so that one product serves them all."""
        rows = np.atleast_2d(entries)[:, self.source]
        data = np.add.reduceat(rows, self.starts, axis=1)
        count, size = len(rows), len(self.indptr) - 1
        shift = np.arange(count, dtype=np.intc)[:, None]
        indices = (self.indices + size * shift).ravel()
        indptr = np.append((self.indptr[:-1] + len(self.indices) * shift).ravel(), data.size)
        shape = (count * size, count * size)
        return csr_array((data.ravel(), indices, indptr.astype(np.intc)), shape=shape)


@dataclass(frozen=True, eq=False)
class Fine:
    """scale (f,); stiffness (f, f) scaled, and its factor; unit (m, 12, 12): the pieces' geometric
    stiffness for 1 N in local axes; bow (k,): its scaled entries in the plan's order, freed motions
    following elastically; of (k,): which piece each entry is of; freed (q,): the pieces with any."""

    frame: Frame
    plan: Plan
    members: Members
    pattern: Pattern
    scale: Array
    stiffness: csr_array
    factor: SuperLU
    unit: Array
    bow: Array
    of: Indices
    pair: Array
    freed: Indices
    place: Indices
    within: Indices

    def geometric(self, tension: Array) -> csr_array:
        """The scaled geometric stiffness for axial forces `tension` (k, m), a block each."""
        return self.pattern.matrix(self.bow * tension[:, self.of])

    def tangent(self, tension: Array) -> csr_array:
        """What axial forces (k, m) add to the scaled stiffness, a block each, freed motions following
        exactly."""
        entries = self.bow * tension[:, self.of]
        if len(self.freed):
            own = self.members.pick(self.freed)
            with_it = loaded(own, self.unit[self.freed], tension[:, self.freed])
            more = (with_it.world - own.world).reshape(len(tension), -1)
            entries[:, self.place] = more[:, self.within] * self.pair[self.place]
        return self.pattern.matrix(entries)


def pattern_of(plan: Plan) -> Pattern:
    """The places of a plan's entries, the lower half beside the upper."""
    above = np.flatnonzero(plan.row < plan.column)
    source = np.concatenate((np.arange(len(plan.row)), above))
    rows = np.concatenate((plan.row, plan.column[above]))
    columns = np.concatenate((plan.column, plan.row[above]))
    place = rows * plan.size + columns
    order = np.argsort(place, kind="stable")
    place = place[order]
    starts = np.flatnonzero(np.r_[True, place[1:] != place[:-1]])
    counts = np.bincount(place[starts] // plan.size, minlength=plan.size)
    indptr = np.concatenate(([0], np.cumsum(counts)))
    indices = (place[starts] % plan.size).astype(np.intc)  # what the factorisation takes
    return Pattern(source[order], starts, indices, indptr.astype(np.intc))


def finely(frame: Frame, members: Members | None = None) -> Fine | None:
    """A frame that can be solved, ready for all its cases; None where nothing can move, or where it
    does not resist."""
    plan, members = plan_of(frame), members or members_of(frame)
    if not plan.size:
        return None
    entries = gathered(plan, members.world)
    own = diagonal(plan, entries, frame.spring)
    scale = scales(own, plan.free % 6 < 3)
    pair = scale[plan.row] * scale[plan.column]
    pattern = pattern_of(plan)
    stiffness = pattern.matrix(entries * pair)
    stiffness.setdiag(own * scale * scale)
    factor = factor_of(stiffness)
    if factor is None:
        return None
    unit = bowing(frame, members)
    bow = gathered(plan, following(members, unit)) * pair
    of, freed = plan.pick // 144, np.flatnonzero(members.freed.any(axis=1))
    place = np.flatnonzero(np.isin(of, freed))
    within = 144 * np.searchsorted(freed, of[place]) + plan.pick[place] % 144
    return Fine(
        frame,
        plan,
        members,
        pattern,
        scale,
        stiffness,
        factor,
        unit,
        bow,
        of,
        pair,
        freed,
        place,
        within,
    )


def factor_of(matrix: csr_array) -> SuperLU | None:
    """The factor of a symmetric matrix by pivots on its diagonal, None where one is not positive."""
    options = {"SymmetricMode": True}
    try:
        found = splu(matrix.T, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options)
    except RuntimeError:  # exactly singular
        return None
    return found if (found.U.diagonal() > 0.0).all() else None
