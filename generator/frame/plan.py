"""Numbering: which motions are free, which joints are eliminated first, and where each entry goes.

A plan depends on joints, members and supports alone, not on geometry or sections: make it once
and solve many variations of a frame with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from generator.frame.elimination import Level, levels_of, may_go
from generator.frame.model import Array, Flags, Frame, Indices

DENSE = 500
"""Motions at joints of three members or more up to which their matrix is full; beyond, it is a band."""


@dataclass(frozen=True, eq=False)
class Plan:
    """free (f,): motions (6·joint + motion) that are free in any case. on (g, f): which of them are free
    under each of the g sets of supports; set_of (c,): the set of each case, one for any number of cases
    where there is one set. levels: the joints that go first; root (r,): the motions that are left, in
    order of elimination; dense: whether their matrix is stored in full, (r, r), or as an upper band as
    LAPACK has it, (band + 1, r); pick, slot: entries of the matrices of the members left of all, joined
    ones after the frame's, and where they go.
    """

    joints: int
    free: Indices
    on: Flags
    set_of: Indices
    levels: tuple[Level, ...]
    root: Indices
    band: int
    pick: Indices
    slot: Indices

    @property
    def size(self) -> int:
        """The number of free motions."""
        return len(self.free)

    @property
    def dense(self) -> bool:
        """Whether the matrix that is left is stored in full."""
        return len(self.root) <= DENSE

    def sets(self, cases: Indices) -> Indices:
        """The set of supports of some cases (k,)."""
        one = len(self.on) == 1
        return np.zeros(len(cases), dtype=np.intp) if one else self.set_of[cases]

    @cached_property
    def root_on(self) -> Flags:
        """Which of the motions that are left are free under each set, (g, r)."""
        every = np.zeros((len(self.on), 6 * self.joints), dtype=bool)
        every[:, self.free] = self.on
        return every[:, self.root]

    def held(self, stored: Array, sets: Indices) -> Array:
        """Matrices as they are stored, (1 or k, …, r), with what is held in each case (k,) cut off."""
        out = np.array(np.broadcast_to(stored, (len(sets), *stored.shape[1:])))
        for number, on in enumerate(self.root_on):
            cases, off = np.flatnonzero(sets == number)[:, None], np.flatnonzero(~on)
            out[cases, :, off] = 0.0
            if self.dense:
                out[cases, off] = 0.0
                out[cases, off, off] = 1.0
            else:
                for row in off.tolist():
                    along = np.arange(row, min(row + self.band + 1, len(on)))
                    out[cases, self.band + row - along, along] = 0.0
                out[cases, self.band, off] = 1.0
        return out

    def stored(self, members: Array) -> Array:
        """The matrix of each case's members that are left of all (c, m, 12, 12), as it is stored, nothing
        held."""
        rows = len(self.root) if self.dense else self.band + 1
        flat = members.reshape(len(members), -1)[:, self.pick]
        size = rows * len(self.root)
        found = np.zeros((len(members), size))
        for row, own in zip(found, flat, strict=True):
            row[:] = np.bincount(self.slot, weights=own, minlength=size)
        return found.reshape(len(members), rows, len(self.root))


def motions_of(ends: Indices) -> Indices:
    """The twelve motions (6·joint + motion) of each member, (m, 12)."""
    six = np.arange(6)
    return np.concatenate((6 * ends[:, :1] + six, 6 * ends[:, 1:] + six), axis=1)


def plan_of(frame: Frame) -> Plan:
    """The plan of a frame."""
    levels, left = levels_of(frame.ends, may_go(frame))
    ends = np.concatenate((frame.ends, *(level.outer for level in levels)))[left]
    stay = np.ones(len(frame.nodes), dtype=bool)
    for level in levels:
        stay[level.mid] = False
    sets, set_of = _sets(frame.held.reshape(-1, 6 * len(stay)))
    held = np.asarray(sets.all(axis=0))
    free = np.flatnonzero(~held)
    order = np.flatnonzero(stay)
    if (~held.reshape(-1, 6)[order]).sum() > DENSE:
        order = _narrow(order, ends, len(stay))
    root = (6 * order[:, None] + np.arange(6)).ravel()
    root = root[~held[root]]
    place = np.full(6 * len(stay), -1, dtype=np.intp)
    place[root] = np.arange(len(root))
    at = place[motions_of(ends)]
    rows = np.broadcast_to(at[:, :, None], (len(at), 12, 12)).ravel()
    columns = np.broadcast_to(at[:, None, :], (len(at), 12, 12)).ravel()
    if len(root) <= DENSE:
        pick = np.flatnonzero((rows >= 0) & (columns >= 0))
        band, slot = 0, rows[pick] * len(root) + columns[pick]
    else:
        pick = np.flatnonzero((rows >= 0) & (rows <= columns))
        row, column = rows[pick], columns[pick]
        band = int((column - row).max(initial=0))
        slot = (band + row - column) * len(root) + column
    on = ~sets[:, free]
    pick = 144 * left[pick // 144] + pick % 144
    return Plan(len(stay), free, on, set_of, levels, root, band, pick, slot)


def _sets(held: Flags) -> tuple[Flags, Indices]:
    """The unlike rows of what is held in each case (c, 6n), in the order they come in, and each case's."""
    numbers: dict[bytes, int] = {}
    of = [numbers.setdefault(row.tobytes(), len(numbers)) for row in held]
    return held[[of.index(number) for number in numbers.values()]], np.array(of, dtype=np.intp)


def _narrow(joints: Indices, ends: Indices, count: int) -> Indices:
    """Joints in reverse Cuthill–McKee order, which keeps the band narrow."""
    from scipy.sparse import csr_array  # noqa: PLC0415  (slow to import; only big frames need it)
    from scipy.sparse.csgraph import reverse_cuthill_mckee  # noqa: PLC0415

    place = np.full(count, -1, dtype=np.intp)
    place[joints] = np.arange(len(joints))
    a, b = place[ends].T
    size = (len(joints), len(joints))
    links = csr_array((np.ones(2 * len(a)), (np.r_[a, b], np.r_[b, a])), shape=size)
    return np.asarray(joints[reverse_cuthill_mckee(links, symmetric_mode=True)], dtype=np.intp)
