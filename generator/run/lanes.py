"""Many stops side by side: what acts on each, as arrays with a column a stop. The physics of `car`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from generator.run.car import GRAVITY, Car, Course
from generator.run.plan import Deployment, Plan

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
LONGEST = 900.0
"""A stop that lasts more seconds than this is given up."""
FIRST_STEP = 0.05
"""The first step that is tried, s."""
NEVER = Deployment("", "after", np.inf, 0.0, 0.0, 0.0, 1.0, 0.0)
"""Fills the place of a parachute where another stop has more of them."""


@dataclass(frozen=True, slots=True)
class Start:
    """One stop to be made: from `speed` m/s at the end of the timed section; `mass` counts the rotating parts.

    Until the throttle is closed `thrust` N go on pushing, drag and the rest against them; where it is None the
    speed stays but for parachutes. Of a `brief` one only the figures and line stretches are wanted, as right
    as a search needs them.
    """

    car: Car
    course: Course
    plan: Plan
    speed: float
    mass: float
    brief: bool = False
    thrust: float | None = None


@dataclass(eq=False, slots=True)
class Lanes:
    """SI; the last axis counts stops, one before it parachutes, events or planned happenings.

    `on_x`, `on_v` and `zero` say when each event happens: `on_x` x + `on_v` v + `zero` falls to 0;
    events are standstill, pull of each parachute, the foot on the brake. `due` are the times of throttle,
    pulls, line stretches, full canopies, brakes, and of giving up; what is not planned is infinite. `always`
    is what does not change: half the density, head wind, drag area, lift areas, weight, rolling resistance and
    how it grows with speed, and the force of grade and engine. `thrust` pushes until the throttle is closed, with
    the engine's braking that does not count yet; it is not a number where the speed stays. `traced` are those
    whose way is kept.
    """

    id: NDArray[np.intp]
    traced: Mask
    tolerance: Array
    time: Array
    state: Array
    slope: Array
    step: Array
    closed: Mask
    braking: Mask
    since: Array
    filling: Array
    due: Array
    on_x: Array
    on_v: Array
    zero: Array
    car: Array
    table: Array
    mass: Array
    always: Array
    thrust: Array
    grade: Array
    force: Array
    reaction: Array
    area: Array
    fill: Array
    exponent: Array
    height: Array
    delay: Array
    after: Array

    def taken(self, keep: Mask) -> Lanes:
        """Only some of them."""
        return replace(self, **{f.name: getattr(self, f.name)[..., keep] for f in fields(self)})

    def values(self, state: Array) -> Array:
        """How far each event is from happening; not above zero where it has."""
        found: Array = self.on_x * state[0] + self.on_v * state[1] + self.zero
        return found

    def rates(self, time: Array, state: Array) -> Array:
        """Speed, its change, and the heat into the brakes, a second."""
        speed = state[1]
        half, head_wind, area, lifts, weight, rolling, growing, steady = self.always
        wind = speed + head_wind
        size = np.abs(wind)
        pressure = half * wind * size
        pull, moment = self._pulls(time, np.maximum(pressure, 0.0))
        drag, lifting = pressure * area, half * size * size
        if len(self.table):
            drag = drag * self._compressed(size)
        standing = weight - lifting * lifts
        other = drag + (rolling + growing * speed) * np.maximum(standing, 0.0) + steady + pull
        if not self.braking.any():
            slowing = np.where(self.closed, other, self._pushed(other, pull))
            return np.stack([speed, -slowing / self.mass, np.zeros_like(speed)])
        brake = self._brake((drag, lifting, standing), moment, other)
        whole = np.where(self.closed, other + brake, self._pushed(other, pull))
        # smooth through standstill, for the steps that look beyond it
        return np.stack([speed, -whole / self.mass, brake * speed])

    def _pushed(self, other: Array, pull: Array) -> Array:
        """What slows before the throttle is closed, N."""
        return np.where(np.isnan(self.thrust), pull, other - self.thrust)

    def _pulls(self, time: Array, pressure: Array) -> tuple[Array, Array]:
        """Pull of all parachutes that are out, N, and its moment about the ground, N·m."""
        grown = np.clip((time - self.since) / self.filling, 0.0, 1.0)
        opening = (grown > 0.0) & (grown < 1.0)
        if opening.any():  # a power is dear, and most are shut or open
            grown[opening] **= self.exponent[opening]
        pulls = pressure * self.area * grown
        return pulls.sum(axis=0), (pulls * self.height).sum(axis=0)

    def _brake(self, acting: tuple[Array, Array, Array], moment: Array, other: Array) -> Array:
        """The brakes' force, N: what torque and the axle that locks first allow, where the brakes are used."""
        drag, lifting, standing = acting
        weight, (arm, height, base, drag_height, rear_lift) = self.always[4], self.car[:5]
        friction, front_braked, rear_braked, balance = self.car[5:]
        uphill = weight * self.grade * height
        rear = (weight * arm + uphill + drag * drag_height + moment) / base - lifting * rear_lift
        moved = weight / GRAVITY * height / base / self.mass
        held = self.force
        for share, braked, load, sign in (
            (balance, front_braked, standing - rear, 1.0),
            (1.0 - balance, rear_braked, rear, -1.0),
        ):
            slope = share - sign * friction * braked * moved
            locks = (share > 0.0) & (slope > 0.0)
            least = np.maximum(
                friction * braked * (load + sign * moved * other) / np.where(locks, slope, 1.0), 0.0
            )
            held = np.where(locks, np.minimum(held, least), held)
        return np.where(self.braking & self.closed, held, 0.0)

    def _compressed(self, wind: Array) -> Array:
        """The drag over that at rest: piecewise linear in the speed through the air."""
        found: Array = self.table[0]
        for start, length, rise in self.table[1:].reshape(-1, 3, len(wind)):
            found = found + rise * np.clip(wind - start, 0.0, length)
        return found


