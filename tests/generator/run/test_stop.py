"""Stops against closed forms, energy, and what fails."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from generator.formulas import motion
from generator.run import plan as p
from generator.run import stop as s
from generator.run.car import GRAVITY, Car, Course, braking, forces, grip

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


@pytest.mark.parametrize("tolerance", [s.TOLERANCE, s.LOOSE])
def test_drag_and_brakes_against_the_closed_form(tolerance: float) -> None:
    """1942.89885 m and 27.397913 s from 150 m/s, brakes taking 0.84681 of the energy (worked by hand)."""
    found = s.stop(
        POINT, AIR, p.Plan(0.0, 0.0, (), FULL), speed=150.0, mass=1200.0, tolerance=tolerance
    )
    loose = 1e-6 if tolerance == s.TOLERANCE else 1e-4  # what either tolerance promises
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


PLANS = (
    PLAN,
    p.without(PLAN, ["high"]),
    p.without(PLAN, ["high", "low"]),
    p.without(PLAN, [], brakes=False),
    p.without(PLAN, [], late=2.0),
)


@pytest.mark.parametrize("plan", PLANS)
@pytest.mark.parametrize(
    "car", [REAL, replace(REAL, compressed=((60.0, 80.0, 100.0), (1.0, 1.1, 1.3)))]
)
def test_a_stop_is_what_scipy_makes_of_the_same_physics(plan: p.Plan, car: Car) -> None:
    """scipy's DOP853 at 1e-11, piece by piece between the happenings told, with the forces of `car`."""
    found = s.stop(car, AIR, plan, speed=105.0, mass=1230.0)
    time, state = 0.0, [0.0, 105.0, 0.0]
    phase = _Phase(car, plan)
    ends = sorted({h.time for h in found.happenings} | phase.fulls(found) | {found.time})
    for end in ends:
        phase.note(found, time)
        if end > time:
            made = solve_ivp(
                phase.rates, (time, end), state, method="DOP853", rtol=1e-11, atol=1e-9
            )
            time, state = end, list(made.y[:, -1])
    # the tolerance of a step is 1e-7; the corners of a table and of the brakes' limit cost more
    near = 1e-6 if car is REAL else 5e-6
    assert state[0] == pytest.approx(found.distance, rel=near)
    assert state[1] == pytest.approx(0.0, abs=1e-3)  # standstill, where it was said to be
    assert state[2] == pytest.approx(found.brake_energy, rel=10.0 * near, abs=1e-6)
    for one in found.happenings:
        if one.what == "pulled: low" and car is REAL and plan is PLAN:
            assert one.speed == pytest.approx(60.0, rel=1e-6)


class _Phase:
    """What is out and on, from the happenings that were told: a stepper of its own knows nothing of them."""

    def __init__(self, car: Car, plan: p.Plan) -> None:
        self.car, self.plan = car, plan
        self.closed = self.braking = False
        self.out: list[tuple[p.Deployment, float, float]] = []

    def fulls(self, found: s.Stop) -> set[float]:
        by = {d.name: d for d in self.plan.deployments}
        fills = {h.time + by[h.what[11:]].fill / h.speed for h in found.stretched}
        return {t for t in fills if t < found.time}

    def note(self, found: s.Stop, now: float) -> None:
        told = {h.what: h for h in found.happenings if h.time <= now + 1e-9}
        self.closed, self.braking = "throttle closed" in told, "brakes on" in told
        by = {d.name: d for d in self.plan.deployments}
        self.out = [
            (by[h.what[11:]], h.time, by[h.what[11:]].fill / h.speed)
            for h in told.values()
            if h.what.startswith("stretched:")
        ]

    def rates(self, time: float, y: np.ndarray) -> list[float]:
        speed, pull, moment = float(y[1]), 0.0, 0.0
        for d, since, filling in self.out:
            grown = min(max(time - since, 0.0) / filling, 1.0)
            one = 0.5 * AIR.density * speed**2 * d.drag_area * grown**d.exponent
            pull, moment = pull + one, moment + one * d.height
        if not self.closed:
            return [speed, -pull / 1230.0, 0.0]
        acting = forces(self.car, AIR, speed, pull, moment / pull if pull else 0.0)
        other = acting.resistance + pull + self.plan.engine_braking
        brake = 0.0
        if self.braking and self.plan.brakes:
            held = grip(self.car, acting, self.car.braked, mass=1230.0, resistance=other, sign=-1.0)
            brake = min(held, self.plan.brakes.limit)
        return [speed, -(other + brake) / 1230.0, brake * speed]


def test_forces_that_are_no_number_end_a_stop_with_the_reason() -> None:
    """The others beside it go on."""
    starts = [s.Start(replace(POINT, rolling=r), AIR, PLAN, 105.0, 1230.0) for r in (math.nan, 0.0)]
    bad, good = s.stops(starts)
    assert "integration cannot go on" in bad.stalled
    assert not good.stalled
    assert good.distance == s.stops(starts[1:])[0].distance


