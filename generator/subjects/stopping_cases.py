"""The cases of the subject `stopping`: what works, what fails, and how far each stop goes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import chain, cycle, islice

from buildspec.quantities import Quantity
from buildspec.sections.parachutes import Canopy
from buildspec.sections.stopping import Deploy
from buildspec.sections.stopping import Stopping as Section
from generator.run import plan as p
from generator.run import stop as s
from generator.run.car import Car, Course, Gear, forces, full_throttle
from generator.spread import NOWHERE, Shift, at, sources
from generator.subjects.parachutes_loads import ranges
from generator.subjects.run_model import (
    Parts,
    car,
    course,
    gears,
    has_radius,
    ids,
    radius,
    rolling_mass,
)
from generator.subjects.speed_runs import offs
from generator.vocabulary import Result

LONGEST_FILL = 14.0
"""Fill constant where none is known: the greatest that the table of types prints."""


@dataclass(frozen=True, slots=True)
class Case:
    """What fails in a case, and how late the rest is let out."""

    id: str
    title: str
    failed: tuple[str, ...] = ()
    brakes: bool = True
    late: float = 0.0


WORKS = Case("works", "Everything works")


@dataclass(frozen=True, eq=False)
class Setting:
    """All that a stop needs from the description.

    `slow` says why a stated speed is below the run's, `lifted` why nothing holds where an axle is off the ground;
    `computed` holds the speeds that the parachutes' loads were computed at; `state` is the title of the condition
    the vehicle is loaded in, and `paced` the ids behind the speed. `exits` says of a computed speed, for each
    source off by its uncertainty, by how many m/s a run out, or back, ends faster.
    """

    of: Parts
    section: Section
    canopies: dict[str, Canopy]
    speed: float
    why: str
    back: bool
    available: float
    slow: str = ""
    computed: Mapping[str, Result] = field(default_factory=dict)
    state: str = ""
    exits: tuple[tuple[Shift, tuple[float, ...]], ...] = ()
    paced: tuple[str, ...] = ()
    lifted: str = ""

    @property
    def way(self) -> str:
        """The direction in a word; empty on a course that is run one way."""
        return ("back" if self.back else "out") if self.of.course.two_way else ""

    @property
    def length(self) -> Quantity:
        """The course that is left."""
        return self.of.course.run_up if self.back else self.of.course.shut_down

    @property
    def limit(self) -> float:
        """The longest stop that the course holds with the factor asked, m."""
        return self.available / self.section.factor.si

    @property
    def unfit(self) -> str:
        """Why no stop from that speed says anything; empty where it does."""
        return self.slow or self.lifted

    @property
    def braked(self) -> tuple[float, float]:
        """The shares of the front and rear axle load that are braked."""
        return self.of.axles.shares(lambda w: w.id in _braked(self))

    def balance(self, shift: Shift) -> float | None:
        """The front's share of the brakes' torque; without brakes, or where every wheel gets as much, by wheels."""
        brakes = self.section.brakes
        if brakes is None:
            return None
        if brakes.front_share:
            return min(max(at(brakes.front_share, shift), 0.0), 1.0)
        return self.braked_in_front

    @property
    def braked_in_front(self) -> float:
        """The share of the braked wheels that are at the front."""
        wheels = _braked(self)
        return sum(w.id in wheels for w in self.of.axles.front) / len(wheels)


def _braked(setting: Setting) -> tuple[str, ...]:
    return setting.section.brakes.wheels if setting.section.brakes else ()


def cases(section: Section, canopies: dict[str, Canopy]) -> tuple[Case, ...]:
    """Everything works; each parachute fails; all fail; the brakes fail; the pull is late."""
    used = tuple(dict.fromkeys(d.parachute for d in section.deploy))
    found = [WORKS]
    if len(used) > 1:
        found += [
            Case(f"without_{name}", f"Fails: {canopies[name].name}", (name,)) for name in used
        ]
    if used:
        found.append(
            Case(
                "without_parachutes",
                "All parachutes fail" if len(used) > 1 else "The parachute fails",
                used,
            )
        )
    if section.brakes:
        found.append(Case("without_brakes", "The brakes fail", brakes=False))
    if used:
        found.append(
            Case("late", f"Every pull is {section.late_by.written} late", late=section.late_by.si)
        )
    return tuple(found)


def vehicle(setting: Setting, shift: Shift = NOWHERE) -> tuple[Car, Course, float]:
    """Car, course in the direction considered, and the mass that is stopped, kg."""
    of, way = setting.of, course(setting.of, shift)
    return (
        car(of, shift, setting.braked, setting.balance(shift)),
        way.reversed() if setting.back else way,
        rolling_mass(of, shift),
    )


def plan(setting: Setting, shift: Shift = NOWHERE) -> p.Plan:
    """What the driver does, SI."""
    section, brakes = setting.section, setting.section.brakes
    chutes = tuple(_deployment(setting, d, shift) for d in section.deploy)
    force = at(brakes.torque, shift) / brake_radius(setting, shift) if brakes else 0.0
    made = p.Brakes(brakes.below.si, force, at(brakes.delay, shift)) if brakes else None
    return p.Plan(
        max(at(section.throttle_delay, shift), 0.0), at(section.engine_braking, shift), chutes, made
    )


def brake_radius(setting: Setting, shift: Shift = NOWHERE) -> float:
    """The largest radius in m of the braked wheels, as far as stated: what the brakes' torque gives least force on."""
    of = setting.of
    braked = [w for w in (*of.axles.front, *of.axles.rear) if w.id in _braked(setting)]
    own = [at(w.radius, shift) for w in braked if w.radius]
    rolls = not own or any(w.driven for w in braked)
    return max(*own, radius(of, shift)) if rolls and own else max(own, default=radius(of, shift))


