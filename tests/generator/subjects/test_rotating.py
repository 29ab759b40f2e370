"""The subject `rotating`: burst zones against a dense search, and by hand."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.formulas import rotating as f
from tests.generator.subjects.scenes import check, evaluated, read_text, value

number = st.floats(-2.0, 2.0)
point = st.tuples(number, number, number).map(np.array)


def depth(near: f.Nearest, half: float, angle: float) -> float:
    return near.off - half - near.aside * math.tan(angle)


@settings(deadline=None)
@given(
    a=point,
    b=point,
    centre=point,
    axis=st.integers(0, 2),
    half=st.floats(0.0, 0.2),
    angle=st.floats(0.0, 1.2),
)
def test_nothing_on_a_piece_lies_deeper_than_what_is_found(
    *, a: np.ndarray, b: np.ndarray, centre: np.ndarray, axis: int, half: float, angle: float
) -> None:
    ours = depth(f.deepest(((a, b),), centre, axis, half, angle), half, angle)
    along = [f.off_and_aside(a + t * (b - a), centre, axis) for t in np.linspace(0.0, 1.0, 201)]
    searched = min(depth(n, half, angle) for n in along)
    assert ours <= searched + 1e-9
    assert searched <= ours + 0.02 * (1.0 + math.tan(angle)) * float(
        np.linalg.norm(b - a)
    )  # the search's step


@settings(max_examples=40, deadline=None)
@given(point, point, st.floats(0.05, 1.0), st.floats(0.0, 1.2))
def test_nothing_in_a_box_lies_deeper_than_on_its_edges(
    middle: np.ndarray, centre: np.ndarray, size: float, angle: float
) -> None:
    edges = f.box_edges(middle, np.array([size, 0.7 * size, 0.4 * size]))
    assert len(edges) == 12
    ours = depth(f.deepest(edges, centre, 0, 0.05, angle), 0.05, angle)
    grid = np.linspace(-0.5, 0.5, 9)
    inside = (
        middle + np.array([x * size, y * 0.7 * size, z * 0.4 * size])
        for x in grid
        for y in grid
        for z in grid
    )
    assert ours <= min(depth(f.off_and_aside(p, centre, 0), 0.05, angle) for p in inside) + 1e-9


def scene(
    *,
    line: str = "{x: 0.5 m, y: 1 m, z: 0 m}, {x: 0.5 m, y: 2 m, z: 0 m}",
    shield: str = "",
    angle: str = "10°",
    more: str = "",
) -> str:
    """A wheel about the x axis through the origin, 0.1 m to either side; a line beside it, 1 to 2 m
    from the axis.
    """
    return f"""format: 1
units: si
vehicle: {{name: Wren}}
rotating:
  parts:
    - {{id: wheel, x: 0 m, y: 0 m, z: 0 m, axis: x, radius: 0.2 m, half_width: 0.1 m,
       spread_angle: {angle}{shield}}}
  lines: [{{id: feed, points: [{line}]}}]
{more}
"""


def test_the_zone_widens_with_distance_and_the_far_end_decides(tmp_path: Path) -> None:
    """0.1 + 2 tan 10° = 0.4527 m at the far end; the line is 0.5 m off the plane."""
    found = check(evaluated(tmp_path, scene(), "rotating"), "rotating.check.wheel.line_feed")
    assert found.demand.value == pytest.approx(0.1 + 2.0 * math.tan(math.radians(10.0)), rel=1e-12)
    assert found.margin == pytest.approx(0.5 / found.demand.value - 1.0, rel=1e-12)
    wider = check(
        evaluated(tmp_path, scene(angle="12°"), "rotating"), "rotating.check.wheel.line_feed"
    )
    assert wider.verdict == "short"


def test_a_factor_asks_for_more_room_far_out_than_near_the_axis(tmp_path: Path) -> None:
    """A line that clears the zone by least near the axis, and twice the zone by least far out.

    By hand, at 10° and twice the zone: near 2 (0.1 + 0.5 tan 10°) = 0.376 m under 0.38 m; far
    2 (0.1 + 5 tan 10°) = 1.963 m over 1.8 m. Once the zone, near is 0.19 m clear, and far 0.82 m.
    """
    line = "{x: 0.38 m, y: 0.5 m, z: 0 m}, {x: 1.8 m, y: 5 m, z: 0 m}"
    twice = scene(line=line, more="  factor: 2\n")
    found = check(evaluated(tmp_path, twice, "rotating"), "rotating.check.wheel.line_feed")
    assert found.verdict == "short"
    zone = 2.0 * (0.1 + 5.0 * math.tan(math.radians(10.0)))
    assert found.margin == pytest.approx(1.8 / zone - 1.0, rel=1e-12)


def test_a_line_that_crosses_the_plane_is_inside_between_its_ends(tmp_path: Path) -> None:
    crossing = scene(line="{x: -1 m, y: 1 m, z: 0 m}, {x: 1 m, y: 1 m, z: 0 m}", angle="0°")
    found = check(evaluated(tmp_path, crossing, "rotating"), "rotating.check.wheel.line_feed")
    assert (found.verdict, found.margin) == ("short", pytest.approx(-1.0))


def test_a_stated_shield_leaves_it_open_and_never_holds(tmp_path: Path) -> None:
    found = check(
        evaluated(tmp_path, scene(angle="12°", shield=", shield: steel band"), "rotating"),
        "rotating.check.wheel.line_feed",
    )
    assert found.verdict == "open"
    assert "not computed" in found.reason


def test_tanks_bottles_items_and_the_driver_are_looked_at_too(tmp_path: Path) -> None:
    more = """  watch: [battery]
