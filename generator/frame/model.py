"""What a frame is: joints, members, supports and loads as frozen arrays in SI.

Axes are right-handed. The six motions of a joint are its translations along and rotations about
the global x, y and z. The twelve of a member are those of its start, then of its end, in its own
axes: x from start to end, y and z across it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]

MOTIONS = (
    "move along x",
    "move along y",
    "move along z",
    "turn about x",
    "turn about y",
    "turn about z",
)
"""What a joint does in each of its six motions."""


@dataclass(frozen=True)
class Frame:
    """n joints and m members. A joint is shared because members name it, never because it is near.

    nodes       (n, 3) m             positions
    ends        (m, 2)               indices of the joints at start and end of each member
    reference   (m, 3)               a direction in each member's local x-y plane, towards +y;
                                     fixed once on the nominal geometry (`reference_directions`)
    modulus     (m,) Pa, > 0         Young's modulus E
    shear_modulus (m,) Pa, > 0       shear modulus G
    area        (m,) m², > 0         cross-section A
    second_y, second_z (m,) m⁴, > 0  second moments of area about local y and z
    torsion     (m,) m⁴, > 0         torsion constant J
    shear_y, shear_z (m,) m², > 0    shear areas κA (Timoshenko); inf leaves shear strain out
                                     (Euler–Bernoulli)
    line_mass   (m,) kg/m, ≥ 0       mass per length
    released    (m, 2, 3)            at each end: torsion, bending about y, bending about z is not
                                     passed on to the joint
    held        (n, 6) or (c, n, 6)  motions held at zero, in every load case or in each
    spring      (n, 6) N/m, N·m/rad  springs from joint to ground, ≥ 0
    node_mass   (n,) kg, ≥ 0         mass at the joint itself
    """

    nodes: Array
    ends: Indices
    reference: Array
    modulus: Array
    shear_modulus: Array
    area: Array
    second_y: Array
    second_z: Array
    torsion: Array
    shear_y: Array
    shear_z: Array
    line_mass: Array
    released: Flags
    held: Flags
    spring: Array
    node_mass: Array

    @property
    def size(self) -> float:
        """Length of the diagonal of the box around all joints, in m."""
        span = np.ptp(self.nodes.real, axis=0)
        return float(np.sqrt(span @ span))


@dataclass(frozen=True)
class Points:
    """k forces and couples at points along members, in global axes.

    case, member (k,): where; at (k,) 0 to 1: share of the length from the start;
    force (k, 3) N; couple (k, 3) N·m.
    """

    case: Indices
    member: Indices
    at: Array
    force: Array
    couple: Array


@dataclass(frozen=True)
class Loads:
    """c load cases, in global axes.

    nodal (c, n, 6) N, N·m        forces and couples at joints
    line  (c, m, 2, 3) N/m        forces per length of member, at start and end, linear between
    field (c, 3) m/s²             force per mass on every member and joint mass (gravity: 0, 0, −g)
    points                        forces and couples along members
    """

    nodal: Array
    line: Array
    field: Array
    points: Points

    @property
    def cases(self) -> int:
        """How many load cases there are."""
        return int(self.nodal.shape[0])


Reason = Literal["free", "excessive", "unstable", "unsettled", "massless"]


@dataclass(frozen=True)
class Refusal:
    """Why a frame, or one of its load cases, has no answer.

    reason  `free`: a mechanism; `excessive`: a displacement over half the frame's size or a
            rotation over 1 rad, so linear theory says nothing; `unstable`: the load is beyond
            the critical load;
            `unsettled`: second order did not converge, taken as beyond the critical load too;
            `massless`: the masses cannot balance the load (inertia relief)
    node, motion  the joint that moves most, and which of MOTIONS (−1: none)
    shape   (n, 6) the motion itself, largest translation or rotation 1; empty where unknown
    case    the load case, −1 for every one
    """

    reason: Reason
    node: int
    motion: int
    shape: Array
    case: int = -1

    def says(self, name: Callable[[int], str] = str) -> str:
        """The refusal in words; `name` gives a joint its name."""
        where = f"joint {name(self.node)} is free to {MOTIONS[self.motion]}"
        if self.reason == "free":
            return f"{where}: a support or a member is missing"
        if self.reason == "massless":
            return "the masses cannot balance the loads: too few masses, or all on one line"
        if self.reason == "excessive":
            does = f"would {MOTIONS[self.motion]} by more than the theory allows"
            return f"joint {name(self.node)} {does}"
        return "the load is beyond the elastic critical load"


def reference_directions(nodes: Array, ends: Indices) -> Array:
    """For each member the global axis most nearly square to it, (m, 3).

    Call it once, on the nominal geometry, and keep the result when the geometry is varied: a
    choice made anew for every variation would jump, and so would derivatives. Of axes equally
    square the first in the order z, y, x is taken.
    """
    along = nodes[ends[:, 1]] - nodes[ends[:, 0]]
    share = np.abs(along) / np.linalg.norm(along, axis=1)[:, None]
    pick = 2 - np.argmin(np.round(share[:, ::-1], 9), axis=1)
    return np.asarray(np.eye(3)[pick], dtype=np.float64)


def cross(one: Array, two: Array) -> Array:
    """Vector products of vectors (…, 3); numpy's own takes ten times as long for few."""
    (a, b, c), (x, y, z) = (one[..., k] for k in range(3)), (two[..., k] for k in range(3))
    return np.stack((b * z - c * y, c * x - a * z, a * y - b * x), axis=-1)


def no_points() -> Points:
    """No loads along members."""
    none = np.zeros(0, dtype=np.intp)
    return Points(none, none, np.zeros(0), np.zeros((0, 3)), np.zeros((0, 3)))


def no_loads(frame: Frame, cases: int) -> Loads:
    """`cases` load cases without any load yet."""
    n, m = len(frame.nodes), len(frame.ends)
    return Loads(
        np.zeros((cases, n, 6)), np.zeros((cases, m, 2, 3)), np.zeros((cases, 3)), no_points()
    )


def one_case(loads: Loads, case: int) -> Loads:
    """The loads of one case alone."""
    p = loads.points
    k = p.case == case
    points = Points(
        np.zeros(int(k.sum()), dtype=np.intp), p.member[k], p.at[k], p.force[k], p.couple[k]
    )
    pick = slice(case, case + 1)
    return Loads(loads.nodal[pick], loads.line[pick], loads.field[pick], points)


def with_weight(frame: Frame, loads: Loads) -> Loads:
    """The loads with the field's forces written out as line loads and joint forces (field 0)."""
    if not loads.field.any():
        return loads
    line = loads.line + frame.line_mass[:, None, None] * loads.field[:, None, None, :]
    nodal = loads.nodal.copy()
    nodal[..., :3] += frame.node_mass[:, None] * loads.field[:, None, :]
    return replace(loads, nodal=nodal, line=line, field=np.zeros_like(loads.field))


def connected(frame: Frame) -> Indices:
    """For each joint the number of the part it belongs to (0 is the first joint's), (n,)."""
    part = np.arange(len(frame.nodes))
    for _ in range(len(part)):
        low = np.minimum(part[frame.ends[:, 0]], part[frame.ends[:, 1]])
        new = part.copy()
        np.minimum.at(new, frame.ends[:, 0], low)
        np.minimum.at(new, frame.ends[:, 1], low)
        if np.array_equal(new, part):
            break
        part = new
    return np.unique(part, return_inverse=True)[1].astype(np.intp)


def members_at(frame: Frame, node: int) -> Sequence[int]:
    """The members that end at a joint."""
    return [int(i) for i in np.flatnonzero((frame.ends == node).any(axis=1))]
