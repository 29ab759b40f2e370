"""Protective clothing: from a rating to seconds, and how soon bare skin burns."""

from __future__ import annotations

from generator.formulas.formula import Symbol, formula


@formula(
    equation=r"t = \frac{H}{q}",
    result=Symbol("t", "time", "time to a second-degree burn behind the garment"),
    source="thermal protective performance: heat dose over the test's heat flux (read in three "
    "makers' explanations)",
    dose=Symbol("H", "heat dose", "thermal protective performance (TPP) of the garment", least=0.0),
    flux=Symbol("q", "heat flux", "heat flux of the test"),
)
def protective_time(*, dose: float, flux: float) -> float:
    """Seconds until a second-degree burn is to be expected behind a garment, in the test's flame
    only.

    `dose` in J/m², `flux` in W/m² > 0. 19 cal/cm² at 2 cal/(cm²·s) give 9.5 s.
    """
    return dose / flux


STOLL_DOSE = 1.1991 * 41840.0
"""Heat that burns bare skin within a second, J/m²: 1.1991 cal/cm² (from memory, ASTM F1939)."""
STOLL_EXPONENT = 0.2901


@formula(
    equation=r"t = t_{1} (\frac{H_{1}}{q t_{1}})^{\frac{1}{1 - n}}",
    result=Symbol("t", "time", "time to a second-degree burn of bare skin"),
    source="Stoll's curve H = H_1 (t/t_1)^n; constants from memory (ASTM F1939), agreeing within "
    "1.2 % with the printed table of 1 to 30 s",
    dose=Symbol("H_{1}", "heat dose", "heat that burns within the unit of time"),
    flux=Symbol("q", "heat flux", "heat flux on the skin", 4_500.0, 50_200.0),
    unit=Symbol("t_{1}", "time", "unit of time of the curve"),
    exponent=Symbol("n", "ratio", "exponent of the curve"),
)
def bare_skin_time(*, dose: float, flux: float, unit: float, exponent: float) -> float:
    """Seconds until bare skin has a second-degree burn at a constant heat flux.

    Published for 4.5 to 50 kW/m² (30 to 1 s); beyond, an extrapolation.
    """
    power: float = 1.0 / (1.0 - exponent)
    found: float = unit * (dose / (flux * unit)) ** power
    return found
