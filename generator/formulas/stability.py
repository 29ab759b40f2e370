"""Directional stability by components: side force of slender bodies and fins, crosswind, steering.

Slender-body and thin-fin slopes after J. S. Barrowman (1967). The method knows no ground and no
wheels: it is for arranging and comparing. Slopes are per radian on a stated reference area.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from generator.formulas.formula import Symbol, formula

BARROWMAN = (
    "J. S. Barrowman, The Practical Calculation of the Aerodynamic Characteristics of Slender Finned "
    "Vehicles (1967), as quoted by others"
)
SLOPE = Symbol("C", "ratio", "slope of the side-force coefficient, per radian")
REFERENCE = Symbol("A", "area", "reference area")


@formula(
    equation=r"C = \frac{2 (A_{2} - A_{1})}{A}",
    result=SLOPE,
    source=BARROWMAN,
    rear=Symbol("A_{2}", "area", "cross-section at the rear end"),
    front=Symbol("A_{1}", "area", "cross-section at the front end"),
    reference=REFERENCE,
)
def body_slope(*, rear: float, front: float, reference: float) -> float:
    """Slope per radian of a slender body's part between two cross-sections, m²; boat tails negative."""
    return 2.0 * (rear - front) / reference


@formula(
    equation=r"x = x_{1} + \frac{L A_{2} - V}{A_{2} - A_{1}}",
    result=Symbol("x", "length", "centre of pressure"),
    source=BARROWMAN,
    start=Symbol("x_{1}", "length", "front end of the part"),
    length=Symbol("L", "length", "length of the part"),
    rear=Symbol("A_{2}", "area", "cross-section at the rear end"),
    volume=Symbol("V", "volume", "volume of the part"),
    front=Symbol("A_{1}", "area", "cross-section at the front end"),
)
def body_centre(*, start: float, length: float, rear: float, volume: float, front: float) -> float:
    """Where the side force of a part of changing cross-section acts; its ends must differ."""
    return start + (length * rear - volume) / (rear - front)


@formula(
    equation=r"C = \frac{2 \pi K N s^2}{A (1 + \sqrt{1 + (\frac{\beta s^2}{A_{f} \cos(\Gamma)})^2})}",
    result=SLOPE,
    source=BARROWMAN + "; Diederich's planform correlation",
    interference=Symbol("K", "ratio", "fin-body interference factor", 1.0, 2.0),
    count=Symbol("N", "ratio", "fins that see the full side-slip; one upright fin is 1"),
    span=Symbol("s", "length", "exposed height of the fin"),
    reference=REFERENCE,
    compression=Symbol(r"\beta", "ratio", "Prandtl–Glauert factor", 0.6, 1.0),
    area=Symbol("A_{f}", "area", "exposed area of one fin"),
    sweep=Symbol(r"\Gamma", "angle", "sweep of the mid-chord line", -1.2, 1.2),
)
def fin_slope(
    *,
    interference: float,
    count: float,
    span: float,
    reference: float,
    compression: float,
    area: float,
    sweep: float,
) -> float:
    """Slope per radian of N fins at right angles to the flow's side component.

    Barrowman's set of N ≥ 3 fins around a body counts as N/2 of these.
    """
    aspect = compression * span * span / (area * np.cos(sweep))
    slope = 2.0 * math.pi * interference * count * span * span
    return slope / (reference * (1.0 + np.sqrt(1.0 + aspect * aspect)))  # type: ignore[no-any-return]


@formula(
    equation=r"K = 1 + \frac{R}{s + R}",
    result=Symbol("K", "ratio", "fin-body interference factor"),
    source=BARROWMAN,
    radius=Symbol("R", "length", "radius of the body at the fin"),
    span=Symbol("s", "length", "exposed height of the fin"),
)
def interference(*, radius: float, span: float) -> float:
    """Factor by which the body raises the side force of a fin on it."""
    return 1.0 + radius / (span + radius)


@formula(
    equation=r"x = x_{f} + \frac{X (c_{r} + 2 c_{t})}{3 (c_{r} + c_{t})} + \frac{1}{6} (c_{r} + c_{t} - \frac{c_{r} "
    "c_{t}}{c_{r} + c_{t}})",
    result=Symbol("x", "length", "centre of pressure"),
    source=BARROWMAN + "; quarter point of the mean chord",
    start=Symbol("x_{f}", "length", "leading edge at the root"),
    sweep=Symbol("X", "length", "how far the tip's leading edge stands behind the root's"),
    root=Symbol("c_{r}", "length", "root chord"),
    tip=Symbol("c_{t}", "length", "tip chord"),
)
def fin_centre(*, start: float, sweep: float, root: float, tip: float) -> float:
    """Where a trapezoidal fin's side force acts, in m."""
    both: float = root + tip
    return start + sweep * (root + 2.0 * tip) / (3.0 * both) + (both - root * tip / both) / 6.0


