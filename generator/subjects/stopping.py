"""The subject `stopping`: how far each stop goes with everything working and with each thing failing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from buildspec.build import Build
from buildspec.quantities import show
from buildspec.sections.parachutes import Canopy, Parachutes
from buildspec.sections.stopping import Stopping as Section
from generator.checks import make_check
from generator.run.speed import Run
from generator.run.stop import Stop
from generator.spread import Shift
from generator.subjects.parachutes import Detail as ChuteDetail
from generator.subjects.parachutes import load_speed, too_slow
from generator.subjects.parachutes_loads import Loads
from generator.subjects.run_axles import axle_checks, lifted
from generator.subjects.run_model import (
    State,
    has_radius,
    ids,
    made,
    of_air,
    of_sections,
    parts,
    states,
)
from generator.subjects.speed import Detail as SpeedDetail
from generator.subjects.speed_runs import FRICTIONS
from generator.subjects.stopping_cases import (
    WORKS,
    Case,
    Setting,
    Tried,
    cases,
    fastest_on_brakes,
    inputs,
    latest_mark,
    peak,
    tried,
)
from generator.subjects.stopping_records import WORD, CaseLine, Detail, Surface, Way
from generator.subjects.stopping_rotors import (
    Heat,
    carried,
    hottest,
    left_for,
    of_room,
    risen,
    rotor_check,
)
from generator.subjects.stopping_said import assumptions, cautions, open_items
from generator.subjects.stopping_steps import steps
from generator.subjects.stopping_tires import braked_tires, moments_of_stop
from generator.subjects.stopping_together import moments_together, most_pull, together
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Check, Outcome, Result

NO_ANSWER = "the stop cannot be integrated to its end"
SOURCE = "Newton's second law, integrated in steps by an explicit Runge–Kutta method of order 5 with error control"


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Every stop, or None where no `stopping` is described."""
    section = build.section(Section)
    if section is None:
        return None
    out = _setting(build, given, section)
    if isinstance(out, str):
        return _nothing(out)
    ways, runs = _ways(out), states(build, out.of, given)
    loaded = [_loaded(way, state) for way in ways for state in runs]
    moments = tuple(moments_of_stop(loaded))
    airborne = lifted(moments, out.speed, out.of)
    ways = tuple(replace(way, lifted=airborne) for way in ways)
    loaded = [replace(setting, lifted=airborne) for setting in loaded]
    detail = _detail(build, _stopped(ways, loaded, given), loaded)
    behind = tuple(i for line in detail.lines for i in line.distance.inputs)
    at_once = moments_together(
        (one for way in detail.ways for one in way.tried), _chute_loads(given)
    )
    checks = (
        *(line.check for line in detail.lines),
        *_rotors(detail),
        *_openings(detail),
        *axle_checks(WORD, moments, inputs(loaded, WORKS)),
        *together(at_once, _chute_loads(given), behind),
        *braked_tires(loaded),
    )
    return Outcome(
        subject=WORD,
        results=(*_results(detail), *most_pull(at_once, tuple(dict.fromkeys(behind)))),
        checks=checks,
        steps=steps(detail.lines[0], hottest(detail.ways)[0]),
        cautions=tuple(cautions(detail)),
        assumptions=tuple(assumptions(detail)),
        open_items=(*open_items(detail), *of_air(out.of, WORD, checks)),
        detail=detail,
    )


def _loaded(way: Setting, state: State) -> Setting:
    """The setting in a condition; what its mass and centre do to the speed is known of the design condition."""
    there, of = way.of, state.of
    pairs = ((there.mass, of.mass), (there.cg_x, of.cg_x), (there.cg_height, of.cg_height))
    names = {one.id: other.id for one, other in pairs}
    exits = tuple(
        ({names.get(name, name): by for name, by in shift.items()}, moved)
        for shift, moved in way.exits
    )
    return replace(way, of=of, state=state.title, exits=exits)


def _stopped(ways: tuple[Setting, ...], loaded: list[Setting], given: Given) -> tuple[Way, ...]:
    """The stops of every case in every direction, the one with the worst check first."""
    every = tried(loaded, FRICTIONS)
    found = []
    for setting in ways:
        own = tuple(one for one in every if one.setting.back == setting.back)
        by_case = [
            [one for one in own if one.case == case]
            for case in cases(setting.section, setting.canopies)
        ]
        lines = tuple(_line(same) for same in by_case)
        found.append(Way(setting, lines, own, _run(given, back=setting.back)))
    return tuple(sorted(found, key=lambda way: min(_rank(line.check) for line in way.lines)))


