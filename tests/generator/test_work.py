"""Worked steps: what is recorded is what ran."""

from __future__ import annotations

import numpy as np
import pytest

from buildspec.quantities import Quantity
from generator.formulas.formula import Formula, Symbol, formula
from generator.formulas.margin import margin_of_safety
from generator.vocabulary import Argument, Result
from generator.work import as_result, work

CALLS: list[dict[str, float]] = []


def _force(*, m: float, a: float) -> float:
    """Force that gives a mass an acceleration."""
    CALLS.append({"m": m, "a": a})
    return m * a


FORCE = Formula(
    "toy.force",
    "F = m a",
    {
        "m": Symbol("m", "mass", "mass", least=0.0, most=100.0),
        "a": Symbol("a", "acceleration", "acceleration", most=50.0),
    },
    Symbol("F", "force", "force"),
    "Newton's second law",
    _force,
)


def _total(*, m: np.ndarray) -> float:
    """Sum of masses."""
    return float(m.sum())


TOTAL = Formula(
    "toy.total",
    r"M = \sum_{i}{m_i}",
    {"m": Symbol("m_i", "mass", "masses", least=0.0, each=True)},
    Symbol("M", "mass", "total"),
    "definition",
    _total,
)

MASS = Quantity(id="car.mass", si=10.0, kind="mass", written="10 kg", unit="kg")


def test_a_step_keeps_the_value_of_the_one_call_it_made() -> None:
    CALLS.clear()
    step = work(FORCE, "car.force", "Force", "by hand", m=MASS, a=2.5)
    assert CALLS == [{"m": 10.0, "a": 2.5}]
    assert (step.value, step.id, step.title, step.note, step.outside) == (
        25.0,
        "car.force",
        "Force",
        "by hand",
        (),
    )
    assert step.formula is FORCE


def test_arguments_carry_the_id_of_the_quantity_or_result_they_came_from() -> None:
    pull = Result("car.pull", "Pull", 3.0, "acceleration")
    step = work(FORCE, "car.force", "Force", m=MASS, a=pull)
    assert step.arguments == (Argument("m", (10.0,), "car.mass"), Argument("a", (3.0,), "car.pull"))
    assert work(FORCE, "x", "x", m=1.0, a=2.0).arguments[0] == Argument("m", (1.0,), "")


def test_an_array_is_recorded_whole() -> None:
    step = work(TOTAL, "car.total", "Total", m=np.array([1.0, 2.0, 4.0]))
    assert step.value == 7.0
    assert step.arguments == (Argument("m", (1.0, 2.0, 4.0), "", scalar=False),)


@pytest.mark.parametrize(
    ("m", "a", "outside"),
    [(100.0, 50.0, ()), (0.0, -1e9, ()), (100.0001, 1.0, ("m",)), (-0.0001, 51.0, ("m", "a"))],
)
def test_what_leaves_its_range_is_named_and_the_value_stays(
    m: float, a: float, outside: tuple[str, ...]
) -> None:
    step = work(FORCE, "car.force", "Force", m=m, a=a)
    assert (step.outside, step.value) == (outside, m * a)


def test_one_member_of_an_array_out_of_range_is_enough() -> None:
    assert work(TOTAL, "t", "t", m=np.array([1.0, -1.0])).outside == ("m",)


def test_an_absent_result_is_refused_with_its_reason() -> None:
    lacking = Result("car.pull", "Pull", None, "acceleration", absent="nobody measured it")
    with pytest.raises(ValueError, match=r"car\.pull is absent: nobody measured it"):
        work(FORCE, "car.force", "Force", m=1.0, a=lacking)


def test_a_step_becomes_a_result_of_its_formulas_kind() -> None:
    found = as_result(work(FORCE, "car.force", "Force", m=MASS, a=2.0), 0.5, ["car.mass"])
    assert found == Result("car.force", "Force", 20.0, "force", 0.5, inputs=("car.mass",))


def test_a_formula_for_any_kind_takes_the_kind_it_is_used_for_and_leaves_ratios() -> None:
    step = work(
        margin_of_safety.of("time"),
        "egress.margin",
        "Margin",
        capacity=20.0,
        factor=1.25,
        demand=12.8,
    )
    assert step.value == pytest.approx(0.25, rel=1e-12)  # 20 / (1.25 · 12.8) − 1 by hand
    kinds = {name: s.kind for name, s in step.formula.symbols.items()}
    assert kinds == {"capacity": "time", "factor": "ratio", "demand": "time"}
    assert step.formula.result.kind == "ratio"


def test_a_formula_names_its_symbols_as_its_function_names_its_parameters() -> None:
    with pytest.raises(TypeError, match="parameters and symbols differ"):
        formula(
            equation="F = m a",
            result=Symbol("F", "force", "force"),
            source="-",
            m=Symbol("m", "mass", "mass"),
        )(_force)
