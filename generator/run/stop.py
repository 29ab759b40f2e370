"""The stop: throttle closing, parachutes, brakes, with whatever is to fail left out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from generator.run.car import Car, Course, forces, grip
from generator.run.plan import Deployment, Plan

Array = NDArray[np.float64]
LONGEST = 900.0
"""A stop that lasts more seconds than this is given up."""
TOLERANCE = 1e-7
COARSE_STEP = 0.2
"""Share by which the speed changes in one step of the quick stepper."""
State = tuple[float, float, float]
Rates = Callable[[float, Any], list[float]]
Event = Callable[[float, Any], float]


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that happened during the stop."""

    what: str
    time: float
    distance: float
    speed: float


@dataclass(frozen=True, eq=False)
class Stop:
    """How a stop went: m, s, m/s², J. `trace` rows are time, distance, speed. `stalled` says why it never ended.

    `too_slow` are the line stretches that came below the parachute's least speed and so count for nothing.
    """

    distance: float
    time: float
    peak: float
    brake_energy: float
    stretched: tuple[Happening, ...]
    happenings: tuple[Happening, ...]
    stalled: str
    trace: Array = field(repr=False)
    final_speed: float = 0.0
    too_slow: tuple[Happening, ...] = ()


@dataclass(frozen=True, slots=True)
class _Open:
    """A parachute that is out: line stretch at `since`, filling for `filling` s."""

    deployment: Deployment
    since: float
    filling: float

    def area(self, time: float) -> float:
        """Drag area in m² at a time."""
        grown = min(max(time - self.since, 0.0) / self.filling, 1.0) if self.filling > 0.0 else 1.0
        return self.deployment.drag_area * math.pow(grown, self.deployment.exponent)


@dataclass(frozen=True, slots=True)
class _Scene:
    """What stays the same during a stop; `mass` counts the rotating parts, kg."""

    car: Car
    course: Course
    plan: Plan
    mass: float


@dataclass(frozen=True, slots=True)
class _Phase:
    """Where the stop is between two happenings."""

    time: float
    state: tuple[float, float, float]
    throttle_closed: bool
    open: tuple[_Open, ...]
    braking: bool
    pending: tuple[tuple[float, str, int], ...]
    waiting: tuple[int, ...]
    waiting_brakes: bool


def stop(
    car: Car,
    course: Course,
    plan: Plan,
    *,
    speed: float,
    mass: float,
    tolerance: float | None = TOLERANCE,
) -> Stop:
    """Integrate from the end of the timed section at `speed` m/s to a standstill.

    With a `tolerance` of None the quick stepper is used, for differences: right to about 1e-4.

    `mass` counts the rotating parts. Until the throttle is closed the speed stays. What resists is drag,
    rolling resistance, grade, the engine's braking, parachutes out, and brakes as far as the tires grip.
    """
    scene, phase = _Scene(car, course, plan, mass), _begin(plan, speed)
    traces: list[Array] = []
    happened: list[Happening] = []
    peak = 0.0
    while True:
        piece, ended = _piece(scene, phase, tolerance)
        traces.append(piece)
        if tolerance is not None:
            peak = max(peak, _peak(scene, phase, piece))
        last = (float(piece[1, -1]), float(piece[2, -1]), float(piece[3, -1]))
        phase = replace(phase, time=float(piece[0, -1]), state=last)
        if ended in {"stopped", "late"}:
            break
        phase = _next(plan, phase, ended, happened)
    whole = np.concatenate(traces, axis=1)
    stalled = "" if ended == "stopped" else f"it is still rolling after {LONGEST:.0f} s"
    stretched = tuple(h for h in happened if h.what.startswith("stretched:"))
    return Stop(
        last[0], phase.time, peak, last[2], stretched, tuple(happened), stalled, whole[:3], last[1]
    )


def _begin(plan: Plan, speed: float) -> _Phase:
    pending = [(plan.throttle, "throttle", 0)]
    pending += [(d.at, "pull", n) for n, d in enumerate(plan.deployments) if d.trigger == "time"]
    waiting = tuple(n for n, d in enumerate(plan.deployments) if d.trigger in {"mark", "below"})
    return _Phase(
        0.0,
        (0.0, speed, 0.0),
        False,
        (),
        False,
        tuple(sorted(pending)),
        waiting,
        plan.brakes is not None,
    )


