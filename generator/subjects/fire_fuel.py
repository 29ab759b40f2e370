"""The subject `fire`: whether what burns is what the shipped values of the agents were found for."""

from __future__ import annotations

from buildspec.build import Build
from buildspec.sections.vehicle import Vehicle
from buildspec.sections.vents import Vents

HYDROCARBONS = ("gasoline", "petrol", "diesel", "kerosene", "avgas", "jet fuel", "oil")
POLAR = ("methanol", "ethanol", "alcohol", "e85", "nitro", "acetone")
"""What mixes with water and collapses plain foam, and takes more of a gas than heptane does."""


def strange(build: Build) -> str:
    """What is stated to burn and is no plain hydrocarbon; "" where nothing such is.

    The shipped design concentrations come from heptane, the shipped rate of AFFF from fuels that do not mix
    with water.
    """
    vehicle, vents = build.section(Vehicle), build.section(Vents)
    energy = vehicle.energy_source if vehicle else ""
    held = [tank.fluid for tank in vents.tanks] if vents else []
    polar = next((said for said in (energy, *held) if _has(said, POLAR)), "")
    return polar or ("" if not energy or _has(energy, HYDROCARBONS) else energy)


def unstated(build: Build) -> bool:
    """Whether nobody says what burns."""
    vehicle = build.section(Vehicle)
    return not (vehicle and vehicle.energy_source)


def _has(said: str, words: tuple[str, ...]) -> bool:
    return any(word in said.lower() for word in words)
