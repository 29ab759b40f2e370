"""Straight-line motion: drag, rolling resistance, thrust, axle loads, and the closed forms.

The closed forms are what the stepped integration is tested against; those that a page shows
stand here as formulas, in SI.
"""

from __future__ import annotations

import math

import numpy as np

from generator.formulas.formula import Symbol, formula

PARTICLE = "Newton's second law for a mass point"
STATICS = "statics of a rigid body on two axles, moments about the other axle's contact line"

DENSITY = Symbol(r"\rho", "density", "air density")
MASS = Symbol("m", "mass", "mass")
GRAVITY = Symbol("g", "acceleration", "standard gravity")
WHEELBASE = Symbol("l", "length", "wheelbase")
DRAG_AREA = Symbol("A_{D}", "area", "drag area, drag coefficient × frontal area")


@formula(
    equation=r"D = q A_{D}",
    result=Symbol("D", "force", "drag"),
    source="definition of the drag area",
    pressure=Symbol("q", "pressure", "dynamic pressure"),
    drag_area=DRAG_AREA,
)
def drag(*, pressure: float, drag_area: float) -> float:
    """Drag in N at a dynamic pressure in Pa; the drag area is C_D times its reference area, m²."""
    return pressure * drag_area


@formula(
    equation=r"A_{D} = C_{D} A",
    result=DRAG_AREA,
    source="definition of the drag coefficient",
    coefficient=Symbol("C_{D}", "ratio", "drag coefficient on the frontal area", 0.0, 2.0),
    area=Symbol("A", "area", "frontal area"),
)
def drag_area(*, coefficient: float, area: float) -> float:
    """Drag area in m² from a coefficient and the frontal area it is based on."""
    return coefficient * area


@formula(
    equation=r"f_{R} = f_{0} (1 + \frac{v}{v_{2}})",
    result=Symbol("f_{R}", "ratio", "rolling resistance coefficient"),
    source="linear law, common practice; valid as far as the one who states it says",
    base=Symbol("f_{0}", "ratio", "coefficient at standstill"),
    speed=Symbol("v", "speed", "speed"),
    doubling=Symbol("v_{2}", "speed", "speed at which it has doubled"),
)
def rolling_coefficient(*, base: float, speed: float, doubling: float) -> float:
    """Rolling resistance over wheel load; grows in proportion to speed in m/s."""
    return base * (1.0 + speed / doubling)


@formula(
    equation=r"R = f_{R} (m g - L_{f} - L_{r})",
    result=Symbol("R", "force", "rolling resistance"),
    source="definition of the coefficient, on the load that lift leaves",
    coefficient=Symbol("f_{R}", "ratio", "rolling resistance coefficient"),
    mass=MASS,
    gravity=GRAVITY,
    front_lift=Symbol("L_{f}", "force", "lift at the front axle, up positive"),
    rear_lift=Symbol("L_{r}", "force", "lift at the rear axle, up positive"),
)
def rolling_resistance(
    *, coefficient: float, mass: float, gravity: float, front_lift: float, rear_lift: float
) -> float:
    """Rolling resistance in N of all wheels together."""
    return coefficient * (mass * gravity - front_lift - rear_lift)


@formula(
    equation=r"F_{P} = \frac{P}{v}",
    result=Symbol("F_{P}", "force", "thrust that the power gives"),
    source="definition of power",
    power=Symbol("P", "power", "power at the wheels"),
    speed=Symbol("v", "speed", "speed over ground"),
)
def power_thrust(*, power: float, speed: float) -> float:
    """Thrust in N at the driven wheels at a speed above zero, m/s; no slip."""
    return power / speed


@formula(
    equation=r"F_{E} = \frac{\eta M i_{g} i_{f}}{r}",
    result=Symbol("F_{E}", "force", "thrust that the engine gives"),
    source="statics of a gear train with losses",
    efficiency=Symbol(r"\eta", "share", "driveline efficiency", 0.0, 1.0),
    torque=Symbol("M", "torque", "engine torque"),
    gear=Symbol("i_{g}", "ratio", "gear ratio"),
    final=Symbol("i_{f}", "ratio", "final drive ratio"),
    radius=Symbol("r", "length", "rolling radius"),
)
def engine_thrust(
    *, efficiency: float, torque: float, gear: float, final: float, radius: float
) -> float:
    """Thrust in N at the driven wheels from engine torque in N·m; no slip."""
    return efficiency * torque * gear * final / radius


@formula(
    equation=r"v = \frac{\omega r}{i_{g} i_{f}}",
    result=Symbol("v", "speed", "speed over ground"),
    source="kinematics of rolling without slip",
    rotation=Symbol(r"\omega", "rotation", "engine speed"),
    radius=Symbol("r", "length", "rolling radius"),
    gear=Symbol("i_{g}", "ratio", "gear ratio"),
    final=Symbol("i_{f}", "ratio", "final drive ratio"),
)
def road_speed(*, rotation: float, radius: float, gear: float, final: float) -> float:
    """Speed in m/s at an engine speed in rad/s in a gear; no slip, no tire growth."""
    return rotation * radius / (gear * final)