def _deployment(setting: Setting, deploy: Deploy, shift: Shift) -> p.Deployment:
    canopy = setting.canopies[deploy.parachute]
    found = ranges(canopy, shift)
    trigger, value = next(
        (word, q)
        for word, q in (
            ("time", deploy.after),
            ("mark", deploy.mark),
            ("below", deploy.below),
            ("after", deploy.following),
        )
        if q
    )
    ground = setting.of.ground.si if setting.of.ground else 0.0
    travel = (found.fill or LONGEST_FILL) * (found.diameter or 0.0)
    return p.Deployment(
        deploy.parachute,
        trigger,  # type: ignore[arg-type]
        value.si,
        max(at(canopy.delay, shift), 0.0),
        found.low_area,
        travel,
        max(found.exponents),
        canopy.attach.z.si - ground,
        deploy.backup.si if deploy.backup else None,
    )


@dataclass(frozen=True, eq=False)
class Scene:
    """A setting, its values moved by some shift, as the integration sees it; `brief` where it serves a difference.

    `pushes` remembers the thrusts by speed, for the same vehicle with another plan too.
    """

    setting: Setting
    car: Car
    course: Course
    mass: float
    plan: p.Plan
    shift: Shift
    brief: bool = False
    pushes: dict[float, float] = field(default_factory=dict)

    @cached_property
    def box(self) -> tuple[Gear, ...]:
        """What each gear gives."""
        return gears(self.setting.of, self.shift) if has_radius(self.setting.of) else ()

    def start(self, case: Case, failed: tuple[str, ...]) -> s.Start:
        """The beginning of a stop in which these parachutes fail."""
        what = p.without(self.plan, failed, brakes=case.brakes, late=case.late)
        return self.begun(what, self.setting.speed)

    def begun(self, what: p.Plan, speed: float) -> s.Start:
        """The beginning of a stop by a plan, at a speed in m/s."""
        thrust = self.thrust(speed)
        return s.Start(self.car, self.course, what, speed, self.mass, self.brief, thrust)

    def thrust(self, speed: float) -> float:
        """What pushes until the throttle is closed, N: the thrust at that speed, and no less than holds it.

        It is that of the equivalent mass of the stop, which counts the wheels and not the engine.
        """
        if speed not in self.pushes:
            self.pushes[speed] = self._thrust(speed)
        return self.pushes[speed]

    def _thrust(self, speed: float) -> float:
        resists = forces(self.car, self.course, speed).resistance
        if not self.box:
            return resists
        gained = full_throttle(self.car, self.course, self.box, speed)[0]
        return resists + self.mass * max(gained, 0.0)


