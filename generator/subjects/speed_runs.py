"""The runs of the subject `speed`: out and back, averages over the timed sections, what moves them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from buildspec.plain import called
from buildspec.quantities import Quantity
from generator.formulas import motion
from generator.run.quick import Passed, RunUp, run_ups
from generator.run.speed import TOLERANCE, Run, run_up
from generator.spread import NOWHERE, Shift, at, moved, sources
from generator.subjects import air
from generator.subjects.run_model import Parts, car, course, gears


@dataclass(frozen=True, slots=True)
class Section:
    """A timed section in one direction: its marks from that direction's start line, m."""

    id: str
    title: str
    start: float
    end: float

    def average(self, run: Run) -> float | None:
        """Average speed over the section in m/s; None where the run did not get through it."""
        times = {c.mark: c.time for c in run.crossings}
        first, last = times.get(self.start), times.get(self.end)
        if first is None or last is None or last <= first:
            return None
        return (self.end - self.start) / (last - first)


@dataclass(frozen=True, slots=True)
class Moved:
    """What one change does to the speed: words of the change, the speed's change in m/s (None: not reached), and a
    mark for ids.
    """

    words: str
    change: float | None
    mark: str


FRICTIONS = (0.3, 0.4, 0.5, 0.6)
"""Loose, damp or worn surface to a hard one: the range in which dry lakes and salt lie by common practice."""


@dataclass(frozen=True, slots=True)
class Rough:
    """What comes out on a surface of another friction; None where it is not reached."""

    friction: float
    value: float | None

    @property
    def mark(self) -> str:
        """The friction as a part of an id: `0_3`."""
        return f"{self.friction:g}".replace(".", "_")


def sections(of: Parts, *, back: bool = False) -> tuple[Section, ...]:
    """The timed sections in the order of the description; for the way back measured from the far end."""
    found = []
    for timed in of.course.timed:
        start = of.course.run_up.si + (timed.start.si if timed.start else 0.0)
        made = Section(timed.id, called(timed), start, start + timed.length.si)
        total = of.course.total
        found.append(
            replace(made, start=total - made.end, end=total - made.start) if back else made
        )
    return tuple(found)


def run(
    of: Parts,
    shift: Shift = NOWHERE,
    *,
    back: bool = False,
    tolerance: float = TOLERANCE,
    samples: int = 40,
) -> Run:
    """One run through all timed sections; on the way back the wind and the grade are turned."""
    drive, way = of.drive, course(of, shift)
    if drive is None:
        raise ValueError("a run needs a drive")
    stretches = sections(of, back=back)
    marks = sorted({m for s in stretches for m in (s.start, s.end)})
    return run_up(
        car(of, shift),
        way.reversed() if back else way,
        gears(of, shift),
        marks=marks,
        start=at(drive.start_speed, shift),
        tolerance=tolerance,
        samples=samples,
        shift_time=at(drive.engine.shift_time, shift) if drive.engine else 0.0,
        flow=max(at(drive.fuel_flow, shift), 0.0) if drive.fuel_flow else 0.0,
        aboard=math.inf if of.fluids is None else of.fluids,
    )


def dry(of: Parts, done: Run) -> float | None:
    """When all fluids aboard would be burned in a run, s, where that is before its end."""
    flow = of.drive.fuel_flow if of.drive else None
    if flow is None or of.fluids is None or flow.si * done.time <= of.fluids:
        return None
    return of.fluids / flow.si


def averages(of: Parts, shifts: Sequence[Shift]) -> list[Mapping[str, float]]:
    """For each shift the speed that counts over each timed section, m/s: of the run out, or of both runs.

    By quadrature. Sections that are not got through are left out. The mass stays that of the start: for
    differences.
    """
    return [_counting(_by_way(of, passed)) for passed in _passed(of, shifts)]


def _passed(of: Parts, shifts: Sequence[Shift]) -> list[tuple[Passed, ...]]:
    """For each shift the run in each direction."""
    ways = (False, True) if of.course.two_way else (False,)
    found = run_ups([one for shift in shifts for one in _run_ups(of, shift, ways)])
    return [tuple(found[n : n + len(ways)]) for n in range(0, len(found), len(ways))]


def _by_way(of: Parts, passed: tuple[Passed, ...]) -> list[Mapping[str, float]]:
    """The averages of the run out, and of the run back where there is one."""
    return [_averages(sections(of, back=bool(n)), one.times) for n, one in enumerate(passed)]


def _counting(ways: Sequence[Mapping[str, float]]) -> Mapping[str, float]:
    return ways[0] if len(ways) == 1 else _two_way(*ways)


def _run_ups(of: Parts, shift: Shift, ways: Iterable[bool]) -> Iterable[RunUp]:
    """The run in each direction, with the values moved."""
    drive, way = of.drive, course(of, shift)
    if drive is None:
        raise ValueError("a run needs a drive")
    model, box = car(of, shift), gears(of, shift)
    for back in ways:
        yield RunUp(
            model,
            way.reversed() if back else way,
            box,
            sorted({m for s in sections(of, back=back) for m in (s.start, s.end)}),
            at(drive.start_speed, shift),
            at(drive.engine.shift_time, shift) if drive.engine else 0.0,
        )


def _averages(stretches: Iterable[Section], passed: Mapping[float, float]) -> Mapping[str, float]:
    return {
        s.id: (s.end - s.start) / (passed[s.end] - passed[s.start])
        for s in stretches
        if s.start in passed and s.end in passed
    }


def _two_way(out: Mapping[str, float], back: Mapping[str, float]) -> Mapping[str, float]:
    return {
        name: motion.two_way(first=v, second=back[name]) for name, v in out.items() if name in back
    }


