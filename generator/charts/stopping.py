"""The charts of stopping: each case against the course, speed over distance, heat of the rotors."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from matplotlib.axes import Axes

from buildspec.build import Build
from buildspec.kinds import KINDS, System
from buildspec.quantities import from_si, show
from generator.charts.canvas import (
    DASHES,
    GRID,
    HATCHES,
    INK,
    MARKERS,
    MUTED,
    SERIES,
    SHORT,
    axes,
    figure,
    finish,
    labelled,
)
from generator.charts.chart import Chart
from generator.charts.speed import Array, distance_unit, draw_course, from_all
from generator.subjects.stopping_heat import room
from generator.subjects.stopping_records import CaseLine, Detail, Way
from generator.vocabulary import Outcome


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """Bars of all cases, speed over distance, and rotor temperatures where they are known."""
    detail = outcome.detail
    if not isinstance(detail, Detail):
        return ()
    heat = (_heat(detail, build),) if any(line.rise.value for line in detail.lines) else ()
    whole = (_whole(way, build.system) for way in detail.ways if way.run)
    return (_bars(detail, build), _speed(detail, build), *whole, *heat)


def _bars(detail: Detail, build: Build) -> Chart:
    """Every case, one bar a direction, against the length of course that is left in it."""
    factor, unit = detail.setting.section.factor.si, KINDS["distance"].printed_unit(build.system)
    ways = sorted(detail.ways, key=lambda way: way.setting.back)
    tall = 0.3 + 0.24 * len(ways)
    key = 0.2 * len({way.setting.available for way in ways})
    fig = figure(height=0.9 + key + tall * len(detail.lines))
    ax = axes(fig, left=2.3, bottom=0.5 + key)
    places = np.arange(len(detail.lines))[::-1]
    for n, way in enumerate(ways):
        for place, line in zip(places, way.lines, strict=True):
            _bar(ax, float(place), (n, len(ways)), line, build.system)
    lengths = _ends(ax, ways, unit)
    ax.set_yticks(places, [line.case.title for line in detail.lines])
    ax.set_ylim(-0.6, len(places) - 0.05)
    ax.set_xlabel(labelled("distance behind the timed sections", unit))
    reaches = [
        from_si(factor * x.stop.distance, "distance", unit) for way in ways for x in way.lines
    ]
    ax.set_xlim(0, 1.12 * max(*lengths, *reaches))
    ax.grid(color=GRID, axis="x")
    fig.legend(loc="lower left", bbox_to_anchor=(0.0, 0.0))
    both = " Of each pair the upper bar is the run out." if len(ways) > 1 else ""
    return finish(
        fig,
        "stopping.cases",
        "Every case against the course",
        _said(detail, build),
        f"The dashed outline is the distance times the factor of {factor:g}; beyond the line there "
        f"is no course. Bars that fall short are hatched.{both}",
    )


def _ends(ax: Axes, ways: list[Way], unit: str) -> list[float]:
    """A line where the course ends, in each direction, with a key; the lengths, printed."""
    lengths = [from_si(way.setting.available, "distance", unit) for way in ways]
    same = max(lengths) - min(lengths) < 1e-6 * max(lengths)
    for n, length in enumerate(lengths[:1] if same else lengths):
        words = "end of the course" if same else f"end of the course, run {ways[n].setting.way}"
        ax.axvline(length, color=INK, linewidth=1.3, linestyle=DASHES[n], label=words)
    return lengths


def _bar(ax: Axes, place: float, of: tuple[int, int], line: CaseLine, system: System) -> None:
    """One case in one direction, number and count in `of`: its distance, and around it that times the factor."""
    short, (number, count) = line.check.verdict == "short", of
    factor = line.setting.section.factor.si
    reach = from_si(line.stop.distance, "distance", KINDS["distance"].printed_unit(system))
    thick, outline = 0.62 / count, (0, (3, 2))
    place += 0.5 * thick * (count - 1) - number * thick
    ax.barh(
        [place],
        [factor * reach],
        height=0.55 * thick,
        color="none",
        edgecolor=MUTED,
        linestyle=outline,
    )
    ax.barh(
        [place],
        [reach],
        height=0.92 * thick,
        color=SHORT if short else SERIES[number],
        hatch=HATCHES[1] if short else "",
    )
    if number:
        return
    said = str(show(line.stop.distance, "distance", system, figures=3))
    ax.text(
        0.01,
        place + 0.53 * thick,
        "does not stop" if line.stop.stalled else said,
        transform=ax.get_yaxis_transform(),
        fontsize=7.5,
        color=INK,
        va="bottom",
    )


def _said(detail: Detail, build: Build) -> str:
    lines = detail.lines
    short = [line.case.title for line in lines if line.check.verdict == "short"]
    never = [line.case.title for line in lines if line.stop.stalled]
    said = (
        f"{len(lines) - len(short) - len(never)} of {len(lines)} cases stop on the course with the factor asked"
        + (", in both directions" if len(detail.ways) > 1 else "")
        + (f"; short: {', '.join(short)}" if short else "")
        + (f"; never stops: {', '.join(never)}" if never else "")
    )
    far = max((way.lines[0].stop.distance for way in detail.ways), default=0.0)
    return f"{said}. With everything working it takes {show(far, 'distance', build.system)}."


def _speed(detail: Detail, build: Build) -> Chart:
    """Speed over distance in every case, one panel a direction."""
    system = build.system
    unit, speed = KINDS["distance"].printed_unit(system), KINDS["speed"].printed_unit(system)
    ways = sorted(detail.ways, key=lambda way: way.setting.back)
    key = 0.1 + 0.185 * math.ceil(len(detail.lines) / 2)
    panel = 3.1 if len(ways) == 1 else 2.6
    fig = figure(height=0.5 + key + panel * len(ways))
    most = 1.03 * max(
        from_si(max(way.setting.available, *(x.stop.distance for x in way.lines)), "distance", unit)
        for way in ways
    )
    for n, way in enumerate(ways):
        bottom = 0.5 + key + panel * (len(ways) - 1 - n)
        ax = axes(fig, bottom=bottom, top=panel * n + (0.32 if way.setting.way else 0.08))
        for number, line in enumerate(way.lines):
            _course_of(ax, number, line, (unit, speed), named=n == 0)
        ax.axvline(from_si(way.setting.available, "distance", unit), color=INK, linewidth=1.3)
        ax.set_title(f"Run {way.setting.way}" if way.setting.way else "")
        ax.set_ylabel(labelled("speed", speed))
        ax.set_ylim(0, None)
        ax.set_xlim(0, most)
        ax.grid(color=GRID)
        if n < len(ways) - 1:
            ax.set_xticklabels([])
    ax.set_xlabel(labelled("distance behind the timed sections", unit))
    fig.legend(loc="lower left", bbox_to_anchor=(0.0, 0.0), ncols=2)
    return finish(
        fig,
        "stopping.speed",
        "Speed over distance in every case",
        _first(detail, system),
        "Discs: line stretch of a parachute. Squares: brakes on. Upright line: end of the course.",
    )


def _course_of(ax: Axes, n: int, line: CaseLine, units: tuple[str, str], *, named: bool) -> None:
    """One stop, with its line stretches as discs and its brakes as a square."""
    _, x, v = line.stop.trace
    colour, (unit, speed) = SERIES[n % 6], units
    ax.plot(
        [from_si(float(a), "distance", unit) for a in x],
        [from_si(float(a), "speed", speed) for a in v],
        color=colour,
        linestyle=DASHES[n % 6],
        label=line.case.title if named else None,
    )
    braked = [h for h in line.stop.happenings if h.what == "brakes on"]
    marked = [(h, MARKERS[0], 5) for h in line.stop.stretched]
    marked += [(h, MARKERS[1], 4) for h in braked]
    for h, marker, size in marked:
        place = from_si(h.distance, "distance", unit), from_si(h.speed, "speed", speed)
        ax.plot([place[0]], [place[1]], color=colour, marker=marker, markersize=size)


def _first(detail: Detail, system: System) -> str:
    """Where the first parachute is stretched when everything works."""
    left = detail.lines[0].stop.stretched
    if not left:
        return "No parachute is used."
    return (
        f"With everything working the first parachute is stretched "
        f"{show(left[0].distance, 'distance', system, figures=3)} behind the timed sections at "
        f"{show(left[0].speed, 'speed', system, figures=3)}."
    )


def _whole(way: Way, system: System) -> Chart:
    """From the start line to standstill with everything working, the course beneath."""
    setting, run = way.setting, way.run
    of, back = setting.of, setting.back
    unit, speed = distance_unit(system), KINDS["speed"].printed_unit(system)
    fig = figure(height=4.3)
    ax = axes(fig, bottom=1.25)
    _, behind, slowing = way.lines[0].stop.trace
    driven, fast = (run.trace.distance, run.trace.speed) if run else (np.zeros(1), np.zeros(1))
    total, begin = of.course.total, float(driven[-1])

    def place(along: Array) -> Array:
        return from_all(total - along if back else along, "distance", unit)

    for x, v, words, n in (
        (driven, fast, "full throttle", 0),
        (begin + behind, slowing, "stop, everything works", 1),
    ):
        colour, dash = SERIES[n], DASHES[n]
        ax.plot(place(x), from_all(v, "speed", speed), color=colour, linestyle=dash, label=words)
    _marks(ax, way, begin, place, speed)
    ax.set_ylabel(labelled("speed", speed))
    ax.set_ylim(0, None)
    ax.set_xlim(0, from_si(total, "distance", unit))
    ax.grid(color=GRID)
    ax.legend(loc="lower center")
    band = axes(fig, bottom=0.5, top=3.35)
    draw_course(band, of, system)
    band.set_xlim(ax.get_xlim())
    band.set_xlabel(labelled("distance from the start line of the run out", unit))
    ax.set_xticklabels([])
    return finish(
        fig,
        f"stopping.whole.{'back' if back else 'out'}",
        f"The run {'back' if back else 'out'}, from start to standstill",
        _left_over(way, system),
        "Disc: line stretch of a parachute; square: brakes on. The stop begins at the speed stated "
        "above the table of cases, which may lie above the computed one.",
    )


def _marks(ax: Axes, way: Way, begin: float, place: Callable[[Array], Array], speed: str) -> None:
    """Line stretches and brakes, named where they happen."""
    for h in way.lines[0].stop.happenings:
        stretched = h.what.startswith("stretched: ")
        if not stretched and h.what != "brakes on":
            continue
        at = float(place(np.array([begin + h.distance]))[0]), from_si(h.speed, "speed", speed)
        marker = MARKERS[0] if stretched else MARKERS[1]
        ax.plot([at[0]], [at[1]], marker=marker, color=INK, markersize=5, linestyle="none")
        canopy = way.setting.canopies.get(h.what.removeprefix("stretched: "))
        ax.annotate(
            canopy.name if canopy else "brakes",
            at,
            xytext=(-7, 2) if way.setting.back else (7, 2),
            textcoords="offset points",
            ha="right" if way.setting.back else "left",
            va="top",
            fontsize=7.5,
            color=INK,
        )


def _left_over(way: Way, system: System) -> str:
    done, length = way.lines[0].stop, way.setting.available
    if done.stalled:
        return "With everything working the vehicle never stops by itself."
    said = show(abs(length - done.distance), "distance", system, figures=3)
    how = "of the course left over" if done.distance <= length else "beyond the end of the course"
    return f"With everything working the vehicle stands with {said} {how}."


def _carried(detail: Detail) -> float:
    """The rise in K that the rotors bring from a first run."""
    return (detail.carried.value or 0.0) if detail.carried else 0.0


def _heat(detail: Detail, build: Build) -> Chart:
    system = build.system
    unit = KINDS["temperature difference"].printed_unit(system)
    rows = [line for line in detail.lines if line.rise.value is not None]
    fig = figure(height=0.9 + 0.32 * len(rows))
    ax = axes(fig, left=2.3)
    places = np.arange(len(rows))[::-1]
    before = from_si(_carried(detail), "temperature difference", unit)
    for place, line in zip(places, rows, strict=True):
        value = before + from_si(line.rise.value or 0.0, "temperature difference", unit)
        if before:
            ax.barh([place], [before], height=0.6, color=GRID, edgecolor=INK, hatch="//")
        ax.barh([place], [value - before], left=before, height=0.6, color=SERIES[1])
        ax.text(value, float(place), f" {value:,.0f}", va="center", fontsize=8.0, color=INK)
    ax.set_yticks(places, [line.case.title for line in rows])
    ax.set_xlabel(labelled("rise of the rotors' mean temperature", unit))
    left = room(detail.setting)
    if left is not None:
        ax.axvline(from_si(left, "temperature difference", unit), color=INK, linewidth=1.3)
    ax.margins(x=0.12)
    ax.grid(color=GRID, axis="x")
    hottest = max(rows, key=lambda line: line.rise.value or 0.0)
    return finish(
        fig,
        "stopping.heat",
        "Heat of the rotors",
        f"The rotors get hottest when: {hottest.case.title.lower()}, with a rise of "
        f"{show(_carried(detail) + (hottest.rise.value or 0.0), 'temperature difference', system, figures=3)}"
        f"{', what a first run leaves in them included' if before else ''}.",
        " ".join(
            (
                *(("Hatched: what a first run leaves in them.",) if before else ()),
                *(
                    ("Upright line: from the air's temperature to the greatest allowed.",)
                    if left is not None
                    else ()
                ),
            )
        ),
    )
