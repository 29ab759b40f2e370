"""A frame in pieces under axial forces, seen from the joints of the whole frame.

A straight member in pieces bends in two planes that know nothing of each other, is stretched and is
twisted: four rows of small matrices. The joints between its pieces are eliminated row by row, those of
all members and load cases together, so that the whole frame's joints are all that is left; what they
did comes back by substitution. Whether all that was eliminated resists is found on the way, and with
what is left tells whether the frame stands (E. V. Haynsworth's inertia formula, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from generator.frame.elimination import roots
from generator.frame.loading import member_motions
from generator.frame.model import Array, Flags, Indices
from generator.frame.plan import Plan, motions_of
from generator.frame.shapes import TURN, XY, XZ
from generator.frame.solve import Ready, cholesky, reduced, scaled_members
from generator.frame.stiffness import Members, bowing, followed, loaded, members_of
from generator.frame.subdivide import Split

RODS = (np.array((0, 6)), np.array((3, 9)))
"""Motions of a member that stretch it, and those that twist it."""


@dataclass(frozen=True, eq=False)
class Rows:
    """Rows of matrices: bend (4, 4, …, 2) in both planes, or (4, 4, …, 1) where they are alike; rod
    (2, 2, …, 2) stretching and twisting."""

    bend: Array
    rod: Array


def rows_of(local: Array) -> Rows:
    """The rows of matrices (…, 12, 12) in local axes."""
    turned = local[..., XZ[:, None], XZ] * np.outer(TURN, TURN)
    bend = np.stack((local[..., XY[:, None], XY], turned), axis=-1)
    rod = np.stack([local[..., k[:, None], k] for k in RODS], axis=-1)
    return Rows(*(np.moveaxis(a, (-3, -2), (0, 1)) for a in (bend, rod)))


def ends_of(local: Array) -> tuple[Array, Array]:
    """Motions or forces (…, 12) in local axes as those of rows, (4, …, 2) and (2, …, 2)."""
    bend = np.stack((local[..., XY], local[..., XZ] * TURN), axis=-1)
    rod = np.stack([local[..., k] for k in RODS], axis=-1)
    return np.moveaxis(bend, -2, 0), np.moveaxis(rod, -2, 0)


def from_rows(bend: Array, rod: Array) -> Array:
    """The inverse of `ends_of`; also of three motions of one end in place of six: (…, 6 or 12)."""
    half = len(rod)
    out = np.zeros((*rod.shape[1:-1], 6 * half))
    out[..., XY[: 2 * half]] = np.moveaxis(bend[..., 0], 0, -1)
    out[..., XZ[: 2 * half]] = np.moveaxis(bend[..., 1], 0, -1) * TURN[: 2 * half]
    for k, of in enumerate(RODS):
        out[..., of[:half]] = np.moveaxis(rod[..., k], 0, -1)
    return out


_FOUR = np.triu_indices(4)
"""Upper entries of the matrices of rows."""


def _outer(motions: Array) -> Array:
    """Symmetric matrices of 1 at the upper entries of rows, whose motions (k, 4, 12) are given: (k, 10, 144)."""
    half = motions[:, _FOUR[0], :, None] * motions[:, _FOUR[1], None, :]
    twice = (_FOUR[0] != _FOUR[1])[:, None, None]
    return np.asarray((half + half.swapaxes(2, 3) * twice).reshape(*half.shape[:2], 144))


def twisted(rods: Array) -> tuple[Array, Flags]:
    """The stiffness against twist (c, k) of rows of pieces (q, 2, 2, c, k, 2), and whether all between their
    ends resists (c, k): springs one after another."""
    springs = rods[:, 0, 0, ..., 1]
    whole, firm = springs[0], np.ones(springs.shape[1:], dtype=bool)
    for own in springs[1:]:
        both = whole + own
        firm &= both > 0.0
        whole = whole * own / np.where(both == 0.0, np.inf, both)
    return whole, firm


def _times(one: Array, two: Array) -> Array:
    """Products of small matrices whose entries are the leading axes."""
    return np.asarray(sum(one[:, j, None] * two[j] for j in range(len(two))))


def _inverse(own: Array) -> tuple[Array, Flags]:
    """The inverse of symmetric matrices (h, h, …), h ≤ 2, and which are positive definite (…)."""
    if len(own) == 1:
        return 1.0 / np.where(own == 0.0, np.inf, own), own[0, 0] > 0.0
    det = own[0, 0] * own[1, 1] - own[0, 1] * own[1, 0]
    firm = (own[0, 0] > 0.0) & (det > 0.0)
    by = 1.0 / np.where(det == 0.0, np.inf, det)
    return np.array(((own[1, 1] * by, -own[0, 1] * by), (-own[1, 0] * by, own[0, 0] * by))), firm


@dataclass(frozen=True, eq=False)
class Chain:
    """Pieces in a row joined to one: whole (2h, 2h, …); of each joint between them, in order, the
    inverse of its stiffness (h, h, …) and how it follows the start and the next, −share of
    (h, 2h, …); firm (…): whether all of them resist."""

    whole: Array
    steps: tuple[tuple[Array, Array], ...]
    firm: Flags

    def passed(self, loads: Array) -> tuple[Array, list[Array]]:
        """Loads on the pieces' ends (q, 2h, …) as those of the row's ends (2h, …), and what the joints
        between had to pass on."""
        h, ends, middle = len(self.whole) // 2, loads[0], []
        for (_, share), more in zip(self.steps, loads[1:], strict=True):
            mid = ends[h:] + more[:h]
            middle.append(mid)
            passed = sum(share[j] * mid[j] for j in range(h))
            ends = np.concatenate((ends[:h], more[h:])) - passed
        return ends, middle

    def between(self, ends: Array, middle: Sequence[Array] = ()) -> list[Array]:
        """Motions (h, …) of the joints between under those of the ends (2h, …)."""
        h, after, found = len(self.whole) // 2, ends[len(ends) // 2 :], []
        for k in range(len(self.steps) - 1, -1, -1):
            inverse, share = self.steps[k]
            far = np.concatenate((ends[:h], after))
            after = -np.asarray(sum(share[:, j] * far[j] for j in range(2 * h)))
            if middle:
                after = after + sum(inverse[:, j] * middle[k][j] for j in range(h))
            found.append(after)
        return found[::-1]


def chained(parts: Array) -> Chain:
    """The pieces (q, 2h, 2h, …) of a row joined one after another."""
    whole, h, steps = parts[0], len(parts[0]) // 2, []
    firm = np.ones(whole.shape[2:], dtype=bool)
    for part in parts[1:]:
        inverse, ok = _inverse(whole[h:, h:] + part[:h, :h])
        across = np.concatenate((whole[h:, :h], part[:h, h:]), axis=1)
        share = _times(inverse, across)
        joined = -_times(across.swapaxes(0, 1), share)
        joined[:h, :h] += whole[:h, :h]
        joined[h:, h:] += part[h:, h:]
        steps.append((inverse, share))
        whole, firm = joined, firm & ok
    return Chain(whole, tuple(steps), firm)


@dataclass(frozen=True, eq=False)
class Places:
    """Where motions of blocks stand among f free ones: at (m, k), f where held; and how forces on
    blocks add up there: `order` sorts them, starts is where each place's begin, place which one."""

    at: Indices
    order: Indices
    starts: Indices
    place: Indices
    size: int

    def summed(self, forces: Array) -> Array:
        """Forces on blocks (c, m, k) at the free motions (c, f)."""
        total = np.zeros((len(forces), self.size + 1))
        if len(self.order):
            flat = forces.reshape(len(forces), -1)[:, self.order]
            total[:, self.place] = np.add.reduceat(flat, self.starts, axis=1)
        return total[:, :-1]


