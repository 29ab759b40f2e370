"""Axles and wheel loads of a vehicle at rest on level ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from buildspec.sections.wheels import Wheel
from generator.formulas.mass import wheel_load
from generator.formulas.uncertainty import sensitivities
from generator.subjects.mass_loading import State

Array = NDArray[np.float64]
G = 9.80665
"""Standard acceleration of gravity, m/s² (exact by convention: 3rd CGPM, 1901; ISO 80000-3)."""

ONE_AXLE = 0.05
"""Wheels whose x differ by less than this share of the wheelbase count as one axle."""


@dataclass(frozen=True)
class Axle:
    """Wheels of (nearly) equal x. `x` is the mean of theirs."""

    x: float
    u_x: float
    wheels: tuple[Wheel, ...]

    @property
    def even(self) -> bool:
        """Whether all its wheels have the same x."""
        return all(abs(w.x.si - self.wheels[0].x.si) < 1e-9 for w in self.wheels)


@dataclass(frozen=True, eq=False)
class Footing:
    """How the wheels stand around their mean position: sums of squares and products, m²."""

    x: Array
    y: Array
    mean_x: float
    mean_y: float
    axx: float
    ayy: float
    axy: float

    @property
    def in_line(self) -> bool:
        """Whether all wheels stand in one line, so that one moment alone settles the loads."""
        return self.axx * self.ayy - self.axy**2 <= 1e-9 * (self.axx + self.ayy) ** 2


def axles(wheels: tuple[Wheel, ...]) -> tuple[Axle, ...]:
    """The axles from front to rear."""
    ordered = sorted(wheels, key=lambda w: w.x.si)
    if not ordered:
        return ()
    gap = ONE_AXLE * (ordered[-1].x.si - ordered[0].x.si)
    groups: list[list[Wheel]] = []
    for wheel in ordered:
        if groups and wheel.x.si - groups[-1][0].x.si <= gap:
            groups[-1].append(wheel)
        else:
            groups.append([wheel])
    return tuple(_axle(tuple(group)) for group in groups)


def _axle(wheels: tuple[Wheel, ...]) -> Axle:
    spreads = [w.x.standard_uncertainty for w in wheels]
    mean = sum(w.x.si for w in wheels) / len(wheels)
    return Axle(mean, float(np.linalg.norm(spreads)) / len(wheels), wheels)


def footing(x: Array, y: Array) -> Footing:
    """The sums that the loads need, from the wheels' contact points."""
    mean_x, mean_y = float(np.mean(x)), float(np.mean(y))
    a, b = x - mean_x, y - mean_y
    return Footing(x, y, mean_x, mean_y, float(a @ a), float(b @ b), float(a @ b))


def loads(total: float, x: float, y: float, on: Footing) -> Array:
    """Load of each wheel, N, with the centre of gravity at (x, y). Two wheels or more.

    Two wheels, or several in one line: by the moment along that line. Otherwise the plane of
    `wheel_load`.
    """
    ex, ey, a, b = x - on.mean_x, y - on.mean_y, on.x - on.mean_x, on.y - on.mean_y
    if on.in_line:
        return np.asarray(total * G * (1.0 / len(a) + (ex * a + ey * b) / (on.axx + on.ayy)))
    each = {"m": total, "g": G, "n": float(len(a)), "ex": ex, "ey": ey}
    sums = {"axx": on.axx, "ayy": on.ayy, "axy": on.axy}
    return np.array([wheel_load(a=p, b=q, **each, **sums) for p, q in zip(a, b, strict=True)])


def loads_with_spread(state: State, wheels: tuple[Wheel, ...]) -> tuple[Array, Array, Array]:
    """Each wheel's load, N, the covariance of the loads, and each u of load over mean load.

    The covariance of total, x and y counts, and so do the spreads of the wheels' places, taken as
    uncorrelated with them (which overstates the spread of a weighed vehicle).
    """
    n = len(wheels)
    at = np.concatenate(
        (
            [state.total, state.cg[0], state.cg[1]],
            [w.x.si for w in wheels],
            [w.y.si for w in wheels],
        )
    )
    covariance = np.zeros((3 + 2 * n, 3 + 2 * n))
    covariance[:3, :3] = state.covariance[:3, :3]
    places = [w.x.standard_uncertainty for w in wheels] + [w.y.standard_uncertainty for w in wheels]
    covariance[3:, 3:] = np.diag(np.square(places))

    def each(v: Array) -> Array:
        return loads(v[0], v[1], v[2], footing(v[3 : 3 + n], v[3 + n :]))

    def shares(v: Array) -> Array:
        return np.asarray(each(v) * n / (v[0] * G))

    of_loads, of_shares = sensitivities(each, at), sensitivities(shares, at)
    spread = np.diag(of_shares.T @ covariance @ of_shares)
    return each(at), of_loads.T @ covariance @ of_loads, np.sqrt(np.maximum(spread, 0.0))


def sum_of(picked: list[bool], values: Array, covariance: Array) -> tuple[float, float]:
    """The sum of the picked loads and its standard uncertainty."""
    pick = np.asarray(picked, dtype=float)
    return float(pick @ values), float(np.sqrt(max(pick @ covariance @ pick, 0.0)))
