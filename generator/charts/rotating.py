"""Drawing of the subject `rotating`: burst zones with what lies beside them, from the side and from
above.
"""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from buildspec.build import Build
from buildspec.kinds import KINDS
from buildspec.plain import called
from buildspec.quantities import from_si
from buildspec.sections.rotating import Part
from generator.charts.canvas import (
    ACCENT,
    DASHES,
    GRID,
    HATCHES,
    INK,
    MUTED,
    SERIES,
    SHORT,
    figure,
    finish,
    labelled,
)
from generator.charts.chart import Chart
from generator.charts.marks import key, write_key
from generator.formulas.rotating import box_edges
from generator.subjects.rotating import Detail, Target, vector
from generator.vocabulary import Outcome

VIEWS = (("From the side", 2, "z"), ("From above", 1, "y"))
AXES = {"x": 0, "y": 1, "z": 2}


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """One drawing in two views."""
    detail = outcome.detail
    if not isinstance(detail, Detail) or not detail.targets:
        return ()
    unit = KINDS["length"].printed_unit(build.system)
    rows = key(tuple(t.name for t in detail.targets))
    fig = figure(height=6.2 + 0.17 * len(rows))
    for number in range(len(VIEWS)):
        _view(fig, number, detail, unit)
    write_key(fig, rows, 0.11)
    return (
        finish(
            fig,
            "rotating.drawing",
            "Burst zones, from the side and from above",
            _finding(detail),
            "The nose is on the left. Hatched: the burst zone of each part, as wide as at its "
            "place in this view, and the part's outline (star); solid and dashed: lines; boxes: tanks, "
            "bottles and mass items; dots: the driver, and what has no stated size; numbers: the key below.",
        ),
    )


def _finding(detail: Detail) -> str:
    inside = [
        f"{h.target.name} in that of {called(h.part)}"
        f"{' (a shield is stated)' if h.part.shield else ''}"
        for h in detail.hits
        if h.inside
    ]
    if not inside:
        return "Nothing described lies in a burst zone."
    return f"In burst zones: {'; '.join(inside)}."


def _view(fig: Figure, number: int, detail: Detail, unit: str) -> None:
    title, other, letter = VIEWS[number]
    tall = float(fig.get_size_inches()[1])
    ax = fig.add_axes((0.11, 1.0 - (2.65 + 2.95 * number) / tall, 0.86, 2.25 / tall))
    ax.set_title(title)
    ax.grid(visible=True, color=GRID)
    ax.set_xlabel(labelled("x, aft of the origin", unit))
    ax.set_ylabel(labelled(letter, unit))
    for n, target in enumerate(detail.targets):
        _target(ax, target, other, unit, n)
    ax.margins(x=0.14)
    low, high = ax.get_ylim()
    for part in detail.parts:
        _zone(ax, part, other, (low - 0.1 * (high - low), high + 0.1 * (high - low)), unit)
    ax.set_ylim(low - 0.1 * (high - low), high + 0.1 * (high - low))


def _scaled(values: np.ndarray | list[float], unit: str) -> list[float]:
    return [from_si(float(v), "length", unit) for v in values]


def _target(ax: Axes, target: Target, other: int, unit: str, number: int) -> None:
    """A line as a line, a box by its edges, a point as a dot."""
    corners = [vector(p) for p in target.points]
    if target.size is not None:
        for a, b in box_edges(corners[0], np.array([q.si for q in target.size])):
            ax.plot(
                _scaled([a[0], b[0]], unit),
                _scaled([a[other], b[other]], unit),
                color=MUTED,
                linewidth=1.2,
            )
    elif len(corners) > 1:
        ax.plot(
            _scaled([c[0] for c in corners], unit),
            _scaled([c[other] for c in corners], unit),
            color=SERIES[number % len(SERIES)],
            linestyle=DASHES[number % len(DASHES)],
            linewidth=2.0,
        )
    else:
        ax.plot(
            _scaled([corners[0][0]], unit),
            _scaled([corners[0][other]], unit),
            marker="o",
            color=INK,
            markersize=5,
        )
    x, y = _scaled([corners[-1][0]], unit)[0], _scaled([corners[-1][other]], unit)[0]
    ax.annotate(
        str(number + 1),
        (x, y),
        xytext=(3, 4 if number % 2 else -10),
        textcoords="offset points",
        fontsize=7.5,
        color=INK,
    )


def _zone(ax: Axes, part: Part, other: int, limits: tuple[float, float], unit: str) -> None:
    """The zone as seen in this view: a wedge across the page where the axis lies along x, else a
    strip along it.
    """
    centre = vector(part)
    axis = AXES[part.axis]
    spread = math.tan(part.spread_angle.si)
    half = from_si(part.half_width.si, "length", unit)
    x, y = _scaled([centre[0], centre[other]], unit)
    if axis == 0:
        at = np.linspace(limits[0], limits[1], 41)
        wide = half + spread * np.abs(at - y)
        ax.fill_betweenx(
            at,
            x - wide,
            x + wide,
            facecolor=SHORT,
            edgecolor=SHORT,
            hatch=HATCHES[1],
            linewidth=0.8,
            alpha=0.25,
        )
    elif axis == other:
        low, high = ax.get_xlim()
        along = np.linspace(low, high, 41)
        wide = half + spread * np.abs(along - x)
        ax.fill_between(
            along,
            y - wide,
            y + wide,
            facecolor=SHORT,
            edgecolor=SHORT,
            hatch=HATCHES[1],
            linewidth=0.8,
            alpha=0.25,
        )
    _outline(ax, part, other, unit)
    ax.plot([x], [y], marker="*", color=ACCENT, markersize=10)


def _outline(ax: Axes, part: Part, other: int, unit: str) -> None:
    """The part itself, as its disc is seen in this view."""
    sizes = [part.radius.si] * 3
    sizes[AXES[part.axis]] = part.half_width.si
    wide, high = (from_si(sizes[n], "length", unit) for n in (0, other))
    x, y = _scaled([float(vector(part)[n]) for n in (0, other)], unit)
    ax.add_patch(Rectangle((x - wide, y - high), 2 * wide, 2 * high, fill=False, edgecolor=ACCENT))
