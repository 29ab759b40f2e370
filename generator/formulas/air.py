"""The air: 1976 standard atmosphere to 11 km, moist air after CIPM-2007, speed of sound.

Two kinds of altitude differ by 0.02 % at 1.3 km: a height above sea level as surveyed is
geometric, the standard atmosphere's equations take the geopotential one.
"""

from __future__ import annotations

import math

import numpy as np

from generator.formulas.formula import Symbol, formula

STANDARD = "US Standard Atmosphere 1976 (equal to ICAO 1993 below 32 km)"
CIPM = "CIPM-2007: Picard, Davis, Glaser, Fujii, Metrologia 45 (2008) 149–155"

EARTH_RADIUS = 6_356_766.0
SEA_LEVEL_TEMPERATURE = 288.15
SEA_LEVEL_PRESSURE = 101_325.0
LAPSE_RATE = 0.0065
GRAVITY = 9.80665
DRY_AIR = 287.05287
"""Specific gas constant of dry air in the 1976 standard atmosphere, J/(kg·K)."""
DRY_AIR_CIPM = 8.314472 / 28.96546e-3
"""The same from CIPM-2007: R = 8.314472 J/(mol·K), M_a = 28.96546 g/mol at 400 ppm CO2."""
WATER_TO_AIR = 18.01528 / 28.96546
HEAT_RATIO = 1.4
ZERO_CELSIUS = 273.15


@formula(
    equation=r"H = \frac{R_{E} Z}{R_{E} + Z}",
    result=Symbol("H", "distance", "geopotential altitude"),
    source=STANDARD,
    earth_radius=Symbol("R_{E}", "distance", "radius of the Earth"),
    altitude=Symbol("Z", "distance", "geometric altitude, as surveyed", -500.0, 11_000.0),
)
def geopotential(*, earth_radius: float, altitude: float) -> float:
    """Geopotential altitude in m from the geometric one, valid from −500 to 11,000 m."""
    return earth_radius * altitude / (earth_radius + altitude)


@formula(
    equation=r"T = T_{0} - L_{T} H",
    result=Symbol("T", "absolute temperature", "temperature of the standard atmosphere"),
    source=STANDARD,
    sea_level=Symbol("T_{0}", "absolute temperature", "temperature at sea level"),
    lapse_rate=Symbol("L_{T}", "temperature gradient", "lapse rate"),
    altitude=Symbol("H", "distance", "geopotential altitude", -500.0, 11_000.0),
)
def standard_temperature(*, sea_level: float, lapse_rate: float, altitude: float) -> float:
    """Temperature in K of the standard atmosphere, below 11,000 m geopotential."""
    return sea_level - lapse_rate * altitude


@formula(
    equation=r"n = \frac{g}{R_{a} L_{T}}",
    result=Symbol("n", "ratio", "exponent of the pressure"),
    source=STANDARD,
    gravity=Symbol("g", "acceleration", "standard gravity"),
    gas_constant=Symbol("R_{a}", "specific heat", "specific gas constant of dry air"),
    lapse_rate=Symbol("L_{T}", "temperature gradient", "lapse rate"),
)
def pressure_exponent(*, gravity: float, gas_constant: float, lapse_rate: float) -> float:
    """Exponent of the pressure in a layer of constant lapse rate: 5.25588 below 11,000 m."""
    return gravity / (gas_constant * lapse_rate)


EXPONENT = GRAVITY / (DRY_AIR * LAPSE_RATE)


@formula(
    equation=r"p = p_{0} (\frac{T}{T_{0}})^n",
    result=Symbol("p", "pressure", "pressure of the standard atmosphere"),
    source=STANDARD,
    sea_level_pressure=Symbol("p_{0}", "pressure", "pressure at sea level"),
    temperature=Symbol("T", "absolute temperature", "standard temperature", 216.65, 291.4),
    sea_level=Symbol("T_{0}", "absolute temperature", "temperature at sea level"),
    exponent=Symbol("n", "ratio", "exponent of the pressure", 5.0, 5.5),
)
def standard_pressure(
    *, sea_level_pressure: float, temperature: float, sea_level: float, exponent: float
) -> float:
    """Pressure in Pa of the standard atmosphere below 11,000 m."""
    ratio: float = (temperature / sea_level) ** exponent
    return sea_level_pressure * ratio