@dataclass(frozen=True)
class Spreads:
    """Standard uncertainties of a run's speeds, m/s: of each section's average out, back and both ways, by its id.

    `exits` holds, for each source off by its uncertainty, by how much the speed at the end of the timed
    sections changes in each direction.
    """

    out: Mapping[str, float]
    back: Mapping[str, float]
    both: Mapping[str, float]
    exits: tuple[tuple[Shift, tuple[float, ...]], ...]

    def at_exit(self, way: int) -> float:
        """Of the speed at the end of the timed sections, out (0) or back (1)."""
        return math.hypot(*(by[way] for _, by in self.exits))


def spreads(of: Parts) -> Spreads:
    """Standard uncertainties of the speeds, first order.

    A wind that helps one way hinders the other: only the average of both runs is spared most of it.
    """
    shifts = offs(of)
    down = [{name: -by for name, by in shift.items()} for shift in shifts]
    base, *found = _passed(of, [NOWHERE, *shifts, *down])
    pairs = list(zip(found[: len(shifts)], found[len(shifts) :], strict=True))
    usual, ways = _by_way(of, base), [tuple(_by_way(of, one) for one in pair) for pair in pairs]
    exits = (tuple(map(_exit_moved, *pair, base)) for pair in pairs)
    return Spreads(
        _off(usual[0], ((more[0], less[0]) for more, less in ways)),
        _off(usual[-1], ((more[-1], less[-1]) for more, less in ways)),
        _off(_counting(usual), ((_counting(more), _counting(less)) for more, less in ways)),
        tuple(zip(shifts, exits, strict=True)),
    )


def offs(of: Parts) -> list[Shift]:
    """Each source of a run's spread, off by its standard uncertainty.

    Rows of one table are taken to be off together, as one instrument makes them; all else independently.
    """
    table = {q.id: u for q in powers(of) if (u := q.standard_uncertainty)}
    found = sources((*of.values, *of.drive_values))
    alone: list[Shift] = [{s.id: s.uncertainty} for s in found if s.id not in table]
    return [*alone, table] if table else alone


def _exit_moved(more: Passed, less: Passed, base: Passed) -> float:
    """What a source does to the last speed. A run that does not get there has lost all of it."""
    return moved(more.last or 0.0, less.last or 0.0, base.last or 0.0)


def _off(
    base: Mapping[str, float], pairs: Iterable[tuple[Mapping[str, float], Mapping[str, float]]]
) -> Mapping[str, float]:
    """Of each section, from its averages with each source up and down; a section not got through counts as 0."""
    every = tuple(pairs)
    return {
        name: math.hypot(*(moved(m.get(name, 0.0), n.get(name, 0.0), usual) for m, n in every))
        for name, usual in base.items()
    }


def moves(of: Parts, section: str) -> tuple[Moved, ...]:
    """What small changes of the vehicle and the day do to the speed that counts."""
    changes = tuple(_changes(of))
    base, *others = (
        a.get(section) for a in averages(of, [NOWHERE, *(shift for *_, shift in changes)])
    )
    return tuple(
        Moved(words, there - base if there is not None and base is not None else None, mark)
        for (mark, words, _), there in zip(changes, others, strict=True)
    )


def over_friction(of: Parts, section: str, counts: float | None) -> tuple[Rough, ...]:
    """The speed that counts on surfaces of other friction; `counts` is the one at the stated friction.

    Differences come from the quadrature and are added to the stepped integration's figure.
    """
    stated, found = of.course.friction, []
    others = [{stated.id: friction - stated.si} for friction in FRICTIONS]
    base, *rough = (a.get(section) for a in averages(of, [NOWHERE, *others]))
    for friction, there in zip(FRICTIONS, rough, strict=True):
        known = counts is not None and base is not None and there is not None
        value = counts + there - base if known else None  # type: ignore[operator]
        found.append(Rough(friction, value))
    return tuple(found)


def _changes(of: Parts) -> Iterable[tuple[str, str, Shift]]:
    """A mark, words and the shift of each change."""
    area = of.aero.drag_area or of.aero.frontal_area
    if area:
        what = "drag area" if of.aero.drag_area else "frontal area"
        yield "area", f"1 % more {what}", {area.id: 0.01 * area.si}
    yield "power", "1 % less power", {q.id: -0.01 * q.si for q in powers(of)}
    yield "mass", "100 lb (45.4 kg) more mass", {of.mass.id: 45.359237}
    yield (
        "warmer",
        "10 °F (5.6 K) warmer, the engine giving the same",
        {of.density.id: _warmer(of, 10.0 / 1.8)},
    )
    yield "friction", "friction 0.1 less", {of.course.friction.id: -0.1}
    more = "5 mph (8 km/h) of head wind more on the way out"
    yield "head_wind", more, {of.course.head_wind.id: 2.2352}


def powers(of: Parts) -> tuple[Quantity, ...]:
    """The quantities of the description that power is proportional to."""
    drive = of.drive
    if drive is None:
        return ()
    if drive.engine:
        return tuple(row.torque for row in drive.engine.curve)
    return (drive.power,) if drive.power else tuple(row.power for row in drive.power_table)


def _warmer(of: Parts, kelvin: float) -> float:
    """How much the density changes when the air is that much warmer, kg/m³."""
    detail = of.air.detail
    if not isinstance(detail, air.Detail):
        return 0.0
    now = air.State(detail.temperature, detail.pressure, detail.humidity)
    return replace(now, temperature=now.temperature + kelvin).density - now.density
