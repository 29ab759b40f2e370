"""The subject egress: verdicts, what decides them, what is said about them."""

from __future__ import annotations

import dataclasses
import datetime
import json
import math
import random

import jsonschema
import numpy as np
import pytest
from scipy import stats

from buildspec.build import Build
from buildspec.quantities import Quantity
from buildspec.sections.egress import Scenario
from generator.charts.egress import charts
from generator.results import as_data, as_text, schema
from generator.subjects.egress import SUBJECT
from generator.subjects.subject import Given
from generator.vocabulary import Outcome, Result
from tests.generator.subjects.egress_builds import (
    CHAIN,
    DAY,
    FORK,
    UPRIGHT,
    act,
    build,
    change,
    check,
    drill,
    evaluated,
    found,
    limits,
)

LIMITS = limits("20", "18", ("1.1", "1.25"))


def cautions(made: Build) -> list[str]:
    return [c.text for c in evaluated(made).cautions if not c.hazard]


def open_items(made: Build, kind: str = "measurement") -> list[str]:
    return [i.text for i in evaluated(made).open_items if i.kind == kind]


# -------------------------------------------------------------------------------- verdicts


def test_a_build_without_egress_has_no_outcome() -> None:
    assert SUBJECT.evaluate(Build({}, {}, {}, ""), Given(DAY)) is None


def test_every_scenario_has_its_two_checks() -> None:
    two = (UPRIGHT, Scenario(id="on_side", title="On its side"))
    ids = [c.id for c in evaluated(build(*CHAIN, scenarios=two, limits=LIMITS)).checks]
    assert ids == [
        f"egress.check.{s}.{w}"
        for s in ("upright", "on_side")
        for w in ("required_time", "protective_time")
    ]


def test_the_budgets_95th_percentile_is_the_demand_without_drills() -> None:
    """One activity with durations 1, 2, 9: scipy's percentile of its beta distribution."""
    made = build(act("out", "1 2 9"), limits=limits("10", factors=("1.25", "1")))
    one, p95 = check(made), found(made).results["p95"]
    assert (one.demand.value, one.margin_uncertainty) == (p95.value, 0.0)
    exact = 1.0 + 8.0 * stats.beta(1.5, 4.5).ppf(0.95)
    assert one.demand.id == "egress.scenario.upright.p95"
    assert one.demand.value == pytest.approx(exact, abs=5 * p95.standard_uncertainty)
    # Standard error of a sampled percentile from its density, common practice.
    density = stats.beta(1.5, 4.5).pdf((exact - 1) / 8) / 8
    error = math.sqrt(0.95 * 0.05 / 10_000) / density
    assert p95.standard_uncertainty == pytest.approx(error, rel=0.25)
    assert one.margin == pytest.approx(10.0 / (1.25 * one.demand.value) - 1.0, rel=1e-12)
    assert one.basis_of_verdict == (
        "the budget decides, by the 95th percentile: one exit in twenty may take longer"
    )


@pytest.mark.parametrize(("limit", "verdict"), [("8.9", "short"), ("9", "holds"), ("9.1", "holds")])
def test_a_budget_without_spread_is_a_sum(limit: str, verdict: str) -> None:
    made = build(
        act("stop", "2"),
        act("belts", "3", "stop"),
        act("out", "4 4 4", "belts"),
        limits=limits(limit),
    )
    one = check(made)
    assert (one.demand.value, one.demand.standard_uncertainty, one.verdict) == (9.0, 0.0, verdict)
    assert "required_time.score" not in found(made).results  # no spread: no distance in deviations


def test_the_uncertainty_of_the_limit_reaches_the_margin() -> None:
    made = build(act("out", "10"), limits=limits(protective="20", spread="1"))
    one = check(made, "protective_time")
    # 20/10 − 1, and u(20 ± 1 rectangular) / 10 by hand
    assert one.margin == 1.0
    assert one.margin_uncertainty == pytest.approx(1 / math.sqrt(3) / 10, rel=1e-12)


@pytest.mark.parametrize("stated", [None, limits()])
def test_without_a_limit_the_checks_are_open_and_say_why(stated: object) -> None:
    found_checks = evaluated(build(*CHAIN, limits=stated)).checks
    assert [(c.verdict, c.margin, c.reason) for c in found_checks] == [
        ("open", None, "no required time is stated"),
        ("open", None, "no protective time is stated"),
    ]


