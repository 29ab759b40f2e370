"""Which checks come first, which are in doubt, and what a page says of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from buildspec.quantities import Quantity
from generator.checks import make_check
from generator.ranking import Stating, doubtful, foremost, ranked, stating
from generator.report import margin_text
from generator.templates import Words, doubtful_chance, in_doubt, margin
from generator.vocabulary import Check, Result
from tests.generator import scene


def _check(name: str, capacity: float | None, spread: float = 0.0) -> Check:
    return make_check(
        f"mass.check.{name}",
        name,
        demand=Result("mass.demand", "demand", 1.0, "ratio"),
        capacity=Result("mass.capacity", "capacity", capacity, "ratio", spread, absent="unknown"),
    )


def test_short_then_open_then_the_least_margin_first() -> None:
    given = [_check("far", 3.0), _check("open", None), _check("near", 1.1), _check("short", 0.5)]
    assert [c.title for c in ranked(given)] == ["short", "open", "near", "far"]


@pytest.mark.parametrize(
    ("capacity", "doubted"),
    [(1.019, True), (1.021, False), (0.981, True), (0.979, False)],  # 2 · 0.01 to either side
)
def test_doubt_reaches_two_standard_uncertainties_to_either_side(
    capacity: float, doubted: bool
) -> None:
    check = _check("near", capacity, 0.01)
    assert doubtful(check) is doubted
    assert ("chance of falling short" in doubtful_chance(check)) is doubted


def test_a_vast_margin_prints_no_digits() -> None:
    assert margin_text(_check("vast", 12.0)) == "over +1,000 %"
    assert margin(_check("vast", 12.0)).striptags() == "over +1,000 %"
    assert margin_text(_check("large", 10.9)) == "990 %"


def test_what_stands_between_backticks_is_code_and_all_else_is_text() -> None:
    said = Words(scene.build(), {}).said
    text = said("state `closes_beyond` <b>*now*</b> `<i>`")
    assert "<code>closes_beyond</code>" in text
    assert "<b>" not in text
    assert "<i>" not in text
    assert "*" not in text
    assert "`" not in said("one ` alone")


def test_a_margin_has_four_figures_at_the_most_however_small_its_spread_claims_to_be() -> None:
    assert margin_text(_check("near", 1.174153, 0.00097)) == "17.42 ± 0.10 %"
    assert margin_text(_check("near", 1.174153, 0.017)) == "17.4 ± 1.7 %"
    assert margin_text(_check("near", 1.174153)) == "17.4 %"
    assert margin_text(_check("short", 0.999688, 0.00001)) == "−0.0312 ± 0.0010 %"


def _value(name: str, half_width: float, *, stated: bool = False) -> Quantity:
    return Quantity(name, 1.0, "ratio", "1", "", half_width, stated=stated)


def test_a_spread_that_some_values_lack_is_said_to_lack_them() -> None:
    values = {
        q.id: q for q in (*map(_value, "abc", (0.1, 0.0, 0.0)), _value("limit", 0.0, stated=True))
    }
    check = replace(_check("near", 1.1, 0.05), inputs=("a", "b", "c", "limit"))
    assert stating(check, values) == Stating(1, 3)  # a limit is a decision, and has no spread
    assert stating(replace(check, inputs=("a", "b")), values) is None  # half of them do
    bare = replace(check, margin_uncertainty=0.0, probability_short=None, inputs=("b",))
    assert stating(bare, values) == Stating(0, 1)
    assert stating(replace(bare, probability_short=0.2), values) is None  # from samples of its own


def test_an_exit_that_is_short_at_a_chance_of_a_few_per_cent_says_what_that_chance_is() -> None:
    """The 95th percentile is short already where one sample in thirteen takes too long."""
    exit_ = replace(_check("exit", 0.985), kind="time", probability_short=0.078)
    assert in_doubt(exit_).striptags() == "too long in 7.8 % of samples"
    drilled = replace(exit_, demand=replace(exit_.demand, standard_uncertainty=0.2))
    assert in_doubt(drilled).striptags() == "chance of falling short 7.8 %"


@pytest.mark.parametrize(
    ("short", "holding", "folded"),
    [(0, 13, 0), (0, 14, 4), (3, 10, 0), (3, 12, 5), (30, 6, 0), (30, 9, 5)],
)
def test_only_checks_that_hold_are_folded_away_and_never_a_few(
    short: int, holding: int, folded: int
) -> None:
    given = [_check(f"s{n}", 0.5 + n / 100) for n in range(short)]
    given += [_check(f"h{n}", 1.5 + n / 100) for n in range(holding)]
    told = foremost(ranked(given))
    assert (*told.first, *told.others) == ranked(given)
    assert {c.verdict for c in told.others} <= {"holds"}
    assert len(told.others) == folded