@formula(
    equation=r"m_{e} = m + \frac{J_{w}}{r^2} + J_{e} (\frac{i_{g} i_{f}}{r})^2",
    result=Symbol("m_{e}", "mass", "mass with the rotating parts"),
    source="kinetic energy of translation and rotation, rolling without slip",
    mass=MASS,
    wheels=Symbol("J_{w}", "inertia", "moment of inertia of all wheels together"),
    radius=Symbol("r", "length", "rolling radius"),
    engine=Symbol("J_{e}", "inertia", "moment of inertia of the engine"),
    gear=Symbol("i_{g}", "ratio", "gear ratio"),
    final=Symbol("i_{f}", "ratio", "final drive ratio"),
)
def equivalent_mass(
    *, mass: float, wheels: float, radius: float, engine: float, gear: float, final: float
) -> float:
    """Mass in kg that would need the same force for the same acceleration."""
    overall: float = gear * final / radius
    return mass + wheels / (radius * radius) + engine * (overall * overall)


@formula(
    equation=r"N_{r} = \frac{m g a + D h_{D} + m a_{x} h}{l} - L_{r}",
    result=Symbol("N_{r}", "force", "load on the rear axle"),
    source=STATICS,
    mass=MASS,
    gravity=GRAVITY,
    arm=Symbol("a", "length", "CG behind the front axle"),
    drag=Symbol("D", "force", "drag"),
    drag_height=Symbol("h_{D}", "length", "height the drag acts at"),
    acceleration=Symbol("a_{x}", "acceleration", "forward acceleration"),
    height=Symbol("h", "length", "CG height"),
    wheelbase=WHEELBASE,
    lift=Symbol("L_{r}", "force", "lift at the rear axle, up positive"),
)
def rear_load(
    *,
    mass: float,
    gravity: float,
    arm: float,
    drag: float,
    drag_height: float,
    acceleration: float,
    height: float,
    wheelbase: float,
    lift: float,
) -> float:
    """Load in N on the rear axle; tire forces act at the ground. Negative: the axle would lift."""
    moment = mass * gravity * arm + drag * drag_height + mass * acceleration * height
    return moment / wheelbase - lift


@formula(
    equation=r"N_{P} = \frac{P h_{P} - U x_{P}}{l}",
    result=Symbol("N_{P}", "force", "load that a parachute's pull adds to the rear axle"),
    source=STATICS,
    pull=Symbol("P", "force", "parachute pull, aft"),
    height=Symbol("h_{P}", "length", "height the pull acts at"),
    upward=Symbol("U", "force", "upward part of the parachute pull"),
    station=Symbol("x_{P}", "length", "where the pull acts, behind the front axle"),
    wheelbase=WHEELBASE,
)
def pull_on_rear_axle(
    *, pull: float, height: float, upward: float, station: float, wheelbase: float
) -> float:
    """Load in N that a pull adds to the rear axle, the deceleration it causes left out."""
    return (pull * height - upward * station) / wheelbase


@formula(
    equation=r"N_{f} = m g - L_{f} - L_{r} - N_{r}",
    result=Symbol("N_{f}", "force", "load on the front axle"),
    source="vertical equilibrium",
    mass=MASS,
    gravity=GRAVITY,
    front_lift=Symbol("L_{f}", "force", "lift at the front axle, up positive"),
    rear_lift=Symbol("L_{r}", "force", "lift at the rear axle, up positive"),
    rear=Symbol("N_{r}", "force", "load on the rear axle"),
)
def front_load(
    *, mass: float, gravity: float, front_lift: float, rear_lift: float, rear: float
) -> float:
    """Load in N on the front axle. Negative: the axle would lift."""
    return mass * gravity - front_lift - rear_lift - rear


@formula(
    equation=r"F_{T} = \mu N_{d}",
    result=Symbol("F_{T}", "force", "thrust the surface can hold"),
    source="Coulomb friction, common practice",
    friction=Symbol(r"\mu", "ratio", "friction coefficient of tire and surface", 0.0, 1.5),
    load=Symbol("N_{d}", "force", "load on the driven wheels"),
)
def traction(*, friction: float, load: float) -> float:
    """Greatest thrust in N that the driven wheels can pass to the surface."""
    return friction * load


