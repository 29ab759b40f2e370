"""Liquid in a box-shaped tank lying one way or another."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from generator.formulas.formula import Formula, Symbol, formula

Array = NDArray[np.float64]


@formula(
    equation=r"h_{L} = k H",
    result=Symbol("h_{L}", "length", "liquid level above the tank's lowest point"),
    source="volume of a box; exact where one of its edges stands upright",
    fill=Symbol("k", "share", "how full the tank is", 0.0, 1.0),
    height=Symbol("H", "length", "extent of the tank along the vertical", least=0.0),
)
def level(*, fill: float, height: float) -> float:
    """Level of the liquid above the lowest point of a box that stands on a face, m."""
    return fill * height


@formula(
    equation=r"h = u - u_{0} + \frac{H}{2}",
    result=Symbol("h", "length", "height above the tank's lowest point"),
    source="geometry",
    point=Symbol("u", "length", "coordinate of the point, upward"),
    middle=Symbol("u_{0}", "length", "coordinate of the tank's middle, upward"),
    height=Symbol("H", "length", "extent of the tank along the vertical", least=0.0),
)
def height_in_tank(*, point: float, middle: float, height: float) -> float:
    """Height of a point above the lowest point of a tank, m; negative below it."""
    return point - middle + height / 2.0


TILTED = "area of a tilted rectangle below a level line: triangle, strip, rectangle less a triangle"


@formula(
    equation=r"h_{L} = \sqrt{2 k a b}",
    result=Symbol("h_{L}", "length", "liquid level above the tank's lowest corner"),
    source=TILTED,
    fill=Symbol("k", "share", "how full the tank is", 0.0, 1.0),
    short=Symbol("a", "length", "shorter of the two rises of the tank's sides", least=0.0),
    long=Symbol("b", "length", "longer of the two", least=0.0),
)
def level_in_corner(*, fill: float, short: float, long: float) -> float:
    """Level where the liquid fills a triangle in the lowest corner: k ≤ a/(2 b), m."""
    return np.sqrt(2.0 * fill * short * long)  # type: ignore[no-any-return]


@formula(
    equation=r"h_{L} = k b + \frac{a}{2}",
    result=Symbol("h_{L}", "length", "liquid level above the tank's lowest corner"),
    source=TILTED,
    fill=Symbol("k", "share", "how full the tank is", 0.0, 1.0),
    short=Symbol("a", "length", "shorter of the two rises of the tank's sides", least=0.0),
    long=Symbol("b", "length", "longer of the two", least=0.0),
)
def level_across(*, fill: float, short: float, long: float) -> float:
    """Level where the liquid wets both of the longer sides: a/(2 b) ≤ k ≤ 1 − a/(2 b), m."""
    return fill * long + short / 2.0


@formula(
    equation=r"h_{L} = a + b - \sqrt{2 (1 - k) a b}",
    result=Symbol("h_{L}", "length", "liquid level above the tank's lowest corner"),
    source=TILTED,
    fill=Symbol("k", "share", "how full the tank is", 0.0, 1.0),
    short=Symbol("a", "length", "shorter of the two rises of the tank's sides", least=0.0),
    long=Symbol("b", "length", "longer of the two", least=0.0),
)
def level_under_corner(*, fill: float, short: float, long: float) -> float:
    """Level where only a triangle in the highest corner is dry: k ≥ 1 − a/(2 b), m."""
    return short + long - np.sqrt(2.0 * (1.0 - fill) * short * long)  # type: ignore[no-any-return]


def tilted(fill: float, rises: tuple[float, float]) -> Formula[..., float]:
    """The formula that holds for a fill and the two rises of a tilted tank's sides, m."""
    short, long = sorted(rises)
    dry = short / (2.0 * long) if long > 0.0 else 0.0
    if fill < dry:
        return level_in_corner
    return level_under_corner if fill > 1.0 - dry else level_across


