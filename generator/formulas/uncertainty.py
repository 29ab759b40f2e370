"""Uncertainty as JCGM 100:2008 (GUM) has it: first order, and what is said of the result.

JCGM 100 is the Guide to the expression of uncertainty in measurement.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from generator.formulas.formula import Symbol, formula
from generator.formulas.student import t_quantile

Array = NDArray[np.float64]
COVERAGE = 2.0
"""Coverage factor of every expanded uncertainty that is shown: about 95 % for a normal distribution
(JCGM 100:2008, 6.3.3)."""


@formula(
    equation=r"U = k u",
    result=Symbol("U", "length", "expanded uncertainty", least=0.0),
    source="JCGM 100:2008, 6.2.1",
    k=Symbol("k", "ratio", "coverage factor", least=1.0),
    u=Symbol("u", "length", "standard uncertainty", least=0.0),
)
def expanded(*, k: float, u: float) -> float:
    """Expanded uncertainty, in the unit of u."""
    return k * u


@formula(
    equation=r"E_{n} = \frac{x - X}{\sqrt{U_{x}^{2} + U_{X}^{2}}}",
    result=Symbol("E_{n}", "ratio", "normalised error"),
    source="the E_n score of ISO/IEC 17043 and ISO 13528 (as known in the trade; the text of the "
    "standards was not read)",
    x=Symbol("x", "length", "value predicted"),
    reference=Symbol("X", "length", "value measured"),
    u_x=Symbol("U_{x}", "length", "expanded uncertainty of the value predicted", least=0.0),
    u_reference=Symbol("U_{X}", "length", "expanded uncertainty of the value measured", least=0.0),
)
def normalised_error(*, x: float, reference: float, u_x: float, u_reference: float) -> float:
    """Normalised error of two values with expanded uncertainties of one coverage, not both 0.

    |E_n| ≤ 1: the two agree within what is claimed for them.
    """
    return (x - reference) / np.sqrt(u_x**2 + u_reference**2)  # type: ignore[no-any-return]


def combined(sensitivities: Array, uncertainties: Array) -> float:
    """Combined standard uncertainty of uncorrelated inputs: √Σ(cᵢuᵢ)². JCGM 100:2008, eq. 11a."""
    return float(np.sqrt(np.sum((sensitivities * uncertainties) ** 2)))


def combined_correlated(sensitivities: Array, covariance: Array) -> float:
    """Combined standard uncertainty √(cᵀVc) of correlated inputs. JCGM 100:2008, eq. 13.

    `covariance` is square, as long as `sensitivities`. Rounding below zero counts as zero.
    """
    variance = float(sensitivities @ covariance @ sensitivities)
    return float(np.sqrt(max(variance, 0.0)))


def sensitivities(function: Callable[[Array], Any], at: Array, steps: Array | None = None) -> Array:
    """Sensitivity coefficients ∂f/∂xᵢ at `at`, by central differences.

    As JCGM 100:2008, 5.1.3, note 2 allows. Where `function` gives several numbers, row i holds the
    coefficients of input i. `steps` > 0 are one an input; without them a millionth of each input,
    or 1e-6 where an input is below 1 in size, which is good to about 1e-8 for smooth functions of
    SI numbers between a millimeter and some tonnes.
    """
    by = 1e-6 * np.maximum(np.abs(at), 1.0) if steps is None else steps
    moves = zip(np.diag(by), by, strict=True)
    return np.array([(function(at + d) - function(at - d)) / (2.0 * h) for d, h in moves])


def effective_freedom(contributions: Array, freedoms: Array) -> float:
    """Effective degrees of freedom, Welch–Satterthwaite: u⁴ / Σ(uᵢ⁴/νᵢ).

    JCGM 100:2008, G.4.1, eq. G.2b. `contributions` are |cᵢ|uᵢ; `freedoms` > 0, infinite where an
    uncertainty is itself certain. Infinite where nothing is uncertain.
    """
    total = float(np.sum(contributions**2)) ** 2
    parts = float(np.sum(contributions**4 / freedoms))
    return total / parts if parts > 0.0 else float("inf")


def coverage_factor(probability: float, freedom: float = float("inf")) -> float:
    """Coverage factor of a two-sided interval from Student's t. JCGM 100:2008, G.3.2 and table G.2.

    0 < `probability` < 1; `freedom` > 0 is used as it is (cut it to a whole number for G.2's
    table).
    """
    return t_quantile(0.5 * (1.0 + probability), freedom)


def variance_shares(contributions: Array) -> Array:
    """Each contribution's share of the variance, 0 to 1; all zero where nothing is uncertain."""
    squares = contributions**2
    total = float(np.sum(squares))
    return squares / total if total > 0.0 else np.zeros_like(squares)
