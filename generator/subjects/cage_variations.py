"""Variations of a cage that was solved: the same frame with other tubes here and there, in first order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from generator.frame.loading import end_loads, joint_loads
from generator.frame.model import Array, Frame, Refusal
from generator.frame.plan import Plan, plan_of
from generator.frame.recover import internal_forces
from generator.frame.solve import (
    end_forces,
    factorised_alike,
    ready,
    scale_of,
    solve,
    spread,
)
from generator.frame.stiffness import Members, members_of
from generator.subjects.cage_held import Held, Setup, factored, held_by


def first_order(
    frames: Sequence[Frame], setups: tuple[Setup, ...], at: Array
) -> tuple[Array | None, ...]:
    """Section forces (c, p, s, 6) under the factored loads in first order, at stations `at` (p, s), of each
    of some variations of a frame that was solved and believed, of other sections alone.

    No figures, no second order. None where a variation has no solution.
    """
    if not (frames and setups):
        return (np.zeros((len(setups), *at.shape, 6)),) * len(frames)
    members = [members_of(frame) for frame in frames]
    helds = [held_by(frame, setups, own) for frame, own in zip(frames, members, strict=True)]
    pairs = zip(helds, members, strict=True)
    varied = [_Varied(held, own) for held, own in pairs if not isinstance(held, Refusal)]
    found = iter(_varied(varied, setups, at))
    return tuple(None if isinstance(held, Refusal) else next(found) for held in helds)


@dataclass(frozen=True, eq=False)
class _Varied:
    """A variation of a frame, held, with its matrices."""

    held: Held
    members: Members


def _varied(
    varied: Sequence[_Varied], setups: tuple[Setup, ...], at: Array
) -> Iterator[Array | None]:
    """Section forces of variations, solved together, or one by one where that does not go."""
    if not varied:
        return
    first, world = varied[0].held.frame, np.array([v.members.world for v in varied])
    plan = plan_of(first)
    factor = factorised_alike(first, plan, scale_of(first, plan, world[0]), world)
    if factor is None:
        yield from (_alone(v, plan, setups, at) for v in varied)
        return
    loads = [factored(v.held.loads, setups) for v in varied]
    each = [end_loads(v.held.frame, v.members, own) for v, own in zip(varied, loads, strict=True)]
    rows = list(zip(varied, loads, each, strict=True))
    joint = np.array([joint_loads(v.held.frame, v.members, own, e) for v, own, e in rows])
    right = joint.reshape(*joint.shape[:2], -1)[..., plan.free] * factor.scale
    sets = plan.sets(np.arange(len(setups)))
    motions = factor.solve_scaled(right.swapaxes(1, 2), sets) * factor.scale[:, None]
    for (v, own, ends), moved in zip(rows, motions, strict=True):
        displacement = spread(plan.free, moved, plan.joints)
        forces = end_forces(v.held.frame, v.members, ends, displacement)
        yield internal_forces(v.held.frame, v.members, own, forces, at)


def _alone(v: _Varied, plan: Plan, setups: tuple[Setup, ...], at: Array) -> Array | None:
    """Section forces of one variation."""
    frame, loads = v.held.frame, factored(v.held.loads, setups)
    of = ready(frame, plan, v.members)
    linear = of if isinstance(of, Refusal) else solve(frame, loads, of=of)
    if isinstance(linear, Refusal):
        return None
    return internal_forces(frame, v.members, loads, linear.forces, at)