def pack(starts: Sequence[Start], tolerance: float, loose: float) -> Lanes:
    """The stops as they begin, with the relative tolerance of their steps: the `loose` one where they are brief."""
    count, most = len(starts), max((len(s.plan.deployments) for s in starts), default=0)
    chutes = [[*s.plan.deployments, *[NEVER] * (most - len(s.plan.deployments))] for s in starts]
    state = np.array([(0.0, s.speed, 0.0) for s in starts]).T
    on_x, on_v, zero = _events([s.plan for s in starts], chutes)
    columns = _columns(chutes, count)
    after = [[d.at if d.trigger == "after" else np.inf for d in row] for row in chutes]
    return Lanes(
        id=np.arange(count),
        traced=np.array([not s.brief for s in starts]),
        tolerance=np.array([loose if s.brief else tolerance for s in starts]),
        time=np.zeros(count),
        state=state,
        slope=np.zeros_like(state),
        step=np.full(count, FIRST_STEP),
        closed=np.zeros(count, dtype=bool),
        braking=np.zeros(count, dtype=bool),
        since=np.full((most, count), np.inf),
        filling=np.ones((most, count)),
        due=_due([s.plan for s in starts], chutes, LONGEST),
        on_x=on_x,
        on_v=on_v,
        zero=zero,
        car=np.array([_car(s.car) for s in starts]).T.copy(),
        table=_tables([s.car for s in starts]),
        mass=np.array([s.mass for s in starts]),
        always=np.array([_always(s) for s in starts]).T.copy(),
        grade=np.array([s.course.grade for s in starts]),
        thrust=np.array([_thrust(s) for s in starts]),
        force=np.array([s.plan.brakes.limit if s.plan.brakes else 0.0 for s in starts]),
        reaction=np.array([s.plan.brakes.delay if s.plan.brakes else np.inf for s in starts]),
        area=columns[0],
        fill=columns[1],
        exponent=columns[2],
        height=columns[3],
        delay=columns[4],
        after=np.array(after).reshape(count, most).T.copy(),
    )


def _columns(chutes: Sequence[Sequence[Deployment]], count: int) -> Array:
    """Values of parachutes, given stop by stop: value, parachute, stop."""
    rows = [(d.drag_area, d.fill, d.exponent, d.height, d.delay) for row in chutes for d in row]
    return np.array(rows).reshape(count, -1, 5).transpose(2, 1, 0).copy()


def _thrust(start: Start) -> float:
    """What pushes until the throttle is closed, N: what the engine's braking takes off then does not count yet."""
    return np.nan if start.thrust is None else start.thrust + start.plan.engine_braking


def _always(start: Start) -> tuple[float, ...]:
    car, course, weight = start.car, start.course, start.car.mass * GRAVITY
    return (
        0.5 * course.density,
        course.wind,
        car.drag_area,
        car.front_lift + car.rear_lift,
        weight,
        car.rolling,
        car.rolling / car.doubling,
        weight * course.grade + start.plan.engine_braking,
    )


def _car(car: Car) -> tuple[float, ...]:
    return (
        car.arm,
        car.height,
        car.wheelbase,
        car.drag_height,
        car.rear_lift,
        car.friction,
        *car.braked,
        car.front_share,
    )


def _tables(cars: Sequence[Car]) -> Array:
    """First factor, then start, length and rise of each piece; no rows where no drag changes with speed."""
    longest = max(len(car.compressed[0]) for car in cars)
    if not longest:
        return np.zeros((0, len(cars)))
    return np.array([_table(car, longest) for car in cars]).T.copy()


def _table(car: Car, longest: int) -> list[float]:
    speeds, factors = car.compressed
    row = [factors[0] if factors else 1.0]
    for n in range(1, longest):
        length = speeds[n] - speeds[n - 1] if n < len(speeds) else 0.0
        rise = (factors[n] - factors[n - 1]) / length if length else 0.0
        row += [speeds[n - 1] if length else 0.0, length, rise]
    return row


def _events(plans: Sequence[Plan], chutes: list[list[Deployment]]) -> tuple[Array, Array, Array]:
    """Standstill, the pull of each parachute that waits for a mark or a speed, the foot on the brake."""
    rows = [
        [
            (0.0, 1.0, 0.0),
            *(_event(d) for d in row),
            (0.0, 1.0, -plan.brakes.below) if plan.brakes else (0.0, 0.0, np.inf),
        ]
        for plan, row in zip(plans, chutes, strict=True)
    ]
    on_x, on_v, zero = np.array(rows).transpose(2, 1, 0).copy()
    return on_x, on_v, zero


def _event(deployment: Deployment) -> tuple[float, float, float]:
    if deployment.trigger == "mark":
        return -1.0, 0.0, deployment.at
    return (0.0, 1.0, -deployment.at) if deployment.trigger == "below" else (0.0, 0.0, np.inf)


def _due(plans: Sequence[Plan], chutes: list[list[Deployment]], longest: float) -> Array:
    never = [np.inf] * len(chutes[0])
    rows = [
        [
            plan.throttle,
            *(d.at if d.trigger == "time" else np.inf for d in row),
            *never,
            *never,
            np.inf,
            longest,
        ]
        for plan, row in zip(plans, chutes, strict=True)
    ]
    return np.array(rows).T.copy()
