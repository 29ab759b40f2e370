"""Strength of round tube in steel by ANSI/AISC 360, nominal values: chapters E, F, G and H.

These are the limit states of a building code, used here for the shape of their curves and their
long record; the rulebook in force may ask for others. Equations are as quoted in the AISC Design
Examples v16.0 and in several independent public implementations of ANSI/AISC 360-16 and -22; the
specification itself was not at hand. Resistance and safety factors stand at the end.
"""

from __future__ import annotations

import math

import numpy as np

from generator.formulas.formula import Symbol, formula
from generator.formulas.tube import OUTER, WALL, Value

AISC = "ANSI/AISC 360-22, as quoted in the AISC Design Examples v16.0 and public implementations, "
MODULUS = Symbol("E", "stress", "Young's modulus", least=0.0)
YIELD = Symbol("F_{y}", "stress", "yield strength", least=0.0)
LENGTH = Symbol("L", "length", "length", least=0.0)
CRITICAL = Symbol("F_{cr}", "stress", "critical stress")
ELASTIC = Symbol("F_{e}", "stress", "elastic buckling stress", least=0.0)
AREA = Symbol("A", "section area", "area of the cross-section", least=0.0)
MODULUS_ELASTIC = Symbol("S", "section modulus", "elastic section modulus", least=0.0)
MODULUS_PLASTIC = Symbol("Z", "section modulus", "plastic section modulus", least=0.0)
NOMINAL_MOMENT = Symbol("M_{n}", "torque", "nominal flexural strength")
FACTOR = Symbol("K", "ratio", "effective length factor", least=0.0)
GYRATION = Symbol("r", "length", "radius of gyration", least=0.0)
SLENDERNESS = Symbol(r"\lambda", "ratio", "slenderness", least=0.0)
THINNESS = Symbol(r"\lambda_{D}", "ratio", "outer diameter over wall thickness")
ROUND = Symbol(r"\lambda_{D}", "ratio", "outer diameter over wall thickness", least=2.0)

# ---------------------------------------------------------------- chapter E: compression


@formula(
    equation=r"\lambda = \frac{K L}{r}",
    result=SLENDERNESS,
    source=AISC + "E2",
    factor=FACTOR,
    length=LENGTH,
    gyration=GYRATION,
)
def slenderness(*, factor: Value, length: Value, gyration: Value) -> Value:
    """Effective slenderness KL/r; over 200 is advised against (E2, user note)."""
    return factor * length / gyration


@formula(
    equation=r"F_{e} = \frac{\pi^{2} E}{\lambda^{2}}",
    result=ELASTIC,
    source=AISC + "Eq. E3-4",
    modulus=MODULUS,
    slender=SLENDERNESS,
)
def elastic_buckling_stress(*, modulus: Value, slender: Value) -> Value:
    """Euler's elastic buckling stress in Pa, for a slenderness over 0."""
    return np.pi**2 * modulus / slender**2


@formula(
    equation=r"F_{cr} = 0.658^{\frac{F_{y}}{F_{e}}} F_{y}",
    result=CRITICAL,
    source=AISC + "Eq. E3-2",
    strength=YIELD,
    elastic=ELASTIC,
)
def inelastic_column(*, strength: Value, elastic: Value) -> Value:
    """Critical stress in Pa where F_y/F_e ≤ 2.25."""
    return 0.658 ** (strength / elastic) * strength


@formula(
    equation=r"F_{cr} = 0.877 F_{e}", result=CRITICAL, source=AISC + "Eq. E3-3", elastic=ELASTIC
)
def elastic_column(*, elastic: Value) -> Value:
    """Critical stress in Pa where F_y/F_e > 2.25."""
    return 0.877 * elastic


def column_stress(*, strength: Value, elastic: Value) -> Value:
    """Critical stress of a column in Pa (Eqs. E3-2 and E3-3), arrays or floats.

    The two meet at F_y/F_e = 2.25 to 0.1 %.
    """
    ratio = strength / elastic
    return np.where(
        ratio <= 2.25,
        inelastic_column(strength=strength, elastic=np.maximum(elastic, strength / 2.25)),
        elastic_column(elastic=elastic),
    )


@formula(
    equation=r"\lambda_{D} = \frac{D}{t}",
    result=THINNESS,
    source=AISC + "B4.1",
    outer=OUTER,
    wall=WALL,
)
def thinness(*, outer: Value, wall: Value) -> Value:
    """Outer diameter over wall thickness, at least 2."""
    return outer / wall


