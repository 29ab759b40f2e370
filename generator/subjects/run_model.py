"""The vehicle, its course and its drive put together from the description, for speed, stops and stability.

Everything is a function of a shift of the description's values, so that spread is one more call.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from buildspec.build import Build
from buildspec.fill import quantities
from buildspec.kinds import System
from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.aero import Aero
from buildspec.sections.course import Course as CourseSection
from buildspec.sections.datum import Datum
from buildspec.sections.drive import Drive, fluids_aboard
from buildspec.sections.mass import Mass
from buildspec.sections.vehicle import Vehicle
from buildspec.sections.wheels import Wheel, Wheels
from generator.formulas import motion
from generator.run.car import Car, Course, Gear
from generator.spread import NOWHERE, Shift, at
from generator.subjects.air import Detail as AirDetail
from generator.subjects.air import open_air
from generator.subjects.subject import Given
from generator.vocabulary import Check, OpenItem, Outcome, Result

SAME_AXLE = 0.05
"""Wheels whose x differ by less than this share of the wheelbase count as one axle."""


@dataclass(frozen=True)
class Axles:
    """The wheels of the front and the rear axle; `between` holds those of any other."""

    front: tuple[Wheel, ...]
    rear: tuple[Wheel, ...]
    between: tuple[Wheel, ...] = ()

    def x(self, wheels: tuple[Wheel, ...], shift: Shift = NOWHERE) -> float:
        """The mean x of some wheels, m."""
        return sum(at(w.x, shift) for w in wheels) / len(wheels)

    def wheelbase(self, shift: Shift = NOWHERE) -> float:
        """From the front axle to the rear one, m."""
        return self.x(self.rear, shift) - self.x(self.front, shift)

    def shares(self, chosen: Callable[[Wheel], bool]) -> tuple[float, float]:
        """Which share of the front and of the rear axle's load stands on the chosen wheels."""
        front, rear = (sum(map(chosen, wheels)) / len(wheels) for wheels in (self.front, self.rear))
        return front, rear


@dataclass(frozen=True)
class Parts:
    """What a run needs. `mass`, `cg_x` and `cg_height` come from the mass subject, `density` from air; `fluids` is
    the mass in kg of all fluids aboard, where items are said to be fluids.
    """

    aero: Aero
    course: CourseSection
    axles: Axles
    mass: Result
    cg_x: Result
    cg_y: Result
    cg_height: Result
    density: Result
    sound: float
    drive: Drive | None
    vehicle: Vehicle | None
    ground: Quantity | None
    air: Outcome
    masses: Outcome
    system: System = System.US
    fluids: float | None = None

    @property
    def values(self) -> tuple[Quantity | Result, ...]:
        """Every value that a run depends on, but those of the drive."""
        own = (
            self.aero.frontal_area,
            self.aero.drag_coefficient,
            self.aero.drag_area,
            self.aero.drag_height,
            self.aero.front_lift_area,
            self.aero.rear_lift_area,
            self.course.friction,
            self.course.rolling.coefficient,
            self.course.rolling.doubling_speed,
            self.course.grade,
            self.course.head_wind,
        )
        wheels = (w.x for w in (*self.axles.front, *self.axles.rear))
        mach = (row.factor for row in self.aero.drag_over_mach)
        return (
            self.mass,
            self.cg_x,
            self.cg_height,
            self.density,
            *(q for q in own if q),
            *mach,
            *wheels,
        )

    @property
    def drive_values(self) -> tuple[Quantity, ...]:
        """Every value of the drive that a run depends on."""
        drive = self.drive
        if drive is None:
            return ()
        rows = (q for row in drive.power_table for q in (row.speed, row.power))
        engine = drive.engine
        of_engine: tuple[Quantity | None, ...] = ()
        if engine:
            curve = (q for row in engine.curve for q in (row.rotation, row.torque))
            own = engine.rolling_radius or next(iter(self.driven_radii), None)
            of_engine = (
                *curve,
                *engine.gears,
                engine.final_drive,
                own,
                engine.shift_time,
                engine.efficiency,
                engine.inertia,
            )
        return tuple(
            q
            for q in (
                drive.power,
                *rows,
                *of_engine,
                drive.wheel_inertia,
                drive.start_speed,
                drive.fuel_flow,
            )
            if q
        )

    @cached_property
    def ids(self) -> tuple[str, ...]:
        """Ids of every value of the description behind `values`; those of the ground among them."""
        own = (*self.values, *((self.ground,) if self.ground else ()))
        return ids((*own, *self.sound_values))

    @property
    def sound_values(self) -> tuple[Quantity | Result, ...]:
        """What the table of drag over Mach number brings in."""
        rows = self.aero.drag_over_mach
        found = self.air.by_id["air.sound_speed"]
        return (found, *(row.mach for row in rows)) if rows else ()

    @cached_property
    def run_ids(self) -> tuple[str, ...]:
        """Ids of every value of the description that a whole run at full power depends on."""
        course = self.course
        ways = (course.run_up, *((course.shut_down,) if course.two_way else ()))
        timed = (q for t in course.timed for q in (t.start, t.length) if q)
        return tuple(dict.fromkeys((*self.ids, *self.drive_ids, *ids((*ways, *timed)))))

    @cached_property
    def drive_ids(self) -> tuple[str, ...]:
        """Ids of every value of the description that the thrust and the fuel depend on."""
        engine = self.drive.engine if self.drive else None
        return ids((*self.drive_values, *((engine.shift_at,) if engine else ())))

    @cached_property
    def geared(self) -> frozenset[str]:
        """Ids of all that the gears depend on."""
        found = (*self.drive_values, self.mass, self.radius_stated)
        return frozenset(q.id for q in found if q)

    @cached_property
    def usual_gears(self) -> tuple[Gear, ...]:
        """What each gear gives as described: made once, for most that is moved moves no gear."""
        return _gears(self, NOWHERE)

    @cached_property
    def rolling_ids(self) -> tuple[str, ...]:
        """Ids behind the mass with the turning wheels."""
        turning = self.drive.wheel_inertia if self.drive else None
        found = self.radius_stated if turning and turning.si else None
        return ids((self.mass, *((turning,) if turning else ()), *((found,) if found else ())))

    @property
    def radius_stated(self) -> Quantity | None:
        """The rolling radius of the driven wheels, or of any wheel where none is driven."""
        own = self.drive.engine.rolling_radius if self.drive and self.drive.engine else None
        others = (*self.axles.rear, *self.axles.front)
        return (
            own
            or next(iter(self.driven_radii), None)
            or next((w.radius for w in others if w.radius), None)
        )

    @property
    def driven_radii(self) -> Iterable[Quantity]:
        """The loaded radii of the driven wheels, as far as they are stated."""
        wheels = (*self.axles.front, *self.axles.rear)
        return (w.radius for w in wheels if w.driven and w.radius)


