"""Second order (P-Δ and P-δ): equilibrium of the displaced frame, iterated to convergence.

The axial forces of one pass give the geometric stiffness of the next, until displacements stay. All
cases go through a pass together, and none is factorised by itself: the elastic stiffness, factorised
once, is the preconditioner of conjugate gradients, which need few steps, since what axial forces
change is small beside it. A tangent that is not positive definite, or a case that does not settle,
is beyond the elastic critical load: a refusal, never a number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from generator.frame.loading import end_loads, member_motions, passed_on
from generator.frame.mechanism import excessive
from generator.frame.model import Array, Flags, Indices, Reason, Refusal, with_weight
from generator.frame.recover import piece_tension
from generator.frame.solve import Solution, balance, ready, solve, spread
from generator.frame.stiffness import loaded
from generator.frame.subdivide import Split
from generator.frame.tubes import Chain, Fine, ends_of, finely, from_rows, resists

TOLERANCE = 2e-8
"""Change still to come, over the largest motion, of a case that has settled: each pass changes a case by
some share of what the pass before did."""
SLOW = 0.9
"""The largest such share that is believed."""
PASSES = 60
"""Passes after which a case that has not settled is taken as beyond the critical load."""
EXACT = 1e-11
"""Residual, by the energy it stands for, over that of the load, at which a pass is solved: the load's is
taken from where the pass begins."""
COARSE = 1e-3
"""Passes before the last are solved less well: each brings some three digits more."""
STEPS = 300
"""Conjugate-gradient steps after which a pass is given up."""
SHIFTED = 0.02
"""Share of the largest axial force by which forces may differ from those of first order before it is
looked again whether the frame stands, where a critical load by first order says so."""


@dataclass(frozen=True, eq=False)
class _Given:
    """What stays from pass to pass; loads: ends (c, pieces, 12) and nodal (c, joints, 6)."""

    fine: Fine
    ends: Array
    nodal: Array


def _change(new: Array, old: Array, size: float) -> Array:
    """Largest change in each case over the largest motion, translations as shares of `size`.

    Translations and rotations go together: where a column is merely pressed, its rotations are
    rounding, and would never settle by themselves.
    """
    scale = np.array((size,) * 3 + (1.0,) * 3)
    moved_by = np.abs((new - old) / scale).max(axis=(1, 2), initial=0.0)
    whole = np.abs(new / scale).max(axis=(1, 2), initial=0.0)
    return np.asarray(np.divide(moved_by, whole, out=np.zeros_like(whole), where=whole > 0.0))


def _dot(one: Array, two: Array) -> Array:
    return np.asarray((one * two).sum(axis=1))


def _share(part: Array, whole: Array, some: Flags) -> Array:
    return np.divide(part, whole, out=np.zeros_like(part), where=some)


@dataclass(frozen=True, eq=False)
class _System:
    """The scaled tangents of k cases: the stiffness and `more` (k, m, 12, 12), under the supports of their
    sets (k,)."""

    fine: Fine
    more: Array
    sets: Indices

    @cached_property
    def on(self) -> Flags:
        """The motions that are free (k, f)."""
        return self.fine.plan.on[self.sets]

    def softly(self, forces: Array) -> Array:
        """Motions (k, f) under forces, were there no axial forces."""
        return self.fine.whole.factor.solve_scaled(forces.T, self.sets).T

    def added(self, motions: Array) -> Array:
        """What axial forces add to the forces (k, f) of motions."""
        return self.fine.product(self.more, motions) * self.on

    def left(self, right: Array, motions: Array) -> Array:
        """Loads (k, f) less what motions carry of them."""
        fine = self.fine
        carried = fine.product(fine.stiff + self.more, motions) + fine.spring * motions
        return (right - carried) * self.on


def _solved(of: _System, right: Array, start: Array, enough: float) -> tuple[Array, Flags]:
    """Scaled motions (k, f) under scaled loads `right` (k, f), from `start` on, and whether each tangent
    resisted in every direction that was met."""
    x, left = start, of.left(right, start)
    whole = np.abs(_dot(right, start))
    firm, ahead, way, pull = np.ones(len(whole), dtype=bool), np.zeros_like(whole), 0.0 * x, 0.0 * x
    for _ in range(STEPS):
        motion = of.softly(left)
        now = _dot(left, motion)
        go = firm & (now > enough**2 * whole)
        if not go.any():
            return x, firm
        by = _share(now, ahead, ahead > 0.0)[:, None]
        way, pull = motion + by * way, left + by * pull  # `pull` is the elastic stiffness × `way`
        force = pull + of.added(way)
        curved = _dot(way, force)
        firm &= ~go | (curved > 0.0)
        step = _share(now, curved, go & (curved > 0.0))[:, None]
        x, left, ahead = x + step * way, left - step * force, now
    return x, np.zeros_like(firm)


def _passed(given: _Given, tension: Array, cases: Indices) -> Array:
    """End loads of the pieces as the joints feel them, freed motions relaxed (k, pieces, 12)."""
    fine, own = given.fine, given.ends[cases]
    if not len(fine.freed):
        return own
    some = fine.freed
    freed = loaded(fine.members.pick(some), fine.unit[some], tension[:, some])
    out = own.copy()
    out[:, some] = passed_on(freed, own[:, some])
    return out


def _forces(given: _Given, tension: Array, cases: Indices, motions: Array) -> Array:
    """Forces at the ends of the pieces, in their own axes (k, pieces, 12)."""
    fine = given.fine
    own = member_motions(fine.split.frame, motions, fine.members.turn)[..., None]
    bow = tension[..., None] * np.matmul(fine.unit, own)[..., 0]
    out = np.matmul(fine.members.local, own)[..., 0] + bow
    if len(some := fine.freed):
        freed = loaded(fine.members.pick(some), fine.unit[some], tension[:, some])
        out[:, some] = np.matmul(freed.local, own[:, some])[..., 0]
    return np.asarray(out - _passed(given, tension, cases))


def _tension(given: _Given, cases: Indices, motions: Array) -> Array:
    """Axial force of every piece (k, pieces), the mean of its ends."""
    frame, members = given.fine.split.frame, given.fine.members
    a, b = frame.ends.T
    longer = motions[:, b, :3] - motions[:, a, :3]
    stretch = (longer * members.axes[:, 0]).sum(axis=-1)
    ends = given.ends[cases]
    return np.asarray(members.raw[:, 0, 0] * stretch + (ends[..., 0] - ends[..., 6]) / 2)


def _pass(
    given: _Given, tension: Array, cases: Indices, begin: Array, enough: float
) -> tuple[Array, Flags]:
    """Motions (k, joints, 6) of some cases, and which of them resist, found from `begin` on."""
    fine = given.fine
    plan, scale, joints = fine.plan, fine.scale, fine.plan.joints
    tangent = fine.tangent(tension, exact=True)
    chains = tangent.chains
    at_joints, middle = _at_joints(given, chains, tension, cases)
    start = begin[:, :joints].reshape(len(cases), -1)[:, plan.free] / scale
    system = _System(fine, tangent.more, plan.sets(cases))
    found, firm = _solved(system, at_joints * scale, start, enough)
    motions = spread(plan.free, (found * scale).T, joints)
    return fine.all_joints(chains, motions, middle), firm & tangent.firm


def _at_joints(
    given: _Given, chains: tuple[Chain, Chain], tension: Array, cases: Indices
) -> tuple[Array, tuple[list[Array], list[Array]]]:
    """Loads at the free motions of the whole's joints (k, f), and what joints between pieces passed on."""
    fine, none = given.fine, (list[Array](), list[Array]())
    right = given.nodal[cases, : fine.plan.joints].reshape(len(cases), -1)[:, fine.plan.free]
    if not given.ends.any():
        return right, none
    own, q = fine.cut, fine.split.pieces
    passed = _passed(given, tension, cases)
    parts = ends_of(passed[:, : q * len(own)].reshape(len(cases), len(own), q, 12))
    bend, middle = chains[0].passed(np.moveaxis(parts[0], -2, 0))
    rod, pushed = chains[1].passed(np.moveaxis(parts[1], -2, 0))
    local = np.concatenate((from_rows(bend, rod), passed[:, q * len(own) :]), axis=1)
    world = np.matmul(local[..., None, :], fine.whole.members.turn[fine.order])[..., 0, :]
    return right + fine.at_joints(world), (middle, pushed)


