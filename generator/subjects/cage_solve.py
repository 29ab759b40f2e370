"""The frame under every load case: first order, second order, critical loads, and whether to
believe it.

Cases that share their supports are solved together. What cannot be solved, or solved and not
trusted, has a reason instead of numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse.linalg import ArpackError

from generator.frame.buckling import Critical, critical_load
from generator.frame.figures import about_origin, figures
from generator.frame.inertia import Relief, centred, relieved
from generator.frame.loading import end_loads, joint_loads
from generator.frame.model import (
    Array,
    Flags,
    Frame,
    Indices,
    Loads,
    Refusal,
    no_points,
    one_case,
)
from generator.frame.plan import plan_of
from generator.frame.recover import piece_tension, section_forces
from generator.frame.second_order import second_order
from generator.frame.solve import Ready, Solution, ready, solve
from generator.frame.stiffness import members_of
from generator.frame.subdivide import PIECES, Split, split, split_frame, split_some
from generator.subjects.cage_direct import (
    SOFT,
    Columns,
    Sway,
    leaning,
    softened,
    sway,
    worsened,
)

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
class Setup:
    """One load case in SI, on the frame's joints.

    nodal (n, 6) N, N·m; field (3,) m/s² on every mass; factor: the load's required factor;
    ultimate: whether yielding is permitted; held (n, 6): the supports, None: none, the load is
    balanced by the frame's and the joints' own inertia.
    """

    nodal: Array
    field: Array
    factor: float
    ultimate: bool
    held: Flags | None


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
    frame with its pieces cut in quarters, PIECES to a piece, whose joints `Case.moved` moves."""

    cases: tuple[Case, ...]
    at: Array
    fine: Frame

    @staticmethod
    def piece_of(inner: int) -> int:
        """The piece that a point between quarters belongs to, by its number after the joints."""
        return inner // (PIECES - 1)


def stations_of(zone: Array) -> tuple[Array, Array]:
    """Stations of every piece: on its quarters (p·PIECES, s') and on the whole (p, PIECES·s').

    `zone` (p, 2): shares of the length that are weld zone at start and end; their bounds are
    stations.
    """
    bound = np.stack((zone[:, 0], 1.0 - zone[:, 1]), axis=1)
    quarter = np.arange(PIECES)[None, :, None]
    within = np.clip(bound[:, None, :] * PIECES - quarter, 0.0, 1.0)
    even = np.broadcast_to(np.linspace(0.0, 1.0, STATIONS), (len(zone), PIECES, STATIONS))
    at = np.sort(np.concatenate((even, within), axis=2), axis=2)
    whole = (at + quarter) / PIECES
    return at.reshape(len(zone) * PIECES, -1), whole.reshape(len(zone), -1)


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
    quarters, at = stations_of(about.zone)
    fine = split_frame(frame, PIECES)
    if len(frame.ends) > MOST_PIECES:
        why = f"the frame has more than {MOST_PIECES:,} straight pieces, chords of bends included"
        return Answer(tuple(Case(why) for _ in setups), at, fine)
    found: dict[int, Case] = {}
    for numbers in _groups(setups):
        group = tuple(setups[i] for i in numbers)
        found |= dict(zip(numbers, _solved(frame, group, (quarters, at), about), strict=True))
    return Answer(tuple(found[i] for i in range(len(setups))), at, fine)


def first_order(frame: Frame, setups: tuple[Setup, ...], at: Array) -> Array | None:
    """Section forces (c, p, s, 6) under the factored loads in first order, at stations `at` (p, s).

    For variations of a frame that was solved and believed: no figures, no second order. None where
    a case has no solution.
    """
    forces = np.zeros((len(setups), *at.shape, 6))
    for numbers in _groups(setups):
        group = tuple(setups[i] for i in numbers)
        held = _held(frame, group)
        if isinstance(held, Refusal):
            return None
        whole, loads, _ = held
        loads = _factored(loads, group)
        linear = solve(whole, loads, plan_of(whole))
        if isinstance(linear, Refusal):
            return None
        forces[numbers] = section_forces(whole, loads, linear, at)
    return forces