def ids(values: Iterable[Quantity | Result]) -> tuple[str, ...]:
    """Ids of the description behind some values, each once: a result brings those it rests on."""
    found = (i for v in values for i in ((v.id,) if isinstance(v, Quantity) else v.inputs))
    return tuple(dict.fromkeys(found))


def parts(build: Build, given: Given) -> Parts | str:
    """The parts of the description that a run needs, or what is missing, in words.

    Empty text where the description does not say anything about the run (no `course` and no `aero`).
    """
    aero, course = build.section(Aero), build.section(CourseSection)
    if aero is None or course is None:
        missing = "aero" if aero is None else "course"
        return "" if aero is None and course is None else f"the section `{missing}` is missing"
    mass, air = given.outcomes.get("mass"), given.outcomes.get("air")
    if mass is None or mass.by_id["mass.design.total"].value is None:
        return "the mass in the design condition is missing"
    if air is None:
        return "the air is missing: `venue` states neither elevation nor pressure"
    wheels = build.section(Wheels)
    found = _axles(wheels.positions if wheels else ())
    if found is None:
        return "a front and a rear axle are missing in `wheels`"
    if found.between:
        return "the wheels stand on more than two axles, and the loads of those are not determined by statics"
    by, datum = mass.by_id, build.section(Datum)
    return Parts(
        aero,
        course,
        found,
        by["mass.design.total"],
        by["mass.design.cg_x"],
        by["mass.design.cg_y"],
        by["mass.design.cg_height"],
        air.by_id["air.density"],
        air.by_id["air.sound_speed"].value or 0.0,
        build.section(Drive),
        build.section(Vehicle),
        datum.ground if datum else None,
        air,
        mass,
        build.system,
        fluids_aboard(build.section(Mass)),
    )


def _axles(wheels: tuple[Wheel, ...]) -> Axles | None:
    if not wheels:
        return None
    first, last = min(w.x.si for w in wheels), max(w.x.si for w in wheels)
    gap = SAME_AXLE * (last - first)
    front = tuple(w for w in wheels if w.x.si - first <= gap)
    rear = tuple(w for w in wheels if last - w.x.si <= gap)
    if last - first <= 0.0:
        return None
    return Axles(front, rear, tuple(w for w in wheels if w not in front and w not in rear))


