"""What a real frame bears of the load at which a perfect one buckles: AISC 360 E3 for the whole frame.

The eigenvalue is that of straight tubes that never yield. E3 takes 0.877 of it for tubes that are not
straight, less where they yield before, and φ besides.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from generator.formulas import steel
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


def asked(of: Pieces, pressed: Array, multiple: Array) -> tuple[Asked, ...]:
    """The elastic critical factors that the frame must have in c cases for E3 to bear the load.

    pressed (c, p) N: the largest compression of each piece, 0 where it is not known and the elastic
    rule counts alone, under loads whose critical factors are `multiple` (c,). Each piece has F_e =
    multiple · P / A, so that its KL follows from the whole frame, and P / (φ P_n) ≤ 1 is
    multiple ≥ F_e A / (φ F_cr A_e).
    """
    fy, thin, area = of.column, steel.thinness(outer=of.outer, wall=of.wall), of.area
    counted = steel.effective_area(modulus=of.modulus, strength=fy, thin=thin, area=area)
    elastic = multiple[:, None] * pressed / area
    stress = steel.column_stress(strength=fy, elastic=np.where(elastic > 0.0, elastic, fy))
    wanted = elastic * area / (PHI * stress * counted)
    most = np.argmax(wanted, axis=1).tolist()
    rows = zip(most, wanted.max(axis=1).tolist(), strict=True)
    return tuple(_asked(piece, multiple_) for piece, multiple_ in rows)


def _asked(piece: int, multiple: float) -> Asked:
    """What the piece asks that asks most: it is not told where the elastic rule asks as much."""
    if multiple <= 1.0 / STRAIGHT * (1.0 + 2e-3):  # E3-2 and E3-3 meet to 0.1 %
        return Asked(max(multiple, 1.0 / STRAIGHT))
    return Asked(multiple, piece)
