"""The subject `vents`: levels against shapely's areas, and vents by hand in six attitudes."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull, HalfspaceIntersection

from generator.formulas.vents import level, level_of_box, tilted, tilted_level
from generator.subjects.vents_records import Detail
from generator.subjects.vents_sphere import around
from tests.generator.subjects.scenes import check, evaluated, read_text, value


@settings(deadline=None)
@given(st.floats(0.01, 1.0), st.floats(0.05, 2.0), st.floats(0.05, 2.0))
def test_below_the_level_lies_the_stated_part_of_the_area(
    fill: float, width: float, height: float
) -> None:
    whole = shapely.box(0.0, 0.0, width, height)
    below = whole.intersection(
        shapely.box(-1.0, -1.0, width + 1.0, level(fill=fill, height=height))
    )
    assert below.area / whole.area == pytest.approx(fill, rel=1e-9)


def scene(
    *,
    vent: str = "{x: 1 m, y: 0 m, z: 0.7 m}, {x: 1 m, y: 0.4 m, z: 0.8 m}",
    fill: str = "50 %",
    more: str = "",
) -> str:
    """A tank of 0.4 × 0.2 × 0.4 m about (1, 0, 0.5); the port is in its top, the outlet up to the
    right.
    """
    return f"""format: 1
units: si
vehicle: {{name: Wren}}
vents:
  tanks:
    - id: tank
      x: 1 m
      y: 0 m
      z: 0.5 m
      length: 0.4 m
      width: 0.2 m
      height: 0.4 m
      fill: {fill}
      vent: [{vent}]
{more}
"""


@pytest.mark.parametrize(
    ("attitude", "level_", "highest", "verdict"),
    [
        ("upright", 0.2, 0.5, "holds"),  # outlet at 0.8, tank's bottom at 0.3
        ("inverted", 0.2, 0.0, "short"),  # port in what is now the bottom, outlet 0.1 below it
        ("left_side", 0.1, 0.5, "holds"),
        # its right side is up: outlet at 0.4, tank's bottom at −0.1
        ("right_side", 0.1, 0.1, "holds"),  # port in the middle, just at the level: margin 0
        ("nose_down", 0.2, 0.2, "holds"),  # the same along x
        ("tail_down", 0.2, 0.2, "holds"),
    ],
)
def test_each_attitude_by_hand(
    tmp_path: Path, attitude: str, level_: float, highest: float, verdict: str
) -> None:
    found = evaluated(tmp_path, scene(), "vents")
    assert value(found, f"vents.tank.tank.{attitude}.level") == pytest.approx(level_, abs=1e-12)
    assert value(found, f"vents.tank.tank.{attitude}.vent") == pytest.approx(highest, abs=1e-12)
    margin = check(found, f"vents.check.tank.{attitude}").margin
    assert margin == pytest.approx(highest / level_ - 1.0, abs=1e-9)
    if abs(highest - level_) > 1e-6:
        assert check(found, f"vents.check.tank.{attitude}").verdict == verdict


def test_fuller_tanks_run_out_where_half_full_ones_do_not(tmp_path: Path) -> None:
    for fill, verdict in (("45 %", "holds"), ("55 %", "short")):
        assert (
            check(
                evaluated(tmp_path, scene(fill=fill), "vents"), "vents.check.tank.right_side"
            ).verdict
            == verdict
        )


def test_the_vents_highest_point_counts_wherever_the_outlet_is(tmp_path: Path) -> None:
    loop = "{x: 1 m, y: 0 m, z: 0.7 m}, {x: 1 m, y: 0 m, z: 0.1 m}, {x: 1 m, y: 0 m, z: 0.9 m}"
    found = evaluated(tmp_path, scene(vent=loop), "vents")
    assert (
        check(found, "vents.check.tank.inverted").verdict == "holds"
    )  # it rises to 0.6 above the tank's lowest point


def test_a_valve_holds_where_its_maker_says_it_closes_and_nowhere_else(tmp_path: Path) -> None:
    valve = "      valve: rollover valve\n      closes: [inverted]"
    found = evaluated(tmp_path, scene(more=valve, fill="60 %"), "vents")
    assert check(found, "vents.check.tank.inverted").verdict == "holds"
    assert "leak test" in check(found, "vents.check.tank.inverted").basis_of_verdict
    assert check(found, "vents.check.tank.right_side").verdict == "short"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (("{x: 1 m, y: 0 m, z: 0.7 m}", "{x: 1 m, y: 0 m, z: 0.71 m}"), "vents.port"),
        (("fill: 50 %", "fill: 50 %\n      closes: [inverted]"), "vents.valve"),
        (("fill: 50 %", "fill: 150 %"), "quantity.range"),
        (("width: 0.2 m", "width: 0 m"), "quantity.range"),
    ],
)
def test_mistakes_are_named_at_their_line(
    tmp_path: Path, change: tuple[str, str], code: str
) -> None:
    build, problems = read_text(tmp_path, scene().replace(*change))
    assert build is None
    assert code in {p.code for p in problems}
    assert all(p.place.line > 4 for p in problems)


# ------------------------------------------------------------------------------- any angle


def turned(angle: float, width: float, height: float) -> shapely.Polygon:
    """A box turned by an angle in degrees about its middle."""
    box = shapely.box(-width / 2.0, -height / 2.0, width / 2.0, height / 2.0)
    return shapely.affinity.rotate(box, angle, origin=(0.0, 0.0))


def level_by_search(shape: shapely.Polygon, fill: float) -> float:
    """The level that cuts off the stated part of the area, by bisection; above the lowest corner."""
    _, bottom, _, top = shape.bounds
    low, high = bottom, top
    for _ in range(60):
        middle = 0.5 * (low + high)
        under = shape.intersection(shapely.box(-9.0, -9.0, 9.0, middle)).area
        low, high = (middle, high) if under < fill * shape.area else (low, middle)
    return low - bottom


@settings(deadline=None, max_examples=60)
@given(
    st.floats(0.02, 0.98),
    st.floats(0.05, 1.0),
    st.floats(0.05, 1.0),
    st.floats(-180.0, 180.0).map(lambda a: round(a, 2)),
)
def test_a_tilted_level_is_that_of_shapely(
    fill: float, width: float, height: float, angle: float
) -> None:
    rises = width * abs(math.sin(math.radians(angle))), height * abs(math.cos(math.radians(angle)))
    want = level_by_search(turned(angle, width, height), fill)
    ours = tilted(fill, rises)(fill=fill, short=min(rises), long=max(rises))
    assert ours == pytest.approx(want, abs=1e-9)  # the bisection ends at 2 m / 2^60
    whole = tilted_level(fill, np.array([rises[0]]), np.array([rises[1]]))
    assert whole[0] == pytest.approx(ours, rel=1e-12)


def test_square_attitudes_are_angles_of_the_sweep(tmp_path: Path) -> None:
    """At 0, ±90 and 180 degrees the sweep is what the six attitudes say."""
    found = evaluated(tmp_path, scene(fill="60 %"), "vents")
    detail = found.outcomes["vents"].detail
    assert isinstance(detail, Detail)
    square = {x.attitude: (x.highest.value or 0.0) - (x.level.value or 0.0) for x in detail.lying}
    for one in detail.swept:
        turn = {"rolled": ("right side", "left side"), "pitched": ("tail down", "nose down")}[
            one.word
        ]
        for degrees, attitude in ((-90, turn[0]), (90, turn[1]), (0, "upright"), (180, "inverted")):
            n = int(np.argmin(np.abs(np.degrees(one.angles) - degrees)))
            assert one.above[n] == pytest.approx(square[attitude], abs=1e-9)  # type: ignore[index]


CORNER = "{x: 1 m, y: 0.1 m, z: 0.7 m}, {x: 1 m, y: 0.12 m, z: 0.7 m}"


def test_the_worst_roll_is_the_one_a_search_finds(tmp_path: Path) -> None:
    """A vent in the top's right corner, half full, 0.2 m wide and 0.4 m high: on its back and on both
    sides something is worse than square. Every degree is tried with shapely.
    """
    found = evaluated(tmp_path, scene(vent=CORNER), "vents")
    ratios = {}
    for degrees in range(-180, 180):
        a = math.radians(degrees)
        shape = turned(degrees, 0.2, 0.4)  # +90 brings the right side up, as y does
        up = max(y * math.sin(a) + z * math.cos(a) for y, z in ((0.1, 0.2), (0.12, 0.2)))
        ratios[degrees] = (up - shape.bounds[1]) / level_by_search(shape, 0.5)
    worst = min(ratios.values())
    rolled = check(found, "vents.check.tank.rolled")
    assert rolled.verdict == "short"
    # the program goes by tenths of a degree, so it may find a little less than whole degrees do
    assert worst - 0.02 <= (rolled.margin or 0.0) + 1.0 <= worst + 1e-9


VALVE = "      valve: rollover valve\n      closes: [inverted, left side, right side]\n"


def test_a_valve_of_unknown_tilt_leaves_the_angles_between_open(tmp_path: Path) -> None:
    found = evaluated(tmp_path, scene(more=VALVE, fill="60 %"), "vents")
    rolled = check(found, "vents.check.tank.rolled")
    assert rolled.verdict == "open"
    assert "closes_beyond" in rolled.reason


def test_a_valve_that_closes_before_the_liquid_comes_holds(tmp_path: Path) -> None:
    """The least tilt at which it would run out decides between 1° before it and 1° after it."""
    found = evaluated(tmp_path, scene(fill="60 %"), "vents")
    tilts = [
        math.degrees(value(found, f"vents.tank.tank.{word}.leaks_from"))
        for word in ("rolled", "pitched")
    ]
    for off, verdict in ((-1.0, "holds"), (1.0, "short")):
        more = f"      valve: rollover valve\n      closes_beyond: {min(tilts) + off:.2f}°\n"
        again = evaluated(tmp_path, scene(more=more, fill="60 %"), "vents")
        verdicts = {check(again, f"vents.check.tank.{w}").verdict for w in ("rolled", "pitched")}
        assert ("short" in verdicts) is (verdict == "short")
        assert check(again, "vents.check.tank.inverted").verdict == "holds"


def test_a_valve_is_trusted_from_the_late_end_of_its_tilt_on(tmp_path: Path) -> None:
    """Liquid would run out 2° past the stated tilt: with ± 5° the valve may still be open there."""
    found = evaluated(tmp_path, scene(fill="60 %"), "vents")
    leaks = min(
        math.degrees(value(found, f"vents.tank.tank.{word}.leaks_from"))
        for word in ("rolled", "pitched")
    )
    for spread, verdicts in (("1°", {"holds"}), ("5°", {"short"})):
        tilt = f"{{value: {leaks - 2.0:.2f}°, plus_minus: {spread}}}"
        more = f"      valve: rollover valve\n      closes_beyond: {tilt}\n"
        again = evaluated(tmp_path, scene(more=more, fill="60 %"), "vents")
        worst = {check(again, f"vents.check.tank.{w}").verdict for w in ("rolled", "pitched")}
        assert verdicts <= worst
        assert ("short" in worst) is (spread == "5°")


def test_a_tank_whose_vent_stands_high_on_every_side_holds_at_any_angle(tmp_path: Path) -> None:
    """A tenth full, with the port in the tank's middle: the level never comes near it."""
    high = "{x: 1 m, y: 0 m, z: 0.5 m}, {x: 1 m, y: 0 m, z: 0.5 m}"
    found = evaluated(tmp_path, scene(vent=high, fill="10 %"), "vents")
    for word in ("rolled", "pitched"):
        assert check(found, f"vents.check.tank.{word}").verdict == "holds"
        assert found.outcomes["vents"].by_id[f"vents.tank.tank.{word}.leaks_from"].value is None


