"""Tires against printed tables."""

from __future__ import annotations

import pytest

from generator.formulas import tires
from tests.published.row import Row, disagreements

SIZES = "barretire.com/Tires/tiresizes.htm (three pages agree)"
LOADS = "myengineerings.com/tyre-load-capacity"


def _symbol(letter: str, printed: float) -> Row:
    return Row(
        case=f"speed symbol {letter}",
        source=SIZES,
        status="read",
        printed=printed,
        closed_form=printed,
        ours=tires.SPEED_SYMBOLS[letter],
        tolerance=0.0,
        unit="km/h",
        reason="exact",
    )


def _share(letter: str, kmh: float, printed: float) -> Row:
    return Row(
        case=f"share of the load, {letter} at {kmh:g} km/h",
        source=LOADS,
        status="read",
        printed=printed,
        closed_form=printed,
        ours=tires.load_share(letter, kmh / 3.6) or 0.0,
        tolerance=1e-9,
        reason="exact",
    )


ROWS: tuple[Row, ...] = (
    _symbol("S", 180.0),
    _symbol("T", 190.0),
    _symbol("U", 200.0),
    _symbol("H", 210.0),
    _symbol("V", 240.0),
    _symbol("W", 270.0),
    _symbol("Y", 300.0),
    _share("V", 210.0, 1.0),
    _share("V", 240.0, 0.91),
    _share("V", 225.0, 0.955),
    _share("W", 240.0, 1.0),
    _share("W", 270.0, 0.85),
    _share("Y", 255.0, 0.925),  # as tires with ZR, interpolated between 240 and 270 km/h
    Row(
        case="tread acceleration at 400 mph, 0.35 m",
        source="kinematics (derived)",
        status="derived",
        printed=9316.0,
        closed_form=178.816**2 / 0.35 / 9.80665,
        unit="g",
        ours=tires.tread_acceleration(speed=400 * 0.44704, radius=0.35) / 9.80665,
        tolerance=0.5,
        reason="last digit",
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_published(row: Row) -> None:
    assert disagreements(row) == ()


def test_what_a_y_tire_carries_above_270_km_h_is_for_its_maker_to_say() -> None:
    assert tires.load_share("Y", 271.0 / 3.6) is None


def test_no_symbol_covers_two_hundred_miles_an_hour() -> None:
    speed = 200 * 0.44704
    assert [tires.load_share(symbol, speed) for symbol in tires.SPEED_SYMBOLS] == [None] * 13
