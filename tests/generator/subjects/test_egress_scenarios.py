"""Scenarios: what is dropped, changed and added; and the way from YAML and CSV to a verdict."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildspec.read import read_folder
from buildspec.sections.egress import Activity, Egress, Scenario, activities_of
from tests.generator.subjects.egress_builds import (
    CHAIN,
    FORK,
    act,
    build,
    change,
    found,
)


def of(scenario: Scenario, *activities: Activity) -> dict[str, Activity]:
    section = Egress(activities=activities, scenarios=(scenario,))
    return {a.id: a for a in activities_of(section, scenario)}


def test_a_scenario_that_says_nothing_is_the_base() -> None:
    assert tuple(of(Scenario(id="s", title="S"), *FORK).values()) == FORK


def test_what_waits_for_a_dropped_one_waits_for_what_that_one_waited_for() -> None:
    kept = of(Scenario(id="s", title="S", drop=("belts",)), *CHAIN)
    assert list(kept) == ["stop", "out"]
    assert kept["out"].after == ("stop",)


def test_dropping_several_in_a_row_reaches_through_all_of_them() -> None:
    chain = (
        act("a", "1"),
        act("b", "1", "a"),
        act("c", "1", "b"),
        act("d", "1", "b c"),
        act("e", "1", "d"),
    )
    kept = of(Scenario(id="s", title="S", drop=("b", "c", "d")), *chain)
    assert kept["e"].after == ("a",)
    all_gone = of(Scenario(id="s", title="S", drop=("a", "b", "c", "d")), *chain)
    assert all_gone["e"].after == ()


def test_two_ways_through_a_dropped_one_are_both_kept() -> None:
    kept = of(Scenario(id="s", title="S", drop=("out",)), *FORK, act("clear", "1", "out stop"))
    assert kept["clear"].after == ("stop", "belts", "canopy")


def test_a_change_replaces_what_it_gives_and_leaves_the_rest() -> None:
    slow = change("s", 0, "belts", by="crew", text="Cut the belts", after=())
    kept = of(Scenario(id="s", title="S", change=(slow,)), *CHAIN)["belts"]
    assert (kept.by, kept.text, kept.after) == ("crew", "Cut the belts", ())
    assert (kept.optimistic, kept.likely, kept.pessimistic) == (
        CHAIN[1].optimistic,
        CHAIN[1].likely,
        CHAIN[1].pessimistic,
    )


def test_one_duration_displaces_three_and_three_displace_one() -> None:
    one = of(Scenario(id="s", title="S", change=(change("s", 0, "belts", "4 ± 1"),)), *CHAIN)[
        "belts"
    ]
    assert (one.optimistic, one.likely, one.pessimistic) == (None, None, None)
    assert one.duration is not None
    three = of(
        Scenario(id="s", title="S", change=(change("s", 0, "a", "1 2 3"),)), act("a", "4 ± 1")
    )["a"]
    assert three.duration is None
    assert three.pessimistic is not None


def test_a_change_of_the_likely_time_alone_keeps_the_other_two() -> None:
    given = change("s", 0, "belts", "1 5 9")
    only = type(given)(activity="belts", likely=given.likely)
    kept = of(Scenario(id="s", title="S", change=(only,)), *CHAIN)["belts"]
    assert (kept.optimistic, kept.likely, kept.pessimistic) == (
        CHAIN[1].optimistic,
        given.likely,
        CHAIN[1].pessimistic,
    )


def test_an_added_one_may_take_the_place_of_a_dropped_one() -> None:
    new = act("belts", "5", "stop")
    kept = of(Scenario(id="s", title="S", drop=("belts",), add=(new,)), *CHAIN)
    assert kept["belts"].duration is not None
    assert kept["out"].after == ("belts",)


def test_scenarios_add_up_by_hand() -> None:
    """Base 2 + 3 + 4; without the middle 2 + 4; with 5 s for it 2 + 5 + 4; with 1 s more."""
    base = (act("a", "2"), act("b", "3", "a"), act("c", "4", "b"))
    scenarios = (
        Scenario(id="base", title="Base"),
        Scenario(id="less", title="Less", drop=("b",)),
        Scenario(id="slow", title="Slow", change=(change("slow", 0, "b", "5"),)),
        Scenario(
            id="more", title="More", add=(act("d", "1", "c", at="egress.scenarios.more.add"),)
        ),
    )
    made = build(*base, scenarios=scenarios)
    totals = {s.id: found(made, s.id).results["likely"].value for s in scenarios}
    assert totals == {"base": 9.0, "less": 6.0, "slow": 11.0, "more": 10.0}


# --------------------------------------------------------------------- from the folder on

HEAD = "format: 1\nvehicle: {name: Test car}\nunits: us\n"
YAML = (
    HEAD
    + """egress:
  activities:
    - {id: stop, text: Stop, optimistic: 1 s, likely: 2 s, pessimistic: 3 s}
    - {id: belts, text: Belts off, duration: {value: 2 s, plus_minus: 20 %}, after: [stop]}
    - {id: out, text: Get out, optimistic: 2 s, likely: 3 s, pessimistic: 7 s, after: [belts]}
  scenarios:
    - {id: upright, title: Upright}
  limits: {required_time: 0.25 min}
