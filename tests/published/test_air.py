"""The air against published tables. The moist-air constants were read in two public codes."""

from __future__ import annotations

import math

import pytest

from generator.formulas import air
from tests.published.row import Row, disagreements

ISA = "US Standard Atmosphere 1976, run in PyPI ambiance 1.3.1 (geometric altitude)"
GEOPOTENTIAL = "US Standard Atmosphere 1976, run in PyPI ussa1976 0.3.4 (geopotential altitude)"
HANDBOOK = "Mechanical Engineers' Handbook vol. 4, table 6"
COOLPROP = "CoolProp 8.0.0, HAPropsSI (a real-gas formulation of its own)"


def _by_hand(altitude: float) -> tuple[float, float, float]:
    """T, p, rho worked again from the tabulated constants alone, exponent 5.25588."""
    h = 6356766.0 * altitude / (6356766.0 + altitude)
    t = 288.15 - 0.0065 * h
    p = 101325.0 * math.exp(9.80665 / (287.05287 * 0.0065) * math.log(t / 288.15))
    return t, p, p / (287.05287 * t)


def _standard(altitude: float, index: int, printed: float, tolerance: float, source: str) -> Row:
    unit = ("K", "Pa", "kg/m³")[index]
    name = ("temperature", "pressure", "density")[index]
    return Row(
        case=f"standard {name} at {altitude:.0f} m",
        source=source,
        status="read",
        printed=printed,
        closed_form=_by_hand(altitude)[index],
        ours=air.standard_air(altitude)[index],
        tolerance=tolerance,
        reason="half a unit of the last printed digit, doubled for the last step's rounding",
        unit=unit,
        exactness=1e-12,
    )


def _cipm(t: float, p: float, h: float) -> float:
    """CIPM-2007 worked in its compact form, 3.48374e-3 p/(Z T) (1 − 0.3780 x_v)."""
    kelvin = t + 273.15
    psv = math.exp(
        1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
    )
    xv = h * (1.00062 + 3.14e-8 * p + 5.6e-7 * t**2) * psv / p
    z = (
        1.0
        - p
        / kelvin
        * (
            1.58123e-6
            - 2.9331e-8 * t
            + 1.1043e-10 * t**2
            + (5.707e-6 - 2.051e-8 * t) * xv
            + (1.9898e-4 - 2.376e-6 * t) * xv**2
        )
        + (p / kelvin) ** 2 * (1.83e-11 - 0.765e-8 * xv**2)
    )
    return 3.48374e-3 * p / (z * kelvin) * (1.0 - 0.3780 * xv)


def _moist(t: float, p: float, h: float, printed: float) -> Row:
    return Row(
        case=f"moist air {t:.0f} °C, {p:.0f} Pa, {h:.0%} humidity",
        source=COOLPROP,
        status="read",
        printed=printed,
        closed_form=_cipm(t, p, h),
        ours=air.moist_air(pressure=p, temperature=t + 273.15, humidity=h),
        tolerance=5e-5 * printed,
        unit="kg/m³",
        exactness=2e-6,
        reason="two real-gas formulations differ by up to 4e-5; the compact form rounds at 1e-6",
    )


ROWS: tuple[Row, ...] = (
    _standard(0.0, 2, 1.22500, 1e-5, ISA),
    _standard(1000.0, 0, 281.6510, 1e-4, ISA),
    _standard(1000.0, 1, 89876.3, 0.1, ISA),
    _standard(1000.0, 2, 1.111660, 1e-6, ISA),
    _standard(1500.0, 1, 84559.7, 0.1, ISA),
    _standard(2000.0, 0, 275.1541, 1e-4, ISA),
    _standard(2000.0, 1, 79501.4, 0.1, ISA),
    _standard(2000.0, 2, 1.006554, 1e-6, ISA),
    _standard(2000.0, 2, 1.0066, 1e-4, HANDBOOK),
    Row(
        case="standard pressure at 2000 m geopotential",
        source=GEOPOTENTIAL,
        status="read",
        printed=79495.20,
        closed_form=101325.0 * (275.15 / 288.15) ** 5.255879812,
        unit="Pa",
        ours=air.standard_pressure(
            sea_level_pressure=101325.0, temperature=275.15, sea_level=288.15, exponent=air.EXPONENT
        ),
        tolerance=0.01,
        reason="last printed digit",
        exactness=1e-8,
    ),
    Row(
        case="speed of sound at 15 °C, dry",
        source=ISA,
        status="read",
        printed=340.294,
        closed_form=math.sqrt(1.4 * 287.05287 * 288.15),
        unit="m/s",
        ours=float(
            air.sound_speed(
                heat_ratio=1.4,
                gas_constant=287.05287,
                temperature=288.15,
                vapour=0.0,
                mass_ratio=air.WATER_TO_AIR,
            )
        ),
        tolerance=0.001,
        reason="last printed digit",
    ),
    _moist(15.0, 101325.0, 0.0, 1.225567),
    _moist(20.0, 101325.0, 0.0, 1.204603),
    _moist(20.0, 101325.0, 0.5, 1.199359),
    _moist(25.0, 101325.0, 0.5, 1.177360),
    _moist(30.0, 87000.0, 0.2, 0.996363),
    _moist(35.0, 87000.0, 0.1, 0.981383),
    _moist(15.0, 101325.0, 1.0, 1.217797),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_published(row: Row) -> None:
    assert disagreements(row) == ()


def test_density_altitude_is_the_inverse_of_the_standard_atmosphere() -> None:
    """Round trip: no figure of ours, the altitude that went in comes out (geopotential)."""
    _, _, density = air.standard_air(1300.0)
    height = air.geopotential(earth_radius=air.EARTH_RADIUS, altitude=1300.0)
    back = air.density_altitude(
        sea_level=288.15,
        lapse_rate=0.0065,
        density=density,
        sea_level_density=101325.0 / (287.05287 * 288.15),
        exponent=air.EXPONENT,
    )
    assert back == pytest.approx(height, rel=1e-9)


def test_humid_air_is_lighter_and_carries_sound_faster() -> None:
    dry = air.moist_air(pressure=9.0e4, temperature=305.0, humidity=0.0)
    assert air.moist_air(pressure=9.0e4, temperature=305.0, humidity=0.9) < dry
