"""Inertia relief: a frame without supports, its loads balanced by the acceleration they cause.

The masses of members and joints move as one rigid body that starts from rest (no spin, so no
centrifugal part), and their inertia forces balance the loads.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from generator.frame.loading import end_loads, joint_loads
from generator.frame.model import Array, Frame, Indices, Loads, Refusal, cross, with_weight
from generator.frame.stiffness import Members, members_of


@dataclass(frozen=True)
class Relief:
    """frame: the frame held, without force, at six motions; loads: in balance, inertia included;
    acceleration (c, 3) m/s² of the centre of mass; spin_up (c, 3) rad/s²; centre (3,) m."""

    frame: Frame
    loads: Loads
    acceleration: Array
    spin_up: Array
    centre: Array


def mass_matrix(frame: Frame) -> tuple[float, Array, Array]:
    """Mass in kg, centre of mass (3,) m, inertia about it (3, 3) kg·m²; members are thin rods."""
    a, b = frame.nodes[frame.ends[:, 0]], frame.nodes[frame.ends[:, 1]]
    along = b - a
    rods = frame.line_mass * np.sqrt((along * along).sum(axis=1))
    mass = np.concatenate((rods, frame.node_mass))
    where = np.concatenate(((a + b) / 2, frame.nodes))
    centre = mass @ where / max(mass.sum(), np.finfo(float).tiny)
    r = where - centre
    second = np.einsum("i,ij,ik->jk", mass, r, r) + np.einsum(
        "i,ij,ik->jk", rods / 12, along, along
    )
    return float(mass.sum()), centre, np.trace(second) * np.eye(3) - second


def rigid_motions(nodes: Array, about: Array) -> Array:
    """The six rigid motions: translations, then rotations about a point (n, 6 motions, 6)."""
    rigid = np.zeros((len(nodes), 6, 6))
    rigid[:, :3, :3] = rigid[:, 3:, 3:] = np.eye(3)
    x, y, z = (nodes - about).T
    rigid[:, 1, 3], rigid[:, 2, 3] = -z, y
    rigid[:, 0, 4], rigid[:, 2, 4] = z, -x
    rigid[:, 0, 5], rigid[:, 1, 5] = -y, x
    return rigid


def hold_six(frame: Frame) -> Frame:
    """The frame held at the six translations that best fix it as a body, and nowhere else."""
    centre = frame.nodes.mean(axis=0)
    rigid = rigid_motions(frame.nodes, centre)[:, :3].reshape(-1, 6)
    rigid[:, 3:] /= frame.size
    held = np.zeros((len(frame.nodes), 6), dtype=bool)
    for _ in range(6):  # the row with most that the rows before it have not
        length = (rigid * rigid).sum(axis=1)
        most = int(np.argmax(length))
        held[most // 3, most % 3] = True
        along = rigid[most] / np.sqrt(length[most])
        rigid = rigid - np.outer(rigid @ along, along)
    return dataclasses.replace(frame, held=held, spring=np.zeros_like(frame.spring))


def _field(position: Array, relief: tuple[Array, Array, Array]) -> Array:
    """Acceleration (c, …, 3) at positions (…, 3) from acceleration, spin-up (c, 3) and centre."""
    acceleration, spin_up, centre = relief
    lead = (slice(None),) + (None,) * (position.ndim - 1)
    return np.asarray(acceleration[lead] + cross(spin_up[lead], position - centre))


def relieved(frame: Frame, loads: Loads, members: Members | None = None) -> Relief | Refusal:
    """Frame and loads ready for `solve`: inertia forces added, six motions held without force.

    `members` are the frame's matrices, where they are known. Its own supports are set aside. Refused
    (`massless`) where masses are missing or all lie on one line.
    """
    mass, centre, inertia = mass_matrix(frame)
    least = 1e-12 * mass * frame.size**2
    if not mass > 0 or np.linalg.eigvalsh(inertia)[0] <= least:
        return Refusal("massless", -1, -1, np.zeros((0, 6)))
    members = members or members_of(frame)
    joint = joint_loads(frame, members, loads, end_loads(frame, members, loads))
    total = np.einsum("nik,cni->ck", rigid_motions(frame.nodes, centre), joint)
    motion = (total[:, :3] / mass, np.linalg.solve(inertia, total[:, 3:].T).T, centre)
    plain = with_weight(frame, loads)
    nodal = plain.nodal.copy()
    nodal[..., :3] -= frame.node_mass[:, None] * _field(frame.nodes, motion)
    line = plain.line - frame.line_mass[:, None, None] * _field(frame.nodes[frame.ends], motion)
    balanced = dataclasses.replace(plain, nodal=nodal, line=line)
    return Relief(hold_six(frame), balanced, motion[0], motion[1], centre)


def centred(frame: Frame, displacement: Array, by: Indices | None = None) -> Array:
    """Displacements (c, n, 6) less the rigid motion that carries the joints `by` along, all by default.

    What is left is the change of shape, seen from those joints: it does not depend on the six
    motions that happened to be held. `by` must be three joints or more that are not on one line.
    """
    rigid = rigid_motions(frame.nodes, frame.nodes.mean(axis=0))
    of = slice(None) if by is None else by
    flat = rigid[of, :3].reshape(-1, 6)
    moved = displacement[:, of, :3].reshape(len(displacement), -1)
    share = np.linalg.lstsq(flat, moved.T, rcond=None)[0]
    return np.asarray(displacement - np.einsum("nij,jc->cni", rigid, share))
