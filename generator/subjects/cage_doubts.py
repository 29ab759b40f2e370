"""How far off a member's margin may be: first order, of what is cheap and matters most."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from generator.frame.model import Array
from generator.subjects.cage_checks import Doubt, Known
from generator.subjects.cage_loads import Case
from generator.subjects.cage_members import Worst, permitted
from generator.subjects.cage_model import resized
from generator.subjects.cage_strength import capacity, use

SAID = (
    "The spread of a margin counts that of the forces of its case, taken as off together, of the "
    "tube's own wall and outer diameter with the forces unchanged, and of its strength. It does not "
    "count how a thinner tube would shift forces to others, nor where the joints are."
)


def doubts(k: Known) -> tuple[Doubt, ...]:
    """Relative standard uncertainties of every member's demand and capacity."""
    wall, outer = _sizes(k)
    by_wall, by_outer = _moved(k, "wall", wall), _moved(k, "outer", outer)
    return tuple(_doubt(k, n, by_wall, by_outer) for n in range(len(k.model.geometry.lines)))


def _sizes(k: Known) -> tuple[Array, Array]:
    """Standard uncertainties of counted wall and outer diameter of each piece, m."""
    g, stock = k.model.geometry, k.model.stock
    wall = np.array([w.standard_uncertainty for w in stock.walls])
    outer = np.array([stock.tubes[line.tube].outer.standard_uncertainty for line in g.lines])
    return wall[g.line], outer[g.line]


Change = Callable[[Worst], float]


def _moved(k: Known, name: str, by: Array) -> Change:
    """What one standard uncertainty of a size does to a utilisation, relative to it."""
    if not by.any() or not len(k.s.multiple):
        return lambda w: 0.0
    low, high = (_used(k, name, sign * by) for sign in (-1.0, 1.0))

    def change(w: Worst) -> float:
        at = (w.criterion, k.s.row[w.case], w.piece, w.station)
        return float(low[at] - high[at]) / 2.0 / w.now

    return change


def _used(k: Known, name: str, by: Array) -> Array:
    """Both utilisations (2, c, p, s) with a size changed and the forces as they were."""
    sections = replace(k.model.sections, **{name: getattr(k.model.sections, name) + by})
    pieces = resized(k.s.pieces, sections)
    yields, multiple = permitted(k.model, k.s.row), k.s.multiple
    return use(pieces, capacity(pieces), k.s.on, ultimate=yields, multiple=multiple).both


def _doubt(k: Known, member: int, wall: Change, outer: Change) -> Doubt:
    w = k.worst(member)
    if w is None or w.now <= 0.0:
        return Doubt()
    stuff = k.model.stuff(member)
    ultimate = k.model.cases[w.case].criterion == "ultimate" and w.criterion == 0
    strength = stuff.ultimate_strength if ultimate else stuff.yield_strength
    demand = np.linalg.norm((force_spread(k.model.cases[w.case]), wall(w), outer(w)))
    return Doubt(float(demand), strength.standard_uncertainty / strength.si)


def force_spread(case: Case) -> float:
    """The largest relative standard uncertainty among a case's forces."""
    sizes = (pull.size for pull in case.pulls)
    return max((s.standard_uncertainty / s.value for s in sizes if s.value), default=0.0)