mass:
  items: [{id: battery, name: Battery, mass: 10 kg, x: 0 m, z: 1 m}]
  conditions: [{id: all}]
  design_condition: all
vents:
  tanks:
    - {id: cell, x: 0.4 m, y: 0 m, z: 1 m, length: 0.7 m, width: 0.2 m, height: 0.2 m,
       fill: 90 %, vent: [{x: 0.4 m, y: 0 m, z: 1.1 m}, {x: 0.4 m, y: 0 m, z: 1.3 m}]}
driver:
  left_shoulder: {x: 1 m, y: -0.2 m, z: 0.5 m}
  right_shoulder: {x: 1 m, y: 0.2 m, z: 0.5 m}
  left_reach: 0.65 m
  right_reach: 0.65 m
  helmet: {x: 2 m, y: 0 m, z: 1 m, radius: 0.2 m}
"""
    found = evaluated(tmp_path, scene(more=more), "rotating")
    verdicts = {c.id.rsplit(".", 1)[-1]: c.verdict for c in found.checks}
    assert verdicts == {
        "line_feed": "holds",
        "tank_cell": "short",
        "item_battery": "short",
        "driver": "holds",
        "driver_shoulders": "holds",
    }
    assert value(found, "rotating.part.wheel.driver.off") == pytest.approx(
        1.8, abs=1e-12
    )  # less the helmet's radius
    assert value(found, "rotating.part.wheel.tank_cell.off") == pytest.approx(
        0.05, abs=1e-12
    )  # its nearer face


@pytest.mark.parametrize(("place", "there"), [("", True), (", x: 0.6 m, y: 1 m, z: 0 m", False)])
def test_a_bottle_that_stands_nowhere_is_asked_about(
    tmp_path: Path, place: str, there: bool
) -> None:
    text = f"""rotating:
  parts: [{{id: wheel, x: 0 m, y: 0 m, z: 0 m, axis: x, radius: 0.1 m, half_width: 20 mm, spread_angle: 5°}}]
fire:
  coldest: 0 °C
  hottest: 40 °C
  zones: [{{id: bay, volume: 1 m³, occupied: false}}]
  bottles: [{{id: one, name: Bay bottle, agent: AFFF, agent_volume: 2 L{place}}}]
"""
    found = {i.id: i.text for i in evaluated(tmp_path, text, "rotating").open_items}
    assert ("Bay bottle" in found.get("rotating.bottles", "")) is there
    assert "rotating.driver" in found, "no driver is described either"


@pytest.mark.parametrize(
    ("size", "off", "verdict"),
    [
        ("", 0.6, "holds"),
        (", size: {x: 1 m, y: 0.2 m, z: 0.2 m}", 0.1, "short"),
        (", size: {x: 1.4 m, y: 0.2 m, z: 0.2 m}", 0.0, "short"),
    ],
)
def test_a_bottle_counts_with_its_whole_body(
    tmp_path: Path, size: str, off: float, verdict: str
) -> None:
    """Its middle stands 0.6 m off the plane and 1 m from the axis, in a zone of 0.1 + 1.0 tan 10° = 0.276 m; half of
    its length brings its nearer end to 0.1 m, or through the plane.
    """
    more = f"""fire:
  coldest: 10 °C
  hottest: 40 °C
  zones: [{{id: bay, volume: 1 m³, occupied: false}}]
  bottles: [{{id: one, name: Bay bottle, agent: AFFF, agent_volume: 2 L, x: 0.6 m, y: 1 m, z: 0 m{size}}}]