def _piece(scene: _Scene, phase: _Phase, tolerance: float | None) -> tuple[Array, str]:
    """Integrate to the next happening. Rows: time, distance, speed, heat into the brakes."""
    until = min((p[0] for p in phase.pending), default=LONGEST)
    until = min(
        until,
        *(o.since + o.filling for o in phase.open if o.since + o.filling > phase.time + 1e-9),
        LONGEST,
    )
    events, names = _events(scene.plan, phase)
    for event, name in zip(events, names, strict=True):
        if name != "stopped" and event(phase.time, phase.state) <= 0.0:
            return np.array([[phase.time], *([s] for s in phase.state)]), name
    if until - phase.time <= 1e-9:
        return np.array([[phase.time], *([s] for s in phase.state)]), "time"
    rates = _rates(scene, phase)
    integrate = _march if tolerance is None else _adaptive
    rows, hit = integrate(rates, phase, until, events, tolerance or TOLERANCE)
    if hit is not None:
        return rows, names[hit]
    return rows, "late" if until >= LONGEST else "time"


def _adaptive(
    rates: Rates, phase: _Phase, until: float, events: Sequence[Event], tolerance: float
) -> tuple[Array, int | None]:
    """The stepped integration with error control; which event ended it, if any."""
    from scipy.integrate import solve_ivp  # noqa: PLC0415  (a third of a second where nothing runs)

    found = solve_ivp(
        rates, (phase.time, until), phase.state, events=events, rtol=tolerance, atol=tolerance
    )
    rows = np.vstack([found.t, found.y])
    return rows, next((n for n, t in enumerate(found.t_events) if len(t)), None)


def _march(
    rates: Rates, phase: _Phase, until: float, events: Sequence[Event], _: float
) -> tuple[Array, int | None]:
    """Classical Runge–Kutta steps in which the speed changes by a few percent; plain floats, no library."""
    time, state = phase.time, phase.state
    rows, longest = [(time, *state)], max((until - time) / 2.0, 1e-3)
    while until - time > 1e-9:
        slope = rates(time, state)
        step = min(
            until - time, longest, max(COARSE_STEP * state[1], 0.5) / max(abs(slope[1]), 1e-6)
        )
        there = _rk4(rates, time, state, step, slope)
        crossed = [n for n, event in enumerate(events) if event(time + step, there) <= 0.0]
        if crossed:
            step, hit = min((_root(rates, events[n], time, state, step), n) for n in crossed)
            rows.append((time + step, *_rk4(rates, time, state, step, slope)))
            return np.array(rows).T, hit
        time, state = time + step, there
        rows.append((time, *state))
    return np.array(rows).T, None


def _rk4(rates: Rates, time: float, state: State, step: float, first: Sequence[float]) -> State:
    """One step of the classical Runge–Kutta method of order 4."""
    half = 0.5 * step
    second = rates(time + half, _moved(state, first, half))
    third = rates(time + half, _moved(state, second, half))
    fourth = rates(time + step, _moved(state, third, step))
    mean = [
        (a + 2.0 * b + 2.0 * c + d) / 6.0
        for a, b, c, d in zip(first, second, third, fourth, strict=True)
    ]
    return _moved(state, mean, step)


def _moved(state: State, slope: Sequence[float], step: float) -> State:
    return (state[0] + step * slope[0], state[1] + step * slope[1], state[2] + step * slope[2])


def _root(rates: Rates, event: Event, time: float, state: State, step: float) -> float:
    """The part of a step after which an event happens, by false position."""
    slope = rates(time, state)
    low, high = 0.0, step
    at_low, at_high = event(time, state), event(time + step, _rk4(rates, time, state, step, slope))
    for _ in range(8):
        middle = high if at_low == at_high else low + (high - low) * at_low / (at_low - at_high)
        value = event(time + middle, _rk4(rates, time, state, middle, slope))
        if abs(value) < 1e-7:
            return middle
        low, high, at_low, at_high = (
            (middle, high, value, at_high) if value > 0.0 else (low, middle, at_low, value)
        )
    return high


def _events(plan: Plan, phase: _Phase) -> tuple[list[Event], list[str]]:
    events: list[Event] = [_falls(_below(0.0))]
    names = ["stopped"]
    for n in phase.waiting:
        d = plan.deployments[n]
        events.append(_falls(_past(d.at) if d.trigger == "mark" else _below(d.at)))
        names.append(f"pull {n}")
    if phase.waiting_brakes and plan.brakes:
        events.append(_falls(_below(plan.brakes.below)))
        names.append("brakes")
    return events, names


def _below(speed: float) -> Callable[[Any], float]:
    return lambda y: float(y[1]) - speed


def _past(mark: float) -> Callable[[Any], float]:
    return lambda y: mark - float(y[0])


