"""Items as arrays, and what a loading of them weighs: total and centre of gravity with their
covariance.

Arrays first: ten thousand items cost a few milliseconds a condition. Coordinates are the team's
own. The uncertainty is first order (JCGM 100:2008, 5.1.2), analytic, with the masses and
coordinates of different items uncorrelated, and the `count` parts of one item fully correlated:
whoever misjudges one of eight equal bolts misjudges all eight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from buildspec.quantities import Quantity
from buildspec.sections.mass import Condition, Item
from generator.formulas.mass import (
    carried_mass,
    carried_moment,
    centre,
    first_moment,
    moment_of_inertia,
    product_of_inertia,
    total_mass,
    with_allowance,
)

Array = NDArray[np.float64]
AXES = ("x", "y", "z")


@dataclass(frozen=True, eq=False)
class Table:
    """The items in the order of the description: n masses (of all `count` parts, kg), n × 3 places
    and edges (m), each with standard uncertainties. `allowance` is the growth allowance as a share.
    """

    items: tuple[Item, ...]
    mass: Array
    u_mass: Array
    place: Array
    u_place: Array
    size: Array
    u_size: Array
    allowance: Array


@dataclass(frozen=True, eq=False)
class Load:
    """The mass that counts for each item (kg; negative where a transfer takes it out), and its
    u.
    """

    mass: Array
    u_mass: Array


@dataclass(frozen=True, eq=False)
class State:
    """Total (kg) and centre of gravity (m) with the covariance of (total, x, y, z).

    `from_items` is the share of the total that comes from the list of items; the rest was weighed.
    """

    total: float
    cg: Array
    covariance: Array
    from_items: float = 1.0

    @property
    def u(self) -> Array:
        """Standard uncertainties of total, x, y and z."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))


@dataclass(frozen=True, eq=False)
class Change:
    """Mass put aboard or taken out: the covariance of its mass (kg) and moments in x and y (kg·m)."""

    covariance: Array


@dataclass(frozen=True, eq=False)
class Inertia:
    """Inertia about the centre of gravity, axes along x, y, z: the tensor (kg·m²), the moments'
    standard uncertainties and the principal values, least first.
    """

    tensor: Array
    u: Array
    principal: Array


def table(items: tuple[Item, ...]) -> Table:
    """The items as arrays, without growth allowance."""
    count = np.array([float(i.count) for i in items])
    masses = [i.mass for i in items]
    places = [(i.x, i.y, i.z) for i in items]
    sizes = [(i.size.x, i.size.y, i.size.z) if i.size else (None, None, None) for i in items]
    return Table(
        items=items,
        mass=count * _values(masses),
        u_mass=count * _spreads(masses),
        place=np.array([[q.si for q in p] for p in places]).reshape(-1, 3),
        u_place=np.array([[q.standard_uncertainty for q in p] for p in places]).reshape(-1, 3),
        size=np.array([[q.si if q else 0.0 for q in s] for s in sizes]).reshape(-1, 3),
        u_size=np.array([[q.standard_uncertainty if q else 0.0 for q in s] for s in sizes]).reshape(
            -1, 3
        ),
        allowance=np.zeros(len(items)),
    )


def _values(quantities: Sequence[Quantity]) -> Array:
    return np.array([q.si for q in quantities])


def _spreads(quantities: Sequence[Quantity]) -> Array:
    return np.array([q.standard_uncertainty for q in quantities])


def fills(items: tuple[Item, ...], condition: Condition) -> tuple[Array, Array]:
    """How much of each item is aboard, 0 to 1, and the standard uncertainty of that."""
    index = {item.id: n for n, item in enumerate(items)}
    share, spread = np.ones(len(items)), np.zeros(len(items))
    for name, quantity in condition.fill.items():
        share[index[name]], spread[index[name]] = quantity.si, quantity.standard_uncertainty
    for name in condition.without:
        share[index[name]], spread[index[name]] = 0.0, 0.0
    return share, spread


def load(of: Table, to: Condition, since: Condition | None = None) -> Load:
    """What counts in condition `to`; with `since`, what must be added to that condition to get
    there.
    """
    share, spread = fills(of.items, to)
    if since is not None and since.id == to.id:
        return Load(np.zeros(len(of.items)), np.zeros(len(of.items)))
    before, u_before = (
        fills(of.items, since) if since else (np.zeros_like(share), np.zeros_like(share))
    )
    grown = with_allowance(m=1.0, a=of.allowance)  # type: ignore[arg-type]
    mass = of.mass * grown
    u_share = np.hypot(spread, u_before)
    return Load(
        mass * (share - before), np.hypot((share - before) * of.u_mass * grown, mass * u_share)
    )


