"""How close deformed tubes come to what they must keep clear of, balls and boxes, and whether they
stand around it."""

from __future__ import annotations

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
    which one; at: where on its centreline (3,) m."""

    gap: float
    segment: int
    at: tuple[float, float, float]


def outside(body: Body, points: Array) -> Array:
    """Distance (…,) of points (…, 3) from the box, 0 inside it."""
    over = np.maximum(np.abs(points - body.centre) - body.half, 0.0)
    return np.asarray(np.sqrt((over * over).sum(axis=-1)))


def nearest_points(body: Body, begin: Array, end: Array) -> Array:
    """The point of each segment (k, 3) to (k, 3) nearest the body's middle box, (k, 3).

    The square of the distance from a box is convex along a line, and its slope is straight between the
    places where the line passes the planes of the box's faces: so where it is 0 is found exactly.
    """
    along = end - begin
    moves = along != 0.0
    faces = body.centre + np.array((-1.0, 1.0))[:, None, None] * body.half
    with np.errstate(
        over="ignore"
    ):  # a line that all but keeps within a plane passes it nowhere near
        passes = np.where(moves, (faces - begin) / np.where(moves, along, 1.0), 0.0)
    whole = np.broadcast_to(np.array((0.0, 1.0))[:, None, None], (2, len(begin), 1))
    at = np.concatenate((np.clip(passes, 0.0, 1.0), whole), axis=2)
    at = np.sort(at.transpose(0, 2, 1).reshape(8, -1), axis=0)
    place = begin + at[:, :, None] * along - body.centre
    over = place - np.clip(place, -body.half, body.half)
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


def nearest(body: Body, places: Array, ends: Indices, radius: Array) -> tuple[Nearest, ...]:
    """The tube nearest a body in each of c shapes: centreline segments `ends` (k, 2) between
    `places` (c, q, 3), each of outer radius `radius` (k,) m."""
    begin, end = places[:, ends[:, 0]], places[:, ends[:, 1]]
    shape, near = _candidates(body, begin, end, radius)
    points = nearest_points(body, begin[shape, near], end[shape, near])
    gap = outside(body, points) - radius[near] - body.radius
    found = []
    for number in range(len(places)):
        own = np.flatnonzero(shape == number)
        k = int(own[np.argmin(gap[own])])
        x, y, z = (float(c) for c in points[k])
        found.append(Nearest(float(gap[k]), int(near[k]), (x, y, z)))
    return tuple(found)


def surrounded(points: Array, joints: Array) -> bool:
    """Whether all `points` (k, 3) lie inside the smallest convex body about `joints` (n, 3).

    Joints in one plane surround nothing.
    """
    across = np.linalg.svd(joints - joints.mean(axis=0), compute_uv=False)
    return bool(across[-1] > FLAT * across[0]) and all(_within(p, joints) for p in points)


def _within(point: Array, joints: Array) -> bool:
    """Whether a point is a mean of the joints, with weights that are not negative."""
    size = np.abs(joints - point).max()
    means = np.vstack([(joints - point).T / size, np.ones(len(joints))])
    wanted = np.array([0.0, 0.0, 0.0, 1.0])
    both = np.vstack([means, -means]), np.concatenate([wanted, -wanted])
    return least_cost(np.zeros(len(joints)), *both) is not None


def _candidates(body: Body, begin: Array, end: Array, radius: Array) -> tuple[Indices, Indices]:
    """The shapes and segments (c, k, 3) that can be the nearest: no point is further from the middle
    than half the length."""
    middle = outside(body, (begin + end) / 2.0) - radius
    half = np.sqrt(((end - begin) ** 2).sum(axis=-1)) / 2.0
    shape, near = np.nonzero(middle - half <= middle.min(axis=1, keepdims=True))
    return shape, near