@dataclass(frozen=True)
class State:
    """A condition the vehicle runs in: its title, and the parts with mass and centre of gravity as they are then."""

    title: str
    of: Parts


def states(build: Build, of: Parts, given: Given) -> tuple[State, ...]:
    """The design condition, every condition that leaves nothing out, and the design condition less the fuel burned.

    A condition that leaves something out (an empty vehicle on the scales) does not run.
    """
    mass = build.section(Mass)
    found = [State("design condition", of)]
    for condition in mass.conditions if mass else ():
        loaded = None if condition.without else _loaded(of, f"mass.condition.{condition.id}")
        if loaded and not _same(loaded, of):
            found.append(State(called(condition), loaded))
    return (*found, *_burned(of, given))


def _same(one: Parts, other: Parts) -> bool:
    """Whether both are loaded alike: the design condition stands among the others too."""
    pairs = ((one.mass, other.mass), (one.cg_x, other.cg_x), (one.cg_height, other.cg_height))
    return all(a.value == b.value for a, b in pairs)


def _loaded(of: Parts, name: str) -> Parts | None:
    """The parts with the mass and the centre of gravity of a condition; None where those are not known."""
    total, x, height = (
        of.masses.by_id.get(f"{name}.{word}") for word in ("total", "cg_x", "cg_height")
    )
    known = all(r is not None and r.value is not None for r in (total, x, height))
    return (
        replace(of, mass=total, cg_x=x, cg_height=height)
        if known and total and x and height
        else None
    )


def _burned(of: Parts, given: Given) -> Iterable[State]:
    speed = given.outcomes.get("speed")
    burned = speed.by_id.get("speed.burned") if speed else None
    if burned and burned.value and of.mass.value is not None:
        left = replace(of.mass, value=of.mass.value - burned.value, inputs=ids((of.mass, burned)))
        title = "design condition less the fuel burned, its centre of gravity kept"
        yield State(title, replace(of, mass=left))


def of_air(of: Parts, word: str, checks: Iterable[Check]) -> Iterable[OpenItem]:
    """What is open of the air, for the checks of the subject `word`."""
    detail = of.air.detail
    return open_air(detail.venue, word, checks) if isinstance(detail, AirDetail) else ()


def ids_of_all(runs: Iterable[State]) -> tuple[str, ...]:
    """Ids of every value of the description behind the vehicle in any of the conditions."""
    return tuple(dict.fromkeys(i for state in runs for i in state.of.ids))


def of_sections(build: Build, *words: str) -> tuple[Quantity, ...]:
    """The values of some sections, for a page that need not repeat every mass item behind a total."""
    return tuple(q for word in words for q in quantities(build.sections.get(word)))


# ------------------------------------------------------------------------------ the model


def number(result: Result, shift: Shift) -> float:
    """A result's value, moved by what `shift` says of it; it must not be absent."""
    if result.value is None:
        raise ValueError(f"{result.id} is absent: {result.absent}")
    return result.value + shift.get(result.id, 0.0)


def made(
    name: str,
    title: str,
    value: float | None,
    kind: str,
    *,
    absent: str = "",
    u: float = 0.0,
    inputs: tuple[str, ...] = (),
) -> Result:
    """A result that says why it is absent only where it is."""
    return Result(
        name,
        title,
        value,
        kind,
        u if value is not None else 0.0,
        "" if value is not None else absent,
        inputs,
    )


def drag_area(aero: Aero, shift: Shift = NOWHERE) -> float:
    """The drag area in m²."""
    if aero.drag_area:
        return at(aero.drag_area, shift)
    if aero.drag_coefficient is None or aero.frontal_area is None:
        raise ValueError("the reader lets no description pass that states no drag")
    return motion.drag_area(
        coefficient=at(aero.drag_coefficient, shift), area=at(aero.frontal_area, shift)
    )


