"""What a real frame bears of the load at which a perfect one buckles: AISC 360 E3 for the whole frame.

The eigenvalue is that of straight tubes that never yield. E3 takes 0.877 of it for tubes that are not
straight, less where they yield before, and φ besides.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from generator.formulas import steel, tube
from generator.frame.model import Array
from generator.subjects.cage_strength import PHI, Pieces

STRAIGHT = PHI * float(steel.elastic_column(elastic=1.0))
"""φ · 0.877, the largest share of an elastic critical load that E3 counts on (Eq. E3-3)."""
SOURCE = (
    "ANSI/AISC 360-22, Eqs. E3-2 and E3-3 with the effective length that the frame's own critical "
    "load gives each pressed tube"
)


@dataclass(frozen=True)
class Asked:
    """multiple: the elastic critical factor that E3 asks for, at least 1 / STRAIGHT; piece: the one
    that yields too soon for the elastic rule and so asks for more, −1 for none."""

    multiple: float
    piece: int = -1


def asked(of: Pieces, forces: Array | None, multiple: float) -> Asked:
    """The elastic critical factor that the frame must have for E3 to bear the load.

    forces (p, s, 6): under a load whose critical factor is `multiple`; None: not known, the elastic
    rule alone. Each piece has F_e = multiple · P / A, so that its KL follows from the whole frame,
    and P / (φ P_n) ≤ 1 is multiple ≥ F_e A / (φ F_cr A_e).
    """
    elastic = np.zeros(len(of.outer)) if forces is None else _elastic(of, forces, multiple)
    some = np.flatnonzero(elastic > 0.0)
    if not some.size:
        return Asked(1.0 / STRAIGHT)
    fy, d, t = of.column[some], of.outer[some], of.wall[some]
    area = tube.area(outer=d, inner=of.inner[some])
    thin = steel.thinness(outer=d, wall=t)
    counted = steel.effective_area(modulus=of.modulus[some], strength=fy, thin=thin, area=area)
    stress = steel.column_stress(strength=fy, elastic=elastic[some])
    wanted = elastic[some] * area / (PHI * stress * counted)
    most = int(np.argmax(wanted))
    if wanted[most] <= 1.0 / STRAIGHT * (1.0 + 2e-3):  # E3-2 and E3-3 meet to 0.1 %
        return Asked(max(float(wanted[most]), 1.0 / STRAIGHT))
    return Asked(float(wanted[most]), int(some[most]))


def _elastic(of: Pieces, forces: Array, multiple: float) -> Array:
    """F_e of every piece (p,), Pa: its largest compression at the critical load, over its area."""
    pressed = np.maximum(-forces[..., 0], 0.0).max(axis=1)
    return np.asarray(multiple * pressed / tube.area(outer=of.outer, inner=of.inner))
