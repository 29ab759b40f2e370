"""The subject `vents`: levels against shapely's areas, and vents by hand in six attitudes."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.formulas.vents import level
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
