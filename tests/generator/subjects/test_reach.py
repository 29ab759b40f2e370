"""The subject `reach`: distances against shapely and scipy, and what must change when something
changes.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from buildspec.schema import load
from generator.charts.reach import charts
from generator.formulas import reach as f
from generator.tables.bodies import bodies
from tests.generator.subjects.scenes import check, evaluated, read_text, rule, value

number = st.floats(-3.0, 3.0).map(lambda v: round(v, 9))
"""Whole nanometres: the reference library answers `inf` for a piece some 1e-198 m long."""
point = st.tuples(number, number, number)


@settings(deadline=None)
@given(point, point, point)
def test_segment_distance_is_that_of_shapely_in_a_plane(
    p: tuple[float, ...], a: tuple[float, ...], b: tuple[float, ...]
) -> None:
    """shapely works in the plane; the third coordinate of the point adds by Pythagoras where the
    piece lies flat.
    """
    flat = shapely.Point(p[:2]).distance(shapely.LineString([a[:2], b[:2]]))
    ours = f.segment_distance(np.array(p), np.array((*a[:2], 0.0)), np.array((*b[:2], 0.0)))
    assert ours == pytest.approx(math.hypot(flat, p[2]), abs=1e-9)


@settings(deadline=None)
@given(point, st.floats(-1.2, 1.2), st.floats(0.05, 1.0))
def test_disc_distance_is_the_least_that_a_search_finds(
    p: tuple[float, ...], rake: float, radius: float
) -> None:
    """scipy walks over the disc in its own polar coordinates; neither finds less than the other."""
    axis = np.array([math.cos(rake), 0.0, math.sin(rake)])
    u, v = np.array([-math.sin(rake), 0.0, math.cos(rake)]), np.array([0.0, 1.0, 0.0])
    assert abs(u @ axis) < 1e-12

    def far(at: np.ndarray) -> float:
        return float(
            np.linalg.norm(np.array(p) - at[0] * (math.cos(at[1]) * u + math.sin(at[1]) * v))
        )

    turns = np.linspace(0.0, 2.0 * math.pi, 8, endpoint=False)
    found = min(
        minimize(far, [0.7 * radius, t], bounds=[(0.0, radius), (-10.0, 10.0)]).fun for t in turns
    )
    ours = f.disc_distance(np.array(p), np.zeros(3), rake, radius)
    assert ours == pytest.approx(found, abs=2e-4)  # the search stops within 1e-4 of the rim


def scene(
    *,
    control: str = "x: 0.4 m, y: -0.3 m, z: 0.5 m",
    tether: str = "",
    more: str = "",
    factor: str = "1",
) -> str:
    """Shoulders at (1, ∓0.2, 0.5): the left one is 0.6083 m from the control, the right one 0.7810
    m.
    """
    return f"""format: 1
units: si
vehicle: {{name: Wren}}
driver:
  source: measured
  left_shoulder: {{x: 1 m, y: -0.2 m, z: 0.5 m}}
  right_shoulder: {{x: 1 m, y: 0.2 m, z: 0.5 m}}
  left_reach: 0.65 m
  right_reach: 0.65 m
{tether}{more}
controls:
  factor: {factor}
  items: [{{id: lever, {control}}}]
