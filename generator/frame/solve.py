"""Linear statics by direct stiffness: one factorisation, all load cases.

The reduced matrix is scaled to a unit diagonal, joints amid rows of members are eliminated, and what
is left is factorised by Cholesky. Its eigenvalues are pure numbers, and a least one under SOFTEST is a
mechanism.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from generator.frame.band import scaled_band
from generator.frame.elimination import Gone, eliminated, roots
from generator.frame.loading import end_loads, joint_loads, member_motions, passed_on, to_joints
from generator.frame.mechanism import SOFTEST, excessive, free_motion, least_eigenvalue, scales
from generator.frame.model import Array, Flags, Frame, Indices, Loads, Refusal, with_weight
from generator.frame.plan import Plan, motions_of, plan_of
from generator.frame.stiffness import Members, members_of


@dataclass(frozen=True)
class Solution:
    """displacement (c, n, 6) m, rad: motions of the joints, in global axes
    forces   (c, m, 12) N, N·m: what the joints do to each member's ends, in its own axes
    reaction (c, n, 6) N, N·m: what supports and springs do to the frame, in global axes
    residual (c,): largest force (moment) out of balance at a free joint over the largest force
             (moment) at any member end
    softest: least eigenvalue of the matrix scaled to a unit diagonal, of all sets of supports; 1 is
             best, 0 a mechanism
    iterations (c,): solves it took, 1 for linear
    second_order: whether equilibrium is that of the displaced frame
    """

    displacement: Array
    forces: Array
    reaction: Array
    residual: Array
    softest: float
    iterations: Array
    second_order: bool = False

    @property
    def tension(self) -> Array:
        """Axial force of each member, the mean of its ends, tension positive (c, m)."""
        return np.asarray((self.forces[..., 6] - self.forces[..., 0]) / 2)

    def times(self, by: Array) -> Solution:
        """A linear solution under loads `by` (c,) times as large."""
        each = by[:, None, None]
        return replace(
            self,
            displacement=self.displacement * each,
            forces=self.forces * each,
            reaction=self.reaction * each,
        )


@dataclass(frozen=True, eq=False)
class Factor:
    """A factorised stiffness: scale (f,); the joints that went first; root (g, …): under each set of
    supports, of the scaled matrix that is left the inverse of its Cholesky factor L, or LAPACK's upper
    factor of a band; softest (g,): the whole scaled matrix's least eigenvalue. Of v variations of a
    frame, whose matrices are stored in full, all but scale have one more axis, root the second."""

    plan: Plan
    scale: Array
    gone: tuple[Gone, ...]
    root: Array
    softest: Array

    def solve_scaled(self, right: Array, sets: Indices) -> Array:
        """Scaled motions (f, c), or (v, f, c), under scaled loads, each case's supports those of its set
        (c,)."""
        plan, (*every, _, cases) = self.plan, right.shape
        forces = np.zeros((*every, 6 * plan.joints, cases))
        forces[..., plan.free, :] = right
        motions, six = np.zeros_like(forces), (*every, plan.joints, 6, cases)
        for gone in self.gone:
            gone.pushed(forces.reshape(six))
        motions[..., plan.root, :] = self._root(forces[..., plan.root, :], sets)
        for gone in reversed(self.gone):
            gone.followed(motions.reshape(six), forces.reshape(six))
        return np.asarray(motions[..., plan.free, :])

    def _root(self, right: Array, sets: Indices) -> Array:
        if len(self.root) == 1:
            return self._one(self.root[0], right)
        right = right * self.plan.root_on[sets].T
        out = np.empty_like(right)
        for k, root in enumerate(self.root):
            out[..., sets == k] = self._one(root, right[..., sets == k])
        return out

    def _one(self, root: Array, right: Array) -> Array:
        if self.plan.dense:
            return np.asarray(root.swapaxes(-1, -2) @ (root @ right))
        from scipy.linalg.lapack import dpbtrs  # noqa: PLC0415  (slow to import; only big frames need it)

        return np.asarray(dpbtrs(root, right, lower=0)[0])


def scale_of(frame: Frame, plan: Plan, world: Array) -> Array:
    """Factors that bring the diagonal of the reduced matrix to 1 (f,).

    ValueError where it has entries that are no numbers: such frames are to be sorted out before.
    """
    own = np.einsum("mii->mi", world).ravel()
    sums = np.bincount(motions_of(frame.ends).ravel(), own, minlength=6 * len(frame.nodes))
    total = (sums + frame.spring.ravel())[plan.free]
    if not np.isfinite(total).all():
        raise ValueError("a member has no length, no direction across it, or a number not finite")
    return scales(total, plan.free % 6 < 3)


def scaled_members(frame: Frame, plan: Plan, scale: Array, world: Array) -> Array:
    """Members' matrices (…, m, 12, 12) in scaled motions, empty where a motion is held."""
    every = np.zeros(6 * len(frame.nodes))
    every[plan.free] = scale
    by = every[motions_of(frame.ends)]
    return np.asarray(world * by[:, :, None] * by[:, None, :])


