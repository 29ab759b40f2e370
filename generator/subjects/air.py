"""The subject `air`: density and speed of sound at the venue, for everything that moves through it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from buildspec.build import Build
from buildspec.quantities import Quantity
from buildspec.sections.vehicle import Vehicle
from buildspec.sections.venue import Venue
from generator.formulas import air as f
from generator.spread import Shift, at, sources, spread
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Assumption, Caution, Check, OpenItem, Outcome, Result, WorkedStep
from generator.work import work

WORD = "air"
DOUBTFUL = 0.04
"""A station pressure this far from the standard atmosphere's at the elevation is named."""


@dataclass(frozen=True)
class Detail:
    """The air in SI, for the page, the chart and the other subjects."""

    venue: Venue
    density: Result
    temperature: float
    pressure: float
    humidity: float
    sound: float
    standard_density: float
    pressure_given: bool
    inputs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class State:
    """Temperature K, pressure Pa and relative humidity of the air."""

    temperature: float
    pressure: float
    humidity: float

    @property
    def density(self) -> float:
        """Density, kg/m³."""
        return f.moist_air(
            pressure=self.pressure, temperature=self.temperature, humidity=self.humidity
        )


def state(venue: Venue, shift: Shift | None = None) -> State | None:
    """The air of a venue; None where neither pressure nor elevation is stated."""
    moved = shift or {}
    height = at(venue.elevation, moved) if venue.elevation else None
    if height is None and venue.pressure is None:
        return None
    standard = f.standard_air(height if height is not None else 0.0)
    pressure = at(venue.pressure, moved) if venue.pressure else standard[1]
    temperature = at(venue.temperature, moved) if venue.temperature else standard[0]
    humidity = at(venue.humidity, moved) if venue.humidity else 0.0
    return State(temperature, pressure, min(max(humidity, 0.0), 1.0))


def evaluate(build: Build, given: Given) -> Outcome | None:
    """The air of the venue, or None where nothing says how high it lies or what the barometer shows."""
    venue = build.section(Venue)
    found = state(venue) if venue else None
    if venue is None or found is None:
        return None
    known = tuple(
        q for q in (venue.elevation, venue.temperature, venue.pressure, venue.humidity) if q
    )
    inputs = tuple(q.id for q in known)
    steps, by = _steps(venue, found, _target(build))
    results = tuple(_results(venue, known, inputs, by))
    detail = Detail(
        venue,
        results[0],
        found.temperature,
        found.pressure,
        found.humidity,
        by["sound"].value,
        _standard_density(venue),
        venue.pressure is not None,
        inputs,
    )
    return Outcome(
        subject=WORD,
        results=results,
        steps=steps,
        cautions=_cautions(venue, found),
        assumptions=_assumptions(venue, found),
        open_items=_open_items(venue),
        detail=detail,
    )


def _target(build: Build) -> Quantity | None:
    vehicle = build.section(Vehicle)
    return vehicle.target_speed if vehicle else None


def _standard_density(venue: Venue) -> float:
    return f.standard_air(venue.elevation.si if venue.elevation else 0.0)[2]


Steps = dict[str, WorkedStep]


def _steps(
    venue: Venue, found: State, target: Quantity | None
) -> tuple[tuple[WorkedStep, ...], Steps]:
    by: Steps = {}
    if venue.elevation and (venue.pressure is None or venue.temperature is None):
        by |= _standard_steps(venue.elevation)
    by |= _density_steps(venue, found)
    by |= _altitude_steps(by["density"].value)
    by["sound"] = work(
        f.sound_speed,
        "air.sound_speed.step",
        "Speed of sound",
        heat_ratio=f.HEAT_RATIO,
        gas_constant=f.DRY_AIR_CIPM,
        temperature=venue.temperature or found.temperature,
        vapour=by["vapour"].value,
        mass_ratio=f.WATER_TO_AIR,
    )
    if target:
        by["pressure"] = work(
            f.dynamic_pressure,
            "air.dynamic_pressure.step",
            "Dynamic pressure at the target speed, in still air",
            density=by["density"].value,
            speed=target,
        )
    return tuple(by.values()), by