"""


def test_the_better_hand_is_taken_and_its_margin_is_the_ratio(tmp_path: Path) -> None:
    found = evaluated(tmp_path, scene(), "reach")
    lever = check(found, "reach.check.lever.arm")
    assert lever.demand.value == pytest.approx(math.sqrt(0.36 + 0.01), rel=1e-12)
    assert lever.margin == pytest.approx(0.65 / math.sqrt(0.37) - 1.0, rel=1e-12)
    other = evaluated(
        tmp_path, scene(control="x: 0.4 m, y: -0.3 m, z: 0.5 m, hands: [right]"), "reach"
    )
    assert check(other, "reach.check.lever.arm").verdict == "short"


@pytest.mark.parametrize(
    ("described", "name", "lacking"),
    [
        (
            "  view: [{id: nose, at: {x: 0 m, y: 0 m, z: 0.5 m}, least_angle: 2°}]",
            "view.nose",
            "driver.eyes",
        ),
        (
            "  structure: [{id: hoop, begin: {x: 1.2 m, y: -0.2 m, z: 1 m}, "
            "end: {x: 1.2 m, y: 0.2 m, z: 1 m}, radius: 20 mm}]",
            "helmet.hoop",
            "driver.helmet",
        ),
        (
            "  body: [{id: knee, x: 0.5 m, y: 0 m, z: 0.4 m, radius: 80 mm}]",
            "wheel.knee",
            "driver.steering",
        ),
    ],
)
def test_what_is_asked_for_and_cannot_be_looked_at_is_open(
    tmp_path: Path, described: str, name: str, lacking: str
) -> None:
    found = check(evaluated(tmp_path, scene(more=described), "reach"), f"reach.check.{name}")
    assert found.verdict == "open"
    assert lacking in found.capacity.absent


TIED = "gear: {items: [{id: ties, type: arm restraints}]}\n"
LEFT = "  tethers: [{hand: left, anchor: {x: 1 m, y: -0.2 m, z: 0.3 m}, length: LONG, cuff_to_grip: 100 mm}]\n"


@pytest.mark.parametrize(
    ("tether", "verdict"),
    [
        ("", "open"),
        (LEFT.replace("LONG", "0.6 m"), "holds"),
        (LEFT.replace("LONG", "0.4 m"), "open"),
    ],
)
def test_arm_restraints_of_a_length_nobody_stated_leave_the_reach_open(
    tmp_path: Path, tether: str, verdict: str
) -> None:
    """With arms of 0.9 m both hands reach. The left one's anchor is √(0.6² + 0.1² + 0.2²) = 0.640 m away: 0.7 m let it
    go, 0.5 m do not, and then the right one counts, of which nothing is known.
    """
    text = scene(tether=tether).replace("reach: 0.65 m", "reach: 0.9 m")
    assert check(evaluated(tmp_path, text, "reach"), "reach.check.lever.arm").verdict == "holds"
    found = check(evaluated(tmp_path, text + TIED, "reach"), "reach.check.lever.tether")
    assert found.verdict == verdict


def test_two_hands_must_both_reach(tmp_path: Path) -> None:
    found = evaluated(
        tmp_path, scene(control="x: 0.4 m, y: -0.3 m, z: 0.5 m, two_handed: true"), "reach"
    )
    assert check(found, "reach.check.lever.left.arm").verdict == "holds"
    assert check(found, "reach.check.lever.right.arm").verdict == "short"


def test_belts_and_factor_take_their_part(tmp_path: Path) -> None:
    """0.65 − 0.05 = 0.60 m do not reach 0.6083 m; nor do 0.65 m with a factor of 1.1."""
    assert (
        check(
            evaluated(tmp_path, scene(more="  belted_loss: 50 mm"), "reach"),
            "reach.check.lever.arm",
        ).verdict
        == "short"
    )
    assert (
        check(evaluated(tmp_path, scene(factor="1.1"), "reach"), "reach.check.lever.arm").verdict
        == "short"
    )


@pytest.mark.parametrize(("length", "verdict"), [("0.52 m", "holds"), ("0.50 m", "short")])
def test_a_tether_may_be_what_stops_the_hand(tmp_path: Path, length: str, verdict: str) -> None:
    """From (1, −0.2, 0.4) to the control are √(0.36 + 0.01 + 0.01) = 0.6164 m; the cuff adds 0.1 m."""
    tether = (
        "  tethers: [{hand: left, anchor: {x: 1 m, y: -0.2 m, z: 0.4 m}, "
        f"length: {length}, cuff_to_grip: 0.1 m}}]\n"
    )
    found = evaluated(
        tmp_path,
        scene(control="x: 0.4 m, y: -0.3 m, z: 0.5 m, hands: [left]", tether=tether),
        "reach",
    )
    assert check(found, "reach.check.lever.tether").demand.value == pytest.approx(
        math.sqrt(0.38), rel=1e-12
    )
    assert check(found, "reach.check.lever.tether").verdict == verdict


ROOM = """  helmet: {x: 1.1 m, y: 0 m, z: 0.8 m, radius: 0.16 m, clearance: 50 mm}
  structure:
    - id: hoop
      begin: {x: 1.3 m, y: -1 m, z: 0.8 m}
      end: {x: 1.3 m, y: 1 m, z: 0.8 m}
      radius: 20 mm
  eyes: {x: 1 m, y: 0 m, z: 0.8 m}
  view: [{id: nose, at: {x: -2 m, y: 0 m, z: 0.7 m}, least_angle: 1°}]
  breadth: 500 mm
  openings: [{id: hatch, width: 480 mm}]
  steering: {x: 0.5 m, y: 0 m, z: 0.6 m, radius: 0.15 m, rake: 0°, clearance: 20 mm}
  body: [{id: knee, x: 0.5 m, y: 0.3 m, z: 0.6 m, radius: 0.1 m}]"""


def test_room_by_hand(tmp_path: Path) -> None:
    found = evaluated(tmp_path, scene(more=ROOM), "reach")
    assert value(found, "reach.helmet.hoop.gap") == pytest.approx(0.2 - 0.16 - 0.02, abs=1e-12)
    assert (
        check(found, "reach.check.helmet.hoop").verdict == "short"
    )  # 20 mm where 50 mm are asked for
    assert value(found, "reach.view.nose.angle") == pytest.approx(math.atan2(0.1, 3.0), rel=1e-12)
    assert check(found, "reach.check.view.nose").verdict == "holds"
    assert check(found, "reach.check.opening.hatch").margin == pytest.approx(
        0.48 / 0.5 - 1.0, rel=1e-12
    )
    assert value(found, "reach.wheel.knee.gap") == pytest.approx(0.3 - 0.15 - 0.1, abs=1e-12)


def test_an_overlap_is_a_negative_gap_and_falls_short(tmp_path: Path) -> None:
    near = ROOM.replace("x: 1.3 m", "x: 1.2 m")
    found = evaluated(tmp_path, scene(more=near), "reach")
    assert value(found, "reach.helmet.hoop.gap") == pytest.approx(-0.08, abs=1e-12)
    assert check(found, "reach.check.helmet.hoop").verdict == "short"


def test_uncertainty_is_carried(tmp_path: Path) -> None:
    """± 10 mm rectangular along a line of sight is 5.77 mm of distance."""
    text = scene(control="x: {value: 0.4 m, plus_minus: 10 mm}, y: -0.2 m, z: 0.5 m")
    lever = check(evaluated(tmp_path, text, "reach"), "reach.check.lever.arm")
    assert lever.demand.standard_uncertainty == pytest.approx(0.010 / math.sqrt(3.0), rel=1e-6)


@pytest.mark.parametrize(
    ("said", "state"),
    [("", "open"), (", outside: true", "conforms"), (", outside: false", "departs")],
)
def test_what_must_be_worked_from_outside(tmp_path: Path, said: str, state: str) -> None:
    text = scene(control=f"x: 0.4 m, y: -0.3 m, z: 0.5 m, needs_outside: true{said}")
    found = rule(evaluated(tmp_path, text, "reach"), "reach.requirement.outside.lever")
    assert found.state == state
    if state == "departs":
        assert found.why == "cannot be worked from outside; prescribed: can be worked from outside"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (
            ("right_shoulder: {x: 1 m, y: 0.2 m", "right_shoulder: {x: 1 m, y: -0.3 m"),
            "driver.sides",
        ),
        (("right_reach: 0.65 m", "right_reach: 0.65 m\n  belted_loss: 0.7 m"), "driver.reach"),
    ],
)
def test_mistakes_are_named(tmp_path: Path, change: tuple[str, str], code: str) -> None:
    build, problems = read_text(tmp_path, scene().replace(*change))
    assert build is None
    assert code in {p.code for p in problems}
    assert all(p.place.line > 0 for p in problems)


SURVEY = (
    '  survey: {reach: "British women, 5th percentile", breadth: "British men, 95th percentile"}\n'
)
BARE = ("  left_reach: 0.65 m\n", "  right_reach: 0.65 m\n")


def unmeasured(survey: str, **given: str) -> str:
    """The scene without the driver's own reaches."""
    text = scene(**given).replace("  source: measured\n", "")
    for line in BARE:
        text = text.replace(line, "")
    return text.replace("driver:\n", f"driver:\n{survey}")


