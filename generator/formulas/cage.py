"""From strengths to shares of strength, for the members of a cage."""

from __future__ import annotations

import numpy as np

from generator.formulas.formula import Symbol, formula
from generator.formulas.steel import AISC, AREA
from generator.formulas.tube import OUTER, WALL, Value

TORSION_COUNTS = 0.2
"""Share of torsional strength beyond which H3-6 asks for shear and torsion together (H3.2)."""
PHI = Symbol(r"\varphi", "ratio", "resistance factor", least=0.0, most=1.0)


@formula(
    equation=r"p = \frac{P}{\varphi P_{n}}",
    result=Symbol("p", "ratio", "axial force over design strength"),
    source=AISC + "B3 and H1.1",
    force=Symbol("P", "force", "axial force under the factored load", least=0.0),
    phi=PHI,
    strength=Symbol("P_{n}", "force", "nominal axial strength", least=0.0),
)
def axial_share(*, force: Value, phi: Value, strength: Value) -> Value:
    """Share of the axial design strength."""
    return force / (phi * strength)


@formula(
    equation=r"m = \frac{M}{\varphi M_{n}}",
    result=Symbol("m", "ratio", "moment over design strength"),
    source=AISC + "B3 and H1.1; the resultant moment of one cross-section of round tube",
    moment=Symbol("M", "torque", "moment under the factored load", least=0.0),
    phi=PHI,
    strength=Symbol("M_{n}", "torque", "nominal flexural strength", least=0.0),
)
def flexure_share(*, moment: Value, phi: Value, strength: Value) -> Value:
    """Share of the flexural design strength."""
    return moment / (phi * strength)


@formula(
    equation=r"F_{e} = \frac{\alpha P}{A}",
    result=Symbol("F_{e}", "stress", "elastic buckling stress"),
    source="the frame's own critical load; common practice",
    multiple=Symbol(r"\alpha", "ratio", "factor on the load at which the frame buckles", least=0.0),
    force=Symbol("P", "force", "largest compression of the run", least=0.0),
    area=AREA,
)
def stress_of_frame(*, multiple: Value, force: Value, area: Value) -> Value:
    """Elastic buckling stress in Pa that a column reaches before the whole frame buckles."""
    return multiple * force / area


@formula(
    equation=r"u = \frac{\sigma_{e}}{F}",
    result=Symbol("u", "ratio", "utilisation by stress"),
    source="equivalent stress over the strength permitted; common practice",
    stress=Symbol(r"\sigma_{e}", "stress", "equivalent stress under the factored load", least=0.0),
    strength=Symbol("F", "stress", "yield or ultimate strength there", least=0.0),
)
def stress_share(*, stress: Value, strength: Value) -> Value:
    """Share of the strength of the material."""
    return stress / strength


@formula(
    equation=r"w = \frac{u - s + \frac{1}{a} + \sqrt{(u - s - \frac{1}{a})^{2} + 4 (1 - \frac{1}{a}) s}}{2}",
    result=Symbol("w", "ratio", "share of the load that may act"),
    source="second order grows with n² / (a − n) where the load is n times as large, in the mode that "
    "buckles first; w = 1 / n where u − s and s together, so grown, reach 1; derived",
    share=Symbol("u", "ratio", "utilisation under the factored load", least=0.0, most=1.0),
    added=Symbol(
        "s", "ratio", "utilisation by what second order and leaning add, alone", least=0.0
    ),
    multiple=Symbol("a", "ratio", "factor at which the softer frame buckles", least=1.0),
)
def grown_share(*, share: Value, added: Value, multiple: Value) -> Value:
    """Inverse of the factor by which a load may grow until a utilisation under 1 reaches 1."""
    plain, least = share - added, 1 / multiple
    return (plain + least + np.sqrt((plain - least) ** 2 + 4 * (1 - least) * added)) / 2


@formula(
    equation=r"m = \frac{1}{u} - 1",
    result=Symbol("m", "ratio", "margin"),
    source="margin of safety as NASA-STD-5001B writes it, with factor × demand over capacity as u",
    share=Symbol("u", "ratio", "share of the load that may act", least=0.0),
)
def margin_of_share(*, share: Value) -> Value:
    """Margin of a share over 0, taken under the factored load."""
    return 1 / share - 1


@formula(
    equation=r"V = \sqrt{V_{y}^{2} + V_{z}^{2}}",
    result=Symbol("V", "force", "resultant transverse force"),
    source="vector addition; exact for a round section",
    first=Symbol("V_{y}", "force", "transverse force along one axis"),
    second=Symbol("V_{z}", "force", "transverse force along the axis square to it"),
)
def transverse(*, first: Value, second: Value) -> Value:
    """Resultant transverse force of one cross-section."""
    return np.sqrt(first**2 + second**2)


@formula(
    equation=r"v = \frac{V}{\varphi V_{n}}",
    result=Symbol("v", "ratio", "transverse force over design strength"),
    source=AISC + "B3 and G5",
    force=Symbol("V", "force", "transverse force under the factored load", least=0.0),
    phi=PHI,
    strength=Symbol("V_{n}", "force", "nominal shear strength", least=0.0),
)
def shear_share(*, force: Value, phi: Value, strength: Value) -> Value:
    """Share of the shear design strength."""
    return force / (phi * strength)