def _detail(build: Build, ways: tuple[Way, ...], loaded: list[Setting]) -> Detail:
    lines = tuple(_worst(same) for same in zip(*(way.lines for way in ways), strict=True))
    second = max((carried(way, ways) for way in ways), key=lambda heat: heat.joules)
    before = Result(
        "stopping.carried",
        "Rise that the rotors still have as the second run's stop begins",
        None,
        "temperature difference",
        inputs=lines[0].distance.inputs,
    )
    return Detail(
        ways[0].setting,
        ways,
        lines,
        _latest(loaded, lines[0].case),
        _fastest(loaded, left_for(loaded, ways)),
        tuple(_surface(lines, n, friction) for n, friction in enumerate(FRICTIONS)),
        of_sections(build, "stopping", "parachutes", "course", "aero"),
        risen(ways[0].setting, before, second) if second.joules > 0.0 else None,
    )


def _worst(same: tuple[CaseLine, ...]) -> CaseLine:
    """A case in its worse direction, with deceleration and heat the greatest of both."""
    worst = min(same, key=lambda line: _rank(line.check))
    hot = max(same, key=lambda line: line.energy.value or 0.0)
    hard = max(same, key=lambda line: line.peak.value or 0.0)
    return replace(worst, energy=hot.energy, rise=hot.rise, peak=hard.peak)


def _setting(build: Build, given: Given, section: Section) -> Setting | str:
    """The setting of all stops, or what is missing, in words."""
    of = parts(build, given)
    if isinstance(of, str):
        return of or "the sections `aero` and `course` are missing"
    if section.brakes and not has_radius(of):
        return "the radius of the braked wheels is not stated"
    chutes = build.section(Parachutes)
    pace = load_speed(of, section.speed, given)
    if pace.speed <= 0.0:
        return "no speed is known: state `stopping.speed`, `vehicle.target_speed` or a `drive`"
    canopies = {c.id: c for c in chutes.canopies} if chutes else {}
    slow = too_slow(of, section.speed, given)
    return Setting(
        of,
        section,
        canopies,
        pace.speed,
        pace.why,
        False,
        of.course.shut_down.si,
        slow,
        _load_speeds(given),
        exits=_exits(given) if pace.off else (),
        paced=pace.ids,
    )


def _exits(given: Given) -> tuple[tuple[Shift, tuple[float, ...]], ...]:
    """What each source does to the speed that a run ends with; nothing where none is computed."""
    speed = given.outcomes.get("speed")
    detail = speed.detail if speed else None
    return detail.off.exits if isinstance(detail, SpeedDetail) else ()


def _ways(out: Setting) -> tuple[Setting, ...]:
    """The stop of the run out, and of the run back where there are two: its grade and wind are reversed."""
    course = out.of.course
    if not course.two_way:
        return (out,)
    back = replace(out, back=True, available=course.run_up.si)
    return (back, out) if back.available < out.available else (out, back)


def _rank(check: Check) -> tuple[int, float]:
    """Orders checks, the worst first."""
    return ("short", "open", "holds").index(check.verdict), check.margin or 0.0


def _chute_loads(given: Given) -> dict[str, Loads]:
    """The loads of the parachutes, as far as they were computed."""
    chutes = given.outcomes.get("parachutes")
    detail = chutes.detail if chutes else None
    if not isinstance(detail, ChuteDetail):
        return {}
    return {chute.canopy.id: chute.loads for chute in detail.chutes}


def _load_speeds(given: Given) -> dict[str, Result]:
    """The speeds that the loads of the parachutes were computed at, as far as they were."""
    return {name: _load_speed(name, loads) for name, loads in _chute_loads(given).items()}


def _load_speed(name: str, loads: Loads | None) -> Result:
    return made(
        f"stopping.load_speed.{name}",
        "Speed through the air its loads were computed at",
        loads.through if loads else None,
        "speed",
        u=loads.pace.off if loads else 0.0,
        absent="its loads were not computed",
        inputs=loads.paced if loads else (),
    )


def _run(given: Given, *, back: bool) -> Run | None:
    """The run, out or back, that ends where the stop considered begins."""
    speed = given.outcomes.get("speed")
    detail = speed.detail if speed else None
    if not isinstance(detail, SpeedDetail):
        return None
    return detail.back if back else detail.out


def _nothing(why: str) -> Outcome:
    lacking = Result("stopping.distance", "Distance to stop", None, "distance", absent=why)
    check = make_check(
        "stopping.check.works", "Stops on the course", demand=lacking, capacity=lacking
    )
    return Outcome(subject=WORD, results=(lacking,), checks=(check,))


