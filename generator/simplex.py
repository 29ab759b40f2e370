"""The least cost of a small linear program whose costs are not negative: the dual simplex method.

Lemke's method (The dual method of solving the linear programming problem, 1954; from memory) in
the condensed table of Tucker, with Bland's rule of the smallest index, under which it cannot go
round in circles. With no negative cost, "nothing at all" is the cheapest start, and every step mends
one row that is not met yet; so there is no first phase, and no answer without end. A dozen unknowns take
a millisecond; a library's solver takes half a second to import.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
ROUNDING = 1e-11
"""Below this share of a row's greatest number, a number is rounding."""
STEPS_PER_NAME = 50
"""More steps than this for each unknown and row are a fault; a few are usual for all of them."""


def least_cost(costs: Array, rows: Array, limits: Array) -> Array | None:
    """The x ≥ 0 with rows·x ≤ limits and the least costs·x; None where no x meets every row.

    `costs` (n) are finite and not negative, `rows` m × n, `limits` m long. Rows may be of any size:
    each is measured by its own greatest number. ArithmeticError where rounding lets it find no end.
    """
    m, n = rows.shape
    table = _table(costs, rows, limits)
    basic, other = np.arange(n, n + m), np.arange(n)
    for _ in range(STEPS_PER_NAME * (m + n)):
        row = _unmet(table, basic)
        if row is None:
            return _answer(table, basic, n)
        column = _cheapest(table, row, other)
        if column is None:
            return None
        _exchange(table, row, column)
        basic[row], other[column] = other[column], basic[row]
    raise ArithmeticError("the linear program found no end")


def _table(costs: Array, rows: Array, limits: Array) -> Array:
    """One row for each limit, s = limit − rows·x, divided by its greatest number; the costs last."""
    above = np.column_stack([rows, limits])
    sizes = np.max(np.abs(above), axis=1, initial=0.0)
    above = above / np.where(sizes > 0.0, sizes, 1.0)[:, None]
    return np.vstack([above, [*costs, 0.0]])


def _unmet(table: Array, basic: NDArray[np.intp]) -> int | None:
    """The row to mend: of those below 0 the one whose unknown comes first."""
    below = np.flatnonzero(table[:-1, -1] < -ROUNDING)
    return int(below[np.argmin(basic[below])]) if below.size else None


def _cheapest(table: Array, row: int, other: NDArray[np.intp]) -> int | None:
    """The unknown that mends the row at the least cost for each unit; of equals the first.

    None: whatever is added, the row gets no better.
    """
    helps = np.flatnonzero(table[row, :-1] < -ROUNDING)
    if not helps.size:
        return None
    prices = table[-1, helps] / -table[row, helps]
    equal = helps[prices <= prices.min() * (1.0 + ROUNDING) + ROUNDING]
    return int(equal[np.argmin(other[equal])])


def _exchange(table: Array, row: int, column: int) -> None:
    """The row's unknown and the column's change places, in place."""
    pivot, by = table[row, column], table[:, column].copy()
    across = table[row] / pivot
    table -= np.outer(by, across)
    table[row] = across
    table[:, column] = -by / pivot
    table[row, column] = 1.0 / pivot


def _answer(table: Array, basic: NDArray[np.intp], n: int) -> Array:
    every = np.zeros(len(basic) + n)
    every[basic] = table[:-1, -1]
    return np.maximum(every[:n], 0.0)
