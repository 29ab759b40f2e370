"""The demonstration's run and stop against SciPy's DOP853, with the forces of `generator.run.car`."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest
from scipy.integrate import solve_ivp

from buildspec.read import read_folder
from generator.evaluation import Evaluation, evaluate, load_subjects
from generator.run.car import braking, forces, speeding_up
from generator.subjects import speed_runs, stopping_cases
from generator.subjects.run_model import car, course, gears
from generator.subjects.speed import Detail as SpeedDetail
from generator.subjects.stopping_records import Detail as StopDetail

WORDS = ("mass", "air", "speed", "parachutes", "stopping")
State = list[float]


@pytest.fixture(scope="module")
def example() -> Evaluation:
    """The demonstration, the subjects of the run alone."""
    build = read_folder(Path(__file__).parents[3] / "example_build").build
    assert build is not None
    return evaluate(build, as_of=datetime.date(2026, 11, 25), subjects=load_subjects(WORDS))


def _piece(
    rate: Callable[[float], float],
    state: State,
    lasting: float = 600.0,
    *,
    ends: Callable[[State], float] | None = None,
    mark: float | None = None,
) -> tuple[State, float | None]:
    """Time, place and speed after a piece at 1e-12, ended by a time or `ends` falling to 0; when it passes `mark`."""

    def slopes(_: float, y: State) -> State:
        return [y[1], rate(y[1])]

    def over(_: float, y: State) -> float:
        return ends([0.0, *y]) if ends else 1.0

    def passing(_: float, y: State) -> float:
        return y[0] - mark if mark is not None else 1.0

    over.terminal, over.direction = True, -1.0  # type: ignore[attr-defined]
    made = solve_ivp(
        slopes,
        (state[0], state[0] + lasting),
        state[1:],
        method="DOP853",
        events=(over, passing),
        rtol=1e-12,
        atol=1e-10,
        max_step=0.5,
    )
    passed = made.t_events[1]
    return [float(made.t[-1]), *map(float, made.y[:, -1])], float(passed[0]) if len(
        passed
    ) else None


@pytest.mark.parametrize("back", [False, True])
def test_the_examples_run_is_what_scipy_makes_of_it(example: Evaluation, *, back: bool) -> None:
    """Gear by gear with the pauses between, to the end of the last timed section: the time to 1e-7."""
    detail = example.outcomes["speed"].detail
    assert isinstance(detail, SpeedDetail)
    of = detail.of
    model, way, box = car(of), course(of), gears(of)
    way = way.reversed() if back else way
    done = detail.back if back else detail.out
    assert done is not None
    assert of.drive is not None
    assert of.drive.engine is not None
    end, pause = done.crossings[-1], of.drive.engine.shift_time.si
    state: State = [0.0, 0.0, of.drive.start_speed.si]
    for gear in box:
        limit = gear.until if gear is not box[-1] else 1e3
        state, passed = _piece(
            lambda v, gear=gear: speeding_up(model, way, gear, v)[0],  # type: ignore[misc]
            state,
            ends=lambda y, limit=limit: min(limit - y[2], end.mark + 1.0 - y[1]),  # type: ignore[misc]
            mark=end.mark,
        )
        if passed is not None:
            assert passed == pytest.approx(end.time, rel=1e-7)
            break
        following = box[box.index(gear) + 1]
        state, _ = _piece(
            lambda v, g=following: -forces(model, way, v).resistance / g.mass,  # type: ignore[misc]
            state,
            pause,
        )
    assert speed_runs.run(of, back=back).crossings[-1].time == end.time
    assert passed is not None


def _stop(there: stopping_cases.Scene, speed: float) -> State:
    """Without parachutes: thrust until the throttle is closed, coasting, and brakes from their speed and delay on."""
    model, way, mass, plan = there.car, there.course, there.mass, there.plan
    brakes = plan.brakes
    assert brakes is not None
    thrust = there.thrust(speed)

    def coasting(v: float) -> float:
        return -(forces(model, way, v).resistance + plan.engine_braking) / mass

    def held(v: float) -> float:
        acting = forces(model, way, v)
        other = acting.resistance + plan.engine_braking
        most = braking(model, acting, mass=mass, resistance=other)
        return -(other + min(most, brakes.limit)) / mass

    state, _ = _piece(
        lambda v: (thrust - forces(model, way, v).resistance) / mass,
        [0.0, 0.0, speed],
        plan.throttle,
    )
    state, _ = _piece(coasting, state, ends=lambda y: y[2] - brakes.below)
    state, _ = _piece(coasting, state, brakes.delay)
    return _piece(held, state, ends=lambda y: y[2])[0]


def test_the_examples_stop_without_parachutes_is_what_scipy_makes_of_it(
    example: Evaluation,
) -> None:
    """Distance and time to 1e-6, ten times the tolerance of a step."""
    detail = example.outcomes["stopping"].detail
    assert isinstance(detail, StopDetail)
    for way in detail.ways:
        there = stopping_cases.scene(way.setting)
        case = next(line.case for line in way.lines if line.case.id == "without_parachutes")
        done = stopping_cases.stopped([(there, case)])[0]
        time, distance, _ = _stop(there, way.setting.speed)
        assert distance == pytest.approx(done.distance, rel=1e-6)
        assert time == pytest.approx(done.time, rel=1e-6)
