"""What the subject `speed` says in words: cautions and what its calculation rests on."""

from __future__ import annotations

from collections.abc import Iterable

from buildspec.quantities import digits, show
from generator.formulas.tires import tread_acceleration
from generator.run.car import GRAVITY
from generator.run.speed import MOST_BURNED, Run
from generator.subjects.run_model import Parts, radius
from generator.subjects.speed_runs import dry
from generator.vocabulary import Assumption, Caution

WORD = "speed"


def cautions(of: Parts, out: Run, back: Run | None, fastest: float) -> tuple[Caution, ...]:
    """Cautions of arithmetic where a law leaves its range, and those of the work."""
    return (*_laws(of, out), *_hazards(of, fastest, out, back))


def _laws(of: Parts, out: Run) -> Iterable[Caution]:
    valid = of.course.rolling.valid_to
    if valid and out.peak > valid.si:
        yield Caution(
            "speed.caution.rolling",
            f"The rolling resistance was found up to {valid.written}; above that "
            "speed it is extrapolated, and nothing is known of how wrong that is.",
            WORD,
            ref="course.rolling.valid_to",
        )
    rows = of.drive.power_table if of.drive else ()
    if rows and out.peak > rows[-1].speed.si:
        yield Caution(
            "speed.caution.power",
            f"The power table ends at {rows[-1].speed.written}; above that its last value is kept.",
            WORD,
            ref="drive.power_table",
        )
    if out.held:
        yield Caution(
            "speed.caution.limit",
            "The engine is at its greatest speed in top gear before the timed "
            "sections end: the gearing limits the run, not the power.",
            WORD,
            ref="drive.engine",
        )
    yield from _mach(of, out.peak / of.sound)
    yield from _fuel(of, out)


def _fuel(of: Parts, out: Run) -> Iterable[Caution]:
    """A flow that burns all that is aboard, or half of the vehicle."""
    empty = dry(of, out)
    if empty is not None:
        yield Caution(
            "speed.caution.dry",
            f"By the stated fuel flow all fluids aboard, {show(of.fluids or 0.0, 'mass', of.system)}, are burned "
            f"{show(empty, 'time', of.system)} after the start, before the last timed section ends. The run "
            "shown goes on at full thrust, as no empty tank lets it.",
            WORD,
            ref="drive.fuel_flow",
        )
    elif out.burned >= MOST_BURNED * (of.mass.value or 0.0):
        yield Caution(
            "speed.caution.fuel",
            "By the stated fuel flow half of the vehicle is burned before the run ends; no more than "
            "that is taken off.",
            WORD,
            ref="drive.fuel_flow",
        )


def _mach(of: Parts, reached: float) -> Iterable[Caution]:
    """That drag may grow unseen: no table over Mach number, or one that ends below what is reached."""
    rows = of.aero.drag_over_mach
    if not rows and reached > 0.5:
        yield Caution(
            "speed.caution.mach",
            f"The Mach number reaches {reached:.2f}: drag coefficients from slower tests no longer hold "
            "without proof. State how the drag grows under `aero.drag_over_mach`.",
            WORD,
        )
    elif rows and reached > rows[-1].mach.si:
        yield Caution(
            "speed.caution.mach",
            f"The Mach number reaches {reached:.2f}, and the table of drag over Mach number ends at "
            f"{rows[-1].mach.written}; above that its last factor is kept.",
            WORD,
            ref="aero.drag_over_mach",
        )


def _hazards(of: Parts, fastest: float, out: Run, back: Run | None) -> Iterable[Caution]:
    pull = tread_acceleration(speed=fastest, radius=radius(of)) / GRAVITY
    yield Caution(
        "speed.caution.tires",
        f"At {show(fastest, 'speed', of.system, figures=3)} the tread of the driven tires is thrown "
        f"outward with about {digits(pull, 0.0, 2)} times its own weight. Run only tires that their "
        "maker allows for that speed and load in writing, inspect them before every run, and stand "
        "clear of them.",
        WORD,
        hazard=True,
    )
    yield Caution(
        "speed.caution.rules",
        "Work up to speed in steps, as the rulebook in force and the officials ask; "
        "the figures here are what the arithmetic allows, not leave to run.",
        WORD,
        hazard=True,
    )


def _mass(of: Parts) -> tuple[str, str]:
    """What is said of fuel burned on the way."""
    if of.drive and of.drive.fuel_flow:
        return (
            f"From the start line on the mass falls by {of.drive.fuel_flow.written}, shifts included, and the "
            "centre of gravity stays. The spread and the tables of what moves the speed keep the mass of the "
            "start, and so do the stops.",
            "the description; heavier is conservative for stopping",
        )
    return (
        "The mass is that of the design condition throughout: fuel burned on the way is not taken off.",
        "conservative for speed and stopping",
    )


def assumptions(of: Parts) -> tuple[Assumption, ...]:
    """What the integration rests on."""
    return tuple(
        Assumption(f"speed.assumption.{word}", text, WORD, source)
        for word, text, source in _rests(of)
    )


def _rests(of: Parts) -> Iterable[tuple[str, str, str]]:
    yield (
        "rigid",
        "The vehicle is rigid on two axles; its tires do not slip until the grip is used up, and do not "
        "grow with speed.",
        "common practice",
    )
    yield (
        "throttle",
        "Full throttle from the start line to the end of the last timed section, but for shifts.",
        "common practice",
    )
    yield (
        "power",
        "The power or torque stated is what the engine gives in the air of the venue; it is not "
        "corrected for density.",
        "the description",
    )
    yield ("mass", *_mass(of))
    if of.aero.drag_height is None:
        yield (
            "drag_height",
            "The drag acts at the height of the centre of gravity, as no height is stated.",
            "a supposition of the program; it moves axle loads only",
        )
    yield (
        "grade",
        "The grade is the same over the whole course and small enough that its cosine is 1.",
        "common practice",
    )
