"""The subject `fire`: how much volume a gaseous agent fills, and the concentration that a mass of it gives."""

from __future__ import annotations

from buildspec.quantities import Quantity
from generator.formulas import fire as f
from generator.formulas.air import ZERO_CELSIUS
from generator.formulas.formula import Formula
from generator.subjects.fire_records import Supply
from generator.vocabulary import WorkedStep
from generator.work import work


def constants(temperature: Quantity, supply: Supply) -> dict[str, Quantity]:
    """What the specific vapour volume follows from, by the names of `concentration`'s arguments."""
    known = supply.properties.decides
    return {"k1": known["k1"], "k2": known["k2"], "temperature": temperature}


def specific(temperature: Quantity, when: str, supply: Supply) -> WorkedStep:
    """The agent's specific vapour volume at a temperature, worked."""
    known = supply.properties.decides
    return work(
        f.specific_volume,
        f"{supply.id}.specific_volume_{when}",
        f"{supply.title}: specific vapour volume when {when}",
        k1=known["k1"],
        k2=known["k2"],
        temperature=temperature,
        zero=ZERO_CELSIUS,
    )


def concentration_formula(supply: Supply) -> Formula[..., float]:
    """The formula of the agent's kind."""
    inert = supply.properties.agent.kind == "inert"
    return f.inert_concentration if inert else f.halocarbon_concentration


def concentration(
    supply: Supply,
    factor: float,
    *,
    mass: float,
    volume: float,
    k1: float,
    k2: float,
    temperature: float,
) -> float:
    """Concentration that a mass in kg gives in a volume in m³, in K and in air of `factor` times sea level's
    pressure.
    """
    s = f.specific_volume(k1=k1, k2=k2, temperature=temperature, zero=ZERO_CELSIUS)
    formula = concentration_formula(supply)
    return formula(mass=mass, specific_volume=s, factor=factor, volume=volume)
