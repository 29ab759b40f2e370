"""What is said of bent tubes, which flatten as they are bent further."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from generator.formulas.cage import (
    PIPING,
    SECTION_III,
    bend_flexibility,
    bend_limit_index,
    bend_stress_index,
)
from generator.subjects.cage_model import Model
from generator.vocabulary import Assumption

WORD = "cage"
SAID = (
    "A bent tube flattens under a moment. In its bends the bending stiffness is that of a straight tube "
    "over k = 1.65 / h, and the flexural strength that over B₂ = 1.30 / h^(2/3), an index by the moment "
    "under which a bend gives way. Where nothing may be bent afterwards, the stress is the peak elastic one, C₂ = "
    "1.95 / h^(2/3) times that of a straight tube; where yielding is permitted, B₂ times. h is wall × bend radius "
    "over the square of the wall's mean radius; no factor is under 1, and torsion has none. A bend of under 90°, or "
    "with a brace welded to it, flattens less; one that came oval from the bender bears less: measure it"
)


def assumptions(model: Model) -> Iterator[Assumption]:
    """How the bends of this frame are counted, with their figures; nothing where no tube is bent."""
    figures = _figures(model)
    if figures:
        yield Assumption(
            f"{WORD}.assumption.bends",
            f"{SAID}. {'; '.join(figures)}.",
            WORD,
            f"{PIPING}; {SECTION_III}B2 as quoted in a paper on it, C2 from memory",
        )


def _figures(model: Model) -> list[str]:
    """Factors of every bent tube, twins left out."""
    h = model.sections.bent
    every = (bend_flexibility, bend_limit_index, bend_stress_index)
    factors = [np.maximum(1.0, factor(bend=h)) for factor in every]
    said = []
    for line in model.geometry.lines:
        bent = [p for p in line.pieces if model.geometry.bend[p]]
        if bent and not line.twin_of:
            k, b, c = (float(of[bent[0]]) for of in factors)
            said.append(f"{line.title}: k {k:.2f}, B₂ {b:.2f}, C₂ {c:.2f}")
    return said