def _density_steps(venue: Venue, found: State) -> Steps:
    pressure = venue.pressure or found.pressure
    vapour = work(
        f.vapour_fraction,
        "air.vapour",
        "Water vapour in the air",
        humidity=venue.humidity or 0.0,
        enhancement=f.enhancement(pressure=found.pressure, temperature=found.temperature),
        pressure=pressure,
        saturation=f.saturation_pressure(temperature=found.temperature),
        note="Vapour pressure and enhancement factor are the published polynomials.",
    )
    density = work(
        f.moist_density,
        "air.density.step",
        "Density",
        pressure=pressure,
        gas_constant=f.DRY_AIR_CIPM,
        temperature=venue.temperature or found.temperature,
        vapour=vapour.value,
        mass_ratio=f.WATER_TO_AIR,
        compressibility=f.compressibility(
            pressure=found.pressure, temperature=found.temperature, vapour=vapour.value
        ),
    )
    return {"vapour": vapour, "density": density}


def _altitude_steps(density: float) -> Steps:
    exponent = work(
        f.pressure_exponent,
        "air.exponent",
        "Exponent of the standard atmosphere's pressure",
        gravity=f.GRAVITY,
        gas_constant=f.DRY_AIR,
        lapse_rate=f.LAPSE_RATE,
    )
    altitude = work(
        f.density_altitude,
        "air.density_altitude.step",
        "Density altitude",
        sea_level=f.SEA_LEVEL_TEMPERATURE,
        lapse_rate=f.LAPSE_RATE,
        density=density,
        sea_level_density=f.standard_air(0.0)[2],
        exponent=exponent.value,
    )
    return {"exponent": exponent, "altitude": altitude}


def _standard_steps(elevation: Quantity) -> dict[str, WorkedStep]:
    height = work(
        f.geopotential,
        "air.geopotential",
        "Geopotential altitude of the course",
        earth_radius=f.EARTH_RADIUS,
        altitude=elevation,
    )
    temperature = work(
        f.standard_temperature,
        "air.standard_temperature",
        "Temperature of the standard atmosphere",
        sea_level=f.SEA_LEVEL_TEMPERATURE,
        lapse_rate=f.LAPSE_RATE,
        altitude=height.value,
    )
    pressure = work(
        f.standard_pressure,
        "air.standard_pressure",
        "Pressure of the standard atmosphere",
        sea_level_pressure=f.SEA_LEVEL_PRESSURE,
        temperature=temperature.value,
        sea_level=f.SEA_LEVEL_TEMPERATURE,
        exponent=f.EXPONENT,
    )
    return {"height": height, "standard_temperature": temperature, "standard_pressure": pressure}


def _results(
    venue: Venue, known: tuple[Quantity, ...], inputs: tuple[str, ...], by: Steps
) -> Iterable[Result]:
    def density(shift: Shift) -> float:
        moved = state(venue, shift)
        return moved.density if moved else 0.0

    def altitude(shift: Shift) -> float:
        return f.density_altitude(
            sea_level=f.SEA_LEVEL_TEMPERATURE,
            lapse_rate=f.LAPSE_RATE,
            density=density(shift),
            sea_level_density=f.standard_air(0.0)[2],
            exponent=f.EXPONENT,
        )

    off = sources(known)
    u = spread(density, off)
    yield Result("air.density", "Air density", by["density"].value, "density", u, inputs=inputs)
    yield Result(
        "air.density_altitude",
        "Density altitude",
        by["altitude"].value,
        "distance",
        spread(altitude, off),
        inputs=inputs,
    )
    sound = float(by["sound"].value)
    yield Result("air.sound_speed", "Speed of sound", sound, "speed", inputs=inputs)
    if "pressure" in by:
        paced = (*inputs, by["pressure"].arguments[1].ref)
        yield from _at_target(by["pressure"], u / by["density"].value, sound, paced)


def _at_target(
    step: WorkedStep, share: float, sound: float, inputs: tuple[str, ...]
) -> Iterable[Result]:
    """Dynamic pressure and Mach number; `share` is the density's relative uncertainty."""
    title, u = "Dynamic pressure at the target speed", step.value * share
    yield Result("air.dynamic_pressure", title, step.value, "pressure", u, inputs=inputs)
    mach = step.arguments[1].values[0] / sound
    yield Result("air.mach", "Mach number at the target speed", mach, "ratio", inputs=inputs)


