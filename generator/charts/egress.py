"""Charts of the subject `egress`: each scenario's activities in time, and how long it takes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

import numpy as np
from matplotlib.axes import Axes

from buildspec.build import Build
from buildspec.kinds import System
from buildspec.quantities import show
from generator.charts.canvas import ACCENT, GRID, INK, MUTED, SERIES, axes, figure, finish, labelled
from generator.charts.chart import Chart
from generator.subjects.egress_records import Detail, Found, Limit, Row
from generator.vocabulary import Outcome

ROWS_SHOWN = 40
LABEL_WIDTH, LABEL_LINES = 30, 2
BINS = 48
LINES = {"required_time": "-", "protective_time": (0, (7, 2, 1.5, 2))}
"""How each limit's line is drawn, so that they differ without colour."""


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """A time plan and a distribution for each scenario."""
    detail = outcome.detail
    if not isinstance(detail, Detail):
        return ()
    return tuple(
        draw(found, detail.limits, build.system)
        for found in detail.scenarios
        for draw in (_plan, _spread)
    )


def _time(value: float, system: System) -> str:
    return str(show(value, "time", system, figures=3))


def _stated(limits: Iterable[Limit]) -> tuple[tuple[Limit, float], ...]:
    """The limits that are stated, with the longest exit each allows."""
    return tuple((x, x.allowed) for x in limits if x.allowed is not None)


def _name(limit: Limit) -> str:
    """What a limit's line is called: a factor other than one is already taken off."""
    factored = limit.factor is not None and limit.factor.si != 1.0
    return f"{limit.title} over its factor" if factored else limit.title


# --------------------------------------------------------------------------------- time plan


def _plan(found: Found, limits: tuple[Limit, ...], system: System) -> Chart:
    """Activities at their likely times, with the 95th percentile of each finish."""
    rows = sorted(found.rows, key=lambda r: (r.likely_start, r.likely_finish))[:ROWS_SHOWN]
    labels = [_label(row) for row in rows]
    height = 1.25 + sum(0.14 + 0.17 * (label.count("\n") + 1) for label in labels)
    fig = figure(height=max(height, 2.2))
    ax = axes(fig, left=2.35, bottom=0.5, top=0.55)
    for i, row in enumerate(rows):
        _bar(ax, i, row)
    ax.set_yticks(range(len(rows)), labels)
    ax.set_ylim(len(rows) - 0.4, -0.6)
    ax.tick_params(axis="y", length=0)
    _time_axis(ax, system)
    _limit_lines(ax, _stated(limits), system, _reach(found, limits, drills=False))
    return finish(
        fig,
        f"egress.{found.scenario.id}.plan",
        f"{found.scenario.title}: the exit in time",
        _plan_finding(found, limits, system),
        "Bars run from start to finish at likely durations; whiskers reach to the time by which "
        "the activity is finished in 95 % of samples. Hatched bars with a heavy outline and a "
        "diamond have no slack.",
    )


def _label(row: Row) -> str:
    """The activity in at most two lines, with who does it."""
    lines = textwrap.wrap(f"{row.activity.text} ({row.activity.by})", LABEL_WIDTH)
    if len(lines) > LABEL_LINES:
        by = textwrap.shorten(row.activity.by, 12, placeholder="…")
        text = textwrap.shorten(
            row.activity.text, LABEL_WIDTH * LABEL_LINES - len(by) - 10, placeholder="…"
        )
        lines = textwrap.wrap(f"{text} ({by})", LABEL_WIDTH)
    return "\n".join(lines[:LABEL_LINES])


