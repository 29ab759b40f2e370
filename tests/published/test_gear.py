"""Protective times beside what the trade prints, and Stoll's curve beside its table."""

from __future__ import annotations

import pytest

from generator.formulas import gear
from tests.published.row import Row, disagreements

CAL_CM2 = 41_840.0
"""J/m² in a thermochemical calorie per square centimetre (4.184 J)."""
SFI = "levels of SFI 3.2A as two sellers of suits print them; `divide by 2` in three explanations"
STOLL = "ASTM's table of human tissue's tolerance to a second-degree burn, in a public copy"


def stoll_time(flux: float) -> float:
    return gear.bare_skin_time(
        dose=gear.STOLL_DOSE, flux=flux, unit=1.0, exponent=gear.STOLL_EXPONENT
    )


ROWS: tuple[Row, ...] = (
    *(
        Row(
            case=f"SFI 3.2A/{level}, seconds from TPP {tpp}",
            source=SFI,
            status="read",
            printed=seconds,
            closed_form=tpp / 2.0,
            ours=gear.protective_time(dose=tpp * CAL_CM2, flux=2.0 * CAL_CM2),
            tolerance=0.51 if level == 5 else 1e-9,
            reason="often quoted as 10 s; 19/2 is 9.5" if level == 5 else "exact",
            unit="s",
        )
        for level, tpp, seconds in (
            (1, 6, 3),
            (3, 14, 7),
            (5, 19, 10),
            (10, 38, 19),
            (15, 60, 30),
            (20, 80, 40),
        )
    ),
    *(
        Row(
            case=f"bare skin at {kw} kW/m²",
            source=STOLL,
            status="read",
            printed=seconds,
            closed_form=(1.1991 * 41.84 / kw) ** (1 / 0.7099),
            ours=stoll_time(kw * 1000.0),
            tolerance=0.045 * seconds,
            reason="the table's flux has two digits: 2.5 % of it are 3.5 % of the time, and the "
            "fit's 1.2 % of the dose",
            unit="s",
            exactness=1e-9,
        )
        for seconds, kw in (
            (1, 50),
            (2, 31),
            (3, 23),
            (5, 16),
            (10, 9.8),
            (15, 7.4),
            (20, 6.0),
            (30, 4.5),
        )
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_agrees_with_what_is_printed(row: Row) -> None:
    assert disagreements(row) == ()


def test_two_calories_a_second_are_the_84_kilowatts_of_the_manikin_test() -> None:
    """ISO 13506-1 names 84 kW/m² as its nominal exposure (read on a shop page)."""
    flux = 2.0 * CAL_CM2
    assert flux == pytest.approx(84_000.0, rel=0.005)