def reduced(
    frame: Frame, plan: Plan, scale: Array, members: Array, *, solving: bool = True
) -> tuple[list[Gone], Array, Flags]:
    """Scaled members' matrices (c, m, 12, 12) by elimination: the joints that went first, the matrices
    that are left as a plan stores them, nothing held, and in which cases all was firm so far (c,)."""
    gone, left, firm = eliminated(plan.levels, members, solving=solving)
    stored = plan.stored(left)
    spring = np.zeros(6 * len(frame.nodes))
    spring[plan.free] = frame.spring.ravel()[plan.free] * scale * scale
    every = np.arange(len(plan.root))
    stored[:, every if plan.dense else plan.band, every] += spring[plan.root]
    return gone, stored, firm


def lower_inverse(lower: Array) -> Array:
    """The inverse of lower triangular matrices (…, n, n), by halves."""
    n = lower.shape[-1]
    if n <= 40:
        return np.asarray(np.tril(np.linalg.inv(lower)))
    half = n // 2
    out = np.zeros_like(lower)
    out[..., :half, :half] = lower_inverse(lower[..., :half, :half])
    out[..., half:, half:] = lower_inverse(lower[..., half:, half:])
    across = lower[..., half:, :half] @ out[..., :half, :half]
    out[..., half:, :half] = -out[..., half:, half:] @ across
    return out


def cholesky(plan: Plan, stored: Array) -> Array | None:
    """Cholesky's factor of a matrix as a plan stores it, lower or, of a band, upper; None where it is
    not positive definite."""
    if plan.dense:
        try:
            return np.asarray(np.linalg.cholesky(stored))
        except np.linalg.LinAlgError:
            return None
    from scipy.linalg.lapack import dpbtrf  # noqa: PLC0415  (slow to import; only big frames need it)

    upper, info = dpbtrf(stored, lower=0)
    return np.asarray(upper) if info == 0 else None


def factorised(frame: Frame, plan: Plan, world: Array) -> Factor | None:
    """The factor of the reduced matrix, None where it is not positive definite beyond doubt."""
    scale = scale_of(frame, plan, world)
    members = scaled_members(frame, plan, scale, world)
    gone, stored, firm = reduced(frame, plan, scale, members[None])
    sets = np.arange(len(plan.on))
    lower = [cholesky(plan, own) for own in plan.held(stored, sets)]
    found = [own for own in lower if own is not None]
    if len(found) < len(lower) or not firm.all():
        return None
    root = np.array([lower_inverse(own) for own in found] if plan.dense else found)
    one = tuple(Gone(g.level, g.inverse[0], g.share[0]) for g in gone)
    factor = Factor(plan, scale, one, root, np.full(len(sets), np.inf))
    softest = least_eigenvalue(lambda f: factor.solve_scaled(f, sets), plan.on)
    return replace(factor, softest=softest) if (softest >= SOFTEST).all() else None


def factorised_alike(frame: Frame, plan: Plan, scale: Array, world: Array) -> Factor | None:
    """The factor of v variations of a frame that is known to be sound, of other sections alone: of their
    members' matrices (v, m, 12, 12). None where one is not positive definite, or they are stored as
    bands."""
    members = scaled_members(frame, plan, scale, world)
    gone, stored, firm = reduced(frame, plan, scale, members)
    if not plan.dense or not firm.all():
        return None
    every = [roots(plan.held(stored, np.full(len(world), k))) for k in range(len(plan.on))]
    if not all(ok.all() for _, ok in every):
        return None
    root = np.array([lower_inverse(lower) for lower, _ in every])
    return Factor(plan, scale, tuple(gone), root, np.full(len(plan.on), np.inf))


def spread(free: Indices, reduced: Array, joints: int) -> Array:
    """Motions `free` (f, c) as motions of every joint (c, n, 6)."""
    full = np.zeros((reduced.shape[1], 6 * joints))
    full[:, free] = reduced.T
    return full.reshape(-1, joints, 6)


