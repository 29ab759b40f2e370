"""Each member's figures and check: the worst over cases, pieces and stations."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from itertools import chain

import numpy as np

from generator.frame.model import Array, Flags, Indices
from generator.subjects.cage_detail import Figures
from generator.subjects.cage_direct import SOFT
from generator.subjects.cage_geometry import joint_called
from generator.subjects.cage_model import Model, decides, pieces_of
from generator.subjects.cage_solve import Answer
from generator.subjects.cage_strength import (
    Acting,
    Capacity,
    Pieces,
    Stations,
    Use,
    acting,
    begins,
    capacity,
    grown,
    over_rows,
    stations_of,
    use,
)

WORD = "cage"
ALIKE = 1e-9
"""Relative difference under which two utilisations count as one."""
CRITERIA = ("stress at the wall", "member strength, AISC 360")


@dataclass(frozen=True, eq=False)
class Strengths:
    """Utilisations of every case that has forces: `row` (i) is a case's place in them, −1 none.
    `multiple` (c,): the factor on the forces at which the frame buckles; first (c, m): the largest
    utilisation of every member in first order. Of both criteria, (2, c, p, s): added: utilisations by
    what second order and leaning add, alone; borne: the share that the load is of what it may grow
    to, the utilisation itself where nothing is added or it is 1 or more."""

    places: Stations
    pieces: Pieces
    has: Capacity
    on: Acting
    multiple: Array
    use: Use
    row: tuple[int, ...]
    first: Array
    added: Array
    borne: Array


@dataclass(frozen=True)
class Worst:
    """Where a member is used most: case and place, piece and station, and by which of CRITERIA;
    utilisation: the share that the load is of what it may grow to there; now: that of its strength."""

    case: int
    piece: int
    station: int
    criterion: int
    utilisation: float
    now: float


def strengths(model: Model, found: Answer) -> Strengths:
    """Utilisations of all pieces in all cases that have forces."""
    solved = [found.cases[n] if n >= 0 else None for n in model.solved]
    known = [n for n, c in enumerate(solved) if c and c.design is not None and c.plain is not None]
    row = tuple(known.index(n) if n in known else -1 for n in range(len(solved)))
    multiple = np.array([_multiple(model, found, n) for n in known])
    places = stations_of(found.at)
    pieces = pieces_of(model, places.at)
    has, yields = capacity(pieces), permitted(model, row)
    whole, first = (
        places.components([f for n in known if (f := getattr(solved[n], of)) is not None])
        for of in ("design", "plain")
    )
    on, added = acting(whole), acting(whole - first)
    used = use(pieces, has, on, ultimate=yields, multiple=multiple)
    plain = use(pieces, has, acting(first), ultimate=yields, multiple=multiple)
    more = use(pieces, has, added, ultimate=yields, multiple=multiple, part_of=on).both
    borne = grown(used.both, more, SOFT * multiple)
    most = most_of(model, plain)
    return Strengths(places, pieces, has, on, multiple, used, row, most, more, borne)


def _multiple(model: Model, found: Answer, number: int) -> float:
    """The factor on a case's factored load at which the frame buckles, inf where it does not."""
    at = model.solved[number]
    critical = found.cases[at].critical
    return critical.factor / model.setups[at].factor if critical else np.inf


def permitted(model: Model, row: tuple[int, ...]) -> Flags:
    """Which of the cases with forces may yield, (c,)."""
    pairs = zip(model.cases, row, strict=True)
    return np.array([c.criterion == "ultimate" for c, at in pairs if at >= 0], dtype=bool)


def most_of(model: Model, used: Use) -> Array:
    """The largest utilisation of every member in every case that has forces, (c, m)."""
    return np.asarray(over_rows(np.maximum, used.both, begins(model.geometry.line)).max(axis=0))


def worsts(model: Model, s: Strengths) -> tuple[Worst | None, ...]:
    """Where every member is used most over all cases; None where no case has forces.

    Of places used alike, to a billionth, the first counts: which one must not hang on rounding.
    """
    if not s.borne.size:
        return (None,) * len(model.geometry.lines)
    line = model.geometry.line
    most = over_rows(np.maximum, s.borne, begins(model.geometry.line)).reshape(
        -1, len(model.geometry.lines)
    )
    limit = most.max(axis=0) * (1.0 - ALIKE)
    criterion, row = np.divmod(np.argmax(most >= limit, axis=0), len(s.multiple))
    there = s.borne[criterion[line], row[line], np.arange(len(line))]
    piece, station = np.nonzero(there >= limit[line][:, None])
    _, first = np.unique(line[piece], return_index=True)
    at = (criterion, row, piece[first], station[first])
    used, now = (of[at].tolist() for of in (s.borne, s.use.both))
    rows = zip(*(part.tolist() for part in at), used, now, strict=True)
    return tuple(Worst(s.row.index(r), p, i, c, one, own) for c, r, p, i, one, own in rows)