@pytest.mark.parametrize(("y", "codes"), [("0.2 m", []), ("0.19 m", ["vents.overlap"])])
def test_two_tanks_in_one_place_are_doubted(tmp_path: Path, y: str, codes: list[str]) -> None:
    """Both are 0.2 m wide: side by side at 0.2 m, and 10 mm into each other at 0.19 m."""
    other = f"""    - id: other
      x: 1 m
      y: {y}
      z: 0.5 m
      length: 0.4 m
      width: 0.2 m
      height: 0.4 m
      fill: 50 %
      vent: [{{x: 1 m, y: {y}, z: 0.7 m}}, {{x: 1 m, y: {y}, z: 0.9 m}}]"""
    build, problems = read_text(tmp_path, scene(more=other))
    assert build is not None
    assert [p.code for p in problems] == codes


def test_a_vent_on_an_edge_leaks_rolled_and_pitched_at_once(tmp_path: Path) -> None:
    """A cube of 10 cm, 60 % full, vent over two edges with x = y throughout. With (1, −1, 0)/√2 up the
    vent is level with the tank's middle, 7.071 cm above its lowest edge; of the square on its corner
    60 % lie below 14.142 − √(2·0.4)·7.071 = 7.817 cm. So the margin is at most 7.071/7.817 − 1.
    """
    points = [(4.9, 4.9, 4.9), (6, 6, 6), (6, 6, -6), (-6, -6, -6), (-6, -6, 6)]
    vent = ", ".join(f"{{x: {x} cm, y: {y} cm, z: {z} cm}}" for x, y, z in points)
    text = (
        scene(vent=vent, fill="60 %")
        .replace("x: 1 m\n", "x: 0 m\n")
        .replace("z: 0.5 m\n", "z: 0 m\n")
    )
    for size in ("length: 0.4", "width: 0.2", "height: 0.4"):
        text = text.replace(size, f"{size.split(':')[0]}: 0.1")
    found = evaluated(tmp_path, text, "vents")
    alone = [check(found, f"vents.check.tank.{word}").verdict for word in ("rolled", "pitched")]
    assert alone == ["holds", "holds"]
    both = check(found, "vents.check.tank.any")
    assert both.verdict == "short"
    assert both.margin is not None
    assert -1.0 < both.margin <= 7.071 / 7.817 - 1.0 + 1e-4


