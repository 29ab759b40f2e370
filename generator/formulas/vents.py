"""Liquid in a box-shaped tank lying one way or another."""

from __future__ import annotations

from generator.formulas.formula import Symbol, formula


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
