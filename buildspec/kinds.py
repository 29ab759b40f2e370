"""The kinds of quantity a description may hold, and the units that each may be written in.

A table, and the only one: `buildspec.quantities` reads and prints by it.
"""

from __future__ import annotations

import enum
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal


class System(enum.StrEnum):
    """Which units are printed first; the other system follows in parentheses."""

    US = "us"
    SI = "si"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit the description may use.

    `symbol` is how it is written and printed, `name` what `buildspec.sizes` knows its size by,
    `aliases` other spellings that are read, `system` the system it belongs to ("" for both).
    """

    symbol: str
    name: str
    system: Literal["us", "si", ""] = ""
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: what it is called, its SI unit, the units it is printed in and may use.

    Two kinds may share a dimension (energy and torque; a length and a distance), because a
    reader expects different units of them.
    """

    name: str
    words: str
    si: str
    prints: tuple[str, str]
    units: tuple[Unit, ...]

    def printed_unit(self, system: System) -> str:
        """The symbol this kind is printed in, in `system`."""
        return self.prints[0] if system is System.US else self.prints[1]


_IN = Unit("in", "inch", "us", ("inch", "inches"))
_FT = Unit("ft", "foot", "us", ("feet", "foot"))
_MI = Unit("mi", "mile", "us", ("mile", "miles"))
_MM, _CM = Unit("mm", "millimeter", "si"), Unit("cm", "centimeter", "si")
_M, _KM = Unit("m", "meter", "si"), Unit("km", "kilometer", "si")
_LB = Unit("lb", "pound", "us")
_LENGTHS = (_IN, _FT, _MM, _CM, _M)

