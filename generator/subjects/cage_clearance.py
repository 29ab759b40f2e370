"""How close deformed tubes come to what they must keep clear of, balls and boxes, and whether they
stand around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.frame.model import Array, Indices
from generator.simplex import least_cost

FLAT = 1e-9
"""Joints whose least extent is below this share of their greatest lie in one plane."""


@dataclass(frozen=True, eq=False)
class Body:
    """A box about `centre` (3,) m with half sizes `half` (3,) m, rounded off by `radius` m: all half
    sizes 0 make a ball, radius 0 a box with sharp edges. Axes are the vehicle's."""

    centre: Array
    half: Array
    radius: float


@dataclass(frozen=True)
class Nearest:
    """gap: from the body's surface to the nearest tube's, m, negative where they meet; segment:
    which one; at: the point of its centreline."""

    gap: float
    segment: int
    at: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class _Boxes:
    """The middle boxes of n bodies: centres and half sizes (n, 3), and by what they are rounded (n,)."""

    centre: Array
    half: Array
    radius: Array

    def of(self, which: Indices) -> _Boxes:
        """Those of the bodies `which` (k,)."""
        return _Boxes(self.centre[which], self.half[which], self.radius[which])


def _outside(centre: Array, half: Array, points: Array) -> Array:
    """Distance (…,) of points (…, 3) from boxes about `centre` (…, 3), 0 inside them."""
    over = np.maximum(np.abs(points - centre) - half, 0.0)
    return np.asarray(np.sqrt((over * over).sum(axis=-1)))


def _nearest_points(boxes: _Boxes, begin: Array, end: Array) -> Array:
    """The point of each segment (n, 3) to (n, 3) nearest its box, (n, 3).

    The square of the distance from a box is convex along a line, and its slope is straight between the
    places where the line passes the planes of the box's faces: so where it is 0 is found exactly.
    """
    along = end - begin
    moves = along != 0.0
    faces = boxes.centre + np.array((-1.0, 1.0))[:, None, None] * boxes.half
    with np.errstate(
        over="ignore"
    ):  # a line that all but keeps within a plane passes it nowhere near
        passes = np.where(moves, (faces - begin) / np.where(moves, along, 1.0), 0.0)
    whole = np.broadcast_to(np.array((0.0, 1.0))[:, None, None], (2, len(begin), 1))
    at = np.concatenate((np.clip(passes, 0.0, 1.0), whole), axis=2)
    at = np.sort(at.transpose(0, 2, 1).reshape(8, -1), axis=0)
    place = begin + at[:, :, None] * along - boxes.centre
    over = place - np.clip(place, -boxes.half, boxes.half)
    share = _rises(at, (over * along).sum(axis=2))
    return np.asarray(begin + share[:, None] * along)


def _rises(at: Array, slope: Array) -> Array:
    """Where slopes (r, k) that do not fall along rising `at` (r, k) pass 0, (k,): the first or last
    place where they do so nowhere."""
    rises = slope >= 0.0
    after = np.where(rises[-1], np.argmax(rises, axis=0), len(at) - 1)
    each = np.arange(at.shape[1])
    before = np.maximum(after - 1, 0)
    low, high = slope[before, each], slope[after, each]
    part = np.clip(-low / np.where(high > low, high - low, 1.0), 0.0, 1.0)
    return np.asarray(at[before, each] + part * (at[after, each] - at[before, each]))


def nearest(
    bodies: Sequence[Body], places: Array, ends: Indices, radius: Array
) -> list[list[Nearest]]:
    """The tube nearest each body in each of c shapes: centreline segments `ends` (k, 2) between
    `places` (c, q, 3), each of outer radius `radius` (k,) m. Of two as near the first."""
    every = (np.array([getattr(b, of) for b in bodies]) for of in ("centre", "half", "radius"))
    boxes = _Boxes(*every)
    begin, end = places[:, ends[:, 0]], places[:, ends[:, 1]]
    whose, shape, near = _candidates(boxes, begin, end, radius)
    own = boxes.of(whose)
    points = _nearest_points(own, begin[shape, near], end[shape, near])
    gap = _outside(own.centre, own.half, points) - radius[near] - own.radius
    group = whose * len(places) + shape
    order = np.lexsort((near, gap, group))
    _, first = np.unique(group[order], return_index=True)
    least = order[first]
    rows = zip(*(of[least].tolist() for of in (gap, near, points)), strict=True)
    found = [Nearest(far, segment, tuple(at)) for far, segment, at in rows]
    return [found[n : n + len(places)] for n in range(0, len(found), len(places))]


def surrounded(points: Array, joints: Array) -> bool:
    """Whether all `points` (k, 3) lie inside the smallest convex body about `joints` (n, 3).

    Joints in one plane surround nothing.
    """
    left = [p for p in points if not _on_all_sides(p, joints)]
    if not left:
        return True
    across = np.linalg.svd(joints - joints.mean(axis=0), compute_uv=False)
    return bool(across[-1] > FLAT * across[0]) and all(_within(p, joints) for p in left)


def _on_all_sides(point: Array, joints: Array) -> bool:
    """Whether a joint lies in each of the eight octants about a point: then some joint lies ahead in
    whatever direction one looks, and they surround it. They may do so without."""
    away = joints - point
    clear = (np.abs(away) > FLAT * np.abs(away).max()).all(axis=1)
    return len(set(((away[clear] > 0.0) @ (1, 2, 4)).tolist())) == 8


def _within(point: Array, joints: Array) -> bool:
    """Whether a point is a mean of the joints, with weights that are not negative."""
    size = np.abs(joints - point).max()
    means = np.vstack([(joints - point).T / size, np.ones(len(joints))])
    wanted = np.array([0.0, 0.0, 0.0, 1.0])
    both = np.vstack([means, -means]), np.concatenate([wanted, -wanted])
    return least_cost(np.zeros(len(joints)), *both) is not None


def _candidates(
    boxes: _Boxes, begin: Array, end: Array, radius: Array
) -> tuple[Indices, Indices, Indices]:
    """The bodies, shapes and segments (c, k, 3) that can be the nearest: no point is further from the
    middle than half the length."""
    centre, size = boxes.centre[:, None, None], boxes.half[:, None, None]
    middle = _outside(centre, size, (begin + end) / 2.0) - radius
    half = np.sqrt(((end - begin) ** 2).sum(axis=-1)) / 2.0
    whose, shape, near = np.nonzero(middle - half <= middle.min(axis=2, keepdims=True))
    return whose, shape, near