def saturation_pressure(*, temperature: float) -> float:
    """Vapour pressure of water at saturation, Pa; temperature in K, 288 to 300 K as published.

    p_sv = exp(A T² + B T + C + D/T) with A = 1.2378847e−5 K⁻², B = −1.9121316e−2 K⁻¹,
    C = 33.93711047, D = −6.3431645e3 K. Source: CIPM-2007, Metrologia 45 (2008) 149.
    """
    t = temperature
    return math.exp(1.2378847e-5 * t * t - 1.9121316e-2 * t + 33.93711047 - 6.3431645e3 / t)


def enhancement(*, pressure: float, temperature: float) -> float:
    """Enhancement factor of water vapour in air; pressure in Pa, temperature in K.

    f = 1.00062 + 3.14e−8 p + 5.6e−7 t², p in Pa, t in °C. Source: CIPM-2007.
    """
    return 1.00062 + 3.14e-8 * pressure + 5.6e-7 * (temperature - ZERO_CELSIUS) ** 2


def compressibility(*, pressure: float, temperature: float, vapour: float) -> float:
    """Compressibility factor of moist air; Pa, K, mole fraction of water vapour 0 to 1.

    Source: CIPM-2007, with its eight published constants.
    """
    t, ratio = temperature - ZERO_CELSIUS, pressure / temperature
    first = (
        1.58123e-6
        - 2.9331e-8 * t
        + 1.1043e-10 * t * t
        + (5.707e-6 - 2.051e-8 * t) * vapour
        + (1.9898e-4 - 2.376e-6 * t) * vapour * vapour
    )
    return 1.0 - ratio * first + ratio * ratio * (1.83e-11 - 0.765e-8 * vapour * vapour)


@formula(
    equation=r"x_{v} = \frac{h f p_{v}}{p}",
    result=Symbol("x_{v}", "ratio", "mole fraction of water vapour"),
    source=CIPM,
    humidity=Symbol("h", "share", "relative humidity", 0.0, 1.0),
    enhancement=Symbol("f", "ratio", "enhancement factor"),
    saturation=Symbol("p_{v}", "pressure", "vapour pressure at saturation"),
    pressure=Symbol("p", "pressure", "station pressure"),
)
def vapour_fraction(
    *, humidity: float, enhancement: float, saturation: float, pressure: float
) -> float:
    """Mole fraction of water vapour in the air, relative humidity 0 to 1."""
    return humidity * enhancement * saturation / pressure


@formula(
    equation=r"\rho = \frac{p}{Z R_{a} T} (1 - x_{v} (1 - \epsilon))",
    result=Symbol(r"\rho", "density", "density of the moist air"),
    source=CIPM,
    pressure=Symbol("p", "pressure", "station pressure", 60_000.0, 110_000.0),
    compressibility=Symbol("Z", "ratio", "compressibility factor"),
    gas_constant=Symbol("R_{a}", "specific heat", "specific gas constant of dry air"),
    temperature=Symbol("T", "absolute temperature", "air temperature", 288.15, 300.15),
    vapour=Symbol("x_{v}", "ratio", "mole fraction of water vapour", 0.0, 0.2),
    mass_ratio=Symbol(r"\epsilon", "ratio", "molar mass of water over that of dry air"),
)
def moist_density(
    *,
    pressure: float,
    compressibility: float,
    gas_constant: float,
    temperature: float,
    vapour: float,
    mass_ratio: float,
) -> float:
    """Density of moist air in kg/m³, published for 60 to 110 kPa and 15 to 27 °C."""
    return (
        pressure
        / (compressibility * gas_constant * temperature)
        * (1.0 - vapour * (1.0 - mass_ratio))
    )


