"""Mass, first moments, centre of gravity, wheel loads, inertia, and the height by an axle lift.

x points aft, y to the driver's right, z up. Every function is exact within what its docstring
assumes; none of them knows where its numbers come from.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from generator.formulas.formula import Symbol, formula

Array = NDArray[np.float64]

_STATICS = "statics of a rigid body (common practice)"
_MASS_EACH = Symbol("m_i", "mass", "mass of item i aboard", least=0.0, each=True)
_TOTAL = Symbol("M", "mass", "total mass", least=0.0)
_GRAVITY = Symbol("g", "acceleration", "acceleration of gravity", least=0.0)
_X_FRONT = Symbol("x_{F}", "length", "x of the front axle")
_X_REAR = Symbol("x_{R}", "length", "x of the rear axle")
_X_CG = Symbol("x_{G}", "length", "x of the centre of gravity")


@formula(
    equation=r"M = \sum_{i}{m_i}",
    result=_TOTAL,
    source=_STATICS,
    m=_MASS_EACH,
)
def total_mass(*, m: Array) -> float:
    """Total of the masses aboard. `m` in kg, any number of them; the result in kg."""
    return np.sum(m)


@formula(
    equation=r"S = \sum_{i}{m_i r_i}",
    result=Symbol("S", "mass moment", "first moment of mass about the origin along one axis"),
    source=_STATICS,
    m=_MASS_EACH,
    r=Symbol("r_i", "length", "coordinate of item i along that axis", each=True),
)
def first_moment(*, m: Array, r: Array) -> float:
    """First moment of mass about the origin along one axis, kg·m. `m` in kg, `r` in m."""
    return np.sum(m * r)


@formula(
    equation=r"r_{G} = \frac{S}{M}",
    result=Symbol("r_{G}", "length", "coordinate of the centre of gravity along one axis"),
    source=_STATICS,
    s=Symbol("S", "mass moment", "first moment of mass along that axis"),
    m=_TOTAL,
)
def centre(*, s: float, m: float) -> float:
    """Coordinate of the centre of gravity, m, from a first moment (kg·m) and a total mass (kg) >
    0.
    """
    return s / m


@formula(
    equation=r"M = M_{0} + \sum_{i}{m_i}",
    result=_TOTAL,
    source=_STATICS,
    start=Symbol("M_{0}", "mass", "mass as weighed", least=0.0),
    m=Symbol("m_i", "mass", "mass of item i added (negative: taken out)", each=True),
)
def carried_mass(*, start: float, m: Array) -> float:
    """Total after adding items to, or taking them out of, a vehicle that was weighed, kg."""
    return start + np.sum(m)


@formula(
    equation=r"S = M_{0} r_{0} + \sum_{i}{m_i r_i}",
    result=Symbol("S", "mass moment", "first moment of mass about the origin along one axis"),
    source=_STATICS,
    start=Symbol("M_{0}", "mass", "mass as weighed", least=0.0),
    at=Symbol("r_{0}", "length", "coordinate of the centre of gravity as weighed, along that axis"),
    m=Symbol("m_i", "mass", "mass of item i added (negative: taken out)", each=True),
    r=Symbol("r_i", "length", "coordinate of item i along that axis", each=True),
)
def carried_moment(*, start: float, at: float, m: Array, r: Array) -> float:
    """First moment after adding items to, or taking them out of, a vehicle that was weighed,
    kg·m.
    """
    return start * at + np.sum(m * r)


@formula(
    equation=r"h = z_{G} - z_{0}",
    result=Symbol("h", "length", "height of the centre of gravity above the ground"),
    source="geometry",
    z=Symbol("z_{G}", "length", "z of the centre of gravity"),
    ground=Symbol("z_{0}", "length", "z of the ground"),
)
def height_above_ground(*, z: float, ground: float) -> float:
    """Height of a point above the ground, m."""
    return z - ground


@formula(
    equation=r"p = \frac{x_{G} - x_{F}}{x_{R} - x_{F}}",
    result=Symbol(
        "p", "share", "place of the centre of gravity between front axle (0) and rear axle (1)"
    ),
    source=_STATICS,
    x=_X_CG,
    front=_X_FRONT,
    rear=_X_REAR,
)
def wheelbase_share(*, x: float, front: float, rear: float) -> float:
    """Where along the wheelbase the centre of gravity is, which is the rear axle's share of the
    mass.

    Lengths in m, rear > front. 0 is over the front axle, 1 over the rear one; beyond them the
    result leaves that interval, and an axle lifts.
    """
    return (x - front) / (rear - front)


@formula(
    equation=r"q = \frac{x_{R} - x_{G}}{x_{R} - x_{F}}",
    result=Symbol("q", "share", "front axle's share of the mass"),
    source=_STATICS,
    x=_X_CG,
    front=_X_FRONT,
    rear=_X_REAR,
)
def front_share(*, x: float, front: float, rear: float) -> float:
    """The front axle's share of the mass, by moments about the rear axle. Lengths in m, rear >
    front.

    Valid for two axles at rest on level ground.
    """
    return (rear - x) / (rear - front)


@formula(
    equation=r"F = q M g",
    result=Symbol("F", "force", "load of the axle"),
    source=_STATICS,
    q=Symbol("q", "share", "the axle's share of the mass", least=0.0, most=1.0),
    m=_TOTAL,
    g=_GRAVITY,
)
def axle_load(*, q: float, m: float, g: float) -> float:
    """Load of an axle at rest on level ground, N, from its share of the mass (kg)."""
    return q * m * g


_WHEEL_SUMS = (
    "A_{xx}",
    "sum of the squared distances of the wheels from their mean position, along x and x",
    "A_{yy}",
    "the same along y and y",
    "A_{xy}",
    "the same along x and y",
)


@formula(
    equation=(
        r"F = M g (\frac{1}{n} + \frac{(A_{yy} e_{x} - A_{xy} e_{y}) a"
        r" + (A_{xx} e_{y} - A_{xy} e_{x}) b}{A_{xx} A_{yy} - A_{xy}^{2}})"
    ),
    result=Symbol("F", "force", "load of one wheel"),
    source="statics; with more than three wheels also equal vertical stiffness at each wheel and "
    "a rigid chassis, for which the loads lie in a plane over the wheels (least-norm solution)",
    m=_TOTAL,
    g=_GRAVITY,
    n=Symbol("n", "ratio", "number of wheels", least=3.0),
    ex=Symbol("e_{x}", "length", "centre of gravity aft of the wheels' mean position"),
    ey=Symbol("e_{y}", "length", "centre of gravity right of the wheels' mean position"),
    a=Symbol("a", "length", "this wheel aft of the wheels' mean position"),
    b=Symbol("b", "length", "this wheel right of the wheels' mean position"),
    axx=Symbol(_WHEEL_SUMS[0], "area", _WHEEL_SUMS[1]),
    ayy=Symbol(_WHEEL_SUMS[2], "area", _WHEEL_SUMS[3]),
    axy=Symbol(_WHEEL_SUMS[4], "area", _WHEEL_SUMS[5]),
)
def wheel_load(
    *,
    m: float,
    g: float,
    n: float,
    ex: float,
    ey: float,
    a: float,
    b: float,
    axx: float,
    ayy: float,
    axy: float,
) -> float:
    """Load of one wheel of three or more that do not stand in one line, at rest on level ground, N.

    Exact for three wheels. For more, the sum and the two moments do not settle the loads; a rigid
    chassis on equally stiff wheels settles them, and its solution is the one of least norm. Wheels
    of unequal stiffness, a twisted chassis or unequal tire pressures shift load between the
    diagonals. A negative result means that the wheel lifts, and then no result for that loading is
    right.
    """
    ahead = (ayy * ex - axy * ey) * a + (axx * ey - axy * ex) * b
    return m * g * (1.0 / n + ahead / (axx * ayy - axy**2))


@formula(
    equation=r"I = \sum_{i}{m_i (u_i^{2} + v_i^{2} + \frac{a_i^{2} + b_i^{2}}{12})}",
    result=Symbol("I", "inertia", "moment of inertia about an axis through the centre of gravity"),
    source="parallel-axis theorem, each item as a uniform box with edges along the axes "
    "(common practice)",
    m=_MASS_EACH,
    u=Symbol("u_i", "length", "distance of item i from the axis, first direction", each=True),
    v=Symbol("v_i", "length", "distance of item i from the axis, second direction", each=True),
    a=Symbol("a_i", "length", "edge of item i along the first direction", least=0.0, each=True),
    b=Symbol("b_i", "length", "edge of item i along the second direction", least=0.0, each=True),
)
def moment_of_inertia(*, m: Array, u: Array, v: Array, a: Array, b: Array) -> float:
    """Moment of inertia about one axis, kg·m². Masses in kg, lengths in m; a point has edges of 0.

    u and v are measured at right angles to the axis and to each other.
    """
    return np.sum(m * (u**2 + v**2 + (a**2 + b**2) / 12.0))


@formula(
    equation=r"P = \sum_{i}{m_i u_i v_i}",
    result=Symbol(
        "P", "inertia", "product of inertia about two axes through the centre of gravity"
    ),
    source="parallel-axis theorem; boxes with edges along the axes have no product of their own",
    m=_MASS_EACH,
    u=Symbol(
        "u_i", "length", "distance of item i from the centre of gravity, first axis", each=True
    ),
    v=Symbol(
        "v_i", "length", "distance of item i from the centre of gravity, second axis", each=True
    ),
)
def product_of_inertia(*, m: Array, u: Array, v: Array) -> float:
    """Product of inertia, positive as the sum of m·u·v, kg·m². The tensor's entry is its
    negative.
    """
    return np.sum(m * u * v)


@formula(
    equation=r"k = \sqrt{\frac{I}{M}}",
    result=Symbol("k", "length", "radius of gyration"),
    source="definition",
    i=Symbol("I", "inertia", "moment of inertia about the axis", least=0.0),
    m=_TOTAL,
)
def radius_of_gyration(*, i: float, m: float) -> float:
    """Radius of gyration, m, from a moment of inertia (kg·m²) ≥ 0 and a mass (kg) > 0."""
    k: float = np.sqrt(i / m)
    return k


@formula(
    equation=r"m_{a} = m (1 + a)",
    result=Symbol("m_{a}", "mass", "mass with its growth allowance"),
    source="common practice of mass control",
    m=Symbol("m", "mass", "mass as known today", least=0.0),
    a=Symbol("a", "share", "growth allowance", least=0.0),
)
def with_allowance(*, m: float, a: float) -> float:
    """A mass with an allowance for the growth its design still has ahead, kg."""
    return m * (1.0 + a)


# ------------------------------------------------------------------------------ axle lift

_LEVER = Symbol("l", "length", "horizontal distance between the axles when level", least=0.0)
_STEP = Symbol("s", "length", "loaded radius at the raised axle less that at the other")
_ANGLE = Symbol("\\theta", "angle", "angle the vehicle is turned by")


@formula(
    equation=r"\theta = \arcsin(\frac{H + s}{\sqrt{l^{2} + s^{2}}}) - \arctan(\frac{s}{l})",
    result=_ANGLE,
    source="geometry of the lift: the line between the axle centres keeps its length",
    height=Symbol("H", "length", "how far the raised axle's centre went up", least=0.0),
    base=_LEVER,
    s=_STEP,
)
def lift_angle(*, height: float, base: float, s: float) -> float:
    """Angle that lifting one axle turns the vehicle by, rad.

    Lengths in m; H + s at most the distance between the axles' centres. With equal radii (s = 0)
    this is arcsin(H/l).
    """
    theta: float = np.arcsin((height + s) / np.sqrt(base**2 + s**2)) - np.arctan(s / base)
    return theta


@formula(
    equation=(
        r"h = r + \frac{R (l \cos(\theta) - s \sin(\theta))}{M \sin(\theta)}"
        r" - \frac{d \cos(\theta)}{\sin(\theta)}"
    ),
    result=Symbol("h", "length", "height of the centre of gravity above the ground, level"),
    source="moments about the raised axle in the turned position (exact; with equal radii the "
    "axle-lift formula of the trade, common practice)",
    r=Symbol("r", "length", "loaded radius at the raised axle", least=0.0),
    reading=Symbol("R", "mass", "reading under the other axle in the turned position", least=0.0),
    m=_TOTAL,
    d=Symbol(
        "d",
        "length",
        "horizontal distance of the centre of gravity from the raised axle when level",
    ),
    base=_LEVER,
    s=_STEP,
    theta=Symbol("\\theta", "angle", "angle the vehicle is turned by", least=0.02, most=1.2),
)
def lifted_height(
    *,
    r: float,
    reading: float,
    m: float,
    d: float,
    base: float,
    s: float,
    theta: float,
) -> float:
    """Height of the centre of gravity from an axle lift, m above the ground when level.

    Lengths in m, masses in kg, the angle in rad. Assumes locked suspension, tires squashed as
    when level, wheels free to roll, both axles loaded vertically through their centres, and
    nothing aboard that moves. Below about 0.02 rad (1°) the answer is all noise.
    """
    lever = base * np.cos(theta) - s * np.sin(theta)
    h: float = r + reading * lever / (m * np.sin(theta)) - d * np.cos(theta) / np.sin(theta)
    return h
