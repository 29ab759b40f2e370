"""What it would take: for each tube that falls short, listed tubes that hold in its place.

Every candidate is tried by solving the whole frame again in first order, its twin changed along.
What second order added to the member before is added again in the same proportion.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from buildspec.sections.cage import Tube
from generator.formulas import tube as t
from generator.frame.model import Array, Frame, Indices
from generator.subjects import cage_frame
from generator.subjects.cage_checks import Known
from generator.subjects.cage_detail import Remedy
from generator.subjects.cage_geometry import pieces_of_lines
from generator.subjects.cage_members import permitted
from generator.subjects.cage_model import Model, resized
from generator.subjects.cage_strength import (
    NOTHING,
    Capacity,
    Pieces,
    Stations,
    acting,
    begins,
    capacity,
    over_rows,
    use,
)
from generator.subjects.cage_variations import first_order

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
class _Search:
    """Sizes that may stand in for a member and its twin, those nearest in mass first; less: they are
    lighter than its own."""

    member: int
    less: bool
    sizes: tuple[Tube, ...]


def remedies(k: Known, short: tuple[int, ...]) -> dict[int, tuple[Remedy, ...]]:
    """For members that fall short, the next lighter and the next heavier listed tube that holds."""
    if not short:
        return {}
    lines = k.model.geometry.lines
    chosen = tuple(dict.fromkeys(lines[n].ref for n in short))[:TRIED]
    most = min(SIZES, max(1, EFFORT // (2 * len(k.model.geometry.ends) * len(chosen))))
    searches = [s for ref in chosen for s in _searches(k, _first_of(k, short, ref), most)]
    holds = _found(k, searches, most)
    found: dict[str, list[Remedy]] = {ref: [] for ref in chosen}
    for n, search in enumerate(searches):
        found[lines[search.member].ref] += [holds[n]] if n in holds else []
    return {
        n: tuple(replace(r, member=lines[n].title) for r in found[lines[n].ref])
        for n in short
        if lines[n].ref in found
    }


def rows(k: Known, found: dict[int, tuple[Remedy, ...]]) -> tuple[Remedy, ...]:
    """Every remedy for the table, and a row without a tube where none of those tried holds. A tube
    and its twin, which are changed together, share their rows.
    """
    lines = k.model.geometry.lines
    alike: dict[str, list[int]] = {}
    for n in found:
        alike.setdefault(lines[n].ref, []).append(n)
    nothing = Remedy("", "", 0.0, 0.0, False, False, 0)
    named = (("; ".join(lines[n].title for n in own), found[own[0]]) for own in alike.values())
    return tuple(
        replace(one, member=member) for member, some in named for one in some or (nothing,)
    )


def _first_of(k: Known, short: tuple[int, ...], ref: str) -> int:
    """The one of a tube and its twin that is used most."""
    return next(n for n in short if k.model.geometry.lines[n].ref == ref)


def _searches(k: Known, member: int, most: int) -> Iterator[_Search]:
    """The lighter sizes to try in place of a member, and the others."""
    own = k.model.stock.tubes[k.model.tube(member)]
    here = line_mass(k.model, own)
    listed = sorted(
        ((line_mass(k.model, tube), tube.id, tube) for tube in k.model.stock.tubes.values()),
        key=lambda one: one[:2],
    )
    for less in (True, False):
        some = [tube for mass, _, tube in listed if _may(tube, own) and (mass < here) == less]
        nearest = some[::-1][:most] if less else some[:most]
        yield _Search(member, less, tuple(s for s in nearest if promising(k, member, s)))


def _found(k: Known, searches: Sequence[_Search], most: int) -> dict[int, Remedy]:
    """The first size of each search that holds, by the search's number: all searches try their next
    sizes together, round by round."""
    found: dict[int, Remedy] = {}
    for turn in range(most):
        left = [n for n, s in enumerate(searches) if n not in found and turn < len(s.sizes)]
        tries = tried(k, [(searches[n], searches[n].sizes[turn]) for n in left])
        found |= {n: remedy for n, remedy in zip(left, tries, strict=True) if remedy.holds}
    return found


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
    return float(k.most[:, member].max()) * modulus[0] / modulus[1] <= FAR


def tried(k: Known, trials: Sequence[tuple[_Search, Tube]]) -> tuple[Remedy, ...]:
    """The frame with another tube in a member and its twin, once for each trial."""
    m = k.model
    sections = [
        cage_frame.swapped(
            m.cage, m.geometry, m.stock, m.sections, dict.fromkeys(family(m, s.member), tube.id)
        )
        for s, tube in trials
    ]
    frames = [cage_frame.stiffened(m.cage, m.frame, of) for of in sections]
    solved = map(_Trial, sections, _forces(k, frames))
    return tuple(_remedy(k, *one, trial) for one, trial in zip(trials, solved, strict=True))


@dataclass(frozen=True, eq=False)
class _Trial:
    """A variation of the frame: its sections, and section forces (c, p, s, 6) in first order in the cases
    that have an answer; None without a solution."""

    sections: cage_frame.Sections
    forces: Array | None


def _forces(k: Known, frames: Sequence[Frame]) -> tuple[Array | None, ...]:
    """Section forces of every frame, as a trial has them."""
    pairs = zip(k.model.solved, k.s.row, strict=True)
    setups = tuple(k.model.setups[n] for n, row in pairs if row >= 0)
    return first_order(frames, setups, k.found.at)


def _remedy(k: Known, search: _Search, tube: Tube, trial: _Trial) -> Remedy:
    """What another tube in a member and its twin comes to; the other members, whose tubes are as they
    were, matter where it holds."""
    own = np.array(family(k.model, search.member))
    some = pieces_of_lines(k.model.geometry, own)
    pieces = resized(k.s.pieces, trial.sections).only(some)
    after = _first(k, trial.forces, pieces, capacity(pieces), k.s.places.only(some))
    used, others = float(_grown(k, after, own).max()), 0
    if used <= 1.0:
        after = _first(k, trial.forces, k.s.pieces, k.s.has, k.s.places)
        beyond = (k.most.max(axis=0) <= 1.0) & (_grown(k, after, slice(None)) > 1.0)
        others = int(beyond.sum() - beyond[own].sum())
    return Remedy(
        member=k.model.geometry.lines[search.member].title,
        tube=tube.name,
        margin=1.0 / used - 1.0,
        mass=_more(k.model, search.member, tube),
        holds=used <= 1.0,
        lighter=search.less,
        others=others,
    )


def _grown(k: Known, after: Array, members: Indices | slice) -> Array:
    """The utilisations that are to be expected of members which come to `after` in first order, second
    order in proportion."""
    now, before = k.most.max(axis=0)[members], k.s.first.max(axis=0)[members]
    known = before > NOTHING
    return np.where(known, now * after / np.where(known, before, 1.0), after)


def _first(
    k: Known, forces: Array | None, pieces: Pieces, has: Capacity, places: Stations
) -> Array:
    """The largest utilisation of each member of some pieces under section forces (c, p, s, 6) of all, inf
    where there are none."""
    first = begins(pieces.member)
    if forces is None:
        return np.full(len(first), np.inf)
    on, yields = acting(places.components(tuple(forces))), permitted(k.model, k.s.row)
    used = use(pieces, has, on, ultimate=yields, multiple=k.s.multiple)
    return np.asarray(over_rows(np.maximum, used.both, first).max(axis=(0, 1)))


def _more(model: Model, member: int, tube: Tube) -> float:
    """How much heavier the frame gets, kg, twin included."""
    own = model.stock.tubes[model.tube(member)]
    length = sum(model.geometry.lines[n].length for n in family(model, member))
    return (line_mass(model, tube) - line_mass(model, own)) * length
