"""The subject `clock`: the sums by hand, the credit that is off by default, and what egress takes
from the gear.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.subjects import clock
from generator.subjects.subject import Given
from generator.vocabulary import Outcome, Result
from tests.generator.subjects.scenes import DAY, check, evaluated, read_text, value

WORDS = ("egress", "fire", "gear", "clock")


def scene(
    *, clock: str = "", stopping: str = ", stopping: 0 s", mass: str = "1.6 kg", gear: str = "20 s"
) -> str:
    return f"""format: 1
units: si
vehicle: {{name: Wren}}
egress:
  activities: [{{id: out, text: Out, duration: 8 s}}]
  scenarios: [{{id: upright, title: Upright}}]
  limits: {{required_time: 20 s, protective_time: 99 s, protective_factor: 1.5}}
gear:
  items:
    - id: all
      type: suit
      protective_time: {gear}
      covers: [head, face, neck, torso, arms, hands, legs, feet]
fire:
  coldest: 10 °C
  hottest: 40 °C
  zones: [{{id: driver, volume: 1.5 m³, occupied: true, airflow: 1500 L/min, hold: 1 s}}]
  bottles: [{{id: one, agent: FK-5-1-12, agent_mass: {mass}, discharge_time: 10 s}}]
  nozzles: [{{id: n, bottle: one, zone: driver, share: 100 %}}]
clock: {{detection: {{value: 2 s, plus_minus: 1 s}}, reaction: 1 s, factor: 1.25{stopping}{clock}}}
"""


def test_the_longest_of_each_part_and_the_exit_are_added(tmp_path: Path) -> None:
    """(2 + 1) + 1 + 8 = 12 s; 20/(1.25 · 12) − 1 = 1/3."""
    found = evaluated(tmp_path, scene(), *WORDS)
    assert value(found, "clock.scenario.upright.exposure") == pytest.approx(12.0, abs=1e-9)
    assert check(found, "clock.check.upright").margin == pytest.approx(1.0 / 3.0, abs=1e-9)


@pytest.mark.parametrize("coverage", [1, 2, 3])
def test_the_sum_is_no_less_than_the_95th_percentile_of_the_whole(
    tmp_path: Path, coverage: int
) -> None:
    """A normal detection of 10 s with a deviation of 3 s, 1 s and 8 s: 19 + 1.645 · 3 by the normal table, however the
    same deviation is written; and no more than three deviations are added.
    """
    spread = f"plus_minus: {3 * coverage} s, distribution: normal, coverage: {coverage}"
    text = scene().replace("{value: 2 s, plus_minus: 1 s}", f"{{value: 10 s, {spread}}}")
    exposure = value(evaluated(tmp_path, text, *WORDS), "clock.scenario.upright.exposure")
    assert 19.0 + 1.645 * 3.0 <= exposure <= 19.0 + 3.0 * 3.0 + 1e-9


@pytest.mark.parametrize("required", ["5 s", "20 s"])
def test_an_exit_of_two_things_at_once_decides_nothing(tmp_path: Path, required: str) -> None:
    """Two things of 8 s each by the driver take 16 s, not 8: against 5 s that is short already, against the
    protection it is not known.
    """
    twice = "[{id: out, text: Out, duration: 8 s}, {id: belts, text: Belts, duration: 8 s}]"
    text = scene().replace("[{id: out, text: Out, duration: 8 s}]", twice)
    text = text.replace("required_time: 20 s", f"required_time: {required}")
    found = check(evaluated(tmp_path, text, *WORDS), "clock.check.upright")
    assert (found.verdict, found.margin) == ("open", None)
    assert "same person" in found.reason


def test_stopping_counts_where_it_is_stated_and_is_asked_for_where_not(tmp_path: Path) -> None:
    with_ = evaluated(tmp_path, scene(stopping=", stopping: 25 s"), *WORDS)
    assert value(with_, "clock.scenario.upright.exposure") == pytest.approx(37.0, abs=1e-9)
    assert check(with_, "clock.check.upright").verdict == "short"
    assert any(i.id == "clock.stopping" for i in evaluated(tmp_path, scene(), *WORDS).open_items)


def test_a_stop_that_nobody_states_leaves_open_what_would_hold(tmp_path: Path) -> None:
    """Detection 3, reaction 1, exit 8 s: 12 · 1.25 = 15 s of 20 s without the stop; of 14 s it falls short anyway."""
    found = evaluated(tmp_path, scene(stopping=""), *WORDS)
    undecided = check(found, "clock.check.upright")
    assert undecided.verdict == "open"
    assert "`stopping`" in undecided.demand.absent
    asked = next(i for i in found.open_items if i.id == "clock.stopping")
    assert asked.blocks == ("clock.check.upright",)
    short = check(
        evaluated(tmp_path, scene(stopping="", gear="14 s"), *WORDS), "clock.check.upright"
    )
    assert short.verdict == "short"


def test_the_computed_stop_stands_in_for_one_that_is_not_stated(tmp_path: Path) -> None:
    """The stop of the page of stops, with everything working, is added to 3, 1 and 8 s."""
    build, _ = read_text(tmp_path, scene(stopping=""))
    assert build is not None
    stop = Result("stopping.case.works.time", "Works: time to stop", 20.5, "time", inputs=("a.b",))
    outcomes = dict(evaluated(tmp_path, scene(stopping=""), *WORDS).outcomes)
    outcomes["stopping"] = Outcome("stopping", results=(stop,))
    outcome = clock.evaluate(build, Given(DAY, outcomes))
    assert outcome is not None
    (exposed,) = outcome.checks
    assert exposed.demand.value == pytest.approx(3.0 + 20.5 + 1.0 + 8.0, abs=1e-9)
    assert exposed.verdict == "short"
    assert "a.b" in exposed.inputs
    assert [i.blocks for i in outcome.open_items if i.id == "clock.stopping"] == [()]


def test_credit_is_off_unless_stated_and_both_are_shown(tmp_path: Path) -> None:
    off = evaluated(tmp_path, scene(gear="10 s"), *WORDS)
    on = evaluated(tmp_path, scene(gear="10 s", clock=", fire_credit: true"), *WORDS)
    held = value(off, "fire.zone.driver.fk_5_1_12.hold")
    assert value(off, "clock.credit") == pytest.approx(held)
    assert check(off, "clock.check.upright").verdict == "short"
    assert check(on, "clock.check.upright").margin == pytest.approx(
        (10.0 + held) / 15.0 - 1.0, rel=1e-9
    )
    for found in (off, on):
        assert value(found, "clock.scenario.upright.margin_with_credit") == pytest.approx(
            (10.0 + held) / 15.0 - 1.0
        )
        assert value(found, "clock.scenario.upright.margin_without_credit") == pytest.approx(
            10.0 / 15.0 - 1.0
        )


@pytest.mark.parametrize("mass", ["1.0 kg", "2.5 kg"])
def test_no_credit_where_the_agent_is_too_little_or_too_much(tmp_path: Path, mass: str) -> None:
    """1.0 kg do not put it out; 2.5 kg give 11.6 % at 40 °C, over the no-effect level."""
    found = evaluated(tmp_path, scene(mass=mass, clock=", fire_credit: true"), *WORDS)
    assert value(found, "clock.credit") == 0.0


@pytest.mark.parametrize("mass", ["1.0 kg", "1.6 kg"])
def test_a_credit_of_nothing_names_what_it_rests_on_too(tmp_path: Path, mass: str) -> None:
    """The mass of agent decides whether the zone's checks hold, and with them whether there is a credit."""
    found = evaluated(tmp_path, scene(mass=mass), *WORDS).outcomes["clock"].by_id
    for name in ("clock.credit", "clock.scenario.upright.margin_with_credit"):
        assert "fire.bottles.one.agent_mass" in found[name].inputs, name
    alone = found["clock.scenario.upright.margin_without_credit"]
    assert "fire.bottles.one.agent_mass" not in alone.inputs
    assert "clock.factor" in alone.inputs