@formula(
    equation=r"A_{e} = (\frac{0.038 E}{F_{y} \lambda_{D}} + \frac{2}{3}) A",
    result=Symbol("A_{e}", "section area", "effective area"),
    source=AISC + "Eq. E7-7",
    modulus=MODULUS,
    strength=YIELD,
    thin=ROUND,
    area=AREA,
)
def reduced_area(*, modulus: Value, strength: Value, thin: Value, area: Value) -> Value:
    """Effective area in m² where the wall buckles, for 0.11 E/F_y < D/t < 0.45 E/F_y."""
    return (0.038 * modulus / (strength * thin) + 2 / 3) * area


def effective_area(*, modulus: Value, strength: Value, thin: Value, area: Value) -> Value:
    """Effective area in m² (Eqs. E7-6 and E7-7); the whole area up to D/t = 0.11 E/F_y.

    Not valid from D/t = 0.45 E/F_y on: ask `wall_class`.
    """
    reduced = reduced_area(modulus=modulus, strength=strength, thin=thin, area=area)
    return np.where(thin <= 0.11 * modulus / strength, area, np.minimum(reduced, area))


@formula(
    equation=r"P_{n} = F_{cr} A_{e}",
    result=Symbol("P_{n}", "force", "nominal compressive strength"),
    source=AISC + "Eqs. E3-1 and E7-1",
    stress=Symbol("F_{cr}", "stress", "critical stress", least=0.0),
    area=Symbol("A_{e}", "section area", "effective area", least=0.0),
)
def compressive_strength(*, stress: Value, area: Value) -> Value:
    """Nominal compressive strength in N."""
    return stress * area


@formula(
    equation=r"P_{n} = F_{y} A",
    result=Symbol("P_{n}", "force", "nominal tensile strength"),
    source=AISC + "Eq. D2-1",
    strength=YIELD,
    area=AREA,
)
def tensile_strength(*, strength: Value, area: Value) -> Value:
    """Nominal tensile strength in N, yielding of the whole section."""
    return strength * area


# ---------------------------------------------------------------- chapter F: flexure


@formula(
    equation=r"M_{n} = F_{y} Z",
    result=NOMINAL_MOMENT,
    source=AISC + "Eq. F8-1",
    strength=YIELD,
    plastic=MODULUS_PLASTIC,
)
def plastic_moment(*, strength: Value, plastic: Value) -> Value:
    """Plastic moment in N·m, for D/t ≤ 0.07 E/F_y."""
    return strength * plastic


@formula(
    equation=r"M_{n} = (\frac{0.021 E}{\lambda_{D}} + F_{y}) S",
    result=NOMINAL_MOMENT,
    source=AISC + "Eq. F8-2",
    modulus=MODULUS,
    strength=YIELD,
    thin=ROUND,
    elastic=MODULUS_ELASTIC,
)
def noncompact_moment(*, modulus: Value, strength: Value, thin: Value, elastic: Value) -> Value:
    """Flexural strength in N·m of a noncompact wall, for 0.07 E/F_y < D/t ≤ 0.31 E/F_y."""
    return (0.021 * modulus / thin + strength) * elastic


@formula(
    equation=r"M_{n} = \frac{0.33 E}{\lambda_{D}} S",
    result=NOMINAL_MOMENT,
    source=AISC + "Eqs. F8-3 and F8-4",
    modulus=MODULUS,
    thin=ROUND,
    elastic=MODULUS_ELASTIC,
)
def slender_moment(*, modulus: Value, thin: Value, elastic: Value) -> Value:
    """Flexural strength in N·m of a slender wall, for 0.31 E/F_y < D/t < 0.45 E/F_y."""
    return 0.33 * modulus / thin * elastic


def flexural_strength(
    *, modulus: Value, strength: Value, thin: Value, elastic: Value, plastic: Value
) -> Value:
    """Nominal flexural strength in N·m of round tube (F8), never over the plastic moment.

    Not valid from D/t = 0.45 E/F_y on: ask `wall_class`.
    """
    share = thin * strength / modulus
    whole = plastic_moment(strength=strength, plastic=plastic)
    middle = noncompact_moment(modulus=modulus, strength=strength, thin=thin, elastic=elastic)
    slender = slender_moment(modulus=modulus, thin=thin, elastic=elastic)
    return np.where(
        share <= 0.07, whole, np.minimum(whole, np.where(share <= 0.31, middle, slender))
    )


