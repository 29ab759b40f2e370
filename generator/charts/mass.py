"""The charts of mass: side and plan view to scale, the centre of gravity up close, mass by group.

x points aft and the nose is at the left; in plan the driver's right is up. Nothing is computed here
but where ink goes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Ellipse
from numpy.typing import NDArray

from buildspec.build import Build
from buildspec.kinds import System
from buildspec.quantities import BASES, both, from_si, show
from generator.charts.canvas import (
    ACCENT,
    GRID,
    HATCHES,
    HOLDS,
    INK,
    MARKERS,
    MUTED,
    PAPER,
    SERIES,
    WIDTH,
    axes,
    figure,
    finish,
    labelled,
    per_cent,
)
from generator.charts.chart import Chart
from generator.formulas.uncertainty import COVERAGE
from generator.subjects.mass_detail import Detail, GroupLine, ItemLine, Loading
from generator.subjects.mass_loading import State
from generator.vocabulary import Outcome

Array = NDArray[np.float64]
Ends = tuple[float, float]
NAMED = 10
"""How many of the heaviest items are numbered and named."""
GROUPS = 14
"""How many groups the bars show at most."""
DRAWN = 400
"""How many items are drawn at most; more would only blacken the paper."""
_FILLS = (HATCHES[0], HATCHES[1], HATCHES[3], HATCHES[4], "||||")
"""Hatches of lines only: a hatch of dots costs a quarter of a megabyte of SVG."""
LONGEST = 30
"""Characters of a name that are shown in a key; the table of items has all of them."""


@dataclass(frozen=True)
class _View:
    """A projection: the coordinates that go across and up, by their index, and the unit on the
    axes.
    """

    across: int
    up: int
    system: System

    def to(self, value: float) -> float:
        """A length in the unit of the axes."""
        return from_si(value, "length", self.unit)

    @property
    def unit(self) -> str:
        """The unit of the axes."""
        return show(0.0, "length", self.system).unit


def charts(outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """Every chart of the subject, or none where nothing is aboard in the design condition."""
    detail = outcome.detail
    if not isinstance(detail, Detail) or detail.design.state is None:
        return ()
    made = [_side(detail, build.system), _plan(detail, build.system), _close(detail, build.system)]
    return (*made, _groups(detail, build.system))


# ---------------------------------------------------------------------- side and plan view


def _side(detail: Detail, system: System) -> Chart:
    view = _View(0, 2, system)
    fig, ax = _to_scale(detail, view)
    ax.axhline(view.to(detail.ground), color=INK, linewidth=1.2)
    for wheel in detail.wheels:
        if wheel.radius:
            centre = (view.to(wheel.x.si), view.to(detail.ground + wheel.radius.si))
            ax.add_patch(Circle(centre, view.to(wheel.radius.si), fill=False, edgecolor=MUTED))
    if detail.most_height is not None:
        ax.axhline(
            view.to(detail.ground + detail.most_height), color=HOLDS, linestyle="--", linewidth=1.0
        )
    return finish(
        fig,
        "mass.chart.side",
        "Side view to scale, design condition",
        _where(detail, system),
        _how(detail, "Seen from the driver's left: the nose is at the left, up is up."),
    )


def _plan(detail: Detail, system: System) -> Chart:
    view = _View(0, 1, system)
    fig, ax = _to_scale(detail, view)
    ax.axhline(0.0, color=GRID, linewidth=0.8)
    for wheel in detail.wheels:
        half = view.to(wheel.radius.si if wheel.radius else 0.1)
        x, y = view.to(wheel.x.si), view.to(wheel.y.si)
        ax.plot([x - half, x + half], [y, y], color=MUTED, linewidth=4.0, solid_capstyle="butt")
    return finish(
        fig,
        "mass.chart.plan",
        "Plan view to scale, design condition",
        _aside(detail, system),
        _how(detail, "Seen from above: the nose is at the left, the driver's right is up."),
    )


def _to_scale(detail: Detail, view: _View) -> tuple[Figure, Axes]:
    """Paper with equal scales, the items on it as discs, their key, the windows and the centres."""
    across, up = _extent(detail, view)
    width = WIDTH
    deep = (width - 0.75) * (up[1] - up[0]) / (across[1] - across[0])
    height = min(max(deep, 0.5), 3.2) + 2.35
    across, up = _widened(across, up, (height - 2.35) / (width - 0.75))
    fig = figure(width, height)
    ax = axes(fig, left=0.6, right=0.15, bottom=1.7, top=0.65)
    ax.set_aspect("equal", adjustable="box")
    ax.set_xlim(*across)
    ax.set_ylim(*up)
    ax.set_xlabel(labelled("x, aft of the origin", view.unit))
    ax.set_ylabel(labelled("xyz"[view.up], view.unit))
    _shade(ax, detail, view, across)
    named = _discs(ax, detail, view)
    _number(fig, ax, named, view, across)
    marks = _centres(ax, [c for c in detail.loadings if c.state], detail.design, view)
    fig.legend(handles=marks, loc="lower left", bbox_to_anchor=(0.0, 0.0), ncols=min(len(marks), 3))
    return fig, ax


def _extent(detail: Detail, view: _View) -> tuple[tuple[float, float], tuple[float, float]]:
    """The least and the greatest coordinate to show, both ways, in the unit of the axes."""
    place = detail.table.place
    across = [*place[:, 0], *(w.x.si for w in detail.wheels)]
    reach = [w.radius.si if w.radius else 0.1 for w in detail.wheels]
    across += [w.x.si + r for w, r in zip(detail.wheels, reach, strict=True)]
    across += [w.x.si - r for w, r in zip(detail.wheels, reach, strict=True)]
    if view.up == 1:
        up = [*place[:, 1], *(w.y.si for w in detail.wheels), -0.1, 0.1]
    else:
        up = [*place[:, 2], detail.ground - 0.05, *(detail.ground + 2.0 * r for r in reach)]
    return _padded(across, view), _padded(up, view)


def _widened(across: Ends, up: Ends, shape: float) -> tuple[Ends, Ends]:
    """Both ranges, the one too small widened about its middle, so that axes whose height over width
    is `shape` show them to one scale.
    """
    wide, tall = across[1] - across[0], up[1] - up[0]
    return _stretched(across, max(wide, tall / shape)), _stretched(up, max(tall, wide * shape))


def _stretched(ends: Ends, size: float) -> Ends:
    middle = 0.5 * (ends[0] + ends[1])
    return middle - 0.5 * size, middle + 0.5 * size


def _padded(values: Sequence[float], view: _View) -> tuple[float, float]:
    least, most = view.to(min(values)), view.to(max(values))
    pad = 0.04 * (most - least) or view.to(0.1)
    return least - pad, most + pad


def _discs(ax: Axes, detail: Detail, view: _View) -> tuple[ItemLine, ...]:
    """The items as discs whose area goes with their mass; returns the heaviest ones, by x."""
    lines = sorted((n for n in detail.lines if n.mass > 0.0), key=lambda n: (-n.mass, n.item.id))[
        :DRAWN
    ]
    heaviest = lines[0].mass if lines else 1.0
    place = [_place(n, view) for n in lines]
    ax.scatter(
        [p[0] for p in place],
        [p[1] for p in place],
        s=[600.0 * n.mass / heaviest for n in lines],
        facecolor=SERIES[0],
        alpha=0.35,
        edgecolor=INK,
        linewidth=0.6,
        zorder=2,
    )
    return tuple(sorted(lines[:NAMED], key=lambda n: (n.item.x.si, n.item.id)))


def _place(line: ItemLine, view: _View) -> tuple[float, float]:
    axis = (line.item.x, line.item.y, line.item.z)
    return view.to(axis[view.across].si), view.to(axis[view.up].si)


def _number(
    fig: Figure, ax: Axes, named: tuple[ItemLine, ...], view: _View, across: tuple[float, float]
) -> None:
    """Numbers in a row above the drawing, each with a line to its disc, and the key to them
    below.
    """
    places = [_place(line, view) for line in named]
    gap = (across[1] - across[0]) / 22.0
    spread = spaced([p[0] for p in places], gap, across)
    for n, ((x, y), at) in enumerate(zip(places, spread, strict=True), 1):
        ax.annotate(
            str(n),
            xy=(x, y),
            xytext=(at, 1.10),
            textcoords=ax.get_xaxis_transform(),
            ha="center",
            va="bottom",
            color=INK,
            arrowprops={"arrowstyle": "-", "color": MUTED, "linewidth": 0.6, "shrinkB": 0.0},
        )
    height = float(fig.get_size_inches()[1])
    for n, line in enumerate(named, 1):
        column, row = divmod(n - 1, 5)
        fig.text(
            0.02 + 0.49 * column,
            (1.16 - 0.155 * row) / height,
            f"{n}  {short(line.item.name)}: {show(line.mass, 'mass', view.system, figures=3)}",
            fontsize=8.0,
            color=INK,
            va="top",
        )


def spaced(wanted: Sequence[float], gap: float, within: tuple[float, float]) -> list[float]:
    """Places in the order of `wanted` (rising), at least `gap` apart, as near to it as a simple
    push gives.

    They stay within the bounds where these have room for all.
    """
    placed: list[float] = []
    for value in wanted:
        placed.append(max(value, placed[-1] + gap) if placed else max(value, within[0]))
    over = placed[-1] - within[1] if placed else 0.0
    top = within[1]
    for n in reversed(range(len(placed))):
        if over <= 0.0 or placed[n] <= top:
            break
        placed[n] = top
        top -= gap
    return placed


def short(name: str) -> str:
    """A name cut to what a key has room for."""
    return name if len(name) <= LONGEST else f"{name[: LONGEST - 1].rstrip()}…"


# ----------------------------------------------------------------------- centres and windows


def _shade(ax: Axes, detail: Detail, view: _View, across: tuple[float, float]) -> None:
    """The windows along x, hatched and outlined; an open end runs to the edge of the paper."""
    for window in detail.windows:
        least = view.to(window.least) if window.least is not None else across[0]
        most = view.to(window.most) if window.most is not None else across[1]
        ax.axvspan(least, most, facecolor=HOLDS, alpha=0.10, zorder=0)
        for end, stated in ((least, window.least), (most, window.most)):
            if stated is not None:
                ax.axvline(end, color=HOLDS, linestyle="--", linewidth=1.0, zorder=1)


def _centres(ax: Axes, loadings: Iterable[Loading], design: Loading, view: _View) -> list[object]:
    """The centre of gravity of each condition with its ellipse; the design condition is filled."""
    marks: list[object] = []
    for n, loading in enumerate(loadings):
        assert loading.state is not None
        marks.append(_centre(ax, loading.state, view, n, loading.title, filled=loading is design))
    return marks


def _centre(ax: Axes, state: State, view: _View, n: int, label: str, *, filled: bool) -> object:
    colour = ACCENT if filled else INK
    ax.add_patch(_ellipse(state, view, colour))
    x, y = view.to(float(state.cg[view.across])), view.to(float(state.cg[view.up]))
    return ax.plot(
        [x],
        [y],
        linestyle="none",
        marker=MARKERS[n % len(MARKERS)],
        markersize=6.5,
        color=colour,
        markerfacecolor=colour if filled else PAPER,
        label=short(label),
        zorder=4,
    )[0]


def _ellipse(state: State, view: _View, colour: str) -> Ellipse:
    """The ellipse of two standard uncertainties along its principal axes."""
    pick = (view.across + 1, view.up + 1)
    variances, vectors = np.linalg.eigh(state.covariance[np.ix_(pick, pick)])
    size = 2.0 * COVERAGE * np.sqrt(np.maximum(variances, 0.0))
    angle = float(np.degrees(np.arctan2(vectors[1, 1], vectors[0, 1])))
    centre = (view.to(float(state.cg[view.across])), view.to(float(state.cg[view.up])))
    return Ellipse(
        centre,
        view.to(float(size[1])),
        view.to(float(size[0])),
        angle=angle,
        fill=False,
        edgecolor=colour,
        linewidth=1.0,
        zorder=3,
    )


def _close(detail: Detail, system: System) -> Chart:
    """The centres of gravity up close, x against z, each axis with its own scale."""
    view = _View(0, 2, system)
    shown = [c for c in detail.loadings if c.state]
    fig = figure(height=3.9)
    ax = axes(fig, left=0.7, right=0.2, bottom=1.15, top=0.15)
    _frame(ax, detail, shown, view)
    _shade(ax, detail, view, ax.get_xlim())
    if detail.most_height is not None:
        ax.axhline(
            view.to(detail.ground + detail.most_height), color=HOLDS, linestyle="--", linewidth=1.0
        )
    ax.set_xlabel(labelled("x, aft of the origin", view.unit))
    ax.set_ylabel(labelled("z", view.unit))
    marks = _centres(ax, shown, detail.design, view)
    latest = detail.latest
    if latest and latest.state:
        marks.append(
            _centre(
                ax,
                latest.state,
                view,
                len(shown),
                f"Weighed {latest.weighing.date.isoformat()}",
                filled=False,
            )
        )
    fig.legend(handles=marks, loc="lower left", bbox_to_anchor=(0.0, 0.0), ncols=2)
    return finish(
        fig,
        "mass.chart.cg",
        "Centre of gravity in every condition",
        _inside(detail, system),
        "The two axes have different scales. Ellipses are two standard uncertainties wide either "
        "way; dashed lines are limits, the window is shaded.",
    )


def _frame(ax: Axes, detail: Detail, shown: Sequence[Loading], view: _View) -> None:
    """Limits of the close view: every centre with its ellipse, the windows' ends, the height
    limit.
    """
    states = [c.state for c in shown if c.state]
    if detail.latest and detail.latest.state:
        states.append(detail.latest.state)
    x = [float(s.cg[0]) + side * 3.0 * float(s.u[1]) for s in states for side in (-1, 1)]
    z = [float(s.cg[2]) + side * 3.0 * float(s.u[3]) for s in states for side in (-1, 1)]
    x += [end for w in detail.windows for end in (w.least, w.most) if end is not None]
    z += [detail.ground + detail.most_height] if detail.most_height is not None else []
    ax.set_xlim(*_padded(x, view))
    ax.set_ylim(*_padded(z, view))


# -------------------------------------------------------------------------- mass by group


def _groups(detail: Detail, system: System) -> Chart:
    """Bars of mass by group, each split by how the masses are known."""
    lines = detail.groups_by_basis[:GROUPS]
    unit = show(0.0, "mass", system).unit
    fig = figure(height=1.35 + 0.27 * len(lines))
    ax = axes(fig, left=2.0, right=0.6, bottom=0.95, top=0.1)
    rows = np.arange(float(len(lines)))[::-1]
    bars, ends = _stacks(ax, lines, rows, unit)
    for row, line, end in zip(rows, lines, ends, strict=True):
        said = show(line.mass, "mass", system, figures=3).number
        ax.text(end, row, f"  {said}", va="center", fontsize=8.0)
    ax.set_yticks(rows, [short(line.name) for line in lines])
    longest = float(np.max(ends))
    ax.set_xlim(0.0, 1.12 * longest if longest > 0.0 else 1.0)
    ax.set_xlabel(labelled("mass aboard, design condition", unit))
    fig.legend(handles=bars, loc="lower left", bbox_to_anchor=(0.0, 0.0), ncols=3)
    cut = f"The heaviest {GROUPS} groups are drawn." if len(detail.groups_by_basis) > GROUPS else ""
    title = "Mass by group and by how it is known"
    return finish(fig, "mass.chart.groups", title, _heaviest(detail, system), cut)


def _stacks(
    ax: Axes, lines: Sequence[GroupLine], rows: Array, unit: str
) -> tuple[list[object], Array]:
    """One stack a group; returns what the key needs and where each stack ends."""
    start, bars = np.zeros(len(lines)), list[object]()
    for n, basis in enumerate(BASES):
        kilograms = [dict(line.by_basis).get(basis, 0.0) for line in lines]
        if any(kilograms):
            part = np.array([from_si(m, "mass", unit) for m in kilograms])
            bars.append(
                ax.barh(
                    rows,
                    part,
                    left=start,
                    height=0.7,
                    facecolor=SERIES[n],
                    edgecolor=PAPER,
                    hatch=_FILLS[n],
                    linewidth=0.8,
                    label=basis,
                )
            )
            start = start + part
    return bars, start


# ------------------------------------------------------------------------- what they show


def _how(detail: Detail, seen: str) -> str:
    aboard = sum(1 for line in detail.lines if line.mass > 0.0)
    drawn = f"the {DRAWN} heaviest of {aboard} items" if aboard > DRAWN else f"{aboard} items"
    return (
        f"{seen} Discs are {drawn} aboard, their area in proportion to mass, the heaviest "
        "numbered; markers are centres of gravity, the filled one of the design condition; dashed "
        "lines are limits, the window is shaded."
    )


def _where(detail: Detail, system: System) -> str:
    state = detail.design.state
    assert state is not None
    at = both(float(state.cg[0]), "length", system, figures=3)
    high = both(float(state.cg[2]) - detail.ground, "length", system, figures=3)
    limit = ""
    if detail.most_height is not None:
        word = "below" if float(state.cg[2]) - detail.ground <= detail.most_height else "above"
        limit = f", {word} the limit of {both(detail.most_height, 'length', system, figures=3)}"
    return (
        f"The centre of gravity is at x = {at}, {high} above the ground{limit}"
        + _against(detail)
        + "."
    )


def _against(detail: Detail) -> str:
    """How the design condition stands to the windows, in words."""
    state = detail.design.state
    assert state is not None
    if not detail.windows:
        return ""
    outside = [w for w in detail.windows if not _is_inside(w.least, w.most, float(state.cg[0]))]
    if not outside:
        return ", inside its window"
    ahead = outside[0].least is not None and float(state.cg[0]) < outside[0].least
    return f", {'ahead' if ahead else 'aft'} of its {outside[0].words}"


def _is_inside(least: float | None, most: float | None, x: float) -> bool:
    return (least is None or x >= least) and (most is None or x <= most)


def _aside(detail: Detail, system: System) -> str:
    state = detail.design.state
    assert state is not None
    y = float(state.cg[1])
    side = "right" if y > 0.0 else "left"
    if abs(y) < 1e-6:
        return "The centre of gravity is on the centre plane."
    off = both(abs(y), "length", system, figures=2)
    return f"The centre of gravity is {off} to the driver's {side} of the centre plane."


def _inside(detail: Detail, system: System) -> str:
    shown = [(c.title, float(c.state.cg[0])) for c in detail.loadings if c.state]
    at = "; ".join(f"{title}: x = {both(x, 'length', system, figures=3)}" for title, x in shown)
    if not detail.windows:
        return f"{at}. No window is stated."
    outside = [
        title
        for title, x in shown
        if not all(_is_inside(w.least, w.most, x) for w in detail.windows)
    ]
    if not outside:
        return f"{at}. Every condition is inside the window."
    return f"{at}. Outside the window: {', '.join(outside)}."


def _heaviest(detail: Detail, system: System) -> str:
    first = detail.groups[0]
    known = next((p.share for p in detail.bases if p.name == "measured"), 0.0)
    return (
        f"The heaviest group is {first.name} with {both(first.mass, 'mass', system, figures=3)}, "
        f"{per_cent(first.share)} of the total; {per_cent(known)} of the mass is measured."
    )