def _held(frame: Frame, setups: tuple[Setup, ...]) -> tuple[Frame, Loads, Relief | None] | Refusal:
    """The frame with the supports of these cases, or with its inertia in balance with the loads."""
    loads = _loads(frame, setups)
    if setups[0].held is not None:
        return replace(frame, held=setups[0].held), loads, None
    eased = relieved(frame, loads)
    return eased if isinstance(eased, Refusal) else (eased.frame, eased.loads, eased)


def _groups(setups: tuple[Setup, ...]) -> Iterator[list[int]]:
    """Numbers of cases that share their supports."""
    groups: dict[bytes, list[int]] = {}
    for number, setup in enumerate(setups):
        groups.setdefault(b"" if setup.held is None else setup.held.tobytes(), []).append(number)
    yield from groups.values()


def _loads(frame: Frame, setups: tuple[Setup, ...]) -> Loads:
    """The cases' loads as written."""
    nodal = np.array([s.nodal for s in setups]).reshape(len(setups), len(frame.nodes), 6)
    field = np.array([s.field for s in setups]).reshape(len(setups), 3)
    line = np.zeros((len(setups), len(frame.ends), 2, 3))
    return Loads(nodal, line, field, no_points())


def _factored(loads: Loads, setups: tuple[Setup, ...]) -> Loads:
    by = np.array([s.factor for s in setups])
    return replace(
        loads,
        nodal=loads.nodal * by[:, None, None],
        line=loads.line * by[:, None, None, None],
        field=loads.field * by[:, None],
    )


def _solved(
    frame: Frame, setups: tuple[Setup, ...], at: tuple[Array, Array], about: About
) -> tuple[Case, ...]:
    """The cases of one set of supports; `at`: stations on quarters and on whole pieces."""
    held = _held(frame, setups)
    if isinstance(held, Refusal):
        return tuple(Case(held.says(about.name)) for _ in setups)
    frame, loads, relief = held
    of = ready(frame)
    linear = of if isinstance(of, Refusal) else solve(frame, loads, of=of)
    if isinstance(linear, Refusal) or isinstance(of, Refusal):
        return tuple(Case(linear.says(about.name)) for _ in setups)  # type: ignore[union-attr]
    firsts = _firsts(frame, loads, linear, of, relief, seat=about.seat)
    if relief:
        firsts = _by_inertia(frame, _loads(frame, setups), firsts)
    if doubt := next((d for d in map(_doubt, firsts) if d), ""):
        return tuple(Case(doubt, first=f) for f in firsts)
    parts = split(frame, _factored(loads, setups))
    pressed = linear.times(np.array([s.factor for s in setups]))
    given = _Solved(parts, of, pressed, section_forces(frame, parts.whole_loads, pressed, at[1]))
    second = second_order(parts, of.plan, pressed)
    criticals = _criticals(parts, pressed, setups, about.chord)
    return tuple(
        _case(given, i, (setups[i], firsts[i], criticals[i], second[i]), at, about)
        for i in range(len(setups))
    )


@dataclass(frozen=True, eq=False)
class _Solved:
    """A group of cases under their factored loads: the frame in pieces, what it was solved with,
    first order, and its section forces (c, p, s, 6)."""

    parts: Split
    of: Ready
    linear: Solution
    forces: Array


def _firsts(
    frame: Frame,
    loads: Loads,
    linear: Solution,
    of: Ready,
    relief: Relief | None,
    *,
    seat: Indices | None,
) -> tuple[First, ...]:
    """The first order of every case, with the figures by which to judge it."""
    f = figures(frame, loads, linear, of)
    return tuple(
        First(
            centred(frame, linear.displacement[i : i + 1], seat)[0]
            if relief
            else linear.displacement[i],
            linear.reaction[i],
            f.applied[i],
            f.supported[i],
            float(f.gap[i]),
            float(f.residual[i]),
            float(f.energy[i]),
            f.condition,
            f.softest,
            relief.acceleration[i] if relief else None,
            relief.spin_up[i] if relief else None,
        )
        for i in range(loads.cases)
    )


