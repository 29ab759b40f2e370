"""Fire suppression: agent masses and concentrations, what is left after a while, foam, weighing.

A gaseous agent fills a zone by volume: the mass of it that gives a concentration follows from its
specific vapour
volume at the zone's temperature. Halocarbons are reckoned without loss of mixture, inert gases with
the free escape of mixture that their pressure drives. All of it describes a zone mixed evenly; near
a nozzle
there is more, in a corner less.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from generator.formulas.formula import Symbol, formula

Array = NDArray[np.float64]

ISO_14520 = (
    "ISO 14520-1 / EN 15004-1, total flooding quantity (read in its European edition's agent parts)"
)
NFPA_2001 = "NFPA 2001, 5.5 (equation read in a maker's manual)"
BALANCE = "mass balance of an evenly mixed zone with a constant flow of air through it"
OXYGEN_IN_AIR = 0.209
"""Volume share of oxygen in dry air; a maker's manual for inert gases reckons with the same figure.
"""

_VOLUME = Symbol("V", "volume", "net volume of the zone", least=0.0)
_SPECIFIC = Symbol("s", "specific volume", "specific vapour volume of the agent", least=0.0)
_PRESSURE_FACTOR = Symbol("F", "ratio", "air pressure over that at sea level", 0.5, 1.11)
_CONCENTRATION = Symbol("C", "share", "concentration by volume", 0.0, 0.99)
_MASS = Symbol("m", "mass", "mass of agent in the zone", least=0.0)
_FLOW = Symbol("Q", "volume flow", "air that passes through the zone", least=0.0)


@formula(
    equation=r"s = k_{1} + k_{2} (T - T_{0})",
    result=_SPECIFIC,
    source=ISO_14520 + "; the constants are the agent's own",
    k1=Symbol("k_{1}", "specific volume", "specific vapour volume at 0 °C"),
    k2=Symbol("k_{2}", "specific volume slope", "its rise with temperature"),
    temperature=Symbol("T", "absolute temperature", "temperature of the zone", 233.15, 373.15),
    zero=Symbol("T_{0}", "absolute temperature", "0 °C"),
)
def specific_volume(*, k1: float, k2: float, temperature: float, zero: float) -> float:
    """Specific volume of an agent's superheated vapour at 1.013 bar, m³/kg.

    A straight line fitted by the agent's standard, good to some 0.4 % from −40 to 100 °C;
    temperatures in K.
    Below an agent's boiling point it holds for the vapour in a mixture with air only.
    """
    return k1 + k2 * (temperature - zero)


@formula(
    equation=r"F = \frac{p}{p_{0}}",
    result=_PRESSURE_FACTOR,
    source=NFPA_2001 + ", altitude correction",
    pressure=Symbol("p", "pressure", "air pressure at the place"),
    sea_level=Symbol("p_{0}", "pressure", "air pressure at sea level"),
)
def pressure_factor(*, pressure: float, sea_level: float) -> float:
    """Correction of an agent's mass for the air pressure: thinner air takes less agent for the same
    share.
    """
    return pressure / sea_level


@formula(
    equation=r"W = \frac{F V}{s} \frac{C}{1 - C}",
    result=Symbol("W", "mass", "mass of agent needed"),
    source=f"{NFPA_2001}; {ISO_14520}",
    factor=_PRESSURE_FACTOR,
    volume=_VOLUME,
    specific_volume=_SPECIFIC,
    concentration=_CONCENTRATION,
)
def halocarbon_mass(
    *, factor: float, volume: float, specific_volume: float, concentration: float
) -> float:
    """Mass of a halocarbon that gives a concentration, kg; m³, m³/kg, shares of 1, C < 1."""
    return factor * volume / specific_volume * concentration / (1.0 - concentration)


@formula(
    equation=r"W = \frac{F V}{s} \ln{\frac{1}{1 - C}}",
    result=Symbol("W", "mass", "mass of agent needed"),
    source=f"{NFPA_2001}; {ISO_14520}; free escape of the mixture during the discharge",
    factor=_PRESSURE_FACTOR,
    volume=_VOLUME,
    specific_volume=_SPECIFIC,
    concentration=_CONCENTRATION,
)
def inert_mass(
    *, factor: float, volume: float, specific_volume: float, concentration: float
) -> float:
    """Mass of an inert gas that gives a concentration, kg; m³, m³/kg, shares of 1, C < 1."""
    return factor * volume / specific_volume * np.log(1.0 / (1.0 - concentration))  # type: ignore[no-any-return]


@formula(
    equation=r"C = \frac{m s}{m s + F V}",
    result=_CONCENTRATION,
    source="the flooding mass solved for the concentration",
    mass=_MASS,
    specific_volume=_SPECIFIC,
    factor=_PRESSURE_FACTOR,
    volume=_VOLUME,
)
def halocarbon_concentration(
    *, mass: float, specific_volume: float, factor: float, volume: float
) -> float:
    """Concentration by volume that a mass of halocarbon gives, evenly mixed, share of 1."""
    return mass * specific_volume / (mass * specific_volume + factor * volume)


@formula(
    equation=r"C = 1 - \exp(-\frac{m s}{F V})",
    result=_CONCENTRATION,
    source="the flooding mass of an inert gas solved for the concentration",
    mass=_MASS,
    specific_volume=_SPECIFIC,
    factor=_PRESSURE_FACTOR,
    volume=_VOLUME,
)
def inert_concentration(
    *, mass: float, specific_volume: float, factor: float, volume: float
) -> float:
    """Concentration by volume that a mass of inert gas gives with free escape of the mixture, share
    of 1.
    """
    return 1.0 - np.exp(-mass * specific_volume / (factor * volume))  # type: ignore[no-any-return]


@formula(
    equation=r"m_{e} = \sum_{i}{m_i \frac{V}{Q t_i} (1 - \exp(-\frac{Q t_i}{V})) \exp(-\frac{Q (t_{l} - t_i)}{V})}",
    result=Symbol("m_{e}", "mass", "mass of agent in the zone when the last discharge ends"),
    source=BALANCE + ", each bottle's agent entering at a constant rate from the release on",
    masses=Symbol(
        "m_i", "mass", "agent that bottle i discharges into the zone", least=0.0, each=True
    ),
    durations=Symbol("t_i", "time", "discharge time of bottle i", least=0.0, each=True),
    volume=_VOLUME,
    flow=_FLOW,
    longest=Symbol("t_{l}", "time", "the longest discharge time", least=0.0),
)
def left_at_end(
    *, masses: Array, durations: Array, volume: float, flow: float, longest: float
) -> float:
    """Agent still in a zone with a draught when its last discharge ends, kg.

    Masses in kg and times in s > 0, equally long; flow m³/s > 0. What a quick bottle brought is
    carried off while a slow one still discharges.
    """
    each = masses * volume / (flow * durations) * (1.0 - np.exp(-flow * durations / volume))
    return np.sum(each * np.exp(-flow * (longest - durations) / volume))


@formula(
    equation=r"C_{1} = \frac{q}{q + Q} + (C_0 - \frac{q}{q + Q}) \exp(-\frac{(q + Q) t}{V})",
    result=Symbol("C_{1}", "share", "concentration by volume at the end of this part"),
    source=BALANCE
    + ", the mixture pushed out by the gas itself as well as carried off by the draught",
    before=Symbol("C_0", "share", "concentration when this part begins", least=0.0, most=1.0),
    inflow=Symbol("q", "volume flow", "gas that enters, as a volume in the zone", least=0.0),
    flow=_FLOW,
    volume=_VOLUME,
    time=Symbol("t", "time", "how long this part lasts", least=0.0),
)
def reached_in_draught(
    *, before: float, inflow: float, flow: float, volume: float, time: float
) -> float:
    """Concentration by volume, share of 1, that a gas entering a draughty zone at a constant rate reaches.

    What enters pushes as much of the mixture out: V dC/dt = q − (q + Q) C. Flows m³/s, q + Q > 0.
    """
    settled = inflow / (inflow + flow)
    return settled + (before - settled) * np.exp(-(inflow + flow) * time / volume)  # type: ignore[no-any-return]


@formula(
    equation=r"t_{h} = \frac{V}{Q} \ln{\frac{C_{e}}{C}}",
    result=Symbol("t_{h}", "time", "time after the discharge until too little agent is left"),
    source=BALANCE,
    volume=_VOLUME,
    flow=_FLOW,
    reached=Symbol("C_{e}", "share", "concentration when the last discharge ends", 0.0, 0.99),
    design=_CONCENTRATION,
)
def hold_time(*, volume: float, flow: float, reached: float, design: float) -> float:
    """How long the concentration stays above the design's, s; negative where it never reached it.

    Air that passes thins the concentration, not the mass that a flooding formula asks for: that one
    grows faster than the concentration, most of all for an inert gas.
    """
    return volume / flow * np.log(reached / design)  # type: ignore[no-any-return]


@formula(
    equation=r"x = x_{0} (1 - C)",
    result=Symbol("x", "share", "oxygen in the mixture by volume"),
    source="dilution of air",
    air=Symbol("x_{0}", "share", "oxygen in air by volume"),
    concentration=_CONCENTRATION,
)
def oxygen(*, air: float, concentration: float) -> float:
    """Oxygen that is left in a mixture with an agent, share of 1. What the fire itself uses is not
    in it.
    """
    return air * (1.0 - concentration)


@formula(
    equation=r"x_{s} = x F",
    result=Symbol("x_{s}", "share", "share at sea level that gives people as much oxygen"),
    source="Dalton's law: people take up oxygen by its own pressure, and the limits hold for sea level",
    share=Symbol("x", "share", "oxygen in the mixture by volume"),
    factor=_PRESSURE_FACTOR,
)
def sea_level_oxygen(*, share: float, factor: float) -> float:
    """Oxygen as a share of 1 of air at sea level; F is the air pressure over that at sea level."""
    return share * factor


@formula(
    equation=r"C_{p} = \frac{p_{v}}{p}",
    result=Symbol("C_{p}", "share", "highest concentration that the vapour pressure allows"),
    source="Dalton's law: no vapour exceeds its saturation pressure",
    vapour=Symbol("p_{v}", "pressure", "vapour pressure of the agent at the zone's temperature"),
    pressure=Symbol("p", "pressure", "air pressure at the place"),
)
def vapour_ceiling(*, vapour: float, pressure: float) -> float:
    """Highest concentration a vapour reaches at a temperature, whatever the mass; over 1 it does
    not bind.
    """
    return vapour / pressure


@formula(
    equation=r"W = \frac{V}{f} k_{m}",
    result=Symbol("W", "mass", "mass of carbon dioxide needed"),
    source="46 CFR 108.439 (supply factors) and the material conversion factor of the SFPE "
    "Handbook",
    volume=_VOLUME,
    supply_factor=Symbol("f", "specific volume", "volume that a unit of mass protects", least=0.0),
    conversion=Symbol("k_{m}", "ratio", "material conversion factor", 1.0, 5.0),
)
def carbon_dioxide_mass(*, volume: float, supply_factor: float, conversion: float) -> float:
    """Mass of carbon dioxide for an enclosed zone without people, kg; m³, m³/kg."""
    return volume / supply_factor * conversion


@formula(
    equation=r"k_{m} = 2.41 \ln{\frac{1}{1 - C}}",
    result=Symbol("k_{m}", "ratio", "material conversion factor"),
    source="SFPE Handbook, equation 45.12; 1 at the least design concentration of 34 %",
    concentration=Symbol("C", "share", "design concentration", 0.34, 0.8),
)
def conversion_factor(*, concentration: float) -> float:
    """How much more carbon dioxide a higher design concentration takes than 34 % does; C from 0.34."""
    return 2.41 * np.log(1.0 / (1.0 - concentration))  # type: ignore[no-any-return]


@formula(
    equation=r"R = \frac{V_{f}}{A t}",
    result=Symbol("R", "application rate", "volume of solution per area and time"),
    source="definition of an application rate",
    volume=Symbol("V_{f}", "liquid volume", "volume of foam solution into the zone", least=0.0),
    area=Symbol("A", "area", "area to cover", least=0.0),
    duration=Symbol("t", "time", "discharge time", least=0.0),
)
def application_rate(*, volume: float, area: float, duration: float) -> float:
    """Rate at which foam solution reaches an area, m³/(m²·s); m³, m² > 0, s > 0."""
    return volume / (area * duration)


@formula(
    equation=r"c = \frac{m}{V}",
    result=Symbol("c", "density", "mass of agent per volume of the zone"),
    source="definition",
    mass=_MASS,
    volume=_VOLUME,
)
def mass_per_volume(*, mass: float, volume: float) -> float:
    """Mass of a powder or other agent per volume of the zone, kg/m³."""
    return mass / volume


@formula(
    equation=r"m = m_{g} - m_{t}",
    result=_MASS,
    source="definition of gross and tare",
    gross=Symbol("m_{g}", "mass", "mass of the full bottle", least=0.0),
    tare=Symbol("m_{t}", "mass", "mass of the empty bottle with its valve", least=0.0),
)
def weighed_agent(*, gross: float, tare: float) -> float:
    """Agent in a bottle by weighing, kg."""
    return gross - tare


@formula(
    equation=r"m = \sum_{i}{m_i a_i}",
    result=_MASS,
    source="the nozzles' shares of their bottles",
    masses=Symbol(
        "m_i", "mass", "agent in the bottle that nozzle i belongs to", least=0.0, each=True
    ),
    shares=Symbol("a_i", "share", "share of it that nozzle i delivers", 0.0, 1.0, each=True),
)
def delivered(*, masses: Array, shares: Array) -> float:
    """Agent that a zone's nozzles deliver together, kg; masses in kg, shares of 1, equally long."""
    return np.sum(masses * shares)


