"""The subject `speed`: how fast the vehicle goes on this course, and what that asks of the tires."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial

from buildspec.build import Build
from buildspec.quantities import Quantity, show
from buildspec.sections.drive import Drive
from buildspec.sections.shape import Shape
from generator.checks import make_check
from generator.formulas.motion import two_way
from generator.run.car import terminal
from generator.run.speed import Run
from generator.subjects.run_axles import axle_checks, lifted, moments_of_run
from generator.subjects.run_model import (
    Parts,
    car,
    gears,
    has_radius,
    ids_of_all,
    made,
    of_air,
    of_sections,
    parts,
    states,
    ways,
)
from generator.subjects.speed_runs import (
    Moved,
    Rough,
    Section,
    Spreads,
    dry,
    moves,
    over_friction,
    run,
    sections,
    spreads,
)
from generator.subjects.speed_said import assumptions, cautions
from generator.subjects.speed_steps import steps
from generator.subjects.speed_tires import TireLine, tire_checks, tire_lines
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Check, OpenItem, Outcome, Result, WorkedStep

WORD = "speed"
SOURCE = "Newton's second law, integrated in steps by an explicit Runge–Kutta method of order 5 with error control"

TRANSONIC = 0.8
"""Mach number above which drag is not that of slow tests: shocks form on most shapes (common practice)."""


@dataclass(frozen=True, slots=True)
class SectionLine:
    """A timed section with its averages, as results."""

    title: str
    out: Result
    back: Result | None
    both: Result | None

    @property
    def counts(self) -> Result:
        """The figure that counts: of both runs where the course asks for two."""
        return self.both or self.out


@dataclass(frozen=True, eq=False)
class Detail:
    """Everything the page and the charts show, and what stopping and stability start from."""

    of: Parts
    out: Run
    back: Run | None
    lines: tuple[SectionLine, ...]
    best: SectionLine
    exit_speed: float
    off: Spreads
    terminal: float
    moved: tuple[Moved, ...]
    tires: tuple[TireLine, ...]
    rough: tuple[Rough, ...]
    inputs: tuple[Quantity, ...]


def evaluate(build: Build, given: Given) -> Outcome | None:
    """The run at full power, or None where no `drive` is described."""
    drive = build.section(Drive)
    if drive is None:
        return None
    of = parts(build, given)
    if isinstance(of, str) or not has_radius(of):
        return _nothing(
            build,
            of or "the sections `aero` and `course` are missing"
            if isinstance(of, str)
            else "no radius of a driven wheel is stated",
        )
    detail = _detail(build, of, given)
    out, back = detail.out, detail.back
    runs = states(build, of, given)
    moments = tuple(moments_of_run(runs, _fastest(of, out, back)))
    reached = max(run.peak for run in (out, back) if run)
    found = (
        *_checks(detail, lifted(moments, reached, of)),
        *axle_checks(WORD, moments, tuple(dict.fromkeys((*of.run_ids, *ids_of_all(runs))))),
        *tire_checks(detail.tires),
    )
    return Outcome(
        subject=WORD,
        results=tuple(_results(detail)),
        checks=found,
        steps=_steps(detail),
        cautions=cautions(of, out, back, _fastest(of, out, back)),
        assumptions=assumptions(of),
        open_items=(*_open_items(detail, build), *of_air(of, WORD, found)),
        detail=detail,
    )


def _detail(build: Build, of: Parts, given: Given) -> Detail:
    out = run(of)
    back = run(of, back=True) if of.course.two_way else None
    off = spreads(of)
    lines = tuple(_lines(of, out, back, off, of.run_ids))
    best = max(lines, key=lambda line: line.counts.value or 0.0)
    return Detail(
        of,
        out,
        back,
        lines,
        best,
        _exit(out, back),
        off,
        _terminal(of),
        moves(of, best.counts.id.split(".")[2]),
        tire_lines(states(build, of, given), _asked(of, (out, back), off)),
        over_friction(of, best.counts.id.split(".")[2], best.counts.value),
        of_sections(build, "vehicle", "drive", "aero", "course", "wheels"),
    )


def _nothing(build: Build, why: str) -> Outcome:
    """The outcome where a run cannot be computed: the check of the target stays open with the reason."""
    lacking = Result("speed.average", "Average speed", None, "speed", absent=why)
    asked = Result("speed.target", "Target speed", None, "speed", absent=why)
    check = make_check(
        "speed.check.target", "Target speed is reached", demand=asked, capacity=lacking
    )
    return Outcome(subject=WORD, results=(lacking,), checks=(check,))


def _exit(out: Run, back: Run | None) -> float:
    """The greatest speed at the end of the last timed section, either way, m/s."""
    return max(float(r.trace.speed[-1]) for r in (out, back) if r is not None)


def _fastest(of: Parts, out: Run, back: Run | None) -> float:
    """The greatest speed either computed or aimed at, m/s."""
    target = of.vehicle.target_speed.si if of.vehicle and of.vehicle.target_speed else 0.0
    return max(target, *(r.peak for r in (out, back) if r is not None))


def _asked(of: Parts, runs: tuple[Run, Run | None], off: Spreads) -> Result:
    """That speed as tires have to bear it: a computed one is as uncertain as the speed that its run ends with."""
    out, back = runs
    fastest = _fastest(of, out, back)
    computed = [n for n, run in enumerate(runs) if run is not None and run.peak == fastest]
    target = of.vehicle.target_speed if of.vehicle else None
    return Result(
        "speed.fastest",
        "Greatest speed computed or aimed at",
        fastest,
        "speed",
        max((off.at_exit(n) for n in computed), default=0.0),
        inputs=of.run_ids if computed or target is None else (target.id,),
    )


def _terminal(of: Parts) -> float:
    return max(terminal(car(of), way, gear) for way in ways(of) for gear in gears(of))


# ------------------------------------------------------------------------------ results


def _lines(
    of: Parts, out: Run, back: Run | None, off: Spreads, inputs: tuple[str, ...]
) -> Iterable[SectionLine]:
    for there, again in zip(sections(of), sections(of, back=True), strict=True):
        line, first = partial(_average, there, inputs), there.average(out)
        one = line(("out", "out"), first, off.out, absent=out.stalled)
        if back is None:
            yield SectionLine(there.title, one, None, None)
            continue
        second, stalled = again.average(back), out.stalled or back.stalled
        both = two_way(first=first, second=second) if first and second else None
        yield SectionLine(
            there.title,
            one,
            line(("back", "back"), second, off.back, absent=back.stalled),
            line(("both", "both ways"), both, off.both, absent=stalled),
        )


def _average(
    section: Section,
    inputs: tuple[str, ...],
    way: tuple[str, str],
    value: float | None,
    off: Mapping[str, float],
    *,
    absent: str,
) -> Result:
    """The average over a section; `way` is out, back or both, as a part of an id and in words."""
    name, title = f"speed.average.{section.id}.{way[0]}", f"Average over {section.title}, {way[1]}"
    u = off.get(section.id, 0.0)
    return made(name, title, value, "speed", u=u, absent=absent, inputs=inputs)


def _on_rough(detail: Detail) -> Iterable[Result]:
    """The average that counts, on surfaces of other friction."""
    for one in detail.rough:
        yield made(
            f"speed.friction.{one.mark}",
            f"Average over {detail.best.title} at a friction of {one.friction:g}",
            one.value,
            "speed",
            absent="the run does not get through the timed sections there",
            inputs=detail.best.counts.inputs,
        )


def _of_run(way: str, done: Run, inputs: tuple[str, ...]) -> Iterable[Result]:
    """The figures of one run, `out` or `back`."""
    for word, title, value, kind in (
        ("peak", "Peak speed", done.peak, "speed"),
        ("time", "Time to the end of the last timed section", done.time, "time"),
        (
            "grip_share",
            "Share of the way that grip limits and not power",
            done.grip_share,
            "share",
        ),
    ):
        yield Result(f"speed.{word}.{way}", f"{title}, {way}", value, kind, inputs=inputs)


def _results(detail: Detail) -> Iterable[Result]:
    yield from _on_rough(detail)
    inputs = detail.of.run_ids
    for line in detail.lines:
        yield from (r for r in (line.out, line.back, line.both) if r)
    yield from (
        r
        for way, done in (("out", detail.out), ("back", detail.back))
        if done
        for r in _of_run(way, done, inputs)
    )
    yield from _moved(detail)
    if detail.of.drive and detail.of.drive.fuel_flow:
        yield Result(
            "speed.burned",
            "Fuel burned to the end of the last timed section, out",
            detail.out.burned,
            "mass",
            inputs=inputs,
        )
    better = ", in the better direction" if detail.back else ""
    yield Result(
        "speed.terminal",
        f"Speed at which thrust and resistance balance, on an endless course{better}",
        detail.terminal,
        "speed",
        inputs=inputs,
    )
    yield Result(
        "speed.exit",
        "Greatest speed at the end of the last timed section",
        detail.exit_speed,
        "speed",
        detail.off.at_exit(0 if detail.exit_speed == _exit(detail.out, None) else -1),
        inputs=inputs,
    )


def _moved(detail: Detail) -> Iterable[Result]:
    """What small changes do to the average that counts, and where each gear is taken on the run out."""
    inputs = detail.of.run_ids
    for one in detail.moved:
        title = f"Change of the average over {detail.best.title} by {one.words}"
        yield made(
            f"speed.moved.{one.mark}",
            title,
            one.change,
            "speed",
            inputs=inputs,
            absent="the section is not got through",
        )
    for number, _, speed in detail.out.shifts:
        title = f"Speed at which gear {number} is taken, out"
        yield Result(f"speed.gear.{number}", title, speed, "speed", inputs=inputs)


def _checks(detail: Detail, airborne: str) -> Iterable[Check]:
    vehicle, drive = detail.of.vehicle, detail.of.drive
    if vehicle is None or drive is None:
        return
    counts, factor = _possible(detail, airborne), drive.speed_factor
    for word, title, asked in (
        ("target", "Target speed is reached", vehicle.target_speed),
        ("record", "Class record is passed", vehicle.class_record),
    ):
        if asked:
            goal = factor.si if word == "target" else 1.0
            demand = Result(
                asked.id,
                {"target": "Target speed", "record": "Class record"}[word],
                asked.si,
                "speed",
                asked.standard_uncertainty,
            )
            yield make_check(
                f"speed.check.{word}",
                title,
                demand=demand,
                capacity=_by_known_drag(detail, counts, asked.si * goal),
                sources=(SOURCE,),
                factor=goal,
                inputs=(*counts.inputs, asked.id, *((factor.id,) if word == "target" else ())),
                basis_of_verdict=f"best average over a timed section: {detail.best.title}",
                ways="more power, less drag, less mass or a longer run-up",
            )


def _possible(detail: Detail, airborne: str) -> Result:
    """The speed that counts; none where an axle lifts, or the fuel does not last to the end of the timed sections."""
    runs = (run for run in (detail.out, detail.back) if run)
    empty = any(dry(detail.of, run) is not None for run in runs)
    if not (empty or airborne):
        return detail.best.counts
    gone = "by the stated fuel flow the fluids aboard are burned before the last timed section ends"
    why = airborne or gone
    return replace(detail.best.counts, value=None, standard_uncertainty=0.0, absent=why)


def _by_known_drag(detail: Detail, counts: Result, asked: float) -> Result:
    """The speed that counts; none where it is enough only by a drag that nobody states at such Mach numbers.

    More drag than is counted makes a speed that is too low no better: that stays.
    """
    of = detail.of
    known = max(TRANSONIC, *(row.mach.si for row in of.aero.drag_over_mach), 0.0) * of.sound
    if counts.value is None or counts.value < asked or asked <= known:
        return counts
    why = f"how drag grows beyond Mach {known / of.sound:.2g} is not stated: `aero.drag_over_mach`"
    return replace(counts, value=None, standard_uncertainty=0.0, absent=why)


def _steps(detail: Detail) -> tuple[WorkedStep, ...]:
    best = detail.best
    back = best.back.value if best.back else None
    return steps(detail.of, detail.out, best.counts.id.split(".")[2], best.out.value, back)


def _open_items(detail: Detail, build: Build) -> tuple[OpenItem, ...]:
    found = []
    if build.section(Shape) is None:
        found.append(
            OpenItem(
                "speed.shape",
                WORD,
                "missing",
                "No shape is described: nobody knows whether it runs straight, and what a crosswind does to it",
                "describe bodies, fins and wheels under `shape`, or the whole by a test or CFD",
            )
        )
    for way, done in (("out", detail.out), ("back", detail.back)):
        if done and done.stalled:
            found.append(
                OpenItem(
                    f"speed.stalled.{way}",
                    WORD,
                    "open",
                    f"The run {way} does not get through the timed sections: "
                    f"{done.stalled}; it gets {show(done.distance, 'distance', detail.of.system)} far.",
                    "look at power, resistance and run-up",
                    ("speed.check.target",),
                )
            )
    return tuple(found)


SUBJECT = Subject(
    word=WORD,
    title="Speed",
    group="The run",
    evaluate=evaluate,
    needs=("mass", "air"),
    purpose="How fast the vehicle goes on this course with this power, what limits it where, and what that asks "
    "of the tires.",
)