@formula(
    equation=r"a = \sqrt{\gamma R_{a} T (1 + x_{v} (1 - \epsilon))}",
    result=Symbol("a", "speed", "speed of sound"),
    source="ideal gas; the moist-air term divides by the mean molar mass, to first order in x_v",
    heat_ratio=Symbol(r"\gamma", "ratio", "ratio of specific heats"),
    gas_constant=Symbol("R_{a}", "specific heat", "specific gas constant of dry air"),
    temperature=Symbol("T", "absolute temperature", "air temperature", 200.0, 400.0),
    vapour=Symbol("x_{v}", "ratio", "mole fraction of water vapour", 0.0, 0.1),
    mass_ratio=Symbol(r"\epsilon", "ratio", "molar mass of water over that of dry air"),
)
def sound_speed(
    *, heat_ratio: float, gas_constant: float, temperature: float, vapour: float, mass_ratio: float
) -> float:
    """Speed of sound in m/s; the dry value is √(γ R T), vapour adds some tenths of a percent."""
    return np.sqrt(  # type: ignore[no-any-return]
        heat_ratio * gas_constant * temperature * (1.0 + vapour * (1.0 - mass_ratio))
    )


@formula(
    equation=r"q = \frac{\rho v^2}{2}",
    result=Symbol("q", "pressure", "dynamic pressure"),
    source="definition",
    density=Symbol(r"\rho", "density", "air density"),
    speed=Symbol("v", "speed", "air speed"),
)
def dynamic_pressure(*, density: float, speed: float) -> float:
    """Dynamic pressure in Pa."""
    return 0.5 * density * speed * speed


@formula(
    equation=r"H_{\rho} = \frac{T_{0}}{L_{T}} (1 - (\frac{\rho}{\rho_{0}})^{\frac{1}{n - 1}})",
    result=Symbol(r"H_{\rho}", "distance", "density altitude"),
    source=STANDARD + ", its density solved for the altitude",
    sea_level=Symbol("T_{0}", "absolute temperature", "temperature at sea level"),
    lapse_rate=Symbol("L_{T}", "temperature gradient", "lapse rate"),
    density=Symbol(r"\rho", "density", "air density", 0.364, 1.29),
    sea_level_density=Symbol(r"\rho_{0}", "density", "density at sea level"),
    exponent=Symbol("n", "ratio", "exponent of the pressure", 5.0, 5.5),
)
def density_altitude(
    *,
    sea_level: float,
    lapse_rate: float,
    density: float,
    sea_level_density: float,
    exponent: float,
) -> float:
    """Altitude in m at which the standard atmosphere is as thin as this air, below 11,000 m."""
    ratio: float = (density / sea_level_density) ** (1.0 / (exponent - 1.0))
    return sea_level / lapse_rate * (1.0 - ratio)


def standard_air(altitude: float) -> tuple[float, float, float]:
    """Temperature K, pressure Pa and density kg/m³ at a geometric altitude in m, below 11 km."""
    height = geopotential(earth_radius=EARTH_RADIUS, altitude=altitude)
    temperature = standard_temperature(
        sea_level=SEA_LEVEL_TEMPERATURE, lapse_rate=LAPSE_RATE, altitude=height
    )
    pressure = standard_pressure(
        sea_level_pressure=SEA_LEVEL_PRESSURE,
        temperature=temperature,
        sea_level=SEA_LEVEL_TEMPERATURE,
        exponent=EXPONENT,
    )
    return temperature, pressure, pressure / (DRY_AIR * temperature)


def moist_air(*, pressure: float, temperature: float, humidity: float) -> float:
    """Density in kg/m³ of moist air; Pa, K, relative humidity 0 to 1. Source: CIPM-2007."""
    vapour = vapour_fraction(
        humidity=humidity,
        enhancement=enhancement(pressure=pressure, temperature=temperature),
        saturation=saturation_pressure(temperature=temperature),
        pressure=pressure,
    )
    factor = compressibility(pressure=pressure, temperature=temperature, vapour=vapour)
    return moist_density(
        pressure=pressure,
        compressibility=factor,
        gas_constant=DRY_AIR_CIPM,
        temperature=temperature,
        vapour=vapour,
        mass_ratio=WATER_TO_AIR,
    )
