"""Centre of pressure against a published set of component values (a small finned body)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from generator.formulas import stability as s
from tests.published.row import Row, disagreements

TESTS = (
    "openrocket/openrocket, BarrowmanCalculatorTest.java with TestRockets.java (commits 0d278e25, "
    "1c5bddf5); its Mach number of 0.3 inferred"
)
LAST = "numeric integration in the source"
R, SPAN, ROOT, TIP, SWEEP = 0.012, 0.05, 0.05, 0.03, 0.02
AREA = math.pi * R * R
BETA = math.sqrt(1 - 0.3**2)
MID_SWEEP = math.atan((SWEEP + (TIP - ROOT) / 2) / SPAN)


def _ogive_volume(length: float, radius: float, slices: int = 20_000) -> float:
    """Volume of a tangent ogive by the midpoint rule."""
    big = (radius**2 + length**2) / (2 * radius)
    mids = (np.arange(slices) + 0.5) * length / slices
    y = np.sqrt(big**2 - (length - mids) ** 2) - (big - radius)
    return float((math.pi * y**2).sum() * length / slices)


def _fins(compression: float) -> float:
    k = s.interference(radius=R, span=SPAN)
    return float(
        s.fin_slope(
            interference=k,
            count=1.5,
            span=SPAN,
            reference=AREA,
            compression=compression,
            area=SPAN * (ROOT + TIP) / 2,
            sweep=MID_SWEEP,
        )
    )


def _fins_by_hand(compression: float) -> float:
    """Barrowman 1966 as printed at Mach 0, 4 N (s/d)²/(1 + √(1 + (2 l/(cr + ct))²)), with β in it."""
    mid = SPAN / math.cos(MID_SWEEP)
    root = math.sqrt(1 + (2 * compression * mid / (ROOT + TIP)) ** 2)
    return (1 + R / (SPAN + R)) * 4 * 3 * (SPAN / (2 * R)) ** 2 / (1 + root)


NOSE = s.body_centre(start=0.0, length=0.07, rear=AREA, volume=_ogive_volume(0.07, R), front=0.0)
FIN_X = s.fin_centre(start=0.22, sweep=SWEEP, root=ROOT, tip=TIP)
WHOLE = s.centre_of_pressure(slopes=np.array([2.0, _fins(BETA)]), stations=np.array([NOSE, FIN_X]))

ROWS: tuple[Row, ...] = (
    Row(
        case="slope of the nose",
        source=TESTS,
        status="read",
        printed=2.0,
        closed_form=2.0,
        ours=s.body_slope(rear=AREA, front=0.0, reference=AREA),
        tolerance=1e-9,
        reason="exact",
    ),
    Row(
        case="centre of the nose, a tangent ogive",
        source=TESTS,
        status="read",
        printed=0.03235,
        closed_form=0.0323547,
        ours=NOSE,
        unit="m",
        tolerance=1e-5,
        reason="last digit",
        exactness=2e-6,
    ),
    Row(
        case="slope of three fins at Mach 0.3",
        source=TESTS,
        status="read",
        printed=24.146933,
        closed_form=_fins_by_hand(BETA),
        ours=_fins(BETA),
        tolerance=2e-6,
        reason="last digit",
    ),
    Row(
        case="slope of three fins at Mach 0",
        source="RocketPy 1.13.0, run",
        status="read",
        printed=23.72503253,
        closed_form=_fins_by_hand(1.0),
        ours=_fins(1.0),
        tolerance=1e-7,
        reason="last digit",
    ),
    Row(
        case="centre of the fins behind their leading edge",
        source=TESTS,
        status="read",
        printed=0.0193484,
        closed_form=0.02 / 3 * 0.11 / 0.08 + (0.08 - 0.0015 / 0.08) / 6,
        ours=FIN_X - 0.22,
        unit="m",
        tolerance=4e-5,
        reason=LAST,
    ),
    Row(
        case="centre of pressure of the whole",
        source=TESTS,
        status="read",
        printed=0.22351541,
        closed_form=0.223540,
        ours=float(WHOLE),
        unit="m",
        tolerance=4.5e-5,
        reason=LAST,
        exactness=3e-6,
    ),
    Row(
        case="centre of a cone",
        source="Barrowman method page, scribd 456270366",
        status="read",
        printed=2 / 3,
        closed_form=2 / 3,
        tolerance=1e-9,
        reason="exact",
        unit="lengths",
        ours=s.body_centre(start=0.0, length=1.0, rear=3.0, volume=1.0, front=0.0),
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_published(row: Row) -> None:
    assert disagreements(row) == ()