def _line(same: list[Tried]) -> CaseLine:
    """A case as results: the stop of the condition in which it goes farthest, with the greatest deceleration
    and heat of any.
    """
    far = max(same, key=lambda one: (bool(one.stop.stalled), one.stop.distance))
    setting, case, done = far.setting, far.case, far.stop
    behind = inputs((one.setting for one in same), case)
    hot = max(same, key=lambda one: one.stop.brake_energy)
    heat = Heat(hot.stop.brake_energy, hot.heat_off)
    most = max(peak(one.setting, one.stop) for one in same)
    rolls = show(done.final_speed, "speed", setting.of.system)
    stalled = done.stalled and f"{_never(done)}: {done.stalled}, at {rolls}"

    def figure(word: str, title: str, value: float | None, kind: str, u: float = 0.0) -> Result:
        return made(
            f"stopping.case.{case.id}.{word}",
            f"{case.title}: {title}",
            value,
            kind,
            u=u,
            absent=stalled,
            inputs=behind,
        )

    u = 0.0 if stalled else far.uncertainty
    reached = None if stalled else done.distance
    distance = figure("distance", "distance to stop", reached, "distance", u)
    rise = "rise of the rotors' mean temperature"
    return CaseLine(
        setting,
        case,
        done,
        distance,
        figure("time", "time to stop", None if stalled else done.time, "time"),
        figure("peak", "greatest deceleration", most, "acceleration"),
        figure("energy", "heat into the brakes", heat.joules, "energy", heat.off),
        risen(setting, figure("rise", rise, None, "temperature difference"), heat),
        _fits(setting, case, _rolled(case, done, distance), _never(done)),
        far.rough,
    )


def _rolled(case: Case, done: Stop, distance: Result) -> Result:
    """The distance to stop; where it never stops, how far it has rolled: no less than that is asked."""
    if not done.stalled:
        return distance
    name = f"stopping.case.{case.id}.rolled"
    title = f"{case.title}: distance rolled; {distance.absent}"
    return replace(distance, id=name, title=title, value=done.distance, absent="")


def _never(done: Stop) -> str:
    """What is said of a stop that comes to no end: rolling on, or beyond what can be integrated."""
    return "it never stops by itself" if done.late or not done.stalled else NO_ANSWER


def _fits(setting: Setting, case: Case, distance: Result, never: str) -> Check:
    """The distance of a case against the course that is left; `never` says why there may be none."""
    length, behind = setting.length, distance.inputs
    capacity = Result(
        length.id, "Length of course left", length.si, "distance", length.standard_uncertainty
    )
    factor = setting.section.factor
    # What has rolled so far says nothing where it is less than the course: it rolls on.
    rolls_on = distance.id.endswith(".rolled") and (distance.value or 0.0) <= setting.limit
    if rolls_on:
        distance = replace(distance, value=None, absent=never)
    return make_check(
        f"stopping.check.{case.id}",
        f"Stops on the course: {case.title.lower()}",
        demand=_from_full_speed(setting, distance),
        capacity=capacity,
        factor=factor.si,
        inputs=(*behind, length.id, factor.id),
        sources=(SOURCE,),
        basis_of_verdict=_worse(setting),
        ways="pull earlier, more brake or canopy, a slower run, or a course with more room to stop",
    )


def _worse(setting: Setting) -> str:
    """The direction and the condition of a stop, in words."""
    way = f"the run {setting.way}, the worse of both; " if setting.way else ""
    return f"{way}loaded as it goes farthest: {setting.state}"


def _from_full_speed(setting: Setting, demand: Result) -> Result:
    """The demand, or none where the stop begins too slow, or with an axle off the ground."""
    if not setting.unfit:
        return demand
    return replace(demand, value=None, standard_uncertainty=0.0, absent=setting.unfit)


def _of_limits(settings: list[Setting]) -> tuple[str, ...]:
    """Ids of what a stop has to fit on, in any direction."""
    return ids(q for setting in settings for q in (setting.length, setting.section.factor))


def _latest(settings: list[Setting], works: Case) -> Result:
    """The mark that suits every direction and condition."""
    return made(
        "stopping.latest_mark",
        "Farthest mark behind the timed sections at which the first parachute may be pulled",
        latest_mark(settings, works),
        "distance",
        inputs=(*inputs(settings, works), *_of_limits(settings)),
        absent="the stop does not fit even with the first parachute pulled at once"
        if settings[0].section.deploy
        else "no parachute is deployed",
    )


