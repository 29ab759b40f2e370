"""Elastic critical load: the factor on a load case at which the frame loses its stiffness.

The frame is split by `subdivide` first. The eigenproblem is K·shape = −factor·K_G·shape, with K_G
from the axial forces of the linear solution; the least positive factor is wanted. Loads keep their
direction. All cases are searched together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from generator.frame.fine import Fine, finely
from generator.frame.lanczos import ENOUGH, Solve, largest
from generator.frame.mechanism import free_motion, named
from generator.frame.model import Array, Frame, Indices, Refusal
from generator.frame.plan import Plan, plan_of
from generator.frame.recover import piece_tension
from generator.frame.solve import Factor, Ready, scaled_band, solve
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
    losses = [-fine.geometric(row) for row in tension[some]]
    asked = _Asked(some, losses, fine.scale, fine.factor.solve)
    return _criticals(fine.frame, fine.plan, asked, tension)


def sway_loads(
    frame: Frame, of: Ready, columns: Indices, tension: Array
) -> tuple[Critical | None, ...]:
    """The critical loads by P-Δ alone, of a frame that need not be split, as `criticals`.

    columns (k, 2): the joints at the ends of each; tension (c, k) N. What the axial force does is
    counted between those joints alone: a column's own bow is not seen, so that it hides no sway.
    What sways bows too: it buckles at 0.82 (π²/12) of this at the least.
    """
    gains = [chords(frame, of.plan, of.factor, columns, row) for row in tension]
    moved = [np.abs(gain.data).max(initial=0.0) for gain in gains]
    some = np.flatnonzero((tension < 0.0).any(axis=1) & (moved > _rounding(frame, tension)))
    losses = [-gains[i] for i in some]
    asked = _Asked(some, losses, of.factor.scale, of.factor.solve_scaled, SHAPED)
    return _criticals(frame, of.plan, asked, tension)


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


def _rounding(frame: Frame, tension: Array) -> Array:
    """What eigenvalues 1/factor (c,) must be over to be more than rounding."""
    most = np.abs(tension).max(axis=1, initial=0.0)
    return np.asarray(NOTHING * most / np.abs(frame.modulus * frame.area).max(initial=1.0))


def _no_load(frame: Frame) -> Critical:
    """No critical load: nothing is pressed, or nothing moves."""
    return Critical(float("inf"), np.zeros((len(frame.nodes), 6)), -1)


@dataclass(frozen=True, eq=False)
class _Asked:
    """The cases that may have a critical load: their numbers, and their losses in scaled motions;
    the scale of motions, and how scaled forces are solved for."""

    some: Indices
    losses: Sequence[csr_array]
    scale: Array
    solve: Solve
    enough: float = ENOUGH


def _criticals(
    frame: Frame, plan: Plan, asked: _Asked, tension: Array
) -> tuple[Critical | None, ...]:
    """The critical loads of all cases; those that are not asked for have none."""
    some = asked.some
    every: list[Critical | None] = [_no_load(frame)] * len(tension)
    if not len(some) or not plan.size:
        return tuple(every)
    nothing = _rounding(frame, tension)
    found = largest(asked.solve, asked.losses, nothing[some], asked.enough)
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
    plan, members = plan_of(split.frame), members_of(split.frame)
    if not plan.size:
        return (_no_load(split.frame),) * len(tension)
    return free_motion(split.frame, plan, *scaled_band(split.frame, plan, members.world))
