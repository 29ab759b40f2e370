"""Departures are counted by one rule on the front page, in the trends and on the public front page."""

from __future__ import annotations

from pathlib import Path

from generator.overview import overview
from generator.results import as_data
from generator.revisions.public import counts_of
from generator.revisions.trends import figures_of
from tests.generator.subjects.scenes import evaluated

TEXT = """format: 1
vehicle: {name: Wren}
event: {name: Trials, date: 2027-05-15}
gear:
  items:
    - {id: suit, type: suit, expires: 2027-01-01, covers: [torso]}
    - {id: gloves, type: gloves, expires: 2027-01-01, covers: [hands]}
rules:
  sheets:
    - id: s
      title: S
      groups: [{id: g, title: G}]
      requirements:
        - {id: life, group: g, statement: The suit is in date., follows: [gear.requirement.life.suit]}
"""


def test_a_prescription_that_a_line_follows_counts_once_everywhere(tmp_path: Path) -> None:
    """Suit and gloves ran out; a line follows the suit's. Two departures by hand: gloves, and the line."""
    found = evaluated(tmp_path, TEXT, "gear", "rules")
    assert [r.state for r in found.requirements] == ["departs"] * 3
    front = overview(found, {w: w for w in found.outcomes})
    assert front.total.departs == 2
    assert {t.word: t.departs for t in front.tallies} == {"gear": 1, "rules": 1}
    assert (figures_of(found).departs, figures_of(found).rules) == (2, 2)
    assert counts_of(as_data(found)).departs == 2
