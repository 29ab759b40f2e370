"""What the tubes of a cage are made of: materials, the walls that are counted, and welds."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import chain
from typing import Literal

import numpy as np

from buildspec.quantities import Quantity
from buildspec.sections.cage import Cage, Material, Tube, Weld
from generator.frame.model import Array
from generator.subjects.cage_geometry import Geometry, Line, joint_names
from generator.tables.known import Known
from generator.tables.materials import MaterialRow, materials
from generator.vocabulary import Assumption

NOMINAL = "nominal"
"""What a wall is called that nobody measured and no tolerance bounds."""


@dataclass(frozen=True, slots=True)
class Property:
    """A value of a material in SI. `id` is that of the description, "" for the shipped table;
    `status` says whether it is described, or was read or remembered where the table got it.
    """

    si: float
    kind: str
    id: str
    standard_uncertainty: float
    source: str
    status: Literal["described", "read", "from memory"]
    written: str

    @property
    def decides(self) -> bool:
        """Whether a verdict may rest on it: what is known from memory may not carry one."""
        return self.status != "from memory"


@dataclass(frozen=True)
class Stuff:
    """A material: `own` where the description has it. Welded strengths are None where not known."""

    word: str
    title: str
    own: bool
    note: str
    modulus: Property
    poisson: Property
    density: Property
    yield_strength: Property
    ultimate_strength: Property
    welded_yield: Property | None
    welded_ultimate: Property | None

    @property
    def properties(self) -> tuple[Property, ...]:
        """All that are known."""
        every = (
            self.modulus,
            self.poisson,
            self.density,
            self.yield_strength,
            self.ultimate_strength,
            self.welded_yield,
            self.welded_ultimate,
        )
        return tuple(p for p in every if p is not None)


@dataclass(frozen=True, slots=True)
class Wall:
    """The wall that is counted, in m: what it is, and the ids it comes from."""

    si: float
    standard_uncertainty: float
    inputs: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Joining:
    """How tubes are fixed to one another at a joint; strengths None follow the material. `alone`: a
    weld is there even where one tube passes and meets no other, to something that is no tube."""

    welded: bool
    zone: Quantity
    yield_strength: Quantity | None = None
    ultimate_strength: Quantity | None = None
    alone: bool = False


@dataclass(frozen=True, eq=False)
class Stock:
    """Tubes by id; materials of tubes, and those prescribed, by word; for each line its counted wall and
    the share lost in bends (m,); for each joint how tubes are fixed there; for each line its effective
    length factor K.
    """

    tubes: Mapping[str, Tube]
    stuff: Mapping[str, Stuff]
    walls: tuple[Wall, ...]
    thinning: Array
    joinings: tuple[Joining, ...]
    effective: tuple[Quantity, ...]

    def of(self, line: Line) -> Stuff:
        """The material of a line."""
        return self.stuff[self.tubes[line.tube].material]


def stock_of(cage: Cage, geometry: Geometry) -> Stock:
    """Everything about the tubes of a cage whose description has no problems."""
    tubes = {tube.id: tube for tube in cage.tubes}
    asked = (word for rule in cage.prescribed for word in rule.materials)
    words = dict.fromkeys((*(tube.material for tube in cage.tubes), *asked))
    fixed = _fixed(cage)
    return Stock(
        tubes,
        {word: stuff_of(cage, word) for word in words},
        tuple(wall_of(cage, tubes[line.tube], line.measured_wall) for line in geometry.lines),
        np.array([thinning_of(tubes[line.tube], line) for line in geometry.lines]),
        tuple(_joining(cage, name, alone=name in fixed) for name in geometry.joints),
        tuple(line.own.effective_length or cage.effective_length for line in geometry.lines),
    )


# --------------------------------------------------------------------------------- materials


def stuff_of(cage: Cage, word: str) -> Stuff:
    """A material by its word: the description's own before the shipped table's."""
    own = next((m for m in cage.materials if m.id == word), None)
    return _own(own) if own else _shipped(materials()[word])


def _own(own: Material) -> Stuff:
    return Stuff(
        own.id,
        own.name,
        True,
        "",
        _described(own.modulus),
        _described(own.poisson),
        _described(own.density),
        _described(own.yield_strength),
        _described(own.ultimate_strength),
        _described(own.welded_yield) if own.welded_yield else None,
        _described(own.welded_ultimate) if own.welded_ultimate else None,
    )


def _described(q: Quantity) -> Property:
    return Property(q.si, q.kind, q.id, q.standard_uncertainty, q.source, "described", q.written)


def _shipped(row: MaterialRow) -> Stuff:
    value = {name: _read(known) for name, known in row.values.items()}
    return Stuff(
        row.word,
        row.title,
        False,
        row.note,
        value["modulus"],
        value["poisson"],
        value["density"],
        value["yield_strength"],
        value["ultimate_strength"],
        value.get("welded_yield"),
        value.get("welded_ultimate"),
    )


def _read(known: Known) -> Property:
    return Property(known.si, known.kind, "", 0.0, known.source, known.status, known.written)


# ------------------------------------------------------------------------------------- walls


def wall_of(cage: Cage, tube: Tube, own: Quantity | None = None) -> Wall:
    """The wall that `wall_used` asks for; `own` is what was measured on the very tube.

    Where nothing is asked for: the least that is known, and the nominal one where nothing is.
    """
    measured = own or tube.measured_wall
    where = "measured on the tube" if own else "measured on the stock"
    found = (
        Wall(measured.si, measured.standard_uncertainty, (measured.id,), where)
        if measured
        else None
    )
    known = [w for w in (found, _least(tube)) if w]
    if cage.wall_used == "nominal" or not known:
        return Wall(tube.wall.si, tube.wall.standard_uncertainty, (tube.wall.id,), NOMINAL)
    if cage.wall_used == "measured" and found:
        return found
    return min(known, key=lambda w: w.si)


def _least(tube: Tube) -> Wall | None:
    """The nominal wall less what the mill may leave out."""
    share = tube.wall_tolerance
    if share is None:
        return None
    words = f"nominal less {100.0 * share.si:.3g} %"
    return Wall(tube.wall.si * (1.0 - share.si), 0.0, (tube.wall.id, share.id), words)


def thinning_of(tube: Tube, line: Line) -> float:
    """The share of its wall that a tube has lost at the outside of its bends; 0 where it has none.

    Without a stated share: what the outside of a bend about the middle line is stretched by,
    1 − R / (R + D/2).
    """
    radius = getattr(line.own, "radius", None)
    if radius is None or not line.bends:
        return 0.0
    stated = getattr(line.own, "thinning", None)
    return float(stated.si if stated else 1.0 - radius.si / (radius.si + tube.outer.si / 2))


# ------------------------------------------------------------------------------------- welds


PUSHED = ("top", "plate")
"""Parts of shipped load cases that push on the frame from without; belts and heads pull at a tab."""


def _fixed(cage: Cage) -> set[str]:
    """The joints at which something that is no tube is fixed: what holds the frame, masses, and what
    belts, a head restraint and parachutes pull at."""
    loads = (load for case in cage.load_cases for load in case.loads)
    pulls = (load.at for load in loads if load.result or load.part not in ("", *PUSHED))
    at = (*(s.nodes for s in cage.supports), *(m.at for m in cage.masses), *pulls)
    return set(joint_names(cage, (name for names in at for name in names)))


def _joining(cage: Cage, name: str, *, alone: bool) -> Joining:
    """How tubes are fixed at the joint `name`: the last entry that names it decides.

    What somebody says of a weld is there, whatever meets the joint.
    """
    chosen: Weld | None = None
    for weld in cage.welds:
        if name in joint_names(cage, weld.nodes):
            chosen = weld
    if chosen is None:
        return Joining("." not in name, cage.weld_zone, alone=alone)
    return Joining(
        chosen.welded,
        chosen.zone or cage.weld_zone,
        chosen.yield_strength,
        chosen.ultimate_strength,
        alone=True,
    )


def as_welded(cage: Cage, stuff: Stuff, joining: Joining) -> tuple[Property, Property]:
    """Yield and ultimate strength beside a joint: that of the joint, else of the material as
    welded, else `weld_share` of the tube as delivered. Where nothing is welded, as delivered.
    """
    if not joining.welded:
        return stuff.yield_strength, stuff.ultimate_strength
    return (
        _welded(cage, joining.yield_strength, stuff.welded_yield, stuff.yield_strength),
        _welded(cage, joining.ultimate_strength, stuff.welded_ultimate, stuff.ultimate_strength),
    )


def _welded(
    cage: Cage, own: Quantity | None, known: Property | None, delivered: Property
) -> Property:
    if own is not None:
        return _described(own)
    if known is not None:
        return known
    share = cage.weld_share
    return Property(
        share.si * delivered.si,
        delivered.kind,
        share.id,
        math.hypot(
            share.si * delivered.standard_uncertainty, share.standard_uncertainty * delivered.si
        ),
        f"{100.0 * share.si:.3g} % of the strength as delivered: {share.source}",
        delivered.status,
        delivered.written,
    )


# ------------------------------------------------------------------------------------ inputs


def inputs_of_lines(geometry: Geometry, stock: Stock) -> tuple[tuple[str, ...], ...]:
    """The ids of the description that each line's own strength and stiffness depend on."""
    corners = {ref: tuple(f"{ref}.{a}" for a in "xyz") for ref in geometry.refs}
    stuff = {w: tuple(p.id for p in s.properties if p.id) for w, s in stock.stuff.items()}

    def of(line: Line, wall: Wall, length: Quantity) -> tuple[str, ...]:
        tube = stock.tubes[line.tube]
        bent = (getattr(line.own, name, None) for name in ("radius", "thinning"))
        own = (*stuff[tube.material], length.id, *(q.id for q in bent if q is not None))
        at = (corners[geometry.refs[geometry.joint(name)]] for name in line.own.through)
        return tuple(dict.fromkeys(chain((tube.outer.id, *wall.inputs), own, *at)))

    return tuple(map(of, geometry.lines, stock.walls, stock.effective))


