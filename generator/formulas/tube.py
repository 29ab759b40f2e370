"""Round tube: section properties and stresses. D is the outer and d the inner diameter, 0 ≤ d < D.

Every function takes SI numbers or arrays and returns the same; d = D − 2t with the wall t that
the calculation is to use (nominal, measured or least).
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

from generator.formulas.formula import Symbol, formula

Value: TypeAlias = Any
"""A float, an array of floats, or what behaves as one; the result is of the same sort."""

ANNULUS = "geometry of a circular annulus; common practice"
BEAM = "elastic beam theory; common practice"
SHEAR = (
    "G. R. Cowper, The shear coefficient in Timoshenko's beam theory, J. Applied Mechanics 33 "
    "(1966) 335–340, hollow circle, as quoted in public rotor-dynamics codes"
)
OUTER = Symbol("D", "length", "outer diameter", least=0.0)
INNER = Symbol("d", "length", "inner diameter", least=0.0)
WALL = Symbol("t", "length", "wall thickness", least=0.0)
FORCE = Symbol("N", "force", "axial force, tension positive")
MOMENT = Symbol("M", "torque", "bending moment, resultant", least=0.0)
TORQUE = Symbol("T", "torque", "torsional moment")
TRANSVERSE = Symbol("V", "force", "transverse force, resultant", least=0.0)


@formula(equation=r"d = D - 2 t", result=INNER, source=ANNULUS, outer=OUTER, wall=WALL)
def inner_diameter(*, outer: Value, wall: Value) -> Value:
    """Inner diameter in m, for a wall under half the outer diameter."""
    return outer - 2 * wall


@formula(
    equation=r"A = \frac{\pi (D^{2} - d^{2})}{4}",
    result=Symbol("A", "section area", "area of the cross-section"),
    source=ANNULUS,
    outer=OUTER,
    inner=INNER,
)
def area(*, outer: Value, inner: Value) -> Value:
    """Area of the cross-section in m²."""
    return np.pi * (outer**2 - inner**2) / 4


@formula(
    equation=r"I = \frac{\pi (D^{4} - d^{4})}{64}",
    result=Symbol("I", "second moment of area", "second moment of area about a diameter"),
    source=ANNULUS,
    outer=OUTER,
    inner=INNER,
)
def second_moment(*, outer: Value, inner: Value) -> Value:
    """Second moment of area about any diameter in m⁴."""
    return np.pi * (outer**4 - inner**4) / 64


@formula(
    equation=r"J = \frac{\pi (D^{4} - d^{4})}{32}",
    result=Symbol("J", "second moment of area", "torsion constant"),
    source=ANNULUS,
    outer=OUTER,
    inner=INNER,
)
def torsion_constant(*, outer: Value, inner: Value) -> Value:
    """Torsion constant in m⁴, for a circle the polar second moment of area."""
    return np.pi * (outer**4 - inner**4) / 32


@formula(
    equation=r"S = \frac{\pi (D^{4} - d^{4})}{32 D}",
    result=Symbol("S", "section modulus", "elastic section modulus"),
    source=ANNULUS,
    outer=OUTER,
    inner=INNER,
)
def elastic_modulus(*, outer: Value, inner: Value) -> Value:
    """Elastic section modulus in m³."""
    return np.pi * (outer**4 - inner**4) / (32 * outer)


@formula(
    equation=r"Z = \frac{D^{3} - d^{3}}{6}",
    result=Symbol("Z", "section modulus", "plastic section modulus"),
    source=ANNULUS,
    outer=OUTER,
    inner=INNER,
)
def plastic_modulus(*, outer: Value, inner: Value) -> Value:
    """Plastic section modulus in m³."""
    return (outer**3 - inner**3) / 6


@formula(
    equation=r"r = \frac{\sqrt{D^{2} + d^{2}}}{4}",
    result=Symbol("r", "length", "radius of gyration"),
    source=ANNULUS,
    outer=OUTER,
    inner=INNER,
)
def radius_of_gyration(*, outer: Value, inner: Value) -> Value:
    """Radius of gyration about a diameter in m, √(I/A)."""
    return np.sqrt(outer**2 + inner**2) / 4


@formula(
    equation=r"m = \frac{\pi (D^{2} - d^{2})}{4} \rho",
    result=Symbol("m", "mass per length", "mass per length"),
    source=ANNULUS,
    outer=OUTER,
    inner=INNER,
    density=Symbol(r"\rho", "density", "density", least=0.0),
)
def line_mass(*, outer: Value, inner: Value, density: Value) -> Value:
    """Mass per length in kg/m."""
    return np.pi * (outer**2 - inner**2) / 4 * density


@formula(
    equation=r"\kappa = \frac{6 (1 + \nu) (D^{2} + d^{2})^{2}}"
    r"{(7 + 6 \nu) (D^{2} + d^{2})^{2} + (20 + 12 \nu) D^{2} d^{2}}",
    result=Symbol(r"\kappa", "ratio", "shear coefficient"),
    source=SHEAR,
    outer=OUTER,
    inner=INNER,
    poisson=Symbol(r"\nu", "ratio", "Poisson's ratio", least=0.0, most=0.5),
)
def shear_coefficient(*, outer: Value, inner: Value, poisson: Value) -> Value:
    """Timoshenko's shear coefficient κ; the shear area is κA.

    For a thin wall it tends to 2(1 + ν)/(4 + 3ν), 0.531 at ν = 0.3; for a solid bar it is
    6(1 + ν)/(7 + 6ν).
    """
    square = (outer**2 + inner**2) ** 2
    return (
        6
        * (1 + poisson)
        * square
        / ((7 + 6 * poisson) * square + (20 + 12 * poisson) * outer**2 * inner**2)
    )


@formula(
    equation=r"M = \sqrt{M_{y}^{2} + M_{z}^{2}}",
    result=Symbol("M", "torque", "resultant moment"),
    source="vector addition; exact for a round section",
    first=Symbol("M_{y}", "torque", "moment about one axis"),
    second=Symbol("M_{z}", "torque", "moment about the axis square to it"),
)
def resultant(*, first: Value, second: Value) -> Value:
    """Resultant of two moments, or of two transverse forces, square to each other."""
    return np.sqrt(first**2 + second**2)


@formula(
    equation=r"\sigma_{a} = \frac{4 N}{\pi (D^{2} - d^{2})}",
    result=Symbol(r"\sigma_{a}", "stress", "axial stress"),
    source=BEAM,
    force=FORCE,
    outer=OUTER,
    inner=INNER,
)
def axial_stress(*, force: Value, outer: Value, inner: Value) -> Value:
    """Axial stress N/A in Pa, tension positive."""
    return 4 * force / (np.pi * (outer**2 - inner**2))


@formula(
    equation=r"\sigma_{b} = \frac{32 M D}{\pi (D^{4} - d^{4})}",
    result=Symbol(r"\sigma_{b}", "stress", "bending stress at the outer fibre"),
    source=BEAM,
    moment=MOMENT,
    outer=OUTER,
    inner=INNER,
)
def bending_stress(*, moment: Value, outer: Value, inner: Value) -> Value:
    """Bending stress M/S at the outer fibre in Pa."""
    return 32 * moment * outer / (np.pi * (outer**4 - inner**4))


@formula(
    equation=r"\tau_{T} = \frac{16 T D}{\pi (D^{4} - d^{4})}",
    result=Symbol(r"\tau_{T}", "stress", "torsional shear stress at the outer fibre"),
    source=BEAM,
    moment=TORQUE,
    outer=OUTER,
    inner=INNER,
)
def torsion_stress(*, moment: Value, outer: Value, inner: Value) -> Value:
    """Torsional shear stress TD/(2J) at the outer fibre in Pa."""
    return 16 * moment * outer / (np.pi * (outer**4 - inner**4))


@formula(
    equation=r"\tau_{V} = \frac{16 V (D^{2} + D d + d^{2})}{3 \pi (D^{4} - d^{4})}",
    result=Symbol(r"\tau_{V}", "stress", "peak transverse shear stress"),
    source="V·Q/(I·b) at the neutral axis, with Q = (D³ − d³)/12 and b = D − d; common practice",
    force=TRANSVERSE,
    outer=OUTER,
    inner=INNER,
)
def transverse_stress(*, force: Value, outer: Value, inner: Value) -> Value:
    """Peak transverse shear stress in Pa: 2V/A for a thin wall, 4V/(3A) for a solid bar."""
    return 16 * force * (outer**2 + outer * inner + inner**2) / (3 * np.pi * (outer**4 - inner**4))


@formula(
    equation=r"\sigma_{e} = \sqrt{\sigma^{2} + 3 \tau^{2}}",
    result=Symbol(r"\sigma_{e}", "stress", "equivalent stress"),
    source="von Mises, plane state of one normal and one shear stress; common practice",
    normal=Symbol(r"\sigma", "stress", "normal stress"),
    shear=Symbol(r"\tau", "stress", "shear stress"),
)
def von_mises(*, normal: Value, shear: Value) -> Value:
    """Equivalent stress in Pa of one normal and one shear stress."""
    return np.sqrt(normal**2 + 3 * shear**2)
