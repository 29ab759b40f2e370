"""The whole matrix of a frame as a band, for one that cannot be solved: which motion is free?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from generator.frame.mechanism import scales
from generator.frame.model import Array, Frame, Indices
from generator.frame.plan import motions_of


@dataclass(frozen=True)
class Band:
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
    from scipy.sparse import csr_array  # noqa: PLC0415  (slow to import, seldom needed)
    from scipy.sparse.csgraph import reverse_cuthill_mckee  # noqa: PLC0415

    n, (a, b) = len(frame.nodes), frame.ends.T
    links = csr_array((np.ones(2 * len(a)), (np.r_[a, b], np.r_[b, a])), shape=(n, n))
    return np.asarray(reverse_cuthill_mckee(links, symmetric_mode=True), dtype=np.intp)


def band_of(frame: Frame) -> Band:
    """The numbering of a frame."""
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
    return Band(free, band, pick, row, column, (band + row - column) * len(free) + column)


def gathered(band: Band, matrices: Array) -> Array:
    """The entries of the members' global matrices (m, 12, 12) that the plan uses."""
    return np.asarray(matrices.reshape(-1)[band.pick])


def diagonal(band: Band, entries: Array, spring: Array) -> Array:
    """The diagonal of the reduced matrix, (f,); `spring` (n, 6) is added."""
    own = band.row == band.column
    total = np.bincount(band.row[own], weights=entries[own], minlength=band.size)
    return np.asarray(total + spring.reshape(-1)[band.free])


def banded(band: Band, entries: Array) -> Array:
    """The upper band of the reduced matrix as LAPACK stores it, (band + 1, f)."""
    flat = np.bincount(band.slot, weights=entries, minlength=(band.band + 1) * band.size)
    return np.asarray(flat.reshape(band.band + 1, band.size))


def scaled_band(frame: Frame, world: Array) -> tuple[Band, Array, Array]:
    """The numbering, the reduced matrix scaled to a unit diagonal in banded store, the scale (f,)."""
    band = band_of(frame)
    entries = gathered(band, world)
    own = diagonal(band, entries, frame.spring)
    scale = scales(own, band.free % 6 < 3)
    stored = banded(band, entries * scale[band.row] * scale[band.column])
    stored[band.band] = own * scale * scale
    return band, stored, scale
