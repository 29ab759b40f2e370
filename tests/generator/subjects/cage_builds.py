"""Frames written as a team would write them, for the tests of the subject `cage`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from generator.evaluation import Evaluation
from generator.subjects.cage_detail import Detail, Figures, MemberLine
from generator.vocabulary import Outcome
from tests.generator.subjects.scenes import evaluated

STEEL = (
    "{id: steel, modulus: 29000 ksi, poisson: 0.3, density: 0.284 lb/in³, yield_strength: 42 ksi, "
    "ultimate_strength: 58 ksi}"
)
NO_WELD = "weld_share: 100 %"
"""Tubes as strong beside a weld as elsewhere."""


def cage(
    nodes: Mapping[str, str],
    members: Iterable[str],
    cases: Iterable[str],
    *,
    supports: Iterable[str] = (),
    tubes: Iterable[str] = ("{id: t, outer: 1.75 in, wall: 0.095 in, material: steel}",),
    material: str = STEEL,
    more: Iterable[str] = (NO_WELD, "beams: euler"),
) -> str:
    """The text of a description: nodes as `x, y, z` with their units, the rest as flow mappings."""
    lines = ["cage:", "  nodes:"]
    for name, at in nodes.items():
        x, y, z = (part.strip() for part in at.split(","))
        lines.append(f"    - {{id: {name}, x: {x}, y: {y}, z: {z}}}")
    for word, entries in (
        ("tubes", tubes),
        ("materials", (material,)),
        ("members", members),
        ("supports", supports),
        ("load_cases", cases),
    ):
        block = [f"    - {entry}" for entry in entries]
        lines += [f"  {word}:", *block] if block else []
    return "\n".join((*lines, *(f"  {line}" for line in more), ""))


def solve(folder: Path, text: str) -> Evaluation:
    """The evaluation of the subject `cage` alone."""
    return evaluated(folder, text, "cage")


def detail(found: Evaluation) -> Detail:
    """The page's record."""
    made = outcome(found).detail
    assert isinstance(made, Detail)
    return made


def outcome(found: Evaluation) -> Outcome:
    """The outcome of the subject."""
    return found.outcomes["cage"]


def member(found: Evaluation, name: str) -> MemberLine:
    """One member of the table."""
    return next(m for m in detail(found).members if m.id == name)


def figures(found: Evaluation, name: str, case: int = 0) -> Figures:
    """One member's figures in one case, which has an answer."""
    made = member(found, name).figures[case]
    assert made is not None
    return made
