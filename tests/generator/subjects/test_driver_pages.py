"""The pages around the driver: every check and prescription stands there once, and what does not hold comes
before the drawings.
"""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from buildspec.read import read_folder
from generator.compose import compose
from generator.evaluation import Evaluation, evaluate, load_subjects
from tests.generator.subjects.scenes import evaluated

WORDS = ("egress", "fire", "gear", "clock", "reach", "vents", "rotating")
OURS = WORDS[1:]
ALL_HOLD = """format: 1
units: si
vehicle: {name: Wren}
rotating:
  factor: 1
  parts: [{id: wheel, x: 0 m, y: 0 m, z: 0 m, axis: x, radius: 0.2 m, half_width: 50 mm, spread_angle: 5°}]
  lines: [{id: feed, radius: 0 m, points: [{x: 1 m, y: 1 m, z: 0 m}, {x: 2 m, y: 1 m, z: 0 m}]}]
"""


def pages(found: Evaluation, words: tuple[str, ...]) -> dict[str, str]:
    files = compose(found, subjects=load_subjects(words)).files
    return {w: files[f"docs/{w}.md"].decode() for w in words}


@pytest.fixture(scope="module")
def example() -> tuple[Evaluation, dict[str, str]]:
    build = read_folder(Path("example_build")).build
    assert build is not None
    found = evaluate(build, as_of=datetime.date(2026, 11, 25), subjects=load_subjects(WORDS))
    return found, pages(found, WORDS)


@pytest.mark.parametrize("word", OURS)
def test_every_check_and_prescription_stands_on_its_page_once(
    example: tuple[Evaluation, dict[str, str]], word: str
) -> None:
    found, made = example
    outcome = found.outcomes[word]
    for known in (*outcome.checks, *outcome.requirements):
        assert made[word].count(f'id="{known.id}"') == 1, known.id


@pytest.mark.parametrize("word", ["fire", "reach", "vents", "rotating"])
def test_what_does_not_hold_comes_before_the_drawings_and_what_holds_after_them(
    example: tuple[Evaluation, dict[str, str]], word: str
) -> None:
    found, made = example
    drawing = made[word].index("<figure")
    checks = found.outcomes[word].checks
    assert {c.verdict == "holds" for c in checks} == {True, False}
    for check in checks:
        place = made[word].index(f'id="{check.id}"')
        assert (place > drawing) is (check.verdict == "holds"), check.id


def test_a_page_on_which_all_holds_says_so(tmp_path: Path) -> None:
    found = evaluated(tmp_path, ALL_HOLD, "rotating")
    assert {c.verdict for c in found.checks} == {"holds"}
    assert "Every check holds" in pages(found, ("rotating",))["rotating"]
