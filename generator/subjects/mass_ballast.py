"""The least ballast that brings the design condition inside its limits: two small linear programs.

The centre of gravity after ballast is (S + Σ bₖxₖ)/(M + Σ bₖ), so that every limit on it is linear
in the ballast. Where no ballast meets all limits, the greatest excess is made as small as the
places allow; divided through by the new total that is linear too (Charnes and Cooper, 1962; from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.simplex import least_cost

Array = NDArray[np.float64]
AT_LIMIT = 1e-9
"""An excess (m) or a mass (kg) below this is rounding."""
MET = 1e-6
"""A limit counts as met by an answer of the solver that is this close, m."""


@dataclass(frozen=True, slots=True)
class Bound:
    """One limit on the centre of gravity: the greatest (`sign` 1) or the least (−1) coordinate, m,
    along `axis` 0, 1 or 2.
    """

    words: str
    axis: int
    sign: int
    limit: float

    def excess(self, cg: Array) -> float:
        """How far a centre of gravity is outside, m; negative inside."""
        return float(self.sign * (cg[self.axis] - self.limit))


@dataclass(frozen=True, eq=False)
class Problem:
    """The vehicle as it is (`total` > 0 in kg, `cg` in m), k places (k × 3, m) with the `most` that
    each takes (kg), the bounds on the centre of gravity, and the greatest total, if there is one.
    """

    total: float
    cg: Array
    places: Array
    most: Array
    bounds: tuple[Bound, ...]
    most_total: float | None = None

    @property
    def room(self) -> float | None:
        """The ballast that the greatest total leaves; None where it sets none, or is passed
        already.
        """
        spare = None if self.most_total is None else self.most_total - self.total
        return None if spare is None or spare < 0.0 else spare


@dataclass(frozen=True, eq=False)
class Answer:
    """Ballast at each place, kg, and what comes of it.

    `excess` is the greatest distance outside a limit, m, at or below 0 inside; `worst` names that
    limit. `over` is how far the total is above its limit, kg. `needed` is False where nothing had
    to be added.
    """

    masses: Array
    total: float
    cg: Array
    needed: bool
    excess: float
    worst: str
    over: float

    @property
    def reached(self) -> bool:
        """Whether every limit is met."""
        return self.excess <= MET and self.over == 0.0


def least_ballast(problem: Problem) -> Answer:
    """The least total ballast that meets every bound, or the ballast that comes closest.

    Ballast can only add: a total already above its greatest stays above.
    """
    now = _answer(problem, np.zeros(len(problem.most)), needed=False)
    if now.excess <= AT_LIMIT or not problem.bounds:
        return now
    found = _least(problem)
    return _answer(problem, _closest(problem) if found is None else found, needed=True)


def _answer(problem: Problem, masses: Array, *, needed: bool) -> Answer:
    after = problem.total + float(np.sum(masses))
    at = (problem.total * problem.cg + masses @ problem.places) / after
    excess, worst = max([(b.excess(at), b.words) for b in problem.bounds] or [(0.0, "")])
    over = 0.0 if problem.most_total is None else after - problem.most_total
    return Answer(masses, after, at, needed, excess, worst, over if over > AT_LIMIT else 0.0)


def _least(problem: Problem) -> Array | None:
    """Minimise Σ b with every bound met: Σ b·s(x − limit) ≤ −M·excess. None where impossible."""
    count = len(problem.most)
    rows = [b.sign * (problem.places[:, b.axis] - b.limit) for b in problem.bounds]
    right = [-problem.total * b.excess(problem.cg) for b in problem.bounds]
    if problem.room is not None:
        rows, right = [*rows, np.ones(count)], [*right, problem.room]
    found = least_cost(
        np.ones(count), np.vstack([*rows, np.eye(count)]), np.array([*right, *problem.most])
    )
    return None if found is None else np.clip(found, 0.0, problem.most)


def _closest(problem: Problem) -> Array:
    """Minimise the greatest excess t ≥ 0, with the shares yₖ = bₖ/(M + Σb) of the new total as unknowns.

    What was there has the share 1 − Σy, so that bₖ ≤ most means yₖ ≤ (1 − Σy)·most/M.
    """
    m, most, count = problem.total, problem.most, len(problem.most)
    moved = [
        [*(b.sign * (problem.places[:, b.axis] - problem.cg[b.axis])), -1.0] for b in problem.bounds
    ]
    filled = np.column_stack([np.eye(count) + most[:, None] / m, np.zeros(count)])
    right = [*(-b.excess(problem.cg) for b in problem.bounds), *most / m]
    if problem.room is not None:
        moved, right = [[*np.ones(count), 0.0], *moved], [problem.room / (m + problem.room), *right]
    found = least_cost(
        np.array([*np.zeros(count), 1.0]), np.vstack([*moved, filled]), np.array(right)
    )
    if found is None:  # cannot be: no ballast at all and a great t satisfy every row
        return np.zeros(count)
    shares = found[:count]
    least_rest = m / (
        m + float(np.sum(most))
    )  # where every place is full; only rounding is below it
    rest = max(1.0 - float(np.sum(shares)), least_rest)
    return np.clip(m * shares / rest, 0.0, most)
