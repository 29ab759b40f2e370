"""Mechanisms: telling a frame that can move from one that cannot, and saying which joint moves."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from generator.frame.model import Array, Flags, Frame, Indices, Refusal

SOFTEST = 1e-14
"""A least eigenvalue of the unit-diagonal matrix under this is a mechanism.

Rounding left 3e-16 at most in 2,800 random mechanisms; sound frames were seen down to 1e-12 (a
cantilever of 800 slender tubes in a row). Pivots do not tell them apart so well: mechanisms had
pivots up to 3e-10, where the joint that is eliminated last hardly moves.
"""
FAINT = SOFTEST
"""A diagonal entry under this share of the largest of its kind is rounding, not stiffness."""
SHIFT = 1e-10
"""What is added to the unit diagonal to find the free motion of a singular matrix."""
LARGE_ROTATION = 1.0
"""Rotation in rad beyond which small-displacement theory has nothing to say."""


def scales(diagonal: Array, is_translation: Flags) -> Array:
    """Factors that bring the diagonal to 1, (f,), but faint entries to their share of the largest.

    A joint that only rounding holds must not be scaled up to look held.
    """
    kept = np.array(diagonal)
    for kind in (is_translation, ~is_translation):
        largest = kept[kind].max(initial=0.0) or 1.0
        kept[kind] = np.where(kept[kind] > FAINT * largest, kept[kind], largest)
    return np.asarray(1.0 / np.sqrt(kept))


def start_vector(size: int) -> Array:
    """Where iterations begin: the same every time, and without a symmetry that hides a mode."""
    return np.asarray(1.0 + 0.5 * np.cos(np.arange(size)))


def least_eigenvalue(solve: Callable[[Array], Array], on: Flags) -> Array:
    """The least eigenvalues (g,) of g matrices of f rows that `solve` solves with, (f, g) to (f, g), by
    three steps of inverse iteration; on (g, f): their rows that are free, inf where none is.

    Never less than the true one, and close to it where it matters: near 0.
    """
    vector, some = start_vector(on.shape[1])[:, None] * on.T, on.any(axis=1)
    least = np.full(len(on), np.inf)
    for _ in range(3 if some.any() else 0):
        length = np.sqrt((vector * vector).sum(axis=0))
        vector = solve(vector / np.where(some, length, 1.0))
        length = np.sqrt((vector * vector).sum(axis=0))
        least = np.divide(1.0, length, out=least, where=some & (length > 0.0))
    return least


def _softest(band: Array) -> Array:
    """The motion that the scaled matrix resists least, by inverse iteration with a small shift.

    ValueError where no shift makes the matrix positive definite: it then holds no finite numbers.
    """
    from scipy.linalg.lapack import dpbtrs  # noqa: PLC0415  (slow to import, seldom needed)

    upper = _shifted_factor(band)
    motion = start_vector(band.shape[1])
    for _ in range(4):
        motion, _ = dpbtrs(upper, motion[:, None], lower=0)
        motion = motion[:, 0] / np.abs(motion).max()
    return np.asarray(motion)


def _shifted_factor(band: Array) -> Array:
    """The factor of the matrix, shifted by as little as makes it positive definite."""
    from scipy.linalg.lapack import dpbtrf  # noqa: PLC0415

    for shift in (SHIFT, *(0.1 * 2.0**n for n in range(60))):
        shifted = band.copy()
        shifted[-1] += shift
        upper, info = dpbtrf(shifted, lower=0)
        if info == 0:
            return np.asarray(upper)
    raise ValueError("the stiffness matrix holds no finite numbers")


def named(frame: Frame, shape: Array) -> tuple[int, int]:
    """The joint that moves most in a shape (n, 6), and which of its motions.

    Translations, as shares of the frame's size, come first; rotations only where little moves.
    """
    moves, turns = np.abs(shape[:, :3]), np.abs(shape[:, 3:])
    if moves.max() >= 0.01 * frame.size * turns.max():
        node, motion = np.unravel_index(np.argmax(np.round(moves / moves.max(), 6)), moves.shape)
        return int(node), int(motion)
    node, motion = np.unravel_index(np.argmax(np.round(turns / turns.max(), 6)), turns.shape)
    return int(node), int(motion) + 3


def free_motion(frame: Frame, free: Indices, band: Array, scale: Array) -> Refusal:
    """The mechanism of a frame whose scaled matrix, in banded store, is singular; `free` (f,) are its
    motions."""
    shape = np.zeros(6 * len(frame.nodes))
    shape[free] = _softest(band) * scale
    six = shape.reshape(-1, 6)
    node, motion = named(frame, six)
    return Refusal("free", node, motion, six / np.abs(six[node, motion]))


def excessive(frame: Frame, displacement: Array) -> Refusal | None:
    """A refusal where a joint moves over half the frame's size or turns over LARGE_ROTATION."""
    share = np.abs(displacement) / np.array((0.5 * frame.size,) * 3 + (LARGE_ROTATION,) * 3)
    if share.max(initial=0.0) <= 1.0:
        return None
    case, node, motion = (int(i) for i in np.unravel_index(np.argmax(share), share.shape))
    return Refusal("excessive", node, motion, displacement[case], case)
