"""Elastic critical load: the factor on a load case at which the frame loses its stiffness.

The frame is split by `subdivide` first. Its tangent under λ times the axial forces of the linear
solution is seen from the whole frame's joints (`tubes`), where it is small, and not linear in λ. The
least λ at which it resists in some direction no more is wanted. A shape that is nearly right tells λ from
above, and better than the shape itself is. A tangent factorised a little below tells that no λ is less,
and gives a better shape. Without that proof there is no number. Loads keep their direction. All cases
are searched together.

Source: W. H. Wittrick and F. W. Williams, Quart. J. Mech. Appl. Math. 24 (1971) 263, who count what was
passed by signs of pivots (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from generator.frame.lanczos import Largest, Solve, largest
from generator.frame.mechanism import named, start_vector
from generator.frame.model import Array, Flags, Frame, Indices, Refusal
from generator.frame.plan import Plan
from generator.frame.recover import piece_tension
from generator.frame.shapes import TURN, XY, XZ
from generator.frame.solve import Ready, ready, solve, spread
from generator.frame.subdivide import Split
from generator.frame.tubes import (
    Blocks,
    Fine,
    Places,
    chained,
    finely,
    places_of,
    resists,
    twisted,
)

NOTHING = 1e-9
"""An eigenvalue 1/factor under this share of the largest is no critical load, only rounding."""
SWAYED = 1e-9
"""Residual up to which the shape of a sway is searched: forces are computed from it."""
FEW = 150
"""Motions of columns' ends up to which their whole matrix is looked at."""
GUESSED = 0.3
"""Residual up to which the shape is searched that tells where the next tangent is to be taken."""
BEGUN = 3e-2
"""The same of the shape after that."""
SHAPED = 1e-4
"""The same of the shapes from then on."""
SETTLED = 3e-4
"""Change of a critical load from one tangent to the next, as a share of it, at which it is known: what
the tangent makes wrong in the shape goes into it squared."""
BELOW = 1e-3
"""How far below a critical load it is proven that there is none less, as a share of it."""
BESIDE, WELL_BESIDE = 1e-6, 0.1
"""How far below the load at which a member buckles by itself a tangent is taken, as a share of it: what
the joints see of that member hides all else there. At first, and where only a guess is known or
a proof has failed."""
NEAR = 2e-3
"""How far below that load, as a share of it, a factor may be and count as near it."""
MIXED = 0.03
"""Share of a shape in which all modes are that goes into the one that a search begins with."""
ROUNDS = 24
"""Tangents after which a search is given up."""
CLOSED = 1e-8
"""Last step towards where a shape has no energy left, as a share, at which that is found."""
TRIES = 100
"""Energies of a shape after which the search for where it has none left is given up."""


@dataclass(frozen=True)
class Critical:
    """factor > 0: how many times a case's loads may act before the frame buckles, inf where nothing
    is compressed; under 1 it buckles under the loads as they are. shape (n, 6): the buckled
    shape of the split frame, largest motion 1; node: the joint that moves most, −1 for none.
    """

    factor: float
    shape: Array
    node: int


def criticals(fine: Fine, tension: Array) -> tuple[Critical | None, ...]:
    """The critical load of a split frame for the axial forces `tension` (c, p) of each case; None where
    the search for it did not end, or could not prove that there is none less."""
    every: list[Critical | None] = [_no_load(fine.split.frame)] * len(tension)
    some = np.flatnonzero((tension < 0.0).any(axis=1))
    if not len(some):
        return tuple(every)
    found = _searched(fine, tension[some], fine.plan.sets(some))
    for case, one in zip(some.tolist(), _found(found), strict=True):
        every[case] = one
    return tuple(every)


@dataclass(eq=False)
class _Search:
    """Where the search for each of c cases stands: sets (c,): of supports; nothing (c,): what eigenvalues
    must be over; factor (c,): the load factor as known so far, 0 where the search is given up; motions
    (c, f) scaled, nearly its shape at the whole's joints; top (c,): where the first member buckles
    between ends that are held; beside (c,): how far below that the next tangent is taken, where the
    factor is near it; settled (c,): whether the factor is that of a mode; sure (c,): whether it is
    proven to be the least."""

    fine: Fine
    tension: Array
    sets: Indices
    nothing: Array
    factor: Array
    motions: Array
    top: Array
    beside: Array
    settled: Flags
    sure: Flags


