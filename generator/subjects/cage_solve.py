"""The frame under every load case: first order, second order, critical loads, and whether to
believe it.

All cases are solved together, whatever holds them. What cannot be solved, or solved and not
trusted, has a reason instead of numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from generator.frame.buckling import Critical, criticals
from generator.frame.figures import about_origin, figures
from generator.frame.inertia import Relief, centred
from generator.frame.loading import end_loads, joint_loads
from generator.frame.model import Array, Flags, Frame, Indices, Loads, Refusal, no_loads, no_points
from generator.frame.recover import (
    internal_forces,
    member_forces,
    piece_tension,
)
from generator.frame.second_order import second_order, together
from generator.frame.solve import (
    Ready,
    Solution,
    ready,
    solve,
)
from generator.frame.stiffness import members_of
from generator.frame.subdivide import PIECES, Split, split
from generator.frame.tubes import Fine, finely
from generator.subjects.cage_direct import (
    SOFT,
    Columns,
    Sway,
    leaning,
    softened,
    sways,
    worsened,
)
from generator.subjects.cage_held import Held, Setup, as_written, factored, held_by

STATIONS = 6
"""Stations on each quarter of a straight piece; besides those at the ends of weld zones."""
TRUSTED = 1e-6
"""Relative gap, residual and energy difference up to which a solution is believed.

Sound frames of this size leave 1e-12 or less; an engineer's answer needs three digits."""
MOST_PIECES = 6000
"""Straight pieces beyond which a frame is not solved: no cage has them, and it would take minutes."""
BEYOND = "the load is beyond the critical load"
SOFTER = f"{BEYOND} of a frame a fifth softer (AISC 360, C2.3)"
ILL = 1e12
"""Condition number from which on a solution has under four sure digits."""


@dataclass(frozen=True, eq=False)
class First:
    """A case in first order, under the load as written.

    displacement, reaction (n, 6); applied, supported (6,): loads and what holds them (supports, or
    inertia), summed, moments about the origin;
    gap, residual, energy, condition, softest: see `Figures`; acceleration, spin_up (3,): of the
    whole where the load is balanced by inertia.
    """

    displacement: Array
    reaction: Array
    applied: Array
    supported: Array
    gap: float
    residual: float
    energy: float
    condition: float
    softest: float
    acceleration: Array | None = None
    spin_up: Array | None = None


@dataclass(frozen=True, eq=False)
class Case:
    """What became of one load case.

    why: the reason where it has no trusted answer, "" otherwise; beyond: the factored load is more
    than the frame bears before it buckles elastically. critical: the load factor on the load as
    written at which it does. forces (p, s, 6): section forces and moved (q, 6): motions of the
    joints and of the points between pieces, both in second order under the factored load.
    """

    why: str
    beyond: bool = False
    first: First | None = None
    critical: Critical | None = None
    forces: Array | None = None
    plain: Array | None = None
    design: Array | None = None
    moved: Array | None = None
    passes: int = 0
    sways: float = math.inf


@dataclass(frozen=True, eq=False)
class Answer:
    """Every case in order; at (p, s): the stations as shares of each piece's length; fine: the
    frame with its pieces cut in quarters, but chords of bends, whose joints `Case.moved` moves;
    piece: which piece each of its stretches is of; rows (p, PIECES): the stretches of each piece."""

    cases: tuple[Case, ...]
    at: Array
    fine: Frame
    piece: Indices
    rows: Indices

    def piece_at(self, joint: int) -> int:
        """A piece that a joint of `fine` is on."""
        return int(self.piece[int(np.flatnonzero((self.fine.ends == joint).any(axis=1))[0])])


def stations_of(zone: Array) -> Array:
    """Stations of every piece (p, PIECES·s'), as many on each of its quarters.

    `zone` (p, 2): shares of the length that are weld zone at start and end; their bounds are
    stations.
    """
    bound = np.stack((zone[:, 0], 1.0 - zone[:, 1]), axis=1)
    quarter = np.arange(PIECES)[None, :, None]
    within = np.clip(bound[:, None, :] * PIECES - quarter, 0.0, 1.0)
    even = np.broadcast_to(np.linspace(0.0, 1.0, STATIONS), (len(zone), PIECES, STATIONS))
    at = np.sort(np.concatenate((even, within), axis=2), axis=2)
    return np.asarray(((at + quarter) / PIECES).reshape(len(zone), -1))


@dataclass(frozen=True, eq=False)
class About:
    """What is known of the pieces besides the frame: weld zones as in `stations_of`, which are chords
    of bends (p,) and need no quarters to buckle by, the columns that may lean, what joints are
    called, and from which joints movements are seen where inertia holds the frame, None: from all."""

    zone: Array
    chord: Flags
    columns: Columns
    name: Callable[[int], str]
    seat: Indices | None = None


