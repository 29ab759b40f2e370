"""Elastic critical load: the factor on a load case at which the frame loses its stiffness.

The frame is split by `subdivide` first. The eigenproblem is K·shape = −factor·K_G·shape, with K_G
from the axial forces of the linear solution; the least positive factor is wanted. Loads keep their
direction. All cases are searched together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from generator.frame.band import Band
from generator.frame.fine import Fine, finely
from generator.frame.lanczos import ENOUGH, Solve, largest
from generator.frame.mechanism import named
from generator.frame.model import Array, Frame, Indices, Refusal
from generator.frame.plan import Plan
from generator.frame.recover import piece_tension
from generator.frame.solve import Ready, mechanism_of, solve
from generator.frame.stiffness import members_of
from generator.frame.subdivide import Split

NOTHING = 1e-9
"""An eigenvalue 1/factor under this share of the largest is no critical load, only rounding."""
SHAPED = 1e-9
"""Residual up to which the shape of a sway is searched: forces are computed from it."""


@dataclass(frozen=True)
class Critical:
    """factor > 0: how many times a case's loads may act before the frame buckles, inf where nothing
    is compressed; under 1 it buckles under the loads as they are. shape (n, 6): the buckled
    shape of the split frame, largest motion 1; node: the joint that moves most, −1 for none.
    """

    factor: float
    shape: Array
    node: int


def criticals(fine: Fine, tension: Array) -> tuple[Critical | None, ...]:
    """The critical load of a split frame for the axial forces `tension` (c, m) of each case; None where
    the search for it did not end."""
    some = np.flatnonzero((tension < 0.0).any(axis=1))
    asked = _Asked(some, -fine.geometric(tension[some]), fine.scale, fine.factor.solve)
    return _criticals(fine.frame, fine.plan, asked, tension)


def sway_loads(
    frame: Frame, of: Ready, columns: Indices, tension: Array
) -> tuple[Critical | None, ...]:
    """The critical loads by P-Δ alone, of a frame that need not be split, as `criticals`.

    columns (k, 2): the joints at the ends of each; tension (c, k) N. What the axial force does is
    counted between those joints alone: a column's own bow is not seen, so that it hides no sway.
    What sways bows too: it buckles at 0.82 (π²/12) of this at the least.
    """
    gain = chords(frame, of, columns, tension)
    moved = np.abs(gain).max(axis=(1, 2, 3), initial=0.0)
    some = np.flatnonzero((tension < 0.0).any(axis=1) & (moved > _rounding(frame, tension)))
    loss = _blocks(of.plan, columns, -gain[some])
    asked = _Asked(some, loss, of.factor.scale, of.factor.solve_scaled, SHAPED)
    return _criticals(frame, of.plan, asked, tension)


def _places(plan: Plan, columns: Indices) -> Indices:
    """Places of the translations of columns' ends in the reduced matrix (k, 6), −1 where held."""
    place = np.full(max(int(plan.free.max(initial=0)), 6 * int(columns.max(initial=0)) + 5) + 1, -1)
    place[plan.free] = np.arange(plan.size)
    return np.asarray(place[(6 * columns[:, :, None] + np.arange(3)).reshape(-1, 6)])


def chords(frame: Frame, of: Ready, columns: Indices, tension: Array) -> Array:
    """N/L against the movement of columns' ends across them, in scaled motions (c, k, 6, 6); 0 where a
    motion is held, and for a tube that comes back to where it began and has no chord."""
    along = frame.nodes[columns[:, 1]] - frame.nodes[columns[:, 0]]
    length = np.linalg.norm(along, axis=1)
    per = np.divide(tension, length, out=np.zeros_like(tension), where=length > 0.0)
    along = along / np.where(length > 0.0, length, 1.0)[:, None]
    across = np.eye(3) - along[:, :, None] * along[:, None, :]
    world = np.block([[across, -across], [-across, across]])
    at = _places(of.plan, columns)
    scale = np.where(at >= 0, of.factor.scale[at], 0.0) if of.plan.size else 0.0 * at
    return np.asarray(per[:, :, None, None] * (scale[:, :, None] * world * scale[:, None, :]))


def _blocks(plan: Plan, columns: Indices, world: Array) -> csr_array:
    """Matrices (k, 6, 6) of columns in each of c cases as one (c·f, c·f), a block a case."""
    at = _places(plan, columns)
    shape = world.shape
    rows, cols = (np.broadcast_to(a, shape[1:]) for a in (at[:, :, None], at[:, None, :]))
    keep = (rows >= 0) & (cols >= 0)
    shift = plan.size * np.arange(shape[0])[:, None]
    places = ((rows[keep] + shift).ravel(), (cols[keep] + shift).ravel())
    size = shape[0] * plan.size
    return csr_array((world[:, keep].ravel(), places), shape=(size, size))


def _rounding(frame: Frame, tension: Array) -> Array:
    """What eigenvalues 1/factor (c,) must be over to be more than rounding."""
    most = np.abs(tension).max(axis=1, initial=0.0)
    return np.asarray(NOTHING * most / np.abs(frame.modulus * frame.area).max(initial=1.0))


def _no_load(frame: Frame) -> Critical:
    """No critical load: nothing is pressed, or nothing moves."""
    return Critical(float("inf"), np.zeros((len(frame.nodes), 6)), -1)


@dataclass(frozen=True, eq=False)
class _Asked:
    """The cases that may have a critical load: their numbers; what they lose of their stiffness in
    scaled motions, a block each; the scale of motions, and how scaled forces are solved for."""

    some: Indices
    loss: csr_array
    scale: Array
    solve: Solve
    enough: float = ENOUGH


def _criticals(
    frame: Frame, plan: Plan | Band, asked: _Asked, tension: Array
) -> tuple[Critical | None, ...]:
    """The critical loads of all cases; those that are not asked for have none."""
    some = asked.some
    every: list[Critical | None] = [_no_load(frame)] * len(tension)
    if not len(some) or not plan.size:
        return tuple(every)
    nothing = _rounding(frame, tension)
    found = largest(asked.solve, asked.loss, nothing[some], asked.enough)
    for place, case in enumerate(some.tolist()):
        if not found.found[place]:
            every[case] = None
        elif found.value[place] > nothing[case]:
            shape = np.zeros(6 * len(frame.nodes))
            shape[plan.free] = found.vector[place] * asked.scale
            six = shape.reshape(-1, 6)
            node, motion = named(frame, six)
            every[case] = Critical(1.0 / float(found.value[place]), six / six[node, motion], node)
    return tuple(every)


def critical_loads(split: Split) -> tuple[Critical | None, ...] | Refusal:
    """The elastic critical load of every case in order, or the mechanism that the frame is."""
    linear = solve(split.whole, split.whole_loads)
    if isinstance(linear, Refusal):
        return linear
    tension = piece_tension(split, linear)
    fine = finely(split.frame)
    if fine is not None:
        return criticals(fine, tension)
    if split.frame.held.all():
        return (_no_load(split.frame),) * len(tension)
    return mechanism_of(split.frame, members_of(split.frame).world)