@formula(
    equation=r"x_{C} = \frac{\sum_{i}{C_i x_i}}{\sum_{i}{C_i}}",
    result=Symbol("x_{C}", "length", "centre of pressure of the whole"),
    source=BARROWMAN,
    slopes=Symbol("C_i", "ratio", "slope of each part", each=True),
    stations=Symbol("x_i", "length", "centre of pressure of each part", each=True),
)
def centre_of_pressure(*, slopes: NDArray[np.float64], stations: NDArray[np.float64]) -> float:
    """Station in m at which the side forces of all parts act together; their slopes' sum is not 0."""
    return (slopes * stations).sum() / slopes.sum()  # type: ignore[no-any-return]


@formula(
    equation=r"S = \frac{x_{C} - x_{G}}{l}",
    result=Symbol("S", "ratio", "static margin"),
    source="definition; positive when the centre of pressure is behind the CG",
    pressure=Symbol("x_{C}", "length", "centre of pressure"),
    gravity=Symbol("x_{G}", "length", "CG"),
    length=Symbol("l", "length", "reference length"),
)
def static_margin(*, pressure: float, gravity: float, length: float) -> float:
    """Distance from the CG back to the centre of pressure, in reference lengths."""
    return (pressure - gravity) / length


@formula(
    equation=r"Y = q_{w} A C \beta",
    result=Symbol("Y", "force", "side force"),
    source="definition of the slope, small angles",
    pressure=Symbol("q_{w}", "pressure", "dynamic pressure of the resulting wind"),
    reference=REFERENCE,
    slope=SLOPE,
    angle=Symbol(r"\beta", "angle", "side-slip angle", -0.18, 0.18),
)
def side_force(*, pressure: float, reference: float, slope: float, angle: float) -> float:
    """Side force in N at a side-slip angle in radians, valid to about 10°."""
    return pressure * reference * slope * angle


@formula(
    equation=r"\beta = \arctan(\frac{w}{v})",
    result=Symbol(r"\beta", "angle", "side-slip angle"),
    source="geometry of the resulting wind",
    wind=Symbol("w", "speed", "crosswind"),
    speed=Symbol("v", "speed", "speed through the air, forward"),
)
def sideslip(*, wind: float, speed: float) -> float:
    """Angle in radians between the course and the resulting wind."""
    return np.arctan(wind / speed)  # type: ignore[no-any-return]


@formula(
    equation=r"R = \frac{l}{\tan(\delta)}",
    result=Symbol("R", "distance", "least radius"),
    source="kinematics without slip: one steered axle, one that is not",
    wheelbase=Symbol("l", "length", "wheelbase"),
    angle=Symbol(r"\delta", "angle", "steering angle at the stops", 0.001, 1.2),
)
def turning_radius(*, wheelbase: float, angle: float) -> float:
    """Radius in m that the rear axle's middle follows at the steering stops, without slip."""
    return wheelbase / np.tan(angle)  # type: ignore[no-any-return]


@formula(
    equation=r"a_{y} = \frac{v^2}{R}",
    result=Symbol("a_{y}", "acceleration", "lateral acceleration"),
    source="definition",
    speed=Symbol("v", "speed", "speed"),
    radius=Symbol("R", "distance", "radius of the path"),
)
def lateral_acceleration(*, speed: float, radius: float) -> float:
    """Lateral acceleration in m/s² that a path of radius R would ask for."""
    return speed * speed / radius


@formula(
    equation=r"M = \sum_{i}{N_i (y_i - y_{G})}",
    result=Symbol("M", "torque", "moment that keeps the wheels on the ground"),
    source="statics about the line through the outer wheels",
    loads=Symbol("N_i", "force", "load on each axle", each=True),
    outer=Symbol("y_i", "length", "outer wheel of each axle, to that side", each=True),
    gravity=Symbol("y_{G}", "length", "CG, to that side"),
)
def righting_moment(
    *, loads: NDArray[np.float64], outer: NDArray[np.float64], gravity: float
) -> float:
    """Moment in N·m about the line through the outer wheels of two axles, all y to the side it may tip to."""
    return (loads * (outer - gravity)).sum()  # type: ignore[no-any-return]


@formula(
    equation=r"v = \sqrt{\frac{M R}{m h}}",
    result=Symbol("v", "speed", "speed at which the inner wheels lift"),
    source="statics: m v²/R at the height of the CG against the righting moment",
    moment=Symbol("M", "torque", "moment that keeps the wheels on the ground"),
    radius=Symbol("R", "distance", "radius of the path"),
    mass=Symbol("m", "mass", "mass"),
    height=Symbol("h", "length", "height of the CG"),
)
def tipping_speed(*, moment: float, radius: float, mass: float, height: float) -> float:
    """Speed in m/s on a path of that radius at which the inner wheels lift; the height is above 0."""
    return np.sqrt(moment * radius / (mass * height))  # type: ignore[no-any-return]