def _cautions(venue: Venue, found: State) -> tuple[Caution, ...]:
    said = []
    celsius = found.temperature - f.ZERO_CELSIUS
    if not 15.0 <= celsius <= 27.0:
        said.append(
            Caution(
                "air.caution.range",
                "The moist-air formula is published for 15 to 27 °C; "
                "compared with a real-gas library at 35 °C it is right to 0.005 %.",
                WORD,
            )
        )
    if _doubtful(venue):
        said.append(Caution("air.caution.pressure", _doubt(venue), WORD, ref="venue.pressure"))
    return tuple(said)


def _doubtful(venue: Venue) -> bool:
    if venue.pressure is None or venue.elevation is None:
        return False
    return abs(venue.pressure.si / f.standard_air(venue.elevation.si)[1] - 1.0) > DOUBTFUL


def _doubt(venue: Venue) -> str:
    """What is odd about the pressure, in a sentence."""
    standard = f.standard_air(venue.elevation.si)[1] if venue.elevation else 0.0
    stated = venue.pressure.si if venue.pressure else 0.0
    corrected = abs(stated / f.SEA_LEVEL_PRESSURE - 1.0) < DOUBTFUL and standard < 0.96 * stated
    why = (
        " It looks like a barometer reading corrected to sea level, as weather services give it; "
        "the calculation needs the pressure at the course itself."
        if corrected
        else ""
    )
    return (
        f"The station pressure of {stated / 100.0:,.0f} hPa is {abs(stated / standard - 1.0):.0%} "
        f"{'above' if stated > standard else 'below'} the standard atmosphere's at this elevation "
        f"({standard / 100.0:,.0f} hPa).{why}"
    )


def _saturated(found: State) -> float:
    """By how much saturated air of the same temperature and pressure is thinner, as a share."""
    return 1.0 - replace(found, humidity=1.0).density / replace(found, humidity=0.0).density


def _assumptions(venue: Venue, found: State) -> tuple[Assumption, ...]:
    said = []
    if venue.pressure is None:
        said.append(
            Assumption(
                "air.assumption.pressure",
                "The pressure is that of the standard atmosphere "
                "at the stated elevation, taken as geometric altitude.",
                WORD,
                f.STANDARD,
            )
        )
    if venue.temperature is None:
        said.append(
            Assumption(
                "air.assumption.temperature",
                "The temperature is that of the standard atmosphere; a hot afternoon is thinner.",
                WORD,
                f.STANDARD,
            )
        )
    if venue.humidity is None:
        said.append(
            Assumption(
                "air.assumption.humidity",
                f"The air is taken to be dry; saturated air of this temperature would be "
                f"{_saturated(found):.1%} thinner.",
                WORD,
                f.CIPM,
            )
        )
    return tuple(said)


def _open_items(venue: Venue) -> tuple[OpenItem, ...]:
    return tuple(open_air(venue, WORD, ()))


def open_air(venue: Venue, word: str, checks: Iterable[Check]) -> Iterable[OpenItem]:
    """What is open of the air as an item of the subject `word`, with those of its checks that wait for it.

    Air that is taken to be colder than it gets makes stops look short.
    """
    own = {q.id for q in (venue.elevation, venue.pressure) if q}
    blocks = tuple(check.id for check in checks if own & set(check.inputs))
    if _doubtful(venue):
        yield OpenItem(
            f"{word}.pressure.doubtful",
            word,
            "disagreement",
            _doubt(venue),
            "read a barometer at the course, not corrected to sea level, and state that",
            blocks,
            ref="venue.pressure",
        )
    if venue.temperature is None:
        yield OpenItem(
            f"{word}.temperature.missing",
            word,
            "missing",
            "The temperature of the air is not stated, and that of the standard atmosphere stands for it. On a warmer "
            "day the air is thinner, and parachutes and drag stop less.",
            "state `venue.temperature`, with a spread that covers the days of the event",
            blocks,
            ref="venue.elevation",
        )


SUBJECT = Subject(
    word=WORD,
    title="Air",
    group="The run",
    evaluate=evaluate,
    purpose="How dense the air of the venue is, as drag, lift, parachutes and engines meet it.",
)
