"""Speeding up against closed forms, against a quadrature, and in its turning points."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from generator.formulas import motion
from generator.run.car import (
    GRAVITY,
    Car,
    Course,
    Gear,
    forces,
    full_throttle,
    grip,
    speeding_up,
    terminal,
)
from generator.run.quick import RunUp, run_ups
from generator.run.speed import run_up
from generator.run.stepping import Ends, State, march

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
    friction=1000.0,
    driven=(1.0, 1.0),
)
AIR = Course(1.0)
POWER = Gear((0.1, 1.0), (6e5, 6e5), True, 1200.0)
LAKESTER = replace(
    POINT,
    mass=920.0,
    arm=2.4,
    height=0.36,
    wheelbase=4.3,
    drag_area=0.37,
    drag_height=0.4,
    front_lift=0.03,
    rear_lift=-0.02,
    rolling=0.022,
    doubling=70.0,
    friction=0.6,
    driven=(0.0, 1.0),
)
BOX = (
    Gear((15.0, 25.0, 35.0), (6800.0, 7400.0, 6100.0), False, 985.0, 33.0),
    Gear((25.0, 45.0, 60.0), (4100.0, 4500.0, 3700.0), False, 955.0, 57.0),
    Gear((40.0, 80.0, 120.0), (2500.0, 2800.0, 2200.0), False, 940.0),
)


@pytest.mark.parametrize(
    ("last", "distance", "time"),
    [(100.0, 723.9493, 10.34559), (150.0, 3301.3774, 30.28250), (172.62646, 7784.809, 57.68222)],
)
def test_constant_power_against_the_closed_form(last: float, distance: float, time: float) -> None:
    """Distances and times worked by hand to seven digits; the integration is right to 1e-6 at its tolerance."""
    found = run_up(POINT, AIR, [POWER], marks=[distance], start=20.0)
    crossing = found.crossings[-1]
    assert crossing.speed == pytest.approx(last, rel=1e-6)
    assert crossing.time == pytest.approx(time, rel=1e-6)


def test_grip_limits_the_start_as_the_closed_form_says() -> None:
    """Driven by all wheels without drag, a = μ g from rest until power takes over: v² = 2 μ g x."""
    car = replace(POINT, friction=0.5, drag_area=1e-12)
    found = run_up(car, AIR, [POWER], marks=[100.0])
    assert found.crossings[-1].speed == pytest.approx(
        math.sqrt(2.0 * 0.5 * GRAVITY * 100.0), rel=1e-6
    )
    assert found.grip_share == pytest.approx(1.0)


def test_load_transfer_helps_the_driven_rear_axle() -> None:
    """Rear drive, no drag: a = μ g a/(l − μ h), the textbook result for a rear-driven car."""
    car = replace(POINT, friction=0.5, height=0.5, driven=(0.0, 1.0), drag_area=1e-12)
    acting = forces(car, AIR, 1.0)
    force = grip(car, acting, car.driven, mass=car.mass, resistance=acting.resistance, sign=1.0)
    assert force / car.mass == pytest.approx(0.5 * GRAVITY * 2.0 / (4.0 - 0.5 * 0.5), rel=1e-9)


def test_braking_unloads_the_rear_axle() -> None:
    """Rear brakes, no drag: a = μ g a/(l + μ h)."""
    car = replace(POINT, friction=0.5, height=0.5, drag_area=1e-12)
    acting = forces(car, AIR, 1.0)
    force = grip(car, acting, (0.0, 1.0), mass=car.mass, resistance=acting.resistance, sign=-1.0)
    assert force / car.mass == pytest.approx(0.5 * GRAVITY * 2.0 / (4.0 + 0.5 * 0.5), rel=1e-9)


def test_terminal_speed_is_the_cube_root() -> None:
    assert terminal(POINT, AIR, POWER) == pytest.approx(181.71206, rel=1e-7)


def test_quadrature_and_integration_agree_on_a_car_with_gears() -> None:
    """Two methods that share only the forces: 1e-4 is what the coarse nodes of the quadrature allow."""
    marks = [1500.0, 3000.0, 4600.0]
    stepped = run_up(LAKESTER, AIR, BOX, marks=marks, start=16.0, shift_time=0.25)
    (quick,) = run_ups([RunUp(LAKESTER, AIR, BOX, marks, 16.0, 0.25)])
    assert [number for number, _, _ in stepped.shifts] == [2, 3]
    for crossing in stepped.crossings:
        assert quick.times[crossing.mark] == pytest.approx(crossing.time, rel=1e-4)
    assert quick.last == pytest.approx(stepped.crossings[-1].speed, rel=1e-4)


@pytest.mark.parametrize("course", [AIR, Course(0.95, wind=-4.0, grade=0.002)])
def test_full_throttle_is_what_scipy_makes_of_it(course: Course) -> None:
    """scipy's DOP853 at 1e-12, its own events for mark and shift: 1e-7, ten times what a step's tolerance adds up to.

    The corners of thrust and grip are inside, where neither knows that they come.
    """
    gear = BOX[1]

    def rate(_: float, speed: float) -> float:
        acting = forces(LAKESTER, course, speed)
        resists, share = acting.resistance, LAKESTER.driven
        held = grip(LAKESTER, acting, share, mass=LAKESTER.mass, resistance=resists, sign=1.0)
        by_grip = (held - resists) / LAKESTER.mass
        return min((gear.thrust(speed) - resists) / gear.mass, by_grip)

    path = march(rate, State(0.0, 0.0, 26.0), 60.0, 1e-9, Ends((200.0, 5000.0), gear.until))
    made = solve_ivp(
        lambda t, y: [y[1], rate(t, y[1])],
        (0.0, path.last.time + 1.0),
        [0.0, 26.0],
        method="DOP853",
        rtol=1e-12,
        atol=1e-12,
        max_step=0.05,
        events=[lambda _, y: y[0] - 200.0, lambda _, y: y[1] - gear.until],
        dense_output=True,
    )
    assert path.ended == "limit"
    assert path.crossed[0][1] == pytest.approx(made.t_events[0][0], rel=1e-7)
    assert path.last.time == pytest.approx(made.t_events[1][0], rel=1e-7)
    sampled = np.linspace(0.0, path.last.time, 50)
    assert np.allclose(path.at(sampled), made.sol(sampled), rtol=1e-6, atol=1e-6)


def test_forces_that_are_no_number_end_a_run_with_the_reason() -> None:
    found = run_up(replace(LAKESTER, drag_area=math.nan), AIR, BOX, marks=[1000.0], start=16.0)
    assert "integration cannot go on" in found.stalled
    assert found.crossings[0].time is None


def test_a_shift_costs_the_speed_that_resistance_takes() -> None:
    without = run_up(LAKESTER, AIR, BOX, marks=[3000.0], start=16.0)
    slow = run_up(LAKESTER, AIR, BOX, marks=[3000.0], start=16.0, shift_time=1.0)
    assert without.crossings[0].time is not None
    assert slow.crossings[0].time is not None
    assert 0.5 < slow.crossings[0].time - without.crossings[0].time < 4.0


def test_the_engines_limit_holds_the_speed() -> None:
    short = (replace(BOX[2], speeds=(40.0, 60.0, 70.0)),)
    found = run_up(LAKESTER, AIR, short, marks=[2000.0, 3000.0], start=40.0)
    assert found.held
    assert found.peak == pytest.approx(70.0, rel=1e-6)
    first, last = found.crossings
    assert last.time is not None
    assert first.time is not None
    assert last.time - first.time == pytest.approx(1000.0 / 70.0, rel=1e-9)


@pytest.mark.parametrize("limit", [45.0 + 0.71 * n for n in range(24)])
def test_every_limit_that_is_reached_ends_the_leg(limit: float) -> None:
    """Little surplus up to its limit and much resistance beyond: no step may wait just below it."""
    flat = Gear((40.0, limit), (1250.0, 1250.0), False, 940.0)
    found = run_up(LAKESTER, AIR, (flat,), marks=[30000.0], start=40.0)
    assert not found.stalled
    assert found.held
    assert found.peak == pytest.approx(limit, rel=1e-9)
    assert found.steps < 100


def test_a_motion_that_never_gets_on_is_stuck() -> None:
    """A force that is there or not by a hair's breadth of speed makes steps ever so small: it is said."""
    hair = march(
        lambda _time, speed: 3.0 if speed < 30.0 else -3.0,
        State(0.0, 0.0, 29.0),
        600.0,
        1e-9,
        Ends([9e9]),
    )
    assert hair.ended == "stuck"