def _by_inertia(frame: Frame, written: Loads, firsts: tuple[First, ...]) -> tuple[First, ...]:
    """The sums with inertia on the side of what holds the frame, in place of supports."""
    members = members_of(frame)
    given = joint_loads(frame, members, written, end_loads(frame, members, written))
    sums = about_origin(frame.nodes, given)
    return tuple(
        replace(f, applied=own, supported=f.supported + f.applied - own)
        for f, own in zip(firsts, sums, strict=True)
    )


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


def _criticals(
    parts: Split, linear: Solution, setups: tuple[Setup, ...], chord: Flags
) -> tuple[Critical | None, ...]:
    """The critical factors on the loads as written; `parts` and `linear` are under the factored."""
    frame = split_some(parts.whole, chord, PIECES)  # a bend has chords enough to buckle by
    of = ready(frame)
    if isinstance(of, Refusal):
        raise ValueError("a frame that was solved whole can be solved in pieces")
    tension = piece_tension(parts.whole, parts.whole_loads, linear, PIECES)
    quarters = tension.reshape(len(setups), -1, PIECES) / np.array(
        [s.factor for s in setups]
    ).reshape(-1, 1, 1)
    rows = np.concatenate(
        (quarters[:, ~chord].reshape(len(setups), -1), quarters[:, chord].mean(axis=2)), axis=1
    )
    found = (_critical(frame, of, row) for row in rows)
    return tuple(_numbered(c, len(parts.whole.nodes), chord) for c in found)


def _numbered(critical: Critical | None, joints: int, chord: Flags) -> Critical | None:
    """The critical load with its joint numbered as in the frame of quarters."""
    if critical is None or critical.node < joints:
        return critical
    place, within = divmod(critical.node - joints, PIECES - 1)
    piece = int(np.flatnonzero(~chord)[place])
    return replace(critical, node=joints + (PIECES - 1) * piece + within)


def _critical(frame: Frame, of: Ready, tension: Array) -> Critical | None:
    """One case's critical load, None where the search for it does not end."""
    try:
        return critical_load(frame, of.plan, of.members, of.factor, tension)
    except ArpackError:
        return None


def _case(
    given: _Solved,
    number: int,
    known: tuple[Setup, First, Critical | None, Solution | Refusal],
    at: tuple[Array, Array],
    about: About,
) -> Case:
    """One case from its parts."""
    setup, first, critical, second = known
    if critical is None:
        return Case("the search for its critical load did not end", first=first)
    multiple, parts = critical.factor / setup.factor, given.parts
    if isinstance(second, Refusal) or multiple <= 1.0:
        why = second.says() if isinstance(second, Refusal) else BEYOND
        return Case(why, beyond=multiple <= 1.0, first=first, critical=critical)
    forces = parts.by_member(
        section_forces(parts.frame, one_case(parts.loads, number), second, at[0])
    )[0]
    if SOFT * multiple <= 1.0:  # what is over its limit even in a stiffer frame falls short
        return Case(SOFTER, True, first, critical, forces, given.forces[number], forces)
    try:
        found = _sway(given, number, about.columns, multiple)
    except ArpackError:
        return Case("the search for the way it sways did not end", first=first, critical=critical)
    design = softened(given.forces[number], forces, multiple)
    if found:
        design = worsened(design, leaning(parts.whole, given.of.members, found, at[1]))
    return Case(
        "",
        first=first,
        critical=critical,
        forces=forces,
        plain=given.forces[number],
        design=design,
        moved=_seen(parts.frame, first, second, about.seat),
        passes=int(second.iterations[0]),
        sways=found.factor * setup.factor if found else math.inf,
    )


def _seen(frame: Frame, first: First, second: Solution, seat: Indices | None) -> Array:
    """How joints move (q, 6), seen from the seat where inertia holds the frame."""
    moved = second.displacement
    if first.acceleration is not None:
        moved = centred(frame, moved, seat)
    return np.asarray(moved[0])


def _sway(given: _Solved, number: int, columns: Columns, least: float) -> Sway | None:
    """How a case's frame sways."""
    tension = given.linear.tension[number]
    return sway(given.parts.whole, given.of, tension, columns, least)
