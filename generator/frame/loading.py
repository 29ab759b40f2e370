"""From loads to joints: equivalent end loads of members, exact for prismatic beams with shear."""

from __future__ import annotations

import numpy as np

from generator.frame.model import Array, Frame, Indices, Loads, Points, with_weight
from generator.frame.shapes import TURN, XY, XZ, deflection, line_share, rotation
from generator.frame.stiffness import Members


def line_ends(members: Members, line: Array) -> Array:
    """Equivalent end loads, in local axes, of line loads (c, m, 2, 3) in local axes: (c, m, 12)."""
    ends = np.zeros((*line.shape[:2], 12), dtype=np.result_type(line, members.length))
    share = members.length[:, None] / np.array((3.0, 6.0))
    ends[..., 0] = line[:, :, 0, 0] * share[:, 0] + line[:, :, 1, 0] * share[:, 1]
    ends[..., 6] = line[:, :, 0, 0] * share[:, 1] + line[:, :, 1, 0] * share[:, 0]
    planes = ((XY, 1, members.phi_z, np.ones(4)), (XZ, 2, members.phi_y, TURN))
    for motions, axis, phi, sense in planes:
        shares = line_share(phi, members.length)
        ends[..., motions] = np.einsum("cmk,mkj->cmj", line[..., axis], shares) * sense
    return ends


def point_ends(members: Members, points: Points) -> Array:
    """Equivalent end loads, in local axes, of each point load: (k, 12)."""
    m, at = points.member, points.at
    axes, length = members.axes[m], members.length[m]
    force = np.einsum("kij,kj->ki", axes, points.force)
    couple = np.einsum("kij,kj->ki", axes, points.couple)
    ends = np.zeros((len(m), 12), dtype=np.result_type(force, couple))
    for i, value in ((0, force[:, 0]), (3, couple[:, 0])):
        ends[:, i], ends[:, i + 6] = value * (1 - at), value * at
    planes = (
        (XY, force[:, 1], couple[:, 2], members.phi_z, np.ones(4)),
        (XZ, force[:, 2], -couple[:, 1], members.phi_y, TURN),
    )
    for motions, across, turning, phi, sense in planes:
        pushed = deflection(at, phi[m], length) * across[:, None]
        turned = rotation(at, phi[m], length) * turning[:, None]
        ends[:, motions] = (pushed + turned) * sense
    return ends


def end_loads(frame: Frame, members: Members, loads: Loads) -> Array:
    """Equivalent end loads of each member in local axes, before releases, (c, m, 12)."""
    line = with_weight(frame, loads).line
    if line.any():
        ends = line_ends(members, np.einsum("mij,cmkj->cmki", members.axes, line))
    else:
        ends = np.zeros((*line.shape[:2], 12), dtype=np.result_type(line, members.length))
    p = loads.points
    if len(p.case):
        np.add.at(ends, (p.case, p.member), point_ends(members, p))
    return ends


def passed_on(members: Members, ends: Array) -> Array:
    """End loads as the joints feel them, with freed motions relaxed: f + relaxᵀ·f, freed empty."""
    if not members.freed.any():
        return ends
    carried = np.matmul(ends[..., None, :], members.relax)[..., 0, :]
    return np.where(members.freed, 0.0, ends + carried)


def to_joints(frame: Frame, turn: Array, local: Array) -> Array:
    """Member end forces (c, m, 12) in local axes, summed at the joints in global axes (c, n, 6)."""
    world = np.matmul(local[..., None, :], turn)[..., 0, :]
    total = np.zeros((len(local), len(frame.nodes), 6), dtype=world.dtype)
    for end, columns in ((0, slice(0, 6)), (1, slice(6, 12))):
        np.add.at(total.swapaxes(0, 1), frame.ends[:, end], world[..., columns].swapaxes(0, 1))
    return np.asarray(total)


def joint_loads(frame: Frame, members: Members, loads: Loads, ends: Array) -> Array:
    """Every load as forces and couples at the joints, (c, n, 6)."""
    nodal = with_weight(frame, loads).nodal
    return nodal + to_joints(frame, members.turn, passed_on(members, ends))


def member_motions(
    frame: Frame, displacement: Array, turn: Array, some: Indices | None = None
) -> Array:
    """The joints' motions at the ends of each member, or of some, in its own axes (c, m, 12)."""
    of = slice(None) if some is None else some
    ends: Indices = frame.ends[of]
    world = np.concatenate((displacement[:, ends[:, 0]], displacement[:, ends[:, 1]]), axis=-1)
    return np.asarray(np.matmul(turn[of], world[..., None])[..., 0])
