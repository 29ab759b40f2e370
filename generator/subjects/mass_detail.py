"""What the mass subject hands to its page and charts, and which quantities each figure depends
on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.mass import BallastPlace, Condition, Item
from buildspec.sections.wheels import Wheel
from generator.subjects.mass_ballast import Answer
from generator.subjects.mass_loading import Inertia, Load, State, Table, combine, load
from generator.subjects.mass_weighing import Carried, Earlier, Weighed
from generator.subjects.mass_wheels import Axle
from generator.vocabulary import Result

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Base:
    """The weighing that other conditions are reckoned from, and what was predicted to be aboard
    then, from the items without growth allowance.
    """

    weighed: Weighed
    condition: Condition
    table: Table
    load: Load


@dataclass(frozen=True, eq=False)
class Loading:
    """One condition worked out. `predicted` comes from the items alone; `state` is what is in
    force, which is the same unless the description says to use the weighed mass. `change` is
    what was added to the weighed vehicle to get here. States are None where nothing is aboard.
    """

    condition: Condition
    load: Load
    predicted: State | None
    state: State | None
    change: Load | None
    base: Base | None
    inertia: Inertia | None
    wheel_loads: Array
    load_covariance: Array
    u_wheel_shares: Array
    ids: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """What the condition is called."""
        return called(self.condition)


@dataclass(frozen=True, slots=True)
class ItemLine:
    """One item in the design condition: mass aboard, kg, and its moments about the origin, kg·m."""

    item: Item
    mass: float
    moment_x: float
    moment_y: float
    moment_z: float


@dataclass(frozen=True, slots=True)
class Sums:
    """What the lines add up to: mass, kg, and moments, kg·m."""

    mass: float
    moment_x: float
    moment_y: float
    moment_z: float


@dataclass(frozen=True, slots=True)
class Part:
    """A share of the design condition's mass: `name` is a group or a basis."""

    name: str
    mass: float
    share: float
    items: int


