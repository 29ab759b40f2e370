"""What the tubes of a cage weigh, beside the items of the mass table that claim to be them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from buildspec.build import Build
from buildspec.quantities import Quantity, both
from buildspec.sections.cage import Cage, Tube
from buildspec.sections.mass import Item
from buildspec.sections.mass import Mass as MassSection
from generator.formulas import tube as t
from generator.formulas.cage_mass import mass_difference, tube_mass
from generator.subjects.cage_geometry import Geometry, expand
from generator.subjects.cage_items import sum_of_items
from generator.subjects.cage_stock import Stock, stock_of
from generator.vocabulary import Assumption, OpenItem, Result, WorkedStep
from generator.work import as_result, work

WORD = "cage.mass"


@dataclass(frozen=True, slots=True)
class TubeLine:
    """All tubes of one size: their length in m, arcs included, and their mass in kg."""

    tube: Tube
    count: int
    length: float
    mass: float


@dataclass(frozen=True)
class Weighed:
    """lines: one a size; total: all tubes; claimed: what the items say, or None where none claims;
    difference: (items − tubes) / tubes, where both are known.
    """

    lines: tuple[TubeLine, ...]
    total: Result
    claimed: Result | None
    difference: Result | None
    steps: tuple[WorkedStep, ...]
    open_items: tuple[OpenItem, ...]

    @property
    def results(self) -> tuple[Result, ...]:
        """The figures."""
        return tuple(r for r in (self.total, self.claimed, self.difference) if r is not None)


def weighed(cage: Cage, geometry: Geometry, stock: Stock, build: Build) -> Weighed:
    """Tubes by length × section × density, nominal wall, against the items that claim to be them."""
    lines = _lines(cage, geometry, stock)
    sum_step = work(
        tube_mass,
        f"{WORD}.step.total",
        "Mass of all tubes",
        per_length=np.array([line.mass / line.length for line in lines]),
        length=np.array([line.length for line in lines]),
    )
    spread = float(np.sqrt(sum(_spread(line) ** 2 for line in lines)))
    total = replace(as_result(sum_step, spread, _inputs(geometry, stock)), id=f"{WORD}.tubes")
    claimed = _claimed(cage, build)
    if claimed is None or claimed.value is None:
        return Weighed(lines, total, claimed, None, (sum_step,), ())
    step = work(
        mass_difference,
        f"{WORD}.step.difference",
        "What the items say beyond the tubes",
        claimed=claimed,
        tubes=total,
    )
    difference = replace(
        as_result(step, inputs=(*total.inputs, *claimed.inputs)), id=f"{WORD}.difference"
    )
    items = tuple(_disagreement(cage, build, total, claimed, difference))
    return Weighed(lines, total, claimed, difference, (sum_step, step), items)


def _lines(cage: Cage, geometry: Geometry, stock: Stock) -> tuple[TubeLine, ...]:
    """Every size that is used, in the order of the description."""
    found = []
    for tube in cage.tubes:
        lengths = [line.length for line in geometry.lines if line.tube == tube.id]
        if not lengths:
            continue
        inner = t.inner_diameter(outer=tube.outer.si, wall=tube.wall.si)
        density = stock.stuff[tube.material].density.si
        each = float(t.line_mass(outer=tube.outer.si, inner=inner, density=density))
        found.append(TubeLine(tube, len(lengths), sum(lengths), each * sum(lengths)))
    return tuple(found)


def _spread(line: TubeLine) -> float:
    """Standard uncertainty in kg, first order, from diameter and wall: m ∝ (D − t) t."""
    outer, wall = line.tube.outer, line.tube.wall
    by_outer = outer.standard_uncertainty / (outer.si - wall.si)
    by_wall = (
        wall.standard_uncertainty * (outer.si - 2.0 * wall.si) / (wall.si * (outer.si - wall.si))
    )
    return float(line.mass * np.hypot(by_outer, by_wall))


def _inputs(geometry: Geometry, stock: Stock) -> tuple[str, ...]:
    """The ids that the tubes' mass depends on."""
    used = [stock.tubes[name] for name in dict.fromkeys(line.tube for line in geometry.lines)]
    sizes = [q.id for tube in used for q in (tube.outer, tube.wall)]
    densities = [stock.stuff[tube.material].density.id for tube in used]
    places = [
        f"{ref}.{axis}"
        for ref in dict.fromkeys(geometry.refs)
        if ref.startswith("cage.nodes.")
        for axis in "xyz"
    ]
    radii = (getattr(line.own, "radius", None) for line in geometry.lines)
    bent = [q.id for q in radii if q is not None]
    return tuple(dict.fromkeys(i for i in (*sizes, *densities, *places, *bent) if i))


