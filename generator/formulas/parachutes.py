"""Parachutes: drag area, opening loads with and without credit for slowing, lines and snatch.

Conventions as Knacke, Parachute Recovery Systems Design Manual (NWC TP 6575, 1991): the nominal
area S₀ is the whole cloth area including vent and slots, and drag coefficients are on it.
"""

from __future__ import annotations

import math

import numpy as np

from generator.formulas.formula import Formula, Symbol, formula

KNACKE = "T. W. Knacke, Parachute Recovery Systems Design Manual, NWC TP 6575 (1991), as quoted by others"
PFLANZ = (
    "Pflanz' method, its closed form derived for CdS growing as (t/t_f)^j without gravity or thrust"
)

Q = Symbol("q", "pressure", "dynamic pressure at line stretch")
CDS = Symbol("A_{C}", "area", "canopy drag area")
OVERSHOOT = Symbol("C_{x}", "ratio", "opening-force coefficient", 1.0, 2.0)
EXPONENT = Symbol("j", "ratio", "growth exponent of the drag area", 0.3, 6.0)
BALLISTIC = Symbol("A", "ratio", "ballistic parameter", 0.01, 1.0e4)


@formula(
    equation=r"S_{0} = \frac{\pi D_{0}^2}{4}",
    result=Symbol("S_{0}", "area", "nominal area, all the cloth, vent and slots included"),
    source=KNACKE + ", section 5",
    diameter=Symbol("D_{0}", "length", "nominal diameter"),
)
def nominal_area(*, diameter: float) -> float:
    """Nominal area in m² from the nominal diameter in m."""
    return math.pi * diameter * diameter / 4.0


@formula(
    equation=r"A_{C} = w C_{D} S_{0}",
    result=CDS,
    source=KNACKE + ", section 5",
    wake=Symbol("w", "share", "share left by the wake of the vehicle", 0.0, 1.0),
    coefficient=Symbol("C_{D}", "ratio", "drag coefficient on the nominal area", 0.1, 1.2),
    area=Symbol("S_{0}", "area", "nominal area"),
)
def canopy_drag_area(*, wake: float, coefficient: float, area: float) -> float:
    """Drag area of a full canopy in m²; the wake share is 1 for the design load."""
    return wake * coefficient * area


@formula(
    equation=r"F = q A_{C} C_{x}",
    result=Symbol("F", "force", "opening load of an infinitely heavy vehicle"),
    source=KNACKE + ", opening load at infinite mass",
    pressure=Q,
    drag_area=CDS,
    overshoot=OVERSHOOT,
)
def design_load(*, pressure: float, drag_area: float, overshoot: float) -> float:
    """Opening load in N without credit for the vehicle slowing while the canopy fills."""
    return pressure * drag_area * overshoot


@formula(
    equation=r"F = q A_{C} C_{x} X_{1}",
    result=Symbol("F", "force", "expected opening load"),
    source=KNACKE + ", p. 5-50",
    pressure=Q,
    drag_area=CDS,
    overshoot=OVERSHOOT,
    reduction=Symbol("X_{1}", "ratio", "opening-force reduction factor", 0.0, 1.0),
)
def expected_load(
    *, pressure: float, drag_area: float, overshoot: float, reduction: float
) -> float:
    """Opening load in N with the credit for the vehicle slowing while the canopy fills."""
    return pressure * drag_area * overshoot * reduction


@formula(
    equation=r"t_{f} = \frac{n D_{0}}{v}",
    result=Symbol("t_{f}", "time", "filling time"),
    source=KNACKE + ", p. 5-44: satisfactory from about 150 to 500 ft/s",
    fill=Symbol("n", "ratio", "fill constant", 2.0, 20.0),
    diameter=Symbol("D_{0}", "length", "nominal diameter"),
    speed=Symbol("v", "speed", "speed at line stretch", 45.72, 152.4),
)
def filling_time(*, fill: float, diameter: float, speed: float) -> float:
    """Time in s from line stretch to a full canopy."""
    return fill * diameter / speed