@formula(
    equation=r"V_{f} = \sum_{i}{V_i a_i}",
    result=Symbol("V_{f}", "liquid volume", "volume of foam solution into the zone"),
    source="the nozzles' shares of their bottles",
    volumes=Symbol(
        "V_i",
        "liquid volume",
        "solution in the bottle that nozzle i belongs to",
        least=0.0,
        each=True,
    ),
    shares=Symbol("a_i", "share", "share of it that nozzle i delivers", 0.0, 1.0, each=True),
)
def delivered_volume(*, volumes: Array, shares: Array) -> float:
    """Foam solution that a zone's nozzles deliver together, m³."""
    return np.sum(volumes * shares)


def saturation_pressure(
    *, rows: tuple[tuple[float, float], ...], temperature: float
) -> float | None:
    """Vapour pressure in Pa at `temperature` in K, between the rows (K, Pa) of a table; None beyond
    them.

    The logarithm of the pressure is taken as straight over the reciprocal of the temperature
    between two rows, as the
    Clausius–Clapeyron relation has it for a constant heat of vaporisation.
    """
    first, last = rows[0][0], rows[-1][0]
    if not first <= temperature <= last:
        return None
    at = [1.0 / t for t, _ in reversed(rows)]
    return float(np.exp(np.interp(1.0 / temperature, at, [np.log(p) for _, p in reversed(rows)])))


SUPPLY_BANDS: tuple[tuple[float, float], ...] = (
    (500.0, 15.0),
    (1600.0, 16.0),
    (4500.0, 18.0),
    (50_000.0, 20.0),
)
"""Carbon dioxide: volumes up to (ft³) and the volume a pound protects (ft³/lb); beyond them 22. 46
CFR 108.439.
"""
CUBIC_FOOT_PER_POUND = 0.3048**3 / 0.45359237


def supply_factor(*, volume: float) -> float:
    """Volume that a kilogram of carbon dioxide protects, m³/kg, for a zone's volume in m³. 46 CFR
    108.439.
    """
    cubic_feet = volume / 0.3048**3
    band = next((f for most, f in SUPPLY_BANDS if cubic_feet <= most), 22.0)
    return band * CUBIC_FOOT_PER_POUND
