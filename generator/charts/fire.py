"""Charts of the subject `fire`: concentrations against their levels, and the agent over time."""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib.axes import Axes

from buildspec.build import Build
from buildspec.kinds import System
from buildspec.quantities import digits, from_si, show
from generator.charts.canvas import (
    ACCENT,
    DASHES,
    GRID,
    HOLDS,
    INK,
    OPEN,
    SERIES,
    SHORT,
    axes,
    figure,
    finish,
    labelled,
)
from generator.charts.chart import Chart
from generator.subjects.fire_records import Course, Detail, Levels
from generator.vocabulary import Outcome

LABEL = 24
HEAD, ZONE = 0.8, 0.85
"""Heights of the key and of one zone, in."""


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """Concentrations against the three levels; agent over time."""
    detail = outcome.detail
    if not isinstance(detail, Detail):
        return ()
    found = []
    if detail.levels:
        found.append(_levels(detail.levels))
    if detail.courses:
        found.append(_courses(detail.courses, build.system))
    return tuple(found)


def _percent(share: float) -> str:
    return f"{digits(100.0 * share, figures=3)} %"


# ------------------------------------------------------------------------------- three levels


def _levels(levels: tuple[Levels, ...]) -> Chart:
    """A bar from the coldest to the hottest concentration for each zone, with the levels as marks."""
    high = HEAD + ZONE * len(levels) + 0.2
    fig = figure(height=high)
    for row, level in enumerate(levels):
        top = HEAD + ZONE * row
        ax = axes(fig, left=1.9, bottom=high - top - 0.5, top=top)
        _zone(ax, level)
        if row == 0:
            _legend(ax)
    ax.set_xlabel(labelled("concentration by volume", "%"))
    return finish(
        fig,
        "fire.levels",
        "Agent against need and exposure",
        " ".join(map(_said, levels)),
        "A bar runs from the concentration when coldest to that when hottest, all agent "
        "evenly mixed in. Each zone has an axis of its own, which does not begin at zero.",
    )


def _zone(ax: Axes, level: Levels) -> None:
    """One zone on an axis that shows its own levels, whatever the others are."""
    _bar(ax, level)
    ax.set_yticks([0.0], [textwrap.fill(level.title, LABEL)])
    ax.set_ylim(0.6, -0.6)
    marks = (level.noael, level.loael) if level.occupied else ()
    shown = [v for v in (level.cold, level.hot, level.design, *marks) if v is not None]
    room = 0.15 * (max(shown) - min(shown)) or 0.1 * max(shown)
    ax.set_xlim(100.0 * max(min(shown) - room, 0.0), 100.0 * (max(shown) + room))
    ax.tick_params(axis="y", length=0)
    ax.grid(visible=True, axis="x", color=GRID)


def _bar(ax: Axes, level: Levels) -> None:
    low, high = sorted((level.cold, level.hot))
    hatch = "////" if level.occupied else ""
    ax.barh(
        0.0,
        100.0 * (high - low),
        left=100.0 * low,
        height=0.34,
        color=SERIES[0],
        edgecolor=INK,
        hatch=hatch,
    )
    marks = [(level.design, "v", HOLDS, -0.27)]
    if level.occupied:
        marks += [(level.noael, "|", SHORT, 0.0), (level.loael, "x", OPEN, 0.27)]
    for value, marker, colour, shift in marks:
        if value is not None:
            ax.plot(
                [100.0 * value],
                [shift],
                marker=marker,
                color=colour,
                markersize=9 if marker != "|" else 22,
                markeredgewidth=2.0,
                linestyle="none",
            )


def _legend(ax: Axes) -> None:
    shown = [
        ("v", HOLDS, "design concentration"),
        ("|", SHORT, "no-effect level"),
        ("x", OPEN, "lowest-effect level"),
    ]
    for marker, colour, words in shown:
        ax.plot(
            [], [], marker=marker, color=colour, linestyle="none", markeredgewidth=2.0, label=words
        )
    ax.legend(
        loc="lower left",
        bbox_to_anchor=(0.0, 1.0),
        ncols=1,
        handletextpad=0.3,
        columnspacing=1.2,
        borderaxespad=0.2,
    )


def _said(level: Levels) -> str:
    """One zone in a sentence."""
    low, high = sorted((level.cold, level.hot))
    words = f"{level.title}: {_percent(low)} to {_percent(high)}"
    if level.design is not None:
        side = "at or above" if low >= level.design else "below"
        words += f", {side} the design concentration of {_percent(level.design)}"
    if level.occupied and level.noael is not None:
        words += (
            f", {'within' if high <= level.noael else 'above'} the no-effect level of "
            f"{_percent(level.noael)} where a person is"
        )
    return words + "."


# -------------------------------------------------------------------------------- over time


def _courses(courses: tuple[Course, ...], system: System) -> Chart:
    """Each zone's agent over the agent needed, from the release on."""
    until = max(_until(c) for c in courses)
    at = np.linspace(0.0, until, 241)
    fig = figure(height=3.2)
    ax = axes(fig, left=0.75, right=0.65, bottom=0.5, top=0.45)
    for number, course in enumerate(courses):
        ax.plot(
            at,
            [_ratio(course, t) for t in at],
            color=SERIES[number % len(SERIES)],
            linestyle=DASHES[number % len(DASHES)],
            label=textwrap.shorten(course.title, 40, placeholder="…"),
        )
    ax.axhline(1.0, color=ACCENT, linewidth=1.2)
    ax.text(until, 1.0, " just\n enough", ha="left", va="center", color=INK, fontsize=8.5)
    ax.set_xlim(0.0, until)
    ax.set_ylim(bottom=0.0)
    ax.set_xlabel(labelled("time from the release", "s"))
    ax.set_ylabel("agent there is over agent needed")
    ax.grid(visible=True, color=GRID)
    ax.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2, borderaxespad=0.2)
    return finish(
        fig,
        "fire.timeline",
        "Discharge in time",
        " ".join(_told(c, system) for c in courses),
        "The agent enters at a constant rate and is carried off by the air that passes through.",
    )


def _until(course: Course) -> float:
    """When the agent is down to the amount needed, and a little more; at least twice the discharge."""
    held = max(course.held or 0.0, 0.0)
    return float(min(max(course.duration * 2.0, (course.duration + held) * 1.15), 300.0))


def _ratio(course: Course, t: float) -> float:
    """Agent in the zone over agent needed at a time: what each bottle has brought, less what blew out."""
    there = 0.0
    for mass, duration in course.bottles:
        entered, since = min(t, duration), max(t - duration, 0.0)
        if course.decay == 0.0:
            there += mass * entered / duration
        else:
            rate = mass / (duration * course.decay)
            there += rate * (1.0 - np.exp(-course.decay * entered)) * np.exp(-course.decay * since)
    return float(there / course.needed)


def _told(course: Course, system: System) -> str:
    """One course in a sentence."""
    ends = str(show(course.duration, "time", system, figures=2))
    factor = digits(course.end / course.needed, figures=2)
    words = f"{course.title}: {factor} times the agent needed when the discharge ends at {ends}"
    if course.end <= course.needed:
        return f"{words}, which is not enough."
    if course.held is None:
        return f"{words}; nothing is carried off."
    last = course.duration + course.held
    return f"{words}; enough until {digits(from_si(last, 'time', 's'), figures=2)} s."