def test_a_protective_time_that_nobody_rated_is_an_assumption() -> None:
    def said(basis: str) -> list[str]:
        made = build(*CHAIN, limits=limits(protective="18", basis=basis))
        return [a.id for a in evaluated(made).assumptions if "protective" in a.id]

    assert said("rated") == said("measured") == []
    assert said("estimated") == said("calculated") == ["egress.assumption.protective_time"]
    assert said("assumed") == ["egress.limits.protective_time"]


def test_described_equipment_takes_the_place_of_a_stated_protective_time() -> None:
    """The exit takes 10 s; the equipment gives 14 ± 0.5 s where 99 s are stated; factor 1.25."""
    made = build(act("out", "10"), limits=limits(protective="99", factors=("1", "1.25")))
    worn = Result("gear.protective_time", "Weakest part", 14.0, "time", 0.5, inputs=("gear.suit",))
    outcome = SUBJECT.evaluate(made, Given(DAY, {"gear": Outcome("gear", results=(worn,))}))
    assert outcome is not None
    one = outcome.checks[1]
    assert one.margin == pytest.approx(14 / 12.5 - 1, rel=1e-12)
    assert one.margin_uncertainty == pytest.approx(0.5 / 12.5, rel=1e-12)
    assert "gear.suit" in one.inputs
    assert "egress.limits.protective_time" not in one.inputs
    assert [c.id for c in outcome.cautions if not c.hazard] == ["egress.protective_time.unused"]
    ids = [r.id for r in outcome.results]
    assert len(set(ids)) == len(ids)


def test_a_factor_that_nobody_stated_is_an_assumption() -> None:
    worn = Result("gear.protective_time", "Weakest part", 14.0, "time")
    outcome = SUBJECT.evaluate(
        build(act("out", "10")), Given(DAY, {"gear": Outcome("gear", results=(worn,))})
    )
    assert outcome is not None
    assert outcome.checks[1].margin == pytest.approx(0.4)
    assert "egress.assumption.protective_time_factor" in [a.id for a in outcome.assumptions]
    assert "egress.assumption.required_time_factor" not in [a.id for a in outcome.assumptions]


def test_equipment_whose_time_is_unknown_leaves_the_check_open_whatever_was_stated_before() -> None:
    made = build(act("out", "10"), limits=limits(protective="99"))
    unknown = Result("gear.protective_time", "Weakest part", None, "time", absent="no rating")
    outcome = SUBJECT.evaluate(made, Given(DAY, {"gear": Outcome("gear", results=(unknown,))}))
    assert outcome is not None
    assert outcome.checks[1].verdict == "open"
    assert "no rating" in outcome.checks[1].reason


def test_a_limits_own_source_stands_with_the_check() -> None:
    made = build(*CHAIN, limits=limits(protective="18", source="label in the suit"))
    assert "label in the suit" in check(made, "protective_time").sources


# ---------------------------------------------------------------------------------- drills


def test_three_drills_decide_by_the_bound_of_the_next_one() -> None:
    """14, 15 and 16 s: mean 15, deviation 1, t(0.95, 2) = 2.920 from the table; by hand."""
    made = build(*CHAIN, limits=LIMITS, drills=tuple(drill(n, str(13 + n)) for n in (1, 2, 3)))
    one = check(made)
    assert one.demand.id == "egress.scenario.upright.drill_bound"
    assert one.demand.value == pytest.approx(15 + 2.920 * math.sqrt(4 / 3), abs=6e-4)
    assert one.margin == pytest.approx(20 / (1.1 * 18.3717) - 1, abs=1e-4)
    assert one.basis_of_verdict.startswith("the drills decide")
    assert open_items(made) == []


def test_the_accuracy_of_the_stopwatch_is_the_bounds_uncertainty() -> None:
    made = build(*CHAIN, drills=tuple(drill(n, "15", spread="0.3") for n in (1, 2, 3)))
    # equal drills leave the mean's part alone: 0.3/√3 (rectangular) over √3
    assert check(made).demand.standard_uncertainty == pytest.approx(0.1, rel=1e-9)


@pytest.mark.parametrize(
    ("n", "words"),
    [
        (0, "Upright: 3 more timed drills are missing (recorded as belted and suited: 0)"),
        (1, "Upright: 2 more timed drills are missing (recorded as belted and suited: 1)"),
        (2, "Upright: 1 more timed drill is missing (recorded as belted and suited: 2)"),
    ],
)
def test_fewer_than_three_leave_the_budget_to_decide_and_are_an_open_item(
    n: int, words: str
) -> None:
    made = build(*CHAIN, limits=LIMITS, drills=tuple(drill(k, "7") for k in range(1, n + 1)))
    assert check(made).demand.id == "egress.scenario.upright.p95"
    assert open_items(made) == [words]


