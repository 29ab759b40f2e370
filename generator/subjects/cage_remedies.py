"""What it would take: for each tube that falls short, listed tubes that hold in its place.

Every candidate is tried by solving the whole frame again in first order, its twin changed along.
What second order added to the member before is added again in the same proportion.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from buildspec.sections.cage import Tube
from generator.formulas import tube as t
from generator.frame.model import Array
from generator.subjects.cage_checks import Known, in_first_order
from generator.subjects.cage_detail import Remedy
from generator.subjects.cage_model import Model, swapped
from generator.subjects.cage_solve import Plans
from generator.subjects.cage_strength import NOTHING

TRIED = 6
"""Tubes that are tried again, each with its twin, those most over their limit first; a frame with
more than that needs another design rather than another tube."""
FAR = 2.0
"""Utilisation by bending alone, forces unchanged, beyond which a size is not tried."""
SIZES = 8
"""Listed sizes tried either way from a member's own."""
EFFORT = 15_000
"""Pieces times trials that a description may cost at most: half a second or so."""


@dataclass(frozen=True, eq=False)
class _Trials:
    """What every trial is held against: utilisations in first order (m,) as things are, and the
    numberings that trials share."""

    before: Array
    plans: Plans


def remedies(
    k: Known, short: tuple[int, ...], plain: Array | None
) -> dict[int, tuple[Remedy, ...]]:
    """For members that fall short, the next lighter and the next heavier listed tube that holds.

    plain (c, m): utilisations in first order (`in_first_order`)."""
    if not short:
        return {}
    lines, before = k.model.geometry.lines, _Trials(_most(k, plain), {})
    chosen = tuple(dict.fromkeys(lines[n].ref for n in short))[:TRIED]
    most = min(SIZES, max(1, EFFORT // (2 * len(k.model.geometry.ends) * len(chosen))))
    found = {ref: tuple(_of(k, _first_of(k, short, ref), before, most)) for ref in chosen}
    return {
        n: tuple(replace(r, member=lines[n].title) for r in found[lines[n].ref])
        for n in short
        if lines[n].ref in found
    }


def rows(k: Known, found: dict[int, tuple[Remedy, ...]]) -> tuple[Remedy, ...]:
    """Every remedy for the table, and a row without a tube where none of those tried holds."""
    lines = k.model.geometry.lines
    nothing = {n: Remedy(lines[n].title, "", 0.0, 0.0, False, False, 0) for n in found}
    return tuple(r for n, some in found.items() for r in some or (nothing[n],))


def _first_of(k: Known, short: tuple[int, ...], ref: str) -> int:
    """The one of a tube and its twin that is used most."""
    return next(n for n in short if k.model.geometry.lines[n].ref == ref)


def _of(k: Known, member: int, before: _Trials, most: int) -> Iterator[Remedy]:
    own = k.model.stock.tubes[k.model.tube(member)]
    listed = sorted(
        (tube for tube in k.model.stock.tubes.values() if _may(tube, own)),
        key=lambda tube: (line_mass(k.model, tube), tube.id),
    )
    here = line_mass(k.model, own)
    lighter = [tube for tube in listed if line_mass(k.model, tube) < here][::-1]
    heavier = [tube for tube in listed if line_mass(k.model, tube) >= here]
    for some, less in ((lighter, True), (heavier, False)):
        likely = (tube for tube in some[:most] if promising(k, member, tube))
        tries = (tried(k, member, tube, before, less=less) for tube in likely)
        yield from islice((r for r in tries if r.holds), 1)


def _may(tube: Tube, own: Tube) -> bool:
    """Whether a size may stand in: another one, of the same material."""
    return tube.id != own.id and tube.material == own.material


def line_mass(model: Model, tube: Tube) -> float:
    """Mass per length of a listed size, kg/m."""
    inner = t.inner_diameter(outer=tube.outer.si, wall=tube.wall.si)
    density = model.stock.stuff[tube.material].density.si
    return float(t.line_mass(outer=tube.outer.si, inner=inner, density=density))


def family(model: Model, member: int) -> tuple[int, ...]:
    """A member and its twin: they are cut from one list."""
    ref = model.geometry.lines[member].ref
    return tuple(n for n, line in enumerate(model.geometry.lines) if line.ref == ref)


def promising(k: Known, member: int, tube: Tube) -> bool:
    """Whether a size is worth solving the frame with: by the forces as they are, it is not far off.

    Another size shifts forces, in a frame of many tubes by less than a factor of FAR.
    """
    own = k.model.stock.tubes[k.model.tube(member)]
    modulus = [
        float(t.elastic_modulus(outer=one.outer.si, inner=one.outer.si - 2.0 * one.wall.si))
        for one in (own, tube)
    ]
    return _now(k, member) * modulus[0] / modulus[1] <= FAR


def tried(k: Known, member: int, tube: Tube, trials: _Trials, *, less: bool) -> Remedy:
    """The frame with another tube in a member and its twin."""
    own = family(k.model, member)
    changed = swapped(k.model, dict.fromkeys(own, tube.id))
    before, after = trials.before, _most(k, in_first_order(k, changed, trials.plans))
    used = max(_grown(k, before, after, n) for n in own)
    others = (n for n in range(len(k.model.geometry.lines)) if n not in own)
    return Remedy(
        member=k.model.geometry.lines[member].title,
        tube=tube.name,
        margin=1.0 / used - 1.0,
        mass=_more(k.model, member, tube),
        holds=used <= 1.0,
        lighter=less,
        others=sum(_now(k, n) <= 1.0 < _grown(k, before, after, n) for n in others),
    )


def _most(k: Known, used: Array | None) -> Array:
    """The largest of utilisations (c, m) over all cases (m,); inf where there are none."""
    return np.full(len(k.model.geometry.lines), np.inf) if used is None else used.max(axis=0)


def _now(k: Known, member: int) -> float:
    return float(k.most[:, member].max()) if len(k.most) else np.inf


def _grown(k: Known, before: Array, after: Array, member: int) -> float:
    """The utilisation that is to be expected after a change, second order in proportion."""
    if before[member] <= NOTHING:
        return float(after[member])
    return float(_now(k, member) * after[member] / before[member])


def _more(model: Model, member: int, tube: Tube) -> float:
    """How much heavier the frame gets, kg, twin included."""
    own = model.stock.tubes[model.tube(member)]
    length = sum(model.geometry.lines[n].length for n in family(model, member))
    return (line_mass(model, tube) - line_mass(model, own)) * length
