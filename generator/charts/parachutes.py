"""The charts of parachutes: the force of each opening over time, and how much of each strength is used."""

from __future__ import annotations

from collections.abc import Iterable

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
    SERIES,
    SHORT,
    axes,
    figure,
    finish,
    labelled,
    per_cent,
)
from generator.charts.chart import Chart
from generator.subjects.parachutes import Chute, Detail
from generator.subjects.parachutes_loads import Loads
from generator.vocabulary import Check, Outcome

PARTS = ("lines", "riser", "shackle", "mount", "speed", "front", "rear", "front_side", "rear_side")


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """One opening curve a parachute, and the shares of strength used by all."""
    detail = outcome.detail
    if not isinstance(detail, Detail):
        return ()
    openings = (_opening(chute, build) for chute in detail.chutes if chute.loads.credits)
    return (*openings, _used(detail, build))


def _opening(chute: Chute, build: Build) -> Chart:
    loads, unit = chute.loads, KINDS["force"].printed_unit(build.system)
    fig = figure(height=3.9)
    ax = axes(fig, left=0.85, bottom=1.05)
    _curves(ax, loads, unit)
    _levels(ax, loads, unit)
    ax.set_xlabel(labelled("time since line stretch", "s"))
    ax.set_ylabel(labelled("force", unit))
    ax.set_ylim(0, 1.18 * from_si(loads.design.value or 0.0, "force", unit))
    ax.set_xlim(0, float(loads.credits[0].rolling.time[-1]))
    ax.grid(color=GRID)
    fig.legend(loc="lower left", bbox_to_anchor=(0.0, 0.0), ncols=2)
    return finish(
        fig,
        f"parachutes.{chute.canopy.id}.opening",
        f"Opening of: {chute.canopy.name}",
        _opening_finding(loads, build.system),
        "High ends of the ranges; the opening-force coefficient multiplies the whole curve, so "
        "that behind the peak the curve lies above the drag.",
    )


def _curves(ax: Axes, loads: Loads, unit: str) -> None:
    """The force while the canopy fills, one line a growth exponent, with its peak."""
    for n, credit in enumerate(loads.credits):
        curve = credit.rolling
        ax.plot(
            curve.time,
            [from_si(float(v), "force", unit) for v in curve.force],
            color=SERIES[n],
            linestyle=DASHES[n],
            label=f"filling, growth exponent {credit.exponent:g}",
        )
        ax.plot([curve.at], [from_si(curve.peak, "force", unit)], marker="o", color=SERIES[n])


def _levels(ax: Axes, loads: Loads, unit: str) -> None:
    """Design load and steady drag as lines across."""
    for level, words, dash in (
        (loads.design.value or 0.0, "design load", DASHES[3]),
        (loads.steady.value or 0.0, "steady drag, full speed", DASHES[2]),
    ):
        y = from_si(level, "force", unit)
        ax.axhline(
            y,
            color=INK,
            linestyle=dash,
            linewidth=1.1,
            label=words,
        )


def _opening_finding(loads: Loads, system: System) -> str:
    design = loads.design.value or 0.0
    greatest = max(c.rolling.peak for c in loads.credits)
    return (
        f"At {show(loads.speed, 'speed', system)} the opening is expected to peak at "
        f"{show(greatest, 'force', system, figures=3)}, {per_cent(1 - greatest / design)} below the design load of "
        f"{show(design, 'force', system, figures=3)}; the canopy is full after {loads.filling or 0.0:.2f} s."
    )


MOST = 5.0
"""Share up to which a bar is drawn: beyond, its length says nothing and would flatten the others."""


def _rows(detail: Detail) -> Iterable[tuple[str, Check | None]]:
    """Each parachute's name, and below it what its checks are called within it."""
    for chute in detail.chutes:
        known = [check for check in chute.checks if check.margin is not None]
        if known:
            yield chute.canopy.name, None
        for check in known:
            yield check.title.removeprefix(f"{chute.canopy.name}: "), check


def _used(detail: Detail, build: Build) -> Chart:
    rows = list(_rows(detail))
    fig = figure(height=0.9 + 0.27 * max(len(rows), 1))
    ax = axes(fig, left=2.3)
    places = np.arange(len(rows))[::-1]
    for place, (_, check) in zip(places, rows, strict=True):
        if check:
            _bar(ax, float(place), check)
    ax.axvline(100.0, color=INK, linewidth=1.2)
    ax.set_yticks(places, [label for label, _ in rows])
    for label, (_, check) in zip(ax.get_yticklabels(), rows, strict=True):
        label.set_fontweight("normal" if check else "bold")
    shares = (_share(check) for _, check in rows if check)
    ax.set_xlim(0, 100.0 * max([1.15, *(s * 1.12 for s in shares)]))
    ax.set_xlabel(labelled("used, factor included", "%"))
    return finish(
        fig,
        "parachutes.used",
        "How much of each strength is used",
        _finding(detail),
        "A bar beyond the line is short; such bars are also hatched.",
    )


def _bar(ax: Axes, place: float, check: Check) -> None:
    """What one check uses of its capacity."""
    short, share = check.verdict == "short", _share(check)
    ax.barh(
        [place],
        [100.0 * share],
        height=0.62,
        color=SHORT if short else SERIES[0],
        hatch=HATCHES[1] if short else "",
    )
    said = _used_words(share)
    ax.text(100.0 * share + 2.0, place, said, va="center", fontsize=8.0, color=INK)


def _finding(detail: Detail) -> str:
    """What falls short, or what is closest to it."""
    checks = [check for chute in detail.chutes for check in chute.checks]
    known = [check for check in checks if check.margin is not None]
    shorts = [check.title for check in known if check.verdict == "short"]
    lacking = sum(check.verdict == "open" for check in checks)
    said = f"{len(shorts)} of {len(known)} fall short"
    if shorts:
        said += f": {'; '.join(shorts)}"
    elif known:
        worst = max(known, key=_share)
        said += f"; the closest is {worst.title} with {per_cent(_share(worst))} used"
    return f"{said}. {lacking} more cannot be decided."


def _share(check: Check) -> float:
    """What is used of a strength, at most `MOST`: without any strength all of it and more is."""
    if check.margin is None:
        return 0.0
    return min(1.0 / (1.0 + check.margin), MOST) if check.margin > -1.0 else MOST


def _used_words(share: float) -> str:
    return f"over {per_cent(MOST)}" if share >= MOST else per_cent(share)
