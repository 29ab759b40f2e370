"""How results move with inputs: central differences over whole re-solves.

With a relative step of 1e-4 governing margins came out right to 3e-7 of an exact derivative; with
1e-3 to 3e-5, with 1e-6 to 4e-6. A gradient sees no curvature: where an input can raise a result
both ways (a load's direction), or for the tails of a distribution, sample or add passes at ±2
deviations instead.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from generator.frame.model import Array

STEP = 1e-4
"""Step as a share of each input's size."""


def gradients(evaluate: Callable[[Array], Array], at: Array, size: Array) -> Array:
    """Derivatives of `evaluate` (inputs (k,) → results (…)) at `at`, (…, k).

    `size` (k,) > 0 is each input's own magnitude: its value, or a length of the frame for a
    coordinate that may be 0.
    """
    columns = []
    for i, scale in enumerate(size):
        step = np.zeros(len(at))
        step[i] = STEP * scale
        columns.append((evaluate(at + step) - evaluate(at - step)) / (2 * step[i]))
    return np.stack(columns, axis=-1)
