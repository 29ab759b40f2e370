"""The charts of speed: the run over the course, and the forces over speed."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from buildspec.build import Build
from buildspec.kinds import KINDS, System
from buildspec.quantities import from_si, show
from generator.charts.canvas import (
    ACCENT,
    DASHES,
    GRID,
    HATCHES,
    INK,
    MUTED,
    SERIES,
    axes,
    figure,
    finish,
    labelled,
    per_cent,
)
from generator.charts.chart import Chart
from generator.run.car import Forces, forces, grip
from generator.subjects.run_model import Parts, car, course, gears
from generator.subjects.speed import Detail
from generator.vocabulary import Outcome

Array = NDArray[np.float64]


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """Speed over distance, and forces over speed."""
    detail = outcome.detail
    return (_run(detail, build), _forces(detail, build)) if isinstance(detail, Detail) else ()


def distance_unit(system: System) -> str:
    """The unit of the course on a chart: miles or kilometres."""
    return "mi" if system is System.US else "km"


def draw_course(ax: Axes, of: Parts, system: System) -> None:
    """The course to scale as a band: run-up, timed sections, shut-down."""
    unit = distance_unit(system)
    to = [
        from_si(x, "distance", unit)
        for x in (0.0, of.course.run_up.si, of.course.end, of.course.total)
    ]
    for (left, right), words in zip(
        itertools.pairwise(to), ("run-up", "timed", "shut-down"), strict=True
    ):
        ax.barh(
            [0.0],
            [right - left],
            left=left,
            height=0.9,
            facecolor=SERIES[0] if words == "timed" else "none",
            edgecolor=MUTED,
            hatch=HATCHES[1] if words == "timed" else "",
        )
        ax.text(
            0.5 * (left + right), -1.15, words, ha="center", va="center", fontsize=8.0, color=INK
        )
    ax.set_ylim(-1.7, 0.6)
    ax.set_yticks([])
    for side in ("left", "right", "top", "bottom"):
        ax.spines[side].set_visible(False)


def _run(detail: Detail, build: Build) -> Chart:
    of, system = detail.of, build.system
    unit, speed = distance_unit(system), KINDS["speed"].printed_unit(system)
    fig = figure(height=4.3)
    ax = axes(fig, bottom=1.25)
    _traces(ax, detail, unit, speed)
    _shifts(ax, detail, unit, speed)
    _lines(ax, detail, speed)
    ax.set_ylabel(labelled("speed", speed))
    ax.set_ylim(0, None)
    ax.set_xlim(0, from_si(of.course.total, "distance", unit))
    ax.grid(color=GRID)
    ax.legend(loc="lower right")
    band = axes(fig, bottom=0.5, top=3.35)
    draw_course(band, of, system)
    band.set_xlim(ax.get_xlim())
    band.set_xlabel(labelled("distance from the start line", unit))
    ax.set_xticklabels([])
    return finish(
        fig,
        "speed.over_distance",
        "Speed over distance",
        _said(detail, system),
        "Triangles are shifts; the band below is the course to scale.",
    )


def _traces(ax: Axes, detail: Detail, unit: str, speed: str) -> None:
    """Both runs over the course as it lies, the way back from its far end."""
    total = detail.of.course.total
    for run, words, colour, dash in (
        (detail.out, "out", SERIES[0], DASHES[0]),
        (detail.back, "back", SERIES[1], DASHES[1]),
    ):
        if run:
            places = run.trace.distance if words == "out" else total - run.trace.distance
            ax.plot(
                from_all(places, "distance", unit),
                from_all(run.trace.speed, "speed", speed),
                color=colour,
                linestyle=dash,
                label=f"run {words}",
            )


def _shifts(ax: Axes, detail: Detail, unit: str, speed: str) -> None:
    for number, place, pace in detail.out.shifts:
        x, y = from_si(place, "distance", unit), from_si(pace, "speed", speed)
        ax.plot([x], [y], marker="v", color=INK, markersize=5)
        ax.annotate(
            f"gear {number}",
            (x, y),
            xytext=(4, -11),
            textcoords="offset points",
            fontsize=7.5,
            color=MUTED,
        )


def _lines(ax: Axes, detail: Detail, unit: str) -> None:
    vehicle = detail.of.vehicle
    asked = (("target", vehicle.target_speed), ("record", vehicle.class_record)) if vehicle else ()
    for (words, quantity), dash in zip(asked, (DASHES[3], DASHES[2]), strict=False):
        if quantity:
            level = from_si(quantity.si, "speed", unit)
            ax.axhline(level, color=ACCENT, linestyle=dash, linewidth=1.1)
            ax.text(
                0.01,
                level,
                words,
                transform=ax.get_yaxis_transform(),
                va="bottom",
                fontsize=8.0,
                color=INK,
            )


def _said(detail: Detail, system: System) -> str:
    counts = detail.best.counts
    if counts.value is None:
        return f"The run does not get through the timed sections: {counts.absent}."
    peak = show(detail.out.peak, "speed", system, figures=4)
    grip_ = f"{per_cent(detail.out.grip_share)} of the way out grip is the limit, not power"
    both = " over both runs" if detail.best.both else ""
    return (
        f"The run out peaks at {peak}; the {detail.best.title} averages "
        f"{show(counts.value, 'speed', system)}{both}. "
        f"On {grip_}."
    )


def from_all(values: Array, kind: str, unit: str) -> Array:
    """An array of SI values in a unit."""
    return np.array([from_si(float(v), kind, unit) for v in values])


def _forces(detail: Detail, build: Build) -> Chart:
    of, system = detail.of, build.system
    speed, force = (KINDS[k].printed_unit(system) for k in ("speed", "force"))
    speeds = np.linspace(2.0, 1.12 * max(detail.out.peak, detail.terminal), 160)
    acting = [forces(car(of), course(of), float(v)) for v in speeds]
    fig = figure(height=4.0)
    ax = axes(fig, left=0.85, bottom=0.95)
    x = from_all(speeds, "speed", speed)
    rows = (
        (np.array([a.resistance for a in acting]), "all resistance", SERIES[0], DASHES[0]),
        (np.array([a.drag for a in acting]), "of it drag", SERIES[1], DASHES[1]),
    )
    for values, words, colour, dash in rows:
        ax.plot(x, from_all(values, "force", force), color=colour, linestyle=dash, label=words)
    top = _thrusts(ax, of, speeds, acting, (speed, force))
    ax.set_ylim(0, 2.0 * from_si(top, "force", force))
    ax.set_xlim(0, float(x[-1]) or 1.0)
    ax.set_xlabel(labelled("speed", speed))
    ax.set_ylabel(labelled("force", force))
    ax.grid(color=GRID)
    fig.legend(loc="lower left", bbox_to_anchor=(0.0, 0.0), ncols=2)
    return finish(
        fig,
        "speed.forces",
        "Forces over speed",
        _forces_finding(detail, system),
        "The vehicle accelerates with the lower of thrust and grip, less the resistance.",
    )


def _thrusts(
    ax: Axes, of: Parts, speeds: Array, acting: Sequence[Forces], units: tuple[str, str]
) -> float:
    """The engine's thrust in each gear and the driven wheels' grip; returns the greatest grip, N."""
    model, x, top = car(of), from_all(speeds, "speed", units[0]), 0.0
    limit: list[float] = []
    for number, gear in enumerate(gears(of), 1):
        limit = [
            grip(model, a, model.driven, mass=gear.mass, resistance=a.resistance, sign=1.0)
            for a in acting
        ]
        inside = speeds <= gear.speeds[-1] if not gear.power else speeds > 0.0
        thrust = np.array([gear.thrust(float(v)) for v in speeds])
        wanted = np.where(inside, thrust, np.nan)
        words = "thrust of the engine, each gear" if number == 1 else None
        line = from_all(wanted, "force", units[1])
        ax.plot(x, line, color=SERIES[2], linestyle=DASHES[2], linewidth=1.1, label=words)
        top = max(top, float(np.max(limit)))
    held = from_all(np.array(limit), "force", units[1])
    ax.plot(x, held, color=INK, linestyle=DASHES[3], label="grip of the driven wheels")
    return top


def _forces_finding(detail: Detail, system: System) -> str:
    of = detail.of
    balance = show(detail.terminal, "speed", system)
    reach = (
        "long enough to come within 2 % of it"
        if detail.out.peak > 0.98 * detail.terminal
        else "too short to get there"
    )
    resist = show(forces(car(of), course(of), detail.terminal).resistance, "force", system)
    return f"Thrust and resistance balance at {balance}, with {resist} of resistance; the course is {reach}."
