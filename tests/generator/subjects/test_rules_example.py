"""The demonstration's rule sheet and the starter sheet: what they must show and must not hold."""

from __future__ import annotations

import datetime
from collections import Counter
from pathlib import Path

import pytest

from buildspec.read import read_folder
from buildspec.sections.rules import Rules, lines
from generator.evaluation import Evaluation, evaluate
from generator.rules.detail import Detail, Row

ROOT = Path(__file__).parents[3]
DAY = datetime.date(2026, 11, 25)
GROUPS = 22
"""Groups of the starter sheet, from vehicle and identification to ballast."""


def section(folder: Path) -> Rules:
    reading = read_folder(folder)
    assert reading.build is not None
    found = reading.build.section(Rules)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def example() -> Evaluation:
    reading = read_folder(ROOT / "example_build")
    assert reading.build is not None
    return evaluate(reading.build, as_of=DAY)


@pytest.fixture(scope="module")
def rows(example: Evaluation) -> list[Row]:
    detail = example.outcomes["rules"].detail
    assert isinstance(detail, Detail)
    return [r for leaf in detail.leaves for block in leaf.blocks for r in block.rows]


def test_all_states_are_there_and_a_third_does_not_apply(rows: list[Row]) -> None:
    states = Counter(r.rule.state for r in rows)
    assert set(states) == {"conforms", "departs", "open", "waived", "not applicable"}
    assert states["waived"] == 1
    assert 0.31 <= states["not applicable"] / len(rows) <= 0.36  # a third
    assert 85 <= len(rows) <= 125
    assert all(r.rule.reason for r in rows)


def test_one_departs_beside_a_healthy_margin_and_one_conforms_beside_a_short_one(
    rows: list[Row],
) -> None:
    healthy = [
        r
        for r in rows
        if r.rule.state == "departs" and any((c.margin or 0) > 0.5 for c in r.checks)
    ]
    short = [
        r
        for r in rows
        if r.rule.state == "conforms" and any(c.verdict == "short" for c in r.checks)
    ]
    assert healthy
    assert short


def test_every_id_that_the_example_names_leads_somewhere(
    example: Evaluation, rows: list[Row]
) -> None:
    assert example.problems == ()
    assert [r.key for r in rows if r.unknown] == []


def test_the_teams_own_lines_are_marked(rows: list[Row]) -> None:
    assert 4 <= sum(r.line.ours for r in rows) <= 12


def test_the_record_asks_for_two_inspectors(example: Evaluation) -> None:
    """208.6 mph lies above 200 and not above 250 mph."""
    detail = example.outcomes["rules"].detail
    assert isinstance(detail, Detail)
    assert detail.leaves[0].signers.count == 2


def test_the_starter_sheet_holds_no_clause_and_says_what_it_is() -> None:
    starter = section(ROOT / "generator" / "starter")
    sheet = starter.sheets[0]
    assert len(sheet.groups) == GROUPS
    assert {line.group for _, line in lines(starter)} == {g.id for g in sheet.groups}
    assert not any(line.clause or line.edition for _, line in lines(starter))
    assert not sheet.edition
    assert "memory aid, not a rulebook" in sheet.banner
    assert 85 <= len(sheet.requirements) <= 110
    assert all(line.title and len(line.title) < 45 for _, line in lines(starter))


def test_in_the_starter_nothing_is_answered_yet() -> None:
    """Every line of a new folder is open, or compares a value that the starter's build holds."""
    reading = read_folder(ROOT / "generator" / "starter")
    assert reading.build is not None
    found = evaluate(reading.build, as_of=DAY)
    answered = [r for r in found.requirements if r.state != "open" and r.subject == "rules"]
    assert [r.id for r in answered if r.state == "departs"] == []
    assert all(r.id.rsplit(".", 1)[1].startswith("chute_") for r in answered)  # no parachutes
    assert found.problems == ()