@pytest.mark.parametrize(
    ("gear", "expected"),
    [("12.5 s", 0.5), ("{value: 12.5 s, plus_minus: 1 s}", 0.5), ("15 s", 0.0), ("9.9 s", 1.0)],
)
def test_the_chance_is_that_of_the_exit_and_not_of_its_percentile(
    tmp_path: Path, gear: str, expected: float
) -> None:
    """An exit spread evenly about 6 s, from 4 to 8 s, after 3 s and 1 s: with 12.5/1.25 − 4 = 6 s left half of all
    exits are in time, with 15/1.25 − 4 = 8 s all and with 9.9/1.25 − 4 = 3.92 s none. Tolerance: four
    standard errors of the 10,000 samples, 4 · 0.005.
    """
    spread = "optimistic: 4 s, likely: 6 s, pessimistic: 8 s"
    text = scene(gear=gear).replace("duration: 8 s", spread)
    found = check(evaluated(tmp_path, text, *WORDS), "clock.check.upright")
    assert found.probability_short == pytest.approx(expected, abs=0.02)


def test_what_is_not_counted_before_the_exit_is_said_beside_the_verdict(tmp_path: Path) -> None:
    alone = check(evaluated(tmp_path, scene(), *WORDS), "clock.check.upright")
    assert "only for a vehicle that stands" in alone.basis_of_verdict
    whole = check(
        evaluated(tmp_path, scene(stopping=", stopping: 1 s"), *WORDS), "clock.check.upright"
    )
    assert "stands" not in whole.basis_of_verdict


def test_described_gear_replaces_the_provisional_time_of_the_exit(tmp_path: Path) -> None:
    found = evaluated(tmp_path, scene(), *WORDS)
    exit_ = check(found, "egress.check.upright.protective_time")
    assert exit_.capacity.value == pytest.approx(20.0)
    assert exit_.margin == pytest.approx(20.0 / 12.0 - 1.0, abs=1e-9)
    alone = evaluated(tmp_path, scene(), "egress")
    assert check(alone, "egress.check.upright.protective_time").capacity.value == pytest.approx(
        99.0
    )


def test_without_gear_the_clock_is_open(tmp_path: Path) -> None:
    found = evaluated(tmp_path, scene(), "egress", "clock")
    assert check(found, "clock.check.upright").verdict == "open"
