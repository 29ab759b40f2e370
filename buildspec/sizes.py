"""The size of every unit in SI, exact by its definition and rounded once.

Metric units: the SI Brochure (BIPM). Customary ones: the international yard and pound (1959: 1 in = 25.4 mm,
1 lb = 0.45359237 kg), the US gallon of 231 in³, standard gravity 9.80665 m/s² (CGPM 1901), the thermochemical calorie
of 4.184 J, the ISO Btu of 1055.056 J, mercury of 13,595.1 kg/m³ (all as pint's list has them, to which the tests
hold every unit a description may use, with its dimension).
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Mapping
from fractions import Fraction

_F = Fraction
_INCH, _POUND, _GRAVITY = _F("0.0254"), _F("0.45359237"), _F("9.80665")
_FOOT, _GALLON = 12 * _INCH, 231 * _INCH**3
_POUND_FORCE = _POUND * _GRAVITY
_PSI = _POUND_FORCE / _INCH**2

_SIZES: Mapping[str, Fraction] = {
    # pure numbers and angles
    "dimensionless": _F(1),
    "percent": _F("0.01"),
    "radian": _F(1),
    "degree": _F(math.pi) / 180,
    "revolution": 2 * _F(math.pi),
    # time
    "millisecond": _F("0.001"),
    "second": _F(1),
    "minute": _F(60),
    "hour": _F(3600),
    # length and volume
    "millimeter": _F("0.001"),
    "centimeter": _F("0.01"),
    "meter": _F(1),
    "kilometer": _F(1000),
    "inch": _INCH,
    "foot": _FOOT,
    "mile": 5280 * _FOOT,
    "liter": _F("0.001"),
    "gallon": _GALLON,
    "quart": _GALLON / 4,
    # mass
    "gram": _F("0.001"),
    "kilogram": _F(1),
    "metric_ton": _F(1000),
    "pound": _POUND,
    "ounce": _POUND / 16,
    # acceleration, force, pressure
    "standard_gravity": _GRAVITY,
    "newton": _F(1),
    "decanewton": _F(10),
    "kilonewton": _F(1000),
    "pound_force": _POUND_FORCE,
    "kilogram_force": _GRAVITY,
    "pascal": _F(1),
    "hectopascal": _F(100),
    "kilopascal": _F(1000),
    "megapascal": _F(10**6),
    "gigapascal": _F(10**9),
    "bar": _F(10**5),
    "pound_force_per_square_inch": _PSI,
    "kip_per_square_inch": 1000 * _PSI,
    "inch_Hg": _INCH * _F("13595.1") * _GRAVITY,
    # energy and power
    "joule": _F(1),
    "kilojoule": _F(1000),
    "megajoule": _F(10**6),
    "calorie": _F("4.184"),
    "Btu": _F("1055.056"),
    "watt": _F(1),
    "kilowatt": _F(1000),
    "horsepower": 550 * _FOOT * _POUND_FORCE,
    # temperature, and differences of it
    "kelvin": _F(1),
    "degC": _F(1),
    "degF": _F(5, 9),
    "delta_degF": _F(5, 9),
}
_ZEROS: Mapping[str, Fraction] = {"degC": _F("273.15"), "degF": _F("459.67") * _F(5, 9)}
"""Where a scale of temperature begins, K."""

_PART = re.compile(r"([*/]?)([A-Za-z_]+)(?:\*\*(\d))?")


@functools.cache
def size(name: str) -> tuple[float, float]:
    """Factor and offset from a unit to SI: si = factor · number + offset.

    `name` is one of our own table of kinds, such as `pound*foot**2` or `calorie/centimeter**2/second`;
    KeyError where it holds a unit that is not in the list above.
    """
    exact = _F(1)
    for sign, unit, power in _PART.findall(name):
        part = _SIZES[unit] ** int(power or 1)
        exact = exact / part if sign == "/" else exact * part
    return float(exact), float(_ZEROS.get(name, 0))
