"""What the page and the drawings of the subject `cage` receive. Frozen, SI, already decided."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from buildspec.quantities import Quantity
from generator.frame.model import Array
from generator.subjects.cage_clearance import Body
from generator.subjects.cage_equivalence import Row
from generator.subjects.cage_mass import Weighed
from generator.vocabulary import Check, Requirement, Result, WorkedStep

Line = Array
"""A middle line in space: its points (n, 3) m."""
DIGITS = 7
"""Digits by which members are ranked: a tube and its twin, loaded alike, differ by rounding only, and
which comes first must not hang on it."""


class Figures(NamedTuple):
    """One member in one load case under the factored load, by direct analysis: N, N·m, Pa.

    axial: the largest force along the tube, tension positive; shear, torsion: the largest;
    start, end, span: resultant bending moment at both ends and the largest between; stress:
    largest equivalent stress; by_stress, by_member: utilisations.
    """

    axial: float
    shear: float
    torsion: float
    start: float
    end: float
    span: float
    stress: float
    by_stress: float
    by_member: float

    @property
    def utilisation(self) -> float:
        """The larger of both."""
        return max(self.by_stress, self.by_member)


@dataclass(frozen=True, eq=False)
class MemberLine:
    """One tube of the table.

    figures: one a load case, None where the case has no answer; governing: number of the governing
    case, −1 for none; criterion: what governs there, in words; slender: KL/r; prescribed: what
    the rule sheet asks of it, apart from any strength.
    """

    id: str
    title: str
    twin_of: str
    group: str
    tube: str
    line: Line
    length: float
    slender: float
    figures: tuple[Figures | None, ...]
    governing: int
    case: str
    criterion: str
    check: Check
    prescribed: tuple[Requirement, ...]
    results: tuple[Result, ...]
    remedies: tuple[Remedy, ...] = ()

    @property
    def utilisation(self) -> float | None:
        """Utilisation in the governing case."""
        found = self.figures[self.governing] if self.governing >= 0 else None
        return found.utilisation if found else None

    @property
    def conformance(self) -> str:
        """The worst of what is prescribed: departs, open, waived, conforms, or "" for nothing."""
        states = {r.state for r in self.prescribed}
        order = ("departs", "open", "waived", "conforms")
        return next((s for s in order if s in states), "")


@dataclass(frozen=True, slots=True)
class Force:
    """One force of a case: the joints it acts on, its size, how that came about, where it points."""

    at: str
    size: Result
    words: str
    points: str


@dataclass(frozen=True, slots=True)
class Move:
    """How a declared joint moves in a case under the factored load, along x, y and z, m."""

    joint: str
    by: tuple[float, float, float]
    far: Result


@dataclass(frozen=True, eq=False)
class CaseLine:
    """One load case: what acts, what governs, how far it moves.

    why: the reason where it has no answer; held: by what; moved: the largest displacement, at
    `where`; most: the member used most, and how much; added: by how much second order and direct
    analysis raise that; sways: the multiple of the load as written at which joints sway;
    accelerates: acceleration and spin-up where inertia holds the frame, else empty; short:
    members over their limit; used_most: some members by how much this case uses them; lines: the
    middle lines of all members as drawn, with movements `scale` times as large.
    """

    id: str
    title: str
    text: str
    source: str
    criterion: str
    factor: Quantity
    held: str
    forces: tuple[Force, ...]
    why: str
    critical: Check | None
    moved: Result
    where: str
    most: MemberLine | None
    used: float
    added: Result
    sways: Result
    accelerates: tuple[Result, ...]
    short: int
    used_most: tuple[tuple[MemberLine, Figures], ...]
    lines: tuple[Line, ...]
    scale: float
    moves: tuple[Move, ...]


@dataclass(frozen=True)
class Sanity:
    """By what one load case's solution is judged, forces in N; the last four to two digits."""

    id: str
    case: str
    applied: tuple[float, ...]
    supported: tuple[float, ...]
    gap: float
    residual: float
    energy: float
    condition: float
    passes: int
    said: str


@dataclass(frozen=True, eq=False)
class Space:
    """One ball or box with its clearance in every case."""

    id: str
    title: str
    body: Body
    check: Check
    before: Result
    after: tuple[Result, ...]
    nearest: str


@dataclass(frozen=True)
class Room:
    """The clearances left in one case, each with its space's title."""

    case: str
    left: tuple[tuple[str, Result], ...]


@dataclass(frozen=True)
class Remedy:
    """One listed size tried in place of a tube that falls short; margin as a ratio; mass: what it adds,
    twin included, kg, less than 0 where it is lighter; `departs`: it is none of those prescribed for the
    tube."""

    member: str
    tube: str
    margin: float
    mass: float
    holds: bool
    lighter: bool
    others: int
    departs: bool = False

    @property
    def differs(self) -> float:
        """How much lighter or heavier it is, kg."""
        return abs(self.mass)


@dataclass(frozen=True, eq=False)
class Detail:
    """Everything for the page. members: those with the least margin first; fewer: how many of them
    are shown at once; short, undecided: how many; departs: tubes that depart from what is
    prescribed; equivalence: sizes beside the baseline, and what that means.
    """

    members: tuple[MemberLine, ...]
    cases: tuple[CaseLine, ...]
    sanity: tuple[Sanity, ...]
    spaces: tuple[Space, ...]
    remedies: tuple[Remedy, ...]
    governing: MemberLine | None
    steps: tuple[WorkedStep, ...]
    other_steps: tuple[WorkedStep, ...]
    joints: int
    pieces: int
    fewer: int
    rest: int
    short: int
    undecided: int
    departs: int
    equivalence: tuple[Row, ...]
    equivalent: str
    weighed: Weighed
    trusted: float
    ill: float

    @property
    def believed(self) -> int:
        """How many cases have an answer that is trusted."""
        return sum(not case.why for case in self.cases)

    @property
    def told(self) -> frozenset[str]:
        """Reasons of open tubes that the load cases without an answer tell already."""
        return frozenset(f"{case.title}: {case.why}" for case in self.cases if case.why)

    @property
    def room(self) -> tuple[Room, ...]:
        """What is left of every space, case by case."""
        return tuple(
            Room(case.title, tuple((space.title, space.after[n]) for space in self.spaces))
            for n, case in enumerate(self.cases)
        )