@formula(
    equation=r"A = \frac{2 m}{\rho A_{C} v t_{f}}",
    result=BALLISTIC,
    source=PFLANZ,
    mass=Symbol("m", "mass", "mass of the vehicle"),
    density=Symbol(r"\rho", "density", "air density"),
    drag_area=CDS,
    speed=Symbol("v", "speed", "speed at line stretch"),
    filling=Symbol("t_{f}", "time", "filling time"),
)
def ballistic_parameter(
    *, mass: float, density: float, drag_area: float, speed: float, filling: float
) -> float:
    """How heavy the vehicle is against the air a filling canopy sweeps: small means much slowing."""
    return 2.0 * mass / (density * drag_area * speed * filling)


@formula(
    equation=r"X_{1} = (\frac{j + 2}{2 (j + 1)})^2 (\frac{j (j + 1) A}{j + 2})^{\frac{j}{j + 1}}",
    result=Symbol("X_{1}", "ratio", "opening-force reduction factor"),
    source=PFLANZ + "; peak while filling, A below (j + 2)/(j (j + 1))",
    ballistic=BALLISTIC,
    exponent=EXPONENT,
)
def reduction_while_filling(*, ballistic: float, exponent: float) -> float:
    """Peak force over q·CdS where the peak falls before the canopy is full."""
    j = exponent
    first: float = ((j + 2.0) / (2.0 * (j + 1.0))) ** 2
    grown: float = (j * (j + 1.0) * ballistic / (j + 2.0)) ** (j / (j + 1.0))
    return first * grown


@formula(
    equation=r"X_{1} = \frac{1}{(1 + \frac{1}{A (j + 1)})^2}",
    result=Symbol("X_{1}", "ratio", "opening-force reduction factor"),
    source=PFLANZ + "; peak at full canopy, A at or above (j + 2)/(j (j + 1))",
    ballistic=BALLISTIC,
    exponent=EXPONENT,
)
def reduction_at_full(*, ballistic: float, exponent: float) -> float:
    """Peak force over q·CdS where the peak falls at the full canopy."""
    return 1.0 / (1.0 + 1.0 / (ballistic * (exponent + 1.0))) ** 2


def reduction_formula(ballistic: float, exponent: float) -> Formula[..., float]:
    """Which of the two reduction formulas holds at this ballistic parameter and exponent."""
    threshold = (exponent + 2.0) / (exponent * (exponent + 1.0))
    return reduction_while_filling if ballistic < threshold else reduction_at_full


def reduction(ballistic: float, exponent: float) -> float:
    """Peak force over q·CdS, both numbers above zero. Source: as the two formulas it chooses from."""
    return reduction_formula(ballistic, exponent)(ballistic=ballistic, exponent=exponent)


@formula(
    equation=r"v_{r} = \sqrt{\frac{2 q A_{P} L}{m_{c}}}",
    result=Symbol("v_{r}", "speed", "speed of the pack against the vehicle at line stretch"),
    source="work of the pilot chute's drag over the length of lines and riser; its drag kept at the first value, "
    "so an upper bound",
    pressure=Symbol("q", "pressure", "dynamic pressure"),
    pilot=Symbol("A_{P}", "area", "drag area of the pilot chute"),
    length=Symbol("L", "length", "length of lines and riser"),
    canopy=Symbol("m_{c}", "mass", "mass of the pack"),
)
def pack_speed(*, pressure: float, pilot: float, length: float, canopy: float) -> float:
    """Speed in m/s at which the pack leaves the vehicle when the lines come taut; no more than the vehicle's own."""
    return np.sqrt(2.0 * pressure * pilot * length / canopy)  # type: ignore[no-any-return]


@formula(
    equation=r"F_{s} = v_{r} \sqrt{\frac{k m m_{c}}{m + m_{c}}}",
    result=Symbol("F_{s}", "force", "snatch load"),
    source="two masses and a linear spring: conservation of momentum and energy",
    relative=Symbol("v_{r}", "speed", "speed of the canopy against the vehicle at line stretch"),
    stiffness=Symbol("k", "stiffness", "stiffness of lines and riser together"),
    mass=Symbol("m", "mass", "mass of the vehicle"),
    canopy=Symbol("m_{c}", "mass", "mass of the canopy"),
)
def snatch_load(*, relative: float, stiffness: float, mass: float, canopy: float) -> float:
    """Load in N when the lines come taut, canopy still in its bag; no damping."""
    return relative * np.sqrt(  # type: ignore[no-any-return]
        stiffness * mass * canopy / (mass + canopy)
    )