def wall_class(*, modulus: float, strength: float, thin: float) -> str:
    """How the wall behaves in flexure: `compact`, `noncompact`, `slender`, or `outside` the code.

    Limits of D/t: 0.07, 0.31 and 0.45 E/F_y. Source: ANSI/AISC 360-22, Table B4.1b and F8, as
    quoted in public implementations.
    """
    share = thin * strength / modulus
    if share <= 0.07:
        return "compact"
    if share <= 0.31:
        return "noncompact"
    return "slender" if share < 0.45 else "outside"


# ---------------------------------------------------------------- chapter G: shear


@formula(
    equation=r"F_{cr} = \frac{1.60 E}{\sqrt{\frac{L_{v}}{D}} \lambda_{D}^{\frac{5}{4}}}",
    result=CRITICAL,
    source=AISC + "Eq. G5-2a",
    modulus=MODULUS,
    length=Symbol("L_{v}", "length", "distance from largest to zero shear", least=0.0),
    outer=OUTER,
    thin=ROUND,
)
def shear_buckling_long(*, modulus: Value, length: Value, outer: Value, thin: Value) -> Value:
    """Shear buckling stress in Pa, counting the length."""
    return 1.60 * modulus / (np.sqrt(length / outer) * thin**1.25)


@formula(
    equation=r"F_{cr} = \frac{0.78 E}{\lambda_{D}^{\frac{3}{2}}}",
    result=CRITICAL,
    source=AISC + "Eq. G5-2b",
    modulus=MODULUS,
    thin=ROUND,
)
def shear_buckling_short(*, modulus: Value, thin: Value) -> Value:
    """Shear buckling stress in Pa, whatever the length."""
    return 0.78 * modulus / thin**1.5


@formula(
    equation=r"V_{n} = \frac{F_{cr} A}{2}",
    result=Symbol("V_{n}", "force", "nominal shear strength"),
    source=AISC + "Eq. G5-1",
    stress=Symbol("F_{cr}", "stress", "critical shear stress", least=0.0),
    area=AREA,
)
def shear_strength(*, stress: Value, area: Value) -> Value:
    """Nominal shear strength in N."""
    return stress * area / 2


def shear_stress(
    *, modulus: Value, strength: Value, length: Value, outer: Value, thin: Value
) -> Value:
    """Critical shear stress in Pa: the larger of Eqs. G5-2a and G5-2b, at most 0.6 F_y."""
    long = shear_buckling_long(modulus=modulus, length=length, outer=outer, thin=thin)
    short = shear_buckling_short(modulus=modulus, thin=thin)
    return np.minimum(np.maximum(long, short), 0.6 * strength)


# ---------------------------------------------------------------- chapter H: combined, torsion


@formula(
    equation=r"F_{cr} = \frac{1.23 E}{\sqrt{\frac{L}{D}} \lambda_{D}^{\frac{5}{4}}}",
    result=CRITICAL,
    source=AISC + "Eq. H3-2a",
    modulus=MODULUS,
    length=LENGTH,
    outer=OUTER,
    thin=ROUND,
)
def torsion_buckling_long(*, modulus: Value, length: Value, outer: Value, thin: Value) -> Value:
    """Torsional buckling stress in Pa, counting the length."""
    return 1.23 * modulus / (np.sqrt(length / outer) * thin**1.25)


@formula(
    equation=r"F_{cr} = \frac{0.60 E}{\lambda_{D}^{\frac{3}{2}}}",
    result=CRITICAL,
    source=AISC + "Eq. H3-2b",
    modulus=MODULUS,
    thin=ROUND,
)
def torsion_buckling_short(*, modulus: Value, thin: Value) -> Value:
    """Torsional buckling stress in Pa, whatever the length."""
    return 0.60 * modulus / thin**1.5


def torsion_critical(
    *, modulus: Value, strength: Value, length: Value, outer: Value, thin: Value
) -> Value:
    """Critical stress in torsion in Pa: the larger of Eqs. H3-2a and H3-2b, at most 0.6 F_y."""
    long = torsion_buckling_long(modulus=modulus, length=length, outer=outer, thin=thin)
    short = torsion_buckling_short(modulus=modulus, thin=thin)
    return np.minimum(np.maximum(long, short), 0.6 * strength)


@formula(
    equation=r"C = \frac{\pi (D - t)^{2} t}{2}",
    result=Symbol("C", "section modulus", "torsional constant of the code"),
    source=AISC + "H3.1, user note",
    outer=OUTER,
    wall=WALL,
)
def torsional_constant(*, outer: Value, wall: Value) -> Value:
    """The code's torsional constant in m³, for thin walls.

    Up to 5 % over the exact 2J/D at the walls used in cages: `tube` has the exact one, and
    the smaller of the two is the careful choice.
    """
    return np.pi * (outer - wall) ** 2 * wall / 2


