"""The worked steps of the subject `stopping`: energy, brakes, and a closed form beside the integration."""

from __future__ import annotations

from buildspec.quantities import Quantity
from buildspec.sections.stopping import Brakes
from generator.formulas import motion
from generator.formulas import stopping as f
from generator.run.car import braking, forces
from generator.subjects import stopping_heat as heat_of
from generator.subjects.run_model import has_radius
from generator.subjects.stopping_cases import Setting, Tried, brake_radius, vehicle
from generator.subjects.stopping_records import CaseLine
from generator.vocabulary import WorkedStep
from generator.work import work


def steps(works: CaseLine, hottest: Tried) -> tuple[WorkedStep, ...]:
    """Energy at the beginning, the brakes' force, their closed-form distance, and the heat of the hottest case."""
    setting = works.setting
    energy = work(
        f.kinetic_energy,
        "stopping.step.energy",
        "Energy at the end of the timed sections",
        mass=vehicle(setting)[2],
        speed=setting.speed,
        note=f"Loaded as it goes farthest: {setting.state}. The mass counts the turning wheels.",
    )
    brakes = setting.section.brakes
    if brakes is None or not has_radius(setting.of):
        return (energy,)
    found = [energy, *_on_brakes(setting, brakes)]
    if brakes.rotor_mass and brakes.specific_heat:
        found.append(_rise(hottest, brakes.rotor_mass, brakes.specific_heat))
    return tuple(found)


def _rise(hottest: Tried, rotors: Quantity, heat: Quantity) -> WorkedStep:
    """The rise of the rotors that get hottest, by their part of the heat."""
    setting = hottest.setting
    taken, mass = heat_of.axles(setting)[heat_of.hottest(setting)]
    shared = (
        f" These rotors take {taken:.0%} of the heat and are {mass:.0%} of the mass."
        if taken < 1
        else ""
    )
    way = f"the run {setting.way}, " if setting.way else ""
    return work(
        f.temperature_rise,
        "stopping.step.rise",
        f"Rise of the {heat_of.named(setting)} in the hottest case",
        energy=taken * hottest.stop.brake_energy,
        rotors=rotors if mass == 1.0 else mass * rotors.si,
        heat=heat,
        note=f"{hottest.case.title}, {way}{setting.state}; of this stop alone.{shared}",
    )


def _on_brakes(setting: Setting, brakes: Brakes) -> tuple[WorkedStep, ...]:
    """The force of the brakes, and how far they alone take, in closed form where that force holds it at all."""
    model, way, mass = vehicle(setting)
    force = work(
        f.brake_force,
        "stopping.step.brakes",
        "Force that the brakes' torque gives",
        torque=brakes.torque,
        radius=brake_radius(setting),
    )
    acting = forces(model, way, brakes.below.si)
    held = braking(model, acting, mass=mass, resistance=acting.resistance)
    steady = min(force.value, held) + acting.rolling + acting.grade
    if steady <= 0.0:
        return (force,)
    closed = work(
        motion.stopping_distance,
        "stopping.step.closed_form",
        "Brakes alone from the speed they are used at, in closed form",
        mass=mass,
        density=setting.of.density,
        drag_area=model.area(brakes.below.si),
        speed=brakes.below,
        force=steady,
        note="The force is the lesser of torque and grip there, with rolling resistance and grade, and is kept "
        f"constant; the grip there holds {held:,.0f} N. It is a check of the integration's "
        "size, not its result.",
    )
    return force, closed
