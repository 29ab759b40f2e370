"""Opening loads against the closed form, a digitised published figure, and a published example."""

from __future__ import annotations

import math

import numpy as np
import pytest

from generator.formulas import parachutes as p
from tests.published.row import Row, disagreements

FIGURE = (
    "Knacke, Parachute Recovery Systems Design Manual, figure 5-51, as digitised in the public "
    "repository AjoAceite777/Parachute-Opening-Shock"
)
EXAMPLE = "nrdptel/hpr-sim, docs/physics/recovery.md; its mass of 8.257 kg from memory"
OWN = "closed form of Pflanz' method (derived)"

CLOSED = {  # A: X1 at j = 1, 2, 1/2, each equal to an integration to 1e-10
    0.01: (0.045928, 0.027032, 0.100156),
    0.03: (0.079550, 0.056229, 0.144450),
    0.1: (0.145237, 0.125471, 0.215780),
    0.3: (0.251558, 0.260991, 0.311209),
    1.0: (0.459279, 0.562500, 0.464884),
    10.0: (0.907029, 0.936524, 0.878906),
    100.0: (0.990075, 0.993367, 0.986799),
}
DIGITISED = {
    (0.1, 1.0): 0.148,
    (0.3, 1.0): 0.261,
    (1.0, 1.0): 0.491,
    (10.0, 1.0): 0.932,
    (100.0, 1.0): 1.0,
    (0.1, 2.0): 0.121,
    (0.3, 2.0): 0.276,
    (1.0, 2.0): 0.593,
    (10.0, 2.0): 0.972,
    (100.0, 2.0): 1.0,
}


def _by_hand(a: float, j: float) -> float:
    """The greatest of u² τ^j over the filling, from 1/u = 1 + τ^(j+1)/(A (j+1)), by sampling."""
    t = np.arange(1, 200_001) / 200_000
    return float((t**j / (1 + t ** (j + 1) / (a * (j + 1))) ** 2).max())


ROWS: tuple[Row, ...] = (
    *(
        Row(
            case=f"X1 at A = {a:g}, j = {j:g}",
            source=OWN,
            status="derived",
            printed=value,
            closed_form=_by_hand(a, j),
            ours=p.reduction(a, j),
            tolerance=6e-7,
            exactness=1e-7,
            reason="half a unit of the sixth digit",
        )
        for a, values in CLOSED.items()
        for j, value in zip((1.0, 2.0, 0.5), values, strict=True)
    ),
    *(
        Row(
            case=f"X1 in the figure at A = {a:g}, j = {j:g}",
            source=FIGURE,
            status="read in a transcription",
            printed=value,
            closed_form=_by_hand(a, j),
            ours=p.reduction(a, j),
            tolerance=0.10 * value,
            exactness=1e-7,
            reason="the printed curve lies up to 8 % above the exact solution",
        )
        for (a, j), value in DIGITISED.items()
    ),
    Row(
        case="X1 at A = 50, j = 2",
        source="design plan of a recovery calculator in a public repository",
        status="read",
        printed=0.987,
        closed_form=1 / (1 + 1 / 150) ** 2,
        ours=p.reduction(50.0, 2.0),
        tolerance=5e-4,
        reason="half a unit of the last digit",
    ),
    Row(
        case="flat circular canopy of 1.5 m at 60 m/s: opening load without credit",
        source=EXAMPLE,
        status="read",
        printed=3020.0,
        closed_form=0.5 * 1.225 * 3600 * 0.775 * math.pi * 2.25 / 4,
        ours=p.design_load(
            pressure=2205.0,
            overshoot=1.0,
            drag_area=p.canopy_drag_area(
                wake=1.0, coefficient=0.775, area=p.nominal_area(diameter=1.5)
            ),
        ),
        tolerance=3.0,
        reason="0.1 %, printed to 10 N",
        unit="N",
    ),
    Row(
        case="the same, filling while the mass slows, no gravity",
        source=EXAMPLE,
        status="read",
        printed=1527.0,
        closed_form=3019.8 * 0.505595,
        unit="N",
        tolerance=1.5,
        exactness=1e-4,
        ours=3019.8
        * p.reduction(
            p.ballistic_parameter(
                mass=8.257,
                density=1.225,
                drag_area=0.775 * math.pi * 2.25 / 4,
                speed=60.0,
                filling=p.filling_time(fill=8.0, diameter=1.5, speed=60.0),
            ),
            2.0,
        ),
        reason="0.1 %; the closed form rests on a mass from memory",
    ),
    Row(
        case="the same, opening-force coefficient 1.7 at infinite mass",
        source=EXAMPLE,
        status="read",
        printed=5100.0,
        closed_form=1.7 * 2205.0 * 0.775 * math.pi * 2.25 / 4,
        ours=p.design_load(pressure=2205.0, overshoot=1.7, drag_area=0.775 * math.pi * 2.25 / 4),
        tolerance=50.0,
        reason="printed as 5.1 kN",
        unit="N",
    ),
    Row(
        case="steady descent of 1.1 kg under 1 m at C_D 0.8",
        source=EXAMPLE,
        status="read",
        printed=5.294,
        closed_form=math.sqrt(2 * 1.1 * 9.80665 / (1.225 * 0.8 * math.pi / 4)),
        ours=math.sqrt(
            2
            * 1.1
            * 9.80665
            / (
                1.225
                * p.canopy_drag_area(wake=1.0, coefficient=0.8, area=p.nominal_area(diameter=1.0))
            )
        ),
        tolerance=5e-4,
        reason="last digit",
        unit="m/s",
    ),
    Row(
        case="sixteen lines of 80 lb, 65 % left by the knots",
        source="rocketryonline.com, Astrobee D parachute page",
        status="read",
        printed=832.0,
        closed_form=16 * 80 * 0.65,
        unit="lbf",
        tolerance=0.5,
        reason="printed to 1 lb",
        ours=p.usable_strength(
            strength=80.0, count=16.0, seam=1.0, knot=0.65, abrasion=1.0, age=1.0, heat=1.0
        ),
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_published(row: Row) -> None:
    assert disagreements(row) == ()


@pytest.mark.parametrize("j", [0.5, 1.0, 2.0])
def test_both_reduction_formulas_meet_at_their_threshold(j: float) -> None:
    a = (j + 2) / (j * (j + 1))
    assert p.reduction_while_filling(ballistic=a, exponent=j) == pytest.approx(
        p.reduction_at_full(ballistic=a, exponent=j), rel=1e-12
    )


def test_line_load_of_parallel_lines_is_the_even_share() -> None:
    even = p.line_load(load=16_000.0, count=16.0, projected=0.0, length=3.0)
    assert even == pytest.approx(1000.0)
    # 3-4-5 triangle: half the projected diameter 3, line 5, so the cosine is 0.8
    assert p.line_load(load=16_000.0, count=16.0, projected=6.0, length=5.0) == pytest.approx(
        1250.0
    )
