"""Pairs of small descriptions whose differences are known by hand."""

from __future__ import annotations

import datetime

from buildspec.plain import Patch, patched
from buildspec.read import Reading
from generator.evaluation import evaluate
from generator.revisions.compare import Comparison, Side, compare
from tests.buildspec.descriptions import reading_of

DAY = datetime.date(2026, 9, 1)
CAR = """format: 1
units: us
vehicle: {name: Brass Heron}
mass:
  items:
    - {id: frame, name: Frame, mass: 100 lb, x: 60 in, z: 15 in, basis: measured, source: scale}
    - {id: engine, name: Engine, mass: 200 lb, x: 90 in, z: 15 in, basis: measured, source: scale}
  conditions: [{id: start_line}]
  design_condition: start_line
  limits: {total: 400 lb}
"""


def side(reading: Reading, name: str = "now", day: datetime.date = DAY) -> Side:
    """A description as one side of a comparison; it must be readable."""
    assert reading.build is not None, reading.problems
    return Side(name, reading.data, evaluate(reading.build, as_of=day))


def side_of(text: str, name: str = "now", day: datetime.date = DAY, **others: str) -> Side:
    """The same from the text of `build.yaml`."""
    return side(reading_of(text, **others), name, day)


def edited(text: str, *pairs: tuple[str, str]) -> str:
    """The text with each first of a pair, which stands in it once, exchanged for the second."""
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def between(*pairs: tuple[str, str], text: str = CAR) -> Comparison:
    """The comparison of a description with an edited one."""
    return compare(side_of(text, "before"), side_of(edited(text, *pairs)))


__all__ = ["CAR", "DAY", "Patch", "between", "edited", "patched", "side", "side_of"]
