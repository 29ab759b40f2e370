"""Chart of the subject `clock`: exposure, clothing and fire system as bars on one time axis."""

from __future__ import annotations

import textwrap

from matplotlib.axes import Axes

from buildspec.build import Build
from buildspec.kinds import System
from buildspec.quantities import show
from generator.charts.canvas import (
    ACCENT,
    GRID,
    HATCHES,
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
from generator.subjects.clock import Bar, Detail
from generator.vocabulary import Outcome

PARTS = ("detection", "stopping", "reaction", "exit")


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """One picture: every scenario's exposure, and what there is against it."""
    detail = outcome.detail
    return (_clocks(detail, build.system),) if isinstance(detail, Detail) and detail.bars else ()


def _time(value: float, system: System) -> str:
    return str(show(value, "time", system, figures=3))


def _clocks(detail: Detail, system: System) -> Chart:
    given = [
        (w, v)
        for w, v in (
            ("clothing", detail.protective.value),
            ("fire agent lasts", detail.credit.value),
        )
        if v
    ]
    rows = len(detail.bars) + len(given)
    fig = figure(height=1.35 + 0.42 * rows)
    ax = axes(fig, left=1.7, bottom=0.5, top=0.5)
    for row, bar in enumerate(detail.bars):
        _exposure(ax, row, bar, detail.factor)
    for row, (_, value) in enumerate(given, len(detail.bars)):
        ax.barh(row, value, height=0.3, color=ACCENT, edgecolor=INK)
    if detail.protective.value is not None:
        ax.axvline(detail.protective.value, color=ACCENT, linestyle="--")
    labels = [textwrap.fill(b.title, 22) for b in detail.bars] + [w for w, _ in given]
    ax.set_yticks(range(rows), labels)
    ax.set_ylim(rows - 0.4, -0.6)
    ax.set_xlim(
        0.0, 1.06 * max([detail.factor * b.total for b in detail.bars] + [v for _, v in given])
    )
    ax.set_xlabel(labelled("time from the first flame", "s"))
    ax.tick_params(axis="y", length=0)
    ax.grid(visible=True, axis="x", color=GRID)
    _legend(ax, detail)
    return finish(
        fig,
        "clock.bars",
        "The clocks on one axis",
        _finding(detail, system),
        "The upright mark is the exposure times the factor asked; the dashed line the "
        "clothing's time.",
    )


def _exposure(ax: Axes, row: int, bar: Bar, factor: float) -> None:
    """The parts of one scenario behind each other, and a mark where the factor puts their end."""
    at = 0.0
    for name, length in bar.parts:
        n = PARTS.index(name)
        ax.barh(row, length, left=at, height=0.5, color=SERIES[n], edgecolor=INK, hatch=HATCHES[n])
        at += length
    ax.plot(
        [factor * bar.total],
        [row],
        marker="|",
        markersize=20,
        markeredgewidth=2.2,
        linestyle="none",
        color={"holds": HOLDS, "short": SHORT, "open": OPEN}[bar.check.verdict],
    )


def _legend(ax: Axes, detail: Detail) -> None:
    """A key to the parts that occur; its samples have no length."""
    used = [n for n in PARTS if any(n == p for b in detail.bars for p, _ in b.parts)]
    for name in used:
        n = PARTS.index(name)
        ax.barh([0], [0.0], color=SERIES[n], edgecolor=INK, hatch=HATCHES[n], label=name)
    ax.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=len(used), borderaxespad=0.2)


def _finding(detail: Detail, system: System) -> str:
    protective = detail.protective.value
    start = (
        "The clothing's time is not known."
        if protective is None
        else f"The clothing protects for {_time(protective, system)}."
    )
    return " ".join((start, *(_said(b, detail, system) for b in detail.bars), detail.first))


def _said(bar: Bar, detail: Detail, system: System) -> str:
    needed = _time(detail.factor * bar.total, system)
    verdict = {"holds": "holds", "short": "falls short", "open": "is open"}[bar.check.verdict]
    clear = _time(bar.total, system)
    return f"{bar.title}: clear after {clear}, {needed} with the factor; {verdict}."