def _bar(ax: Axes, i: int, row: Row) -> None:
    """One activity: bar, whisker, and a diamond where it has no slack."""
    length = row.likely_finish - row.likely_start
    if row.likely_critical:
        ax.barh(
            i,
            length,
            left=row.likely_start,
            height=0.56,
            facecolor=ACCENT,
            edgecolor=INK,
            hatch="////",
            linewidth=1.5,
        )
    else:
        ax.barh(i, length, left=row.likely_start, height=0.56, facecolor=GRID, edgecolor=MUTED)
    ax.plot([row.likely_finish, row.finish_p95], [i, i], color=INK, linewidth=1.0)
    ax.plot([row.finish_p95] * 2, [i - 0.16, i + 0.16], color=INK, linewidth=1.0)
    if row.likely_critical:
        ax.plot([row.likely_start], [i], marker="D", markersize=5.0, color=INK, clip_on=False)


def _plan_finding(found: Found, limits: tuple[Limit, ...], system: System) -> str:
    total = found.results["likely"].value or 0.0
    p95 = found.percentiles["p95"].value
    no_slack = [f"“{r.activity.text}”" for r in found.rows if r.likely_critical]
    said = [
        f"At likely durations the exit takes {_time(total, system)}; without slack "
        f"{'is' if len(no_slack) == 1 else 'are'} {_listed(no_slack)}.",
        f"It is finished within {_time(p95, system)} in 95 % of samples, "
        f"{_against(p95, limits, system)}.",
        *_at_once(found),
    ]
    if len(found.rows) > ROWS_SHOWN:
        said.append(f"Shown are the first {ROWS_SHOWN} of {len(found.rows)} activities.")
    return " ".join(said)


def _at_once(found: Found) -> tuple[str, ...]:
    """What takes the word of a budget away."""
    if not found.overlapping:
        return ()
    return ("So only if one person does two things at once: the real exit takes longer.",)


def _listed(names: list[str], most: int = 8) -> str:
    shown = ", ".join(names[:most])
    return shown if len(names) <= most else f"{shown} and {len(names) - most} more"


def _against(value: float, limits: tuple[Limit, ...], system: System) -> str:
    """How a time stands to the limits, in words."""
    stated = _stated(limits)
    if not stated:
        return "and no limit is stated"
    return " and ".join(
        f"{'within' if value <= allowed else 'beyond'} the {_name(x)} ({_time(allowed, system)})"
        for x, allowed in stated
    )


# ------------------------------------------------------------------------------ distribution


def _spread(found: Found, limits: tuple[Limit, ...], system: System) -> Chart:
    """How long the sampled exits take, with limits, percentiles and drills."""
    fig = figure(height=3.3)
    ax = axes(fig, left=0.6, bottom=0.75, top=0.75)
    heights, edges = _bars(found)
    ax.fill_between(
        edges, [*heights, 0.0], step="post", facecolor=SERIES[0], alpha=0.45, linewidth=0
    )
    ax.stairs(heights, edges, color=INK, linewidth=0.9)
    top = float(max(heights)) * 1.22
    ax.set_ylim(0.0, top)
    ax.set_ylabel(labelled("share of samples", "%"))
    for word in ("p50", "p95"):
        _percentile(ax, found.percentiles[word].value, word.upper(), top)
    _drill_ticks(ax, found)
    _time_axis(ax, system)
    _limit_lines(
        ax, _stated(limits), system, _reach(found, limits, drills=True), float(found.finish[0])
    )
    return finish(
        fig,
        f"egress.{found.scenario.id}.times",
        f"{found.scenario.title}: how long it takes",
        _spread_finding(found, limits, system),
        _spread_caption(found),
    )


def _bars(found: Found) -> tuple[list[float], list[float]]:
    """Shares of the samples, %, between the edges of the bars, s."""
    low, high = float(found.finish[0]), float(found.finish[-1])
    if high - low < 1e-9 * max(high, 1.0):
        low, high = low - 0.05, high + 0.05
    counts, edges = np.histogram(found.finish, bins=BINS, range=(low, high))
    return [100.0 * float(c) / len(found.finish) for c in counts], [float(e) for e in edges]