@formula(
    equation=r"T_{n} = F_{cr} C",
    result=Symbol("T_{n}", "torque", "nominal torsional strength"),
    source=AISC + "Eq. H3-1",
    stress=Symbol("F_{cr}", "stress", "critical stress", least=0.0),
    constant=Symbol("C", "section modulus", "torsional constant", least=0.0),
)
def torsional_strength(*, stress: Value, constant: Value) -> Value:
    """Nominal torsional strength in N·m."""
    return stress * constant


_AXIAL = Symbol("p", "ratio", "axial force over available strength", least=0.0)
_FLEXURE = Symbol("m", "ratio", "moments over available strengths, summed", least=0.0)
_SHEAR = Symbol("v", "ratio", "shear over available strength", least=0.0)
_TORSION = Symbol("q", "ratio", "torsion over available strength", least=0.0)
_RATIO = Symbol("u", "ratio", "utilisation")


@formula(
    equation=r"u = p + \frac{8}{9} m",
    result=_RATIO,
    source=AISC + "Eq. H1-1a",
    axial=_AXIAL,
    flexure=_FLEXURE,
)
def interaction_high(*, axial: Value, flexure: Value) -> Value:
    """Utilisation where the axial ratio is 0.2 or more."""
    return axial + 8 / 9 * flexure


@formula(
    equation=r"u = \frac{p}{2} + m",
    result=_RATIO,
    source=AISC + "Eq. H1-1b",
    axial=_AXIAL,
    flexure=_FLEXURE,
)
def interaction_low(*, axial: Value, flexure: Value) -> Value:
    """Utilisation where the axial ratio is under 0.2."""
    return axial / 2 + flexure


def interaction(*, axial: Value, flexure: Value) -> Value:
    """Utilisation in axial force and flexure (Eqs. H1-1a and H1-1b).

    The two meet at an axial ratio of 0.2 where the utilisation is 1. For a round tube the resultant
    moment of one cross-section may stand in `flexure`; the code sums the moments about two axes,
    which is never less.
    """
    return np.where(
        axial >= 0.2,
        interaction_high(axial=axial, flexure=flexure),
        interaction_low(axial=axial, flexure=flexure),
    )


@formula(
    equation=r"u = p + m + (v + q)^{2}",
    result=_RATIO,
    source=AISC + "Eq. H3-6",
    axial=_AXIAL,
    flexure=_FLEXURE,
    shear=_SHEAR,
    torsion=_TORSION,
)
def interaction_torsion(*, axial: Value, flexure: Value, shear: Value, torsion: Value) -> Value:
    """Utilisation where torsion passes 20 % of its available strength (H3.2)."""
    return axial + flexure + (shear + torsion) ** 2


def combined(*, axial: Value, flexure: Value, shear: Value, torsion: Value) -> Value:
    """Utilisation of a round tube: H1 up to 20 % torsion, H3-6 beyond; at least that of shear.

    At 20 % the code itself jumps: H3-6 then counts the axial ratio in full and shear besides.
    """
    plain = np.maximum(interaction(axial=axial, flexure=flexure), np.maximum(shear, torsion))
    twisted = interaction_torsion(axial=axial, flexure=flexure, shear=shear, torsion=torsion)
    return np.where(torsion > 0.2, np.maximum(plain, twisted), plain)


RESISTANCE = 0.90
"""φ (LRFD) of compression, yielding in tension, flexure, shear (G5) and torsion (H3).

Source: ANSI/AISC 360-22 D2, E1, F1, G1, H3.1, as used in the AISC Design Examples v16.0."""
SAFETY = 1.67
"""Ω (ASD) of the same limit states. Same source."""
LARGEST_SLENDERNESS = 200.0
"""KL/r that E2's user note advises not to exceed in compression."""
LAMBDA_COMPACT, LAMBDA_SLENDER, LAMBDA_OUTSIDE = 0.07, 0.31, 0.45
"""Limits of D/t over E/F_y in flexure (Table B4.1b, F8)."""


def transition_slenderness(*, modulus: float, strength: float) -> float:
    """4.71√(E/F_y), the slenderness at which elastic buckling governs (E3)."""
    return 4.71 * math.sqrt(modulus / strength)