def answer(frame: Frame, setups: tuple[Setup, ...], about: About) -> Answer:
    """Solve every case. `frame` has no supports of its own."""
    at = stations_of(about.zone)
    shape = split(frame, no_loads(frame, 1), PIECES, about.chord)
    whole = (at, shape.frame, shape.member, shape.rows)
    if len(frame.ends) > MOST_PIECES:
        why = f"the frame has more than {MOST_PIECES:,} straight pieces, chords of bends included"
        return Answer(tuple(Case(why) for _ in setups), *whole)
    return Answer(_every(frame, setups, at, about), *whole)


def _every(frame: Frame, setups: tuple[Setup, ...], at: Array, about: About) -> tuple[Case, ...]:
    """All cases together; where that does not go, those of one set of supports after those of another,
    so that what stands in the way of some of them is not laid to others."""
    if not setups:
        return ()
    found = _solved(frame, setups, at, about)
    if isinstance(found, tuple):
        return found
    if found.case >= 0:
        before, after = setups[: found.case], setups[found.case + 1 :]
        others = _every(frame, before + after, at, about)
        return (*others[: found.case], Case(found.why), *others[found.case :])
    groups = list(_groups(setups))
    if len(groups) < 2:
        return tuple(Case(found.why, first=f) for f in found.firsts or (None,) * len(setups))
    each: dict[int, Case] = {}
    for numbers in groups:
        group = tuple(setups[i] for i in numbers)
        each |= dict(zip(numbers, _every(frame, group, at, about), strict=True))
    return tuple(each[i] for i in range(len(setups)))


def _groups(setups: tuple[Setup, ...]) -> Iterator[list[int]]:
    """Numbers of cases that share their supports."""
    groups: dict[bytes, list[int]] = {}
    for number, setup in enumerate(setups):
        groups.setdefault(b"" if setup.held is None else setup.held.tobytes(), []).append(number)
    yield from groups.values()


@dataclass(frozen=True, eq=False)
class _Unsolved:
    """Why none of the cases has an answer, and their first order where that is what is doubted; case: the
    one that moves too far for the theory, where it is that, −1 otherwise."""

    why: str
    firsts: tuple[First, ...] = ()
    case: int = -1


def _solved(
    frame: Frame, setups: tuple[Setup, ...], at: Array, about: About
) -> tuple[Case, ...] | _Unsolved:
    """The cases, with section forces at stations `at`."""
    members = members_of(frame)
    held = held_by(frame, setups, members)
    if isinstance(held, Refusal):
        return _Unsolved(held.says(about.name))
    frame, loads = held.frame, held.loads
    of = ready(frame, members=members)
    linear = of if isinstance(of, Refusal) else solve(frame, loads, of=of)
    if isinstance(linear, Refusal) or isinstance(of, Refusal):
        return _Unsolved(linear.says(about.name), case=linear.case)  # type: ignore[union-attr]
    firsts = _firsts(held, linear, of, as_written(frame, setups), seat=about.seat)
    if doubt := next((d for d in map(_doubt, firsts) if d), ""):
        return _Unsolved(doubt, firsts)
    parts = split(frame, factored(loads, setups), PIECES, about.chord)
    pressed = linear.times(np.array([s.factor for s in setups]))
    plain = internal_forces(frame, of.members, parts.whole_loads, pressed.forces, at)
    given = _Group(parts, of, pressed, plain, setups, firsts, at, about)
    return _beyond_first(given)


@dataclass(frozen=True, eq=False)
class _Group:
    """Cases under their factored loads: the frame in pieces, what it was solved with, first order, and its
    section forces (c, p, s, 6) at the stations `at` (p, s)."""

    parts: Split
    of: Ready
    linear: Solution
    plain: Array
    setups: tuple[Setup, ...]
    firsts: tuple[First, ...]
    at: Array
    about: About


def _beyond_first(given: _Group) -> tuple[Case, ...]:
    """The cases with critical loads, second order and direct analysis, all together."""
    fine = finely(given.parts, given.of)
    most = criticals(fine, piece_tension(given.parts, given.linear, given.of.members))
    multiple = np.array([c.factor if c else 0.0 for c in most])
    second = second_order(given.parts, given.linear, fine=fine, stands=multiple > 1.0)
    forces = _second_forces(given, fine, second)
    lean = _leans(given, multiple)
    return tuple(
        _case(given, i, _Known(most[i], second[i], forces[i], *lean[i]))
        for i in range(len(given.setups))
    )


def _second_forces(
    given: _Group, fine: Fine, second: tuple[Solution | Refusal, ...]
) -> tuple[Array | None, ...]:
    """Section forces (p, s, 6) of each case in second order, None where it has none."""
    some = [(i, s) for i, s in enumerate(second) if isinstance(s, Solution)]
    every: list[Array | None] = [None] * len(second)
    if some:
        numbers = [i for i, _ in some]
        whole = given.parts.loads
        loads = Loads(whole.nodal[numbers], whole.line[numbers], whole.field[numbers], no_points())
        found = member_forces(
            given.parts, loads, together([s for _, s in some]), given.at, fine.members
        )
        for i, forces in zip(numbers, found, strict=True):
            every[i] = forces
    return tuple(every)


