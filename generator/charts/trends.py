"""Charts of the design's way from revision to revision. They compute nothing but what is printed."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from buildspec.kinds import System
from buildspec.quantities import from_si, show
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
from generator.revisions.trends import Figures, Point

WIDE = 3.8
"""Width of the drawings, in: all of it is seen on a phone, in letters that can be read."""
MOST_LABELS = 9
LETTERS = 36
"""Letters that stand side by side below the axis, and above one another beside it."""
MOST_LINES = 5
"""Subjects drawn; the table has them all."""

Take = Callable[[Figures], float | None]


@dataclass(frozen=True, slots=True)
class _Figure:
    """A result that is drawn: its name among the figures, its title, its kind, and its limits."""

    name: str
    title: str
    kind: str
    limits: tuple[str, ...] = ()
    zero: bool = False


_MASS = _Figure("mass", "Mass", "mass", ("mass_most",))
_PLACE = _Figure("cg_x", "Centre of gravity, x", "length", ("cg_x_least", "cg_x_most"))
_BALANCE = _Figure(
    "cg_share",
    "Centre of gravity as share of the wheelbase",
    "share",
    ("cg_share_least", "cg_share_most"),
)
_HEIGHT = _Figure("cg_height", "Height of the centre of gravity", "length", ("cg_height_most",))
_HOURS = _Figure("hours_left", "Hours of work left", "time", zero=True)


def charts(points: Sequence[Point], system: System, titles: dict[str, str]) -> tuple[Chart, ...]:
    """One chart for each figure that any revision has."""
    made = (
        *(_valued(points, system, figure) for figure in (_MASS, _PLACE, _BALANCE, _HEIGHT)),
        _margins(points, titles),
        _valued(points, system, _HOURS),
        _share(points, "ready", "Checks that hold", lambda f: f.ready, 1.0),
        _share(points, "measured", "Values that were measured", lambda f: f.measured_share, None),
    )
    return tuple(chart for chart in made if chart is not None)


def _valued(points: Sequence[Point], system: System, drawn: _Figure) -> Chart | None:
    """A result in its printed unit, with its limits where a revision states them."""
    title, kind = drawn.title, drawn.kind
    found = _series(points, lambda f: f.values.get(drawn.name))
    if not any(math.isfinite(v) for v in found):
        return None
    unit = "h" if drawn.zero else show(1.0, kind, system).unit
    fig, ax = _paper(points, labelled(title, unit))
    _line(ax, [_in(v, kind, unit) for v in found], 0, title)
    for limit in drawn.limits:
        values = _series(points, lambda f, limit=limit: f.values.get(limit))  # type: ignore[misc]
        _target(ax, [_in(v, kind, unit) for v in values], "limit")
    if drawn.zero:
        _target(ax, [0.0] * len(points), "done")
    said = _said(points, found, lambda v: str(show(v, kind, system, unit=unit)))
    return finish(fig, f"trend-{drawn.name}", title, said, _gaps(points))


def _share(
    points: Sequence[Point], name: str, title: str, take: Take, target: float | None
) -> Chart | None:
    found = _series(points, take)
    if not any(math.isfinite(v) for v in found):
        return None
    fig, ax = _paper(points, labelled(title, "%"))
    _line(ax, [100.0 * v for v in found], 0, title)
    if target is not None:
        _target(ax, [100.0 * target] * len(points), "all")
    ax.set_ylim(-4.0, 106.0)
    said = _said(points, found, lambda v: f"{100.0 * v:.0f} %")
    return finish(fig, f"trend-{name}", title, said, _gaps(points))


def _margins(points: Sequence[Point], titles: dict[str, str]) -> Chart | None:
    """The least margins of the subjects that have the least now."""
    words = _least_first(points)
    if not words:
        return None
    title = "Least margin of each subject"
    drawn = words[:MOST_LINES]
    fig, ax = _paper(points, labelled("least margin", "%"), key=0.19 * (len(drawn) + 1))
    for number, word in enumerate(drawn):
        found = _series(points, lambda f, word=word: f.margins.get(word))  # type: ignore[misc]
        _line(ax, [100.0 * v for v in found], number, titles.get(word, word))
    _target(ax, [0.0] * len(points), "just enough")
    fig.legend(loc="lower left", bbox_to_anchor=(0.0, 0.0))
    return finish(fig, "trend-margins", title, _margins_said(points, words, titles), _gaps(points))


def _gaps(points: Sequence[Point]) -> str:
    """What marks a revision without figures, where there is one."""
    lost = any(p.figures is None for p in points)
    return "A cross at the foot marks a revision that this program cannot read." if lost else ""


def _least_first(points: Sequence[Point]) -> list[str]:
    """The subjects by the least margin they have in the last revision that has one."""
    last: dict[str, float] = {}
    for point in points:
        if point.figures is not None:
            last.update(point.figures.margins)
    return sorted(last, key=lambda word: (last[word], word))


# ------------------------------------------------------------------------------- drawing


def _paper(points: Sequence[Point], label: str, key: float = 0.0) -> tuple[Any, Any]:
    """Axes with a place for each revision, and room for a key of that height, in, below them."""
    fig = figure(WIDE, 2.9 + key)
    ax = axes(fig, left=0.8, right=0.5, bottom=0.4 + key)
    ax.set_ylabel(textwrap.fill(label, LETTERS))
    ax.set_xlim(-0.5, max(len(points) - 0.5, 0.5))
    names = [p.name[:12] for p in points]
    room = min(MOST_LABELS, max(1, LETTERS // (max(map(len, names), default=1) + 2)))
    ticks = list(range(len(points) - 1, -1, -max(1, math.ceil(len(points) / room))))[::-1]
    ax.set_xticks(ticks, [names[n] for n in ticks])
    ax.grid(visible=True, axis="y", color=GRID)
    lost = [n for n, p in enumerate(points) if p.figures is None]
    if lost:
        foot = ax.get_xaxis_transform()
        ax.plot(lost, [0.03] * len(lost), "x", color=SHORT, transform=foot, clip_on=False)
    return fig, ax


def _line(ax: Any, values: Sequence[float], number: int, label: str) -> None:
    marker = MARKERS[number] if len(values) <= 40 else ""
    ax.plot(
        range(len(values)),
        values,
        color=SERIES[number] if number else ACCENT,
        linestyle=DASHES[number],
        marker=marker,
        markersize=4.5,
        label=label,
    )


def _target(ax: Any, values: Sequence[float], label: str) -> None:
    """A dotted line of the target, with its word behind the last revision that states it."""
    stated = [n for n, v in enumerate(values) if math.isfinite(v)]
    if not stated:
        return
    ends = [stated[0] - 0.4, *stated, stated[-1] + 0.4]
    heights = [values[stated[0]], *(values[n] for n in stated), values[stated[-1]]]
    ax.plot(ends, heights, color=MUTED, linestyle=(0, (1, 1.5)), linewidth=1.2)
    ax.annotate(
        label.replace(" ", "\n"),
        (ends[-1], heights[-1]),
        xytext=(3, 0),
        textcoords="offset points",
        ha="left",
        va="center",
        fontsize=8.0,
        color=INK,
    )


def _series(points: Iterable[Point], take: Take) -> list[float]:
    found = (take(p.figures) if p.figures is not None else None for p in points)
    return [math.nan if value is None else value for value in found]


def _in(value: float, kind: str, unit: str) -> float:
    return from_si(value, kind, unit) if math.isfinite(value) else math.nan


# ------------------------------------------------------------------------------- findings


def _said(points: Sequence[Point], values: Sequence[float], words: Callable[[float], str]) -> str:
    known = [(p, v) for p, v in zip(points, values, strict=True) if math.isfinite(v)]
    (first, one), (last, other) = known[0], known[-1]
    if first is last:
        return f"{words(one)} in {first.name}, the only one that has it."
    return f"{words(one)} in {first.name}, {words(other)} in {last.name}."


def _margins_said(points: Sequence[Point], words: list[str], titles: dict[str, str]) -> str:
    known = [p for p in points if p.figures is not None and p.figures.margins]
    last = known[-1]
    assert last.figures is not None
    word = min(last.figures.margins, key=lambda w: (last.figures.margins[w], w))  # type: ignore[union-attr]
    least = show(last.figures.margins[word], "share", System.SI, figures=3)
    drawn = (
        "" if len(words) <= MOST_LINES else f"; drawn are the {MOST_LINES} subjects with the least"
    )
    return f"In {last.name} the least margin is {least}, in {titles.get(word, word)}{drawn}."
