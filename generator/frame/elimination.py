"""Elimination of joints that only two members meet at, all of one sort in one stroke.

Such joints are amid bends and between pieces. Two members that meet at one are joined to one member
between their far ends, exactly; every second joint of a row goes at once, then every second of what is
left. Few motions remain, and their matrix is small and full. Matrices may be stacked: leading axes
(load cases) go through together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.frame.model import Array, Flags, Frame, Indices


@dataclass(frozen=True, eq=False)
class Sum:
    """Adding up rows that belong to the same joint: `order` sorts rows by joint, `starts` is where each
    one's begin, `joint` which one it is."""

    order: Indices
    starts: Indices
    joint: Indices

    def add(self, total: Array, rows: Array) -> None:
        """Add rows (…, k, 6, r) to their joints in `total` (…, n, 6, r)."""
        if len(self.order):
            summed = np.add.reduceat(rows[..., self.order, :, :], self.starts, axis=-3)
            total[..., self.joint, :, :] += summed


def sum_of(joints: Indices) -> Sum:
    """How rows of `joints` (k,) add up."""
    order = np.argsort(joints, kind="stable")
    ordered = joints[order]
    starts = np.flatnonzero(np.diff(ordered, prepend=-1))
    return Sum(order, starts, ordered[starts])


@dataclass(frozen=True, eq=False)
class Level:
    """k joints `mid` that go at once, no two of them on one member: the members first and second that
    meet there, whether they have to be turned round so that first ends and second begins there;
    outer (k, 2): their far ends. The joined ones are numbered after all before them."""

    mid: Indices
    first: Indices
    second: Indices
    turned: tuple[Flags, Flags]
    outer: Indices
    sums: Sum


def levels_of(ends: Indices, may: Flags) -> tuple[tuple[Level, ...], Indices]:
    """The levels in order for members between `ends` (m, 2), and the numbers (k,) of the members that are
    left.

    may (n,): the joints that may go.
    """
    levels: list[Level] = []
    number = np.arange(len(ends))
    while (level := _level(ends[number], may, number)) is not None:
        levels.append(level)
        left = np.ones(len(ends), dtype=bool)
        left[level.first] = left[level.second] = False
        joined = len(ends) + np.arange(len(level.mid))
        number = np.concatenate((number[left[number]], joined))
        ends = np.concatenate((ends, level.outer))
    return tuple(levels), number


def _level(ends: Indices, may: Flags, number: Indices) -> Level | None:
    """Joints that can go at once from among members of these numbers, None where there are none."""
    meeting = np.bincount(ends.ravel(), minlength=len(may))
    joints = np.flatnonzero(may & (meeting == 2))
    at = np.argsort(ends.ravel(), kind="stable")
    begin = np.cumsum(meeting)[joints] - 2
    pairs = np.stack((at[begin], at[begin + 1]), axis=1) // 2
    used = np.zeros(len(ends), dtype=bool)
    taken = []
    for k, (one, two) in enumerate(pairs.tolist()):
        if one != two and not used[one] and not used[two]:
            used[one] = used[two] = True
            taken.append(k)
    if not taken:
        return None
    mid, (first, second) = joints[taken], pairs[taken].T
    turned = (ends[first, 0] == mid, ends[second, 1] == mid)
    outer = np.stack(
        (
            np.where(turned[0], ends[first, 1], ends[first, 0]),
            np.where(turned[1], ends[second, 0], ends[second, 1]),
        ),
        axis=1,
    )
    sums = sum_of(outer.T.reshape(-1))
    return Level(mid, number[first], number[second], turned, outer, sums)


def may_go(frame: Frame) -> Flags:
    """The joints that elimination may take: nothing but members holds them, in any case (n,)."""
    held = frame.held.reshape(-1, *frame.spring.shape).any(axis=(0, 2))
    return np.asarray(~held & ~(frame.spring > 0.0).any(axis=1))


@dataclass(frozen=True, eq=False)
class Gone:
    """What solving needs of one level: its joints' inverse stiffness (…, k, 6, 6), and how they follow
    the far ends, −share of (…, k, 6, 12)."""

    level: Level
    inverse: Array
    share: Array

    def pushed(self, forces: Array) -> None:
        """Pass forces (…, n, 6, r) on these joints to the far ends."""
        out = np.matmul(self.share.swapaxes(-1, -2), forces[..., self.level.mid, :, :])
        rows = np.concatenate((out[..., :6, :], out[..., 6:, :]), axis=-3)
        self.level.sums.add(forces, -rows)

    def followed(self, motions: Array, forces: Array) -> None:
        """Set these joints' motions (…, n, 6, r) by those of the far ends and their own forces."""
        a, b = self.level.outer.T
        far = np.concatenate((motions[..., a, :, :], motions[..., b, :, :]), axis=-2)
        own = np.matmul(self.inverse, forces[..., self.level.mid, :, :])
        motions[..., self.level.mid, :, :] = own - np.matmul(self.share, far)


def roots(matrices: Array) -> tuple[Array, Flags]:
    """Cholesky's lower factors of matrices (c, …, f, f), and in which cases all have one (c,); of the
    others the unit matrix."""
    firm = np.ones(len(matrices), dtype=bool)
    try:
        return np.asarray(np.linalg.cholesky(matrices)), firm
    except np.linalg.LinAlgError:
        out = np.broadcast_to(np.eye(matrices.shape[-1]), matrices.shape).copy()
    for case, own in enumerate(matrices):
        try:
            out[case] = np.linalg.cholesky(own)
        except np.linalg.LinAlgError:
            firm[case] = False
    return out, firm


def eliminated(
    levels: Sequence[Level], members: Array, *, solving: bool = True
) -> tuple[list[Gone], Array, Flags]:
    """Members' matrices (c, m, 12, 12) without the joints of the levels: what solving needs, all members'
    matrices with the joined ones after them (c, m + k, 12, 12), and in which cases all that went was
    firm (c,). Without `solving` nothing is kept to solve with."""
    gone: list[Gone] = []
    firm, begin = np.ones(len(members), dtype=bool), members.shape[1]
    size = begin + sum(len(level.mid) for level in levels)
    every = np.empty((len(members), size, 12, 12))
    every[:, :begin] = members
    for level in levels:
        a, b = (
            _turned(every[:, of], turned)
            for of, turned in zip((level.first, level.second), level.turned, strict=True)
        )
        root, ok = roots(a[..., 6:, 6:] + b[..., :6, :6])
        firm &= ok
        across = np.concatenate((a[..., 6:, :6], b[..., :6, 6:]), axis=-1)
        both = across
        if solving:
            both = np.concatenate((across, np.broadcast_to(np.eye(6), root.shape)), axis=-1)
        found = np.linalg.solve(root, both)  # as good as substitution; an inverse's product is not
        share = found[..., :12]
        joined = -np.matmul(share.swapaxes(-1, -2), share)
        joined[..., :6, :6] += a[..., :6, :6]
        joined[..., 6:, 6:] += b[..., 6:, 6:]
        if solving:
            half, back = found[..., 12:], found[..., 12:].swapaxes(-1, -2)
            gone.append(Gone(level, np.matmul(back, half), np.matmul(back, share)))
        every[:, begin : begin + len(level.mid)] = joined
        begin += len(level.mid)
    return gone, every, firm


def _turned(members: Array, flags: Flags) -> Array:
    """Matrices (c, k, 12, 12) with the ends exchanged of those flagged."""
    if not flags.any():
        return members
    out = members.copy()
    some = members[:, flags]
    out[:, flags] = np.roll(some, (6, 6), axis=(-2, -1))
    return out
