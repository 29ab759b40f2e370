"""From the description of a cage to straight pieces between joints: twins, bends as chords, runs.

A line is one tube, straight or bent. A piece is straight between two joints: what the frame engine
calls a member. A run is the stretch of a line between joints at which other tubes meet it: what
counts as a column. Joints come from names alone; nearness joins nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise

import numpy as np

from buildspec.plain import spoken
from buildspec.quantities import Quantity
from buildspec.sections.cage import Cage, Member, NodeSet, Path
from buildspec.sections.cage_lines import (
    TWIN,
    Bend,
    Course,
    bends_of,
    courses,
    joints,
    moved,
    other_side,
    ref_of,
)
from generator.frame.model import Array, Flags, Indices

STRAIGHT_ON = np.radians(10.0)
"""Two tubes that meet alone and turn by less than this count as one length of column."""
BOTH_PLANES = 0.1
"""Sum of the squares of braces' cosines with the direction in which they hold a joint least, across
a tube, from which they count as bracing it both ways: one square to the tube, and another 18° out of
the plane of both."""
TOUCH = 5e-4
"""A rest of a leg shorter than this, in m, is none: so short a piece would be stiffer than numbers bear."""


@dataclass(frozen=True, slots=True)
class Line:
    """One tube. `ref` is its id in the description, which a twin shares; `twin_of` the name of the
    tube it is the twin of, or "". `pieces` run from start to end; `length` in m is that of the
    middle line, arcs included; `bends` are the turns of its bends in rad.
    """

    id: str
    title: str
    ref: str
    twin_of: str
    own: Member | Path
    pieces: tuple[int, ...]
    runs: tuple[int, ...]
    start: int
    end: int
    length: float
    bends: tuple[float, ...] = ()

    @property
    def group(self) -> str:
        """The group it belongs to."""
        return self.own.group

    @property
    def tube(self) -> str:
        """The id of its size of tube."""
        return self.own.tube

    @property
    def measured_wall(self) -> Quantity | None:
        """The wall measured on this very tube; a twin is another tube."""
        return self.own.measured_wall_twin if self.twin_of else self.own.measured_wall

    @property
    def inspection_hole(self) -> Quantity | None:
        """The hole drilled in this very tube."""
        return self.own.inspection_hole_twin if self.twin_of else self.own.inspection_hole

    @property
    def pinned_start(self) -> bool:
        """Whether its start passes on no bending moment."""
        return self.own.pinned in ("start", "both")

    @property
    def pinned_end(self) -> bool:
        """Whether its end passes on no bending moment."""
        return self.own.pinned in ("end", "both")


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of a line between joints where other tubes meet: `length` in m along the middle
    line. `unsupported` is longer where it goes straight on into another line that it meets alone,
    and `unbraced` where those it meets brace it in one plane only. `column` numbers what counts as
    one unsupported length. `met` is the length between other tubes, whatever holds the frame.
    """

    line: int
    pieces: tuple[int, ...]
    start: int
    end: int
    length: float
    bent: bool
    unsupported: float = 0.0
    unbraced: float = 0.0
    column: int = -1
    met: float = 0.0


@dataclass(frozen=True, eq=False)
class Geometry:
    """n joints, k pieces.

    position (n, 3) m; declared (n,): in the description, not a point of a bend; refs (n,): the
    id of the node, or of the bent tube. ends (k, 2), line (k,), run (k,): indices; bend (k,): a
    chord of a bend; true_length (k,) m along the middle line, the arc where it is a chord.
    """

    joints: tuple[str, ...]
    position: Array
    declared: Flags
    refs: tuple[str, ...]
    lines: tuple[Line, ...]
    runs: tuple[Run, ...]
    ends: Indices
    line: Indices
    run: Indices
    bend: Flags
    true_length: Array
    place: dict[str, int] = field(default_factory=dict)

    def joint(self, name: str) -> int:
        """The number of a joint."""
        return self.place[name]


def pieces_of_lines(geometry: Geometry, lines: Iterable[int]) -> Indices:
    """The pieces of some lines, line by line."""
    return np.array([p for n in lines for p in geometry.lines[n].pieces], dtype=np.intp)