def scene(setting: Setting, shift: Shift = NOWHERE, *, brief: bool = False) -> Scene:
    """The setting with its values moved by `shift`."""
    return Scene(setting, *vehicle(setting, shift), plan(setting, shift), shift, brief)


def stopped(
    asked: Sequence[tuple[Scene, Case]], tolerance: float = s.TOLERANCE
) -> tuple[s.Stop, ...]:
    """A stop for each. A parachute that would come below its least speed counts as failed."""
    failed = [case.failed for _, case in asked]
    slow: list[tuple[s.Happening, ...]] = [()] * len(asked)
    done: dict[int, s.Stop] = {}
    while left := [n for n in range(len(asked)) if n not in done]:
        starts = [asked[n][0].start(asked[n][1], failed[n]) for n in left]
        for n, stop in zip(left, s.stops(starts, tolerance), strict=True):
            late = next((h for h in stop.stretched if _comes_slow(asked[n][0], h)), None)
            if late is None:
                done[n] = replace(stop, too_slow=slow[n])
            else:
                failed[n], slow[n] = (*failed[n], _name(late)), (*slow[n], late)
    return tuple(done[n] for n in range(len(asked)))


def _name(stretched: s.Happening) -> str:
    return stretched.what.removeprefix("stretched: ")


def _comes_slow(there: Scene, stretched: s.Happening) -> bool:
    """Whether a parachute comes below the least speed through the air it opens at."""
    least = there.setting.canopies[_name(stretched)].least_speed
    return least is not None and stretched.speed + there.course.wind < least.si


def peak(setting: Setting, done: s.Stop) -> float:
    """The greatest deceleration of a stop in m/s²: its own, or that of any opening at its design load."""
    model, way, mass = vehicle(setting)
    found = [done.peak]
    for happening in done.stretched:
        known = ranges(setting.canopies[_name(happening)])
        pressure = 0.5 * way.density * (happening.speed + max(way.wind, 0.0)) ** 2
        pull = pressure * known.high_area * (known.high_opening or 1.0)
        found.append((pull + forces(model, way, happening.speed).resistance) / mass)
    return max(found)


def inputs(settings: Iterable[Setting], case: Case) -> tuple[str, ...]:
    """Ids of every value of the description that the stops of a case depend on; of what fails in it none."""
    return tuple(dict.fromkeys(chain.from_iterable(_inputs(setting, case) for setting in settings)))


def _inputs(setting: Setting, case: Case) -> Iterable[str]:
    section, of = setting.section, setting.of
    brakes = section.brakes if case.brakes else None
    open_ = [d for d in section.deploy if d.parachute not in case.failed]
    canopies = [setting.canopies[d.parachute] for d in open_]
    pulls = (q for d in section.deploy for q in (d.after, d.mark, d.below, d.following, d.backup))
    # One that backs up a failed one waits for it first.
    waits = (setting.canopies[d.parachute].delay for d in section.deploy)
    known = (
        *values(setting, case),
        *((*pulls, *waits) if open_ else ()),
        *(q for c in canopies for q in (c.attach.z, c.growth_exponent, c.least_speed)),
        *(c.opening_coefficient for c in canopies),
        *((brakes.below, of.radius_stated) if brakes else ()),
        *((section.late_by,) if case.late else ()),
    )
    return (*ids(q for q in known if q), *of.ids, *of.rolling_ids, *of.drive_ids, *setting.paced)