def _searched(fine: Fine, tension: Array, sets: Indices) -> _Search:
    """All cases, from tangents taken some way below where single members buckle on."""
    top, count, none = _tops(fine, tension), len(tension), np.zeros(len(tension), dtype=bool)
    begin = 0.6 * np.minimum(top, _lone(fine, tension))
    motions, nothing = np.zeros((count, fine.plan.size)), _rounding(fine.split.frame, tension)
    beside = np.full(count, BESIDE)
    out = _Search(fine, tension, sets, nothing, begin, motions, top, beside, none, none.copy())
    for enough in (GUESSED, BEGUN, *(SHAPED,) * ROUNDS):
        open_ = ~out.sure & (out.factor > 0.0)
        searched, settled = (np.flatnonzero(open_ & k) for k in (~out.settled, out.settled))
        if len(searched):
            _round(out, searched, enough)
        elif len(settled):
            _prove(out, settled)
        else:
            break
    return out


def _prove(out: _Search, on: Indices) -> None:
    """Take a tangent just below the factors of the cases `on`: where it stands, none is less."""
    at = out.factor[on] * (1.0 - BELOW)
    tangent = out.fine.tangent(out.tension[on] * at[:, None], exact=False)
    stands = resists(out.fine, tangent, out.sets[on])
    out.sure[on] = out.settled[on] = stands
    out.factor[on] = np.where(stands, out.factor[on], at)
    other = np.where(out.beside[on] > BESIDE, 0.4 * out.beside[on], WELL_BESIDE)
    out.beside[on] = np.where(stands, out.beside[on], other)


def _round(out: _Search, on: Indices, enough: float) -> None:
    """Better factors for the cases `on`: by the shape that least resists what tangents lose from none to
    the factors so far. It is exact where these are right."""
    before, top = out.factor[on], out.top[on]
    beside = out.beside[on] if enough <= SHAPED else WELL_BESIDE
    near = (before >= top * (1.0 - NEAR)) | (enough > SHAPED)
    at = np.where(near, np.minimum(before, top * (1.0 - beside)), before)
    ended = _shaped(out, on, at, enough)
    still = ~out.motions[on].any(axis=1)
    if enough <= BEGUN:
        ended &= _improve(out, on, max(enough**2, CLOSED))
    out.factor[on] = np.where(ended, out.factor[on], 0.0)
    out.factor[on[out.factor[on] * out.nothing[on] >= 1.0]] = np.inf
    out.sure[on] = np.isinf(out.factor[on])
    moved = np.abs(out.factor[on] - before) > SETTLED * before
    single = out.factor[on] >= out.top[on]  # its shape is not the joints'
    out.settled[on] = ended & ~moved & ((enough <= SHAPED) | single & still)


def _shaped(out: _Search, on: Indices, at: Array, enough: float) -> Flags:
    """Set the factors of the cases `on`, nearly, and their shapes by what tangents lose from none to `at`
    (k,); whether the search ended (k,)."""
    if not out.fine.plan.size:
        out.factor[on] = out.top[on]
        return np.ones(len(on), dtype=bool)
    lost = -out.fine.tangent(out.tension[on] * at[:, None], exact=False).more
    loss = Blocks(lost / at[:, None, None, None], out.fine.places)
    nothing, solve = out.nothing[on], _solving(out.fine.whole, out.sets[on])
    begin = _unit(out.motions[on])
    every = np.broadcast_to(start_vector(begin.shape[1]), begin.shape)
    begin += MIXED * _unit(solve(every.T, slice(None)).T)  # no mode is to be missing
    found = largest(solve, loss, nothing, enough, begin)
    some = found.value > nothing
    guess = np.divide(1.0, found.value, out=np.array(out.top[on]), where=some)
    out.factor[on] = np.minimum(guess, out.top[on])
    out.motions[on] = np.where(some[:, None], found.vector, 0.0)
    return found.found