def _refused(reason: Reason, case: int) -> Refusal:
    return Refusal(reason, -1, -1, np.zeros((0, 6)), case)


@dataclass(eq=False)
class _Settled:
    """Where each case has come to rest: motions (c, joints, 6), axial forces that they were found with
    (c, pieces), passes (c,), and why not where it has not."""

    motions: Array
    tension: Array
    passes: Array
    why: dict[int, Reason]


def _settled(given: _Given, tension: Array, begin: Array) -> _Settled:
    """Every case from first axial forces `tension` (c, pieces) and the whole's motions `begin` on."""
    frame = given.fine.split.frame
    cases = np.arange(len(tension), dtype=np.intp)
    before = np.zeros((len(tension), len(frame.nodes), 6))
    out = _Settled(before.copy(), tension.copy(), np.zeros(len(tension)), {})
    last = np.zeros(len(tension))
    for count in range(1, PASSES + 1):
        enough = max(EXACT, COARSE ** (count + 1))
        motions, firm = _pass(given, tension, cases, begin, enough)
        change = _change(motions, before, frame.size)
        share = np.minimum(np.divide(change, last, out=np.ones_like(last), where=last > 0.0), SLOW)
        done = change * share / (1.0 - share) <= TOLERANCE
        out.motions[cases], out.tension[cases], out.passes[cases] = motions, tension, count
        out.why |= dict.fromkeys(cases[~firm].tolist(), "unstable")
        on = firm & ~done
        if not on.any():
            return out
        tension = _tension(given, cases, motions)[on]
        cases = cases[on]
        begin = before = motions[on]
        last = change[on] if count > 1 else 0.0 * change[on]  # the first is no share of another
    out.why |= dict.fromkeys(cases.tolist(), "unsettled")
    return out