def test_a_car_too_weak_for_the_course_says_how_far_it_gets() -> None:
    weak = Gear((0.1, 1.0), (200.0, 200.0), True, 1200.0)
    found = run_up(replace(POINT, rolling=0.02), AIR, [weak], marks=[5000.0])
    assert found.crossings[0].time is None
    assert "600 s" in found.stalled
    assert 0.0 < found.distance < 5000.0


def test_a_tail_wind_helps_and_a_climb_costs() -> None:
    calm = terminal(LAKESTER, AIR, BOX[2])
    assert terminal(LAKESTER, Course(1.0, wind=-5.0), BOX[2]) > calm
    assert terminal(LAKESTER, Course(1.0, grade=0.01), BOX[2]) < calm
    assert Course(1.0, 3.0, 0.01).reversed() == Course(1.0, -3.0, -0.01)


def test_scaling_mass_length_and_time_scales_the_answer() -> None:
    """A hidden constant would show: all lengths × 2, times × √2 (gravity stays), masses × 3."""
    length, mass = 2.0, 3.0
    time = math.sqrt(length)
    speed, force = length / time, mass * length / time**2
    scaled = replace(
        LAKESTER,
        mass=LAKESTER.mass * mass,
        arm=LAKESTER.arm * length,
        height=LAKESTER.height * length,
        wheelbase=LAKESTER.wheelbase * length,
        drag_area=LAKESTER.drag_area * length**2,
        drag_height=LAKESTER.drag_height * length,
        front_lift=LAKESTER.front_lift * length**2,
        rear_lift=LAKESTER.rear_lift * length**2,
        doubling=LAKESTER.doubling * speed,
    )
    box = [
        Gear(
            tuple(v * speed for v in g.speeds),
            tuple(f * force for f in g.values),
            False,
            g.mass * mass,
            g.until * speed,
        )
        for g in BOX
    ]
    there = run_up(LAKESTER, AIR, BOX, marks=[2000.0], start=16.0).crossings[0]
    here = run_up(
        scaled, Course(mass / length**3), box, marks=[2000.0 * length], start=16.0 * speed
    ).crossings[0]
    assert here.time == pytest.approx((there.time or 0.0) * time, rel=1e-6)
    assert here.speed == pytest.approx((there.speed or 0.0) * speed, rel=1e-6)


