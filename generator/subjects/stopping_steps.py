"""The worked steps of the subject `stopping`: energy, brakes, and a closed form beside the integration."""

from __future__ import annotations

from buildspec.sections.stopping import Brakes
from generator.formulas import motion
from generator.formulas import stopping as f
from generator.run.car import braking, forces
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
        way = f"the run {hottest.setting.way}, " if hottest.setting.way else ""
        found.append(
            work(
                f.temperature_rise,
                "stopping.step.rise",
                "Rise of the rotors in the hottest case",
                energy=hottest.stop.brake_energy,
                rotors=brakes.rotor_mass,
                heat=brakes.specific_heat,
                note=f"{hottest.case.title}, {way}{hottest.setting.state}; of this stop alone.",
            )
        )
    return tuple(found)


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
