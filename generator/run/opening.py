"""The opening of a parachute behind a rolling vehicle, integrated over its filling."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.run.car import Car, Course, forces
from generator.run.stepping import Ends, Rate, State, march

Array = NDArray[np.float64]
TOLERANCE = 1e-9
"""Relative tolerance of the integration."""


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

    def rate(time: float, v: float) -> float:
        canopy = 0.5 * course.density * (v + course.wind) ** 2 * grown(time)
        other = forces(car, course, v).resistance if car else 0.0
        return -(canopy + other) / mass

    time, velocity = _integrated(rate, speed, (filling, after), samples)
    areas = drag_area * np.minimum(time / filling, 1.0) ** exponent
    force = overshoot * 0.5 * course.density * (velocity + course.wind) ** 2 * areas
    top = int(force.argmax())
    return Opening(time, velocity, force, float(force[top]), float(time[top]))


def _integrated(
    rate: Rate, speed: float, lasting: tuple[float, float], samples: int
) -> tuple[Array, Array]:
    """Time and speed through the filling, and for `lasting[1]` filling times after it."""
    full, end = lasting[0], lasting[0] * (1.0 + lasting[1])
    early, late = np.linspace(0.0, full, samples), np.linspace(full, end, samples // 2)
    inside = march(rate, State(0.0, 0.0, speed), full, TOLERANCE, Ends())
    beyond = march(rate, inside.last, end, TOLERANCE, Ends())
    time = np.concatenate([early, late[1:]])
    return time, np.concatenate([inside.at(early)[1], beyond.at(late)[1][1:]])
