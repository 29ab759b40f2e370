"""Burst zones beside rotating parts: a slab that widens outward by a spread angle."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from generator.formulas.formula import Symbol, formula

Vector = NDArray[np.float64]


@formula(
    equation=r"b = w + r \tan{\theta}",
    result=Symbol("b", "length", "half width of the burst zone at a distance from the axis"),
    source="geometry of a spread angle on both sides of the plane of rotation, as aircraft "
    "guidance on rotor bursts draws it",
    half_width=Symbol("w", "length", "half width of the part", least=0.0),
    distance=Symbol("r", "length", "distance from the axis", least=0.0),
    angle=Symbol(r"\theta", "angle", "spread angle", 0.0, 1.5),
)
def zone_half_width(*, half_width: float, distance: float, angle: float) -> float:
    """Half width of the burst zone at a distance from the axis, m; angle in rad under a right
    angle.
    """
    return half_width + distance * np.tan(angle)  # type: ignore[no-any-return]


class Nearest(NamedTuple):
    """Where something comes deepest into a burst zone: off the plane, and away from the axis, m."""

    off: float
    aside: float


def off_and_aside(point: Vector, centre: Vector, axis: int) -> Nearest:
    """A point's distance from the plane of rotation and from the axis; `axis` is 0, 1 or 2 for x, y
    or z.
    """
    away = point - centre
    return Nearest(abs(float(away[axis])), float(np.linalg.norm(np.delete(away, axis))))


def deepest(
    pieces: tuple[tuple[Vector, Vector], ...],
    centre: Vector,
    axis: int,
    half_width: float,
    angle: float,
    *,
    factor: float = 1.0,
) -> Nearest:
    """The point of straight pieces that lies deepest in a burst zone, or nearest to it.

    How far a point is outside, |off| − f·(w + aside·tan θ) with the factor f asked of the zone, is
    concave on either side of the plane of rotation, so that its least value stands at an end of a
    piece or where the piece crosses the plane. Far out a factor asks for more room than near the axis.
    """
    candidates = [
        off_and_aside(p, centre, axis) for piece in pieces for p in _ends(piece, centre, axis)
    ]
    slope = float(np.tan(angle))
    return min(candidates, key=lambda n: n.off - factor * (half_width + n.aside * slope))


def touches(
    pieces: tuple[tuple[Vector, Vector], ...],
    centre: Vector,
    axis: int,
    half_width: float,
    radius: float,
) -> bool:
    """Whether straight pieces begin, end or cross the plane of rotation inside a part of that size, m."""
    near = (off_and_aside(p, centre, axis) for piece in pieces for p in _ends(piece, centre, axis))
    return any(n.off < half_width and n.aside < radius for n in near)


def _ends(piece: tuple[Vector, Vector], centre: Vector, axis: int) -> tuple[Vector, ...]:
    """Both ends of a piece, and the point between them in the plane of rotation where there is one."""
    begin, end = piece
    before, after = float(begin[axis] - centre[axis]), float(end[axis] - centre[axis])
    if before * after >= 0.0:
        return begin, end
    return begin, end, begin + before / (before - after) * (end - begin)


def box_edges(middle: Vector, size: Vector) -> tuple[tuple[Vector, Vector], ...]:
    """The twelve edges of a box. What lies deepest in a burst zone lies on one of them."""
    corners = [middle + size * (np.array(corner) - 0.5) for corner in np.ndindex(2, 2, 2)]
    return tuple(
        (a, b)
        for i, a in enumerate(corners)
        for b in corners[i + 1 :]
        if int(np.count_nonzero(np.abs(a - b) > 1e-12)) == 1
    )