def combine(of: Table, what: Load, base: State | None = None) -> State | None:
    """Total and centre of gravity of a load, on top of `base` where something was weighed before.

    None where the total is not above zero. Covariance: ∂x̄/∂mᵢ = (xᵢ − x̄)/M, ∂x̄/∂xᵢ = mᵢ/M.
    """
    total = carried_mass(start=base.total, m=what.mass) if base else total_mass(m=what.mass)
    if not total > 0.0:
        return None
    moments = [_moment(of, what, base, axis) for axis in range(3)]
    cg = np.array([centre(s=s, m=total) for s in moments])
    by_mass = (
        np.column_stack((np.ones(len(what.mass)), (of.place - cg) / total)) * what.u_mass[:, None]
    )
    covariance = by_mass.T @ by_mass
    covariance[1:, 1:] += np.diag(np.sum((what.mass[:, None] / total * of.u_place) ** 2, axis=0))
    if base:
        covariance += _carried(base, cg, total)
    return State(float(total), cg, covariance, 1.0 - (base.total / float(total) if base else 0.0))


def change_of(of: Table, what: Load) -> Change:
    """How uncertain the mass and the first moments of a load are: ∂S/∂mᵢ = xᵢ, ∂S/∂xᵢ = mᵢ."""
    flat = of.place[:, :2]
    by_mass = np.column_stack((np.ones(len(what.mass)), flat)) * what.u_mass[:, None]
    covariance = by_mass.T @ by_mass
    covariance[1:, 1:] += np.diag(np.sum((what.mass[:, None] * of.u_place[:, :2]) ** 2, axis=0))
    return Change(covariance)


def _moment(of: Table, what: Load, base: State | None, axis: int) -> float:
    r = of.place[:, axis]
    if base is None:
        return first_moment(m=what.mass, r=r)
    return carried_moment(start=base.total, at=float(base.cg[axis]), m=what.mass, r=r)


def _carried(base: State, cg: Array, total: float) -> Array:
    """The part of the covariance that comes from what was weighed."""
    gradient = np.diag([1.0, *[base.total / total] * 3])
    gradient[1:, 0] = (base.cg - cg) / total
    return np.asarray(gradient @ base.covariance @ gradient.T)


def contributions_to_x(of: Table, what: Load, state: State) -> Array:
    """What each item contributes to u(x of the centre of gravity), m: by its mass and its place."""
    by_mass = (of.place[:, 0] - state.cg[0]) / state.total * what.u_mass
    by_place = what.mass / state.total * of.u_place[:, 0]
    return np.asarray(np.hypot(by_mass, by_place))


def inertia(of: Table, what: Load, cg: Array) -> Inertia:
    """Inertia about `cg` of a load, by parallel axes, each item a box (a point without a size)."""
    arm = of.place - cg
    moments = [_about(of, what.mass, arm, *pair) for pair in ((1, 2), (2, 0), (0, 1))]
    products = {
        pair: product_of_inertia(m=what.mass, u=arm[:, pair[0]], v=arm[:, pair[1]])
        for pair in ((0, 1), (0, 2), (1, 2))
    }
    tensor = np.diag(moments)
    for (a, b), value in products.items():
        tensor[a, b] = tensor[b, a] = -value
    u = np.array([_u_about(of, what, arm, *pair) for pair in ((1, 2), (2, 0), (0, 1))])
    return Inertia(tensor, u, np.linalg.eigvalsh(tensor))


def _about(of: Table, mass: Array, arm: Array, p: int, q: int) -> float:
    return moment_of_inertia(m=mass, u=arm[:, p], v=arm[:, q], a=of.size[:, p], b=of.size[:, q])


def _u_about(of: Table, what: Load, arm: Array, p: int, q: int) -> float:
    """First order: ∂I/∂m = u² + v² + (a² + b²)/12, ∂I/∂u = 2mu, ∂I/∂a = ma/6.

    The centre of gravity moves with every input, yet Σ m·(x − x̄) = 0 takes that term out.
    """
    per_mass = np.sum(arm[:, (p, q)] ** 2 + of.size[:, (p, q)] ** 2 / 12.0, axis=1) * what.u_mass
    per_place = 2.0 * what.mass[:, None] * arm[:, (p, q)] * of.u_place[:, (p, q)]
    per_size = what.mass[:, None] * of.size[:, (p, q)] / 6.0 * of.u_size[:, (p, q)]
    return float(np.sqrt(np.sum(per_mass**2) + np.sum(per_place**2) + np.sum(per_size**2)))
