"""Stiffness of members: local axes, elastic and geometric matrices, releases, turning to global
axes.

Source of the matrices: J. S. Przemieniecki, Theory of Matrix Structural Analysis (McGraw-Hill,
1968), ch. 5 and 15 (from memory); derived again from the shape functions in `shapes`, and held by
tests to closed forms and to an independent program.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from generator.frame.model import Array, Flags, Frame, Indices, cross
from generator.frame.shapes import TURN, XY, XZ


@dataclass(frozen=True)
class Members:
    """Every member's matrices.

    length (m,) m; axes (m, 3, 3): rows are local x, y, z in global components; turn (m, 12, 12):
    global to local; phi_y, phi_z (m,): shear parameter of bending about y and about z;
    raw (m, 12, 12): local stiffness before releases; local: after;
    freed (m, 12): motions not passed on to the joint; give (m, 12, 12): what freed motions do
    under loads on themselves; relax (m, 12, 12): what they do when the others move one unit (both 0
    where nothing is freed).
    """

    length: Array
    axes: Array
    turn: Array
    phi_y: Array
    phi_z: Array
    raw: Array
    local: Array
    freed: Flags
    give: Array
    relax: Array

    @property
    def world(self) -> Array:
        """Stiffness as the joints feel it, in global axes (m, 12, 12)."""
        return np.asarray(self.turn.swapaxes(1, 2) @ self.local @ self.turn)

    def pick(self, some: Indices) -> Members:
        """The matrices of some of the members."""
        return Members(*(getattr(self, f.name)[some] for f in fields(self)))


def lengths_and_axes(frame: Frame) -> tuple[Array, Array]:
    """Length (m,) and local axes (m, 3, 3) of each member."""
    along = frame.nodes[frame.ends[:, 1]] - frame.nodes[frame.ends[:, 0]]
    length = np.sqrt((along * along).sum(axis=1))  # not `norm`: it takes no complex step
    x = along / length[:, None]
    z = cross(x, frame.reference)
    z = z / np.sqrt((z * z).sum(axis=1))[:, None]
    return length, np.stack((x, cross(z, x), z), axis=1)


def turning(axes: Array) -> Array:
    """The 12 × 12 matrices that turn a member's motions from global to its own axes."""
    turn = np.zeros((len(axes), 12, 12), dtype=axes.dtype)
    for k in range(0, 12, 3):
        turn[:, k : k + 3, k : k + 3] = axes
    return turn


def shear_parameters(frame: Frame, length: Array) -> tuple[Array, Array]:
    """φ = 12EI/(κGA·L²) for bending about y (shear along z) and about z (shear along y)."""
    l2 = length * length
    phi_y = 12 * frame.modulus * frame.second_y / (frame.shear_modulus * frame.shear_z * l2)
    phi_z = 12 * frame.modulus * frame.second_z / (frame.shear_modulus * frame.shear_y * l2)
    return phi_y, phi_z


_SHEAR = np.outer((1.0, 0.0, -1.0, 0.0), (1.0, 0.0, -1.0, 0.0))
_MIXED = np.array(((0, 1, 0, 1), (1, 0, -1, 0), (0, -1, 0, -1), (1, 0, -1, 0)), dtype=float)
_NEAR = np.diag((0.0, 1.0, 0.0, 1.0))
_FAR = np.array(((0, 0, 0, 0), (0, 0, 0, 1), (0, 0, 0, 0), (0, 1, 0, 0)), dtype=float)


def _plane(shear: Array, mixed: Array, near: Array, far: Array) -> Array:
    """4 × 4 matrices of one bending plane from their four distinct entries."""
    parts = ((shear, _SHEAR), (mixed, _MIXED), (near, _NEAR), (far, _FAR))
    return np.asarray(sum(value[..., None, None] * where for value, where in parts))


def _bending(rigidity: Array, phi: Array, length: Array) -> Array:
    """Elastic stiffness of one plane: 12EI/L³, 6EI/L², (4 + φ)EI/L, (2 − φ)EI/L over 1 + φ."""
    k = rigidity / (length * (1 + phi))
    return _plane(12 * k / length**2, 6 * k / length, (4 + phi) * k, (2 - phi) * k)


def _bowing(tension: Array, phi: Array, length: Array) -> Array:
    """Geometric stiffness of one plane: tension × ∫ w′w′ over the exact shapes of `shapes`."""
    n = tension / (1 + phi) ** 2
    square = phi * phi / 12
    return _plane(
        n * (1.2 + 2 * phi + phi * phi) / length,
        n / 10,
        n * length * (2 / 15 + phi / 6 + square),
        -n * length * (1 / 30 + phi / 6 + square),
    )


def _assembled(axial: Array, twist: Array, xy: Array, xz: Array) -> Array:
    """12 × 12 matrices from their four uncoupled parts."""
    k = np.zeros((*axial.shape, 12, 12), dtype=np.result_type(axial, twist, xy, xz))
    for i, part in ((0, axial), (3, twist)):
        k[..., i, i] = k[..., i + 6, i + 6] = part
        k[..., i, i + 6] = k[..., i + 6, i] = -part
    k[..., XY[:, None], XY] = xy
    k[..., XZ[:, None], XZ] = xz * np.outer(TURN, TURN)
    return k