def test_a_drill_longer_than_the_budget_decides_where_there_are_too_few_to_bound() -> None:
    """An exit that took 23 s is not argued away by a budget of about 8 s (common sense of the trade)."""
    made = build(*CHAIN, limits=LIMITS, drills=(drill(1, "23", spread="0.3"), drill(2, "7")))
    one = check(made)
    assert one.demand.id == "egress.scenario.upright.longest_drill"
    assert one.demand.value == pytest.approx(23.0)
    assert one.verdict == "short"  # against 20 s
    assert one.basis_of_verdict.startswith("the longest drill decides")
    assert "egress.drills.drill_1.total" in one.inputs


def test_a_drill_within_the_budget_leaves_the_decision_to_the_budget() -> None:
    made = build(*CHAIN, limits=LIMITS, drills=(drill(1, "0.5"),))
    assert check(made).demand.id == "egress.scenario.upright.p95"


def test_drills_count_in_their_own_scenario_only() -> None:
    two = (UPRIGHT, Scenario(id="on_side", title="On its side"))
    made = build(
        *CHAIN,
        scenarios=two,
        limits=LIMITS,
        drills=(drill(1, "7"), drill(2, "7"), drill(3, "7"), drill(4, "9", "on_side")),
    )
    assert check(made).demand.id.endswith("drill_bound")
    assert check(made, scenario="on_side").demand.id.endswith("p95")


def test_single_times_that_are_complete_go_through_the_network() -> None:
    """2 + the longer of 3 and 4 + 1: by hand."""
    times = {"stop": "2", "belts": "3", "canopy": "4", "out": "1"}
    made = build(*FORK, drills=(drill(1, times=times),))
    only = found(made).drills[0]
    assert (only.time, only.refused) == (7.0, "")
    assert set(only.inputs) == {f"egress.drills.drill_1.times.{a}" for a in times}


def test_single_times_that_leave_something_out_do_not_count() -> None:
    made = build(
        *FORK,
        act("wave", "0", "out"),
        limits=LIMITS,
        drills=(drill(1, times={"stop": "2", "belts": "3"}), drill(2, "9"), drill(3, "9")),
    )
    only = found(made).drills[0]
    assert only.time is None
    assert only.refused == "no total, and no time of canopy, out"
    assert check(made).demand.id.endswith("p95")
    assert sorted(open_items(made)) == [
        "Upright: 1 more timed drill is missing (recorded as belted and suited: 2)",
        "Upright: drill 1 does not count: no total, and no time of canopy, out",
    ]


def test_a_total_beside_complete_single_times_says_what_they_leave_unexplained() -> None:
    times = {"stop": "2", "belts": "3", "canopy": "4", "out": "1"}
    only = found(build(*FORK, drills=(drill(1, "8.5", times=times),))).drills[0]
    assert (only.time, only.unaccounted) == (8.5, 1.5)


def test_a_drill_beyond_a_limit_is_a_caution_of_its_own() -> None:
    made = build(*CHAIN, limits=LIMITS, drills=(drill(1, "19"), drill(2, "20.1"), drill(3, "7")))
    said = [c for c in cautions(made) if "took longer than the" in c]
    assert said == [
        "Drill 1 took longer than the protective time.",
        "Drill 2 took longer than the required time.",
        "Drill 2 took longer than the protective time.",
    ]
    assert [t.exceeds for t in found(made).drills] == [
        ("protective time",),
        ("required time", "protective time"),
        (),
    ]


def test_a_drill_that_took_just_the_limit_does_not_exceed_it() -> None:
    assert found(build(*CHAIN, limits=LIMITS, drills=(drill(1, "20"),))).drills[0].exceeds == (
        "protective time",
    )


def test_drills_beside_the_budget_are_counted() -> None:
    """The chain's exit lies between 4 and 16 s with its median near 8: 4, 9 and 15.9 s."""
    made = build(*CHAIN, drills=(drill(1, "4"), drill(2, "9"), drill(3, "15.9")))
    one = found(made)
    assert [(t.above_p50, t.above_p95) for t in one.drills] == [
        (False, False),
        (True, False),
        (True, True),
    ]
    assert (one.compared.above_p50, one.compared.above_p95) == (2, 1)


