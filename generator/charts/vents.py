"""Drawings of the subject `vents`: each tank in six attitudes, the way up that it lies."""

from __future__ import annotations

import math
from itertools import groupby
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from buildspec.build import Build
from buildspec.kinds import KINDS, System
from buildspec.quantities import Quantity, from_si
from buildspec.sections.driver import Point
from generator.charts.canvas import (
    ACCENT,
    DASHES,
    GRID,
    HATCHES,
    HOLDS,
    INK,
    OPEN,
    SERIES,
    SHORT,
    figure,
    finish,
    labelled,
)
from generator.charts.chart import Chart
from generator.subjects.vents_records import SIZES, Detail, Lying, Swept
from generator.vocabulary import Outcome

ACROSS = {"z": "x", "y": "x", "x": "y"}
"""Which direction of the vehicle is drawn across the page where another one stands upright."""
COLOURS = {"holds": HOLDS, "short": SHORT, "open": OPEN}


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """One sheet of six small drawings a tank."""
    detail = outcome.detail
    if not isinstance(detail, Detail):
        return ()
    sheets = (_sheet(tuple(same)) for _, same in groupby(detail.lying, key=lambda x: x.tank.id))
    return (*sheets, _turns(detail.swept, build.system))


def _sheet(lying: tuple[Lying, ...]) -> Chart:
    tank = lying[0].tank
    fig = figure(height=4.6)
    for number, one in enumerate(lying):
        column, row = number % 3, number // 3
        ax = fig.add_axes((0.03 + 0.325 * column, 0.53 - 0.5 * row, 0.29, 0.38))
        _draw(ax, one)
    name = tank.name or tank.id
    return finish(
        fig,
        f"vents.{tank.id}.attitudes",
        f"{name} in six attitudes",
        _finding(name, lying),
        "Up on the page is up. Hatched: liquid; line: the vent from its port (dot) to its outlet "
        "(triangle); a bar across the port: a valve that closes.",
    )


# ------------------------------------------------------------------------- every angle


def _turns(swept: tuple[Swept, ...], system: System) -> Chart:
    """Over the angle, how far the vent's highest point stands above the liquid."""
    unit = KINDS["length"].printed_unit(system)
    fig = figure(height=5.4)
    tanks = list(dict.fromkeys(s.tank.id for s in swept))
    for row, word in enumerate(("rolled", "pitched")):
        ax = fig.add_axes((0.12, 0.58 - 0.48 * row, 0.84, 0.34))
        for one in (s for s in swept if s.word == word):
            _turn(ax, one, tanks.index(one.tank.id), unit)
        ax.axhline(0.0, color=INK, linewidth=1.2)
        ax.set_xlim(-180.0, 180.0)
        ax.set_xticks(range(-180, 181, 45))
        ax.set_ylabel(labelled("vent above liquid", unit))
        ax.set_title(word.capitalize())
        ax.grid(color=GRID)
    right, nose = "right side (−) or left side (+)", "tail (−) or nose (+)"
    fig.axes[0].set_xlabel(labelled(f"angle from upright towards the {right}", "°"), labelpad=1)
    fig.axes[1].set_xlabel(labelled(f"angle from upright towards the {nose}", "°"))
    fig.axes[0].legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=3)
    return finish(
        fig,
        "vents.turned",
        "Every tank at every angle",
        _turns_finding(swept),
        "Below the line the liquid stands above the vent's highest point. Where a valve closes by its "
        "stated tilt the curve is drawn thin.",
    )


def _turn(ax: Axes, one: Swept, number: int, unit: str) -> None:
    """One tank: a thick line where its vent is open, a thin one where the valve closes."""
    angles = np.degrees(one.angles[::5])
    above = np.array([from_si(float(v), "length", unit) for v in one.above[::5]])
    look: dict[str, Any] = {"color": SERIES[number % 6], "linestyle": DASHES[number % 6]}
    ax.plot(angles, above, linewidth=0.7, **look)
    opened = np.where(one.closed[::5], np.nan, above)
    ax.plot(angles, opened, linewidth=1.8, label=one.tank.name or one.tank.id, **look)


def _turns_finding(swept: tuple[Swept, ...]) -> str:
    said = []
    for one in swept:
        name, tilt = f"{one.tank.name or one.tank.id}, {one.word}", one.results[-1].value
        if tilt is None:
            said.append(f"{name}: the vent stands above the liquid at every angle")
        else:
            said.append(
                f"{name}: the liquid reaches the open vent from {math.degrees(tilt):.0f}° on"
            )
    return f"{'; '.join(said)}."


def _finding(name: str, lying: tuple[Lying, ...]) -> str:
    runs = [x.attitude for x in lying if x.check.verdict == "short"]
    valves = [x.attitude for x in lying if x.closed]
    first = (
        f"{name}: liquid runs out in the attitudes: {', '.join(runs)}."
        if runs
        else f"{name}: liquid stays in, in every attitude."
    )
    return f"{first} By its valve: {', '.join(valves)}." if valves else first


def _draw(ax: Axes, one: Lying) -> None:
    """One attitude: the box, its liquid, the vent."""
    across = ACROSS[one.axis]
    width, height = _size(one, across), _size(one, one.axis)
    ax.add_patch(
        Rectangle(
            (-width / 2, 0.0),
            width,
            one.level.value or 0.0,
            facecolor=SERIES[0],
            edgecolor=INK,
            hatch=HATCHES[1],
            linewidth=0.5,
            alpha=0.55,
        )
    )
    ax.add_patch(
        Rectangle((-width / 2, 0.0), width, height, fill=False, edgecolor=INK, linewidth=1.4)
    )
    points = [_at(one, p, across, height) for p in one.tank.vent]
    ax.plot([p[0] for p in points], [p[1] for p in points], color=ACCENT, linewidth=1.6)
    ax.plot(
        *points[0],
        marker="_" if one.closed else "o",
        color=ACCENT,
        markersize=12 if one.closed else 5,
        markeredgewidth=3 if one.closed else 1,
    )
    ax.plot(*points[-1], marker="^", color=ACCENT, markersize=7)
    ax.set_aspect("equal", adjustable="datalim")
    ax.margins(0.15)
    ax.set_axis_off()
    word = {"holds": "stays in", "short": "runs out", "open": "not known"}[one.check.verdict]
    ax.set_title(
        f"{one.attitude}:\n{word}{' (valve)' if one.closed else ''}",
        color=COLOURS[one.check.verdict],
    )


def _size(one: Lying, axis: str) -> float:
    size: Quantity = getattr(one.tank, SIZES[axis])
    return size.si


def _at(one: Lying, point: Point, across: str, height: float) -> tuple[float, float]:
    """A point's place on the page: across from the tank's middle, up from its lowest point."""
    side = getattr(point, across).si - getattr(one.tank, across).si
    up = one.sign * (getattr(point, one.axis).si - getattr(one.tank, one.axis).si)
    return side, up + height / 2.0