"""
    found = evaluated(tmp_path, scene(more=more), "rotating")
    assert check(found, "rotating.check.wheel.bottle_one").verdict == verdict
    assert value(found, "rotating.part.wheel.bottle_one.off") == pytest.approx(off, abs=1e-12)
    asked = [i.text for i in found.open_items if i.id == "rotating.sizes"]
    assert bool(asked) is not bool(size)
    assert all("Bay bottle" in text for text in asked)


@pytest.mark.parametrize(
    ("place", "word"),
    [
        ("left_shoulder: {x: 0 m, y: -0.5 m, z: 1 m}", "driver_shoulders"),
        ("body: [{id: knee, x: 0 m, y: 0.5 m, z: 1 m, radius: 0.1 m}]", "driver_body_knee"),
    ],
)
def test_no_part_of_the_driver_is_overlooked_for_the_head(
    tmp_path: Path, place: str, word: str
) -> None:
    """The head 2 m ahead of the wheel, 1.1 m from its axis: 0.1 + 1.1 tan 10° leave it clear; a shoulder or a knee
    in the plane of the wheel is not.
    """
    more = f"""driver:
  left_shoulder: {{x: -2 m, y: -0.2 m, z: 1 m}}
  right_shoulder: {{x: -2 m, y: 0.2 m, z: 1 m}}
  left_reach: 0.6 m
  right_reach: 0.6 m
  helmet: {{x: -2 m, y: 0 m, z: 1 m, radius: 0.1 m, clearance: 0.1 m}}
  {place}
"""
    if place.startswith("left_shoulder"):
        more = more.replace("  left_shoulder: {x: -2 m, y: -0.2 m, z: 1 m}\n", "")
    found = evaluated(tmp_path, scene(more=more), "rotating")
    assert check(found, "rotating.check.wheel.driver").verdict == "holds"
    assert check(found, f"rotating.check.wheel.{word}").verdict == "short"


def test_clearance_to_a_hot_thing_by_hand(tmp_path: Path) -> None:
    """The line runs at x = 0.5; a ball of 0.1 m about (0.8, 1.5, 0) leaves 0.2 m less nothing for a
    thin line.
    """
    more = "  surfaces: [{id: hot, x: 0.8 m, y: 1.5 m, z: 0 m, radius: 0.1 m, clearance: 250 mm}]"
    found = check(evaluated(tmp_path, scene(more=more), "rotating"), "rotating.check.gap.feed.hot")
    assert found.capacity.value == pytest.approx(0.2, abs=1e-12)
    assert found.verdict == "short"


def test_a_part_without_a_radius_is_refused(tmp_path: Path) -> None:
    text = scene().replace("radius: 0.2 m", "radius: 0 m")
    build, problems = read_text(tmp_path, text)
    assert build is None
    assert [p.code for p in problems] == ["quantity.range"]
    assert "radius: 0 m" in text.splitlines()[problems[0].place.line - 1]


@pytest.mark.parametrize(("radius", "there"), [("0.09 m", False), ("0.11 m", True)])
def test_a_line_through_the_part_itself_is_a_disagreement(
    tmp_path: Path, radius: str, there: bool
) -> None:
    """A line along x that passes 0.1 m above the axis of a part turning about x."""
    text = f"""format: 1
units: si
vehicle: {{name: Wren}}
rotating:
  factor: 1
  parts: [{{id: wheel, x: 1 m, y: 0 m, z: 0.5 m, axis: x, radius: {radius}, half_width: 20 mm, spread_angle: 5°}}]
  lines: [{{id: feed, radius: 4 mm, points: [{{x: 0 m, y: 0 m, z: 0.6 m}}, {{x: 2 m, y: 0 m, z: 0.6 m}}]}}]
"""
    found = evaluated(tmp_path, text, "rotating")
    assert ("rotating.touches.wheel.line_feed" in {i.id for i in found.open_items}) is there


@pytest.mark.parametrize(
    ("shield", "words"),
    [("", "a shield made for it"), (", shield: steel band", "specification, date and mounting")],
)
def test_what_lies_in_a_zone_is_told_what_to_do(tmp_path: Path, shield: str, words: str) -> None:
    found = evaluated(tmp_path, scene(angle="12°", shield=shield), "rotating")
    item = next(i for i in found.open_items if "rotating.check.wheel.line_feed" in i.blocks)
    assert words in item.closes