@pytest.mark.parametrize(
    ("times", "optimistic"),
    [
        (("15.9",), True),  # one of one above P95: probability 0.05
        (("9",), False),
        (("9",) * 4, False),  # four of four above the median: 0.0625
        (("9",) * 5, True),  # five of five: 0.03125
        (("15.9", "5", "5"), False),  # one of three above P95: 0.143
        (("15.9", "15.9", "5"), True),  # two of three: 0.007
        (("4",) * 5, False),  # a cautious budget is no disagreement
    ],
)
def test_a_budget_is_called_too_hopeful_when_its_drills_are_improbable(
    times: tuple[str, ...], optimistic: bool
) -> None:
    made = build(*CHAIN, drills=tuple(drill(n, t) for n, t in enumerate(times, 1)))
    assert found(made).compared.optimistic is optimistic
    said = [i for i in open_items(made, "disagreement") if "too hopeful" in i]
    assert bool(said) is optimistic


def test_the_mixture_of_persons_and_conditions_is_told() -> None:
    made = build(
        *CHAIN,
        drills=(
            drill(1, "8"),
            drill(2, "8", person="B. Second", conditions=("Belted", "dark")),
            drill(3, "8", conditions=()),
        ),
    )
    one = found(made).compared
    assert (one.persons, one.conditions) == (2, (("belted", 2), ("suited", 1), ("dark", 1)))
    assert one.undressed == {"belted": 1, "suited": 2}
    assert any(
        "of 3 timed drills, 1 not recorded as belted and 2 not recorded as suited" in c
        for c in cautions(made)
    )
    assert any("by 2 persons" in c for c in cautions(made))
    assert sorted(open_items(made)) == [
        "Upright: 2 more timed drills are missing (recorded as belted and suited: 1)",
        "Upright: not every drill is recorded as belted and suited",
    ]


def test_drills_in_shirtsleeves_never_take_the_budgets_place() -> None:
    """Without belts and suit an exit is shorter (common practice); a long one still counts."""
    bare = tuple(drill(n, "6", conditions=()) for n in (1, 2, 3))
    assert check(build(*CHAIN, limits=LIMITS, drills=bare)).demand.id.endswith(".p95")
    slow = (*bare[:2], drill(3, "31", conditions=()))
    assert check(build(*CHAIN, limits=LIMITS, drills=slow)).demand.id.endswith(".longest_drill")
    dressed = tuple(drill(n, str(9 + n)) for n in (4, 5, 6))
    mixed = check(build(*CHAIN, limits=LIMITS, drills=(*bare, *dressed)))
    # 13, 14, 15 s alone: mean 14, deviation 1, t(0.95, 2) = 2.920 from the table
    assert mixed.demand.value == pytest.approx(14 + 2.920 * math.sqrt(4 / 3), abs=6e-4)


@pytest.mark.parametrize(
    ("read", "spread", "u"),
    [
        ("15", "", 0.29),
        ("15.0", "", 0.029),
        ("15", "0.3", 0.3 / math.sqrt(3)),
        ("0.25", "", 0.0029),
    ],
)
def test_equal_drills_do_not_prove_that_the_next_one_is_equal(
    read: str, spread: str, u: float
) -> None:
    """The deviation is no less than what the readings can tell apart: 0.29 of the last digit
    (JCGM 100:2008, F.2.2.1), or the stated spread.
    """
    made = build(*CHAIN, drills=tuple(drill(n, read, spread=spread) for n in (1, 2, 3)))
    bound = found(made).results["drill_bound"].value
    assert bound == pytest.approx(float(read) + 2.920 * u * math.sqrt(4 / 3), abs=3e-4 * u + 1e-9)


def test_the_chance_of_being_late_is_that_of_an_exit_and_not_of_the_sampling() -> None:
    """P(T > 20 s) of Student's t with 2 degrees around 15 s, deviation 1·√(4/3): scipy's own t."""
    made = build(*CHAIN, limits=LIMITS, drills=tuple(drill(n, str(13 + n)) for n in (1, 2, 3)))
    score = (20 / 1.1 - 15) / math.sqrt(4 / 3)
    assert check(made).probability_short == pytest.approx(stats.t(2).sf(score), rel=1e-9)
    beta = stats.beta(1.5, 4.5)
    one = check(build(act("out", "1 2 9"), limits=limits("6")))
    # Of 10,000 samples: within five standard errors of a share.
    p = beta.sf((6.0 - 1.0) / 8.0)
    assert one.probability_short == pytest.approx(p, abs=5 * math.sqrt(p * (1 - p) / 10_000))


def test_belted_and_suited_drills_of_one_person_raise_nothing() -> None:
    made = build(*CHAIN, drills=(drill(1, "8"), drill(2, "7"), drill(3, "9")))
    assert (cautions(made), open_items(made)) == ([], [])