def _fastest(settings: list[Setting], heat: float | None) -> Result:
    """The speed that suits every direction and condition."""
    alone = Case("brakes", "", tuple(settings[0].canopies))
    cool = ", no hotter than they may get" if heat is not None else ""
    return made(
        "stopping.fastest_on_brakes",
        f"Greatest speed from which the brakes alone stop on the course{cool}",
        fastest_on_brakes(settings, heat),
        "speed",
        inputs=(*inputs(settings, alone), *_of_limits(settings), *of_room(settings[0])),
        absent="no speed at all" if settings[0].section.brakes else "no brakes are described",
    )


def _surface(lines: tuple[CaseLine, ...], number: int, friction: float) -> Surface:
    """The distances on one of the other surfaces, each where the case is worst on the stated one."""
    found = []
    for line in lines:
        done = line.rough[number]
        name = f"stopping.friction.{friction:g}".replace("0.", "0_")
        found.append(
            made(
                f"{name}.{line.case.id}",
                f"{line.case.title}: distance to stop at a friction of {friction:g}",
                None if done.stalled else done.distance,
                "distance",
                absent="it never stops by itself",
                inputs=line.distance.inputs,
            )
        )
    return Surface(friction, tuple(found))


def _results(detail: Detail) -> Iterable[Result]:
    yield from (detail.latest, detail.fastest, *((detail.carried,) if detail.carried else ()))
    for surface in detail.rough:
        yield from surface.distances
    for line in detail.lines:
        yield from (line.distance, line.time, line.peak, line.energy, line.rise)
    for line in (line for way in detail.ways for line in way.lines if line.setting.way):
        title = f"{line.distance.title}, the run {line.setting.way}"
        yield replace(line.distance, id=f"{line.distance.id}.{line.setting.way}", title=title)


# ------------------------------------------------------------------------------- checks


def _rotors(detail: Detail) -> Iterable[Check]:
    """The hottest stop against the greatest temperature."""
    how = _worse(hottest(detail.ways)[0].setting).replace("goes farthest", "gets hottest")
    lines = (line.distance for way in detail.ways for line in way.lines)
    return rotor_check(detail.ways, lines, how)


def _openings(detail: Detail) -> Iterable[Check]:
    """The greatest speed at which each parachute opens in any case, against the speed its loads were computed at."""
    setting = detail.setting
    for name in dict.fromkeys(d.parachute for d in setting.section.deploy):
        canopy = setting.canopies[name]
        came = [
            one
            for way in detail.ways
            for tried_ in way.tried
            for one in tried_.opens
            if one.name == name
        ]
        if not came:
            continue
        fast, opened = max(came, key=lambda one: one.speed), {one.case for one in came}
        lines = (line for way in detail.ways for line in way.lines if line.case in opened)
        demand = Result(
            f"stopping.opening.{name}",
            "Greatest speed through the air at line stretch, any case, direction and condition",
            fast.speed,
            "speed",
            fast.off,
            inputs=tuple(dict.fromkeys(i for line in lines for i in line.distance.inputs)),
        )
        capacity = _reckoned(canopy, setting.computed.get(name) or _load_speed(name, None))
        # A computed speed moves both: the faster the run, the faster its loads are reckoned for.
        moves = capacity.standard_uncertainty > 0.0
        capacity = replace(capacity, standard_uncertainty=fast.begun if moves else 0.0)
        yield make_check(
            f"stopping.check.opening.{name}",
            f"{canopy.name}: opens no faster than its loads were computed for",
            demand=_from_full_speed(setting, demand),
            capacity=capacity,
            inputs=(*demand.inputs, *capacity.inputs),
            covariance=fast.shared if moves else 0.0,
            basis_of_verdict=f"worst case: {fast.case.title.lower()}",
            ways="pull it at a lower speed, or have it and its strap reckoned and rated for this one",
            fixed="capacity",
        )


def _reckoned(canopy: Canopy, computed: Result) -> Result:
    """The speed that a parachute may open at: that of its loads, or its maker's where that is less."""
    most = canopy.most_speed
    inputs = (*computed.inputs, *((most.id,) if most else ()))
    if most and computed.value is not None and most.si < computed.value:
        said = "Greatest speed its maker allows, below that of its loads"
        return Result(most.id, said, most.si, "speed", inputs=inputs)
    return replace(computed, inputs=inputs)


SUBJECT = Subject(
    word=WORD,
    title="Stopping",
    group="The run",
    evaluate=evaluate,
    needs=("mass", "air", "speed", "parachutes"),
    purpose="Whether the vehicle stops on what is left of the course, when everything works and when something fails.",
)
