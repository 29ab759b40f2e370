"""From the expanded description to what is solved and what it is held against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from buildspec.build import Build
from buildspec.sections.cage import Cage
from generator.frame.model import Array, Frame, Indices
from generator.subjects import cage_frame, cage_inertia, cage_loads
from generator.subjects.cage_direct import Columns
from generator.subjects.cage_geometry import Geometry, expand, joint_called, joint_names
from generator.subjects.cage_held import Setup
from generator.subjects.cage_solve import About, Answer, answer
from generator.subjects.cage_spaces import Space, spaces
from generator.subjects.cage_stock import Property, Stock, Stuff, as_welded, stock_of
from generator.subjects.cage_strength import Pieces
from generator.subjects.subject import Given


@dataclass(frozen=True, eq=False)
class Zones:
    """Weld zones of the pieces: width (k, 2) m from start and end into the piece, and the joint
    whose weld it is (k, 2), −1 for none; beside: yield and tensile strength there, by the word of
    the piece's material and the joint."""

    width: Array
    joint: Indices
    beside: Mapping[tuple[str, int], tuple[Property, Property]]


@dataclass(frozen=True, eq=False)
class Model:
    """Everything the calculation needs of one description.

    setups: one a case that can be computed; solved (i): the case's number in `setups`, −1 for one
    that cannot; seat: the joints that carry driver or seat, None where they are not known.
    """

    cage: Cage
    geometry: Geometry
    stock: Stock
    sections: cage_frame.Sections
    frame: Frame
    cases: tuple[cage_loads.Case, ...]
    setups: tuple[Setup, ...]
    solved: tuple[int, ...]
    zones: Zones
    spaces: tuple[Space, ...]
    seat: Indices | None = None

    def name(self, joint: int) -> str:
        """What a joint is called."""
        return joint_called(self.geometry.joints[joint])

    def stuff(self, member: int) -> Stuff:
        """What a member is made of."""
        return self.stock.stuff[self.stock.tubes[self.tube(member)].material]

    def tube(self, member: int) -> str:
        """The id of a member's size of tube."""
        return self.geometry.lines[member].tube


def model_of(cage: Cage, build: Build, given: Given) -> Model:
    """The model of a description without mistakes."""
    geometry = expand(cage)
    stock = stock_of(cage, geometry)
    sections = cage_frame.sections(cage, geometry, stock)
    carried = cage_loads.carried(cage, geometry, build, given)
    frame = cage_frame.frame_of(cage, geometry, sections, carried.mass)
    cases = cage_inertia.weighty(
        cage_loads.cases(cage, geometry, build, given, carried), frame, build, given
    )
    usable = [i for i, case in enumerate(cases) if not case.absent]
    chosen = tuple(cases[i] for i in usable)
    solved = tuple(usable.index(i) if i in usable else -1 for i in range(len(cases)))
    return Model(
        cage,
        geometry,
        stock,
        sections,
        frame,
        cases,
        _setups(frame, chosen),
        solved,
        zones_of(cage, geometry, stock),
        spaces(cage, build),
        seat_of(cage, geometry),
    )


DRIVER = {"driver", "seat"}
"""What the driver and the seat are called among the masses, by the id of an entry or an item."""
ON_A_LINE = 0.01
"""How far, in m, joints must stand off one line so that a turn about it is seen."""


def seat_of(cage: Cage, geometry: Geometry) -> Indices | None:
    """The joints that carry driver or seat, from which the driver sees the tubes move; None where
    nothing says so or they stand on one line."""
    names = (m.at for m in cage.masses if DRIVER & {m.id, *m.items})
    joints = joint_names(cage, (name for at in names for name in at))
    at = np.array([geometry.joint(name) for name in joints], dtype=np.intp)
    if len(at) < 3:
        return None
    place = geometry.position[at]
    spread = np.linalg.svd(place - place.mean(axis=0), compute_uv=False)
    return at if spread[1] > ON_A_LINE else None


def _setups(frame: Frame, cases: tuple[cage_loads.Case, ...]) -> tuple[Setup, ...]:
    loads = cage_loads.loads_of(frame, cases)
    return tuple(
        Setup(
            loads.nodal[i],
            loads.field[i],
            case.factor.si,
            case.criterion == "ultimate",
            None if case.inertia else frame.held,
        )
        for i, case in enumerate(cases)
    )


def zones_of(cage: Cage, geometry: Geometry, stock: Stock) -> Zones:
    """Weld zones, carried on along the tube where a piece is shorter than the zone."""
    width = np.zeros((len(geometry.ends), 2))
    joint = np.full((len(geometry.ends), 2), -1, dtype=np.intp)
    met: dict[tuple[str, int], Stuff] = {}
    reach = _reach(geometry, stock)
    ends, lengths = geometry.ends.tolist(), geometry.true_length.tolist()
    for line in geometry.lines:
        stuff = stock.of(line)
        for side, order in ((0, line.pieces), (1, line.pieces[::-1])):
            left, of = 0.0, -1
            for piece in order:
                here, length = ends[piece][side], lengths[piece]
                if reach[here] > 0.0:
                    left, of = reach[here], here
                if left > 0.0:
                    width[piece, side], joint[piece, side] = min(left, length), of
                    met[stuff.word, of] = stuff
                left = max(left - length, 0.0)
    welds = {key: as_welded(cage, of, stock.joinings[key[1]]) for key, of in met.items()}
    return Zones(width, joint, welds)