@pytest.mark.parametrize(
    ("conditions", "decides"),
    [
        (("belted", "suited"), "drill_bound"),
        (("Suited", " belted ", "gloved"), "drill_bound"),
        (("belts off", "suit hung up"), "p95"),
        (("belted loosely", "suited"), "p95"),
        (("not belted", "not suited"), "p95"),
    ],
)
def test_only_the_very_words_make_a_drill_stand_for_the_exit(
    conditions: tuple[str, ...], decides: str
) -> None:
    """A phrase that begins alike may say the opposite, so that it must not decide."""
    made = build(
        *CHAIN,
        limits=LIMITS,
        drills=tuple(drill(n, str(5 + n), conditions=conditions) for n in (1, 2, 3)),
    )
    assert check(made).demand.id == f"egress.scenario.upright.{decides}"


def test_drills_of_tomorrow_do_not_decide() -> None:
    """Three drills as fast as none was yet, and a slow one, all planned for after the evaluation."""
    tomorrow = DAY + datetime.timedelta(days=1)
    future = tuple(drill(n, t, date=tomorrow) for n, t in enumerate(("5", "5.1", "5.2", "90"), 1))
    made = build(*CHAIN, limits=LIMITS, drills=future)
    assert check(made).demand.id == "egress.scenario.upright.p95"
    refused = [i for i in evaluated(made).open_items if i.id.endswith(".refused")]
    assert len(refused) == 4
    assert all("after the day of this evaluation" in i.text for i in refused)
    done = build(
        *CHAIN, limits=LIMITS, drills=tuple(dataclasses.replace(d, date=DAY) for d in future)
    )
    assert check(done).demand.id != "egress.scenario.upright.p95"


def test_a_drill_of_tomorrow_is_noticed() -> None:
    tomorrow = DAY + datetime.timedelta(days=1)
    made = build(*CHAIN, drills=(drill(1, "8", date=tomorrow), drill(2, "8", date=DAY)))
    assert [c for c in cautions(made) if "dated after" in c] == [
        "Drill 1 is dated after the day of this evaluation."
    ]


def test_a_single_time_beyond_the_budgets_longest_is_noticed() -> None:
    made = build(*CHAIN, drills=(drill(1, "14", times={"belts": "9.1", "out": "4"}),))
    assert any("longest the budget allows for: belts." in c for c in cautions(made))


def test_a_budget_longer_than_the_drills_bound_is_noticed() -> None:
    made = build(*CHAIN, drills=(drill(1, "7"), drill(2, "7.1"), drill(3, "7.2")))
    assert any("percentile of the budget is longer than their bound" in c for c in cautions(made))


def test_drills_far_quicker_than_the_budget_decide_against_an_open_item() -> None:
    """The budget's median is some 7.8 s, the bound far below, by hand 4.1 + 2.920 · 0.1 · √(4/3) = 4.44 s.
    Who was that quick, and out of what?
    """
    made = build(
        *CHAIN, limits=LIMITS, drills=tuple(drill(n, f"{3.9 + n / 10:.1f}") for n in (1, 2, 3))
    )
    one = check(made)
    assert one.demand.value == pytest.approx(4.437, abs=0.001)
    (said,) = open_items(made, "disagreement")
    assert "their bound of 4.44 s is below the budget's median" in said


@pytest.mark.parametrize(("year", "said"), [(2026, False), (2016, True)])
def test_drills_of_long_ago_are_to_be_done_again(year: int, said: bool) -> None:
    dated = [datetime.date(year, 3, n) for n in (1, 2, 3)]
    drills = tuple(drill(n, str(13 + n), date=day) for n, day in enumerate(dated, 1))
    found = [
        i for i in open_items(build(*CHAIN, limits=LIMITS, drills=drills)) if "a year ago" in i
    ]
    assert bool(found) is said


# ---------------------------------------------------------------------------------- budget


ALONE = (act("belts", "3 4 5"), act("hatch", "4 5 6"), act("wheel", "5 6 7"))
"""One pair of hands needs 4 + 5 + 6 = 15 s for these; side by side they would be done after some 6 s."""


@pytest.mark.parametrize("required", ["8", "20"])
def test_a_budget_that_one_person_keeps_only_by_doing_all_at_once_decides_nothing(
    required: str,
) -> None:
    found = check(build(*ALONE, limits=limits(required)))
    assert (found.verdict, found.demand.value) == ("open", None)
    assert found.reason == (
        "the budget lets the same person do these at the same time: belts and hatch; belts and wheel; "
        "hatch and wheel"
    )
    assert "`after`" in found.closes


def test_the_drawings_of_such_a_budget_say_so() -> None:
    made = build(*ALONE, limits=limits("8"))
    for one in charts(evaluated(made).outcomes["egress"], made):
        assert "only if one person does two things at once" in one.finding
    made = build(*FORK, limits=limits("60"))
    for one in charts(evaluated(made).outcomes["egress"], made):
        assert "two things at once" not in one.finding


