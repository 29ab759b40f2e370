"""One drawing that joins reaches, fire zones, burst zones, tanks, bottles and lines, to scale."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from buildspec.build import Build
from buildspec.kinds import KINDS
from buildspec.plain import called
from buildspec.quantities import from_si
from buildspec.sections.controls import Controls
from buildspec.sections.driver import Driver
from buildspec.sections.fire import Fire, Zone
from buildspec.sections.rotating import Part, Rotating
from buildspec.sections.vents import Vents
from generator.charts.canvas import (
    ACCENT,
    DASHES,
    GRID,
    HATCHES,
    HOLDS,
    INK,
    MUTED,
    SERIES,
    SHORT,
    WIDTH,
    figure,
    finish,
    labelled,
)
from generator.charts.chart import Chart
from generator.charts.marks import key, write_key
from generator.subjects.reach_bodies import arm, seated

LEFT, RIGHT = 0.6, 0.12
"""Inches beside the drawing."""


@dataclass(frozen=True, slots=True)
class View:
    """One view: `axis` is the direction of the vehicle that is up on the page; `shown` its range, m."""

    title: str
    axis: str
    shown: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Thing:
    """Something with a number: corners of its middle line, or a box about its one point, m."""

    name: str
    points: tuple[tuple[float, float, float], ...]
    size: tuple[float, float, float] | None = None


def whole(driver: Driver, build: Build) -> Chart:
    """The driver with everything described that burns, bursts, leaks or must be reached."""
    unit = KINDS["length"].printed_unit(build.system)
    things, zones = tuple(_things(build)), _zones(build)
    across = _range(driver, things, zones, 0)
    views = tuple(
        View(title, axis, _range(driver, things, (), number))
        for title, axis, number in (("From the side", "z", 2), ("From above", "y", 1))
    )
    scale = (WIDTH - LEFT - RIGHT) / (across[1] - across[0])
    tall = [scale * (v.shown[1] - v.shown[0]) for v in views]
    rows = key(tuple(t.name for t in things))
    fig = figure(WIDTH, sum(tall) + (2.1 if zones else 1.45) + 0.17 * len(rows))
    top = float(fig.get_size_inches()[1])
    for view, high in zip(views, tall, strict=True):
        top -= high + 0.3
        ax = _axes(fig, top, high)
        _view(ax, view, (across, unit), driver, build)
        for number, thing in enumerate(things, 1):
            _thing(ax, number, thing, 2 if view.axis == "z" else 1, unit)
        if view is views[0]:
            top = _strip(fig, top, zones, across, unit) - 0.3
        else:
            ax.set_xlabel(labelled("x, aft of the origin", unit))
    write_key(fig, rows, LEFT / WIDTH)
    return finish(
        fig, "reach.whole", "Reaches, zones and planes", _finding(things, zones, build), CAPTION
    )


CAPTION = (
    "To scale, the nose on the left; the driver's right is up in the view from above. Dashed arcs: belted "
    "reach; small dots: controls; circle: helmet; hatched: burst zones of rotating parts (stars); numbers: the "
    "key below the drawing. The band between the views shows the fire zones, hatched where people are."
)


def _things(build: Build) -> Iterable[Thing]:
    """Tanks, bottles and lines, as far as they have a place."""
    vents, fire, rotating = (build.section(k) for k in (Vents, Fire, Rotating))
    for tank in vents.tanks if isinstance(vents, Vents) else ():
        at = (tank.x.si, tank.y.si, tank.z.si)
        yield Thing(called(tank), (at,), (tank.length.si, tank.width.si, tank.height.si))
    for bottle in fire.bottles if isinstance(fire, Fire) else ():
        if bottle.x and bottle.y and bottle.z:
            size = bottle.size
            yield Thing(
                called(bottle),
                ((bottle.x.si, bottle.y.si, bottle.z.si),),
                (size.x.si, size.y.si, size.z.si) if size else None,
            )
    for line in rotating.lines if isinstance(rotating, Rotating) else ():
        yield Thing(called(line), tuple((p.x.si, p.y.si, p.z.si) for p in line.points))


def _zones(build: Build) -> tuple[Zone, ...]:
    fire = build.section(Fire)
    return tuple(z for z in fire.zones if z.start and z.end) if fire else ()


def _range(
    driver: Driver, things: tuple[Thing, ...], zones: tuple[Zone, ...], number: int
) -> tuple[float, float]:
    """The range along one direction that holds everything, with a margin, m."""
    axis = "xyz"[number]
    found = [getattr(p, axis).si for p in (driver.left_shoulder, driver.right_shoulder)]
    if driver.helmet:
        middle, radius = getattr(driver.helmet, axis).si, driver.helmet.radius.si
        found += [middle - radius, middle + radius]
    for thing in things:
        half = thing.size[number] / 2.0 if thing.size else 0.0
        found += [p[number] + sign * half for p in thing.points for sign in (-1.0, 1.0)]
    if number == 0:
        found += [q.si for z in zones for q in (z.start, z.end) if q]
        found.append(driver.left_shoulder.x.si - arm(seated(driver), "left").si)
    margin = 0.06 * (max(found) - min(found)) + 0.05
    return min(found) - margin, max(found) + margin


def _axes(fig: Figure, bottom: float, high: float) -> Axes:
    tall = float(fig.get_size_inches()[1])
    return fig.add_axes((LEFT / WIDTH, bottom / tall, (WIDTH - LEFT - RIGHT) / WIDTH, high / tall))


def _view(
    ax: Axes, view: View, frame: tuple[tuple[float, float], str], driver: Driver, build: Build
) -> None:
    across, unit = frame
    ax.set_title(view.title)
    ax.set_xlim(*(from_si(v, "length", unit) for v in across))
    ax.set_ylim(*(from_si(v, "length", unit) for v in view.shown))
    ax.set_ylabel(labelled(view.axis, unit))
    ax.grid(color=GRID)
    rotating = build.section(Rotating)
    for part in rotating.parts if rotating else ():
        _plane(ax, part, view, across, unit)
    _driver(ax, seated(driver), view.axis, unit)
    controls = build.section(Controls)
    for control in controls.items if controls else ():
        x, other = (from_si(getattr(control, a).si, "length", unit) for a in ("x", view.axis))
        ax.plot([x], [other], marker="o", markersize=3, color=HOLDS, linestyle="none")


def _driver(ax: Axes, driver: Driver, axis: str, unit: str) -> None:
    turn = np.linspace(0.7 * math.pi, 1.3 * math.pi, 40)
    for hand, shoulder in (("left", driver.left_shoulder), ("right", driver.right_shoulder)):
        reach = arm(driver, hand).si - driver.belted_loss.si  # type: ignore[arg-type]
        x, other, r = (
            from_si(v, "length", unit) for v in (shoulder.x.si, getattr(shoulder, axis).si, reach)
        )
        ax.plot(
            x + r * np.cos(turn),
            other + r * np.sin(turn),
            color=MUTED,
            linestyle=DASHES[1],
            linewidth=1.0,
        )
        ax.plot([x], [other], marker="P", color=INK, markersize=5, linestyle="none")
    if helmet := driver.helmet:
        x, other, r = (
            from_si(v, "length", unit)
            for v in (helmet.x.si, getattr(helmet, axis).si, helmet.radius.si)
        )
        round_ = np.linspace(0.0, 2.0 * math.pi, 60)
        ax.plot(x + r * np.cos(round_), other + r * np.sin(round_), color=INK, linewidth=1.2)


def _plane(ax: Axes, part: Part, view: View, across: tuple[float, float], unit: str) -> None:
    """A burst zone where its plane is seen on edge; a part that is seen along its axis is only marked."""
    x, other = part.x.si, getattr(part, view.axis).si
    spread, half = math.tan(part.spread_angle.si), part.half_width.si
    look: dict[str, Any] = {
        "facecolor": SHORT,
        "edgecolor": SHORT,
        "hatch": HATCHES[1],
        "alpha": 0.22,
    }
    if part.axis == "x":
        along = np.linspace(*view.shown, 21)
        wide = half + spread * np.abs(along - other)
        sides = (_scaled(x - wide, unit), _scaled(x + wide, unit))
        ax.fill_betweenx(_scaled(along, unit), *sides, linewidth=0.6, **look)
    elif part.axis == view.axis:
        along = np.linspace(*across, 21)
        wide = half + spread * np.abs(along - x)
        sides = (_scaled(other - wide, unit), _scaled(other + wide, unit))
        ax.fill_between(_scaled(along, unit), *sides, linewidth=0.6, **look)
    sizes = {"x": part.radius.si, "y": part.radius.si, "z": part.radius.si}
    sizes[part.axis] = half
    corner = (
        from_si(x - sizes["x"], "length", unit),
        from_si(other - sizes[view.axis], "length", unit),
    )
    wide, high = (from_si(2.0 * sizes[a], "length", unit) for a in ("x", view.axis))
    ax.add_patch(Rectangle(corner, wide, high, fill=False, edgecolor=ACCENT, linewidth=0.9))
    star = from_si(x, "length", unit), from_si(other, "length", unit)
    ax.plot([star[0]], [star[1]], marker="*", color=ACCENT, markersize=8, linestyle="none")


def _scaled(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]], unit: str) -> list[float]:
    return [from_si(float(v), "length", unit) for v in values]


def _thing(ax: Axes, number: int, thing: Thing, other: int, unit: str) -> None:
    points = [tuple(from_si(v, "length", unit) for v in p) for p in thing.points]
    xs, ys = [p[0] for p in points], [p[other] for p in points]
    above = bool(number % 2)
    place, off = (xs[-1], ys[-1]), (4.0, 3.0 if above else -9.0)
    if thing.size is not None:
        wide, high = (from_si(thing.size[n], "length", unit) for n in (0, other))
        corner = (xs[0] - wide / 2.0, ys[0] - high / 2.0)
        ax.add_patch(Rectangle(corner, wide, high, fill=False, edgecolor=INK, linewidth=1.2))
        place = (corner[0], corner[1] + (high if above else 0.0))
        off = (0.0, 2.0 if above else -8.0)
    elif len(points) > 1:
        ax.plot(xs, ys, color=SERIES[number % 6], linestyle=DASHES[number % 6], linewidth=1.6)
    else:
        ax.plot(xs, ys, marker="s", color=ACCENT, markersize=5, linestyle="none")
    ax.annotate(
        str(number),
        place,
        xytext=off,
        textcoords="offset points",
        fontsize=8.0,
        color=INK,
    )


def _strip(
    fig: Figure, top: float, zones: tuple[Zone, ...], across: tuple[float, float], unit: str
) -> float:
    """The fire zones as a band under the side view; returns where the next drawing may begin."""
    if not zones:
        return top
    ax = _axes(fig, top - 0.72, 0.3)
    ax.set_xlim(*(from_si(v, "length", unit) for v in across))
    ax.set_ylim(0.0, 1.0)
    ax.set_yticks([])
    ax.set_xticks([])
    for zone in zones:
        if zone.start and zone.end:
            begin, end = (from_si(q.si, "length", unit) for q in (zone.start, zone.end))
            ax.barh(
                [0.5],
                [end - begin],
                left=begin,
                height=0.9,
                facecolor=SERIES[0] if zone.occupied else "none",
                edgecolor=MUTED,
                hatch=HATCHES[3] if zone.occupied else "",
            )
            ax.text(0.5 * (begin + end), -0.2, called(zone), ha="center", va="top", fontsize=7.5)
    for side in ("left", "right", "top", "bottom"):
        ax.spines[side].set_visible(False)
    return top - 0.72


def _finding(things: tuple[Thing, ...], zones: tuple[Zone, ...], build: Build) -> str:
    """Which fire zone each numbered thing lies in, by its middle."""
    if not zones:
        return f"{len(things)} tanks, bottles and lines beside the driver; no fire zone states where it lies."
    said = []
    for zone in zones:
        if zone.start and zone.end:
            low, high = zone.start.si, zone.end.si
            inside = [t.name for t in things if any(low <= p[0] <= high for p in t.points)]
            said.append(f"{called(zone)}: {', '.join(inside) or 'nothing described'}")
    return f"In the fire zones lie, at least in part: {'; '.join(said)}."