@formula(
    equation=r"k = \frac{n B}{e L}",
    result=Symbol("k", "stiffness", "stiffness"),
    source="linear spring through the rated strength and the stretch there; textiles are softer at first",
    count=Symbol("n", "ratio", "number of lines or legs"),
    strength=Symbol("B", "force", "rated strength of one"),
    stretch=Symbol("e", "share", "stretch at the rated strength", 0.005, 0.6),
    length=Symbol("L", "length", "length"),
)
def textile_stiffness(*, count: float, strength: float, stretch: float, length: float) -> float:
    """Stiffness in N/m of parallel lines that stretch by a share at their rated strength."""
    return count * strength / (stretch * length)


@formula(
    equation=r"k = \frac{1}{\frac{1}{k_{1}} + \frac{1}{k_{2}}}",
    result=Symbol("k", "stiffness", "stiffness of lines and riser together"),
    source="springs in series",
    first=Symbol("k_{1}", "stiffness", "stiffness of the lines"),
    second=Symbol("k_{2}", "stiffness", "stiffness of the riser"),
)
def in_series(*, first: float, second: float) -> float:
    """Stiffness in N/m of two springs in series."""
    return 1.0 / (1.0 / first + 1.0 / second)


@formula(
    equation=r"B_{u} = B n \eta_{s} \eta_{k} \eta_{a} \eta_{g} \eta_{h}",
    result=Symbol("B_{u}", "force", "usable strength"),
    source="common practice: the losses multiply",
    strength=Symbol("B", "force", "rated strength of one"),
    count=Symbol("n", "ratio", "number of legs that share the load"),
    seam=Symbol(r"\eta_{s}", "share", "share left by seams", 0.0, 1.0),
    knot=Symbol(r"\eta_{k}", "share", "share left by knots and loops", 0.0, 1.0),
    abrasion=Symbol(r"\eta_{a}", "share", "share left by abrasion", 0.0, 1.0),
    age=Symbol(r"\eta_{g}", "share", "share left by age and weather", 0.0, 1.0),
    heat=Symbol(r"\eta_{h}", "share", "share left by heat", 0.0, 1.0),
)
def usable_strength(
    *,
    strength: float,
    count: float,
    seam: float,
    knot: float,
    abrasion: float,
    age: float,
    heat: float,
) -> float:
    """Strength in N that is left of a rated strength after all losses."""
    return strength * count * seam * knot * abrasion * age * heat


@formula(
    equation=r"F_{l} = \frac{F}{n \sqrt{1 - (\frac{D_{p}}{2 L})^2}}",
    result=Symbol("F_{l}", "force", "load of one suspension line"),
    source="statics of lines converging from the skirt",
    load=Symbol("F", "force", "opening load"),
    count=Symbol("n", "ratio", "number of lines"),
    projected=Symbol("D_{p}", "length", "projected diameter of the full canopy"),
    length=Symbol("L", "length", "length of the lines"),
)
def line_load(*, load: float, count: float, projected: float, length: float) -> float:
    """Load in N of each of n equal lines, canopy full, load shared evenly."""
    sine: float = projected / (2.0 * length)
    return load / (count * np.sqrt(1.0 - sine * sine))  # type: ignore[no-any-return]


@formula(
    equation=r"M_{y} = F (z_{P} - z)",
    result=Symbol("M_{y}", "torque", "pitching moment of the pull about the CG"),
    source="statics; positive lifts the nose",
    pull=Symbol("F", "force", "pull, aft"),
    height=Symbol("z_{P}", "length", "height of the pull line at the CG's station"),
    cg_height=Symbol("z", "length", "CG height"),
)
def pitching_moment(*, pull: float, height: float, cg_height: float) -> float:
    """Moment in N·m of a pull that passes above (positive) or below the CG."""
    return pull * (height - cg_height)


@formula(
    equation=r"M_{z} = F (y_{P} - y)",
    result=Symbol("M_{z}", "torque", "yawing moment of the pull about the CG"),
    source="statics",
    pull=Symbol("F", "force", "pull, aft"),
    offset=Symbol("y_{P}", "length", "lateral place of the pull line at the CG's station"),
    cg_offset=Symbol("y", "length", "lateral place of the CG"),
)
def yawing_moment(*, pull: float, offset: float, cg_offset: float) -> float:
    """Moment in N·m of a pull that passes to the right (positive) or left of the CG."""
    return pull * (offset - cg_offset)