def test_too_long_even_side_by_side_is_too_long() -> None:
    assert check(build(*ALONE, limits=limits("5"))).verdict == "short"


@pytest.mark.parametrize(
    ("first", "second", "verdict"),
    [
        ("driver", "driver", "open"),
        ("driver", "Driver ", "open"),
        ("driver and crew", "crew", "open"),
        ("driver, crew", "medic + driver", "open"),
        ("driver", "crew", "holds"),
        ("left hand", "right hand", "holds"),
        ("commander", "command", "holds"),
    ],
)
def test_who_does_it_is_read_name_by_name(first: str, second: str, verdict: str) -> None:
    pair = (act("belts", "3 4 5", by=first), act("hatch", "4 5 6", by=second))
    assert check(build(*pair, limits=limits("9"))).verdict == verdict


def test_where_drills_decide_an_overlap_is_said_and_blocks_nothing() -> None:
    drills = tuple(drill(n, f"{13 + n}") for n in (1, 2, 3))
    made = build(*ALONE, limits=limits("60"), drills=drills)
    assert check(made).verdict == "holds"
    assert any(
        "for one pair of hands the budget beside them is too short" in c for c in cautions(made)
    )


def test_activities_that_wait_for_one_another_do_not_overlap() -> None:
    assert check(build(*FORK, limits=limits("60"))).verdict == "holds"  # the crew does the canopy
    assert check(build(*reversed(CHAIN), limits=limits("60"))).verdict == "holds"


def test_a_spread_that_reaches_below_zero_is_noticed() -> None:
    made = build(act("stop", "1 ± 1"), act("out", "1 ± 1.5", "stop"))
    assert any("stated spread of out reaches below zero" in c for c in cautions(made))


@pytest.mark.parametrize(
    ("written", "deviation"),
    [
        ("6 ± 1.2", 1.2 / math.sqrt(3)),
        ("6 ± 1.2 triangular", 1.2 / math.sqrt(6)),
        ("6 ± 1.2 normal", 0.6),
        ("6", 0.0),
    ],
)
def test_one_duration_keeps_its_own_distribution(written: str, deviation: float) -> None:
    one = found(build(act("out", written))).results
    assert one["path_deviation"].value == pytest.approx(deviation, abs=1e-12)
    assert one["sampled_mean"].value == pytest.approx(6.0, abs=5 * deviation / 100 + 1e-12)
    assert one["sampled_deviation"].value == pytest.approx(deviation, rel=0.05, abs=1e-12)


def test_a_chain_has_no_merge_bias_and_a_fork_has() -> None:
    """The greater of two durations 2, 3, 4: its mean from scipy's beta by numerical integration."""
    chain, fork = found(build(*CHAIN)), found(build(*FORK))
    assert (
        abs(chain.results["merge_bias"].value)
        <= 5 * chain.results["merge_bias"].standard_uncertainty
    )
    x = np.linspace(0.0, 1.0, 200_001)
    greater = 4.0 - 2.0 * float(np.trapezoid(stats.beta(3, 3).cdf(x) ** 2, x))
    bias = fork.results["merge_bias"]
    assert bias.value == pytest.approx(greater - 3.0, abs=5 * bias.standard_uncertainty)
    assert bias.value > 5 * bias.standard_uncertainty


def test_what_the_sampling_meets_and_what_the_classical_method_says_stand_side_by_side() -> None:
    one = found(build(*FORK, limits=limits("9")))
    sampled, classical = (
        one.results["required_time.sampled"],
        one.results["required_time.classical"],
    )
    # T = 2 + 3 + 3 and variance 3 · (2/6)², both by hand; the fork's other branch is left out
    exact = stats.norm(8.0, math.sqrt(3) / 3).cdf(9.0)
    assert classical.value == pytest.approx(exact, rel=1e-12)
    assert sampled.value < classical.value - 0.02


def test_running_slow_together_is_worse_than_one_by_one_and_exact_for_a_chain() -> None:
    one = found(build(*CHAIN))
    exact = sum(
        a + (b - a) * stats.beta(1 + 4 * (m - a) / (b - a), 1 + 4 * (b - m) / (b - a)).ppf(0.95)
        for a, m, b in ((1, 2, 3), (1, 2, 9), (2, 3, 4))
    )
    assert one.results["p95_together"].value == pytest.approx(exact, abs=0.1)
    assert one.results["p95_together"].value > one.results["p95"].value