def elastic(frame: Frame, length: Array, phi_y: Array, phi_z: Array) -> Array:
    """Elastic stiffness in local axes, before releases, (m, 12, 12)."""
    return _assembled(
        frame.modulus * frame.area / length,
        frame.shear_modulus * frame.torsion / length,
        _bending(frame.modulus * frame.second_z, phi_z, length),
        _bending(frame.modulus * frame.second_y, phi_y, length),
    )


def geometric(frame: Frame, tension: Array, length: Array, phi_y: Array, phi_z: Array) -> Array:
    """Geometric stiffness in local axes for the axial force `tension` (…, m) N, before releases.

    It counts the work of the axial force in bending and in twist (N·I_p/A), and no other:
    lateral-torsional and torque-bending effects, weak in closed round tubes, are left out.
    """
    polar = (frame.second_y + frame.second_z) / frame.area
    return _assembled(
        np.zeros_like(tension),
        tension * polar / length,
        _bowing(tension, phi_z, length),
        _bowing(tension, phi_y, length),
    )


def freed_motions(frame: Frame) -> Flags:
    """Which of a member's twelve motions are not passed on to its joints, (m, 12).

    Where torsion is released at both ends, only the start is: no torsion passes either way, and
    the member does not spin about itself.
    """
    freed = np.zeros((len(frame.ends), 12), dtype=bool)
    freed[:, 3:6] = frame.released[:, 0]
    freed[:, 9:12] = frame.released[:, 1]
    freed[:, 9] &= ~freed[:, 3]
    return freed


def flexibility(raw: Array, freed: Flags) -> Array:
    """The inverse of the freed motions' own stiffness, K_ff⁻¹ in place and 0 elsewhere."""
    give = np.zeros_like(raw)
    some = np.flatnonzero(freed.any(axis=1))
    if len(some):
        f = freed[some]
        both = f[:, :, None] & f[:, None, :]
        own = np.where(both, raw[..., some, :, :], np.eye(12) * ~f[:, :, None])
        give[..., some, :, :] = np.where(both, np.linalg.inv(own), 0.0)
    return give


def relaxation(raw: Array, freed: Flags, give: Array) -> Array:
    """How freed motions follow the others: −K_ff⁻¹K_fk, in rows of freed motions, (m, 12, 12)."""
    relax = np.zeros_like(give)
    some = np.flatnonzero(freed.any(axis=1))
    if len(some):
        follow = -(give[..., some, :, :] @ raw[..., some, :, :])
        relax[..., some, :, :] = np.where(freed[some, None, :], 0.0, follow)
    return relax


def released(raw: Array, freed: Flags, relax: Array) -> Array:
    """Local stiffness as the joints feel it: K + K·relax, with freed rows and columns empty."""
    some = np.flatnonzero(freed.any(axis=1))
    if not len(some):
        return raw
    kept, part = ~freed[some], raw[..., some, :, :]
    felt = part + part @ relax[..., some, :, :]
    local = raw.copy()
    local[..., some, :, :] = np.where(kept[:, :, None] & kept[:, None, :], felt, 0.0)
    return local


def members_of(frame: Frame, tension: Array | None = None) -> Members:
    """All matrices of a frame.

    With `tension` (…, m) N they include the geometric stiffness, as in `loaded`.
    """
    length, axes = lengths_and_axes(frame)
    phi_y, phi_z = shear_parameters(frame, length)
    raw = elastic(frame, length, phi_y, phi_z)
    freed = freed_motions(frame)
    give = flexibility(raw, freed)
    relax = relaxation(raw, freed, give)
    local = released(raw, freed, relax)
    plain = Members(length, axes, turning(axes), phi_y, phi_z, raw, local, freed, give, relax)
    return plain if tension is None else loaded(plain, bowing(frame, plain), tension)


def bowing(frame: Frame, members: Members) -> Array:
    """Geometric stiffness in local axes for an axial force of 1 N, before releases (m, 12, 12)."""
    one = np.ones(len(frame.ends))
    return geometric(frame, one, members.length, members.phi_y, members.phi_z)


def followed(members: Members, unit: Array) -> Array:
    """Geometric stiffness `unit` (…, m, 12, 12) of local axes, freed motions following elastically.

    The following is that without axial force: exact only in the limit of short pieces. With
    four pieces a member it is right to 0.1 % on Euler's columns.
    """
    if not members.freed.any():
        return unit
    follow = np.eye(12) * ~members.freed[:, None, :] + members.relax
    return np.asarray(follow.transpose(0, 2, 1) @ unit @ follow)


def loaded(members: Members, unit: Array, tension: Array) -> Members:
    """The members with the geometric stiffness of the axial force `tension` (…, m) N.

    `unit` is that of 1 N (`bowing`). raw, local, give and relax get the leading axes of `tension`
    (load cases).
    """
    raw = members.raw + tension[..., None, None] * unit
    give = flexibility(raw, members.freed)
    relax = relaxation(raw, members.freed, give)
    local = released(raw, members.freed, relax)
    return replace(members, raw=raw, local=local, give=give, relax=relax)