def _leans(given: _Group, multiple: Array) -> tuple[tuple[Sway | None, bool, Array | None], ...]:
    """How each case sways, whether the search for it ended, and the section forces (p, s, 6) that
    leaning gives it, where it stands softened."""
    frame, about = given.parts.whole, given.about
    found = sways(frame, given.of, given.linear.tension, about.columns, multiple)
    stands = [i for i, s in enumerate(found.each) if s and SOFT * multiple[i] > 1.0]
    leans = [s for i in stands if (s := found.each[i])]
    forces = leaning(frame, given.of.members, leans, given.at)
    by_case = dict(zip(stands, forces, strict=True))
    return tuple(
        (s, ok, by_case.get(i))
        for i, (s, ok) in enumerate(zip(found.each, found.found, strict=True))
    )


def _firsts(
    held: Held, linear: Solution, of: Ready, written: Loads, *, seat: Indices | None
) -> tuple[First, ...]:
    """The first order of every case, with the figures by which to judge it. Where inertia takes the place
    of supports it is on the side of what holds the frame, not of the loads as `written`."""
    frame, eased = held.frame, held.eased
    f = figures(frame, held.loads, linear, of)
    moved, applied = linear.displacement, f.applied
    if len(eased):
        moved, applied = moved.copy(), applied.copy()
        moved[eased] = centred(frame, moved[eased], seat)
        given = joint_loads(frame, of.members, written, end_loads(frame, of.members, written))
        applied[eased] = about_origin(frame.nodes, given[eased])
    supported = f.supported + f.applied - applied
    turns = (
        {} if held.relief is None else dict(zip(eased.tolist(), _turns(held.relief), strict=True))
    )
    return tuple(
        First(
            moved[i],
            linear.reaction[i],
            applied[i],
            supported[i],
            float(f.gap[i]),
            float(f.residual[i]),
            float(f.energy[i]),
            float(f.condition[i]),
            float(f.softest[i]),
            *turns.get(i, (None, None)),
        )
        for i in range(written.cases)
    )


def _turns(relief: Relief) -> Iterator[tuple[Array, Array]]:
    """Acceleration and spin-up of each case."""
    return zip(relief.acceleration, relief.spin_up, strict=True)


def _doubt(first: First) -> str:
    """Why the solution cannot be trusted, "" where it can."""
    figures_ = (
        (first.gap, TRUSTED, "reactions and loads do not balance"),
        (first.residual, TRUSTED, "forces at the joints do not balance"),
        (first.energy, TRUSTED, "strain energy and the work of the loads differ"),
        (first.condition, ILL, "the system of equations is too badly conditioned"),
    )
    wrong = (words for value, most, words in figures_ if not value <= most)
    return next((f"the solution cannot be trusted: {words}" for words in wrong), "")


@dataclass(frozen=True, eq=False)
class _Known:
    """What is known of a case beyond first order: its critical load under the factored load, None where
    the search did not end; second order with its section forces; how it sways, whether that was found,
    and the section forces of leaning."""

    critical: Critical | None
    second: Solution | Refusal
    forces: Array | None
    sway: Sway | None
    sway_found: bool
    lean: Array | None


def _case(given: _Group, number: int, known: _Known) -> Case:
    """One case from its parts."""
    setup, first, second = given.setups[number], given.firsts[number], known.second
    plain = given.plain[number]
    if known.critical is None:
        return Case("the search for its critical load did not end", first=first)
    multiple = known.critical.factor
    critical = replace(known.critical, factor=multiple * setup.factor)
    if isinstance(second, Refusal) or multiple <= 1.0 or known.forces is None:
        why = second.says() if isinstance(second, Refusal) else BEYOND
        return Case(why, beyond=multiple <= 1.0, first=first, critical=critical)
    if SOFT * multiple <= 1.0:  # what is over its limit even in a stiffer frame falls short
        return Case(SOFTER, True, first, critical, known.forces, plain, known.forces)
    if not known.sway_found:
        return Case("the search for the way it sways did not end", first=first, critical=critical)
    design = softened(plain, known.forces, multiple)
    if known.lean is not None:
        design = worsened(design, known.lean)
    return Case(
        "",
        first=first,
        critical=critical,
        forces=known.forces,
        plain=plain,
        design=design,
        moved=_seen(given.parts.frame, first, second, given.about.seat),
        passes=int(second.iterations[0]),
        sways=known.sway.factor * setup.factor if known.sway else math.inf,
    )


def _seen(frame: Frame, first: First, second: Solution, seat: Indices | None) -> Array:
    """How joints move (q, 6), seen from the seat where inertia holds the frame."""
    moved = second.displacement
    if first.acceleration is not None:
        moved = centred(frame, moved, seat)
    return np.asarray(moved[0])
