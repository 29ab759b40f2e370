"""How far off a member's margin may be: first order, of what is cheap and matters most."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from generator.checks import probability_short
from generator.frame.model import Array
from generator.subjects.cage_checks import Doubt, Known
from generator.subjects.cage_members import Worst, permitted
from generator.subjects.cage_model import resized
from generator.subjects.cage_stock import as_welded
from generator.subjects.cage_strength import begins, capacity, over_rows, use
from generator.vocabulary import Result

FAR = 6.0
"""Standard uncertainties beyond which nothing is likely: a billionth."""
SAID = (
    "The spread of a margin counts that of the forces of its case, taken as off together, of the "
    "tube's own wall, outer diameter and bend radius with the forces unchanged, and of its strength there, weld or "
    "tube. It does not count how a thinner tube would shift forces to others, how stiff it is, nor where the "
    "joints are. How likely a tube falls short is told by the case in which that is most likely."
)


def doubts(k: Known) -> tuple[Doubt, ...]:
    """Relative standard uncertainties of every member's demand and capacity."""
    wall, outer = _sizes(k)
    by = (_moved(k, "wall", wall), _moved(k, "outer", outer), _moved(k, "radius", _bends(k)))
    first = begins(k.model.geometry.line)
    used = over_rows(np.maximum, k.s.borne.max(axis=0), first).T.tolist()
    sure = _sure(k)
    return tuple(_doubt(k, n, by, used[n], sure=sure) for n in range(len(used)))


def _sure(k: Known) -> bool:
    """Whether no strength has a spread, of no tube and of no weld."""
    welds = (q for j in k.model.stock.joinings for q in (j.yield_strength, j.ultimate_strength))
    stated = (k.model.cage.weld_share, *welds)
    tubes = (p for s in k.model.stock.stuff.values() for p in s.properties)
    return not (
        any(q.standard_uncertainty for q in stated if q is not None)
        or any(p.standard_uncertainty for p in tubes)
    )


def _sizes(k: Known) -> tuple[Array, Array]:
    """Standard uncertainties of counted wall and outer diameter of each piece, m."""
    g, stock = k.model.geometry, k.model.stock
    wall = np.array([w.standard_uncertainty for w in stock.walls])
    outer = np.array([stock.tubes[line.tube].outer.standard_uncertainty for line in g.lines])
    return wall[g.line], outer[g.line]


def _bends(k: Known) -> Array:
    """Standard uncertainty of the bend radius of each piece, m; 0 where it is straight."""
    radii = (getattr(line.own, "radius", None) for line in k.model.geometry.lines)
    off = np.array([0.0 if q is None else q.standard_uncertainty for q in radii])
    bent = np.isfinite(k.model.sections.radius)
    return np.asarray(np.where(bent, off[k.model.geometry.line], 0.0))


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


def _doubt(
    k: Known, member: int, by: tuple[Change, ...], used: list[float], *, sure: bool
) -> Doubt:
    """The doubt of a member; `used` (c): its largest share of every case that has forces."""
    w = k.worst(member)
    if w is None or w.now <= 0.0:
        return Doubt()
    sizes = math.hypot(*(change(w) for change in by))
    demand = math.hypot(k.model.cases[w.case].spread, sizes)
    here = Doubt(demand, 0.0 if sure else _strength(k, member, w))
    return _elsewhere(k, w, used, sizes, here)


def _strength(k: Known, member: int, w: Worst) -> float:
    """Relative standard uncertainty of the strength that counts where a member is used most: beside a
    weld that of the weld; AISC 360 takes a column's from the tube as well, so the larger of both.
    """
    m, stuff = k.model, k.model.stuff(member)
    ultimate = int(m.cases[w.case].criterion == "ultimate" and w.criterion == 0)
    counted = [(stuff.yield_strength, stuff.ultimate_strength)[ultimate]]
    share = float(k.s.places.at[w.piece, w.station])
    for side, part in enumerate((share, 1.0 - share)):
        joint, length = int(m.zones.joint[w.piece, side]), float(m.geometry.true_length[w.piece])
        if joint >= 0 and part * length <= m.zones.width[w.piece, side] * (1 + 1e-9):
            counted.append(as_welded(m.cage, stuff, m.stock.joinings[joint])[ultimate])
    some = counted if w.criterion else [min(counted, key=lambda p: p.si)]
    return max(p.standard_uncertainty / p.si for p in some)


def _elsewhere(k: Known, w: Worst, used: list[float], sizes: float, here: Doubt) -> Doubt:
    """`here` with the case, among those that use the member less, in which it falls short most likely:
    a force that is hardly known may be too much sooner than one that is larger and known.
    """
    rows = ((n, c, r) for n, (c, r) in enumerate(zip(k.model.cases, k.s.row, strict=True)))
    likely = [
        (_short(used[row], math.hypot(case.spread, sizes), here.capacity), number)
        for number, case, row in rows
        if row >= 0 and number != w.case
    ]
    short, case = max(likely, default=(0.0, -1))
    return replace(here, short=short, case=case)


def _short(used: float, demand: float, capacity: float) -> float:
    """How likely a share `used` with that relative doubt exceeds a strength of 1 with its own."""
    spread = math.hypot(used * demand, capacity)
    if spread <= 0.0 or 1.0 - used > FAR * spread:
        return 0.0
    share = Result("", "", used, "ratio", used * demand)
    return probability_short(share, Result("", "", 1.0, "ratio", capacity), 1.0) or 0.0
