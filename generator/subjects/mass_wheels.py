"""Axles and wheel loads of a vehicle at rest on level ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from buildspec.sections.wheels import Wheel
from generator.formulas.mass import wheel_load
from generator.formulas.uncertainty import sensitivities
from generator.subjects.mass_loading import Change, State

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


@dataclass(frozen=True, eq=False)
class OnScales:
    """What the scales showed under each wheel by itself, N, in the order of the wheels.

    `readings` are the ids of the readings behind them, `common` that of the scales' common error.
    """

    loads: Array
    covariance: Array
    readings: tuple[str, ...]
    common: tuple[str, ...]


def loads_with_spread(state: State, wheels: tuple[Wheel, ...]) -> tuple[Array, Array]:
    """Each wheel's load, N, and the covariance of the loads.

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

    of_loads = sensitivities(each, at)
    return each(at), of_loads.T @ covariance @ of_loads


def loads_from_scales(
    shown: OnScales, base: State, state: State, change: Change, wheels: tuple[Wheel, ...]
) -> tuple[Array, Array]:
    """Each wheel's load, N, and the covariance: what its own scale showed, and the change since.

    A chassis on four wheels carries part of its weight across the diagonals, which total and
    centre of gravity do not tell; what was measured of it stays. Only the mass put aboard or taken
    out since is spread over the wheels by `loads`, which is linear in that mass and its moments.
    """
    x, y = np.array([w.x.si for w in wheels]), np.array([w.y.si for w in wheels])
    where = np.concatenate((x, y))
    n = len(wheels)

    def moved(v: Array) -> Array:
        on = footing(v[:n], v[n:])
        after = loads(state.total, float(state.cg[0]), float(state.cg[1]), on)
        return after - loads(base.total, float(base.cg[0]), float(base.cg[1]), on)

    u_places = [w.x.standard_uncertainty for w in wheels] + [
        w.y.standard_uncertainty for w in wheels
    ]
    by_place = sensitivities(moved, where) * np.array(u_places)[:, None]
    on = footing(x, y)
    at_origin = loads(1.0, 0.0, 0.0, on)
    per = np.stack(
        [at_origin, loads(1.0, 1.0, 0.0, on) - at_origin, loads(1.0, 0.0, 1.0, on) - at_origin]
    )
    covariance = shown.covariance + by_place.T @ by_place + per.T @ change.covariance @ per
    return shown.loads + moved(where), covariance


def u_of_shares(load: Array, covariance: Array) -> Array:
    """Standard uncertainty of each load over the mean load."""
    whole = float(load.sum())
    slopes = len(load) * (np.eye(len(load)) - load[:, None] / whole) / whole
    return np.sqrt(np.maximum(np.diag(slopes @ covariance @ slopes.T), 0.0))


def sum_of(picked: list[bool], values: Array, covariance: Array) -> tuple[float, float]:
    """The sum of the picked loads and its standard uncertainty."""
    pick = np.asarray(picked, dtype=float)
    return float(pick @ values), float(np.sqrt(max(pick @ covariance @ pick, 0.0)))
