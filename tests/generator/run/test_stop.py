"""Stops against closed forms, energy, and what fails."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from generator.formulas import motion
from generator.run import plan as p
from generator.run import stop as s
from generator.run.car import GRAVITY, Car, Course

POINT = Car(
    mass=1200.0,
    arm=2.0,
    height=0.0,
    wheelbase=4.0,
    drag_area=0.20,
    drag_height=0.0,
    front_lift=0.0,
    rear_lift=0.0,
    rolling=0.0,
    doubling=math.inf,
    friction=0.5,
    braked=(1.0, 1.0),
)
AIR = Course(1.0)
FULL = p.Brakes(1e4, 1e9)
HIGH = p.Deployment("high", "time", 1.0, 0.6, 3.0, 28.0, 1.0, 0.5)
LOW = p.Deployment("low", "below", 60.0, 0.6, 5.0, 28.0, 1.0, 0.5, backup=2.0)
PLAN = p.Plan(0.4, 300.0, (HIGH, LOW), p.Brakes(30.0, 4000.0, 0.3))
REAL = replace(POINT, height=0.4, rolling=0.02, doubling=60.0, braked=(0.0, 1.0))


@pytest.mark.parametrize("tolerance", [s.TOLERANCE, None])
def test_drag_and_brakes_against_the_closed_form(tolerance: float | None) -> None:
    """1942.89885 m and 27.397913 s from 150 m/s, brakes taking 0.84681 of the energy (worked by hand)."""
    found = s.stop(
        POINT, AIR, p.Plan(0.0, 0.0, (), FULL), speed=150.0, mass=1200.0, tolerance=tolerance
    )
    loose = 1e-6 if tolerance else 1e-4  # what either stepper promises
    assert found.distance == pytest.approx(1942.89885, rel=loose)
    assert found.time == pytest.approx(27.397913, rel=loose)
    assert found.brake_energy == pytest.approx(0.84681 * 0.5 * 1200.0 * 150.0**2, rel=1e-4)


def test_the_throttle_delay_costs_its_distance_at_full_speed() -> None:
    late = s.stop(POINT, AIR, p.Plan(2.0, 0.0, (), FULL), speed=150.0, mass=1200.0)
    assert late.happenings[-1].what in {"throttle closed", "brakes on"}
    # brakes come on at once and are counted only with the throttle closed: 2 s at 150 m/s before
    assert late.distance == pytest.approx(1942.89885 + 300.0, rel=1e-6)


def test_a_full_parachute_adds_its_drag_area() -> None:
    """A canopy that fills at once behind a coasting mass: the closed form with both areas, then the brakes."""
    chute = p.Deployment("only", "time", 0.0, 0.0, 2.0, 0.0, 1.0, 0.0)
    found = s.stop(POINT, AIR, p.Plan(0.0, 0.0, (chute,), FULL), speed=150.0, mass=1200.0)
    want = motion.stopping_distance(
        mass=1200.0, density=1.0, drag_area=2.2, speed=150.0, force=0.5 * 1200.0 * GRAVITY
    )
    assert found.distance == pytest.approx(float(want), rel=1e-5)


def test_steppers_agree_on_every_case() -> None:
    for plan in (
        PLAN,
        p.without(PLAN, ["high"]),
        p.without(PLAN, ["high", "low"]),
        p.without(PLAN, [], brakes=False),
        p.without(PLAN, [], late=2.0),
    ):
        fine, quick = (
            s.stop(REAL, AIR, plan, speed=105.0, mass=1230.0, tolerance=t) for t in (1e-9, None)
        )
        assert quick.distance == pytest.approx(fine.distance, rel=2e-4)
        assert quick.time == pytest.approx(fine.time, rel=2e-4)


def test_energy_is_conserved() -> None:
    """Without drag, rolling resistance or grade all of the energy ends in the brakes."""
    bare = replace(POINT, drag_area=1e-12)
    found = s.stop(bare, AIR, p.Plan(0.0, 0.0, (), FULL), speed=100.0, mass=1250.0)
    assert found.brake_energy == pytest.approx(0.5 * 1250.0 * 100.0**2, rel=1e-6)


def test_parachutes_come_when_they_should() -> None:
    found = s.stop(REAL, AIR, PLAN, speed=105.0, mass=1230.0)
    by = {h.what: h for h in found.happenings}
    assert by["pulled: high"].time == pytest.approx(1.0)
    assert by["stretched: high"].time == pytest.approx(1.6)
    assert by["pulled: low"].speed == pytest.approx(60.0, rel=1e-6)
    assert by["stretched: low"].time == pytest.approx(by["pulled: low"].time + 0.6)
    assert by["brakes on"].speed < 30.0


def test_a_failed_first_parachute_brings_the_backup() -> None:
    """Pulled at 1 s, due at 1.6 s, failed; 2 s later the second is pulled, stretched 0.6 s after that."""
    found = s.stop(REAL, AIR, p.without(PLAN, ["high"]), speed=105.0, mass=1230.0)
    (stretched,) = found.stretched
    assert stretched.what == "stretched: low"
    assert stretched.time == pytest.approx(1.0 + 0.6 + 2.0 + 0.6)


def test_everything_failing_is_longer_and_nothing_at_all_never_ends() -> None:
    works = s.stop(REAL, AIR, PLAN, speed=105.0, mass=1230.0)
    none = s.stop(REAL, AIR, p.without(PLAN, ["high", "low"]), speed=105.0, mass=1230.0)
    assert none.distance > 2.0 * works.distance
    endless = s.stop(POINT, AIR, p.Plan(0.0, 0.0, (), None), speed=100.0, mass=1200.0)
    assert "still rolling after 900 s" in endless.stalled
    assert endless.final_speed > 0.0


def test_late_pulls_come_late() -> None:
    late = s.stop(REAL, AIR, p.without(PLAN, [], late=2.0), speed=105.0, mass=1230.0)
    assert next(h for h in late.stretched if h.what == "stretched: high").time == pytest.approx(3.6)


def test_a_mark_already_passed_pulls_at_once() -> None:
    plan = p.pulled_at(PLAN, 0.0)
    found = s.stop(REAL, AIR, plan, speed=105.0, mass=1230.0)
    assert next(h for h in found.happenings if h.what == "pulled: high").time == pytest.approx(
        0.0, abs=1e-9
    )


def test_torque_limits_the_brakes_where_the_grip_would_hold_more() -> None:
    weak = s.stop(POINT, AIR, p.Plan(0.0, 0.0, (), p.Brakes(1e4, 1000.0)), speed=60.0, mass=1200.0)
    want = motion.stopping_distance(
        mass=1200.0, density=1.0, drag_area=0.2, speed=60.0, force=1000.0
    )
    assert weak.distance == pytest.approx(float(want), rel=1e-6)


def test_bisection_finds_the_last_good_value_or_none() -> None:
    assert p.bisect(lambda x: x <= 3.0, 0.0, 10.0, to=1e-6) == pytest.approx(3.0, abs=1e-5)
    assert p.bisect(lambda x: False, 0.0, 10.0, to=1e-6) is None
    assert p.bisect(lambda x: True, 0.0, 10.0, to=1e-6) == 10.0
