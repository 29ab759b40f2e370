"""Reading a solution: forces along the members, deflected shapes, stresses of round tubes.

Internal forces are those on the cut facing +x: N tension positive, V_y, V_z, T, M_y, M_z.
"""

from __future__ import annotations

import dataclasses

import numpy as np

from generator.formulas.tube import (
    axial_stress,
    bending_stress,
    resultant,
    torsion_stress,
    transverse_stress,
    von_mises,
)
from generator.frame.loading import end_loads, member_motions
from generator.frame.model import Array, Frame, Loads, Points, no_points, with_weight
from generator.frame.shapes import TURN, XY, XZ, cubics
from generator.frame.solve import Solution
from generator.frame.stiffness import Members, bowing, loaded, members_of
from generator.frame.subdivide import PER_MEMBER, Split

STATIONS = 21
"""Stations on each clear stretch of a member. A moment's peak between two of 21 stations is missed
by at most 1/1600 of the stretch's qL² (a parabola of height qL²/8 seen half a step beside its
top)."""
ASIDE = 1e-9
"""How far beside a point load its stations stand, as a share of the length: forces jump there."""


def breaks(points: Points, members: int) -> Array:
    """Where members' diagrams may jump or kink: 0, their point loads, 1; padded with 1 (m, b)."""
    where = (
        [sorted({0.0, 1.0, *points.at[points.member == i].tolist()}) for i in range(members)]
        if len(points.member)
        else [[0.0, 1.0]] * members
    )
    longest = max(map(len, where), default=2)
    return np.array([w + [1.0] * (longest - len(w)) for w in where]).reshape(members, longest)


def stations(points: Points, members: int, count: int = STATIONS) -> Array:
    """Shares of the length, `count` on each stretch between point loads, (m, s)."""
    edges = breaks(points, members)
    low, high = edges[:, :-1, None], edges[:, 1:, None]
    aside = np.minimum(ASIDE, (high - low) / 4)
    along = np.linspace(0.0, 1.0, count)
    at = np.clip(low + (high - low) * along, low + aside * (low > 0), high - aside * (high < 1))
    return np.asarray(at.reshape(members, -1))


def _start(forces: Array, x: Array) -> Array:
    """Internal forces at x from what the joint does to the member's start, (6, c, m, s)."""
    f = -np.moveaxis(forces[..., :6], -1, 0)[..., None]
    out = np.empty((*f.shape[:-1], x.shape[1]), dtype=np.result_type(f, x))
    out[:] = f
    out[4] += x * f[2]
    out[5] -= x * f[1]
    return out


def _add_line(out: Array, line: Array, x: Array, length: Array) -> None:
    """Add the internal forces at x of line loads (c, m, 2, 3) in local axes to `out` (6, c, m, s)."""
    first, last = np.moveaxis(line, (-2, -1), (0, 1))[..., None]
    slope = (last - first) / length[:, None]
    for axis, moment, sense in ((0, 0, 0.0), (1, 5, 1.0), (2, 4, -1.0)):
        out[axis] -= x * (first[axis] + slope[axis] / 2 * x)
        if moment:
            out[moment] += (sense * x * x) * (first[axis] / 2 + slope[axis] / 6 * x)


def _add_points(out: Array, members: Members, points: Points, at: Array) -> None:
    """Add the internal forces of point loads to `out` (6, c, m, s)."""
    for case, m, a, force, couple in zip(
        points.case, points.member, points.at, points.force, points.couple, strict=True
    ):
        f, c = members.axes[m] @ force, members.axes[m] @ couple
        arm = (at[m] - a) * members.length[m]
        past = at[m] > a
        jump = np.repeat(-np.concatenate((f, c))[:, None], len(arm), axis=1)
        jump[4] -= arm * f[2]
        jump[5] += arm * f[1]
        out[:, case, m] += np.where(past, jump, 0.0)


def end_motions(
    frame: Frame, members: Members, loads: Loads, displacement: Array, tension: Array | None = None
) -> Array:
    """Motions of the members' own ends, releases included, in local axes (c, m, 12); freed ones follow
    under the axial forces `tension` (c, m) where they are given."""
    motions = member_motions(frame, displacement, members.turn)
    some = np.flatnonzero(members.freed.any(axis=1))
    if not len(some):
        return motions
    own = members.pick(some)
    if tension is not None:
        own = loaded(own, bowing(frame, members)[some], tension[:, some])
    kept = np.where(own.freed, 0.0, motions[:, some])
    ends = end_loads(frame, members, loads)[:, some]
    follow = np.matmul(own.relax, kept[..., None]) + np.matmul(own.give, ends[..., None])
    motions[:, some] = np.where(own.freed, follow[..., 0], motions[:, some])
    return motions


def across(members: Members, motions: Array, at: Array) -> tuple[Array, Array]:
    """Deflection along local y and z between the ends, without loads' own bow, each (c, m, s)."""
    y, z = (
        _along(np.matmul(cubics(phi, members.length), own[..., None]), at)
        for phi, own in (
            (members.phi_z, motions[..., XY]),
            (members.phi_y, motions[..., XZ] * TURN),
        )
    )
    return y, z