def test_a_survey_stands_in_for_a_driver_nobody_measured(tmp_path: Path) -> None:
    """Shoulder-grip length of British women, 5th percentile: 555 mm (City University of Hong Kong,
    dimension 25). The left shoulder is 608.3 mm from the control.
    """
    found = evaluated(tmp_path, unmeasured(SURVEY), "reach")
    lever = check(found, "reach.check.lever.arm")
    assert lever.capacity.value == pytest.approx(0.555, rel=1e-12)
    assert lever.verdict == "short"
    assert all(i.split(".")[0] in {"driver", "controls"} for i in lever.inputs)
    assert "reach.survey" in {i.id for i in found.open_items}
    taken = {a.text for a in found.assumptions if a.quantity and a.quantity.default}
    assert "British women, 5th percentile: reach from shoulder to grip" in taken


def test_what_is_measured_replaces_the_survey(tmp_path: Path) -> None:
    text = unmeasured(SURVEY).replace(
        "driver:\n", "driver:\n  left_reach: 0.65 m\n  breadth: 0.5 m\n"
    )
    found = evaluated(tmp_path, text, "reach")
    assert check(found, "reach.check.lever.arm").capacity.value == pytest.approx(0.65)
    taken = {a.quantity.id for a in found.assumptions if a.quantity and a.quantity.default}
    assert not [name for name in taken if name.endswith((".breadth", ".clothing"))]


