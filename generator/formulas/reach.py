"""Distances and angles around a seated driver. Points are (x aft, y to the right, z up), lengths in
m.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from generator.formulas.formula import Symbol, formula

GEOMETRY = "geometry"
Vector = NDArray[np.float64]


@formula(
    equation=r"d = \sqrt{(x_{B} - x_{A})^2 + (y_{B} - y_{A})^2 + (z_{B} - z_{A})^2}",
    result=Symbol("d", "length", "distance between two points"),
    source=GEOMETRY,
    xa=Symbol("x_{A}", "length", "x of the first point"),
    ya=Symbol("y_{A}", "length", "y of the first point"),
    za=Symbol("z_{A}", "length", "z of the first point"),
    xb=Symbol("x_{B}", "length", "x of the second point"),
    yb=Symbol("y_{B}", "length", "y of the second point"),
    zb=Symbol("z_{B}", "length", "z of the second point"),
)
def distance(*, xa: float, ya: float, za: float, xb: float, yb: float, zb: float) -> float:
    """Distance between two points, m."""
    return np.sqrt((xb - xa) ** 2 + (yb - ya) ** 2 + (zb - za) ** 2)  # type: ignore[no-any-return]


@formula(
    equation=r"r = a - b",
    result=Symbol("r", "length", "reach, belted"),
    source=GEOMETRY,
    arm=Symbol("a", "length", "reach from shoulder to grip", least=0.0),
    loss=Symbol("b", "length", "what the belts take", least=0.0),
)
def belted_reach(*, arm: float, loss: float) -> float:
    """Reach from the shoulder joint to the grip with the belts tight, m."""
    return arm - loss


@formula(
    equation=r"r_{t} = l + c",
    result=Symbol("r_{t}", "length", "reach from the tether's anchor"),
    source=GEOMETRY,
    tether=Symbol("l", "length", "length of the tether", least=0.0),
    cuff=Symbol("c", "length", "from the cuff to the grip", least=0.0),
)
def tethered_reach(*, tether: float, cuff: float) -> float:
    """Farthest from its anchor that a tethered hand can take hold, m."""
    return tether + cuff


@formula(
    equation=r"b = b_{0} + c",
    result=Symbol("b", "length", "shoulder breadth in full gear"),
    source=GEOMETRY,
    bare=Symbol("b_{0}", "length", "shoulder breadth of the survey, unclothed", least=0.0),
    clothing=Symbol("c", "length", "what clothing adds", least=0.0),
)
def clothed_breadth(*, bare: float, clothing: float) -> float:
    """Shoulder breadth in full gear, from a survey of unclothed persons, m."""
    return bare + clothing


@formula(
    equation=r"g = d - r_{1} - r_{2}",
    result=Symbol("g", "length", "gap"),
    source=GEOMETRY,
    distance=Symbol("d", "length", "distance between the middles", least=0.0),
    first=Symbol("r_{1}", "length", "radius of the first", least=0.0),
    second=Symbol("r_{2}", "length", "radius of the second", least=0.0),
)
def gap(*, distance: float, first: float, second: float) -> float:
    """Gap between two round things, m; negative where they overlap."""
    return distance - first - second


@formula(
    equation=r"\alpha = \arctan{\frac{h}{l}}",
    result=Symbol(r"\alpha", "angle", "angle of the view below the horizontal"),
    source=GEOMETRY,
    height=Symbol("h", "length", "eyes above the edge"),
    ahead=Symbol("l", "length", "horizontal distance from the eyes to the edge", least=0.01),
)
def view_angle(*, height: float, ahead: float) -> float:
    """Angle below the horizontal of the line from the eyes over an edge; negative where the edge is
    higher.
    """
    return np.arctan(height / ahead)  # type: ignore[no-any-return]


def segment_distance(point: Vector, begin: Vector, end: Vector) -> float:
    """Distance from a point to a straight piece between two points, m. A piece of no length is a
    point.
    """
    along = end - begin
    length = float(along @ along)
    share = 0.0 if length == 0.0 else min(max(float((point - begin) @ along) / length, 0.0), 1.0)
    return float(np.linalg.norm(point - (begin + share * along)))


def disc_distance(point: Vector, centre: Vector, rake: float, radius: float) -> float:
    """Distance from a point to a disc whose axis lies in the x–z plane, `rake` above the
    horizontal, m and rad.
    """
    axis = np.array([math.cos(rake), 0.0, math.sin(rake)])
    off = float((point - centre) @ axis)
    aside = float(np.linalg.norm((point - centre) - off * axis))
    return math.hypot(off, max(aside - radius, 0.0))