@dataclass
class _Made:
    """Joints and pieces as they are gathered; no other function keeps it."""

    names: list[str]
    position: list[Array]
    refs: list[str]
    ends: list[tuple[int, int]] = field(default_factory=list)
    line: list[int] = field(default_factory=list)
    bend: list[bool] = field(default_factory=list)
    length: list[float] = field(default_factory=list)

    def joint(self, name: str, at: Array, ref: str) -> int:
        self.names.append(name)
        self.position.append(at)
        self.refs.append(ref)
        return len(self.names) - 1

    def piece(self, line: int, start: int, end: int, arc: float | None = None) -> int:
        self.ends.append((start, end))
        self.line.append(line)
        self.bend.append(arc is not None)
        straight = math.dist(self.position[start], self.position[end])
        self.length.append(straight if arc is None else arc)
        return len(self.ends) - 1


def expand(cage: Cage) -> Geometry:
    """The geometry of a cage whose description has no problems."""
    found = joints(cage)
    of = courses(cage, found)
    used = {name for course in of for name in course.through}
    at = {name: p for name, p in moved(cage, found, of).items() if name in used}
    made = _Made(list(at), list(at.values()), [f"cage.nodes.{found[n].node.id}" for n in at])
    place = {name: n for n, name in enumerate(at)}
    turned = [bends_of(c, found, at) for c in of]
    courses_ = enumerate(zip(of, turned, strict=True))
    pieces = [_pieces(made, n, course, place, bends) for n, (course, bends) in courses_]
    runs = _runs(made, pieces)
    first = np.searchsorted([run.line for run in runs], np.arange(len(of) + 1)).tolist()
    own = (tuple(range(a, b)) for a, b in pairwise(first))
    lines = map(partial(_line, made), of, turned, pieces, own)
    return _whole(cage, made, tuple(lines), runs, place)


def _pieces(
    made: _Made, number: int, course: Course, place: dict[str, int], turned: tuple[Bend, ...]
) -> tuple[int, ...]:
    """The pieces of one course, added to what is made."""
    corner = {b.number: b for b in turned}
    pieces: list[int] = []
    here = place[course.through[0]]
    for k, name in enumerate(course.through[1:], 1):
        if k in corner:
            follows = place[course.through[k + 1]] if k + 1 not in corner else None
            what = _Round(corner[k], course.name, ref_of(course.own), place[name], follows)
            pieces += _round(made, number, here, what)
        elif here != place[name]:
            pieces.append(made.piece(number, here, place[name]))
        here = made.ends[pieces[-1]][1]
    return tuple(pieces)


def _line(
    made: _Made,
    course: Course,
    turned: tuple[Bend, ...],
    pieces: tuple[int, ...],
    runs: tuple[int, ...],
) -> Line:
    own = course.own
    return Line(
        id=course.name,
        title=f"{own.name}, other side" if course.twin else own.name,
        ref=ref_of(course.own),
        twin_of=own.id if course.twin else "",
        own=own,
        pieces=pieces,
        runs=runs,
        start=made.ends[pieces[0]][0],
        end=made.ends[pieces[-1]][1],
        length=sum(made.length[p] for p in pieces),
        bends=tuple(b.turn for b in turned),
    )


@dataclass(frozen=True, eq=False)
class _Round:
    """A bend of the tube `name`, the joint at its middle, and the joint that follows its next leg,
    None where another bend does.
    """

    bend: Bend
    name: str
    ref: str
    middle: int
    follows: int | None


def _round(made: _Made, number: int, here: int, what: _Round) -> list[int]:
    """The leg up to a bend and the chords of the bend, to its last point or the joint that is there.

    A leg that the bend uses up but for TOUCH is no piece: its rest goes with the chord beside it.
    """
    bend, pieces = what.bend, list[int]()
    arc = bend.length / (len(bend.points) - 1)
    gap = float(np.linalg.norm(bend.points[0] - made.position[here]))
    if gap > TOUCH:
        joint = made.joint(f"{what.name}.bend_{bend.number}.0", bend.points[0], what.ref)
        pieces.append(made.piece(number, here, joint))
        here, gap = joint, 0.0
    for k, point in enumerate(bend.points[1:], 1):
        joint, rest = _at(made, what, k, point)
        pieces.append(made.piece(number, here, joint, arc + gap + rest))
        here, gap = joint, 0.0
    return pieces