def test_power_against_drag_by_the_formula_of_the_page() -> None:
    """The bound that the page prints lies above every speed reached."""
    found = run_up(POINT, AIR, [POWER], marks=[14060.96], start=20.0)
    bound = motion.terminal_speed(power=6e5, density=1.0, drag_area=0.2)
    assert found.peak == pytest.approx(0.99 * bound, rel=1e-6)


# ------------------------------------------------------------- drag over Mach number, fuel burned


def test_drag_over_mach_is_a_factor_on_the_area() -> None:
    """One factor at every speed is the same as a larger area."""
    grown = replace(LAKESTER, compressed=((0.0, 200.0), (1.3, 1.3)))
    larger = replace(LAKESTER, drag_area=1.3 * LAKESTER.drag_area)
    assert forces(grown, AIR, 70.0) == forces(larger, AIR, 70.0)
    runs = [run_up(car, AIR, BOX, marks=[2000.0]).time for car in (grown, larger)]
    assert runs[0] == pytest.approx(runs[1], rel=1e-9)
    quick = run_ups([RunUp(car, AIR, BOX, [2000.0]) for car in (grown, larger)])
    assert quick[0].times[2000.0] == pytest.approx(quick[1].times[2000.0], rel=1e-9)


def test_between_two_rows_drag_is_linear_and_beyond_them_it_stays() -> None:
    car = replace(POINT, compressed=((100.0, 200.0), (1.0, 1.5)))
    for speed, factor in ((50.0, 1.0), (100.0, 1.0), (150.0, 1.25), (200.0, 1.5), (250.0, 1.5)):
        drag = forces(car, AIR, speed).drag
        assert drag == pytest.approx(0.5 * speed**2 * 0.20 * factor, rel=1e-12)


def test_terminal_speed_with_growing_drag_by_hand() -> None:
    """600 kW against ½·1·0.2·(1 + (v − 100)/200) v² between 100 and 200 m/s: 0.05 v³ + 0.0005 v⁴ = 6e5.

    At v = 160.8: 0.05·4,157,747 + 0.0005·668,565,731 = 207,887 + 334,283 is less, so v is a little more.
    """
    car = replace(POINT, compressed=((100.0, 200.0), (1.0, 1.5)))
    v = terminal(car, AIR, POWER)
    assert 0.05 * v**3 + 0.0005 * v**4 == pytest.approx(6e5, rel=1e-6)
    assert 160.8 < v < 200.0


THRUST = Gear((1.0, 1000.0), (9000.0, 9000.0), False, 1200.0)
FREE = replace(POINT, drag_area=0.0)