def _unit(motions: Array) -> Array:
    """Shapes (c, f) with 1 as their largest motion, or none at all."""
    size = np.abs(motions).max(axis=1, keepdims=True)
    return np.asarray(np.divide(motions, size, out=np.zeros_like(motions), where=size > 0.0))


def _solving(of: Ready, sets: Indices) -> Solve:
    """How to solve with a frame's stiffness for forces (f, k) of some of the cases of `sets` (c,)."""
    return lambda forces, cases: of.factor.solve_scaled(forces, sets[cases])


@dataclass(frozen=True, eq=False)
class _Energy:
    """Twice the energy of a shape of each case's, by the factor on its axial forces; still (c,): without
    any."""

    fine: Fine
    tension: Array
    still: Array
    elastic: Array
    kept: Array
    bend: Array
    twist: Array

    def at(self, factor: Array, some: Indices) -> tuple[Array, Flags]:
        """Twice the energy of some cases (k,), and where what is between joints resists (k,)."""
        bend, rods = self.fine.parts(self.tension[some] * factor[:, None])
        chain, (twist, resists_twist) = chained(bend), twisted(rods)
        own = self.bend[:, some]
        force = sum(chain.whole[:, j] * own[j] for j in range(4))
        whole = self.elastic[some] + factor * self.kept[some] + (force * own).sum(axis=(0, 2, 3))
        whole = whole + (twist * self.twist[some]).sum(axis=1)
        firm = chain.firm.all(axis=(1, 2)) & resists_twist.all(axis=1)
        return whole, np.asarray(firm)


def _energy(fine: Fine, tension: Array, motions: Array) -> _Energy:
    """The energy of shapes `motions` (c, f), scaled."""
    plan, every = fine.plan, np.arange(len(motions))
    force = fine.product(fine.stiff[None], motions) + fine.spring * motions
    moved = spread(plan.free, (motions * fine.scale).T, plan.joints)
    bend, (a, b) = fine.ends(moved)
    own = np.append(motions, np.zeros((len(motions), 1)), axis=1)[
        :, fine.places.at[len(fine.cut) :]
    ]
    bowed = np.matmul(fine.bow_kept, own[..., None])[..., 0]
    first = fine.split.pieces * len(fine.cut)
    kept = ((bowed * own).sum(axis=2) * tension[:, first:]).sum(axis=1)
    still = (force * motions).sum(axis=1)
    twist = (b[..., 1] - a[..., 1]) ** 2
    bare = _Energy(fine, tension, still, np.zeros(len(motions)), kept, bend, twist)
    return replace(bare, elastic=still - bare.at(np.zeros(len(motions)), every)[0])


def _improve(out: _Search, some: Indices, enough: float) -> Flags:
    """Set the factors of the cases `some` to those at which their shapes have no energy left, or where
    the first member buckles by itself if they have some left then; where that was found (k,)."""
    energy = _energy(out.fine, out.tension[some], out.motions[some])
    still = ~out.motions[some].any(axis=1)  # the whole's joints do not move
    factor, ended = _without(energy, out.top[some], out.factor[some], enough)
    single = still | (factor >= out.top[some] * (1.0 - 1e-11))
    out.factor[some] = np.where(single, out.top[some], factor)
    ended |= single
    for case in some[single & np.isfinite(out.top[some])].tolist():
        exact = _top(out.fine, out.tension[case])[0]
        if exact > out.top[case] * (1.0 + 1e-12):
            out.factor[case] = out.top[case] = exact
            ended[some == case] = _improve(out, np.array([case]), enough)
    return np.asarray(ended)


