"""Brakes: what a stop asks of them, and how warm they get."""

from __future__ import annotations

from generator.formulas.formula import Symbol, formula


@formula(
    equation=r"E = \frac{m v^2}{2}",
    result=Symbol("E", "energy", "kinetic energy"),
    source="definition",
    mass=Symbol("m", "mass", "mass with the rotating parts"),
    speed=Symbol("v", "speed", "speed"),
)
def kinetic_energy(*, mass: float, speed: float) -> float:
    """Kinetic energy in J of a mass in kg at a speed in m/s."""
    return 0.5 * mass * speed * speed


@formula(
    equation=r"\Delta_{T} = \frac{E}{m_{r} c}",
    result=Symbol(r"\Delta_{T}", "temperature difference", "rise of the rotors' mean temperature"),
    source="heat balance of one stop, nothing lost to the air: common practice",
    energy=Symbol("E", "energy", "heat into the rotors"),
    rotors=Symbol("m_{r}", "mass", "mass of the rotors"),
    heat=Symbol("c", "specific heat", "specific heat of the rotors"),
)
def temperature_rise(*, energy: float, rotors: float, heat: float) -> float:
    """Rise in K of the rotors' mean temperature; the surface gets hotter."""
    return energy / (rotors * heat)


@formula(
    equation=r"F_{b} = \frac{M_{b}}{r}",
    result=Symbol("F_{b}", "force", "braking force that the brakes' torque gives"),
    source="statics of a wheel",
    torque=Symbol("M_{b}", "torque", "greatest torque of all brakes together"),
    radius=Symbol("r", "length", "rolling radius of the braked wheels"),
)
def brake_force(*, torque: float, radius: float) -> float:
    """Retarding force in N at the ground that the brakes can give."""
    return torque / radius
