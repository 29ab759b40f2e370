"""The demonstration's fire, gear, clock, reach, vents and rotating parts: what it must show, worked
here by hand.
"""

from __future__ import annotations

import datetime
import json
import math
from pathlib import Path

import pytest

from buildspec.read import read_folder
from buildspec.sections.controls import Controls
from buildspec.sections.fire import Fire
from buildspec.sections.gear import Gear
from buildspec.sections.rotating import Rotating
from buildspec.sections.vents import Vents
from generator.cli import main
from generator.evaluation import Evaluation, evaluate
from tests.generator.subjects.scenes import check, rule, value

EXAMPLE = Path(__file__).parents[3] / "example_build"
WORDS = ("fire", "gear", "clock", "reach", "vents", "rotating")


@pytest.fixture(scope="module")
def example() -> Evaluation:
    build = read_folder(EXAMPLE).build
    assert build is not None
    return evaluate(build, as_of=datetime.date(2026, 11, 25))


def test_it_has_what_is_promised(example: Evaluation) -> None:
    fire, gear, controls, rotating, vents = (
        example.build.section(k) for k in (Fire, Gear, Controls, Rotating, Vents)
    )
    assert fire
    assert gear
    assert controls
    assert rotating
    assert vents
    assert len(fire.zones) == 3
    assert len({b.agent for b in fire.bottles}) == 2
    assert len(gear.items) == 12
    assert len(controls.items) == 9
    assert len(rotating.parts) == 3
    assert len(vents.tanks) == 2


def test_a_rated_temperature_is_compared_as_part_of_the_range_an_event_brings(
    example: Evaluation,
) -> None:
    """35 to 130 °F has its middle at 82.5 and reaches 47.5 to either side; 55 °C is 131 °F, 0 °C 32 °F."""
    margins = {c.id: c.margin for c in example.checks}
    assert margins["fire.check.engine_foam.heat"] == pytest.approx(48.5 / 47.5 - 1.0, rel=1e-9)
    assert margins["fire.check.engine_foam.cold"] == pytest.approx(50.5 / 47.5 - 1.0, rel=1e-9)


def test_the_capsule_gets_too_much_where_it_is_hot_and_high(example: Evaluation) -> None:
    """The label's 7 lb, more than the 15.40 − 8.45 lb on the scales, half of it into 42 ft³ at 130 °F and 2,890 ft,
    in feet and pounds throughout.
    """
    s = (0.0664 + 0.0002741 * (130.0 - 32.0) / 1.8) * 0.45359237 / 0.3048**3  # ft³/lb
    thin = (1.0 - 2.25577e-5 * 2890 * 0.3048) ** 5.25588
    x = 0.5 * 7.0 * s / (42.0 * thin)
    found = value(example, "fire.zone.driver.fk_5_1_12.concentration_hottest")
    # the pressure formula's rounded constants and geometric height: a few parts in ten thousand
    assert found == pytest.approx(x / (1.0 + x), rel=5e-4)
    assert check(example, "fire.check.driver.fk_5_1_12.exposure").verdict == "short"
    assert check(example, "fire.check.driver.fk_5_1_12.amount").verdict == "holds"


def test_what_runs_out_before_the_event(example: Evaluation) -> None:
    departs = {r.id for r in example.requirements if r.state == "departs" and r.subject in WORDS}
    assert departs == {
        "fire.requirement.inspection.engine_foam",
        "gear.requirement.life.belts",
        "gear.requirement.life.window_net",
    }
    assert rule(example, "fire.requirement.inspection.capsule").state == "conforms"


def test_what_falls_short_on_purpose(example: Evaluation) -> None:
    short = {c.id for c in example.checks if c.verdict == "short" and c.subject in WORDS}
    assert short == {
        "fire.check.driver.fk_5_1_12.exposure",
        "clock.check.on_its_side",
        "clock.check.hatch_jammed",
        "reach.check.battery.arm",
        "reach.check.battery.tether",
        "vents.check.oil_tank.right_side",
        "vents.check.oil_tank.rolled",
        "vents.check.oil_tank.pitched",
        "vents.check.oil_tank.any",
        "rotating.check.flywheel.line_brake_rear",
    }


def test_the_battery_switch_by_hand(example: Evaluation) -> None:
    """From the left shoulder at (97, −7.5, 20) to (69, −10, 18) in; 25.5 − 0.5 in of reach, factor
    1.02.
    """
    far = math.dist((97, -7.5, 20), (69, -10, 18))
    assert check(example, "reach.check.battery.arm").margin == pytest.approx(
        25.0 / (1.02 * far) - 1.0, rel=1e-9
    )


def test_the_brake_line_crosses_the_flywheels_plane(example: Evaluation) -> None:
    found = check(example, "rotating.check.flywheel.line_brake_rear")
    assert found.capacity.value == pytest.approx(0.0, abs=1e-12)


def test_it_is_all_in_the_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(EXAMPLE), "--json", "--as-of", "2026-11-25"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert {c["subject"] for c in data["checks"]} >= {"fire", "clock", "reach", "vents", "rotating"}
    states = {r["id"]: r["state"] for r in data["requirements"]}
    assert states["gear.requirement.life.belts"] == "departs"
    assert any(i["kind"] == "departs" for i in data["open_items"])
