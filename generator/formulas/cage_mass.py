"""The mass of tubes, and how it compares with what a table says."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from generator.formulas.formula import Symbol, formula

GEOMETRY = "length × mass per length; common practice"


@formula(
    equation=r"M = \sum_{i}{m_i L_i}",
    result=Symbol("M", "mass", "mass of all tubes"),
    source=GEOMETRY,
    per_length=Symbol("m_i", "mass per length", "mass per length of a size", least=0.0, each=True),
    length=Symbol("L_i", "length", "length of all tubes of that size", least=0.0, each=True),
)
def tube_mass(*, per_length: NDArray[np.float64], length: NDArray[np.float64]) -> float:
    """Mass of tubes in kg, bends by the length of their middle line."""
    total: float = (per_length * length).sum()
    return total


@formula(
    equation=r"\delta = \frac{M_{c}}{M} - 1",
    result=Symbol(r"\delta", "share", "difference, over the tubes' mass"),
    source="definition",
    claimed=Symbol("M_{c}", "mass", "mass that the table's items claim", least=0.0),
    tubes=Symbol("M", "mass", "mass of all tubes", least=0.0),
)
def mass_difference(*, claimed: float, tubes: float) -> float:
    """How much more the table says than the tubes weigh, over the tubes' mass."""
    return claimed / tubes - 1