def values(setting: Setting, case: Case = WORKS) -> Iterable[Quantity | Result]:
    """Every value that the stop of a case depends on and whose spread is carried to its distance."""
    section, brakes = setting.section, setting.section.brakes if case.brakes else None
    yield from setting.of.values
    yield from (section.throttle_delay, section.engine_braking)
    if setting.of.drive:
        yield setting.of.drive.wheel_inertia
    if brakes:
        yield from (brakes.torque, brakes.delay)
        if brakes.front_share:
            yield brakes.front_share
        wheels = (*setting.of.axles.front, *setting.of.axles.rear)
        yield from (w.radius for w in wheels if w.id in brakes.wheels and w.radius)
    names = dict.fromkeys(d.parachute for d in section.deploy)
    for name in (n for n in names if n not in case.failed):
        canopy = setting.canopies[name]
        own = (
            canopy.diameter,
            canopy.drag_coefficient,
            canopy.drag_area,
            canopy.wake_loss,
            canopy.delay,
            canopy.fill_constant,
        )
        yield from (q for q in own if q)


@dataclass(frozen=True, eq=False)
class Tried:
    """A case's stop in one direction and condition, and the stops on the other surfaces.

    `uncertainty` is the standard uncertainty of the distance in m, `stretched` that of the speed in m/s
    through the air at which each parachute is stretched, by its id, `heat_off` that of the brakes' heat in J; that
    of a computed speed is in all. `begun` is that of the speed through the air that the stop begins with, `shared`
    its covariance with each of the speeds at line stretch.
    """

    setting: Setting
    case: Case
    stop: s.Stop
    uncertainty: float
    stretched: Mapping[str, float]
    rough: tuple[s.Stop, ...]
    heat_off: float = 0.0
    begun: float = 0.0
    shared: Mapping[str, float] = field(default_factory=dict)

    @property
    def opens(self) -> Iterable[Opens]:
        """Each parachute that opens."""
        wind = max(vehicle(self.setting)[1].wind, 0.0)
        for h in self.stop.stretched:
            name = _name(h)
            off, shared = self.stretched[name], self.shared[name]
            yield Opens(name, h.speed + wind, off, self.case, self.begun, shared)


@dataclass(frozen=True, slots=True)
class Opens:
    """A parachute that opens in a case: its speed through the air, m/s, a wind from behind left out, and the
    standard uncertainty of that; `begun` is that of the speed through the air that the stop begins with, `shared`
    the covariance of both, m²/s².
    """

    name: str
    speed: float
    off: float
    case: Case
    begun: float
    shared: float


def tried(settings: Sequence[Setting], frictions: Sequence[float]) -> tuple[Tried, ...]:
    """Every case of every setting, with each source of spread and on each other surface, all at once."""
    rounds = [
        (case, scenes)
        for setting in settings
        for scenes in [_scenes(setting, frictions)]
        for case in cases(setting.section, setting.canopies)
    ]
    done = iter(stopped([(there, case) for case, scenes in rounds for there in scenes]))
    return tuple(
        _tried(case, scenes, list(islice(done, len(scenes))), len(frictions))
        for case, scenes in rounds
    )


def _scenes(setting: Setting, frictions: Sequence[float]) -> list[Scene]:
    """The setting as stated, then with each source of spread off by its uncertainty, then on each surface.

    Ranges of canopy types are not in the spread: their low end is taken.
    """
    stated = setting.of.course.friction
    return [
        scene(setting),
        *_moved(setting),
        *(scene(setting, {stated.id: friction - stated.si}) for friction in frictions),
    ]


def _moved(setting: Setting) -> list[Scene]:
    """The setting with each source of spread off by its uncertainty.

    What makes the run faster and the stop longer does both at once: a tail wind, less drag. The drive's push until
    the throttle is closed, whether or not the speed that the stop begins with is computed.
    """
    known = [x for x in sources(values(setting)) if not x.id.startswith("wheels.")]
    exits = setting.exits or [(shift, (0.0, 0.0)) for shift in offs(setting.of)]
    faster = {tuple(shift): (shift, moved[setting.back]) for shift, moved in exits}
    pushes = scene(setting).thrust(setting.speed)
    found = []
    for x in known:
        _, by = faster.pop((x.id,), ({}, 0.0))
        begins = replace(setting, speed=max(setting.speed + by, 1.0))
        found.append(scene(begins, {x.id: x.uncertainty}, brief=True))
    for shift, by in faster.values():
        moved = scene(replace(setting, speed=max(setting.speed + by, 1.0)), shift, brief=True)
        if by or moved.thrust(setting.speed) != pushes:
            found.append(moved)
    return found