def test_fuel_burned_is_the_rocket_that_throws_nothing_back() -> None:
    """Constant force F on m₀ − ṁ t without resistance: v = (F/ṁ) ln(m₀/(m₀ − ṁ t)), in closed form."""
    found = run_up(FREE, AIR, [THRUST], marks=[3000.0], flow=6.0)
    time = found.time
    want = 9000.0 / 6.0 * math.log(1200.0 / (1200.0 - 6.0 * time))
    assert found.crossings[-1].speed == pytest.approx(want, rel=1e-6)
    assert found.burned == pytest.approx(6.0 * time, rel=1e-12)


def test_no_flow_is_the_run_as_before() -> None:
    with_, without = (run_up(LAKESTER, AIR, BOX, marks=[2000.0], flow=f) for f in (0.0, 0.0))
    assert with_.time == without.time
    lighter = run_up(LAKESTER, AIR, BOX, marks=[2000.0], flow=0.5)
    assert lighter.time < with_.time


def test_no_more_than_half_the_vehicle_is_burned() -> None:
    found = run_up(FREE, AIR, [THRUST], marks=[3000.0], flow=200.0)
    assert found.burned == pytest.approx(600.0)


def test_a_run_that_cannot_go_on_stands_and_rolls_nowhere() -> None:
    """10 m/s against a constant 0.1 g with no thrust: by hand it stands after v²/2a = 50.99 m, and stays there."""
    car = replace(POINT, drag_area=1e-12, rolling=0.1)
    gear = Gear((0.1, 1.0), (0.0, 0.0), True, car.mass)
    found = run_up(car, AIR, [gear], marks=[1000.0], start=10.0)
    assert "standstill" in found.stalled
    assert found.distance == pytest.approx(100.0 / (2.0 * 0.1 * GRAVITY), rel=1e-6)
    assert found.crossings[0].time is None


def test_what_turns_in_the_engine_takes_nothing_from_the_grip() -> None:
    """Spinning up takes the engine's own surplus: at the limit of grip a = μ g whatever turns; below it F/m_e."""
    car = replace(POINT, friction=0.5, drag_area=1e-12)
    heavy = replace(POWER, mass=1500.0)
    assert speeding_up(car, AIR, heavy, 10.0)[0] == pytest.approx(0.5 * GRAVITY, rel=1e-9)
    assert speeding_up(car, AIR, heavy, 100.0)[0] == pytest.approx(6e5 / 100.0 / 1500.0, rel=1e-9)
    # limited by grip as long as (600 kW/v)/1500 is more than μ g, by hand
    assert speeding_up(car, AIR, heavy, 6e5 / 1500.0 / (0.5 * GRAVITY) - 0.1)[2]
    assert not speeding_up(car, AIR, heavy, 6e5 / 1500.0 / (0.5 * GRAVITY) + 0.1)[2]


def test_a_slope_moves_load_as_its_pull_on_the_cg_does() -> None:
    """1 % uphill: 1,200 kg g 0.01 at 0.5 m over 4 m is 14.7 N from the front axle to the rear one, by hand."""
    car = replace(POINT, height=0.5, drag_area=1e-12)
    level, up = forces(car, AIR, 1.0), forces(car, Course(1.0, grade=0.01), 1.0)
    assert up.rear - level.rear == pytest.approx(1200.0 * GRAVITY * 0.01 * 0.5 / 4.0, rel=1e-9)
    assert up.front + up.rear == pytest.approx(level.front + level.rear, rel=1e-12)


def test_of_several_gears_the_one_that_gains_most_pulls_and_grip_is_asked_once() -> None:
    """By hand at 10 m/s without any resistance: 5 kN on 1,500 kg gain more than 6 kN on 2,000 kg, and 40 kN more than
    both, but 0.5 of the rear half of the weight is all that grips. F = μ m g/2, no load moved at a CG on the ground.
    """
    car = Car(1000.0, 2.0, 0.0, 4.0, 0.0, 0.0, 0.0, 0.0, 0.0, math.inf, 0.5)
    first, second, strong = (
        Gear((0.1, 90.0), (push, push), False, mass)
        for push, mass in ((5e3, 1500.0), (6e3, 2000.0), (40e3, 2000.0))
    )
    grip_force = 0.25 * 1000.0 * GRAVITY
    car = replace(car, friction=5.0)
    assert full_throttle(car, AIR, (first, second), 10.0) == (
        pytest.approx(5.0 / 1.5),
        5e3,
        False,
    )
    car = replace(car, friction=0.5)
    gained, force, slips = full_throttle(car, AIR, (first, strong), 10.0)
    assert (gained, force, slips) == (pytest.approx(grip_force / 1e3), grip_force, True)
