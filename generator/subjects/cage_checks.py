"""The checks of the subject `cage`: each member's strength, each case's critical load."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import chain

import numpy as np

from buildspec.kinds import System
from generator.checks import make_check
from generator.frame.model import Array
from generator.subjects.cage_members import (
    CRITERIA,
    WORD,
    Reason,
    Strengths,
    Worst,
    place_words,
    whole,
)
from generator.subjects.cage_model import Model
from generator.subjects.cage_solve import Answer, Case
from generator.subjects.cage_stock import inputs_of_lines
from generator.subjects.cage_strength import NOTHING
from generator.subjects.cage_sway import SOURCE, Asked, asked
from generator.vocabulary import Check, Result

GROWS = 1.05
"""From this ratio on it is said that a load may grow by less than a utilisation alone tells."""
UNLIKELY = 1e-6
"""A probability up to this is none that anybody need be told of."""
SOURCES = (
    "linear and second-order statics of a space frame by direct stiffness",
    "ANSI/AISC 360-22, chapters D to H, as quoted in the AISC Design Examples v16.0",
    "von Mises at the outer fibre, a bound from above",
)


@dataclass(frozen=True)
class Doubt:
    """Relative standard uncertainties of a member's demand and of its capacity where it is used most;
    `short`: how likely it falls short in `case`, the likeliest of the others, −1 for none."""

    demand: float = 0.0
    capacity: float = 0.0
    short: float = 0.0
    case: int = -1


@dataclass(frozen=True)
class Ids:
    """Ids of the description that things depend on: own: each member's strength and stiffness; whole:
    what the whole frame does; loads: each case's loads; behind: the whole frame and all loads."""

    own: tuple[tuple[str, ...], ...]
    whole: tuple[str, ...]
    loads: tuple[tuple[str, ...], ...]
    behind: tuple[str, ...]


def ids_of(model: Model) -> Ids:
    """What things depend on."""
    own = inputs_of_lines(model.geometry, model.stock)
    of, loads = whole(model, own), tuple(case.inputs for case in model.cases)
    return Ids(own, of, loads, tuple(dict.fromkeys(chain(of, *loads))))


@dataclass(frozen=True, eq=False)
class Known:
    """One description with its answer, ready to be judged.

    worsts: where each member is used most; most (c, m): largest utilisations in the cases that
    have forces; reasons: what keeps each member from being said to hold; system: the units that
    words are said in.
    """

    model: Model
    found: Answer
    s: Strengths
    worsts: tuple[Worst | None, ...]
    most: Array
    reasons: tuple[Reason, ...]
    ids: Ids
    system: System
    doubts: tuple[Doubt, ...] = field(default=())

    def worst(self, member: int) -> Worst | None:
        """Where a member is used most."""
        return self.worsts[member]


# ------------------------------------------------------------------------ members


def member_check(k: Known, member: int, said: str, remedy: str = "") -> Check:
    """A member against its strength in the case that uses it most, of which `said` tells.

    It is open where a case has no answer or a strength is not sure, unless it is short already.
    """
    line, w, reason = k.model.geometry.lines[member], k.worst(member), k.reasons[member]
    beyond = w is not None and w.utilisation > 1.0 and reason.decides
    if w is None or (reason.words and not beyond):
        return _open(k, member, reason.words or "no load case could be computed")
    case = k.model.cases[w.case]
    demand, capacity = _sides(k, member, w)
    made = make_check(
        f"{WORD}.check.member.{line.id}",
        f"{line.title}: strength",
        demand=demand,
        capacity=capacity,
        factor=case.factor.si,
        inputs=_inputs(k, member, k.ids.loads[w.case]),
        sources=(*SOURCES, *((case.source,) if case.source else ())),
        basis_of_verdict=f"{said}{_grows(k, w)}",
        closes=remedy,
    )
    return _likelier(k, member, made)


def _likelier(k: Known, member: int, made: Check) -> Check:
    """The check with the case in which the member falls short most likely, where that is another."""
    doubt = _doubt(k, member)
    if doubt.short <= max(made.probability_short or 0.0, UNLIKELY):
        return made
    case = k.model.cases[doubt.case]
    said = f"{made.basis_of_verdict}; the forces of {case.title} are less sure, and it falls short there more likely"
    inputs = tuple(dict.fromkeys((*made.inputs, *case.inputs)))
    return replace(made, probability_short=doubt.short, basis_of_verdict=said, inputs=inputs)


def governed(k: Known, member: int, w: Worst) -> str:
    """Which case governs a member, where along it, and by which criterion."""
    case = k.model.cases[w.case]
    where = place_words(k.model, member, w, k.s.places.at)
    return f"{case.title}; {CRITERIA[w.criterion]}, {where}; {case.criterion} permitted"


def _grows(k: Known, w: Worst) -> str:
    """That forces grow faster than the load, where it makes a margin smaller than expected."""
    if w.utilisation <= GROWS * w.now:
        return ""
    at = float(k.s.multiple[k.s.row[w.case]]) * k.model.cases[w.case].factor.si
    return (
        f"; {100 * w.now:.0f} % of its strength is used, and the margin is smaller than that tells, since "
        f"forces grow faster than the load: the frame buckles at {at:.3g} times it"
    )


