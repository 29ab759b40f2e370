"""The opening of a parachute behind a rolling vehicle, integrated over its filling."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.run.car import Car, Course, forces

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Opening:
    """Time s since line stretch, speed m/s and canopy force N; `peak` N, at `at` s."""

    time: Array
    speed: Array
    force: Array
    peak: float
    at: float


def open_canopy(
    *,
    car: Car | None,
    course: Course,
    mass: float,
    speed: float,
    drag_area: float,
    filling: float,
    exponent: float,
    overshoot: float = 1.0,
    after: float = 1.0,
    samples: int = 401,
) -> Opening:
    """Integrate from line stretch until `after` filling times later; drag area CdS (t/t_f)^j, then CdS.

    With `car` None only the canopy slows the mass, as the closed form assumes; otherwise drag and
    rolling resistance do too. The force is `overshoot` times q·CdS(t). `mass` in kg counts what is to
    be slowed; m/s, m², s.
    """

    def grown(time: float) -> float:
        return drag_area * math.pow(min(time / filling, 1.0), exponent)

    def rates(time: float, y: Array) -> list[float]:
        v = float(y[0])
        canopy = 0.5 * course.density * (v + course.wind) ** 2 * grown(time)
        other = forces(car, course, v).resistance if car else 0.0
        return [-(canopy + other) / mass]

    time, velocity = _integrated(rates, speed, (filling, after), samples)
    areas = drag_area * np.minimum(time / filling, 1.0) ** exponent
    force = overshoot * 0.5 * course.density * (velocity + course.wind) ** 2 * areas
    top = int(force.argmax())
    return Opening(time, velocity, force, float(force[top]), float(time[top]))


def _integrated(
    rates: Callable[[float, Array], list[float]],
    speed: float,
    lasting: tuple[float, float],
    samples: int,
) -> tuple[Array, Array]:
    """Time and speed through the filling, and for `lasting[1]` filling times after it."""
    from scipy.integrate import solve_ivp  # noqa: PLC0415  (a third of a second where nothing runs)

    full, end = lasting[0], lasting[0] * (1.0 + lasting[1])
    exact = {"rtol": 1e-9, "atol": 1e-9, "dense_output": True}
    inside = solve_ivp(rates, (0.0, full), [speed], **exact)
    beyond = solve_ivp(rates, (full, end), inside.y[:, -1], **exact)
    early, late = np.linspace(0.0, full, samples), np.linspace(full, end, samples // 2)
    time = np.concatenate([early, late[1:]])
    return time, np.concatenate([inside.sol(early)[0], beyond.sol(late)[0][1:]])
