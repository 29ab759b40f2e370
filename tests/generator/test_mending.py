"""What would mend a check that falls short: the figures by hand, and no limit offered for change."""

from __future__ import annotations

import dataclasses

import pytest

from buildspec.build import Build
from buildspec.quantities import Quantity
from generator.checks import make_check
from generator.mending import mending
from generator.vocabulary import Check, Result
from tests.generator import scene

NOTHING = Build({}, {}, {}, "0" * 64)


def time(name: str, value: float | None) -> Result:
    return Result(f"toy.{name}", name, value, "time")


def check(demand: float, capacity: float, factor: float = 1.0, **more: object) -> Check:
    made = make_check(
        "toy.check.a",
        "Roof up: out in time",
        demand=time("Roof up: exit", demand),
        capacity=time("suit", capacity),
        factor=factor,
    )
    return dataclasses.replace(made, **more)  # type: ignore[arg-type]


def test_the_figures_are_those_that_leave_no_margin_and_no_lack() -> None:
    # 1.25 x 25 s = 31.25 s asked of the suit; 20 s / 1.25 = 16 s left for the exit
    assert mending(check(25.0, 20.0, 1.25), NOTHING) == (
        "it would hold with “exit” at 16.00 s or less (now 25.00 s) or “suit” at 31.25 s or more "
        "(now 20.00 s), the factor of 1.25 counted"
    )


def test_a_builders_way_stands_before_the_figures_and_what_is_fixed_has_none() -> None:
    said = mending(check(25.0, 20.0, ways="drill it", fixed="capacity"), NOTHING)
    assert said == "drill it; it would hold with “exit” at 20.00 s or less (now 25.00 s)"
    said = mending(check(25.0, 20.0, fixed="demand"), NOTHING)
    assert said == "it would hold with “suit” at 25.00 s or more (now 20.00 s)"


def stated(name: str) -> Build:
    one = scene.quantity(name, "20 s", "time", stated=True)
    return Build({}, {name: one}, {}, "0" * 64)


@pytest.mark.parametrize(
    ("decided", "offered"), [("toy.suit", "exit"), ("toy.Roof up: exit", "suit")]
)
def test_a_limit_or_target_that_somebody_stated_is_not_offered(decided: str, offered: str) -> None:
    said = mending(check(25.0, 20.0), stated(decided))
    assert said.count("“") == 1
    assert f"“{offered}”" in said


def test_a_value_of_the_description_that_is_no_decision_may_be_changed() -> None:
    one: Quantity = scene.quantity("toy.suit", "20 s", "time")
    said = mending(check(25.0, 20.0), Build({}, {"toy.suit": one}, {}, "0" * 64))
    assert said.count("“") == 2


def test_a_figure_is_rounded_to_the_side_on_which_the_check_holds() -> None:
    # 20 / 1.03 = 19.4175: 19.42 would fall short; 25 x 1.23456 = 30.864: 30.86 would too
    assert "“exit” at 19.41 s or less" in mending(check(25.0, 20.0, 1.03), NOTHING)
    assert "“suit” at 30.88 s or more" in mending(check(25.0, 20.0, 1.23456), NOTHING)
    # 20 / 1.3 = 15.3846 and 25 x 1.1111 = 27.7775 round to the good side by themselves
    assert "“exit” at 15.38 s or less" in mending(check(25.0, 20.0, 1.3), NOTHING)
    assert "“suit” at 27.78 s or more" in mending(check(25.0, 20.0, 1.1111), NOTHING)


def test_nothing_can_be_brought_below_a_capacity_of_none() -> None:
    assert mending(check(25.0, 0.0), NOTHING) == (
        "it would hold with “suit” at 25.00 s or more (now 0 s)"
    )


def test_a_negative_demand_counts_as_it_is_for_then_the_factor_has_no_part() -> None:
    short = make_check(
        "toy.check.a", "A", demand=time("pull", -2.0), capacity=time("hold", -3.0),
        factor=2.0, signed=True,
    )  # fmt: skip
    assert short.verdict == "short"
    assert "“hold” at −2.000 s or more (now −3.000 s)" in mending(short, NOTHING)


def test_without_a_value_there_are_words_and_no_figures() -> None:
    lacking = dataclasses.replace(check(25.0, 20.0), demand=time("exit", None))
    assert mending(lacking, NOTHING) == "less of what is demanded, or more that holds it"
    assert mending(dataclasses.replace(lacking, ways="weigh it"), NOTHING) == "weigh it"
