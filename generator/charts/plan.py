"""Charts of the subject `plan`: the steps on the days to the event, and the hours left over time."""

from __future__ import annotations

import datetime
import math
import textwrap
from collections.abc import Sequence

from matplotlib.axes import Axes

from buildspec.build import Build
from generator.charts.canvas import (
    ACCENT,
    GRID,
    INK,
    MUTED,
    PAPER,
    SHORT,
    axes,
    figure,
    finish,
)
from generator.charts.chart import Chart
from generator.subjects.plan_records import Awaited, Detail, Planned
from generator.vocabulary import Outcome

WIDE = 3.8
"""Width of the drawings, in: all of it is seen on a phone, in letters that can be read."""
LONGEST = 58
"""Characters of a step's title above its bar."""
LETTERS = 54
"""Characters of one line above a bar; there is room for two lines."""
MOST_ROWS = 14
"""Rows of one drawing, so that it fits a sheet of paper."""
TALL = 0.53
"""Height of a row, in."""
Point = tuple[datetime.date, float]


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """The steps on their days, and the hours left; none where no step has days."""
    detail = outcome.detail
    if not isinstance(detail, Detail) or not any(not p.undated for p in detail.planned):
        return ()
    rows: list[Planned | Awaited] = [a for a in detail.orders if a.holds]
    rows += [p for p in detail.planned if not p.undated]
    each = math.ceil(len(rows) / math.ceil(len(rows) / MOST_ROWS))
    parts = [rows[n : n + each] for n in range(0, len(rows), each)]
    drawn = (_gantt(part, n, len(parts), detail) for n, part in enumerate(parts, 1))
    return (*drawn, hours_left(detail))


def _offset(day: datetime.date, detail: Detail) -> float:
    return float((day - detail.as_of).days)


def _gantt(rows: Sequence[Planned | Awaited], part: int, parts: int, detail: Detail) -> Chart:
    """One sheet of rows, each with its words above its bar: so it stays legible on a phone."""
    fig = figure(WIDE, 0.95 + TALL * len(rows))
    ax = axes(fig, left=0.32, right=0.15, bottom=0.5, top=0.35)
    _days(ax, detail)
    for number, row in enumerate(rows):
        if isinstance(row, Awaited):
            _order(ax, number, row, detail)
        else:
            _step(ax, number, row, detail)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.set_ylim(len(rows) - 0.4, -0.75)
    of = f", {part} of {parts}" if parts > 1 else ""
    return finish(
        fig,
        "plan.gantt" if part == 1 else f"plan.gantt.{part}",
        f"The steps on the days to the event{of}",
        _finding(detail),
        "Full bars set the end; outlined ones have room. A diamond is an order that is expected, an "
        "upright mark the day a step is due, the broken line the event.",
    )


def _step(ax: Axes, row: int, planned: Planned, detail: Detail) -> None:
    fill = ACCENT if planned.sets_the_end else PAPER
    length = max(planned.ends - planned.begins, 0.012 * ax.get_xlim()[1])
    ax.barh(row + 0.15, length, left=planned.begins, height=0.28, color=fill, edgecolor=INK)
    if planned.task.due:
        due = _offset(planned.task.due, detail) + 1.0
        colour = SHORT if planned.late else INK
        ax.plot([due, due], [row - 0.05, row + 0.35], color=colour, linewidth=2.2)
    late = "; late" if planned.late else ""
    _words(ax, row, f"{_cut(planned.task.step.title)}, {planned.task.owner}{late}")


def _order(ax: Axes, row: int, awaited: Awaited, detail: Detail) -> None:
    at = max(_offset(awaited.order.expected, detail) + 1.0, 0.0)
    fill = ACCENT if awaited.sets_the_end else PAPER
    ax.plot(
        [at], [row + 0.15], marker="D", color=fill, markeredgecolor=INK, markersize=6,
        linestyle="none", clip_on=False,
    )  # fmt: skip
    said = "overdue" if awaited.overdue else f"expected {awaited.order.expected}"
    _words(ax, row, f"{_cut(awaited.order.title)}, {said}")


def _words(ax: Axes, row: int, words: str) -> None:
    """The words of a row, at the left edge; a strip of paper keeps the lines out of them."""
    patch = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.6}
    lines = textwrap.wrap(words, LETTERS, max_lines=2, placeholder="…")
    ax.text(
        0.0, row - 0.07, "\n".join(lines), va="bottom", fontsize=8, linespacing=1.05, color=INK,
        bbox=patch,
    )  # fmt: skip


