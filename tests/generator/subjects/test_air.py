"""The air of a venue: what it uses, what it assumes, and the barometer corrected to sea level."""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.formulas import air as f

from . import scenes

MILE_HIGH = "venue: {elevation: 1500 m, temperature: 25 °C, humidity: 20 %"


def test_a_stated_pressure_is_used_as_it_stands(tmp_path: Path) -> None:
    """20 °C, 50 %, 101,325 Pa: 1.1993 kg/m³ by CIPM-2007 (CoolProp 8.0.0 gives 1.199359)."""
    found = scenes.evaluated(
        tmp_path, "venue: {pressure: 101325 Pa, temperature: 20 °C, humidity: 50 %}\n", "air"
    )
    assert scenes.value(found, "air.density") == pytest.approx(1.199359, rel=5e-5)
    assert found.assumptions == () or all(
        "pressure" not in a.id for a in found.assumptions if a.subject == "air"
    )


def test_without_pressure_the_standard_atmosphere_gives_it_and_says_so(tmp_path: Path) -> None:
    """84,559.7 Pa at 1,500 m geometric (US Standard Atmosphere 1976, ambiance 1.3.1)."""
    found = scenes.evaluated(tmp_path, MILE_HIGH + "}\n", "air")
    want = f.moist_air(pressure=84559.7, temperature=298.15, humidity=0.2)
    assert scenes.value(found, "air.density") == pytest.approx(want, rel=1e-6)
    assert "air.assumption.pressure" in {a.id for a in found.assumptions}


def test_a_barometer_corrected_to_sea_level_is_named(tmp_path: Path) -> None:
    found = scenes.evaluated(tmp_path, MILE_HIGH + ", pressure: 1016 hPa}\n", "air")
    (caution,) = (c for c in found.cautions if c.id == "air.caution.pressure")
    assert "corrected to sea level" in caution.text
    assert "air.pressure.doubtful" in {i.id for i in found.open_items}


@pytest.mark.parametrize("pressure", ["846 hPa", "830 hPa", "870 hPa"])
def test_an_honest_station_pressure_is_not_doubted(tmp_path: Path, pressure: str) -> None:
    found = scenes.evaluated(tmp_path, MILE_HIGH + f", pressure: {pressure}}}\n", "air")
    assert "air.caution.pressure" not in {c.id for c in found.cautions}


def test_nothing_to_go_by_gives_no_page(tmp_path: Path) -> None:
    found = scenes.evaluated(tmp_path, "venue: {temperature: 20 °C}\n", "air")
    assert "air" not in found.outcomes


def test_spread_of_the_temperature_reaches_the_density(tmp_path: Path) -> None:
    """u(ρ)/ρ is u(T)/T to first order: 3 K half-width, 3/√3 K over 293.15 K is 0.59 %."""
    found = scenes.evaluated(
        tmp_path,
        "venue: {pressure: 100 kPa, humidity: 0 %, temperature: {value: 20 °C, plus_minus: 3 K}}\n",
        "air",
    )
    density = found.outcomes["air"].by_id["air.density"]
    assert density.value is not None
    assert density.standard_uncertainty / density.value == pytest.approx(
        3.0**0.5 / 293.15, rel=0.01
    )


@pytest.mark.parametrize(("celsius", "vapour"), [(25.56, 3.28e3), (40.0, 7.38e3)])
def test_without_humidity_it_says_how_much_thinner_saturated_air_is(
    tmp_path: Path, celsius: float, vapour: float
) -> None:
    """0.378·e/p with e from steam tables (3.28 kPa at 78 °F, 7.38 kPa at 104 °F): 1.4 % and 3.1 % at 91.2 kPa.

    The estimate is of first order; the tolerance is the tenth of a percent that is printed.
    """
    text = f"venue: {{elevation: 2890 ft, pressure: 912 hPa, temperature: {celsius} °C}}\n"
    found = scenes.evaluated(tmp_path, text, "air")
    said = next(a.text for a in found.assumptions if a.id == "air.assumption.humidity")
    printed = float(said.split("would be ")[1].split("%")[0])
    assert printed == pytest.approx(100.0 * 0.378 * vapour / 91.2e3, abs=0.11)
