"""What a page folds away: figures that are many, and never what somebody must see."""

from __future__ import annotations

import datetime
import re
from functools import cache
from pathlib import Path

import pytest

from buildspec.read import read_folder
from generator.compose import compose
from generator.evaluation import evaluate

EXAMPLE = Path(__file__).parents[2] / "example_build"
MANY = 12  # more than these are folded


@cache
def pages() -> dict[str, str]:
    """The example's pages by their word."""
    reading = read_folder(EXAMPLE)
    assert reading.build is not None
    found = compose(evaluate(reading.build, as_of=datetime.date(2026, 11, 28))).files
    return {Path(name).stem: data.decode() for name, data in found.items() if name.endswith(".md")}


def folded(word: str) -> str:
    """All that stands in folds, but for worked steps' own."""
    page = re.sub(r"<section class=\"mb-worked\".*?</section>", "WORKED", pages()[word], flags=re.S)
    return "\n".join(re.findall(r'<details class="mb-more.*?</details>', page, re.DOTALL))


@pytest.mark.parametrize(
    "word", ["fire", "reach", "rotating", "vents", "mass", "egress", "parachutes", "stopping"]
)
def test_no_caution_and_no_verdict_but_that_all_holds_is_folded_away(word: str) -> None:
    assert folded(word)
    assert (
        re.findall(r"mb-(?:caution|verdict-short|verdict-open|state-departs)", folded(word)) == []
    )


@pytest.mark.parametrize("word", ["fire", "reach", "rotating", "vents"])
def test_results_and_steps_that_are_many_are_folded(word: str) -> None:
    (table,) = re.findall(
        r'<table class="mb-results"><caption class="mb-hidden">Results.*?</table>',
        pages()[word],
        re.DOTALL,
    )
    assert table.count("<tr id=") > MANY
    assert table in folded(word)
    whole = pages()[word].count('<section class="mb-worked"')
    assert folded(word).count("WORKED") == whole > MANY


def test_few_results_and_steps_stand_open() -> None:
    """The driver's minute has few steps, and its results are read as a page of their own."""
    assert "WORKED" not in folded("clock")
    assert 'class="mb-worked"' in pages()["clock"]