def _percentile(ax: Axes, value: float, word: str, top: float) -> None:
    ax.plot([value, value], [0.0, 0.92 * top], color=INK, linewidth=1.0, linestyle=(0, (2, 2)))
    ax.annotate(word, (value, 0.92 * top), xytext=(2, 1), textcoords="offset points", fontsize=8.0)


def _drill_ticks(ax: Axes, found: Found) -> None:
    """Drills as triangles on the axis, and the bound that they give."""
    times = [t.time for t in found.drills if t.time is not None]
    if times:
        ax.plot(
            times,
            [0.0] * len(times),
            linestyle="none",
            marker="^",
            markersize=8.0,
            color=ACCENT,
            markeredgecolor=INK,
            clip_on=False,
            zorder=5,
        )
    bound = _bound(found)
    if bound is not None:
        ax.plot(
            [bound],
            [0.0],
            linestyle="none",
            marker="s",
            markersize=6.5,
            color=ACCENT,
            markeredgecolor=INK,
            clip_on=False,
            zorder=5,
        )


def _bound(found: Found) -> float | None:
    """The upper bound of the next drill, s; None where too few are timed."""
    return found.results["drill_bound"].value if found.decided_by_drills else None


def _spread_caption(found: Found) -> str:
    said = "Dotted: the median and the 95th percentile of the samples."
    if any(t.time is not None for t in found.drills):
        said += " Triangles on the axis: the drills."
    if found.decided_by_drills:
        said += " Square: the upper bound of the next drill."
    return said


def _spread_finding(found: Found, limits: tuple[Limit, ...], system: System) -> str:
    p50, p95 = found.percentiles["p50"].value, found.percentiles["p95"].value
    said = [
        f"Half of the sampled exits take at most {_time(p50, system)} and 95 % at most "
        f"{_time(p95, system)}, {_against(p95, limits, system)}.",
        *_at_once(found),
    ]
    times = [t.time for t in found.drills if t.time is not None]
    if len(times) == 1:
        said.append(f"The one drill took {_time(times[0], system)}.")
    elif times:
        said.append(
            f"The {len(times)} drills took {_time(min(times), system)} to "
            f"{_time(max(times), system)}; {found.compared.above_p95 or 'none'} took "
            "longer than that 95th percentile."
        )
    else:
        said.append("No drill is timed.")
    bound = _bound(found)
    if bound is not None:
        said.append(
            f"The upper bound of the next drill is {_time(bound, system)}, "
            f"{_against(bound, limits, system)}."
        )
    return " ".join(said)


# -------------------------------------------------------------------------------------- both


def _reach(found: Found, limits: tuple[Limit, ...], *, drills: bool) -> float:
    """How far the time axis has to reach, s."""
    ends = [float(found.finish[-1]) if drills else max(r.finish_p95 for r in found.rows)]
    ends += [allowed for _, allowed in _stated(limits)]
    if drills:
        ends += [t.time for t in found.drills if t.time is not None]
        ends += [bound] if (bound := _bound(found)) is not None else []
    return max(ends)


def _time_axis(ax: Axes, system: System) -> None:
    ax.set_xlabel(labelled("time from the first activity", show(0.0, "time", system).unit))
    ax.grid(axis="x")


def _limit_lines(
    ax: Axes,
    stated: tuple[tuple[Limit, float], ...],
    system: System,
    end: float,
    begin: float = 0.0,
) -> None:
    """The limits as lines, each named above the axes on a level of its own."""
    room = 0.06 * (end - begin) or 1.0
    ax.set_xlim(max(begin - room, 0.0), end + room)
    middle = 0.5 * sum(ax.get_xlim())
    for level, (limit, allowed) in enumerate(sorted(stated, key=lambda pair: pair[1])):
        ax.axvline(allowed, color=INK, linewidth=1.7, linestyle=LINES[limit.word])
        ax.annotate(
            f"{_name(limit)}, {_time(allowed, system)}",
            (allowed, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 5 + 13 * level),
            textcoords="offset points",
            fontsize=8.5,
            horizontalalignment="right" if allowed > middle else "left",
        )