def _open(k: Known, member: int, reason: str) -> Check:
    line = k.model.geometry.lines[member]
    name = f"{WORD}.member.{line.id}"
    return make_check(
        f"{WORD}.check.member.{line.id}",
        f"{line.title}: strength",
        demand=Result(f"{name}.demand", "Share of its strength", None, "ratio", absent=reason),
        capacity=Result(f"{name}.capacity", "All of its strength", 1.0, "ratio"),
        inputs=_inputs(k, member, *k.ids.loads),
        sources=SOURCES,
    )


def _sides(k: Known, member: int, w: Worst) -> tuple[Result, Result]:
    """Demand and capacity in the governing case: the load as a share of what it may grow to."""
    case, doubt = k.model.cases[w.case], _doubt(k, member)
    name = f"{WORD}.member.{k.model.geometry.lines[member].id}"
    asked = 0.0 if w.utilisation < NOTHING else w.utilisation / case.factor.si
    title = f"Share of the load that it bears, {case.title}"
    return (
        Result(f"{name}.demand", title, asked, "ratio", asked * doubt.demand),
        Result(f"{name}.capacity", "All of it", 1.0, "ratio", doubt.capacity),
    )


def _doubt(k: Known, member: int) -> Doubt:
    return k.doubts[member] if k.doubts else Doubt()


def _inputs(k: Known, member: int, *loads: tuple[str, ...]) -> Iterator[str]:
    """What the member's own strength and its load come from, its own values first.

    How the frame shares the load out depends on every tube and joint, so that all of them are there.
    """
    return chain(k.ids.own[member], k.ids.whole, *loads)


# ------------------------------------------------------------------------ critical loads


def solved_case(k: Known, number: int) -> Case | None:
    """The answer of a case by its place in the description."""
    at = k.model.solved[number]
    return k.found.cases[at] if at >= 0 else None


def critical_checks(k: Known) -> tuple[Check | None, ...]:
    """Each case against the load at which the whole frame buckles; None where nothing is pressed."""
    return tuple(_critical_check(k, number, least) for number, least in enumerate(_asked(k)))


def _critical_check(k: Known, number: int, least: Asked) -> Check | None:
    case, solved = k.model.cases[number], solved_case(k, number)
    name = f"{WORD}.case.{case.id}"
    factor = solved.critical.factor if solved and solved.critical else None
    if factor == float("inf"):
        return None
    known = solved is not None and (solved.forces is not None or solved.beyond)
    why = "" if known and factor is not None else case.absent or (solved.why if solved else "")
    joint = solved.critical.node if solved and solved.critical else -1
    near = f"it moves most near {near_joint(k, joint)}; " if joint >= 0 else ""
    return make_check(
        f"{WORD}.check.critical.{case.id}",
        f"Elastic buckling of the frame, {case.title}",
        demand=Result(
            f"{name}.critical_asked",
            "Elastic critical load factor asked",
            least.multiple,
            "ratio",
            least.multiple * case.spread,  # a larger load is a larger share of the critical one
        ),
        capacity=Result(
            f"{name}.critical",
            "Elastic critical load factor",
            None if why else factor,
            "ratio",
            0.0 if why else (factor or 0.0) * stiffness_spread(k.model),
            absent=why,
        ),
        factor=case.factor.si,
        inputs=(*k.ids.whole, *k.ids.loads[number]),
        sources=("eigenvalue of K + factor · K_G with every tube in four pieces", SOURCE),
        basis_of_verdict=f"{near}{_asks(k, least)}; the tubes' own strength is checked apart",
    )


def stiffness_spread(model: Model) -> float:
    """The largest relative standard uncertainty among the tubes' moduli, taken as off together."""
    moduli = (model.stuff(n).modulus for n in range(len(model.geometry.lines)))
    return max(e.standard_uncertainty / e.si for e in moduli)


def _asked(k: Known) -> tuple[Asked, ...]:
    """The elastic critical factor on the load as written that each case must have."""
    pressed = np.zeros((len(k.model.cases), len(k.model.geometry.ends)))
    multiple = np.zeros(len(pressed))
    for number, case in enumerate(k.model.cases):
        solved = solved_case(k, number)
        if solved and solved.forces is not None and solved.critical:
            pressed[number] = np.maximum(-solved.forces[..., 0].min(axis=1), 0.0)
            multiple[number] = solved.critical.factor / case.factor.si
    return asked(k.s.pieces, pressed, np.where(np.isfinite(multiple), multiple, 0.0))


def _asks(k: Known, least: Asked) -> str:
    """Why more than 1 is asked of the perfect frame's critical factor."""
    if least.piece < 0:
        return "1 / (0.9 × 0.877) is asked, since tubes are not straight (AISC 360, Eq. E3-3)"
    title = k.model.geometry.lines[int(k.model.geometry.line[least.piece])].title
    return (
        f"asked is what {title} needs, which yields before the frame buckles (AISC 360, Eq. E3-2)"
    )


def near_joint(k: Known, fine: int) -> str:
    """What a joint or a point along a tube is called."""
    count = len(k.model.geometry.joints)
    g = k.model.geometry
    if fine < count and not g.declared[fine]:
        piece = int(np.flatnonzero((g.ends == fine).any(axis=1))[0])
        return f"a bend of {g.lines[int(g.line[piece])].title}"
    if fine < count:
        return k.model.name(fine)
    piece = k.found.piece_at(fine)
    return f"the middle of {g.lines[int(g.line[piece])].title}"