def _along(factors: Array, at: Array) -> Array:
    """Cubics (c, m, 4, 1), lowest power first, at shares `at` (m, s), (c, m, s)."""
    a, b, c, d = np.moveaxis(factors, -2, 0)
    return np.asarray(((d * at + c) * at + b) * at + a)


def internal_forces(
    frame: Frame, members: Members, loads: Loads, forces: Array, at: Array
) -> Array:
    """Internal forces (c, m, s, 6) at stations `at` (m, s) from end forces (c, m, 12)."""
    line = with_weight(frame, loads).line
    x = at * members.length[:, None]
    out = _start(forces, x)
    if line.any():
        local = np.matmul(line, members.axes.swapaxes(1, 2))
        _add_line(out, local, x, members.length)
    _add_points(out, members, loads.points, at)
    return np.moveaxis(out, 0, -1)


def section_forces(
    frame: Frame, loads: Loads, solution: Solution, at: Array, members: Members | None = None
) -> Array:
    """N, V_y, V_z, T, M_y, M_z at stations `at` (m, s) of every member and case, (c, m, s, 6).

    `loads` hold the cases of the solution; a second-order solution has one (`model.one_case`) unless
    several were put together (`second_order.together`). Its moments count the axial force's
    lever on the deflected member; N and V stay those along and across the undeflected member.
    """
    members = members or members_of(frame)
    out = internal_forces(frame, members, loads, solution.forces, at)
    if not solution.second_order:
        return out
    tension = solution.tension
    motions = end_motions(frame, members, loads, solution.displacement, tension)
    pull, (y, z) = tension[:, :, None], across(members, motions, at)
    out[..., 4] -= pull * (z - motions[:, :, None, 2])
    out[..., 5] += pull * (y - motions[:, :, None, 1])
    return out


def member_forces(
    split: Split, loads: Loads, solution: Solution, at: Array, members: Members
) -> Array:
    """Section forces, as `section_forces`, at stations `at` (m, pieces·s) of the whole members of a
    split frame, as many on each share 1/pieces; loads, solution and matrices are those of the pieces.
    Loads amid members are not looked for."""
    rows, count = split.rows.reshape(-1), split.pieces
    share = at.reshape(len(at), count, -1)
    within = np.clip(share * count - np.arange(count)[None, :, None], 0.0, 1.0)
    within = np.where(split.kept[:, None, None], share, within)
    picked = {name: getattr(split.frame, name)[rows] for name in PER_MEMBER}
    part = Loads(loads.nodal, loads.line[:, rows], loads.field, no_points())
    own = dataclasses.replace(solution, forces=solution.forces[:, rows])
    frame = dataclasses.replace(split.frame, **picked)
    within = within.reshape(len(rows), -1)
    return split.by_member(section_forces(frame, part, own, within, members.pick(rows)))


def piece_tension(split: Split, solution: Solution, members: Members | None = None) -> Array:
    """Axial force amid each piece of a split frame, from the whole's linear solution (c, pieces) N."""
    frame, members = split.whole, members or members_of(split.whole)
    middle = (np.arange(split.pieces) + 0.5) / split.pieces
    at = np.broadcast_to(middle, (len(frame.ends), split.pieces))
    forces = internal_forces(frame, members, split.whole_loads, solution.forces, at)[..., 0]
    cut = forces[:, ~split.kept].reshape(len(forces), -1)
    return np.concatenate((cut, forces[:, split.kept].mean(axis=2)), axis=1)


def deflected(frame: Frame, loads: Loads, solution: Solution, at: Array) -> Array:
    """Displacement at stations `at` (m, s) in global axes, (c, m, s, 3) m, for drawing.

    The bow of loads between a member's own ends is left out: split the members to see it.
    """
    members = members_of(frame)
    motions = end_motions(frame, members, loads, solution.displacement)
    along = motions[:, :, None, 0] * (1 - at) + motions[:, :, None, 6] * at
    local = np.stack((along, *across(members, motions, at)), axis=-1)
    return np.asarray(np.matmul(local, members.axes))


def peak_stress(forces: Array, outer: Array, inner: Array) -> Array:
    """Von Mises stress bounding the wall of round tubes from above, (c, m, s) Pa.

    `forces` (c, m, s, 6) from `section_forces`; outer and inner diameter (m,) m. Axial and
    resultant bending stress add at one fibre; torsion and the peak of transverse shear add to each
    other, and are taken at that same fibre although the shear of V peaks a quarter turn away: on
    the safe side.
    """
    d, i = outer[:, None], inner[:, None]
    n, vy, vz, t, my, mz = np.moveaxis(forces, -1, 0)
    bending = bending_stress(moment=resultant(first=my, second=mz), outer=d, inner=i)
    normal = np.abs(axial_stress(force=n, outer=d, inner=i)) + bending
    twist = np.abs(torsion_stress(moment=t, outer=d, inner=i))
    shear = twist + transverse_stress(force=resultant(first=vy, second=vz), outer=d, inner=i)
    return np.asarray(von_mises(normal=normal, shear=shear))