def moved(frame: Frame, plan: Plan, factor: Factor, joint: Array) -> Array:
    """Motions of the joints (c, n, 6) under loads at the joints (c, n, 6)."""
    right = joint.reshape(len(joint), -1)[:, plan.free].T * factor.scale[:, None]
    found = factor.solve_scaled(right, plan.sets(np.arange(len(joint))))
    return spread(plan.free, found * factor.scale[:, None], len(frame.nodes))


def end_forces(frame: Frame, members: Members, ends: Array, displacement: Array) -> Array:
    """Forces on member ends in local axes (c, m, 12): stiffness × motions − equivalent loads."""
    motions = member_motions(frame, displacement, members.turn)
    return np.asarray(
        np.matmul(members.local, motions[..., None])[..., 0] - passed_on(members, ends)
    )


def _largest(values: Array) -> tuple[Array, Array]:
    """Largest force and largest moment of each case in an array (c, k, 6 or 12)."""
    six = np.abs(values).reshape(len(values), -1, 6)
    return six[..., :3].max(axis=(1, 2), initial=0.0), six[..., 3:].max(axis=(1, 2), initial=0.0)


def _share(part: Array, whole: Array) -> Array:
    """part / whole, and 0 where there is no whole."""
    return np.asarray(np.divide(part, whole, out=np.zeros_like(part), where=whole > 0.0))


def balance(
    frame: Frame, members: Members, nodal: Array, displacement: Array, forces: Array
) -> tuple[Array, Array]:
    """Reactions (c, n, 6), and the relative residual (c,) at the joints' free motions.

    Moments out of balance are measured against the largest moment, but at least against the
    largest force times a millionth of the frame's size, so that a truss has a measure too.
    """
    given = to_joints(frame, members.turn, forces) - nodal
    reaction = np.where(frame.held | (frame.spring > 0), given, 0.0)
    left = np.where(frame.held, 0.0, given + frame.spring * displacement)
    (force, moment), (all_force, all_moment) = _largest(left), _largest(forces)
    all_moment = np.maximum(all_moment, 1e-6 * frame.size * all_force)
    return reaction, np.maximum(_share(force, all_force), _share(moment, all_moment))


def solved(frame: Frame, loads: Loads, plan: Plan, members: Members, factor: Factor) -> Solution:
    """The solution of every case with a factor at hand."""
    ends = end_loads(frame, members, loads)
    displacement = moved(frame, plan, factor, joint_loads(frame, members, loads, ends))
    forces = end_forces(frame, members, ends, displacement)
    reaction, residual = balance(
        frame, members, with_weight(frame, loads).nodal, displacement, forces
    )
    softest = float(factor.softest.min(initial=np.inf))
    return Solution(displacement, forces, reaction, residual, softest, np.ones(loads.cases))


@dataclass(frozen=True)
class Ready:
    """What solving a frame needs of the frame alone."""

    plan: Plan
    members: Members
    factor: Factor


def mechanism_of(frame: Frame, world: Array) -> Refusal:
    """The mechanism of a frame whose matrix is singular, under the first set of supports where it is."""
    if frame.held.ndim > 2:
        every = [replace(frame, held=held) for held in np.unique(frame.held, axis=0)]
        singular = (f for f in every if isinstance(ready(f), Refusal))
        frame = next(singular, every[0])
    band, stored, scale = scaled_band(frame, world)
    return free_motion(frame, band.free, stored, scale)


def ready(
    frame: Frame, plan: Plan | None = None, members: Members | None = None
) -> Ready | Refusal:
    """A frame, with its numbering and matrices where they are known, ready to be solved, or the
    mechanism that it is."""
    plan, members = plan or plan_of(frame), members or members_of(frame)
    factor = factorised(frame, plan, members.world)
    if factor is None:
        return mechanism_of(frame, members.world)
    return Ready(plan, members, factor)


def solve(
    frame: Frame, loads: Loads, plan: Plan | None = None, of: Ready | None = None
) -> Solution | Refusal:
    """Displacements, end forces and reactions of every case, or why there are none.

    With `plan` (from a frame of the same joints, members and supports) numbering is not done again;
    with `of` (from this very frame) nor is factorising.
    """
    found = of or ready(frame, plan)
    if isinstance(found, Refusal):
        return found
    solution = solved(frame, loads, found.plan, found.members, found.factor)
    return excessive(frame, solution.displacement) or solution


def solve_many(frames: Iterable[Frame], loads: Loads) -> Iterator[Solution | Refusal]:
    """Variations of one frame (geometry, sections, materials), numbered once.

    A plain loop on purpose: batched dense solves were slower above about 100 motions.
    """
    plan: Plan | None = None
    for frame in frames:
        plan = plan or plan_of(frame)
        yield solve(frame, loads, plan)
