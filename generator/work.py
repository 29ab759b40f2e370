"""Doing one step of a calculation so that it can be shown: the recorded call of a formula."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from buildspec.quantities import Quantity
from generator.formulas.formula import Formula
from generator.vocabulary import Argument, Result, WorkedStep

Given = float | Quantity | Result | NDArray[np.float64]


def work(
    formula: Formula[..., float], step_id: str, title: str, note: str = "", **given: Given
) -> WorkedStep:
    """Call `formula` and keep the call: equation, arguments with their ids, value, range.

    Arguments are SI floats, arrays, quantities of the description or earlier results (whose
    `value` must not be None). The step's `value` is the formula's own return value.
    """
    arguments = tuple(_argument(name, value) for name, value in given.items())
    value = formula(**{name: _number(v) for name, v in given.items()})
    outside = formula.outside({a.name: a.values for a in arguments})
    return WorkedStep(step_id, title, formula, arguments, float(value), note, outside)


def as_result(step: WorkedStep, uncertainty: float = 0.0, inputs: Iterable[str] = ()) -> Result:
    """The result of a worked step, under the step's id and title."""
    return Result(
        step.id, step.title, step.value, step.formula.result.kind, uncertainty, inputs=tuple(inputs)
    )


def _number(value: Given) -> float | NDArray[np.float64]:
    if isinstance(value, Quantity):
        return value.si
    if isinstance(value, Result):
        if value.value is None:
            raise ValueError(f"{value.id} is absent: {value.absent}")
        return value.value
    return value


def _argument(name: str, value: Given) -> Argument:
    number = _number(value)
    ref = value.id if isinstance(value, Quantity | Result) else ""
    if isinstance(number, np.ndarray):
        return Argument(name, tuple(float(n) for n in number), ref, scalar=False)
    return Argument(name, (float(number),), ref)