def _sure(given: _Given, out: _Settled, first: Array, stands: Flags | None) -> None:
    """Refuse the cases that rest where the frame does not stand. `first`: axial forces of first order,
    under which it is known to stand in the cases `stands`."""
    moved_by = np.abs(out.tension - first).max(axis=1, initial=0.0)
    known = moved_by <= SHIFTED * np.abs(first).max(axis=1, initial=0.0)
    known &= False if stands is None else stands
    asked = np.array(
        [c for c in np.flatnonzero(~known).tolist() if c not in out.why], dtype=np.intp
    )
    if len(asked):
        tangent = given.fine.tangent(out.tension[asked], exact=True)
        firm = resists(given.fine, tangent, given.fine.plan.sets(asked))
        out.why |= dict.fromkeys(asked[~firm].tolist(), "unstable")


def _solutions(given: _Given, out: _Settled, softest: float) -> tuple[Solution | Refusal, ...]:
    """The solution of every case, or its refusal."""
    fine, cases = given.fine, np.arange(len(out.motions), dtype=np.intp)
    forces = _forces(given, out.tension, cases, out.motions)
    reaction, residual = balance(fine.split.frame, fine.members, given.nodal, out.motions, forces)
    every: list[Solution | Refusal] = []
    for i in cases.tolist():
        own = slice(i, i + 1)
        no = excessive(fine.split.frame, out.motions[own])
        if i in out.why:
            every.append(_refused(out.why[i], i))
        elif no:
            every.append(replace(no, case=i))
        else:
            parts = (out.motions[own], forces[own], reaction[own], residual[own])
            every.append(Solution(*parts, softest, out.passes[own], second_order=True))
    return tuple(every)


def second_order(
    split: Split,
    linear: Solution | None = None,
    fine: Fine | None = None,
    stands: Flags | None = None,
) -> tuple[Solution | Refusal, ...]:
    """Each case by itself (solutions of one case, of the split frame), or its refusal, in order.

    `linear` is the whole frame's linear solution and `fine` the frame in pieces, where they are known;
    stands (c,): whether the critical load under first order's axial forces is known to be over 1. A
    mechanism refuses every case, and so does a case whose linear displacement is excessive: its
    refusal names it.
    """
    of = fine.whole if fine else ready(split.whole)
    first = (
        of if isinstance(of, Refusal) else linear or solve(split.whole, split.whole_loads, of=of)
    )
    if isinstance(first, Refusal) or isinstance(of, Refusal):
        return (first,) * split.loads.cases
    fine = fine or finely(split, of)
    ends = end_loads(split.frame, fine.members, split.loads)
    given = _Given(fine, ends, with_weight(split.frame, split.loads).nodal)
    tension = piece_tension(split, first, of.members)
    out = _settled(given, tension, first.displacement)
    _sure(given, out, tension, stands)
    return _solutions(given, out, first.softest)


def together(found: Sequence[Solution]) -> Solution:
    """Solutions of one frame as one solution of several cases."""
    return Solution(
        np.concatenate([s.displacement for s in found]),
        np.concatenate([s.forces for s in found]),
        np.concatenate([s.reaction for s in found]),
        np.concatenate([s.residual for s in found]),
        found[0].softest,
        np.concatenate([s.iterations for s in found]),
        found[0].second_order,
    )