@formula(
    equation=r"q = \frac{T}{\varphi T_{n}}",
    result=Symbol("q", "ratio", "torsion over design strength"),
    source=AISC + "B3 and H3",
    moment=Symbol("T", "torque", "torsion under the factored load", least=0.0),
    phi=PHI,
    strength=Symbol("T_{n}", "torque", "nominal torsional strength", least=0.0),
)
def torsion_share(*, moment: Value, phi: Value, strength: Value) -> Value:
    """Share of the torsional design strength."""
    return moment / (phi * strength)


@formula(
    equation=r"u = \frac{p + m + \sqrt{(p + m)^{2} + 4 (v + q)^{2}}}{2}",
    result=Symbol("u", "ratio", "utilisation with torsion"),
    source=AISC + "Eq. H3-6, solved for the multiple of the loads at which it reaches 1; u is its "
    "inverse",
    axial=Symbol("p", "ratio", "axial share", least=0.0),
    flexure=Symbol("m", "ratio", "flexural share", least=0.0),
    shear=Symbol("v", "ratio", "shear share", least=0.0),
    torsion=Symbol("q", "ratio", "torsional share", least=0.0),
)
def twisted_share(*, axial: Value, flexure: Value, shear: Value, torsion: Value) -> Value:
    """H3-6 in proportion to the loads: 1 where the code's ratio is 1."""
    first = axial + flexure
    return (first + np.sqrt(first**2 + 4 * (shear + torsion) ** 2)) / 2


@formula(
    equation=r"u = \frac{q}{0.2}",
    result=Symbol("u", "ratio", "utilisation at which torsion begins to count"),
    source=AISC + "H3.2: over 20 % of the torsional strength, H3-6 holds instead of H1",
    torsion=Symbol("q", "ratio", "torsional share", least=0.0),
)
def torsion_begins(*, torsion: Value) -> Value:
    """Inverse of the multiple of the loads at which torsion passes 20 % of its strength."""
    return torsion / TORSION_COUNTS


# ------------------------------------------------------------------------ bends

PIPING = "ASME B31.3, Appendix D, Table D300, as quoted in two public worksheets of it and a public program"
SECTION_III = "ASME Boiler and Pressure Vessel Code, Section III, NB-3683.7, "
PAPER = "as quoted in Matzen and Yuan, SMiRT 17 (2003), paper F02-1, Eq. 1; never under 1"
BEND = Symbol("h", "ratio", "flexibility characteristic of the bend", least=0.0)


@formula(
    equation=r"h = \frac{4 t R}{(D - t)^{2}}",
    result=BEND,
    source=PIPING + "; the radius of the tube's wall is (D − t) / 2, and D / t may be 100",
    wall=WALL,
    radius=Symbol("R", "length", "bend radius to the middle line", least=0.0),
    outer=OUTER,
)
def bend_characteristic(*, wall: Value, radius: Value, outer: Value) -> Value:
    """Flexibility characteristic h = t R / r² of a bent tube: the smaller, the more it flattens."""
    return 4 * wall * radius / (outer - wall) ** 2


@formula(
    equation=r"k = \frac{1.65}{h}",
    result=Symbol("k", "ratio", "flexibility factor of the bend"),
    source=PIPING + "; bending in any plane, torsion none; never under 1",
    bend=BEND,
)
def bend_flexibility(*, bend: Value) -> Value:
    """How many times as much as a straight tube a bend gives, where it is over 1."""
    return 1.65 / bend


@formula(
    equation=r"B_{2} = \frac{1.30}{h^{\frac{2}{3}}}",
    result=Symbol("B_{2}", "ratio", "index of the bend by its limit moment"),
    source=SECTION_III + PAPER,
    bend=BEND,
)
def bend_limit_index(*, bend: Value) -> Value:
    """Limit moment of a straight tube over that of a bend, where it is over 1."""
    return 1.30 / bend ** (2 / 3)


@formula(
    equation=r"C_{2} = \frac{1.95}{h^{\frac{2}{3}}}",
    result=Symbol("C_{2}", "ratio", "index of the bend by its peak elastic stress"),
    source=SECTION_III
    + "from memory; 1.5 times B_2, and near twice the factor 0.9 / h^(2/3) that ASME B31.3 has against a weld",
    bend=BEND,
)
def bend_stress_index(*, bend: Value) -> Value:
    """Peak elastic stress of a bend under a moment over that of a straight tube, where over 1."""
    return 1.95 / bend ** (2 / 3)


@formula(
    equation=r"M_{b} = \frac{M_{n}}{B_{2}}",
    result=Symbol("M_{b}", "torque", "nominal flexural strength in the bend"),
    source="definition of the index",
    strength=Symbol("M_{n}", "torque", "nominal flexural strength of a straight tube", least=0.0),
    index=Symbol("B_{2}", "ratio", "index of the bend by its limit moment", least=1.0),
)
def bent_strength(*, strength: Value, index: Value) -> Value:
    """Nominal flexural strength in N·m of a tube where it is bent."""
    return strength / index


@formula(
    equation=r"\sigma_{c} = C \sigma_{b}",
    result=Symbol(r"\sigma_{c}", "stress", "bending stress in the bend"),
    source="definition of the index",
    index=Symbol(
        "C", "ratio", "index of the bend: C_2 against yield, B_2 against rupture", least=1.0
    ),
    bending=Symbol(r"\sigma_{b}", "stress", "bending stress of a straight tube", least=0.0),
)
def bent_stress(*, index: Value, bending: Value) -> Value:
    """Bending stress in Pa of a tube where it is bent."""
    return index * bending
