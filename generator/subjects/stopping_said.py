"""The subject `stopping`: what it says in words."""

from __future__ import annotations

from collections.abc import Iterable

from generator.subjects.stopping_cases import LONGEST_FILL
from generator.subjects.stopping_records import WORD, Detail
from generator.vocabulary import Assumption, Caution, OpenItem


def cautions(detail: Detail) -> Iterable[Caution]:
    """Hazards of the stop, laws that leave their range, and parachutes that come too slow."""
    yield Caution(
        "stopping.caution.plan",
        "Plan the run so that it can be stopped with the first parachute failed, and brief the "
        "driver on the marks. A stop that fits only when all works does not fit.",
        WORD,
        hazard=True,
    )
    yield Caution(
        "stopping.caution.heat",
        "Brakes that have taken a full stop stay hot enough to burn and to light brake fluid or "
        "grass: keep hands and vehicles away, and inspect rotors and fluid before they are used "
        "again.",
        WORD,
        hazard=True,
    )
    valid = detail.setting.of.course.rolling.valid_to
    if valid and detail.setting.speed > valid.si:
        yield Caution(
            "stopping.caution.rolling",
            f"The rolling resistance is extrapolated above {valid.written}; without it the stops "
            "are longer.",
            WORD,
        )
    yield from _slow(detail)


def _slow(detail: Detail) -> Iterable[Caution]:
    """Parachutes that come below their least speed in any direction or condition."""
    found = {
        (one.case, h.what.removeprefix("stretched: "))
        for way in detail.ways
        for one in way.tried
        for h in one.stop.too_slow
    }
    for line in detail.lines:
        for canopy in detail.setting.canopies.values():
            if canopy.least_speed and (line.case, canopy.id) in found:
                yield Caution(
                    f"stopping.caution.slow.{line.case.id}.{canopy.id}",
                    f"{line.case.title}: {canopy.name} comes at less than "
                    f"{canopy.least_speed.written} and may not open; it counts as failed.",
                    WORD,
                )


RESTS: tuple[tuple[str, str, str], ...] = (
    (
        "low",
        "A parachute's drag is the low end of its range less the loss in the wake.",
        "conservative",
    ),
    (
        "throttle",
        "Until the throttle is closed the engine goes on pushing as hard as it does, at full throttle, where the timed "
        "sections end; a speed that it could not hold is held.",
        "conservative",
    ),
    (
        "clutch",
        "Then the engine is disengaged; only the wheels turn with the vehicle.",
        "conservative",
    ),
    (
        "straight",
        "The vehicle runs straight, and the tires' grip holds along the course alone.",
        "common practice",
    ),
)


ROTORS = (
    "The rotors take all the heat of a stop and lose none in it. The first run's stop begins with them at the "
    "temperature of the air;"
)


def assumptions(detail: Detail) -> Iterable[Assumption]:
    """What every stop rests on."""
    setting = detail.setting
    begins = f"Every stop begins at the end of the last timed section at {setting.why}."
    considered = (
        "Every case is computed in the design condition and in each other one that leaves nothing out, and "
        "shown in the one in which it goes farthest: a full tank counts although the run has burned some."
    )
    if setting.of.course.two_way:
        considered += " Both directions are computed; each check takes the worse."
    rests = [
        ("speed", begins, "the program's rule"),
        ("loaded", considered, "the program's rule"),
        *RESTS,
        *_balance(detail),
        _rotors(detail),
    ]
    unknown = [c.name for c in setting.canopies.values() if not c.fill_constant and not c.type]
    if unknown:
        taken = (
            f"{', '.join(unknown)}: no fill constant is known; {LONGEST_FILL:g} diameters of "
            "travel are taken, the most that is printed for any type."
        )
        rests.append(("fill", taken, "conservative"))
    for word, text, source in rests:
        yield Assumption(f"stopping.assumption.{word}", text, WORD, source)


def _balance(detail: Detail) -> Iterable[tuple[str, str, str]]:
    """How the brakes' torque is shared, where wheels of both axles are braked."""
    setting, brakes = detail.setting, detail.setting.section.brakes
    if brakes is None or not all(setting.braked):
        return
    share = brakes.front_share.written if brakes.front_share else "as much to each braked wheel"
    yield (
        "balance",
        f"The brakes' torque is shared between the axles as stated or as built ({share} "
        f"{'to the front' if brakes.front_share else 'as to any other'}), and the driver brakes no harder than "
        "where the first axle would lock.",
        "conservative" if not brakes.front_share else "the description",
    )
    if not brakes.front_rotor_mass:
        yield (
            "alike",
            "The rotors of all braked wheels are alike, and those of each axle take the heat as it takes the torque. "
            "State `front_rotor_mass` where they are not.",
            "the program's rule",
        )


def _rotors(detail: Detail) -> tuple[str, str, str]:
    """How warm the rotors begin, and what cools them."""
    brakes = detail.setting.section.brakes
    if not detail.setting.of.course.two_way or brakes is None:
        said = "The rotors begin at the temperature of the air, take all the heat and lose none."
        return "rotors", said, "common practice"
    if brakes.cooled_to:
        said = (
            f"the second run's begins with rotors cooled to {brakes.cooled_to.written}, as stated"
        )
        return "rotors", f"{ROTORS} {said}.", "common practice"
    said = (
        "the second run's begins with all the heat of the first one's, in which everything worked: nothing is "
        "taken to cool while the vehicle is turned round. Measure the rotors before the second run, and state "
        "`cooled_to` as the temperature above which it does not start."
    )
    return "rotors", f"{ROTORS} {said}", "conservative"


def open_items(detail: Detail) -> Iterable[OpenItem]:
    """Cases that never stop."""
    for line in detail.lines:
        if line.stop.stalled:
            yield OpenItem(
                f"stopping.stalled.{line.case.id}",
                WORD,
                "open",
                f"{line.case.title}: {line.distance.absent}",
                "describe brakes, or rolling resistance that stops the vehicle",
                (line.check.id,),
            )