@pytest.mark.parametrize(("width", "verdict"), [("551 mm", "holds"), ("549 mm", "short")])
def test_a_survey_is_clothed_before_it_goes_through_an_opening(
    tmp_path: Path, width: str, verdict: str
) -> None:
    """Bideltoid breadth of British men, 95th percentile: 510 mm, and 40 mm for heavy outdoor clothing
    (the same course, dimension 17).
    """
    more = f"  openings: [{{id: hatch, width: {width}}}]\n"
    found = evaluated(tmp_path, unmeasured(SURVEY, more=more), "reach")
    assert check(found, "reach.check.opening.hatch").demand.value == pytest.approx(0.55, rel=1e-12)
    assert check(found, "reach.check.opening.hatch").verdict == verdict


def test_the_schema_offers_exactly_the_rows_that_could_be_read() -> None:
    survey = load("driver")["properties"]["survey"]["properties"]
    for word in ("reach", "breadth"):
        assert survey[word]["enum"] == [name for name, row in bodies().items() if word in row]
    assert all(known.status == "read" for row in bodies().values() for known in row.values())


BESIDE = """fire:
  coldest: 0 °C
  hottest: 50 °C
  zones:
    - {id: capsule, name: Capsule, volume: 1 m³, occupied: true, start: 0.2 m, end: 1.4 m}
    - {id: engine, name: Engine bay, volume: 1 m³, occupied: false, start: 1.4 m, end: 3 m}
  bottles: [{id: one, name: Bottle A, agent: FK-5-1-12, agent_mass: 3 kg, x: 0.5 m, y: 0 m, z: 0.2 m}]
rotating:
  factor: 1
  parts: [{id: p, x: 2 m, y: 0 m, z: 0.4 m, axis: AXIS, radius: 0.1 m, half_width: 20 mm, spread_angle: 5°}]
  lines: [{id: feed, name: Feed, radius: 4 mm, points: [{x: 1.2 m, y: 0 m, z: 0.2 m}, {x: 1.9 m, y: 0 m, z: 0.4 m}]}]
"""


@pytest.mark.parametrize("beside", ["", *(BESIDE.replace("AXIS", a) for a in "xyz")])
def test_one_drawing_joins_what_is_described(tmp_path: Path, beside: str) -> None:
    """Bottle A at 0.5 m lies in the capsule; the feed begins there and ends in the engine bay."""
    found = evaluated(tmp_path, scene() + beside, "reach")
    drawn = {c.id: c for c in charts(found.outcomes["reach"], found.build)}
    whole = drawn["reach.whole"]
    if not beside:
        assert "no fire zone states where it lies" in whole.finding
        return
    assert "Capsule: Bottle A, Feed; Engine bay: Feed." in whole.finding
    for words in ("1 Bottle A · 2 Feed", "Engine bay", "From above"):
        assert words in whole.svg