@formula(
    equation=r"v = (\frac{2 P}{\rho A_{D}})^{\frac{1}{3}}",
    result=Symbol("v", "speed", "terminal speed with drag alone"),
    source="power balance at constant speed",
    power=Symbol("P", "power", "power at the wheels"),
    density=DENSITY,
    drag_area=DRAG_AREA,
)
def terminal_speed(*, power: float, density: float, drag_area: float) -> float:
    """Speed in m/s at which drag alone takes all the power: an upper bound of the top speed."""
    speed: float = (2.0 * power / (density * drag_area)) ** (1.0 / 3.0)
    return speed


@formula(
    equation=r"v_{m} = \frac{2}{\frac{1}{v_{1}} + \frac{1}{v_{2}}}",
    result=Symbol("v_{m}", "speed", "average of two runs"),
    source="distance over time, both runs over the same distance: the harmonic mean",
    first=Symbol("v_{1}", "speed", "average of the run out"),
    second=Symbol("v_{2}", "speed", "average of the run back"),
)
def two_way(*, first: float, second: float) -> float:
    """Average speed in m/s of two runs over one distance: total distance over total time."""
    return 2.0 / (1.0 / first + 1.0 / second)


@formula(
    equation=r"x = \frac{m}{\rho A_{D}} \ln(1 + \frac{\rho A_{D} v^2}{2 F})",
    result=Symbol("x", "distance", "distance to a standstill"),
    source=PARTICLE + ", drag with the square of the speed and a constant force",
    mass=MASS,
    density=DENSITY,
    drag_area=DRAG_AREA,
    speed=Symbol("v", "speed", "speed at the beginning"),
    force=Symbol("F", "force", "constant retarding force"),
)
def stopping_distance(
    *, mass: float, density: float, drag_area: float, speed: float, force: float
) -> float:
    """Distance in m from a speed to a standstill under drag and a constant force above zero."""
    drag_term = density * drag_area
    ratio = 1.0 + drag_term * speed * speed / (2.0 * force)
    return mass / drag_term * np.log(ratio)  # type: ignore[no-any-return]


@formula(
    equation=r"x = \frac{2 m}{\rho A_{D}} \ln(\frac{v_{1}}{v_{2}})",
    result=Symbol("x", "distance", "coasting distance"),
    source=PARTICLE + ", drag with the square of the speed",
    mass=MASS,
    density=DENSITY,
    drag_area=DRAG_AREA,
    first=Symbol("v_{1}", "speed", "speed at the beginning"),
    last=Symbol("v_{2}", "speed", "speed at the end"),
)
def coast_distance(
    *, mass: float, density: float, drag_area: float, first: float, last: float
) -> float:
    """Distance in m in which drag alone slows a mass from one speed to another."""
    return 2.0 * mass / (density * drag_area) * np.log(first / last)  # type: ignore[no-any-return]


def coast_time(
    *, mass: float, density: float, drag_area: float, first: float, last: float
) -> float:
    """Time in s in which drag alone slows a mass from one speed to another, m/s.

    t = (m/k)(1/v₂ − 1/v₁), k = ρ A_D/2. Source: Newton's second law.
    """
    return 2.0 * mass / (density * drag_area) * (1.0 / last - 1.0 / first)


def stopping_time(
    *, mass: float, density: float, drag_area: float, speed: float, force: float
) -> float:
    """Time in s to a standstill under drag and a constant force F in N.

    t = m/√(kF) · atan(v √(k/F)), k = ρ A_D/2. Source: Newton's second law.
    """
    k = 0.5 * density * drag_area
    return mass / math.sqrt(k * force) * math.atan(speed * math.sqrt(k / force))


def constant_power_distance(
    *, mass: float, density: float, drag_area: float, power: float, first: float, last: float
) -> float:
    """Distance in m from speed to speed at constant power against drag, below terminal speed.

    x = m/(3k) ln[(P − k v₁³)/(P − k v₂³)], k = ρ A_D/2. Source: Newton's second law.
    """
    k = 0.5 * density * drag_area
    return mass / (3.0 * k) * math.log((power - k * first**3) / (power - k * last**3))


def constant_power_time(
    *, mass: float, density: float, drag_area: float, power: float, first: float, last: float
) -> float:
    """Time in s from speed to speed at constant power against drag, below terminal speed.

    t = (m v_t²/P)[G(v₂/v_t) − G(v₁/v_t)] with
    G(u) = ln[(1 + u + u²)/(1 − u)²]/6 − atan((2u + 1)/√3)/√3. Source: Newton's second law.
    """
    terminal = terminal_speed(power=power, density=density, drag_area=drag_area)
    scale = mass * terminal**2 / power
    return scale * (_power_time(last / terminal) - _power_time(first / terminal))


def _power_time(u: float) -> float:
    root = math.sqrt(3.0)
    return (
        math.log((1.0 + u + u * u) / (1.0 - u) ** 2) / 6.0
        - math.atan((2.0 * u + 1.0) / root) / root
    )