KINDS: Mapping[str, Kind] = {
    k.name: k
    for k in (
        Kind("ratio", "a ratio", "1", ("", ""), (Unit("", "dimensionless"), Unit("%", "percent"))),
        Kind(
            "share", "a share", "1", ("%", "%"), (Unit("", "dimensionless"), Unit("%", "percent"))
        ),
        Kind("length", "a length", "m", ("in", "mm"), _LENGTHS),
        Kind("distance", "a distance", "m", ("ft", "m"), (*_LENGTHS, _MI, _KM)),
        Kind(
            "area",
            "an area",
            "m²",
            ("ft²", "m²"),
            (
                Unit("ft²", "foot**2", "us", ("ft2", "ft^2", "sq ft")),
                Unit("in²", "inch**2", "us", ("in2", "in^2", "sq in")),
                Unit("m²", "meter**2", "si", ("m2", "m^2")),
                Unit("cm²", "centimeter**2", "si", ("cm2", "cm^2")),
                Unit("mm²", "millimeter**2", "si", ("mm2", "mm^2")),
            ),
        ),
        Kind(
            "section area",
            "a cross-section",
            "m²",
            ("in²", "mm²"),
            (
                Unit("in²", "inch**2", "us", ("in2", "in^2", "sq in")),
                Unit("mm²", "millimeter**2", "si", ("mm2", "mm^2")),
                Unit("cm²", "centimeter**2", "si", ("cm2", "cm^2")),
            ),
        ),
        Kind(
            "section modulus",
            "a section modulus",
            "m³",
            ("in³", "mm³"),
            (
                Unit("in³", "inch**3", "us", ("in3", "in^3")),
                Unit("mm³", "millimeter**3", "si", ("mm3", "mm^3")),
                Unit("cm³", "centimeter**3", "si", ("cm3", "cm^3")),
            ),
        ),
        Kind(
            "second moment of area",
            "a second moment of area",
            "m⁴",
            ("in⁴", "mm⁴"),
            (
                Unit("in⁴", "inch**4", "us", ("in4", "in^4")),
                Unit("mm⁴", "millimeter**4", "si", ("mm4", "mm^4")),
                Unit("cm⁴", "centimeter**4", "si", ("cm4", "cm^4")),
            ),
        ),
        Kind(
            "bending stiffness",
            "a bending stiffness",
            "N·m²",
            ("lbf·in²", "N·m²"),
            (
                Unit("lbf·in²", "pound_force*inch**2", "us", ("lbf in2", "lbf*in^2")),
                Unit("N·m²", "newton*meter**2", "si", ("N m2", "N*m^2")),
            ),
        ),
        Kind(
            "mass per length",
            "a mass per length",
            "kg/m",
            ("lb/ft", "kg/m"),
            (Unit("lb/ft", "pound/foot", "us"), Unit("kg/m", "kilogram/meter", "si")),
        ),
        Kind(
            "volume",
            "a volume",
            "m³",
            ("ft³", "m³"),
            (
                Unit("ft³", "foot**3", "us", ("ft3", "ft^3", "cu ft")),
                Unit("gal", "gallon", "us"),
                Unit("qt", "quart", "us"),
                Unit("L", "liter", "si", ("l",)),
                Unit("m³", "meter**3", "si", ("m3", "m^3")),
            ),
        ),
        Kind(
            "liquid volume",
            "a volume of liquid",
            "m³",
            ("gal", "L"),
            (
                Unit("gal", "gallon", "us"),
                Unit("qt", "quart", "us"),
                Unit("L", "liter", "si", ("l",)),
                Unit("m³", "meter**3", "si", ("m3", "m^3")),
            ),
        ),
        Kind(
            "mass",
            "a mass",
            "kg",
            ("lb", "kg"),
            (
                _LB,
                Unit("oz", "ounce", "us"),
                Unit("kg", "kilogram", "si"),
                Unit("g", "gram", "si"),
                Unit("t", "metric_ton", "si", ("tonne",)),
            ),
        ),
        Kind(
            "time",
            "a time",
            "s",
            ("s", "s"),
            (
                Unit("s", "second", "", ("sec",)),
                Unit("ms", "millisecond"),
                Unit("min", "minute"),
                Unit("h", "hour", "", ("hr",)),
            ),
        ),
        Kind(
            "speed",
            "a speed",
            "m/s",
            ("mph", "km/h"),
            (
                Unit("mph", "mile/hour", "us"),
                Unit("ft/s", "foot/second", "us", ("fps",)),
                Unit("km/h", "kilometer/hour", "si", ("kph", "kmh")),
                Unit("m/s", "meter/second", "si"),
            ),
        ),
        Kind(
            "acceleration",
            "an acceleration",
            "m/s²",
            ("g", "m/s²"),
            (
                Unit("g", "standard_gravity", "us"),
                Unit("ft/s²", "foot/second**2", "us", ("ft/s2",)),
                Unit("m/s²", "meter/second**2", "si", ("m/s2", "m/s^2")),
            ),
        ),
        Kind(
            "force",
            "a force",
            "N",
            ("lbf", "N"),
            (
                Unit("lbf", "pound_force", "us"),
                Unit("N", "newton", "si"),
                Unit("kN", "kilonewton", "si"),
                Unit("daN", "decanewton", "si"),
                Unit("kgf", "kilogram_force", "si"),
            ),
        ),
        Kind(
            "pressure",
            "a pressure",
            "Pa",
            ("psi", "kPa"),
            (
                Unit("psi", "pound_force_per_square_inch", "us"),
                Unit("inHg", "inch_Hg", "us"),
                Unit("Pa", "pascal", "si"),
                Unit("hPa", "hectopascal", "si", ("mbar",)),
                Unit("kPa", "kilopascal", "si"),
                Unit("bar", "bar", "si"),
            ),
        ),
        Kind(
            "stress",
            "a stress",
            "Pa",
            ("ksi", "MPa"),
            (
                Unit("ksi", "kip_per_square_inch", "us"),
                Unit("psi", "pound_force_per_square_inch", "us"),
                Unit("MPa", "megapascal", "si", ("N/mm²", "N/mm2")),
                Unit("GPa", "gigapascal", "si"),
            ),
        ),
        Kind(
            "temperature",
            "a temperature",
            "K",
            ("°F", "°C"),
            (
                Unit("°F", "degF", "us", ("degF", "F")),
                Unit("°C", "degC", "si", ("degC", "C")),
                Unit("K", "kelvin", "si"),
            ),
        ),
        Kind(
            "density",
            "a density",
            "kg/m³",
            ("lb/ft³", "kg/m³"),
            (
                Unit("lb/ft³", "pound/foot**3", "us", ("lb/ft3", "lb/ft^3")),
                Unit("lb/in³", "pound/inch**3", "us", ("lb/in3", "lb/in^3")),
                Unit("lb/gal", "pound/gallon", "us"),
                Unit("kg/m³", "kilogram/meter**3", "si", ("kg/m3", "kg/m^3")),
                Unit("kg/L", "kilogram/liter", "si", ("kg/l", "g/cm3")),
            ),
        ),
        Kind(
            "angle",
            "an angle",
            "rad",
            ("°", "°"),
            (Unit("°", "degree", "", ("deg",)), Unit("rad", "radian")),
        ),
        Kind(
            "power",
            "a power",
            "W",
            ("hp", "kW"),
            (Unit("hp", "horsepower", "us"), Unit("W", "watt", "si"), Unit("kW", "kilowatt", "si")),
        ),
        Kind(
            "torque",
            "a torque",
            "N·m",
            ("lbf·ft", "N·m"),
            (
                Unit(
                    "lbf·ft",
                    "pound_force*foot",
                    "us",
                    ("lbf ft", "lbf*ft", "ft·lbf", "ft lbf", "lb-ft"),
                ),
                Unit("lbf·in", "pound_force*inch", "us", ("lbf in", "lbf*in", "in lbf")),
                Unit("N·m", "newton*meter", "si", ("Nm", "N m", "N*m")),
            ),
        ),
        Kind(
            "energy",
            "an energy",
            "J",
            ("ft·lbf", "kJ"),
            (
                Unit("ft·lbf", "foot*pound_force", "us", ("ft lbf", "ft*lbf")),
                Unit("J", "joule", "si"),
                Unit("kJ", "kilojoule", "si"),
                Unit("MJ", "megajoule", "si"),
            ),
        ),
        Kind(
            "inertia",
            "a moment of inertia",
            "kg·m²",
            ("lb·ft²", "kg·m²"),
            (
                Unit("lb·ft²", "pound*foot**2", "us", ("lb ft2", "lb*ft^2")),
                Unit("kg·m²", "kilogram*meter**2", "si", ("kg m2", "kg*m^2")),
            ),
        ),
        Kind(
            "mass moment",
            "a first moment of mass",
            "kg·m",
            ("lb·in", "kg·m"),
            (
                Unit("lb·in", "pound*inch", "us", ("lb in", "lb*in")),
                Unit("kg·m", "kilogram*meter", "si", ("kg m", "kg*m")),
            ),
        ),
        Kind(
            "absolute temperature",
            "an absolute temperature",
            "K",
            ("K", "K"),
            (Unit("K", "kelvin", "si"),),
        ),
        Kind(
            "temperature difference",
            "a difference of temperature",
            "K",
            ("°F", "K"),
            (Unit("°F", "delta_degF", "us"), Unit("K", "kelvin", "si")),
        ),
        Kind(
            "temperature gradient",
            "a change of temperature over height",
            "K/m",
            ("K/m", "K/m"),
            (Unit("K/m", "kelvin/meter", "si"),),
        ),
        Kind(
            "specific heat",
            "a specific heat",
            "J/(kg·K)",
            ("Btu/(lb·°F)", "J/(kg·K)"),
            (
                Unit("Btu/(lb·°F)", "Btu/pound/delta_degF", "us", ("Btu/(lb F)", "BTU/(lb·°F)")),
                Unit("J/(kg·K)", "joule/kilogram/kelvin", "si", ("J/(kg K)", "J/kg/K")),
            ),
        ),
        Kind(
            "rotation",
            "a speed of rotation",
            "rad/s",
            ("rpm", "rpm"),
            (
                Unit("rpm", "revolution/minute", "", ("r/min", "1/min")),
                Unit("rad/s", "radian/second", "si"),
            ),
        ),
        Kind(
            "angular acceleration",
            "an angular acceleration",
            "rad/s²",
            ("rad/s²", "rad/s²"),
            (Unit("rad/s²", "radian/second**2", "", ("rad/s2",)),),
        ),
        Kind(
            "stiffness",
            "a stiffness",
            "N/m",
            ("lbf/in", "N/mm"),
            (
                Unit("lbf/in", "pound_force/inch", "us"),
                Unit("lbf/ft", "pound_force/foot", "us"),
                Unit("N/m", "newton/meter", "si"),
                Unit("N/mm", "newton/millimeter", "si"),
            ),
        ),
        Kind(
            "specific volume",
            "a specific volume",
            "m³/kg",
            ("ft³/lb", "m³/kg"),
            (
                Unit("ft³/lb", "foot**3/pound", "us", ("ft3/lb",)),
                Unit("m³/kg", "meter**3/kilogram", "si", ("m3/kg",)),
            ),
        ),
        Kind(
            "specific volume slope",
            "a change of specific volume with temperature",
            "m³/(kg·K)",
            ("m³/(kg·K)", "m³/(kg·K)"),
            (Unit("m³/(kg·K)", "meter**3/kilogram/kelvin", "", ("m3/(kg K)",)),),
        ),
        Kind(
            "mass flow",
            "a mass flow",
            "kg/s",
            ("lb/min", "kg/s"),
            (
                Unit("lb/min", "pound/minute", "us"),
                Unit("lb/s", "pound/second", "us"),
                Unit("lb/h", "pound/hour", "us"),
                Unit("kg/s", "kilogram/second", "si"),
                Unit("kg/min", "kilogram/minute", "si"),
                Unit("g/s", "gram/second", "si"),
            ),
        ),
        Kind(
            "volume flow",
            "a volume flow",
            "m³/s",
            ("ft³/min", "L/min"),
            (
                Unit("ft³/min", "foot**3/minute", "us", ("ft3/min", "cfm")),
                Unit("gal/min", "gallon/minute", "us", ("gpm",)),
                Unit("L/min", "liter/minute", "si", ("l/min",)),
                Unit("L/s", "liter/second", "si", ("l/s",)),
                Unit("m³/s", "meter**3/second", "si", ("m3/s",)),
            ),
        ),
        Kind(
            "application rate",
            "an application rate",
            "m/s",
            ("gal/(min·ft²)", "L/(min·m²)"),
            (
                Unit("gal/(min·ft²)", "gallon/minute/foot**2", "us", ("gpm/ft²", "gpm/ft2")),
                Unit("L/(min·m²)", "liter/minute/meter**2", "si", ("L/min/m2", "L/min/m²")),
                Unit("m/s", "meter/second", "si"),
            ),
        ),
        Kind(
            "heat flux",
            "a heat flux",
            "W/m²",
            ("cal/(cm²·s)", "kW/m²"),
            (
                Unit(
                    "cal/(cm²·s)", "calorie/centimeter**2/second", "us", ("cal/cm2/s", "cal/cm²/s")
                ),
                Unit("kW/m²", "kilowatt/meter**2", "si", ("kW/m2",)),
                Unit("W/m²", "watt/meter**2", "si", ("W/m2",)),
            ),
        ),
        Kind(
            "heat dose",
            "heat per area",
            "J/m²",
            ("cal/cm²", "kJ/m²"),
            (
                Unit("cal/cm²", "calorie/centimeter**2", "us", ("cal/cm2",)),
                Unit("kJ/m²", "kilojoule/meter**2", "si", ("kJ/m2",)),
                Unit("J/m²", "joule/meter**2", "si", ("J/m2",)),
            ),
        ),
        Kind(
            "variance",
            "a variance of time",
            "s²",
            ("s²", "s²"),
            (Unit("s²", "second**2", "", ("s2", "s^2")),),
        ),
    )
}
