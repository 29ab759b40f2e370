"""Drawing of the subject `reach`: the driver from the side and from above, with reaches and
controls.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from buildspec.build import Build
from buildspec.kinds import KINDS, System
from buildspec.plain import called
from buildspec.quantities import from_si, show
from buildspec.sections.driver import Driver, Hand, Point
from generator.charts.canvas import (
    ACCENT,
    GRID,
    HOLDS,
    INK,
    MUTED,
    PAPER,
    SHORT,
    figure,
    finish,
    labelled,
)
from generator.charts.chart import Chart
from generator.charts.whole import whole
from generator.subjects.reach import Detail, Reached
from generator.subjects.reach_bodies import arm
from generator.vocabulary import Outcome

VIEWS = (("From the side", "z"), ("From above", "y"))


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """The driver's reach and room, and the driver among everything that burns, bursts or leaks."""
    detail = outcome.detail
    if not isinstance(detail, Detail):
        return ()
    return _drawing(detail, build.system), whole(detail.driver, build)


def _drawing(detail: Detail, system: System) -> Chart:
    fig = figure(height=6.6)
    unit = KINDS["length"].printed_unit(system)
    for number, (title, axis) in enumerate(VIEWS):
        ax = _axes(fig, number, title, axis, unit)
        _driver(ax, detail.driver, axis, unit)
        middle = float(np.median([r.control.x.si for r in detail.reached] or [0.0]))
        for reached in detail.reached:
            _control(ax, reached, axis, unit, middle)
    return finish(
        fig,
        "reach.drawing",
        "Reach and room, from the side and from above",
        _finding(detail, system),
        "The nose is on the left, so that the driver's right is up in the view from above. Dashed "
        "arcs are the belted reach in the plane of the shoulder; a dot is a control within reach, "
        "a cross one that is not.",
    )


def _axes(fig: Figure, number: int, title: str, axis: str, unit: str) -> Axes:
    ax = fig.add_axes((0.12, 0.56 - 0.48 * number, 0.84, 0.38))
    ax.set_title(title)
    ax.set_aspect("equal", adjustable="datalim")
    ax.set_xlabel(labelled("x, aft of the origin", unit))
    ax.set_ylabel(labelled(axis, unit))
    ax.grid(visible=True, color=GRID)
    return ax


def _on(unit: str, *lengths: float) -> list[float]:
    return [from_si(n, "length", unit) for n in lengths]


def _at(point: Point, axis: str, unit: str) -> tuple[float, float]:
    x, other = _on(unit, point.x.si, getattr(point, axis).si)
    return x, other


def _driver(ax: Axes, driver: Driver, axis: str, unit: str) -> None:
    """Shoulders with their arcs, helmet, tubes, steering wheel."""
    sides: tuple[Hand, ...] = ("left", "right")
    for side in sides:
        shoulder: Point = getattr(driver, f"{side}_shoulder")
        x, other = _at(shoulder, axis, unit)
        (reach,) = _on(unit, arm(driver, side).si - driver.belted_loss.si)
        turn = np.linspace(0.7 * math.pi, 1.3 * math.pi, 60)
        ax.plot(
            x + reach * np.cos(turn),
            other + reach * np.sin(turn),
            color=MUTED,
            linestyle=(0, (5, 2)),
            linewidth=1.0,
        )
        ax.plot([x], [other], marker="P", color=INK, markersize=7, linestyle="none")
    if driver.helmet:
        x, other, radius = _on(
            unit, driver.helmet.x.si, getattr(driver.helmet, axis).si, driver.helmet.radius.si
        )
        _circle(ax, x, other, radius)
    for tube in driver.structure:
        (x1, o1), (x2, o2) = _at(tube.begin, axis, unit), _at(tube.end, axis, unit)
        ax.plot([x1, x2], [o1, o2], color=ACCENT, linewidth=3.0, marker="s", markersize=3)
    if driver.steering:
        _wheel(ax, driver, axis, unit)


def _circle(ax: Axes, x: float, other: float, radius: float) -> None:
    turn = np.linspace(0.0, 2.0 * math.pi, 80)
    ax.plot(x + radius * np.cos(turn), other + radius * np.sin(turn), color=INK, linewidth=1.2)


def _wheel(ax: Axes, driver: Driver, axis: str, unit: str) -> None:
    """The steering wheel edge on, as a line."""
    wheel = driver.steering
    assert wheel is not None
    half = wheel.radius.si
    along = (-math.sin(wheel.rake.si), math.cos(wheel.rake.si)) if axis == "z" else (0.0, 1.0)
    middle = (wheel.x.si, getattr(wheel, axis).si)
    xs = _on(unit, *(middle[0] + s * half * along[0] for s in (-1, 1)))
    others = _on(unit, *(middle[1] + s * half * along[1] for s in (-1, 1)))
    ax.plot(xs, others, color=INK, linewidth=2.5)


def _control(ax: Axes, reached: Reached, axis: str, unit: str, middle: float) -> None:
    """A control; one out of reach is named, on the side away from the `middle` of all, in m."""
    x, other = _on(unit, reached.control.x.si, getattr(reached.control, axis).si)
    fine = _within(reached)
    ax.plot(
        [x],
        [other],
        marker="o" if fine else "X",
        color=HOLDS if fine else SHORT,
        markersize=6 if fine else 10,
        linestyle="none",
    )
    if not fine:
        ahead = reached.control.x.si < middle
        ax.annotate(
            textwrap.fill(called(reached.control), 12),
            (x, other),
            xytext=(-8 if ahead else 8, 0),
            textcoords="offset points",
            ha="right" if ahead else "left",
            va="center",
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
            color=INK,
            fontsize=8.5,
        )


def _within(reached: Reached) -> bool:
    return all(c.verdict == "holds" for c in reached.checks)


def _finding(detail: Detail, system: System) -> str:
    """What is out of reach, and the tightest clearance."""
    out = list(_names(r for r in detail.reached if not _within(r)))
    count = len({r.control.id for r in detail.reached})
    first = (
        f"All {count} controls are within reach."
        if not out
        else f"Of {count} controls, out of reach: {', '.join(dict.fromkeys(out))}."
    )
    gaps = [c for c in detail.room if c.kind == "length" and c.margin is not None]
    if not gaps:
        return first
    least = min(gaps, key=lambda c: c.margin or 0.0)
    there, asked = (
        show(r.value or 0.0, "length", system, figures=3) for r in (least.capacity, least.demand)
    )
    return f"{first} The tightest room is {least.title}, {there} where {asked} is asked."


def _names(reached: Iterable[Reached]) -> Iterable[str]:
    return (called(r.control) for r in reached)
