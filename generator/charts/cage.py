"""Drawings of the subject `cage`: three views by utilisation, the turning view, deformed shapes."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Patch, Rectangle

from buildspec.build import Build
from generator.charts.cage_turning import turning
from generator.charts.canvas import (
    ACCENT,
    GRID,
    INK,
    MUTED,
    OPEN,
    PAPER,
    SERIES,
    SHORT,
    WIDTH,
    figure,
    finish,
)
from generator.charts.chart import Chart
from generator.frame.model import Array
from generator.subjects.cage_detail import CaseLine, Detail, Line, MemberLine
from generator.vocabulary import Outcome

WIDE = WIDTH
"""Width of the drawings, in."""
NARROWEST = 0.2
"""A view is as wide and as tall as this share of the frame at least: its title needs room."""
LABELS = 5
"""Members over their limit that a view names; the table has them all."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a tube is drawn: colour, width in points, dashes, words."""

    colour: str
    width: float
    dashes: object
    words: str


STROKES = (
    Stroke(MUTED, 1.0, "-", "under 50 %"),
    Stroke(SERIES[0], 1.7, "-", "50 to 80 %"),
    Stroke(INK, 2.5, "-", "80 to 100 %"),
    Stroke(SHORT, 3.6, (0, (2.2, 0.9)), "over 100 %, falls short"),
    Stroke(OPEN, 1.4, (0, (1, 1.6)), "open"),
)
BOUNDS = (0.5, 0.8, 1.0)


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """The views, the turning view, and one deformed shape a load case."""
    detail = outcome.detail
    if not isinstance(detail, Detail) or not detail.members:
        return ()
    shapes = (_shape(case, detail) for case in detail.cases if case.lines)
    return (_views(detail), turning(detail), *shapes)


def grade(member: MemberLine) -> int:
    """Which of STROKES a member is drawn with."""
    if member.check.verdict == "open":
        return 4
    if member.check.verdict == "short":
        return 3
    used = member.utilisation or 0.0
    return sum(used > bound for bound in BOUNDS[:2])


# ------------------------------------------------------------------------ three views


@dataclass(frozen=True, slots=True)
class View:
    """Looking from one side: which coordinate goes across and which up, and with what sign."""

    title: str
    across: int
    up: int
    sign: float


SIDE = View("from the left", 0, 2, 1.0)
FRONT = View("from the front", 1, 2, -1.0)
TOP = View("from above", 0, 1, 1.0)


def _flat(line: Line, view: View) -> list[tuple[float, float]]:
    return [(view.sign * x, y) for x, y in line[:, (view.across, view.up)].tolist()]


def _bounds(lines: Sequence[Line]) -> tuple[Array, Array]:
    points = np.concatenate(lines)
    return points.min(axis=0), points.max(axis=0)


def _paper(
    lines: Sequence[Line], views: Sequence[tuple[View, int, int]], foot: float = 0.0
) -> tuple[Figure, list[Axes]]:
    """A figure with the views in columns and rows, all to one scale, above `foot` inches of paper."""
    low, high = _bounds(lines)
    span = np.maximum(high - low, NARROWEST * float((high - low).max()))
    wide = [
        max(span[v.across] for v, c, _ in views if c == k) for k in sorted({c for _, c, _ in views})
    ]
    tall = [
        max(span[v.up] for v, _, r in views if r == k) for k in sorted({r for _, _, r in views})
    ]
    gap, margin, head = 0.35, 0.15, 0.25
    scale = (WIDE - 2 * margin - gap * (len(wide) - 1)) / sum(wide)
    height = scale * sum(tall) + len(tall) * (head + margin) + foot
    fig = figure(WIDE, height)
    found = []
    for view, column, row in views:
        left = margin + scale * sum(wide[:column]) + gap * column
        top = scale * sum(tall[:row]) + (head + margin) * row + head
        box = (
            left,
            height - top - scale * span[view.up],
            scale * span[view.across],
            scale * span[view.up],
        )
        ax = fig.add_axes((box[0] / WIDE, box[1] / height, box[2] / WIDE, box[3] / height))
        ends = sorted((view.sign * low[view.across], view.sign * high[view.across]))
        middle = (ends[0] + ends[1]) / 2
        ax.set_xlim(middle - span[view.across] / 2, middle + span[view.across] / 2)
        ax.set_ylim(low[view.up], low[view.up] + span[view.up])
        ax.set_axis_off()
        ax.set_title(view.title, color=MUTED)
        found.append(ax)
    return fig, found


def _views(detail: Detail) -> Chart:
    """Side, front and top, each tube as thick and as coloured as it is used."""
    lines = [m.line for m in detail.members]
    around = (*lines, *_corners(detail))
    fig, axes = _paper(around, ((SIDE, 0, 0), (FRONT, 1, 0), (TOP, 0, 1)), foot=0.75)
    for ax, view in zip(axes, (SIDE, FRONT, TOP), strict=True):
        _bodies(ax, detail, view)
        _tubes(ax, detail.members, view)
    _legend(fig, detail)
    return finish(
        fig,
        "cage.views",
        "Tubes by utilisation",
        _finding(detail),
        "Each tube in the load case that uses it most. Grey balls and boxes: the helmet and the "
        "spaces to keep. In the view from the front the driver's left is to the right.",
    )