def _at(made: _Made, what: _Round, k: int, point: Array) -> tuple[int, float]:
    """The joint at point k of a bend, and how far on it is where that is the one that follows."""
    bend = what.bend
    if k == len(bend.points) // 2:
        return what.middle, 0.0
    if k == len(bend.points) - 1 and what.follows is not None:
        rest = float(np.linalg.norm(made.position[what.follows] - point))
        if rest <= TOUCH:
            return what.follows, rest
    return made.joint(f"{what.name}.bend_{bend.number}.{k}", point, what.ref), 0.0


# -------------------------------------------------------------------------------------- runs


def _whole(
    cage: Cage,
    made: _Made,
    lines: tuple[Line, ...],
    runs: tuple[Run, ...],
    place: dict[str, int],
) -> Geometry:
    """The geometry from all that is made."""
    position, ends = np.array(made.position), np.array(made.ends, dtype=np.intp)
    columns = _columns(runs, _free(place, _fast(cage)), position, ends)
    met = _columns(runs, _free(place, _supported(cage)), position, ends, over_all=True)
    return Geometry(
        joints=tuple(made.names),
        position=position,
        declared=np.arange(len(made.names)) < len(place),
        refs=tuple(made.refs),
        lines=lines,
        runs=tuple(replace(c, met=m.unsupported) for c, m in zip(columns, met, strict=True)),
        ends=ends,
        line=np.array(made.line, dtype=np.intp),
        run=np.repeat(np.arange(len(runs)), [len(run.pieces) for run in runs]),
        bend=np.array(made.bend, dtype=bool),
        true_length=np.array(made.length),
        place=place,
    )


def _runs(made: _Made, lines: list[tuple[int, ...]]) -> tuple[Run, ...]:
    """The stretches of lines, by their pieces, between joints that other lines share."""
    lines_at: list[set[int]] = [set() for _ in made.names]
    for (start, end), n in zip(made.ends, made.line, strict=True):
        lines_at[start].add(n)
        lines_at[end].add(n)
    met = [len(lines_) > 1 for lines_ in lines_at]
    return tuple(run for n, pieces in enumerate(lines) for run in _stretches(made, n, pieces, met))


def _stretches(made: _Made, number: int, pieces: tuple[int, ...], met: list[bool]) -> Iterable[Run]:
    """The stretches of one line up to each joint that is `met`."""
    group: list[int] = []
    for p in pieces:
        group.append(p)
        if p == pieces[-1] or met[made.ends[p][1]]:
            yield Run(
                number,
                tuple(group),
                made.ends[group[0]][0],
                made.ends[p][1],
                sum(made.length[q] for q in group),
                any(made.bend[q] for q in group),
            )
            group = []


def _fast(cage: Cage) -> set[str]:
    """The joints that supports hold in all three translations, in every case."""
    if any((case.held_by or cage.held_by) == "inertia" for case in cage.load_cases):
        return set()
    return _supported(cage)


def _supported(cage: Cage) -> set[str]:
    """The joints that supports hold in all three translations, whether or not a case needs them."""
    whole = (s for s in cage.supports if not s.motions or {"x", "y", "z"} <= set(s.motions))
    return {name for support in whole for name in joint_names(cage, support.nodes)}


def _free(place: Mapping[str, int], held: set[str]) -> list[int]:
    """The joints that are not among those held."""
    return [n for name, n in place.items() if name not in held]


