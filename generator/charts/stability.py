"""The charts of stability: centre of pressure and CG along the side view, crosswind and axle loads over speed."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable

from matplotlib.axes import Axes
from matplotlib.patches import Circle

from buildspec.build import Build
from buildspec.kinds import KINDS, System
from buildspec.quantities import from_si, show
from buildspec.sections.shape import Body, Fin
from generator.charts.canvas import (
    ACCENT,
    DASHES,
    GRID,
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
from generator.subjects.stability_records import ConditionLine, Detail
from generator.vocabulary import Outcome

Rows = list[tuple[float, float]]
Limited = list[tuple[float, float, float]]
"""Speed, wind, and the wind at which the method ends."""
CLEAR = 0.12
"""Height in m that the drawing leaves under the body: the description says nothing of it."""


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """Side view, largest crosswind over speed, axle loads over speed."""
    detail = outcome.detail
    if not isinstance(detail, Detail):
        return ()
    return _side(detail, build), _wind(detail, build), _axles(detail, build)


def _side(detail: Detail, build: Build) -> Chart:
    system, unit = build.system, KINDS["length"].printed_unit(build.system)
    fig = figure(height=2.8)
    ax = axes(fig, left=0.65)
    _outline(ax, detail, unit)
    _centres(ax, detail, unit)
    ax.set_xlabel(labelled("x, aft of the origin", unit))
    ax.set_ylabel(labelled("height", unit))
    ax.set_aspect("equal", adjustable="box", anchor="W")
    fig.legend(loc="upper right", ncols=max(len(detail.conditions), 1), bbox_to_anchor=(0.98, 1.0))
    least = min(
        (c for c in detail.conditions if c.running),
        default=None,
        key=lambda c: c.in_wheelbases.value or 0.0,
    )
    return finish(
        fig,
        "stability.side",
        "Centre of pressure and CG along the side view",
        _least_margin(least, system),
        "Heights of the body's parts about its middle, as described, dotted where nothing is "
        "described; the band is one standard uncertainty.",
    )


def _centres(ax: Axes, detail: Detail, unit: str) -> None:
    """The CG in each condition, the first with the largest mark, so that all are seen where they
    lie on one another; and the centre of pressure with its band.
    """
    for n, line in enumerate(detail.conditions):
        ax.plot(
            [from_si(line.cg_x, "length", unit)],
            [from_si(detail.of.cg_height.value or 0.0, "length", unit)],
            marker=MARKERS[n % 6],
            color=SERIES[n % 6],
            markersize=5.0 + 4.0 * (len(detail.conditions) - 1 - n),
            linestyle="none",
            markerfacecolor="none",
            label=f"CG, {line.title.lower()}",
        )
    if detail.astray:
        return
    centre, off = detail.centre.value or 0.0, detail.centre.standard_uncertainty
    x = from_si(centre, "length", unit)
    ax.axvline(x, color=ACCENT, linewidth=1.6)
    if off > 0.0:
        ax.axvspan(
            from_si(centre - off, "length", unit),
            from_si(centre + off, "length", unit),
            color=ACCENT,
            alpha=0.15,
        )
    ax.annotate(
        "centre of pressure",
        (from_si(centre + max(off, 0.0), "length", unit), ax.get_ylim()[1]),
        xytext=(4, 0),
        textcoords="offset points",
        fontsize=8.0,
        color=INK,
        va="top",
    )


def _outline(ax: Axes, detail: Detail, unit: str) -> None:
    """Body parts as outlines on their middle line, fins on top, wheels as circles on the ground."""
    shape = detail.shape
    heights = [h.si for b in shape.bodies for h in (b.front_height, b.rear_height)]
    tallest = max([0.0, *heights])
    middle = CLEAR + 0.5 * tallest
    to = functools.partial(from_si, kind="length", symbol=unit)
    for body in shape.bodies:
        _body(ax, body, middle, to)
    for before, after in itertools.pairwise(sorted(shape.bodies, key=lambda b: b.start.si)):
        _between(ax, before, after, middle, to)
    for fin in shape.fins:
        _fin(ax, fin, middle + fin.body_radius.si, to)
    for wheel in (*detail.of.axles.front[:1], *detail.of.axles.rear[:1]):
        r = wheel.radius.si if wheel.radius else 0.3
        place = (to(wheel.x.si), to(r))
        ax.add_patch(Circle(place, to(r), fill=False, edgecolor=MUTED, linewidth=1.1))
    tops = [middle + f.body_radius.si + f.height.si for f in shape.fins]
    ax.set_ylim(0, to(max([middle + 0.5 * tallest, *tops]) * 1.12))
    ax.autoscale(axis="x")


def _body(ax: Axes, body: Body, middle: float, to: Callable[[float], float]) -> None:
    a, b = body.start.si, body.start.si + body.length.si
    front, rear = 0.5 * body.front_height.si, 0.5 * body.rear_height.si
    ax.fill(
        [to(v) for v in (a, b, b, a)],
        [to(middle + v) for v in (front, rear, -rear, -front)],
        facecolor="none",
        edgecolor=MUTED,
        linewidth=1.1,
    )


def _between(
    ax: Axes, before: Body, after: Body, middle: float, to: Callable[[float], float]
) -> None:
    """Dotted from the end of one part to the beginning of the next: nothing is described there."""
    ends = (before.start.si + before.length.si, after.start.si)
    for sign in (1.0, -1.0):
        heights = [middle + 0.5 * sign * h.si for h in (before.rear_height, after.front_height)]
        ax.plot(
            [to(x) for x in ends],
            [to(h) for h in heights],
            color=MUTED,
            linestyle=DASHES[2],
            linewidth=0.9,
        )


def _fin(ax: Axes, fin: Fin, base: float, to: Callable[[float], float]) -> None:
    tip = fin.start.si + fin.sweep.si
    xs = (fin.start.si, tip, tip + fin.tip.si, fin.start.si + fin.root.si)
    ys = (base, base + fin.height.si, base + fin.height.si, base)
    ax.fill(
        [to(v) for v in xs],
        [to(v) for v in ys],
        facecolor="none",
        edgecolor=INK,
        linewidth=1.2,
    )


def _wind(detail: Detail, build: Build) -> Chart:
    unit = KINDS["speed"].printed_unit(build.system)
    fig = figure(height=3.2)
    ax = axes(fig)
    _winds(ax, detail, unit)
    _asked(ax, detail, unit)
    ax.set_xlabel(labelled("speed", unit))
    ax.set_ylabel(labelled("crosswind", unit))
    ax.set_ylim(0, 1.9 * ax.get_ylim()[1])
    ax.grid(color=GRID)
    ax.legend(loc="upper left")
    finding = (
        f"At every speed up to {show(detail.speed, 'speed', build.system)} the tires hold a crosswind of "
        f"{show(detail.wind.value or 0.0, 'speed', build.system, figures=3)}, where the driver lifts as they need."
    )
    return finish(
        fig,
        "stability.wind",
        "Largest crosswind over speed",
        finding,
        "Sought up to a side-slip of 10°, where the slopes end; at the speeds of the dotted line the tires "
        "hold more than that.",
    )


def _winds(ax: Axes, detail: Detail, unit: str) -> None:
    """The largest crosswind over speed, at full throttle and at constant speed; apart from it the speeds at
    which the method ends first. A curve begins at the last of these, so that it has no gap.
    """
    full, steady = ([(row[0], row[n], row[3]) for row in detail.winds] for n in (1, 2))
    for rows, words, colour, dash in (
        (_within(full), "held at full throttle", SERIES[0], DASHES[0]),
        (_within(steady), "held at constant speed", SERIES[1], DASHES[3]),
        (_ended(steady), "more than that: here the method ends", MUTED, DASHES[2]),
    ):
        if rows:
            ax.plot(
                [from_si(v, "speed", unit) for v, _ in rows],
                [from_si(w, "speed", unit) for _, w in rows],
                color=colour,
                linestyle=dash,
                label=words,
            )


def _ended(rows: Limited) -> Rows:
    return [(v, w) for v, w, most in rows if w >= 0.999 * most]


def _within(rows: Limited) -> Rows:
    held = [(v, w) for v, w, most in rows if w < 0.999 * most]
    return [row for row in _ended(rows) if row[0] < held[0][0]][-1:] + held if held else []


def _asked(ax: Axes, detail: Detail, unit: str) -> None:
    wind, limits = detail.of.course.cross_wind, detail.shape.limits
    if wind:
        factor = limits.factor.si if limits else 1.0
        for level, words, dash in (
            (wind.si, "crosswind stated", DASHES[1]),
            (factor * wind.si, "times the factor", DASHES[2]),
        ):
            ax.axhline(from_si(level, "speed", unit), color=SHORT, linestyle=dash, label=words)


def _axles(detail: Detail, build: Build) -> Chart:
    system: System = build.system
    speed, force = (KINDS[k].printed_unit(system) for k in ("speed", "force"))
    fig = figure(height=3.2)
    ax = axes(fig, left=0.85)
    x = [from_si(row[0], "speed", speed) for row in detail.axles]
    for n, (words, column) in enumerate((("front axle", 1), ("rear axle", 2))):
        ax.plot(
            x,
            [from_si(row[column], "force", force) for row in detail.axles],
            color=SERIES[n],
            linestyle=DASHES[n],
            label=words,
        )
    limits = detail.shape.limits
    if limits and limits.front_load:
        ax.axhline(
            from_si(limits.front_load.si, "force", force),
            color=SHORT,
            linestyle=DASHES[2],
            label="front axle load asked for",
        )
    ax.set_xlabel(labelled("speed", speed))
    ax.set_ylabel(labelled("axle load", force))
    ax.set_ylim(0, None)
    ax.grid(color=GRID)
    ax.legend(loc="lower right")
    pace, front, _ = min(detail.axles, key=lambda row: row[1])
    return finish(
        fig,
        "stability.axles",
        "Axle loads over speed, full throttle",
        f"The front axle carries least at {show(pace, 'speed', system, figures=3)}: "
        f"{show(front, 'force', system)}.",
    )


def _least_margin(least: ConditionLine | None, system: System) -> str:
    """Where the centre of pressure lies in the condition that keeps it least behind the CG."""
    if least is None:
        return "No condition is known."
    if least.in_wheelbases.value is None:
        return (
            "The parts described have no common centre of pressure that says anything of the whole."
        )
    share = least.in_wheelbases.value
    side = "behind" if share > 0 else "ahead of"
    return (
        f"The centre of pressure lies {show(abs(share), 'share', system, figures=3)} of the wheelbase "
        f"{side} the CG in the condition where that is least, {least.title.lower()}."
    )
