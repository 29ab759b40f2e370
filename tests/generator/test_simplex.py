"""Small linear programs: ours against HiGHS, the solver behind scipy's `linprog`."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog

from generator.simplex import least_cost

Array = NDArray[np.float64]


def loose(rng: np.random.Generator, m: int, n: int) -> tuple[Array, Array, Array]:
    """Any numbers; without upper bounds, so that some rows run on for ever."""
    return rng.uniform(0, 2, n), rng.normal(size=(m, n)), rng.normal(size=m)


def bounded(rng: np.random.Generator, m: int, n: int) -> tuple[Array, Array, Array]:
    """Equal costs and a most for each unknown, in numbers of very unlike sizes, as of ballast."""
    rows = rng.normal(size=(m, n)) * 10.0 ** rng.integers(-3, 4, size=(m, 1))
    limits = rng.normal(size=m) * np.max(np.abs(rows), axis=1)
    most = rng.uniform(0, 2, n)
    return np.ones(n), np.vstack([rows, np.eye(n)]), np.concatenate([limits, most])


def degenerate(rng: np.random.Generator, m: int, n: int) -> tuple[Array, Array, Array]:
    """Small whole numbers: many zeros, equal rows, equal costs, limits of 0 and corners met many times."""
    rows = rng.integers(-1, 2, size=(m, n)).astype(float)
    limits = rng.integers(-1, 2, size=m).astype(float)
    return rng.integers(0, 2, n).astype(float), np.vstack([rows, rows]), np.tile(limits, 2)


@pytest.mark.parametrize("family", [loose, bounded, degenerate])
def test_the_least_cost_is_that_of_scipy(family: object) -> None:
    """300 programs each, seeded. Both kinds of answer must occur, or the family proves nothing.

    HiGHS meets rows to within 1e-7, so that its cost may be that much off times what a row costs: 1e-6.
    """
    rng = np.random.default_rng(20)
    possible = 0
    for _ in range(300):
        m, n = int(rng.integers(1, 8)), int(rng.integers(1, 9))
        costs, rows, limits = family(rng, m, n)  # type: ignore[operator]
        theirs = linprog(costs, A_ub=rows, b_ub=limits, method="highs")
        ours = least_cost(costs, rows, limits)
        assert theirs.status in (0, 2)  # found, or impossible
        assert (ours is not None) == (theirs.status == 0)
        if ours is not None:
            possible += 1
            assert costs @ ours == pytest.approx(theirs.fun, rel=1e-9, abs=1e-6)
            assert np.all(ours >= 0.0)
            assert np.all(rows @ ours <= limits + 1e-9 * np.max(np.abs(rows), axis=1, initial=1.0))
    assert 30 < possible < 270


def test_nothing_is_the_cheapest_where_nothing_is_asked() -> None:
    found = least_cost(np.array([1.0, 0.0]), np.array([[1.0, 2.0]]), np.array([3.0]))
    assert found is not None
    assert found.tolist() == [0.0, 0.0]


def test_a_row_of_zeros_is_met_or_not() -> None:
    costs, rows = np.ones(2), np.zeros((1, 2))
    assert least_cost(costs, rows, np.array([0.0])) is not None
    assert least_cost(costs, rows, np.array([-1.0])) is None


def test_the_classical_circle_is_left() -> None:
    """Beale's example (1955), on which the rule of the greatest gain goes round for ever; its optimum is −0.05
    (from memory, and by scipy below). Ours solves the dual: its costs are Beale's limits.
    """
    gains = np.array([0.75, -150.0, 0.02, -6.0])
    beale = np.array([[0.25, -60, -0.04, 9], [0.5, -90, -0.02, 3], [0, 0, 1, 0]])
    limits = np.array([0.0, 0.0, 1.0])
    primal = linprog(-gains, A_ub=beale, b_ub=limits, method="highs")
    dual = least_cost(limits, -beale.T, -gains)
    assert dual is not None
    assert limits @ dual == pytest.approx(0.05, rel=1e-12)
    assert -primal.fun == pytest.approx(0.05, rel=1e-9)
