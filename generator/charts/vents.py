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
from buildspec.plain import called
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
    per_cent,
)
from generator.charts.chart import Chart
from generator.subjects.vents_records import SIZES, Array, Detail, Free, Lying, Swept
from generator.subjects.vents_sphere import around
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
    spheres = (_sphere(free) for free in detail.free if free.up is not None)
    return (*sheets, _turns(detail.swept, build.system), *spheres)


def _sheet(lying: tuple[Lying, ...]) -> Chart:
    tank = lying[0].tank
    fig = figure(height=4.6)
    for number, one in enumerate(lying):
        column, row = number % 3, number // 3
        ax = fig.add_axes((0.03 + 0.325 * column, 0.53 - 0.5 * row, 0.29, 0.38))
        _draw(ax, one)
    name = called(tank)
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
    ax.plot(angles, opened, linewidth=1.8, label=called(one.tank), **look)


def _turns_finding(swept: tuple[Swept, ...]) -> str:
    said = []
    for one in swept:
        name, tilt = f"{called(one.tank)}, {one.word}", one.results[-1].value
        if tilt is None:
            said.append(f"{name}: the vent stands above the liquid at every angle")
        else:
            said.append(
                f"{name}: the liquid reaches the open vent from {math.degrees(tilt):.0f}° on"
            )
    return f"{'; '.join(said)}."


# --------------------------------------------------------------------------- every attitude

SIDES = (("nose", -1.0, 0.0), ("tail", 1.0, 0.0), ("left", 0.0, -1.0), ("right", 0.0, 1.0))
"""What points down at a quarter turn, and where that lies on the map: the nose at the left, seen from above."""


def _sphere(free: Free) -> Chart:
    """Every attitude of one tank as a map: upright in the middle, inverted at the rim."""
    name, tank = called(free.tank), free.tank
    tilts, towards = np.linspace(0.0, math.pi, 61), np.linspace(0.0, 2.0 * math.pi, 121)
    above, closed = around(tank, tilts, towards)
    tilt, turn = np.meshgrid(tilts, towards, indexing="ij")
    x, y = -np.degrees(tilt) * np.cos(turn), -np.degrees(tilt) * np.sin(turn)
    fig = figure(height=4.6)
    ax = fig.add_axes((0.14, 0.06, 0.72, 0.86))
    runs = np.where(closed > 0.0, 1.0, above)
    if runs.min() < 0.0:
        levels = [min(runs.min(), -1e-9) * 1.01, 0.0]
        ax.contourf(x, y, runs, levels=levels, colors=[SHORT], alpha=0.35)
        ax.contourf(x, y, runs, levels=levels, colors="none", hatches=[HATCHES[1]])
    for angle in (45, 90, 135, 180):
        ring = np.radians(np.linspace(0.0, 360.0, 181))
        ax.plot(angle * np.cos(ring), angle * np.sin(ring), color=GRID if angle < 180 else INK)
        ax.text(angle * 0.707, angle * 0.707, f"{angle}°", fontsize=8.0, color=INK)
    for word, across, up in SIDES:
        ax.text(90 * across, 90 * up, word, ha="center", va="center", fontsize=9.0, color=INK)
    _worst_point(ax, free)
    ax.set_aspect("equal")
    ax.set_axis_off()
    return finish(
        fig,
        f"vents.{tank.id}.any",
        f"{name} in every attitude",
        _sphere_finding(free, runs, tilt),
        "Seen from above with the nose at the left. In the middle it stands upright, on the ring of 90° it lies on "
        "the end or side that is named, at the rim it is upside down. Hatched: the liquid would stand above an "
        "open vent. Cross: the worst attitude.",
    )


def _worst_point(ax: Axes, free: Free) -> None:
    if free.up is None:
        return
    along_, right, upward = (float(v) for v in free.up)
    tilt = math.degrees(math.acos(max(-1.0, min(1.0, upward))))
    flat = math.hypot(along_, right) or 1.0
    place = -tilt * along_ / flat, -tilt * right / flat
    ax.plot(*place, marker="x", color=INK, markersize=9, markeredgewidth=2)


def _sphere_finding(free: Free, runs: Array, tilt: Array) -> str:
    """The part of all attitudes, each direction up as likely as any other, in which liquid would run out."""
    weight = np.sin(tilt)
    share = float((weight * (runs < 0.0)).sum() / weight.sum())
    name = called(free.tank)
    if share == 0.0:
        return f"{name}: liquid stays in, in every attitude."
    valve = ", unless its valve closes" if free.tank.valve and not free.tank.closes_beyond else ""
    return f"{name}: liquid would run out in {per_cent(share)} of all attitudes{valve}."


def _finding(name: str, lying: tuple[Lying, ...]) -> str:
    runs = [x.attitude for x in lying if x.check.verdict == "short"]
    valves = [x.attitude for x in lying if x.closed]
    first = (
        f"{name}: liquid runs out in the attitudes: {', '.join(runs)}."
        if runs
        else f"{name}: liquid stays in, in each of these six."
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