def test_a_brief_stop_is_the_same_stop_without_its_way() -> None:
    """Right to 1e-4, as searches need it, and with the same line stretches."""
    whole = s.Start(REAL, AIR, PLAN, 105.0, 1230.0)
    full, brief = s.stops([whole, replace(whole, brief=True)])
    assert brief.distance == pytest.approx(full.distance, rel=1e-4)
    assert [h.what for h in brief.happenings] == [h.what for h in full.stretched]
    assert brief.trace.size == 0
    assert full.trace.size > 0


def test_a_stop_does_not_depend_on_which_others_are_made_with_it() -> None:
    """Side by side with stops of other lengths, parachutes and tables, and alone: to the last digits."""
    starts = [s.Start(REAL, AIR, plan, 105.0, 1230.0) for plan in PLANS]
    starts.append(
        s.Start(replace(REAL, compressed=((60.0, 90.0), (1.0, 1.2))), AIR, PLAN, 90.0, 1100.0)
    )
    for start, found in zip(starts, s.stops(starts), strict=True):
        (alone,) = s.stops([start])
        assert found.distance == pytest.approx(alone.distance, rel=1e-12)
        assert found.peak == pytest.approx(alone.peak, rel=1e-12)
        assert [h.what for h in found.happenings] == [h.what for h in alone.happenings]
        assert found.trace.shape == alone.trace.shape


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


def test_the_search_finds_the_last_good_value_or_none() -> None:
    def below(limit: float) -> Callable[[Sequence[float]], list[bool]]:
        return lambda tried: [x <= limit for x in tried]

    for limit in (0.0, 3.0, 3.3, 9.9999):
        assert p.last_good(below(limit), 0.0, 10.0, to=1e-6) == pytest.approx(limit, abs=1e-5)
    assert p.last_good(below(-1.0), 0.0, 10.0, to=1e-6) is None
    assert p.last_good(below(11.0), 0.0, 10.0, to=1e-6) == 10.0


def test_until_the_throttle_is_closed_the_engine_pushes_on() -> None:
    """2,400 N on 1,200 kg for 2 s without drag, by hand: 60 m/s become 64, in 124 m; then the brakes at μ g.

    v²/(2 μ g) = 64²/(2·0.5·9.80665) = 417.7 m.
    """
    car = replace(POINT, drag_area=1e-12)
    start = s.Start(car, AIR, p.Plan(2.0, 0.0, (), FULL), 60.0, 1200.0, thrust=2400.0)
    (found,) = s.stops([start])
    assert found.distance == pytest.approx(124.0 + 64.0**2 / (2.0 * 0.5 * GRAVITY), rel=1e-6)
    held = s.stops([replace(start, thrust=0.0)])[0]
    assert held.distance == pytest.approx(120.0 + 60.0**2 / (2.0 * 0.5 * GRAVITY), rel=1e-6)
    engine = replace(start, plan=p.Plan(2.0, 600.0, (), None), thrust=2400.0)
    closed = s.stops([engine])[0]  # the engine's braking waits for the throttle, too
    assert closed.happenings[0].distance == pytest.approx(124.0, rel=1e-6)


def test_the_axle_that_locks_first_limits_the_brakes() -> None:
    """1,000 kg, CG in the middle of 2.4 m and 0.6 m high, torque shared equally, μ 0.6, rolling 0.02, no drag.

    By hand the rear axle locks where F/2 = 0.6 (4903 − 0.25 (F + 196)): F = 4480 N; then v²/(2 (F + 196)/m).
    """
    car = Car(1000.0, 1.2, 0.6, 2.4, 1e-12, 0.0, 0.0, 0.0, 0.02, math.inf, 0.6, braked=(1.0, 1.0))
    acting = forces(car, AIR, 30.0)
    force = braking(car, acting, mass=1000.0, resistance=acting.resistance)
    assert force == pytest.approx(4480.0, rel=1e-3)
    found = s.stop(car, AIR, p.Plan(0.0, 0.0, (), FULL), speed=50.0, mass=1000.0)
    assert found.distance == pytest.approx(50.0**2 / (2.0 * (force + 196.133) / 1000.0), rel=1e-6)
    ideal = replace(
        car, balance=0.5 + 0.25 * 0.62
    )  # what deceleration at μ + 0.02 puts on the front axle
    better = s.stop(ideal, AIR, p.Plan(0.0, 0.0, (), FULL), speed=50.0, mass=1000.0)
    assert better.distance == pytest.approx(50.0**2 / (2.0 * 0.62 * GRAVITY), rel=1e-6)


@pytest.mark.parametrize(("share", "force"), [(0.9, 0.5 / 0.9), (0.5, 1.0), (0.1, 0.5 / 0.9)])
def test_either_axle_may_be_the_first_to_lock(share: float, force: float) -> None:
    """Half the weight on each axle and no height: μ W/2 over the greater of both shares, by hand."""
    car = replace(POINT, drag_area=1e-12, braked=(1.0, 1.0), balance=share)
    acting = forces(car, AIR, 30.0)
    want = 0.5 * 1200.0 * GRAVITY * force
    assert braking(car, acting, mass=1200.0, resistance=0.0) == pytest.approx(want, rel=1e-9)
    found = s.stop(car, AIR, p.Plan(0.0, 0.0, (), FULL), speed=50.0, mass=1200.0)
    assert found.distance == pytest.approx(50.0**2 / (2.0 * want / 1200.0), rel=1e-6)