def _tubes(ax: Axes, members: Sequence[MemberLine], view: View) -> None:
    """The tubes, the most used on top; those over their limit named."""
    for number, stroke in sorted(enumerate(STROKES), key=lambda s: (s[0] == 3, s[0])):
        flat = [_flat(m.line, view) for m in members if grade(m) == number]
        ax.add_collection(
            LineCollection(
                flat,
                colors=stroke.colour,
                linewidths=stroke.width,
                linestyles=stroke.dashes,
                clip_on=False,
            )
        )
    over = [m for m in members if grade(m) == 3 and not m.twin_of]
    for member in [m for m in over if _best(m) is view][:LABELS]:
        _name(ax, member, view)


def _best(member: MemberLine) -> View:
    """The view in which a tube is seen longest."""
    span = np.abs(np.diff(member.line, axis=0)).sum(axis=0)
    return max((FRONT, SIDE, TOP), key=lambda v: float(np.hypot(span[v.across], span[v.up])))


def _name(ax: Axes, member: MemberLine, view: View) -> None:
    flat = _flat(member.line, view)
    k = len(flat) // 2
    x, y = flat[k] if len(flat) % 2 else np.mean([flat[k - 1], flat[k]], axis=0)
    left, right = ax.get_xlim()
    side = (float(x) - left) / (right - left)
    ax.annotate(
        textwrap.fill(textwrap.shorten(member.title, 44, placeholder="…"), 22),
        (float(x), float(y)),
        xytext=(5 if side < 0.35 else -5 if side > 0.65 else 0, -11),
        textcoords="offset points",
        ha="left" if side < 0.35 else "right" if side > 0.65 else "center",
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
        fontsize=7.5,
        color=SHORT,
        fontweight="bold",
    )


def _bodies(ax: Axes, detail: Detail, view: View) -> None:
    """The helmet and the spaces to keep."""
    for space in detail.spaces:
        c, half, r = space.body.centre, space.body.half, space.body.radius
        at = (view.sign * float(c[view.across]), float(c[view.up]))
        drawn: Patch
        if not half.any():
            drawn = Circle(at, r, facecolor=GRID, edgecolor=MUTED, linewidth=0.6, clip_on=False)
        else:
            w, h = float(half[view.across]), float(half[view.up])
            corner = (at[0] - w, at[1] - h)
            drawn = Rectangle(corner, 2 * w, 2 * h, facecolor=GRID, edgecolor=MUTED, linewidth=0.6)
            drawn.set_clip_on(False)
        ax.add_patch(drawn)


def _corners(detail: Detail) -> list[Line]:
    """Two opposite corners around each ball and box, which the paper must hold too."""
    found = []
    for body in (space.body for space in detail.spaces):
        reach = body.half if body.half.any() else np.full(3, body.radius)
        ends = (body.centre - reach, body.centre + reach)
        found.append(np.array(ends))
    return found


def _legend(fig: Figure, detail: Detail) -> None:
    """What the strokes mean, at the foot."""
    used = sorted({grade(m) for m in detail.members})
    handles = [
        Line2D([], [], color=s.colour, linewidth=s.width, linestyle=s.dashes, label=s.words)  # type: ignore[arg-type]
        for n, s in enumerate(STROKES)
        if n in used
    ]
    fig.legend(
        handles=handles,
        loc="lower left",
        bbox_to_anchor=(0.02, 0.0),
        handlelength=2.6,
        ncols=2,
        title="Utilisation",
        alignment="left",
    )


def _finding(detail: Detail) -> str:
    """What the drawing shows, in words."""
    short = [m for m in detail.members if m.check.verdict == "short"]
    undecided = sum(m.check.verdict == "open" for m in detail.members)
    first = (
        f"{len(short)} of {len(detail.members)} tubes {'falls' if len(short) == 1 else 'fall'} short: "
        + ", ".join(m.title for m in short[:LABELS])
        + (" and others" if len(short) > LABELS else "")
        if short
        else f"None of {len(detail.members)} tubes falls short"
    )
    most = detail.governing
    used = most.utilisation if most else None
    second = f"; the most used is {most.title}, {100 * used:.0f} %" if most and used else ""
    third = f"; {undecided} are open" if undecided else ""
    return f"{first}{second}{third}."


# ------------------------------------------------------------------------ deformed shapes


def _shape(case: CaseLine, detail: Detail) -> Chart:
    """One load case's shape, enlarged, from the left and from the front."""
    plain = [m.line for m in detail.members]
    around = (*plain, *case.lines, *_corners(detail))
    fig, axes = _paper(around, ((SIDE, 0, 0), (FRONT, 1, 0)))
    for ax, view in zip(axes, (SIDE, FRONT), strict=True):
        _bodies(ax, detail, view)
        for lines, colour, width, dashes in (
            (plain, MUTED, 0.7, (0, (3, 2))),
            (case.lines, ACCENT, 1.2, "-"),
        ):
            ax.add_collection(
                LineCollection(
                    [_flat(line, view) for line in lines],
                    colors=colour,
                    linewidths=width,
                    linestyles=dashes,
                    clip_on=False,
                )
            )
    fig.text(0.02, 0.005, f"moved × {case.scale:g}", fontsize=8, color=INK)
    return finish(
        fig,
        f"cage.case.{case.id}.shape",
        f"{case.title}: shape under load, movements {case.scale:g} times enlarged",
        f"The largest movement is at {case.where}.",
        "Dashed: without load. Full line: under the factored load, elastic.",
    )
