"""Spread of a result against worked examples of metrology.

The examples of JCGM 100:2008 (GUM) and of the Eurachem/CITAC guide were read as the documentation
of GTC reproduces them (github.com/MSLNZ/GTC, docs/API/GUM_H1.rst, GUM_H2.rst, CITAC_A1.rst).
Answers of JCGM 101:2008 are from memory; their inputs were read in the R package `propagate`
(github.com/cran/propagate, man/propagate.Rd).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from buildspec.quantities import standard_uncertainty
from generator.formulas import uncertainty as gum
from tests.published.row import Row, disagreements

Array = NDArray[np.float64]
H1 = "JCGM 100:2008, H.1 (end gauge), in MSLNZ/GTC docs/API/GUM_H1.rst"
H2 = "JCGM 100:2008, H.2 (rounded inputs), in MSLNZ/GTC docs/API/GUM_H2.rst"
A1 = "Eurachem/CITAC guide, A1 (calibration standard), in MSLNZ/GTC docs/API/CITAC_A1.rst"
JCGM_101 = "JCGM 101:2008"


def spread(function: Callable[[Array], float], at: list[float], u: list[float]) -> float:
    """First-order standard uncertainty, by the program's own sensitivities.

    The steps are the uncertainties themselves, as JCGM 100:2008, 5.1.3, note 2 has it.
    """
    widths = np.array(u)
    steps = np.where(widths > 0.0, widths, 1e-6)
    return gum.combined(gum.sensitivities(function, np.array(at), steps), widths)


# ------------------------------------------------------------------------- GUM H.1, nanometers


def gauge(v: Array) -> float:
    """Length of the gauge: standard, three parts of the difference, and the thermal terms."""
    standard, d0, d1, d2, d_alpha, theta, alpha, d_theta = v
    return float(standard + d0 + d1 + d2 - standard * (d_alpha * theta + alpha * d_theta))


GAUGE_AT = [50_000_623.0, 215.0, 0.0, 0.0, 0.0, -0.1, 11.5e-6, 0.0]
GAUGE_U = [25.0, 5.8, 3.9, 6.7, 1e-6 / math.sqrt(3), 0.41, 2e-6 / math.sqrt(3), 0.05 / math.sqrt(3)]
GAUGE_FREEDOM = np.array([18.0, 24.0, 5.0, 8.0, 50.0, math.inf, math.inf, 2.0])
GAUGE_PARTS = np.array(
    [
        25.0,
        5.8,
        3.9,
        6.7,
        50_000_623.0 * 0.1 * 1e-6 / math.sqrt(3),
        0.0,
        0.0,
        50_000_623.0 * 11.5e-6 * 0.05 / math.sqrt(3),
    ]
)
GAUGE_NU = gum.effective_freedom(GAUGE_PARTS, GAUGE_FREEDOM)
GAUGE_NU_BY_HAND = float(np.sum(GAUGE_PARTS**2)) ** 2 / (
    25.0**4 / 18
    + 5.8**4 / 24
    + 3.9**4 / 5
    + 6.7**4 / 8
    + GAUGE_PARTS[4] ** 4 / 50
    + GAUGE_PARTS[7] ** 4 / 2
)
T_99_16 = 2.9207816224  # Student's t, 0.995 quantile, 16 degrees: 2.921 in the usual tables

# ----------------------------------------------------------------------------- GUM H.2, ohms

V, AMPS, PHI = 4.999, 19.661e-3, 1.04446
U_VIP = np.array([3.2e-3, 9.5e-6, 7.5e-4])
R_VIP = np.array([[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]])


def resistance(v: Array) -> float:
    return float(v[0] / v[1] * math.cos(v[2]))


def reactance(v: Array) -> float:
    return float(v[0] / v[1] * math.sin(v[2]))


def impedance(v: Array) -> float:
    return float(v[0] / v[1])


def correlated(function: Callable[[Array], float]) -> float:
    gradient = gum.sensitivities(function, np.array([V, AMPS, PHI]), U_VIP / 10.0)
    return gum.combined_correlated(gradient, R_VIP * np.outer(U_VIP, U_VIP))


def by_hand(c: list[float]) -> float:
    """√ of GUM eq. 16, written out."""
    a = [c[k] * U_VIP[k] for k in range(3)]
    return math.sqrt(
        sum(x * x for x in a) + 2 * (-0.36 * a[0] * a[1] + 0.86 * a[0] * a[2] - 0.65 * a[1] * a[2])
    )


BY_HAND = {
    "R": by_hand([math.cos(PHI) / AMPS, -V * math.cos(PHI) / AMPS**2, -V / AMPS * math.sin(PHI)]),
    "X": by_hand([math.sin(PHI) / AMPS, -V * math.sin(PHI) / AMPS**2, V / AMPS * math.cos(PHI)]),
    "Z": by_hand([1 / AMPS, -V / AMPS**2, 0.0]),
}

# -------------------------------------------------------------------- Eurachem A1, mg per liter

CADMIUM_U = [
    0.05,
    standard_uncertainty(0.0001, "rectangular", 2.0),
    standard_uncertainty(0.1, "triangular", 2.0),
    0.02,
    standard_uncertainty(0.084, "rectangular", 2.0),
]


def cadmium(v: Array) -> float:
    mass, purity, flask, repeat, temperature = v
    return float(1000.0 * mass * purity / (flask + repeat + temperature))


CADMIUM = spread(cadmium, [100.28, 0.9999, 100.0, 0.0, 0.0], CADMIUM_U)
CADMIUM_BY_HAND = (
    1000
    * 100.28
    * 0.9999
    / 100
    * math.sqrt(
        (0.05 / 100.28) ** 2
        + (0.0001 / math.sqrt(3) / 0.9999) ** 2
        + (0.1**2 / 6 + 0.02**2 + 0.084**2 / 3) / 100**2
    )
)

# ------------------------------------------------------------------------- JCGM 101, 9.3, mg


def weight(v: Array) -> float:
    reference, difference, air, work, standard = v
    return float(
        (reference + difference) * (1.0 + (air - 1.2) * (1.0 / work - 1.0 / standard)) - 100_000.0
    )


WEIGHT = spread(
    weight,
    [100_000.0, 1.234, 1.2, 8000.0, 8000.0],
    [0.050, 0.020, 0.1 / math.sqrt(3), 1000.0 / math.sqrt(3), 50.0 / math.sqrt(3)],
)

ROUNDED = "printed to the digits of the tolerance"
DIFFERENCES = "central differences; the closed form has exact derivatives"

ROWS: tuple[Row, ...] = (
    Row(
        case="H.1: standard uncertainty of the length",
        source=H1,
        status="read in a transcription",
        printed=32.0,
        closed_form=math.sqrt(float(np.sum(GAUGE_PARTS**2))),
        ours=spread(gauge, GAUGE_AT, GAUGE_U),
        unit="nm",
        tolerance=0.5,
        reason=ROUNDED,
        exactness=1e-6,
    ),
    Row(
        case="H.1: part of the temperature difference",
        source=H1,
        status="read in a transcription",
        printed=16.599,
        closed_form=50_000_623.0 * 11.5e-6 * 0.05 / math.sqrt(3),
        ours=spread(gauge, GAUGE_AT, [0.0] * 7 + [0.05 / math.sqrt(3)]),
        unit="nm",
        tolerance=5e-4,
        reason=ROUNDED,
        exactness=1e-6,
    ),
    Row(
        case="H.1: effective degrees of freedom, cut to a whole number",
        source=H1,
        status="read in a transcription",
        printed=16.0,
        closed_form=float(math.floor(GAUGE_NU_BY_HAND)),
        ours=float(math.floor(GAUGE_NU)),
        tolerance=0.0,
        reason="a whole number",
    ),
    Row(
        case="H.1: expanded uncertainty, 99 %",
        source=H1,
        status="read in a transcription",
        printed=93.0,
        closed_form=T_99_16 * math.sqrt(float(np.sum(GAUGE_PARTS**2))),
        ours=gum.expanded(
            k=gum.coverage_factor(0.99, math.floor(GAUGE_NU)), u=spread(gauge, GAUGE_AT, GAUGE_U)
        ),
        unit="nm",
        tolerance=0.6,
        reason="the source multiplies rounded figures, 2.92 × 32 nm; unrounded: 92.5 nm",
        exactness=1e-6,
    ),
    Row(
        case="H.2: u of the resistance, correlated inputs",
        source=H2,
        status="read in a transcription",
        printed=0.070,
        closed_form=BY_HAND["R"],
        ours=correlated(resistance),
        unit="Ω",
        tolerance=5e-4,
        reason=ROUNDED,
        exactness=1e-6,
    ),
    Row(
        case="H.2: u of the reactance, correlated inputs",
        source=H2,
        status="read in a transcription",
        printed=0.30,
        closed_form=BY_HAND["X"],
        ours=correlated(reactance),
        unit="Ω",
        tolerance=5e-3,
        reason=ROUNDED,
        exactness=1e-6,
    ),
    Row(
        case="H.2: u of the impedance, correlated inputs",
        source=H2,
        status="read in a transcription",
        printed=0.24,
        closed_form=BY_HAND["Z"],
        ours=correlated(impedance),
        unit="Ω",
        tolerance=5e-3,
        reason=ROUNDED,
        exactness=1e-6,
    ),
    Row(
        case="A1: u of a concentration, rectangular and triangular inputs",
        source=A1,
        status="read in a transcription",
        printed=0.835199,
        closed_form=CADMIUM_BY_HAND,
        ours=CADMIUM,
        unit="mg/L",
        tolerance=1e-6,
        reason=ROUNDED,
        exactness=1e-6,
    ),
    Row(
        case="9.2.2: four standard normal inputs added, half width of 95 %",
        source=JCGM_101,
        status="from memory",
        printed=3.92,
        closed_form=2.0 * 1.959963984540054,
        ours=gum.coverage_factor(0.95) * gum.combined(np.ones(4), np.ones(4)),
        tolerance=5e-3,
        reason=ROUNDED,
    ),
    Row(
        case="9.3: calibration of a weight, first order",
        source=JCGM_101,
        status="from memory",
        printed=0.0539,
        closed_form=math.hypot(0.050, 0.020),
        ours=WEIGHT,
        unit="mg",
        tolerance=5e-5,
        reason=ROUNDED,
        exactness=1e-4,
    ),
    Row(
        case="9.4: x1² + x2² at x1 = 0.050, far from its fold",
        source=JCGM_101,
        status="from memory",
        printed=502e-6,
        closed_form=2 * 0.050 * 0.005,
        ours=spread(lambda v: float(v @ v), [0.050, 0.0], [0.005, 0.005]),
        tolerance=3e-6,
        reason="the printed value is exact; first order leaves out 0.5 % here",
        exactness=1e-6,
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.case)
def test_three_columns_agree(row: Row) -> None:
    assert disagreements(row) == ()


def test_first_order_is_blind_where_every_sensitivity_is_zero() -> None:
    """JCGM 101:2008, 9.4 at x1 = x2 = 0: the true u is 50e-6, first order says 0. The program
    propagates nothing with such a fold; this pins down what it could not do.
    """
    blind = spread(lambda v: float(v @ v), [0.0, 0.0], [0.005, 0.005])
    assert blind == pytest.approx(0.0, abs=1e-9)
    drawn = np.random.default_rng(1).normal(0.0, 0.005, (2, 200_000))
    assert np.std(np.sum(drawn**2, axis=0)) == pytest.approx(50e-6, rel=0.02)


def test_the_table_notices_a_wrong_figure() -> None:
    good = ROWS[0]
    wrong = Row(
        case=good.case,
        source=good.source,
        status=good.status,
        printed=good.printed,
        closed_form=good.closed_form,
        ours=good.ours * 1.05,
        tolerance=good.tolerance,
        reason=good.reason,
    )
    assert len(disagreements(wrong)) == 2