def _without(energy: _Energy, top: Array, guess: Array, enough: float) -> tuple[Array, Flags]:
    """The factors (c,) at which the energy is 0, or `top` where it is not under that, and which are known
    to `enough`: by secants from none and `guess` on, and by halves where those do not close in."""
    on, brink = np.arange(len(top)), top * (1.0 - 1e-12)
    low, high, found = np.zeros(len(top)), np.array(top), np.full(len(top), np.nan)
    last, was, side = np.zeros(len(top)), energy.still.copy(), np.zeros(len(top))
    at = np.minimum(guess, brink)
    for count in range(TRIES):
        here = at[on]
        now, firm = energy.at(here, on)
        # without the pole where a single member buckles, beside which nothing is left of this
        now, plain = now * (1.0 - here / top[on]), firm & (here < top[on] * (1.0 - BESIDE))
        over = ~firm | (now <= 0.0)
        high[on], low[on] = np.where(over, here, high[on]), np.where(over, low[on], here)
        side[on] = np.where(over, np.minimum(side[on], 0.0) - 1.0, np.maximum(side[on], 0.0) + 1.0)
        run, rise = here - last[on], now - was[on]
        step = np.divide(-now * run, rise, out=np.full_like(here, np.inf), where=rise * run < 0.0)
        ahead = here + step
        small = (np.abs(step) <= enough * here) & (np.abs(now) <= 10.0 * enough * energy.still[on])
        found[on] = np.where(
            plain & small & (count > 0), ahead, np.where(here >= brink[on], top[on], np.nan)
        )
        found[on] = np.where((here >= brink[on]) & over, np.nan, found[on])
        half = (low[on] + high[on]) / 2.0
        half = np.where(high[on] < top[on], half, np.where(here < brink[on], brink[on], half))
        half = np.where(np.isfinite(half), half, 2.0 * here)
        good = (ahead > low[on]) & (ahead < high[on]) & plain & (np.abs(side[on]) < 7.0)
        at[on] = np.where(good, ahead, half)
        last[on], was[on] = np.where(plain, here, last[on]), np.where(plain, now, was[on])
        near = high[on] - low[on] <= 4.0 * enough * low[on]
        found[on] = np.where(np.isnan(found[on]) & near, half, found[on])
        on = on[np.isnan(found[on])]
        if not len(on):
            break
    return np.where(np.isnan(found), low, found), ~np.isnan(found)


def _inner(parts: Array) -> Array:
    """The matrices of the joints between pieces (q, 2h, 2h, …), the row's ends held: (…, i, i)."""
    q, h = len(parts), len(parts[0]) // 2
    out = np.zeros((*parts.shape[3:], (q - 1) * h, (q - 1) * h))
    moved = np.moveaxis(parts, (1, 2), (-2, -1))
    for k in range(q - 1):
        own = slice(k * h, (k + 1) * h)
        out[..., own, own] = moved[k][..., h:, h:] + moved[k + 1][..., :h, :h]
        if k:
            before = slice((k - 1) * h, k * h)
            out[..., before, own] = moved[k][..., :h, h:]
            out[..., own, before] = moved[k][..., h:, :h]
    return out


def _single(elastic: Array, bow: Array) -> tuple[Array, Array]:
    """The largest eigenvalue (…) of −bow · v = value · elastic · v, and its vector (…, i)."""
    root = np.linalg.inv(np.linalg.cholesky(elastic))
    value, vector = np.linalg.eigh(-root @ bow @ root.swapaxes(-1, -2))
    return value[..., -1], np.asarray((vector[..., None, :, -1] @ root)[..., 0, :])


def _tops(fine: Fine, tension: Array) -> Array:
    """A factor (c,) up to which no cut member buckles between ends that are held, twisting included:
    each is taken to be pressed all along as where it is pressed most."""
    q, own = fine.split.pieces, len(fine.cut)
    pressed = -tension[:, : q * own].reshape(len(tension), own, q).min(axis=2, initial=0.0)
    most = np.zeros(len(tension))
    if q > 1 and own:
        for elastic, bow in _pairs(fine):
            value = _single(elastic, -bow)[0].max(axis=-1)
            most = np.maximum(most, (pressed * value).max(axis=1))
    return np.asarray(np.divide(1.0, most, out=np.full(len(most), np.inf), where=most > 0.0))