def _days(ax: Axes, detail: Detail) -> None:
    """The axis of days, from today to the later of the event and the end of the work."""
    ends = [p.ends for p in detail.planned if not p.undated]
    ends += [_offset(a.order.expected, detail) for a in detail.orders if a.holds]
    if detail.event:
        event = _offset(detail.event, detail)
        ends.append(event)
        ax.axvline(event, color=INK, linestyle="--", linewidth=1.4)
        ax.text(event, 1.01, detail.event.isoformat(), transform=ax.get_xaxis_transform(),
                ha="center", va="bottom", fontsize=8)  # fmt: skip
    last = max(*ends, 7.0)
    ax.set_xlim(0.0, last * 1.08)
    ticks = list(_ticks(detail.as_of, last))
    ax.set_xticks([at for at, _ in ticks], [words for _, words in ticks])
    ax.grid(visible=True, axis="x", color=GRID)
    ax.tick_params(axis="y", length=0)
    ax.set_xlabel(f"day, from {detail.as_of.isoformat()}")


def _ticks(begin: datetime.date, last: float) -> Sequence[tuple[float, str]]:
    """Months where the plan is long, Mondays where it is short."""
    days = [begin + datetime.timedelta(days=n) for n in range(int(last) + 1)]
    if last <= 63.0:
        mondays = [d for d in days if d.weekday() == 0]
        every = 1 + len(mondays) // 7
        return [(float((d - begin).days), f"{d:%m-%d}") for d in mondays[::every]]
    months = [d for d in days if d.day == 1]
    every = 1 + len(months) // 5
    return [(float((d - begin).days), f"{d:%Y-%m}") for d in months[::every]]


def _cut(title: str) -> str:
    return title if len(title) <= LONGEST else f"{title[: LONGEST - 1].rstrip()}…"


def _finding(detail: Detail) -> str:
    undated = sum(1 for p in detail.planned if p.undated)
    dated = len(detail.planned) - undated
    said = f"{dated} {'step' if dated == 1 else 'steps'}; the last ends on {detail.at_least}."
    if detail.event and detail.float_days is not None:
        days = abs(int(detail.float_days))
        late = detail.float_days < 0.0
        said += f" The event begins on {detail.event}, {days} days {'before' if late else 'after'} that."
    if undated:
        said += (
            f" {undated} {'step has' if undated == 1 else 'steps have'} no days and are not drawn."
        )
    return said


def hours_left(detail: Detail, history: Sequence[Point] = ()) -> Chart:
    """Hours left over days: the plan from today on, and before it what was so, where known.

    `history` are (day, hours left) of earlier states of the description, oldest first.
    """
    fig = figure(WIDE, 2.6)
    ax = axes(fig, left=0.6, right=0.15, bottom=0.5, top=0.35)
    rest = detail.hours_left - detail.hours_dated
    x, y = [day for day, _ in detail.curve], [hours + rest for _, hours in detail.curve]
    ax.plot(x, y, color=ACCENT, linewidth=2.0, label="plan of today")
    if history:
        then = [_offset(day, detail) for day, _ in history]
        ax.plot(then, [h for _, h in history], color=INK, marker="o", linestyle="-", label="was so")
        ax.legend(loc="upper right")
    ax.plot([0.0], [detail.hours_left], marker="o", color=INK, linestyle="none")
    if rest:
        ax.axhline(rest, color=MUTED, linestyle=":")
        ax.text(0.5, rest, f"{rest:g} h without days", fontsize=8, va="bottom")
    _days(ax, detail)
    first = min([0.0, *(_offset(day, detail) for day, _ in history)])
    ax.set_xlim(first, ax.get_xlim()[1])
    ax.set_ylim(0.0, 1.1 * max([detail.hours_left, *(h for _, h in history)]))
    ax.set_ylabel("hours left")
    return finish(
        fig,
        "plan.hours",
        "Hours of work left",
        f"{detail.hours_left:g} of {detail.hours:g} hours are left on {detail.as_of}; by the plan "
        f"{'none' if not rest else f'{rest:g} hours without days'} on {detail.at_least}.",
        "The broken line is the event. The dot is today.",
    )