def places_of(free: Indices, motions: int, of: Indices) -> Places:
    """Places of blocks' motions `of` (m, k), numbered as all `motions` are, among those `free` (f,)."""
    place = np.full(motions, len(free), dtype=np.intp)
    place[free] = np.arange(len(free))
    at = place[of]
    order = np.argsort(at.ravel(), kind="stable")
    ordered = at.ravel()[order]
    starts = np.flatnonzero(np.diff(ordered, prepend=-1))
    return Places(at, order, starts, ordered[starts], len(free))


@dataclass(frozen=True, eq=False)
class Blocks:
    """Matrices of c cases, each a sum of small ones (c or 1, m, k, k) at places."""

    blocks: Array
    places: Places

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of all cases' matrices, one after another on a diagonal."""
        size = len(self.blocks) * self.places.size
        return size, size

    def times(self, motions: Array) -> Array:
        """Each case's matrix times its motions (c, f)."""
        padded = np.concatenate((motions, np.zeros((len(motions), 1))), axis=1)
        own = padded[:, self.places.at][..., None]
        return self.places.summed(np.matmul(self.blocks, own)[..., 0])

    def full(self, some: Indices) -> Array:
        """Each case's matrix in full (c, k, k), of the motions `some` (k,), in order, that it acts on."""
        size = len(some) + 1
        place = np.full(self.places.size + 1, len(some))  # others stand last
        place[some] = np.arange(len(some))
        at = place[self.places.at]
        where = (at[:, :, None] * size + at[:, None, :]).ravel()
        full = np.zeros((len(self.blocks), size * size))
        for own, blocks in zip(full, self.blocks, strict=True):
            own[:] = np.bincount(where, blocks.ravel(), minlength=size * size)
        return full.reshape(-1, size, size)[:, :-1, :-1]

    def __matmul__(self, motions: Array) -> Array:
        """All cases' motions in a row (c·f,)."""
        return self.times(motions.reshape(len(self.blocks), -1)).reshape(-1)

    def __getitem__(self, some: tuple[slice, slice]) -> Blocks:
        """The cases of some rows, the same of columns."""
        first, last, _ = some[0].indices(self.shape[0])
        size = max(self.places.size, 1)
        return Blocks(self.blocks[first // size : last // size], self.places)


@dataclass(frozen=True, eq=False)
class Tangent:
    """A frame's stiffness under axial forces of c cases: more (c, m, 12, 12): what they add to the whole
    frame's scaled members; its cut members bending, and their pieces stretched and twisted
    (q, 2, 2, c, k, 2); firm (c,): whether all between resists."""

    more: Array
    bend: Chain
    rods: Array
    firm: Flags

    @property
    def chains(self) -> tuple[Chain, Chain]:
        """The rows of the cut members: bending, and stretched and twisted."""
        return self.bend, chained(self.rods)


@dataclass(frozen=True, eq=False)
class Fine:
    """A split frame and its whole, which is ready to be solved; members: those of the pieces; unit
    (p, 12, 12): their geometric stiffness for 1 N in local axes."""

    split: Split
    whole: Ready
    members: Members
    unit: Array

    @property
    def scale(self) -> Array:
        """The whole frame's scale."""
        return self.whole.factor.scale

    @property
    def plan(self) -> Plan:
        """The whole frame's numbering."""
        return self.whole.plan

    @cached_property
    def cut(self) -> Indices:
        """The members that are in pieces."""
        return np.flatnonzero(~self.split.kept)

    @cached_property
    def freed(self) -> Indices:
        """The pieces with freed motions."""
        return np.flatnonzero(self.members.freed.any(axis=1))

    @cached_property
    def bow(self) -> Array:
        """The geometric stiffness for 1 N, freed motions following elastically."""
        return followed(self.members, self.unit)

    @cached_property
    def order(self) -> Indices:
        """The whole frame's members, those in pieces first: so they stand wherever they are scaled."""
        return np.argsort(self.split.kept, kind="stable")

    @cached_property
    def pair(self) -> Array:
        """What scales a member's matrix (m, 12, 12), in that order."""
        one = np.ones((len(self.order), 12, 12))
        return scaled_members(self.split.whole, self.plan, self.scale, one)[self.order]

    @cached_property
    def stiff(self) -> Array:
        """The whole frame's members, elastic and scaled (m, 12, 12), in that order."""
        return np.asarray(self.whole.members.world[self.order] * self.pair)

    @cached_property
    def spring(self) -> Array:
        """Springs of the free motions, scaled (f,)."""
        return self.split.whole.spring.ravel()[self.plan.free] * self.scale**2

    def _in_rows(self, local: Array) -> Rows:
        """The cut members' pieces (…, p, 12, 12) as rows, with the pieces first (q, …)."""
        q, own = self.split.pieces, len(self.cut)
        parts = local[..., : q * own, :, :]
        rows = rows_of(parts.reshape(*parts.shape[:-3], own, q, 12, 12))
        bend, rod = (np.ascontiguousarray(np.moveaxis(a, -2, 0)) for a in (rows.bend, rows.rod))
        return Rows(bend[..., : self.planes], rod)

    @cached_property
    def planes(self) -> int:
        """Planes of bending to be told apart: one where round tubes are released alike in both."""
        xy, xz = (
            self.members.local[:, k[:, None], k] * np.outer(turn, turn)
            for k, turn in ((XY, np.ones(4)), (XZ, TURN))
        )
        bow = self.bow[:, XY[:, None], XY], self.bow[:, XZ[:, None], XZ] * np.outer(TURN, TURN)
        return 1 if np.array_equal(xy, xz) and np.array_equal(*bow) else 2

    @cached_property
    def elastic_rows(self) -> Rows:
        return self._in_rows(self.members.local[None])

    @cached_property
    def bow_rows(self) -> Rows:
        return self._in_rows(self.bow[None])

    @cached_property
    def still(self) -> tuple[Array, Array]:
        """The cut members' rows without axial force: bending (4, 4, 1, k, planes) and twisting (1, k)."""
        rows = self.elastic_rows
        return chained(rows.bend).whole, twisted(rows.rod)[0]

    def _gained(self, bend: Array, twist: Array) -> Array:
        """What the cut members' rows (4, 4, c, k, planes) and their twisting (c, k) have more than without
        axial force, as matrices of the whole's scaled motions (c, k, 12, 12). Stretching has none of it."""
        still, elastic = self.still
        more = (bend - still)[_FOUR]
        each = [*np.moveaxis(more, -1, 0), (twist - elastic)[None]]
        factors = np.concatenate(each).transpose(2, 1, 0)
        basis = self.basis if bend.shape[-1] == 2 else self.alike
        found = np.matmul(factors, basis).swapaxes(0, 1)
        return np.asarray(found.reshape(*twist.shape, 12, 12))

    @cached_property
    def basis(self) -> Array:
        """The cut members' matrices of the whole's scaled motions for 1 of each entry of their rows: the
        upper ones of both planes of bending, then twisting (k, 21, 144)."""
        cut = self.cut
        scale = np.zeros(6 * self.plan.joints)
        scale[self.plan.free] = self.scale
        ends = motions_of(self.split.whole.ends[cut])
        turn = self.whole.members.turn[cut] * scale[ends][:, None, :]
        planes = (turn[:, XY], turn[:, XZ] * TURN[:, None])
        twist = turn[:, 9:10] - turn[:, 3:4]
        every = [_outer(own) for own in planes]
        every.append((twist[..., None] * twist[..., None, :]).reshape(len(cut), 1, 144))
        return np.concatenate(every, axis=1)

    @cached_property
    def alike(self) -> Array:
        """The same where both planes bend alike (k, 11, 144)."""
        both = self.basis[:, :10] + self.basis[:, 10:20]
        return np.concatenate((both, self.basis[:, 20:]), axis=1)

    @cached_property
    def bow_kept(self) -> Array:
        """The geometric stiffness for 1 N of members in one piece, scaled (k, 12, 12)."""
        first = self.split.pieces * len(self.cut)
        turn = self.members.turn[first:]
        return (
            np.asarray(turn.swapaxes(1, 2) @ self.bow[first:] @ turn) * self.pair[len(self.cut) :]
        )

    def parts(self, tension: Array) -> tuple[Array, Array]:
        """The cut members' pieces under axial forces (c, p), linear in them: bending (q, 4, 4, c, k, planes),
        stretched and twisted (q, 2, 2, c, k, 2)."""
        q, own = self.split.pieces, len(self.cut)
        by = np.moveaxis(tension[:, : q * own].reshape(len(tension), own, q), -1, 0)
        by = np.ascontiguousarray(by)[:, None, None, :, :, None]
        bend, rod = by * self.bow_rows.bend, by * self.bow_rows.rod
        bend += self.elastic_rows.bend
        rod += self.elastic_rows.rod
        return bend, rod

    def tangent(self, tension: Array, *, exact: bool) -> Tangent:
        """The tangent for axial forces (c, p) of the pieces; freed motions follow exactly, or as they do
        without axial force, so that it is linear in the forces."""
        bend, rod = self.parts(tension)
        own = len(self.cut)
        kept = tension[:, self.split.pieces * own :, None, None] * self.bow_kept
        if exact and len(self.freed):
            bend, rod = self._exactly(tension, bend, rod, kept)
        bends, (twist, resists_twist) = chained(bend), twisted(rod)
        more = self._gained(bends.whole, twist)
        firm = np.asarray(bends.firm.all(axis=(1, 2)) & resists_twist.all(axis=1))
        return Tangent(np.concatenate((more, kept), axis=1), bends, rod, firm)

    def _exactly(self, tension: Array, bend: Array, rod: Array, kept: Array) -> tuple[Array, Array]:
        """The rows with the freed pieces' entries as they truly are under axial force; those of members in
        one piece are set in `kept` (c, k, 12, 12)."""
        q, own, some = self.split.pieces, len(self.cut), self.freed
        pieces = self.members.pick(some)
        local = loaded(pieces, self.unit[some], tension[:, some]).local
        amid = some < q * own
        rows = rows_of(local[:, amid])
        for j, piece in enumerate(some[amid].tolist()):
            bend[piece % q, :, :, :, piece // q] = rows.bend[:, :, :, j, : self.planes]
            rod[piece % q, :, :, :, piece // q] = rows.rod[:, :, :, j]
        last, turn = some[~amid] - q * own, pieces.turn[~amid]
        true = turn.swapaxes(1, 2) @ (local[:, ~amid] - pieces.local[~amid]) @ turn
        kept[:, last] = true * self.pair[own + last]
        return bend, rod

    @cached_property
    def places(self) -> Places:
        """Where the whole frame's members' motions stand among the free ones."""
        ends = self.split.whole.ends[self.order]
        return places_of(self.plan.free, 6 * self.plan.joints, motions_of(ends))

    def product(self, members: Array, motions: Array) -> Array:
        """Scaled members (c or 1, m, 12, 12) times scaled motions (c, f): scaled forces (c, f)."""
        return Blocks(members, self.places).times(motions)

    def at_joints(self, forces: Array) -> Array:
        """Forces on the whole's members' ends (c, m, 12), in global axes, at its free motions (c, f)."""
        return self.places.summed(forces)

    def ends(self, motions: Array) -> tuple[Array, Array]:
        """Motions of the whole's joints (c, n, 6) at the cut members' ends, as those of rows."""
        return ends_of(member_motions(self.split.whole, motions, self.whole.members.turn, self.cut))

    def all_joints(
        self,
        chains: tuple[Chain, Chain],
        motions: Array,
        middle: tuple[list[Array], list[Array]] = ([], []),
    ) -> Array:
        """Motions of all joints (c, N, 6), those between pieces following the whole's (c, n, 6) and the
        loads `middle` on themselves."""
        own, q = self.cut, self.split.pieces
        if q == 1 or not len(own):
            return motions
        bend, rod = self.ends(motions)
        inner = zip(
            chains[0].between(bend, middle[0]), chains[1].between(rod, middle[1]), strict=True
        )
        local = np.stack([from_rows(b, r) for b, r in inner], axis=2)  # (c, k, q - 1, 6)
        axes = self.whole.members.axes[own]
        world = np.matmul(local.reshape(len(motions), len(own), -1, 3), axes)
        return np.concatenate((motions, world.reshape(len(motions), -1, 6)), axis=1)


def finely(split: Split, whole: Ready) -> Fine:
    """A split frame over its whole."""
    members = members_of(split.frame)
    return Fine(split, whole, members, bowing(split.frame, members))


def resists(fine: Fine, tangent: Tangent, sets: Indices) -> Flags:
    """Which of the tangents are positive definite under the supports of sets (c,)."""
    members = (fine.stiff + tangent.more)[:, np.argsort(fine.order)]
    _, stored, firm = reduced(fine.split.whole, fine.plan, fine.scale, members, solving=False)
    stored, firm = fine.plan.held(stored, sets), firm & tangent.firm
    if fine.plan.dense:
        return np.asarray(firm & roots(stored)[1])
    every = [cholesky(fine.plan, own) is not None for own in stored]
    return np.asarray(firm & np.array(every))