def tilted_level(fill: float, first: Array, second: Array) -> Array:
    """Levels in m over two rises of a tilted tank's sides, m, by whichever formula holds at each."""
    short, long = np.minimum(first, second), np.maximum(first, second)
    dry = short / (2.0 * np.maximum(long, 1e-12))
    low = level_in_corner(fill=fill, short=short, long=long)  # type: ignore[arg-type]
    middle = level_across(fill=fill, short=short, long=long)  # type: ignore[arg-type]
    high = level_under_corner(fill=fill, short=short, long=long)  # type: ignore[arg-type]
    return np.where(fill < dry, low, np.where(fill > 1.0 - dry, high, middle))


CUT = "volume of a box cut by a plane: the corner below it, less what sticks out beyond the other corners"


@formula(
    equation=r"k = \frac{1}{6 a b c} \sum_{i}{s_i p_i^3}",
    result=Symbol("k", "share", "part of the box below the level"),
    source=CUT,
    signs=Symbol(
        "s_i", "ratio", "1 or −1, as corner i lies an even or odd count of sides up", each=True
    ),
    heights=Symbol(
        "p_i", "length", "level over corner i, 0 where it lies below", least=0.0, each=True
    ),
    first=Symbol("a", "length", "rise of the first side along the vertical", least=0.0),
    second=Symbol("b", "length", "rise of the second", least=0.0),
    third=Symbol("c", "length", "rise of the third", least=0.0),
)
def share_below(
    *, signs: Array, heights: Array, first: float, second: float, third: float
) -> float:
    """Part of a box's volume below a level; eight corners, rises above 0, m."""
    return np.sum(signs * heights**3) / (6.0 * first * second * third)


@formula(
    equation=r"h = \sum_{i}{(u_i (x_i - m_i) + \frac{r_i}{2})}",
    result=Symbol("h", "length", "height above the tank's lowest corner"),
    source="geometry: a point projected on the vertical, from the middle of the box",
    upward=Symbol("u_i", "ratio", "the direction that is up, along x, y and z", each=True),
    point=Symbol("x_i", "length", "coordinates of the point", each=True),
    middle=Symbol("m_i", "length", "coordinates of the tank's middle", each=True),
    rises=Symbol("r_i", "length", "rises of the three sides along the vertical", each=True),
)
def height_turned(*, upward: Array, point: Array, middle: Array, rises: Array) -> float:
    """Height of a point above the lowest corner of a box in any attitude, m; three components each."""
    return np.sum(upward * (point - middle) + rises / 2.0)


LEAST_RISE = 1e-3
"""A side that rises by less than this part of the longest counts as rising by so much: the exact
sum divides by every rise, and the level over the tank's middle does not feel the difference.
"""


_CORNERS = np.array(list(np.ndindex(2, 2, 2)), dtype=np.float64)
_SIGNS = (-1.0) ** _CORNERS.sum(axis=1)


def level_of_box(fill: float, rises: Array) -> Array:
    """Levels (n,) in m above the lowest corner of a box whose three sides rise by `rises` (n, 3), m.

    The volume below a level h is that of the corner it cuts off, h³/(6abc), less what sticks out
    beyond the other corners, by inclusion and exclusion; the level is found by halving. `fill` from
    0 to 1. Geometry of a box cut by a plane.
    """
    held = held_rises(rises)
    whole = held.sum(axis=1)
    stand, volume = held @ _CORNERS.T, 6.0 * held.prod(axis=1)
    low, high = np.zeros(len(held)), whole.copy()
    for _ in range(60):
        middle = (low + high) / 2.0
        left = np.maximum(middle[:, None] - stand, 0.0)
        full = (left * left * left) @ _SIGNS / volume >= fill
        low, high = np.where(full, low, middle), np.where(full, middle, high)
    level: Array = (low + high) / 2.0 - whole / 2.0 + rises.sum(axis=1) / 2.0
    return level


def held_rises(rises: Array) -> Array:
    """The rises (n, 3) in m as the level is computed with: none less than a small part of the longest."""
    held: Array = np.maximum(rises, LEAST_RISE * rises.max(axis=1, keepdims=True))
    return held


def corners(level: float, rises: Array) -> tuple[Array, Array]:
    """Signs and heights in m of a level over the eight corners of a box with three rises, m."""
    return _SIGNS, np.maximum(level - _CORNERS @ rises, 0.0)