def test_the_sampled_exit_is_that_of_a_naive_simulation() -> None:
    """Another generator, another beta and no network: Python's own `random`, exit by exit."""
    rng, n = random.Random(20261125), 20_000

    def once() -> float:
        stop, belts, canopy, out = (
            a + (b - a) * rng.betavariate(1 + 4 * (m - a) / (b - a), 1 + 4 * (b - m) / (b - a))
            for a, m, b in ((1, 2, 3), (2, 3, 4), (2, 3, 4), (2, 3, 4))
        )
        return stop + max(belts, canopy) + out

    naive = sorted(once() for _ in range(n))
    one = found(build(*FORK, samples=20_000))
    for word, share in (("p50", 0.5), ("p90", 0.9), ("p95", 0.95)):
        error = math.sqrt(2) * one.percentiles[word].deviation
        assert one.percentiles[word].value == pytest.approx(naive[int(share * n)], abs=5 * error)


def test_percentiles_are_in_order_and_more_samples_narrow_them() -> None:
    few, many = (found(build(*FORK, samples=n)) for n in (1000, 100_000))
    for one in (few, many):
        p50, p90, p95 = (one.percentiles[w].value for w in ("p50", "p90", "p95"))
        assert p50 <= p90 <= p95
    # by the square root of a hundred, give or take the scatter of the few
    assert few.percentiles["p95"].deviation / many.percentiles["p95"].deviation == pytest.approx(
        10.0, rel=0.5
    )
    assert few.percentiles["p95"].value == pytest.approx(
        many.percentiles["p95"].value, abs=5 * few.percentiles["p95"].deviation
    )


def test_rows_show_both_passes() -> None:
    """The fork by hand: expected durations 2, 3, 2, 3, and the likely ones the same."""
    rows = {
        r.activity.id: r
        for r in found(build(*FORK[:2], act("canopy", "1 2 3", "stop", by="crew"), FORK[3])).rows
    }
    assert [
        (r.mean, r.start, r.finish, r.latest_start, r.latest_finish, r.slack)
        for r in (rows["belts"], rows["canopy"], rows["out"])
    ] == [(3, 2, 5, 2, 5, 0), (2, 2, 4, 3, 5, 1), (3, 5, 8, 5, 8, 0)]
    assert (
        rows["canopy"].critical,
        rows["canopy"].likely_critical,
        rows["canopy"].likely_slack,
    ) == (False, False, 1.0)
    assert rows["belts"].critical_share + rows["canopy"].critical_share == pytest.approx(1.0)
    assert rows["belts"].critical_share > rows["canopy"].critical_share


def test_rounding_leaves_no_trace_in_the_passes() -> None:
    """Thirteen times tenths in a row, whose sums are not exact: all starts are the latest ones."""
    many = tuple(act(f"a{n}", "0.1 0.3 0.7", f"a{n - 1}" if n else "") for n in range(13))
    rows = found(build(*many)).rows
    assert [r.latest_start for r in rows] == [r.start for r in rows]
    assert [r.slack for r in rows] == [0.0] * 13


# ------------------------------------------------------------------- inputs and worked steps


def with_si(made: Build, name: str, factor: float) -> Build:
    """The build with one quantity scaled, in the section as well as in the list."""

    def changed(value: object) -> object:
        if isinstance(value, Quantity):
            return dataclasses.replace(value, si=value.si * factor) if value.id == name else value
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            return dataclasses.replace(
                value,
                **{
                    f.name: changed(getattr(value, f.name))
                    for f in dataclasses.fields(value)
                    if f.init
                },
            )
        if isinstance(value, tuple):
            return tuple(changed(v) for v in value)
        return {k: changed(v) for k, v in value.items()} if isinstance(value, dict) else value

    section = changed(made.sections["egress"])
    return dataclasses.replace(
        made,
        sections={"egress": section},
        quantities={k: changed(v) for k, v in made.quantities.items()},
    )


@pytest.mark.parametrize(
    "drills",
    [(), (drill(1, "8"), drill(2, "7"), drill(3, times={"stop": "2", "belts": "3", "out": "3.5"}))],
)
def test_a_check_depends_on_exactly_what_it_says(drills: tuple[object, ...]) -> None:
    """Every quantity is raised by 1 %: the margin moves where it is an input, and nowhere else."""
    made = build(*CHAIN, limits=LIMITS, drills=drills)
    for word in ("required_time", "protective_time"):
        before = check(made, word)
        moved = {
            name
            for name in made.quantities
            if check(with_si(made, name, 1.01), word).margin != before.margin
        }
        assert moved == set(before.inputs)


