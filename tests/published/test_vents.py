"""Levels in tilted tanks beside areas worked by hand."""

from __future__ import annotations

import math

import pytest

from generator.formulas.vents import level, tilted
from tests.published.row import Row, disagreements

ON_EDGE = "a square standing on an edge: areas of its corners by elementary geometry"
SIDE = math.sqrt(0.5)
"""Rise of each side of a unit square on its edge."""


def on_edge(fill: float) -> float:
    return tilted(fill, (SIDE, SIDE))(fill=fill, short=SIDE, long=SIDE)


def at_30(fill: float) -> float:
    """A box 2 wide and 1 high, tilted by 30°: its sides rise by 1 and by cos 30°."""
    rises = (math.cos(math.radians(30.0)), 1.0)
    return tilted(fill, rises)(fill=fill, short=rises[0], long=rises[1])


def _row(case: str, closed: float, ours: float, source: str = ON_EDGE) -> Row:
    return Row(
        case=case,
        source=source,
        status="derived",
        printed=None,
        closed_form=closed,
        ours=ours,
        tolerance=0.0,
        reason="closed form",
    )


TILTED = "a rectangle 2 by 1 tilted by 30°: triangle and strip by elementary geometry"
ROWS: tuple[Row, ...] = (
    _row(
        "unit square on its edge, half full: half its diagonal", math.sqrt(2.0) / 2.0, on_edge(0.5)
    ),
    _row("unit square on its edge, an eighth full", math.sqrt(1.0 / 8.0), on_edge(1.0 / 8.0)),
    _row(
        "unit square on its edge, seven eighths full: the same from above",
        math.sqrt(2.0) - math.sqrt(1.0 / 8.0),
        on_edge(7.0 / 8.0),
    ),
    _row(
        "2 by 1 tilted by 30°, half full: half of its whole height",
        (1.0 + math.cos(math.radians(30.0))) / 2.0,
        at_30(0.5),
        TILTED,
    ),
    # the triangle below h has the legs h/sin 30° and h/cos 30°: h²/(2 sin cos) of 2
    _row(
        "2 by 1 tilted by 30°, a tenth full",
        math.sqrt(2.0 * 0.2 * math.sin(math.radians(30.0)) * math.cos(math.radians(30.0))),
        at_30(0.1),
        TILTED,
    ),
    _row(
        "upright box 0.4 m high, a quarter full",
        0.1,
        level(fill=0.25, height=0.4),
        "volume of a box",
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_agrees_with_what_is_worked_by_hand(row: Row) -> None:
    assert disagreements(row) == ()