def test_turned_both_ways_is_never_better_than_one(tmp_path: Path) -> None:
    found = evaluated(tmp_path, scene(), "vents")
    both = check(found, "vents.check.tank.any").margin
    assert both is not None
    for word in ("rolled", "pitched", "upright", "inverted", "left_side"):
        one = check(found, f"vents.check.tank.{word}").margin
        assert one is not None
        assert both <= one + 1e-4  # the search stops within some hundredths of a degree


def test_a_port_in_the_middle_holds_in_every_attitude(tmp_path: Path) -> None:
    """A tenth full, the port in the middle: below the middle lies half of the box, whatever is up."""
    middle = "{x: 1 m, y: 0 m, z: 0.5 m}, {x: 1 m, y: 0 m, z: 0.5 m}"
    for fill, verdict in (("10 %", "holds"), ("51 %", "short")):
        found = evaluated(tmp_path, scene(vent=middle, fill=fill), "vents")
        assert check(found, "vents.check.tank.any").verdict == verdict


@settings(deadline=None, max_examples=50)
@given(
    st.floats(0.02, 0.98),
    st.tuples(st.floats(0.05, 1.0), st.floats(0.05, 1.0), st.floats(0.05, 1.0)),
)
def test_a_level_in_a_box_cuts_off_what_qhull_finds(
    fill: float, rises: tuple[float, float, float]
) -> None:
    """A unit cube below the plane a·x + b·y + c·z = h: its volume by Qhull (scipy) is the fill."""
    h = float(level_of_box(fill, np.array([rises]))[0])
    sides = np.vstack(
        (np.column_stack((-np.eye(3), np.zeros(3))), np.column_stack((np.eye(3), -np.ones(3))))
    )
    cut = np.array([[*rises, -h]])
    inside = np.full(3, 0.5 * min(1.0, h / sum(rises)))
    body = HalfspaceIntersection(np.vstack((sides, cut)), inside)
    assert ConvexHull(body.intersections).volume == pytest.approx(fill, rel=1e-6)