def _pairs(fine: Fine) -> list[tuple[Array, Array]]:
    """The joints between pieces of each cut member, elastic and for 1 N in every piece (k, 2, i, i): in
    both planes, then twisting alone (k, 1, i, i)."""
    elastic, bow = fine.elastic_rows, fine.bow_rows
    bend = (_inner(elastic.bend)[0], _inner(bow.bend)[0])
    twist = (_inner(elastic.rod[..., 1:])[0], _inner(bow.rod[..., 1:])[0])
    return [bend, twist]


def _top(fine: Fine, tension: Array) -> tuple[float, Array]:
    """The factor on axial forces (p,) at which the first cut member buckles between ends that are
    held, and the motions of all joints (N, 6) then; inf and no motions where none is pressed."""
    q, own, frame = fine.split.pieces, len(fine.cut), fine.split
    by = tension[: q * own].reshape(own, q).T[:, None, None, None, :, None]
    shape, best = np.zeros((len(frame.frame.nodes), 6)), 0.0
    twist = (fine.elastic_rows.rod[..., 1:], fine.bow_rows.rod[..., 1:], (np.array((3,)),))
    rows = ((fine.elastic_rows.bend, fine.bow_rows.bend, (XY, XZ)), twist)
    for elastic, bow, motions in rows if q > 1 and own else ():
        value, vector = _single(_inner(elastic)[0], _inner(by * bow)[0])
        member, plane = (int(k) for k in np.unravel_index(int(np.argmax(value)), value.shape))
        if value[member, plane] > best:
            best = float(value[member, plane])
            local = np.zeros((q - 1, 6))
            of = motions[plane][motions[plane] < 6]
            sign = TURN[: len(of)] if plane == 1 else np.ones(len(of))
            local[:, of] = vector[member, plane].reshape(q - 1, -1) * sign
            axes = fine.whole.members.axes[fine.cut[member]]
            shape[:] = 0.0
            first = len(frame.whole.nodes) + member * (q - 1)
            shape[first : first + q - 1] = (local.reshape(-1, 3) @ axes).reshape(-1, 6)
    return (1.0 / best if best > 0.0 else np.inf), shape


def _lone(fine: Fine, tension: Array) -> Array:
    """A factor (c,) of the size at which pressed pieces would buckle by themselves."""
    frame, length = fine.split.frame, fine.members.length
    load = 10.0 * frame.modulus * np.minimum(frame.second_y, frame.second_z) / length**2
    most = (np.maximum(-tension, 0.0) / load).max(axis=1)
    return np.asarray(1.0 / most)


def _found(out: _Search) -> list[Critical | None]:
    """What was found for each case."""
    fine, frame = out.fine, out.fine.split.frame
    buckles = np.isfinite(out.factor)
    factor = np.where(buckles, out.factor, 0.0)
    moved = spread(fine.plan.free, (out.motions * fine.scale).T, fine.plan.joints)
    tangent = fine.tangent(out.tension * factor[:, None], exact=False)
    shapes = fine.all_joints(tangent.chains, moved)
    every: list[Critical | None] = []
    for case, shape in enumerate(shapes):
        if not out.sure[case]:
            every.append(None)
        elif not buckles[case]:
            every.append(_no_load(frame))
        else:
            single = factor[case] >= out.top[case]
            own = _top(fine, out.tension[case])[1] if single else shape
            node, motion = named(frame, own)
            every.append(Critical(float(factor[case]), own / own[node, motion], node))
    return every


def sway_loads(
    frame: Frame, of: Ready, columns: Indices, tension: Array
) -> tuple[Critical | None, ...]:
    """The critical loads by P-Δ alone, of a frame that need not be split, as `criticals`.

    columns (k, 2): the joints at the ends of each; tension (c, k) N. What the axial force does is
    counted between those joints alone: a column's own bow is not seen, so that it hides no sway.
    What sways bows too: it buckles at 0.82 (π²/12) of this at the least.
    """
    gain = chords(frame, of, columns, tension)
    moved = np.abs(gain).max(axis=(1, 2, 3), initial=0.0)
    some = np.flatnonzero((tension < 0.0).any(axis=1) & (moved > _rounding(frame, tension)))
    every: list[Critical | None] = [_no_load(frame)] * len(tension)
    if not len(some) or not of.plan.size:
        return tuple(every)
    nothing = _rounding(frame, tension[some])
    loss = Blocks(-gain[some], _places(of.plan, columns))
    found = _lost(of, loss, nothing, of.plan.sets(some))
    for place, case in enumerate(some.tolist()):
        if not found.found[place]:
            every[case] = None
        elif found.value[place] > nothing[place]:
            shape = np.zeros(6 * len(frame.nodes))
            shape[of.plan.free] = found.vector[place] * of.factor.scale
            six = shape.reshape(-1, 6)
            node, motion = named(frame, six)
            every[case] = Critical(1.0 / float(found.value[place]), six / six[node, motion], node)
    return tuple(every)


