"""The largest eigenvalue of loss · v = value · stiffness · v, for several losses with one stiffness.

Lanczos's method in the stiffness's own inner product, so that only solving with it is needed; all
losses take each step together, as columns of one solve. A basis that grows too long is replaced by
its best vectors (thick restart: K. Wu and H. Simon, SIAM J. Matrix Anal. Appl. 22 (2000) 602, from
memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from generator.frame.mechanism import start_vector
from generator.frame.model import Array, Flags

ENOUGH = 1e-5
"""Bound on an eigenvector's residual over its eigenvalue at which the search ends. An eigenvalue is
off by that squared: some nine digits are right. Of the vector itself some five are: whoever
computes with it asks for more."""
STEPS = 20
"""Vectors of a basis before it is replaced: more cost more than they save."""
SMALL = 100
"""Motions up to which a basis may hold all: where hardly anything is pressed, eigenvalues crowd
about 0, and only a whole basis tells them apart."""
ROUNDING = 1e-14
"""Residual over the largest eigenvalue of either sign under which nothing more is to be had."""
SPENT = 1e-9
"""What is left of a vector, as a share of it, under which it is but rounding, and no new direction. Nor
is it looked for where less is left than was asked for: it would be made of rounding."""
KEPT = 8
"""How many of its best vectors go on."""
ROUNDS = 40
"""Bases after which a search is given up."""
LOOK = 3
"""Steps from one look at the eigenvalues to the next."""
ROOM = 10_000_000
"""Numbers that bases may hold at once: 80 MB. More losses than fit go one group after another."""


@dataclass(frozen=True, eq=False)
class Largest:
    """value (c,): the largest eigenvalues; vector (c, f), stiffness norm 1; found (c,): whether the
    search ended."""

    value: Array
    vector: Array
    found: Flags


@dataclass(eq=False)
class _Basis:
    """vectors and the stiffness times them (c, STEPS + 1, f); held (c, STEPS, STEPS): the loss seen
    in the basis; enough: the residual asked for, nothing (c,): the value under which none is."""

    vectors: Array
    forces: Array
    held: Array
    enough: float
    nothing: Array


class Loss(Protocol):
    """Symmetric matrices of c cases, one after another on a diagonal: what is asked of them."""

    @property
    def shape(self) -> tuple[int, ...]:
        """Rows and columns."""

    def __matmul__(self, motions: Array, /) -> Array:
        """Times motions (c·f,)."""

    def __getitem__(self, some: tuple[slice, slice], /) -> Loss:
        """Those of some cases."""


Solve = Callable[[Array, slice], Array]
"""Takes forces (f, k) of some of the cases, a slice of them, to motions."""


_Solve = Callable[[Array], Array]


def largest(
    solve: Solve, loss: Loss, nothing: Array, enough: float = ENOUGH, begin: Array | None = None
) -> Largest:
    """The largest eigenvalue of each of c symmetric losses (f, f), the blocks of `loss` (c·f, c·f);
    `solve` takes forces to motions.

    nothing (c,): eigenvalues under it count as 0, and need not be known better; begin (c, f): where the
    search begins, which must not be square to what is searched.
    """
    count = len(nothing)
    size = loss.shape[0] // count
    at_once = max(1, int(ROOM / (2 * (STEPS + 1) * size)))
    first = np.broadcast_to(start_vector(size), (count, size)) if begin is None else begin
    parts = []
    for k in range(0, count, at_once):
        some = slice(k * size, (k + at_once) * size)
        own = loss if at_once >= count else loss[some, some]
        cases = slice(k, k + at_once)

        def solved(forces: Array, of: slice = cases) -> Array:
            return solve(forces, of)

        parts.append(_largest(solved, own, nothing[cases], enough, first[cases]))
    return Largest(
        np.concatenate([p.value for p in parts]),
        np.concatenate([p.vector for p in parts]),
        np.concatenate([p.found for p in parts]),
    )


def _largest(solve: _Solve, loss: Loss, nothing: Array, enough: float, first: Array) -> Largest:
    count = len(nothing)
    size = loss.shape[0] // count
    steps = STEPS if size > SMALL else size
    basis = _Basis(
        np.zeros((count, steps + 1, size)),
        np.zeros((count, steps + 1, size)),
        np.zeros((count, steps, steps)),
        enough,
        nothing,
    )
    motion, force = _applied(solve, loss, first)
    _add(basis, 0, motion, force, _norm(motion, force))
    begin, value, share, found = 0, np.zeros(0), np.zeros(0), np.zeros(count, dtype=bool)
    for again in range(ROUNDS):
        begin = _restarted(basis, value, share) if again else 0
        for k in range(begin, steps):
            left = _step(solve, loss, basis, k)
            if k + 1 == steps or (k > begin and k % LOOK == 0):
                value, share = np.linalg.eigh(basis.held[:, : k + 1, : k + 1])
                off = left * np.abs(share[:, -1, -1])
                asked = enough * np.maximum(np.abs(value[:, -1]), nothing)
                found = off <= np.maximum(asked, ROUNDING * np.abs(value).max(axis=1))
                if found.all() or (k + 1 == size):
                    return _ended(basis, value, share, found | (k + 1 == size))
    return _ended(basis, value, share, found)


def _applied(solve: _Solve, loss: Loss, vectors: Array) -> tuple[Array, Array]:
    """What each loss makes of its vector (c, f): a force, and the motion that it causes."""
    force = (loss @ vectors.reshape(-1)).reshape(vectors.shape)
    return solve(force.T).T, force


def _norm(motion: Array, force: Array) -> Array:
    return np.asarray(np.sqrt(np.maximum((motion * force).sum(axis=1), 0.0)))


def _add(basis: _Basis, k: int, motion: Array, force: Array, norm: Array) -> None:
    """Set vector `k`; a vector of no length stays 0, and adds nothing."""
    by = np.divide(1.0, norm, out=np.zeros_like(norm), where=norm > 0.0)[:, None]
    basis.vectors[:, k], basis.forces[:, k] = motion * by, force * by


def _step(solve: _Solve, loss: Loss, basis: _Basis, k: int) -> Array:
    """Add the vector after number `k`; the length (c,) that was left of it."""
    motion, force = _applied(solve, loss, basis.vectors[:, k])
    known, their = basis.vectors[:, : k + 1], basis.forces[:, : k + 1]
    whole = _norm(motion, force)
    for again in range(2):  # twice is enough to be square to all of them
        share = (known @ force[:, :, None])[:, :, 0]
        motion = motion - (share[:, None] @ known)[:, 0]
        force = force - (share[:, None] @ their)[:, 0]
        if again == 0:
            basis.held[:, : k + 1, k] = basis.held[:, k, : k + 1] = share
    left = _norm(motion, force)
    value = np.maximum(basis.held.diagonal(axis1=1, axis2=2).max(axis=1), basis.nothing)
    left = np.where(left > np.maximum(SPENT * whole, basis.enough * value), left, 0.0)
    _add(basis, k + 1, motion, force, left)
    return left


def _restarted(basis: _Basis, value: Array, share: Array) -> int:
    """Keep the best vectors of a full basis and the one that was to be next; how many are kept."""
    steps = value.shape[1]
    kept = min(KEPT, int(steps) - 1)
    best = share[:, :, -kept:].swapaxes(1, 2)
    for vectors in (basis.vectors, basis.forces):
        after = vectors[:, steps].copy()
        vectors[:, :kept] = best @ vectors[:, :steps]
        vectors[:, kept] = after
    basis.held[:] = 0.0
    for k in range(kept):
        basis.held[:, k, k] = value[:, k - kept]
    return kept


def _ended(basis: _Basis, value: Array, share: Array, found: Flags) -> Largest:
    steps = value.shape[1]
    vector = (share[:, None, :, -1] @ basis.vectors[:, :steps])[:, 0]
    return Largest(value[:, -1], vector, found)