def car(
    of: Parts,
    shift: Shift = NOWHERE,
    braked: tuple[float, float] = (0.0, 0.0),
    balance: float | None = None,
) -> Car:
    """The vehicle as the integrations see it; `balance` is the front's share of the brakes' force."""
    rolling, height = of.course.rolling, number(of.cg_height, shift)
    doubling = at(rolling.doubling_speed, shift) if rolling.doubling_speed else float("inf")
    return Car(
        mass=number(of.mass, shift),
        arm=number(of.cg_x, shift) - of.axles.x(of.axles.front, shift),
        height=height,
        wheelbase=of.axles.wheelbase(shift),
        drag_area=drag_area(of.aero, shift),
        drag_height=at(of.aero.drag_height, shift) if of.aero.drag_height else height,
        front_lift=at(of.aero.front_lift_area, shift),
        rear_lift=at(of.aero.rear_lift_area, shift),
        rolling=at(rolling.coefficient, shift),
        doubling=doubling,
        friction=at(of.course.friction, shift),
        driven=of.axles.shares(lambda w: w.driven),
        braked=braked,
        compressed=_compressed(of, shift),
        balance=balance,
    )


def _compressed(of: Parts, shift: Shift) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Speeds and drag factors of the table over Mach number, at the day's speed of sound."""
    rows = of.aero.drag_over_mach
    return tuple(r.mach.si * of.sound for r in rows), tuple(at(r.factor, shift) for r in rows)


def course(of: Parts, shift: Shift = NOWHERE) -> Course:
    """The course in the direction of the run out."""
    return Course(
        number(of.density, shift), at(of.course.head_wind, shift), at(of.course.grade, shift)
    )


def ways(of: Parts, shift: Shift = NOWHERE) -> tuple[Course, ...]:
    """The course in the direction of each run: out, and back where there are two."""
    out = course(of, shift)
    return (out, out.reversed()) if of.course.two_way else (out,)


def gears(of: Parts, shift: Shift = NOWHERE) -> tuple[Gear, ...]:
    """What each gear gives; one gear where the power is stated at the wheels. Needs a drive."""
    if of.geared.isdisjoint(shift):
        return of.usual_gears
    return _gears(of, shift)


def _gears(of: Parts, shift: Shift) -> tuple[Gear, ...]:
    drive = of.drive
    if drive is None:
        return ()
    if drive.engine:
        return _engine_gears(of, drive, shift)
    mass = number(of.mass, shift) + _wheel_mass(of, drive, shift)
    if drive.power:
        power = at(drive.power, shift)
        return (Gear((0.1, 1.0), (power, power), True, mass),)
    speeds = tuple(at(row.speed, shift) for row in drive.power_table)
    return (Gear(speeds, tuple(at(row.power, shift) for row in drive.power_table), True, mass),)


def radius(of: Parts, shift: Shift = NOWHERE) -> float:
    """Rolling radius in m of the driven wheels, or of any wheel where none is driven; ValueError if none is stated."""
    found = of.radius_stated
    if found is None:
        raise ValueError("no radius")
    return at(found, shift)


def has_radius(of: Parts) -> bool:
    """Whether any wheel's radius is known."""
    own = of.drive.engine.rolling_radius if of.drive and of.drive.engine else None
    return bool(own or any(w.radius for w in (*of.axles.rear, *of.axles.front)))


def _wheel_mass(of: Parts, drive: Drive, shift: Shift) -> float:
    inertia = at(drive.wheel_inertia, shift)
    return inertia / radius(of, shift) ** 2 if inertia and has_radius(of) else 0.0


def _engine_gears(of: Parts, drive: Drive, shift: Shift) -> tuple[Gear, ...]:
    engine = drive.engine
    if engine is None:
        return ()
    r, final = radius(of, shift), at(engine.final_drive, shift)
    rotations = [at(row.rotation, shift) for row in engine.curve]
    torques = [at(row.torque, shift) for row in engine.curve]
    efficiency, made = at(engine.efficiency, shift), []
    for ratio in (at(g, shift) for g in engine.gears):
        # Both are in proportion: one call each does for the whole curve.
        pace = motion.road_speed(rotation=1.0, radius=r, gear=ratio, final=final)
        push = motion.engine_thrust(
            efficiency=efficiency, torque=1.0, gear=ratio, final=final, radius=r
        )
        mass = motion.equivalent_mass(
            mass=number(of.mass, shift),
            wheels=at(drive.wheel_inertia, shift),
            radius=r,
            engine=at(engine.inertia, shift),
            gear=ratio,
            final=final,
        )
        speeds, thrusts = tuple(pace * w for w in rotations), tuple(push * m for m in torques)
        made.append(Gear(speeds, thrusts, False, mass, pace * engine.shift_at.si))
    return (*made[:-1], replace(made[-1], until=float("inf")))


def rolling_mass(of: Parts, shift: Shift = NOWHERE) -> float:
    """Mass with the turning wheels, the engine disengaged, kg."""
    return number(of.mass, shift) + (_wheel_mass(of, of.drive, shift) if of.drive else 0.0)