def _columns(
    runs: tuple[Run, ...],
    free: list[int],
    position: Array,
    ends: Indices,
    *,
    over_all: bool = False,
) -> tuple[Run, ...]:
    """The runs with their lengths as columns: chains of runs that go straight on where no tube
    braces them, and where none braces them in both planes. With `over_all` they go on over joints
    that are held, too."""
    at: dict[int, list[int]] = {}
    for n, run in enumerate(runs):
        for joint in {run.start, run.end}:
            at.setdefault(joint, []).append(n)
    loose = _loose(runs, at, set(free))
    along = position[ends[:, 1]] - position[ends[:, 0]]
    along /= np.linalg.norm(along, axis=1)[:, None]
    column, long = list(range(len(runs))), list(range(len(runs)))
    for joint in sorted(at) if over_all else free:
        met = at.get(joint, [])
        ways = np.array([_away(runs[n], joint, along, ends) for n in met]).reshape(-1, 3)
        on = np.argwhere(ways @ ways.T <= -np.cos(STRAIGHT_ON)).tolist()
        for a, b in (pair for pair in on if pair[0] < pair[1]):
            beside = [k for k, n in enumerate(met) if k not in {a, b} and n not in loose]
            if not beside:
                column = _merged(column, met[a], met[b])
            if not beside or not _both_planes(ways[a], ways[beside]):
                long = _merged(long, met[a], met[b])
    plain, whole = _totals(runs, column), _totals(runs, long)
    return tuple(
        Run(r.line, r.pieces, r.start, r.end, r.length, r.bent, a, b, c)
        for r, a, b, c in zip(runs, plain, whole, column, strict=True)
    )


def _merged(chain: list[int], one: int, other: int) -> list[int]:
    """The chains with those of two runs made one."""
    return [chain[one] if c == chain[other] else c for c in chain]


def _totals(runs: tuple[Run, ...], chain: list[int]) -> list[float]:
    """For each run the length of its chain."""
    total: dict[int, float] = {}
    for c, run in zip(chain, runs, strict=True):
        total[c] = total.get(c, 0.0) + run.length
    return [total[c] for c in chain]


def _both_planes(along: Array, ways: Array) -> bool:
    """Whether tubes that leave a joint in `ways` (n, 3) hold it in every direction across `along` by
    their length.

    What they do by bending is not counted: it is a tenth of what a brace needs, or less.
    """
    across = ways - np.outer(ways @ along, along)
    return bool(np.linalg.eigvalsh(across.T @ across)[1] >= BOTH_PLANES)


def _loose(runs: tuple[Run, ...], at: Mapping[int, list[int]], free: set[int]) -> set[int]:
    """The runs that lead nowhere, and so brace nothing: to an end where nothing is held or met."""
    loose: set[int] = set()
    while True:
        found = {
            run[0]
            for joint in free
            if len(run := [n for n in at.get(joint, []) if n not in loose]) == 1
        }
        if not found:
            return loose
        loose |= found


def _away(run: Run, joint: int, along: Array, ends: Indices) -> Array:
    """The direction in which a run leaves a joint, from those of all pieces, `along` (k, 3)."""
    piece = run.pieces[0] if run.start == joint else run.pieces[-1]
    return np.asarray(along[piece] if ends[piece, 0] == joint else -along[piece])


# ------------------------------------------------------------------------------------- names


def joint_called(name: str) -> str:
    """What a joint, or a point of a bend, is called on the pages: `hoop_foot_twin` → `hoop foot (other
    side)`."""
    own, *point = name.split(".")
    words = spoken(own.removesuffix(TWIN)) + (" (other side)" if own.endswith(TWIN) else "")
    return ", ".join((words, *map(spoken, point)))


def joint_names(cage: Cage, names: Iterable[str]) -> tuple[str, ...]:
    """The joints that names of joints and of sets stand for, each once, in their order."""
    return tuple(dict.fromkeys(n for name in names for n in members_of_set(cage, name)))


def members_of_set(cage: Cage, name: str) -> tuple[str, ...]:
    """The joints of the set `name`, or the joint of that name alone."""
    chosen: NodeSet | None = next((s for s in cage.node_sets if s.id == name), None)
    if chosen is None:
        return (name,)
    if not chosen.twins:
        return chosen.nodes
    found = joints(cage)
    both = (n for node in chosen.nodes for n in (node, other_side(node, found)))
    return tuple(dict.fromkeys(both))
