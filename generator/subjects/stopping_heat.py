"""How warm the rotors get by the heat of a stop, and how warm they may get."""

from __future__ import annotations

from collections.abc import Iterable

from buildspec.quantities import Quantity
from generator.spread import NOWHERE, Shift, at, sources, spread
from generator.subjects.air import Detail as AirDetail
from generator.subjects.stopping_cases import Setting

Axle = tuple[float, float]
"""The share of the brakes' heat that the rotors of an axle take, and the share of all rotors' mass that they are."""


def axles(setting: Setting, shift: Shift = NOWHERE) -> tuple[Axle, ...]:
    """The braked axles, the front one first where both are braked.

    The wheels turn alike, so that the heat is shared as the torque is. Where the front rotors' mass is
    not stated, every braked wheel's rotor is taken to be alike.
    """
    brakes, balance = setting.section.brakes, setting.balance(shift)
    if brakes is None or balance is None or not all(setting.braked):
        return ((1.0, 1.0),)
    if brakes.front_rotor_mass and brakes.rotor_mass:
        known = at(brakes.front_rotor_mass, shift) / at(brakes.rotor_mass, shift)
        front = min(max(known, 0.01), 0.99)  # a wide spread may leave one axle nothing
    else:
        front = setting.braked_in_front
    return (balance, front), (1.0 - balance, 1.0 - front)


def hottest(setting: Setting, shift: Shift = NOWHERE) -> int:
    """The number of the braked axle whose rotors get hottest."""
    shares = axles(setting, shift)
    return max(range(len(shares)), key=lambda n: shares[n][0] / shares[n][1])


def stated(setting: Setting) -> tuple[Quantity, ...]:
    """What the description says of the rotors' heat."""
    b = setting.section.brakes
    if b is None:
        return ()
    every = (b.rotor_mass, b.specific_heat)
    shared = (b.front_share, b.front_rotor_mass) if all(setting.braked) else ()
    return tuple(q for q in (*every, *shared) if q)


def per_joule(setting: Setting, shift: Shift = NOWHERE) -> float | None:
    """The rise in K of the hottest rotors by a joule into all brakes; None where mass or heat is not stated."""
    brakes = setting.section.brakes
    if brakes is None or not (brakes.rotor_mass and brakes.specific_heat):
        return None
    heat, mass = axles(setting, shift)[hottest(setting, shift)]
    return heat / (mass * at(brakes.rotor_mass, shift) * at(brakes.specific_heat, shift))


def doubt(setting: Setting) -> float:
    """Standard uncertainty of `per_joule`, K/J; 0 where there is none."""
    return spread(lambda shift: per_joule(setting, shift) or 0.0, sources(stated(setting)))


def room(setting: Setting) -> float | None:
    """From the air's temperature to the greatest one of the rotors, K; None where none is stated."""
    brakes, air = setting.section.brakes, setting.of.air.detail
    if brakes is None or brakes.most_temperature is None or not isinstance(air, AirDetail):
        return None
    return brakes.most_temperature.si - air.temperature


def most_heat(setting: Setting) -> float | None:
    """The heat in J that takes the hottest rotors from the air's temperature to their greatest; None: unknown."""
    left, rise = room(setting), per_joule(setting)
    return left / rise if left is not None and rise else None


def limits(setting: Setting) -> Iterable[Quantity]:
    """What the description says of how warm the rotors may get."""
    brakes = setting.section.brakes
    return (q for q in (brakes.most_temperature, brakes.cooled_to) if q) if brakes else ()


def named(setting: Setting) -> str:
    """Which rotors get hottest, in words."""
    return ("front", "rear")[hottest(setting)] + " rotors" if len(axles(setting)) > 1 else "rotors"