def _claimed(cage: Cage, build: Build) -> Result | None:
    """What the items say that claim to be the cage."""
    if not cage.mass_items:
        return None
    section = build.section(MassSection)
    claimed = sum_of_items(section.items if section else (), cage.mass_items)
    return replace(claimed, id=f"{WORD}.items", title="What the mass table says")


def _disagreement(
    cage: Cage, build: Build, total: Result, claimed: Result, difference: Result
) -> Iterable[OpenItem]:
    """An open item where table and tubes differ by more than the share that is allowed."""
    share = cage.mass_difference.si
    if difference.value is None or abs(difference.value) <= share or cage.feed_mass:
        return
    way = "more" if difference.value > 0.0 else "less"
    yield OpenItem(
        f"{WORD}.difference",
        "cage",
        "disagreement",
        f"The mass table says {_said(claimed, build)} for the cage and the tubes come to "
        f"{_said(total, build)}: {100.0 * abs(difference.value):.0f} % {way}, and "
        f"{100.0 * share:.0f} % may be",
        "weigh the frame, or correct the item, the tubes or what is missing from either; "
        "`feed_mass: true` gives the tubes' mass to the table",
        ref=f"mass.items.{cage.mass_items[0]}",
    )


def assumptions(cage: Cage, total: Result, build: Build) -> Iterable[Assumption]:
    """That the mass table takes the tubes' mass, where it does."""
    if cage.feed_mass:
        yield Assumption(
            f"{WORD}.fed",
            f"The mass table takes {_said(total, build)} for mass.items.{cage.mass_items[0]}, the "
            "mass of the tubes, in place of the item's own figure. Weld metal, tabs and gussets are "
            "not in it.",
            "cage",
            "the description asks for it: `feed_mass`",
        )


def _said(result: Result, build: Build) -> str:
    """A mass in both systems."""
    return both(result.value or 0.0, "mass", build.system)


# -------------------------------------------------------------------------- the mass table's item


def fed(build: Build, items: tuple[Item, ...]) -> tuple[Item, ...]:
    """The items with the tubes' mass in place of the one that claims to be the cage, where the
    section says `feed_mass`; else as they are.
    """
    cage = build.section(Cage)
    if cage is None or not cage.feed_mass or len(cage.mass_items) != 1:
        return items
    geometry = expand(cage)
    stock = stock_of(cage, geometry)
    total = weighed(cage, geometry, stock, build).total
    name = cage.mass_items[0]
    return tuple(_replaced(item, total) if item.id == name else item for item in items)


def _replaced(item: Item, total: Result) -> Item:
    """An item of the tubes' mass, calculated."""
    assert total.value is not None
    each = total.value / item.count
    spread = total.standard_uncertainty / item.count
    mass: Quantity = replace(
        item.mass,
        si=each,
        written=f"{each:.4g} kg",
        unit="kg",
        half_width=spread,
        distribution="normal",
        coverage=1.0,
        basis="calculated",
        source="length × section × density of the tubes of the cage",
        fraction=False,
    )
    return replace(item, mass=mass)
