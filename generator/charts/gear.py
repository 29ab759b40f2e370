"""Charts of the subject `gear`: protective time by part of the body, and what runs out when."""

from __future__ import annotations

import datetime
import textwrap

import matplotlib.dates as mdates
from matplotlib.axes import Axes

from buildspec.build import Build
from buildspec.kinds import System
from buildspec.quantities import show
from generator.charts.canvas import (
    ACCENT,
    GRID,
    HATCHES,
    INK,
    MUTED,
    SERIES,
    SHORT,
    axes,
    figure,
    finish,
    labelled,
)
from generator.charts.chart import Chart
from generator.subjects.gear_records import Detail, Expiry, Region
from generator.vocabulary import Outcome

LABEL = 30


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """Seconds by part of the body; last valid days on a calendar."""
    detail = outcome.detail
    if not isinstance(detail, Detail):
        return ()
    found = [_regions(detail, build.system)]
    if detail.expiries:
        found.append(_dates(detail))
    return tuple(found)


def _time(value: float, system: System) -> str:
    return str(show(value, "time", system, figures=3))


# --------------------------------------------------------------------------- parts of the body


def _regions(detail: Detail, system: System) -> Chart:
    fig = figure(height=1.0 + 0.34 * len(detail.regions))
    ax = axes(fig, left=0.95, bottom=0.5, top=0.2)
    most = max((r.time.value or 0.0 for r in detail.regions), default=1.0) or 1.0
    for row, region in enumerate(detail.regions):
        weakest = region in _weakest(detail)
        value = region.time.value
        ax.barh(
            row,
            value or 0.0,
            height=0.56,
            color=SHORT if weakest else SERIES[0],
            edgecolor=INK,
            hatch=HATCHES[1] if weakest else "",
        )
        said = "not known" if value is None else f"{_time(value, system)}, {region.decided_by}"
        ax.text(
            (value or 0.0) + most * 0.015,
            row,
            textwrap.shorten(said, 40, placeholder="…"),
            va="center",
            color=INK,
            fontsize=8.5,
        )
    ax.set_yticks(range(len(detail.regions)), [r.name for r in detail.regions])
    ax.set_ylim(len(detail.regions) - 0.4, -0.6)
    ax.set_xlim(0.0, most * 1.75)
    ax.set_xlabel(labelled("protective time", "s"))
    ax.tick_params(axis="y", length=0)
    ax.grid(visible=True, axis="x", color=GRID)
    return finish(
        fig,
        "gear.regions",
        "Protective time by part of the body",
        _regions_finding(detail, system),
        "The best single piece counts; layers are not added. The weakest parts are hatched.",
    )


def _regions_finding(detail: Detail, system: System) -> str:
    said = "; ".join(f"{r.name} {_value(r, system)}" for r in detail.regions)
    weakest = detail.weakest
    if weakest is None or weakest.time.value is None:
        return f"The weakest part is not known. {said}."
    time = _time(weakest.time.value, system)
    others = [r.name for r in _weakest(detail) if r.name != weakest.name]
    also = f"; as weak: {', '.join(others)}" if others else ""
    return f"The weakest part is the {weakest.name}: {time}, {weakest.decided_by}{also}. {said}."


def _weakest(detail: Detail) -> tuple[Region, ...]:
    """Every part of the body that is protected no longer than the weakest."""
    least = detail.weakest.time.value if detail.weakest else None
    return tuple(r for r in detail.regions if least is not None and r.time.value == least)


def _value(region: Region, system: System) -> str:
    return "not known" if region.time.value is None else _time(region.time.value, system)


# --------------------------------------------------------------------------------- calendar


def _dates(detail: Detail) -> Chart:
    """A line for each piece from the event back or on to its last valid day."""
    rows = detail.expiries[:40]
    fig = figure(height=1.2 + 0.3 * len(rows))
    ax = axes(fig, left=2.3, bottom=0.45, top=0.45)
    event = _day(detail.event)
    for row, one in enumerate(rows):
        _life(ax, row, one, detail.event)
    ax.axvline(event, color=ACCENT)
    needed = "event" if not detail.called.startswith("today") else "today"
    ax.text(event, -0.75, needed, ha="center", va="bottom", color=INK, fontsize=8.5)
    if detail.season_end:
        ax.axvline(_day(detail.season_end), color=ACCENT, linestyle=":")
    names = [textwrap.shorten(e.name, LABEL, placeholder="…") for e in rows]
    ax.set_yticks(range(len(rows)), names)
    ax.set_ylim(len(rows) - 0.4, -0.6)
    ax.xaxis.set_major_locator(_ticks(ax))
    ax.xaxis.set_major_formatter(mdates.DateFormatter("%Y-%m"))  # type: ignore[no-untyped-call]
    ax.tick_params(axis="y", length=0)
    ax.grid(visible=True, axis="x", color=GRID)
    return finish(
        fig,
        "gear.dates",
        "Last valid days",
        _dates_finding(detail.expiries, detail),
        f"Solid line: {detail.called}; dotted: the season's end. A cross marks what runs out "
        "before the solid line.",
    )


def _ticks(ax: Axes) -> mdates.DateLocator:
    """Some five ticks at the beginnings of months or years."""
    first, last = ax.get_xlim()
    months = max(1, round((last - first) / 30.44 / 5.0))
    if months > 9:
        return mdates.YearLocator(base=max(1, round(months / 12.0)))  # type: ignore[no-untyped-call]
    steps = next(n for n in (1, 2, 3, 6, 9) if n >= months)
    by = range(1, 13, steps) if steps < 9 else (1, 10)
    return mdates.MonthLocator(bymonth=list(by))  # type: ignore[no-untyped-call]


def _life(ax: Axes, row: int, one: Expiry, event: datetime.date) -> None:
    """From the event to the last valid day: dashed with a cross where that comes first."""
    late = one.day < event
    colour, dash = (SHORT, "--") if late else (MUTED, "-")
    ax.plot([_day(event), _day(one.day)], [row, row], color=colour, linestyle=dash)
    ax.plot(
        [_day(one.day)],
        [row],
        marker="X" if late else "o",
        color=SHORT if late else SERIES[0],
        markersize=8 if late else 6,
        linestyle="none",
    )


def _day(day: datetime.date) -> float:
    return float(mdates.date2num(day))  # type: ignore[no-untyped-call]


def _dates_finding(found: tuple[Expiry, ...], detail: Detail) -> str:
    late = [f"{e.name} on {e.day}" for e in found if e.day < detail.event]
    if late:
        return f"Run out before {detail.called}: {'; '.join(late)}."
    return (
        f"Everything lasts to {detail.called}; the first to run out is "
        f"{found[0].name} on {found[0].day}."
    )
