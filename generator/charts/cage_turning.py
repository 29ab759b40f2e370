"""The view of the frame that can be turned: a drawing that is right as it stands, with what the
little script needs to draw it from another side.
"""

from __future__ import annotations

import html
import math
from collections.abc import Iterable

import numpy as np

from generator.charts.chart import Chart
from generator.frame.model import Array
from generator.subjects.cage_detail import Detail, MemberLine, Space

AZIMUTH, ELEVATION = math.radians(-125.0), math.radians(20.0)
"""Where the view is from at first: ahead of the frame, to its left, a little above."""
WIDTH, HEIGHT, MARGIN = 660.0, 440.0, 34.0
KEY = (
    "Thin grey: up to half of the strength used; thicker blue: up to 80 %; thicker, in the "
    "colour of the letters: up to 100 %; dashed and thickest: over it; dotted: open."
)
EDGES = tuple(
    (x, y, z)
    for x, y, z in (
        (-1, -1, -1),
        (1, -1, -1),
        (1, 1, -1),
        (-1, 1, -1),
        (-1, -1, -1),
        (-1, -1, 1),
        (1, -1, 1),
        (1, -1, -1),
        (1, -1, 1),
        (1, 1, 1),
        (1, 1, -1),
        (1, 1, 1),
        (-1, 1, 1),
        (-1, 1, -1),
        (-1, 1, 1),
        (-1, -1, 1),
    )
)
"""Corners of a box in an order that draws every edge in one line."""
WORDS = ("u0", "u1", "u2", "short", "open")


def directions(azimuth: float, elevation: float) -> Array:
    """Across the page and up it, in vehicle axes, (2, 3), seen from that side."""
    a, e = azimuth, elevation
    return np.array(
        (
            (-math.sin(a), math.cos(a), 0.0),
            (-math.sin(e) * math.cos(a), -math.sin(e) * math.sin(a), math.cos(e)),
        )
    )


def turning(detail: Detail) -> Chart:
    """The view, with every tube as one line that carries its points and its name."""
    points = np.concatenate([m.line for m in detail.members])
    low, high = points.min(axis=0), points.max(axis=0)
    centre, radius = (low + high) / 2, float(np.linalg.norm(high - low)) / 2
    looked = directions(AZIMUTH, ELEVATION)
    flat = (points - centre) @ looked.T
    reach = np.maximum(np.abs(flat).max(axis=0), 1e-6)  # a frame may be one straight tube
    scale = min((WIDTH / 2 - MARGIN) / reach[0], (HEIGHT / 2 - MARGIN) / reach[1])
    from generator.charts.cage import grade  # noqa: PLC0415  (the drawings share their strokes)

    ranked = sorted(detail.members, key=lambda m: (grade(m) == 3, grade(m)))
    drawn = "\n".join(_member(m, grade(m), centre, looked * scale) for m in ranked)
    spaces = "\n".join(_space(s, centre, looked, scale) for s in detail.spaces)
    c = " ".join(f"{v:.4f}" for v in centre)
    name = html.escape(f"{_finding(detail)}", quote=True)
    svg = (
        f'<svg class="mb-chart mb-turning" role="img" aria-label="{name}" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" '
        f'xmlns="http://www.w3.org/2000/svg" data-centre="{c}" data-radius="{radius:.4f}" '
        f'data-azimuth="{AZIMUTH:.5f}" data-elevation="{ELEVATION:.5f}" data-margin="{MARGIN:g}">\n'
        f"<title>The frame, to be turned</title>\n<desc>{name}</desc>\n{spaces}\n{drawn}\n</svg>"
    )
    return Chart("cage.turning", "The frame, to be turned", svg, _finding(detail), KEY)


def _finding(detail: Detail) -> str:
    short = sum(m.check.verdict == "short" for m in detail.members)
    said = f"{short} of them dashed and thick, over their limit" if short else "none over its limit"
    return f"{len(detail.members)} tubes as seen from ahead and above on the left, {said}."


def _place(point: Array, centre: Array, looked: Array) -> tuple[float, float]:
    x, y = looked @ (point - centre)
    return WIDTH / 2 + float(x), HEIGHT / 2 - float(y)


def _member(member: MemberLine, number: int, centre: Array, looked: Array) -> str:
    """One tube: drawn points, points in space, and what is said when it is picked."""
    flat = [_place(p, centre, looked) for p in member.line]
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in flat)
    said = html.escape(_said(member), quote=True)
    return (
        f'<polyline class="mb-tube mb-{WORDS[number]}" points="{points}" data-p="{_three(member.line)}" '
        f'data-ref="{html.escape(member.check.id, quote=True)}"><title>{said}</title></polyline>'
    )


def _said(member: MemberLine) -> str:
    """A tube in words: its name, its size, how much of its strength is used, and when."""
    if member.utilisation is None:
        return f"{member.title}, {member.tube}: open"
    used = f"{100 * member.utilisation:.0f} % used"
    return f"{member.title}, {member.tube}: {used}, {member.case}; {member.check.verdict}"


def _space(space: Space, centre: Array, looked: Array, scale: float) -> str:
    """A ball or a box to keep clear of."""
    words = f"<title>{html.escape(space.title)}</title>"
    if space.body.half.any():
        corners = [space.body.centre + np.array(c) * space.body.half for c in EDGES]
        flat = (_place(c, centre, looked * scale) for c in corners)
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in flat)
        return f'<polyline class="mb-box" points="{points}" data-p="{_three(corners)}">{words}</polyline>'
    at, radius = space.body.centre, space.body.radius
    x, y = _place(at, centre, looked * scale)
    return (
        f'<circle class="mb-ball" cx="{x:.1f}" cy="{y:.1f}" r="{radius * scale:.1f}" '
        f'data-p="{_three([at])}" data-r="{radius:.4f}">{words}</circle>'
    )


def _three(points: Iterable[Iterable[float]]) -> str:
    """Points in space for the script."""
    return " ".join(",".join(f"{c:.4f}" for c in p) for p in points)