def _reach(geometry: Geometry, stock: Stock) -> list[float]:
    """How far each joint's weld reaches, (n,) m: 0 where no tube ends, none crosses and nothing else is
    fixed, or none is welded.

    Of two tubes that both go on through a joint one is cut or both are welded round: it counts for both.
    """
    through: list[set[int]] = [set() for _ in geometry.joints]
    for line, ends in zip(geometry.line.tolist(), geometry.ends.tolist(), strict=True):
        for joint in ends:
            through[joint].add(line)
    ending = {joint for line in geometry.lines for joint in (line.start, line.end)}
    met = [n in ending or len(lines) > 1 for n, lines in enumerate(through)]
    pairs = zip(stock.joinings, met, strict=True)
    return [j.zone.si if j.welded and (m or j.alone) else 0.0 for j, m in pairs]


def pieces_of(model: Model, at: Array) -> Pieces:
    """The pieces with their strengths at stations `at` (k, s), shares of the length."""
    g, s = model.geometry, model.sections
    column, tensile = _delivered(model)
    strength = np.repeat(column[:, None], at.shape[1], axis=1)
    rupture = np.repeat(tensile[:, None], at.shape[1], axis=1)
    place = at * g.true_length[:, None]
    near = (place, g.true_length[:, None] - place)
    fy, fu = _beside(model)
    for side in (0, 1):
        reach = model.zones.width[:, side, None] * (1 + 1e-9)
        inside = (near[side] <= reach) & (model.zones.joint[:, side, None] >= 0)
        strength = np.where(inside, np.minimum(strength, fy[:, side, None]), strength)
        rupture = np.where(inside, np.minimum(rupture, fu[:, side, None]), rupture)
    length, unbraced = _effective(model)
    sizes = (s.outer, s.wall, s.modulus, length, unbraced)
    return Pieces(*sizes, g.run, g.line, strength, column, rupture, s.bent)


def resized(of: Pieces, sections: cage_frame.Sections) -> Pieces:
    """The pieces with other cross-sections of the same materials."""
    return replace(of, outer=sections.outer, wall=sections.wall, bent=sections.bent)


def _effective(model: Model) -> Array:
    """Effective lengths of every piece (2, k): K times what is unsupported, and unbraced."""
    k = (model.stock.effective[run.line].si for run in model.geometry.runs)
    runs = zip(k, model.geometry.runs, strict=True)
    both = np.array([(f * run.unsupported, f * run.unbraced) for f, run in runs])
    return np.asarray(both[model.geometry.run].T)


def columns_of(geometry: Geometry) -> Columns:
    """The columns that may lean: each from one end of its chain of runs to the other."""
    numbers = sorted({run.column for run in geometry.runs})
    ends = []
    for number in numbers:
        runs = [run for run in geometry.runs if run.column == number]
        met = [joint for run in runs for joint in (run.start, run.end)]
        loose = [joint for joint in dict.fromkeys(met) if met.count(joint) == 1]
        ends.append(loose if len(loose) == 2 else [runs[0].start, runs[0].end])
    of_run = np.array([numbers.index(run.column) for run in geometry.runs], dtype=np.intp)
    return Columns(np.array(ends, dtype=np.intp), of_run[geometry.run])


def _delivered(model: Model) -> tuple[Array, Array]:
    """Yield and tensile strength of each piece as delivered."""
    stuff = [model.stuff(n) for n in range(len(model.geometry.lines))]
    both = np.array([(s.yield_strength.si, s.ultimate_strength.si) for s in stuff])
    column, tensile = both[model.geometry.line].T
    return column, tensile


def _beside(model: Model) -> Array:
    """Yield and tensile strength (2, k, 2) of each piece beside the welds whose zones reach its start
    and end; inf: none."""
    known = {key: (fy.si, fu.si) for key, (fy, fu) in model.zones.beside.items()}
    words = [model.stock.of(line).word for line in model.geometry.lines]
    none = (np.inf, np.inf)
    sides = zip(model.geometry.line.tolist(), model.zones.joint.tolist(), strict=True)
    rows = [[known.get((words[line], j), none) for j in joints] for line, joints in sides]
    return np.moveaxis(np.array(rows).reshape(-1, 2, 2), 2, 0)


def decides(model: Model) -> tuple[bool, ...]:
    """Whether a verdict may rest on what is known of each member's material, its weld zones included."""
    doubtful = {key for key, both in model.zones.beside.items() if not all(p.decides for p in both)}
    own = {
        word: s.modulus.decides
        and s.poisson.decides
        and s.yield_strength.decides
        and s.ultimate_strength.decides
        for word, s in model.stock.stuff.items()
    }
    joints = model.zones.joint.tolist()
    words = ((line.pieces, model.stock.of(line).word) for line in model.geometry.lines)
    return tuple(
        own[word] and not any((word, joint) in doubtful for p in pieces for joint in joints[p])
        for pieces, word in words
    )


def solved(model: Model) -> Answer:
    """Every case that can be computed, solved."""
    shares = model.zones.width / model.geometry.true_length[:, None]
    return answer(
        model.frame,
        model.setups,
        About(
            shares,
            model.geometry.bend,
            columns_of(model.geometry),
            model.name,
            model.seat,
        ),
    )