def _tried(case: Case, scenes: list[Scene], done: list[s.Stop], rough: int) -> Tried:
    """First order, from one side of each source."""
    base, last = done[0], len(done) - rough
    spread = math.hypot(*(stop.distance - base.distance for stop in done[1:last]))
    heat = math.hypot(*(stop.brake_energy - base.brake_energy for stop in done[1:last]))
    speeds = [_opened(*pair) for pair in zip(scenes[:last], done, strict=False)]
    stretched = {
        name: math.hypot(*(moved.get(name, speed) - speed for moved in speeds[1:]))
        for name, speed in speeds[0].items()
    }
    begun = [there.setting.speed + max(there.course.wind, 0.0) for there in scenes[:last]]
    starts = [speed - begun[0] for speed in begun]
    shared = {
        name: sum(
            (moved.get(name, speed) - speed) * by for moved, by in zip(speeds, starts, strict=True)
        )
        for name, speed in speeds[0].items()
    }
    return Tried(
        scenes[0].setting,
        case,
        base,
        spread,
        stretched,
        tuple(done[last:]),
        heat,
        math.hypot(*starts),
        shared,
    )


def _opened(there: Scene, stop: s.Stop) -> Mapping[str, float]:
    """The speed through the air, m/s, at which each parachute that opens is stretched."""
    return {_name(h): h.speed + there.course.wind for h in stop.stretched}


def latest_mark(settings: Sequence[Setting], works: Case) -> float | None:
    """The farthest mark behind the timed section at which the first parachute may be pulled, in m, and
    the stop fits in every one of the settings; None if there is none.
    """
    scenes = [scene(setting, brief=True) for setting in settings]
    if not scenes[0].plan.deployments:
        return None

    def fit(marks: Sequence[float]) -> list[bool]:
        asked = [
            (replace(there, plan=p.pulled_at(there.plan, mark)), works)
            for mark in marks
            for there in scenes
        ]
        return _all_fit(settings, stopped(asked))

    return p.last_good(fit, 0.0, min(setting.limit for setting in settings), to=1.0)


def fastest_on_brakes(settings: Sequence[Setting], heat: float | None) -> float | None:
    """The greatest speed at the end of the timed section from which the brakes alone stop in time, m/s.

    In every one of the settings, and without more than that `heat` in J into the brakes, where it is known.
    """
    if settings[0].section.brakes is None:
        return None
    scenes = [scene(setting, brief=True) for setting in settings]

    def fit(speeds: Sequence[float]) -> list[bool]:
        starts = [there.begun(_alone(there), speed) for speed in speeds for there in scenes]
        return _all_fit(settings, s.stops(starts), heat)

    return p.last_good(fit, 1.0, 2.0 * settings[0].speed, to=0.1)


def _alone(there: Scene) -> p.Plan:
    """The brakes alone, used at once."""
    usual, brakes = there.plan, there.plan.brakes
    ready = replace(brakes, below=1e4) if brakes else None
    return replace(usual, deployments=(), brakes=ready)


def _all_fit(
    settings: Sequence[Setting], done: Sequence[s.Stop], heat: float | None = None
) -> list[bool]:
    """For each round of the settings, whether every stop ends on its course, with no more heat than that."""
    fits = [
        not stop.stalled
        and stop.distance <= setting.limit
        and (heat is None or stop.brake_energy <= heat)
        for stop, setting in zip(done, cycle(settings), strict=False)
    ]
    return [all(fits[n : n + len(settings)]) for n in range(0, len(fits), len(settings))]