"""
)


def written(folder: Path, text: str, **tables: str) -> Path:
    (folder / "build.yaml").write_text(text, "utf-8")
    for name, table in tables.items():
        (folder / f"{name}.csv").write_text(table, "utf-8")
    return folder


def test_a_description_is_read_and_judged(tmp_path: Path) -> None:
    reading = read_folder(written(tmp_path, YAML))
    assert reading.build is not None, reading.problems
    one = found(reading.build)
    assert [r.mean for r in one.rows] == pytest.approx([2.0, 2.0, 3.5])  # (2 + 12 + 7) / 6
    assert one.checks[0].capacity.value == 15.0
    assert one.checks[0].verdict == "holds"
    assert one.checks[0].factor == 1.0
    assert one.checks[1].verdict == "open"


def test_a_table_of_activities_says_the_same_as_a_list(tmp_path: Path) -> None:
    table = (
        "id,text,optimistic [s],likely [s],pessimistic [s],duration [s],duration.plus_minus "
        "[%],after\nstop,Stop,1,2,3,,,\nbelts,Belts off,,,,2,20,stop\nout,Get out,2,3,7,,,belts\n"
    )
    start, end = YAML.index("  activities:"), YAML.index("  scenarios:")
    text = YAML[:start] + "  activities: exit.csv\n" + YAML[end:]
    (tmp_path / "list").mkdir()
    (tmp_path / "table").mkdir()
    one = read_folder(written(tmp_path / "list", YAML))
    other = read_folder(written(tmp_path / "table", text, exit=table))
    assert one.build is not None
    assert other.build is not None, other.problems
    assert found(one.build).results == found(other.build).results


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("after: [belts]", "after: [belt]"),
        ("optimistic: 1 s", "optimistic: 4 s"),
        ("likely: 2 s, ", ""),
        ("after: [stop]", "after: [out]"),
        (
            "{id: upright, title: Upright}",
            "{id: upright, title: Upright, drop: [stop, belts, out]}",
        ),
        (
            "{id: upright, title: Upright}",
            "{id: upright, title: Upright, change: [{activity: stop, after: [out]}]}",
        ),
        (
            "{id: upright, title: Upright}",
            "{id: upright, title: Upright, change: [{activity: stop, pessimistic: 0.5 s}]}",
        ),
        ("required_time: 0.25 min", "required_time: 0 s"),
        ("required_time: 0.25 min", "required_time: 20 s, required_factor: 0"),
    ],
)
def test_what_could_not_be_computed_never_reaches_the_subject(
    tmp_path: Path, old: str, new: str
) -> None:
    assert YAML.count(old) == 1
    reading = read_folder(written(tmp_path, YAML.replace(old, new)))
    assert reading.build is None
    assert reading.problems[0].place.line > 3