@dataclass(frozen=True, slots=True)
class GroupLine:
    """One group's mass in the design condition, kg, by basis."""

    name: str
    mass: float
    by_basis: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one item contributes to u(x of the centre of gravity), m, and its share of the
    variance.
    """

    name: str
    ref: str
    contribution: float
    share: float


@dataclass(frozen=True, slots=True)
class ConditionLine:
    """One condition's figures for the page; `loads` are one a wheel, `axles` one an axle,
    `sides` left and right.
    """

    title: str
    design: bool
    total: Result
    cg_x: Result
    cg_y: Result
    cg_height: Result
    front_share: Result
    axles: tuple[Result, ...]
    loads: tuple[Result, ...]
    sides: tuple[Result, ...]

    @property
    def results(self) -> tuple[Result, ...]:
        """All of them."""
        return (
            self.total,
            self.cg_x,
            self.cg_y,
            self.cg_height,
            self.front_share,
            *self.axles,
            *self.loads,
            *self.sides,
        )


@dataclass(frozen=True, slots=True)
class GrowthLine:
    """A class of the growth allowance that occurs: its row and maturity, share, items and
    kilograms added.
    """

    row: str
    maturity: str
    allowance: float
    items: int
    added: float


@dataclass(frozen=True, slots=True)
class BallastRow:
    """One place and the ballast in it."""

    place: BallastPlace
    mass: Result


@dataclass(frozen=True, eq=False)
class Ballasted:
    """The places with the answer that was found for them; `words` says which of the four answers
    it is. `overloaded` names the wheels that would carry more than rated with it, or lift;
    `outside` the other conditions to run in that it leaves outside a limit.
    """

    rows: tuple[BallastRow, ...]
    answer: Answer
    total: Result
    after: Result
    cg_x: Result
    words: str
    overloaded: tuple[str, ...] = ()
    outside: tuple[str, ...] = ()


@dataclass(frozen=True)
class WindowX:
    """Where the centre of gravity may be along x, m in the team's coordinates; None is
    open-ended.
    """

    words: str
    least: float | None
    most: float | None


@dataclass(frozen=True, eq=False)
class Detail:
    """Everything the page and the charts of the mass subject show."""

    table: Table
    loadings: tuple[Loading, ...]
    design: Loading
    lines: tuple[ItemLine, ...]
    sums: Sums
    conditions: tuple[ConditionLine, ...]
    groups: tuple[Part, ...]
    bases: tuple[Part, ...]
    groups_by_basis: tuple[GroupLine, ...]
    with_spread: int
    contributions: tuple[Contribution, ...]
    wheels: tuple[Wheel, ...]
    axles: tuple[Axle, ...]
    ground: float
    windows: tuple[WindowX, ...]
    most_height: float | None
    most_offset: float | None
    weighings: tuple[Weighed, ...]
    latest: Weighed | None
    in_force: str
    growth: tuple[GrowthLine, ...]
    without_allowance: Result | None
    ballast: Ballasted | None
    glance: tuple[Result, ...]
    inertia: tuple[Result, ...]


def item_inputs(
    table: Table, load: Load, conditions: Iterable[Condition], axis: str = ""
) -> tuple[str, ...]:
    """Ids of what a load depends on: masses and fills, and with `axis` the coordinates along it."""
    live = [table.items[n] for n in np.flatnonzero(load.mass)]
    ids = [i.mass.id for i in live]
    if axis:
        ids += [getattr(i, axis).id for i in live]
    return (*ids, *(name for c in conditions for name in _fill_ids(table, c)))


def _fill_ids(table: Table, condition: Condition) -> list[str]:
    """Ids of the fills that count: of items that weigh something and are not left out."""
    named = set(condition.fill) - set(condition.without)
    heavy = {i.id for i in table.items if i.id in named and i.mass.si > 0.0} if named else set()
    return [q.id for name, q in condition.fill.items() if name in heavy]


def inputs_by_axis(table: Table, loading: Loading) -> dict[str, tuple[str, ...]]:
    """Ids of every quantity that a figure in force depends on: "" the total, or x, y, z.

    `moved` are those of what was put aboard or taken out since each wheel stood on its own scale.
    """
    found = {axis: _inputs(table, loading, axis) for axis in ("", "x", "y", "z")}
    base = loading.base
    if base is None or base.weighed.on_scales is None or loading.change is None:
        return found
    moved: tuple[str, ...] = ()
    if np.any(loading.change.mass):
        between = [loading.condition, base.condition]
        sideways = item_inputs(table, loading.change, between, "y")
        moved = (*item_inputs(table, loading.change, between, "x"), *sideways)
    return {**found, "moved": moved}


def _inputs(table: Table, loading: Loading, axis: str) -> tuple[str, ...]:
    base = loading.base
    if base is None:
        return item_inputs(table, loading.load, [loading.condition], axis)
    told = _weighed_inputs(table, base, axis)
    if loading.condition.id == base.condition.id or loading.change is None:
        return tuple(dict.fromkeys(told))
    changed = item_inputs(table, loading.change, [loading.condition, base.condition], axis)
    return tuple(dict.fromkeys((*told, *base.weighed.total.inputs, *changed)))


def _weighed_inputs(table: Table, base: Base, axis: str) -> tuple[str, ...]:
    if axis in base.weighed.borrowed:
        return item_inputs(table, base.load, [base.condition], axis)
    return _told(base.weighed, axis)


def _told(weighed: Weighed, axis: str) -> tuple[str, ...]:
    """Ids behind a figure that this weighing or one before it measured."""
    if axis in weighed.carried:
        return weighed.carried[axis].inputs
    measured = {"": weighed.total, "x": weighed.x, "y": weighed.y, "z": weighed.height}
    return measured[axis].inputs


def carried_to(
    table: Table, condition: Condition, before: Weighed, conditions: Mapping[str, Condition]
) -> Earlier | None:
    """What an earlier weighing tells of the vehicle in `condition`: as weighed, with what is aboard
    in one condition and not in the other by the list of items.
    """
    then = conditions[before.weighing.condition]
    change = load(table, condition, then)
    state = combine(table, change, before.state)
    if state is None or before.state is None:
        return None
    known = {}
    for axis in ("y", "z"):
        if axis in before.borrowed:
            continue
        last = before.carried.get(axis)
        since: tuple[str, ...] = ()
        if then.id != condition.id:
            since = (*before.total.inputs, *item_inputs(table, change, [condition, then], axis))
        known[axis] = Carried(
            weighing=last.weighing if last else before.weighing.id,
            inputs=tuple(dict.fromkeys((*_told(before, axis), *since))),
            ground=_share(state.from_items, last.ground if last else 0.0),
        )
    return Earlier(state, known)


def _share(of_items: float, before: float) -> float:
    """How much of a shift of the ground's z reaches a height, after one more change of load."""
    return 1.0 - (1.0 - of_items) * (1.0 - before)


def height_inputs(loading: Loading, ground: Quantity | None) -> tuple[str, ...]:
    """Ids of what the height above the ground depends on."""
    level = (ground.id,) if ground and ground_share(loading) else ()
    return loading.ids["z"] + level


def ground_share(loading: Loading) -> float:
    """How much of a shift of the ground's z reaches the height: none of it for what the axle
    lift measured.
    """
    if loading.base is None or loading.state is None or "z" in loading.base.weighed.borrowed:
        return 1.0
    carried = loading.base.weighed.carried.get("z")
    share = _share(loading.state.from_items, carried.ground if carried else 0.0)
    return share if abs(share) > 1e-12 else 0.0


def inertia_inputs(table: Table, loading: Loading) -> tuple[str, ...]:
    """Ids of what the inertia depends on: the items aboard, and the weighed total it is scaled
    to.
    """
    live = [table.items[n] for n in np.flatnonzero(loading.load.mass)]
    places = (c.id for i in live for c in (i.x, i.y, i.z))
    edges = (c.id for i in live if i.size for c in (i.size.x, i.size.y, i.size.z))
    own = item_inputs(table, loading.load, [loading.condition])
    return tuple(dict.fromkeys((*own, *places, *edges, *(loading.ids[""] if loading.base else ()))))