def figures(model: Model, s: Strengths) -> tuple[tuple[Figures | None, ...], ...]:
    """Every member's figures in every case, None where the case has no answer: (m)(c)."""
    first, moment = begins(model.geometry.line), s.on.moment
    most = partial(over_rows, np.maximum, first=first)
    last = np.append(first[1:], len(model.geometry.ends)) - 1
    pull, push = most(s.on.normal), over_rows(np.minimum, s.on.normal, first)
    forces = (np.where(pull >= -push, pull, push), most(s.on.across))
    ends = moment[:, first, 0], moment[:, last, -1]
    moments = (most(s.on.twist), *ends, most(_inner(s, first, last)))
    columns = (*_sure(forces), *_sure(moments), most(s.use.stress), *most(s.use.both))
    table = [list(map(Figures._make, rows)) for rows in np.stack(columns, axis=-1).tolist()]
    cases = [None if row < 0 else table[row] for row in s.row]
    return tuple(
        tuple(case[member] if case else None for case in cases) for member in range(len(first))
    )


def _sure(columns: tuple[Array, ...]) -> Array:
    """Forces, or moments, of every case and member with 0 for what is rounding beside the largest."""
    every = np.stack(columns)
    largest = np.abs(every).max(axis=(0, 2), initial=0.0)
    return np.where(np.abs(every) > ALIKE * largest[None, :, None], every, 0.0)


def _inner(s: Strengths, first: Indices, last: Indices) -> Array:
    """Moments with those at the members' own ends left out."""
    inner = s.on.moment.copy()
    for piece, end in ((first, 0.0), (last, 1.0)):
        inner[:, piece] = np.where(s.places.at[piece] == end, 0.0, inner[:, piece])
    return inner


# ------------------------------------------------------------------------ checks


def whole(model: Model, own: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    """The values that every tube's share of the loads depends on, since the frame shares them out;
    `own`: those of each tube."""
    cage = model.cage
    welds = (q for w in cage.welds for q in (w.zone, w.yield_strength, w.ultimate_strength))
    shares = (q for entry in cage.masses for q in entry.shares)
    others = (cage.weld_share, cage.weld_zone, *welds, *shares)
    ids = (q.id for q in others if q is not None)
    return tuple(dict.fromkeys((*chain.from_iterable(own), *ids)))


@dataclass(frozen=True)
class Reason:
    """Why a member that is not known to fall short cannot be said to hold, "" for no reason;
    decides: whether what is known of its material may carry a verdict."""

    words: str
    decides: bool


def reasons(model: Model, s: Strengths, found: Answer) -> tuple[Reason, ...]:
    """What keeps each member from being said to hold."""
    pairs = zip(model.cases, model.solved, strict=True)
    whys = ((c, c.absent if at < 0 else found.cases[at].why) for c, at in pairs)
    case = next((f"{c.title}: {why}" for c, why in whys if why), "")
    outside = np.logical_or.reduceat(s.has.outside, begins(model.geometry.line)).tolist()
    return tuple(
        _reason(model, member, THIN if thin else case, known)
        for member, (thin, known) in enumerate(zip(outside, decides(model), strict=True))
    )


THIN = "its wall is too thin for AISC 360 (D/t of 0.45 E/F_y or more)"


def _reason(model: Model, member: int, words: str, known: bool) -> Reason:
    if known:
        return Reason(words, True)
    title = model.stuff(member).title
    return Reason(f"a value of {title} is from memory: state it with its source", False)


def place_words(model: Model, member: int, w: Worst, at: Array) -> str:
    """Where along a member something is: at a joint, or how far along; and whether it is bent there."""
    where = _along(model, member, w, at)
    return f"{where}, in a bend" if model.geometry.bend[w.piece] else where


def _along(model: Model, member: int, w: Worst, at: Array) -> str:
    g = model.geometry
    line = g.lines[member]
    for side, word in ((0, 0.0), (1, 1.0)):
        joint = int(g.ends[w.piece, side])
        if at[w.piece, w.station] == word and g.declared[joint]:
            return f"at {joint_called(g.joints[joint])}"
    before = sum(float(g.true_length[p]) for p in line.pieces[: line.pieces.index(w.piece)])
    here = before + float(at[w.piece, w.station] * g.true_length[w.piece])
    return f"{100 * here / line.length:.0f} % along it"