def _falls(value: Callable[[Any], float]) -> Event:
    """A terminal event where `value` of the state falls through zero."""

    def event(_: float, y: Any) -> float:
        return float(value(y))

    event.terminal = True  # type: ignore[attr-defined]
    event.direction = -1.0  # type: ignore[attr-defined]
    return event


def _rates(scene: _Scene, phase: _Phase) -> Rates:
    def rates(time: float, y: Any) -> list[float]:
        speed = float(y[1])
        if not phase.throttle_closed:
            return [speed, -_pull(scene.course, phase, time, speed)[0] / scene.mass, 0.0]
        other, brake = _retarding(scene, phase, time, speed)
        return [speed, -(other + brake) / scene.mass, brake * max(speed, 0.0)]

    return rates


def _pull(course: Course, phase: _Phase, time: float, speed: float) -> tuple[float, float]:
    """Pull of all parachutes that are out, N, and the height it acts at, m."""
    if not phase.open:
        return 0.0, 0.0
    wind = max(speed + course.wind, 0.0)
    whole = moment = 0.0
    for chute in phase.open:
        pull = 0.5 * course.density * wind * wind * chute.area(time)
        whole += pull
        moment += pull * chute.deployment.height
    return whole, moment / whole if whole > 0.0 else 0.0


def _retarding(scene: _Scene, phase: _Phase, time: float, speed: float) -> tuple[float, float]:
    """Everything that slows but the brakes, and the brakes, N."""
    pull, height = _pull(scene.course, phase, time, speed)
    acting = forces(scene.car, scene.course, speed, pull, height)
    closed = scene.plan.engine_braking if phase.throttle_closed else 0.0
    other = acting.resistance + pull + closed
    if not (phase.braking and scene.plan.brakes):
        return other, 0.0
    limit = grip(scene.car, acting, scene.car.braked, mass=scene.mass, resistance=other, sign=-1.0)
    return other, min(limit, scene.plan.brakes.limit)


def _peak(scene: _Scene, phase: _Phase, piece: Array) -> float:
    """The greatest deceleration of a piece, m/s²."""
    moments = [(float(t), float(v)) for t, v in piece[[0, 2]].T]
    if not phase.throttle_closed:
        return max(_pull(scene.course, phase, t, v)[0] for t, v in moments) / scene.mass
    return max(sum(_retarding(scene, phase, t, v)) for t, v in moments) / scene.mass


def _next(plan: Plan, phase: _Phase, ended: str, happened: list[Happening]) -> _Phase:
    """The phase after a happening."""
    if ended.startswith("pull "):
        n = int(ended.split()[1])
        return _pulled(
            plan, replace(phase, waiting=tuple(w for w in phase.waiting if w != n)), n, happened
        )
    if ended == "brakes" and plan.brakes:
        due = phase.time + plan.brakes.delay
        return replace(
            phase, waiting_brakes=False, pending=tuple(sorted((*phase.pending, (due, "brake", 0))))
        )
    if not phase.pending or phase.pending[0][0] > phase.time + 1e-9:
        return phase  # a canopy is full
    (_, what, n), rest = phase.pending[0], phase.pending[1:]
    phase = replace(phase, pending=rest)
    if what == "pull":
        return _pulled(plan, phase, n, happened)
    if what == "stretch":
        return _stretched(plan, phase, n, happened)
    _note(happened, {"throttle": "throttle closed", "brake": "brakes on"}[what], phase)
    return replace(
        phase,
        throttle_closed=phase.throttle_closed or what == "throttle",
        braking=phase.braking or what == "brake",
    )


def _pulled(plan: Plan, phase: _Phase, n: int, happened: list[Happening]) -> _Phase:
    _note(happened, f"pulled: {plan.deployments[n].name}", phase)
    due = phase.time + plan.deployments[n].delay
    return replace(phase, pending=tuple(sorted((*phase.pending, (due, "stretch", n)))))


def _stretched(plan: Plan, phase: _Phase, n: int, happened: list[Happening]) -> _Phase:
    deployment = plan.deployments[n]
    _note(happened, f"stretched: {deployment.name}", phase)
    filling = deployment.fill / max(phase.state[1], 1.0)
    phase = replace(phase, open=(*phase.open, _Open(deployment, phase.time, filling)))
    if n + 1 < len(plan.deployments) and plan.deployments[n + 1].trigger == "after":
        due = phase.time + plan.deployments[n + 1].at
        phase = replace(phase, pending=tuple(sorted((*phase.pending, (due, "pull", n + 1)))))
    return phase


def _note(happened: list[Happening], what: str, phase: _Phase) -> None:
    happened.append(Happening(what, phase.time, phase.state[0], phase.state[1]))
