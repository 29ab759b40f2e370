"""Reading a solution: forces along the members, deflected shapes, stresses of round tubes.

Internal forces are those on the cut facing +x: N tension positive, V_y, V_z, T, M_y, M_z.
"""

from __future__ import annotations

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
from generator.frame.model import Array, Frame, Loads, Points, with_weight
from generator.frame.shapes import TURN, XY, XZ, cubics
from generator.frame.solve import Solution
from generator.frame.stiffness import Members, bowing, loaded, members_of
from generator.frame.subdivide import Split

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


def _cubics(members: Members, motions: Array) -> tuple[Array, Array]:
    """Deflection along local y and z between the ends, without loads' own bow, as cubics in the share of the
    length, lowest power first: each (4, c, m)."""
    y, z = (
        np.matmul(cubics(phi, members.length), own[..., None])[..., 0]
        for phi, own in (
            (members.phi_z, motions[..., XY]),
            (members.phi_y, motions[..., XZ] * TURN),
        )
    )
    return np.moveaxis(y, -1, 0), np.moveaxis(z, -1, 0)


def _polynomials(frame: Frame, members: Members, loads: Loads, forces: Array) -> Array:
    """Internal forces between point loads as cubics in the share of the length, lowest power first, from
    end forces (c, m, 12): (4, 6, c, m)."""
    start, length = -np.moveaxis(forces[..., :6], -1, 0), members.length
    out = np.zeros((4, *start.shape), dtype=np.result_type(start, length))
    out[0] = start
    out[1, 4], out[1, 5] = length * start[2], -length * start[1]
    line = with_weight(frame, loads).line
    if line.any():
        first, last = np.moveaxis(np.matmul(line, members.axes.swapaxes(1, 2)), (-2, -1), (0, 1))
        more = last - first
        out[1, :3] -= length * first
        out[2, :3] -= length * more / 2
        for moment, by, axis in ((4, -length * length, 2), (5, length * length, 1)):
            out[2, moment] += by * first[axis] / 2
            out[3, moment] += by * more[axis] / 6
    return out


def _evaluated(polynomials: Array, at: Array) -> Array:
    """Cubics (4, 6, c, m) at shares `at` (m, s): (6, c, m, s)."""
    out = np.empty((*polynomials.shape[1:], at.shape[1]), dtype=np.result_type(polynomials, at))
    for which, powers in enumerate(polynomials.swapaxes(0, 1)[..., None]):
        out[which] = powers[0]
        some = [k for k in (1, 2, 3) if powers[k].any()]
        if some:
            more = powers[some[-1]] * at
            for k in range(some[-1] - 1, 0, -1):
                more = (more + powers[k]) * at
            out[which] += more
    return out


def internal_forces(
    frame: Frame, members: Members, loads: Loads, forces: Array, at: Array
) -> Array:
    """Internal forces (c, m, s, 6) at stations `at` (m, s) from end forces (c, m, 12)."""
    out = _evaluated(_polynomials(frame, members, loads, forces), at)
    _add_points(out, members, loads.points, at)
    return np.moveaxis(out, 0, -1)


def _bent(frame: Frame, members: Members, loads: Loads, solution: Solution) -> Array:
    """As `_polynomials`, in second order with the lever of axial forces on the deflected member."""
    out = _polynomials(frame, members, loads, solution.forces)
    if solution.second_order:
        pull = solution.tension
        motions = end_motions(frame, members, loads, solution.displacement, pull)
        y, z = _cubics(members, motions)
        out[1:, 4] -= pull * z[1:]
        out[1:, 5] += pull * y[1:]
    return out


def section_forces(
    frame: Frame, loads: Loads, solution: Solution, at: Array, members: Members | None = None
) -> Array:
    """N, V_y, V_z, T, M_y, M_z at stations `at` (m, s) of every member and case, (c, m, s, 6).

    `loads` hold the cases of the solution; a second-order solution has one (`model.one_case`) unless
    several were put together (`second_order.together`). Its moments count the axial force's
    lever on the deflected member; N and V stay those along and across the undeflected member.
    """
    members = members or members_of(frame)
    out = _evaluated(_bent(frame, members, loads, solution), at)
    _add_points(out, members, loads.points, at)
    return np.moveaxis(out, 0, -1)


def member_forces(
    split: Split, loads: Loads, solution: Solution, at: Array, members: Members
) -> Array:
    """Section forces, as `section_forces`, at stations `at` (m, pieces·s) of the whole members of a
    split frame, as many on each share 1/pieces; loads, solution and matrices are those of the pieces.
    Loads amid members are not looked for."""
    rows, count = split.rows.reshape(-1), split.pieces
    share = at.reshape(len(at), count, -1)
    within = np.clip(share * count - np.arange(count)[None, :, None], 0.0, 1.0)
    within = np.where(split.kept[:, None, None], share, within).reshape(len(rows), -1)
    found = _evaluated(_bent(split.frame, members, loads, solution)[..., rows], within)
    return np.moveaxis(found.reshape(*found.shape[:2], *at.shape), 0, -1)


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
    powers = at ** np.arange(4)[:, None, None]
    y, z = (np.einsum("kcm,kms->cms", own, powers) for own in _cubics(members, motions))
    return np.asarray(np.matmul(np.stack((along, y, z), axis=-1), members.axes))


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