def assumptions(cage: Cage, geometry: Geometry, stock: Stock) -> Iterable[Assumption]:
    """What is taken for granted about tubes, bends and welds."""
    for word in dict.fromkeys(stock.tubes[line.tube].material for line in geometry.lines):
        stuff = stock.stuff[word]
        if not stuff.own:
            yield Assumption(
                f"cage.material.{word}",
                f"{stuff.title}: strengths and stiffness are those of the shipped table. {stuff.note}".strip(),
                "cage",
                "; ".join(dict.fromkeys(p.source for p in stuff.properties)),
            )
    yield from _nominal_walls(cage, geometry, stock)
    for number, line in enumerate(geometry.lines):
        stated = getattr(line.own, "thinning", None)
        if stock.thinning[number] > 0.0 and stated is None and not line.twin_of:
            yield Assumption(
                f"cage.thinning.{line.id}",
                f"{line.title}: in its bends the whole wall is taken "
                f"{100.0 * stock.thinning[number]:.1f} % thinner for stiffness and strength; its mass is "
                "that of the whole wall.",
                "cage",
                "stretch of the outside of a bend about the middle line, 1 − R / (R + D/2); common practice",
            )


def nominal_sizes(cage: Cage, geometry: Geometry, stock: Stock) -> tuple[str, ...]:
    """The ids of the sizes whose nominal wall counts though nobody asked for it: of one tube at least
    nothing else is known.
    """
    if cage.wall_used is not None:
        return ()
    pairs = zip(geometry.lines, stock.walls, strict=True)
    return tuple(dict.fromkeys(line.tube for line, wall in pairs if wall.words == NOMINAL))


def _nominal_walls(cage: Cage, geometry: Geometry, stock: Stock) -> Iterable[Assumption]:
    for word in nominal_sizes(cage, geometry, stock):
        yield Assumption(
            f"cage.wall.{word}",
            f"{stock.tubes[word].name}: its nominal wall is computed with, where no wall of the tube was "
            "measured and no `wall_tolerance` is stated; the mill may deliver less.",
            "cage",
            "what the tube is sold as; measure it, or state the mill's tolerance",
        )