def test_every_worked_step_gives_what_the_results_and_checks_say() -> None:
    made = build(*FORK, limits=LIMITS, drills=tuple(drill(n, str(8 + n)) for n in (1, 2, 3)))
    outcome = evaluated(made).outcomes["egress"]
    steps = {s.id.removeprefix("egress.scenario.upright."): s for s in outcome.steps}
    for step in outcome.steps:
        if step.id in outcome.by_id:
            assert outcome.by_id[step.id].value == step.value
        assert step.outside == ()
    assert steps["required_time.margin"].value == outcome.checks[0].margin
    assert steps["protective_time.margin"].value == outcome.checks[1].margin
    assert steps["path_mean"].value == 8.0  # 2 + 3 + 3 by hand
    assert set(steps) >= {
        "path_variance",
        "path_deviation",
        "required_time.score",
        "merge_bias",
        "required_time.classical",
        "drill_mean",
        "drill_deviation",
        "drill_bound",
    }


def test_arguments_point_at_values_and_results_that_exist() -> None:
    made = build(*FORK, limits=LIMITS, drills=tuple(drill(n, str(8 + n)) for n in (1, 2, 3)))
    outcome = evaluated(made).outcomes["egress"]
    known = {*made.quantities, *outcome.by_id, *(s.id for s in outcome.steps)}
    refs = {a.ref for s in outcome.steps for a in s.arguments if a.ref}
    assert refs <= known
    assert {"egress.limits.required_time", "egress.scenario.upright.path_mean"} <= refs


def test_the_steps_of_equal_paths_take_the_one_with_the_larger_variance() -> None:
    made = build(act("stop", "1 2 3"), act("sure", "3 3 3", "stop"), act("unsure", "1 3 5", "stop"))
    one = found(made)
    assert (one.paths, one.path_count) == ((("stop", "sure"), ("stop", "unsure")), 2)
    assert one.results["path_variance"].value == pytest.approx((2 / 6) ** 2 + (4 / 6) ** 2)
    mean = next(s for s in one.steps if s.id.endswith("path_mean"))
    assert mean.note.startswith("Along stop, unsure.")


# ---------------------------------------------------------------------------- as a whole


def full() -> Build:
    two = (
        UPRIGHT,
        Scenario(
            id="on_side",
            title="On its side",
            change=(change("on_side", 0, "out", "3 5 9"),),
            add=(act("brace", "1 2 3", "stop", at="egress.scenarios.on_side.add"),),
        ),
    )
    return build(
        *FORK,
        scenarios=two,
        limits=LIMITS,
        drills=(
            drill(1, "9"),
            drill(2, "10"),
            drill(3, "11"),
            drill(4, "12", "on_side"),
            drill(5, scenario="on_side", times={"stop": "1"}),
        ),
    )


def test_ids_are_unique_and_begin_with_the_subject_and_are_no_ids_of_the_description() -> None:
    outcome = evaluated(full()).outcomes["egress"]
    for kind in (
        outcome.results,
        outcome.checks,
        outcome.steps,
        outcome.cautions,
        outcome.open_items,
    ):
        ids = [x.id for x in kind]
        assert len(set(ids)) == len(ids)
        assert all(name.startswith("egress.") for name in ids)
        assert not set(ids) & set(full().quantities)


def test_the_results_keep_the_schema_and_come_out_the_same_twice() -> None:
    data = as_data(evaluated(full()))
    jsonschema.Draft202012Validator(schema()).validate(data)
    assert as_text(data) == as_text(as_data(evaluated(full())))
    assert json.loads(as_text(data))["values"]["egress.scenario.upright.p95"]["unit"] == "s"


def test_the_seed_moves_the_percentiles_within_their_error_and_nothing_else() -> None:
    one, other = (found(build(*FORK, seed=s)).results for s in (1, 2))
    assert one["p95"].value != other["p95"].value
    assert abs(one["p95"].value - other["p95"].value) < 7 * one["p95"].standard_uncertainty
    assert one["expected"] == other["expected"]


def test_the_hazards_of_practising_are_said() -> None:
    said = " ".join(c.text.lower() for c in evaluated(full()).cautions if c.hazard)
    for word in (
        "alone",
        "battery",
        "fire system",
        "overheats",
        "dizziness",
        "belts",
        "spotter",
        "medical help",
        "rulebook",
    ):
        assert word in said


def test_open_items_and_cautions_name_the_checks_and_records_they_are_about() -> None:
    evaluation = evaluated(full())
    known = {c.id for c in evaluation.checks}
    for item in evaluation.open_items:
        assert set(item.blocks) <= known
        assert item.blocks
        assert item.closes