def test_a_corner_of_a_cube_by_hand() -> None:
    """A corner down, each side rises by 1: the pyramid below h = 1 is a sixth, and half lies at 3/2."""
    one = np.ones((1, 3))
    assert level_of_box(1.0 / 6.0, one)[0] == pytest.approx(1.0, rel=1e-9)
    assert level_of_box(0.5, one)[0] == pytest.approx(1.5, rel=1e-9)


def test_the_worst_attitude_is_shown_step_by_step(tmp_path: Path) -> None:
    """The level that was searched for, put back into the volume it cuts off, gives the stated fill again."""
    found = evaluated(tmp_path, scene(fill="73 %"), "vents")
    steps = {s.id: s for s in found.outcomes["vents"].steps}
    assert steps["vents.step.tank.any.share"].value == pytest.approx(0.73, rel=1e-6)
    assert steps["vents.step.tank.any.vent"].value == pytest.approx(
        value(found, "vents.tank.tank.any.vent"), rel=1e-12
    )


def test_the_map_of_all_attitudes_holds_the_square_ones(tmp_path: Path) -> None:
    """On the ring of 90° the nose, the left side, the tail and the right side lie down; upright in the middle."""
    found = evaluated(tmp_path, scene(), "vents")
    detail = found.outcomes["vents"].detail
    assert isinstance(detail, Detail)
    tilts, quarters = np.array([0.0, math.pi / 2, math.pi]), np.arange(4) * math.pi / 2
    above, closed = around(detail.free[0].tank, tilts, quarters)
    assert not closed.any()
    lying = {x.attitude: x for x in detail.lying}
    ring = ("nose down", "left side", "tail down", "right side")
    for attitude, height in (
        ("upright", above[0, 0]),
        ("inverted", above[2, 0]),
        *zip(ring, above[1], strict=True),
    ):
        one = lying[attitude]
        assert one.highest.value is not None
        assert one.level.value is not None
        # a side that does not rise counts as rising by a thousandth
        assert height == pytest.approx(one.highest.value - one.level.value, abs=2e-3)


def test_the_map_says_where_a_valve_closes(tmp_path: Path) -> None:
    text = scene(more="      valve: rollover valve\n      closes_beyond: 60°\n")
    detail = evaluated(tmp_path, text, "vents").outcomes["vents"].detail
    assert isinstance(detail, Detail)
    _, closed = around(detail.free[0].tank, np.radians([59.0, 61.0]), np.array([0.0, 2.0]))
    assert closed.tolist() == [[0.0, 0.0], [1.0, 1.0]]