def _lost(of: Ready, loss: Blocks, nothing: Array, sets: Indices) -> Largest:
    """The largest eigenvalues of losses. They act on columns' ends alone: where those have few motions,
    the frame's give there is all that is asked of it, and LAPACK finds every eigenvalue."""
    at = loss.places.place[loss.places.place < loss.places.size]
    if not 0 < len(at) <= FEW:
        return largest(_solving(of, sets), loss, nothing, SWAYED)
    value, motions = np.zeros(len(sets)), np.zeros((len(sets), of.plan.size))
    for k in np.unique(sets).tolist():
        own = at[of.plan.on[k, at]]
        if not len(own):
            continue
        unit = np.zeros((of.plan.size, len(own)))
        unit[own, np.arange(len(own))] = 1.0
        moved = of.factor.solve_scaled(unit, np.full(len(own), k))
        root = np.linalg.cholesky(moved[own])
        full = loss.full(own)[sets == k]
        every, vector = np.linalg.eigh(root.T @ full @ root)
        value[sets == k] = every[:, -1]
        motions[sets == k] = (full @ (root @ vector[..., -1:]))[..., 0] @ moved.T
    return Largest(value, motions, np.ones(len(value), dtype=bool))


def _places(plan: Plan, columns: Indices) -> Places:
    """Where the translations of columns' ends stand among the free motions."""
    of = (6 * columns[:, :, None] + np.arange(3)).reshape(-1, 6)
    return places_of(plan.free, 6 * plan.joints, of)


def chords(frame: Frame, of: Ready, columns: Indices, tension: Array) -> Array:
    """N/L against the movement of columns' ends across them, in scaled motions (c, k, 6, 6); 0 where a
    motion is held, and for a tube that comes back to where it began and has no chord."""
    along = frame.nodes[columns[:, 1]] - frame.nodes[columns[:, 0]]
    length = np.linalg.norm(along, axis=1)
    per = np.divide(tension, length, out=np.zeros_like(tension), where=length > 0.0)
    along = along / np.where(length > 0.0, length, 1.0)[:, None]
    across = np.eye(3) - along[:, :, None] * along[:, None, :]
    world = np.block([[across, -across], [-across, across]])
    scale = np.append(of.factor.scale, 0.0)[_places(of.plan, columns).at]
    return np.asarray(per[:, :, None, None] * (scale[:, :, None] * world * scale[:, None, :]))


def _rounding(frame: Frame, tension: Array) -> Array:
    """What eigenvalues 1/factor (c,) must be over to be more than rounding."""
    most = np.abs(tension).max(axis=1, initial=0.0)
    return np.asarray(NOTHING * most / np.abs(frame.modulus * frame.area).max(initial=1.0))


def _no_load(frame: Frame) -> Critical:
    """No critical load: nothing is pressed, or nothing moves."""
    return Critical(float("inf"), np.zeros((len(frame.nodes), 6)), -1)


def critical_loads(split: Split) -> tuple[Critical | None, ...] | Refusal:
    """The elastic critical load of every case in order, or the mechanism that the frame is."""
    of = ready(split.whole)
    linear = of if isinstance(of, Refusal) else solve(split.whole, split.whole_loads, of=of)
    if isinstance(linear, Refusal) or isinstance(of, Refusal):
        return linear  # type: ignore[return-value]
    return criticals(finely(split, of), piece_tension(split, linear, of.members))
