"""What AISC 360's direct analysis method adds to second order, so that K may stay 1 where joints sway.

A frame as drawn, stiff as new, tells too little of columns that sway and are bent. The method takes
the frame a fifth softer and out of plumb. Both are had here without solving it again: a softer frame
magnifies what second order adds, and a frame out of plumb in the shape in which it sways moves on in
that shape.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.frame.buckling import Critical, sway_loads
from generator.frame.loading import end_loads
from generator.frame.model import Array, Frame, Indices, no_loads
from generator.frame.recover import internal_forces
from generator.frame.solve import Ready, end_forces
from generator.frame.stiffness import Members

SOFT = 0.8
"""Share of every stiffness that is counted (C2.3)."""
LEAN = 0.003
"""How far columns are out of plumb, as a share of their length: 1/500 (C2.2), and 1/1000 more in place
of a stiffness reduced again where columns are pressed by more than half of their yield load (C2.3)."""
BOWED = math.pi**2 / 12.0
"""The least share of P-Δ's critical load at which a frame that sways buckles, its tubes bowing too."""
SOURCE = (
    "ANSI/AISC 360-22, C2.2 and C2.3: stiffness × 0.8, 1/500 out of plumb and 1/1000 more in place "
    "of τ_b, as quoted in several public programs and manuals"
)


@dataclass(frozen=True, eq=False)
class Columns:
    """What counts as one length of column: its two joints (k, 2), and the column of each straight
    piece (p,)."""

    ends: Indices
    of_piece: Indices


@dataclass(frozen=True, eq=False)
class Sway:
    """straight: the factor on the load at which the frame would sway, were its tubes to stay straight;
    factor: no more than that at which it sways; shape (n, 6): how, its columns leaning by LEAN."""

    straight: float
    factor: float
    shape: Array


def softened(first: Array, second: Array, multiple: float) -> Array:
    """Section forces in a frame of SOFT times the stiffness, from those in first and second order.

    `multiple` is the critical factor of that load, over 1 / SOFT. What second order adds grows
    like 1 / (multiple − 1) in the mode that buckles first, and by less in every other.
    """
    more = 1.0 / SOFT
    if math.isfinite(multiple):
        more = (multiple - 1.0) / (SOFT * multiple - 1.0)
    return np.asarray(first + more * (second - first))


@dataclass(frozen=True, eq=False)
class Sways:
    """How each case sways, None where it does not; found (c,): whether the search for it ended."""

    each: tuple[Sway | None, ...]
    found: tuple[bool, ...]


def sways(frame: Frame, of: Ready, tension: Array, columns: Columns, least: Array) -> Sways:
    """How the frame sways under axial forces `tension` (c, p) of its pieces.

    `least` (c,) are the critical factors by any mode: it sways no sooner.
    """
    a, b = frame.ends.T
    length = np.linalg.norm(frame.nodes[b] - frame.nodes[a], axis=1)
    share = np.zeros((len(length), len(columns.ends)))
    share[np.arange(len(length)), columns.of_piece] = length
    mean = tension @ (share / share.sum(axis=0))
    found = sway_loads(frame, of, columns.ends, mean)
    rows = zip(found, mean, least.tolist(), strict=True)
    each = tuple(None if c is None else _sway(frame, c, n, columns, low) for c, n, low in rows)
    return Sways(each, tuple(c is not None for c in found))


def _sway(
    frame: Frame, found: Critical, tension: Array, columns: Columns, least: float
) -> Sway | None:
    """The sway of one case; None: it does not."""
    if not math.isfinite(found.factor):
        return None
    leans = _leans(frame, found.shape, tension, columns)
    if leans <= 0.0:
        return None
    factor = max(least, BOWED * found.factor)
    return Sway(found.factor, factor, found.shape * (LEAN / leans))


def _leans(frame: Frame, shape: Array, tension: Array, columns: Columns) -> float:
    """The slope that stands for those of all pressed columns in a shape: the mean of its square,
    each column counting by its share of the work of the axial forces."""
    a, b = columns.ends.T
    along = frame.nodes[b] - frame.nodes[a]
    straight = np.linalg.norm(along, axis=1)
    some = np.where(straight > 0.0, straight, 1.0)
    along = along / some[:, None]
    moved = shape[b, :3] - shape[a, :3]
    across = moved - (moved * along).sum(axis=1)[:, None] * along
    slope = (across * across).sum(axis=1) / some**2
    work = np.maximum(-tension, 0.0) * straight * slope
    return float(np.sqrt((work * slope).sum() / work.sum())) if work.sum() > 0.0 else 0.0


def leaning(frame: Frame, members: Members, found: Sequence[Sway], at: Array) -> Array:
    """Section forces (k, p, s, 6) at stations `at` (p, s) that each lean gives the softened frame.

    In first order the lean grows by 1 / `straight` of itself, and second order multiplies that.
    """
    none = no_loads(frame, len(found))
    grown = [s.shape / (s.straight * (1.0 - 1.0 / (SOFT * s.factor))) for s in found]
    moved = np.array(grown).reshape(len(found), len(frame.nodes), 6)
    forces = end_forces(frame, members, end_loads(frame, members, none), moved)
    return internal_forces(frame, members, none, forces, at)


def worsened(forces: Array, by: Array) -> Array:
    """Section forces (…, 6) with others added the way that makes each larger: which way a frame
    leans is not known. Shears and bending moments are added along their resultants; where leaning
    presses more than a tube is pulled, all counts as pressure, which strength is less for."""
    out = np.empty_like(forces)
    for part in ((1, 2), (3,), (4, 5)):
        own, more = (np.sqrt(sum(f[..., k] ** 2 for k in part)) for f in (forces, by))
        grown = 1.0 + np.divide(more, own, out=np.zeros_like(own), where=own > 0.0)
        for k in part:
            out[..., k] = forces[..., k] * grown
        out[..., part[0]] += np.where(own > 0.0, 0.0, more)
    n, more = forces[..., 0], np.abs(by[..., 0])
    out[..., 0] = np.where(n > more, n + more, -(np.abs(n) + more))
    return out
