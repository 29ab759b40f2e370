"""The subject `rotating`: what lies in the burst zone of a rotating part, and lines beside hot or
moving things.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np

from buildspec.build import Build
from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.driver import Driver
from buildspec.sections.fire import Fire
from buildspec.sections.mass import Mass, Size
from buildspec.sections.rotating import Line, Part, Rotating, Surface
from buildspec.sections.vents import Vents
from generator.checks import make_check
from generator.formulas import reach as room
from generator.formulas import rotating as f
from generator.spread import NOWHERE, Shift, at, sources, spread
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Assumption, Caution, Check, OpenItem, Outcome, Result, WorkedStep
from generator.work import as_result, work

WORD = "rotating"
AXES = {"x": 0, "y": 1, "z": 2}
DOCUMENT = (
    "lead it or place it outside the burst zone; until then show the inspector the shield's own "
    "specification, date and mounting, which nobody computes here"
)


class Placed(Protocol):
    """Anything with a place."""

    @property
    def x(self) -> Quantity: ...
    @property
    def y(self) -> Quantity: ...
    @property
    def z(self) -> Quantity: ...


@dataclass(frozen=True, slots=True)
class Target:
    """Something that must not be hit: its corners one after the other, or a box about its one
    point.
    """

    id: str
    name: str
    points: tuple[Placed, ...]
    size: tuple[Quantity, Quantity, Quantity] | None = None
    radius: Quantity | None = None

    @property
    def bare(self) -> bool:
        """Whether no more than its middle is described."""
        return len(self.points) == 1 and self.size is None and self.radius is None

    def given(self) -> tuple[Quantity, ...]:
        """Every value that its shape depends on."""
        placed = tuple(q for p in self.points for q in (p.x, p.y, p.z))
        return (*placed, *(self.size or ()), *((self.radius,) if self.radius else ()))

    def pieces(self, shift: Shift) -> tuple[tuple[f.Vector, f.Vector], ...]:
        """Its straight pieces: those of a line, the edges of a box, or a point."""
        corners = [vector(p, shift) for p in self.points]
        if self.size is not None:
            return f.box_edges(corners[0], np.array([at(q, shift) for q in self.size]))
        return tuple(pairwise(corners)) or ((corners[0], corners[0]),)


@dataclass(frozen=True, slots=True)
class Hit:
    """One target beside one part."""

    part: Part
    target: Target
    inside: bool
    check: Check
    steps: tuple[WorkedStep, ...]


@dataclass(frozen=True)
class Detail:
    """For the page and the drawing."""

    parts: tuple[Part, ...]
    targets: tuple[Target, ...]
    hits: tuple[Hit, ...]
    lines: tuple[Line, ...]
    surfaces: tuple[Surface, ...]
    gaps: tuple[Check, ...]


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Burst zones and clearances; None without a section `rotating`."""
    section = build.section(Rotating)
    if section is None:
        return None
    targets = tuple(_targets(build, section))
    hits = tuple(_hit(section, part, target) for part in section.parts for target in targets)
    gaps = tuple(_gap(line, surface) for line in section.lines for surface in section.surfaces)
    return Outcome(
        WORD,
        results=tuple(
            r for h in hits for r in (h.check.demand, h.check.capacity) if r.value is not None
        ),
        checks=(*(h.check for h in hits), *(c for c, _ in gaps)),
        steps=(*(s for h in hits for s in h.steps), *(s for _, s in gaps)),
        cautions=_cautions(),
        assumptions=_assumptions(),
        open_items=(*_open(hits, targets), *_unplaced(build)),
        detail=Detail(
            section.parts, targets, hits, section.lines, section.surfaces, tuple(c for c, _ in gaps)
        ),
    )


def vector(point: Placed, shift: Shift = NOWHERE) -> f.Vector:
    """A place as an array, m."""
    return np.array([at(point.x, shift), at(point.y, shift), at(point.z, shift)])


# ---------------------------------------------------------------------------------- targets


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place taken together from three values."""

    x: Quantity
    y: Quantity
    z: Quantity


def _targets(build: Build, section: Rotating) -> Iterable[Target]:
    """Lines, tanks, fire bottles, watched mass items, and the driver's head, shoulders and body."""
    for line in section.lines:
        yield Target(f"line_{line.id}", called(line), line.points, radius=line.radius)
    vents, fire, mass, driver = (build.section(k) for k in (Vents, Fire, Mass, Driver))
    for tank in vents.tanks if isinstance(vents, Vents) else ():
        yield Target(
            f"tank_{tank.id}",
            called(tank),
            (tank,),
            size=(tank.length, tank.width, tank.height),
        )
    for bottle in fire.bottles if isinstance(fire, Fire) else ():
        if bottle.x and bottle.y and bottle.z:
            yield Target(
                f"bottle_{bottle.id}",
                called(bottle),
                (_Spot(bottle.x, bottle.y, bottle.z),),
                size=_edges(bottle.size),
            )
    for item in mass.items if isinstance(mass, Mass) else ():
        if item.id in section.watch:
            yield Target(f"item_{item.id}", item.name, (item,), size=_edges(item.size))
    if isinstance(driver, Driver):
        yield from _driver(driver)


def _edges(size: Size | None) -> tuple[Quantity, Quantity, Quantity] | None:
    return (size.x, size.y, size.z) if size else None


def _driver(driver: Driver) -> Iterable[Target]:
    """What is described of the driver: the helmet, from shoulder to shoulder, and parts of the body as balls."""
    if driver.helmet:
        yield Target("driver", "Driver's head", (driver.helmet,), radius=driver.helmet.radius)
    yield Target(
        "driver_shoulders", "Driver's shoulders", (driver.left_shoulder, driver.right_shoulder)
    )
    for part in driver.body:
        name = called(part)
        yield Target(f"driver_body_{part.id}", f"Driver's {name}", (part,), radius=part.radius)


# ------------------------------------------------------------------------------- burst zone


def _nearest(part: Part, target: Target, factor: float, shift: Shift) -> f.Nearest:
    """Where the target comes deepest into the part's burst zone, widened by the factor asked; its own
    radius counts towards it.
    """
    found = f.deepest(
        target.pieces(shift),
        vector(part, shift),
        AXES[part.axis],
        at(part.half_width, shift),
        at(part.spread_angle, shift),
        factor=factor,
    )
    thick = at(target.radius, shift) if target.radius else 0.0
    return f.Nearest(max(found.off - thick, 0.0), found.aside + thick)


def _half_width(part: Part, target: Target, factor: float, shift: Shift) -> float:
    """The burst zone's half width where the target comes nearest."""
    return f.zone_half_width(
        half_width=at(part.half_width, shift),
        distance=_nearest(part, target, factor, shift).aside,
        angle=at(part.spread_angle, shift),
    )


def _hit(section: Rotating, part: Part, target: Target) -> Hit:
    """How far the target is from the plane of rotation, against the burst zone's half width there."""
    name = f"{WORD}.part.{part.id}.{target.id}"
    title = f"{called(part)}, {target.name}"
    factor = section.factor.si
    near = _nearest(part, target, factor, NOWHERE)
    zone = work(
        f.zone_half_width,
        f"{name}.zone",
        f"{title}: burst zone where it comes nearest",
        half_width=part.half_width,
        distance=near.aside,
        angle=part.spread_angle,
    )
    given = (part.x, part.y, part.z, part.half_width, part.spread_angle, *target.given())
    wide = spread(lambda s: _half_width(part, target, factor, s), sources(given))
    demand = as_result(zone, wide, tuple(q.id for q in given))
    off = Result(
        f"{name}.off",
        f"{title}: distance from the plane of rotation",
        near.off,
        "length",
        spread(lambda s: _nearest(part, target, factor, s).off, sources(given)),
        inputs=demand.inputs,
    )
    inside = near.off < factor * zone.value
    capacity, basis = _shielded(part, off) if inside else (off, "")
    check = make_check(
        f"{WORD}.check.{part.id}.{target.id}",
        f"{title}: outside the burst zone",
        demand=demand,
        capacity=capacity,
        factor=factor,
        inputs=(*demand.inputs, section.factor.id),
        sources=(f.zone_half_width.source,),
        basis_of_verdict=basis,
        ways="" if part.shield else "led or placed elsewhere, or a shield made for it and stated",
        closes=DOCUMENT if inside and part.shield else "",
    )
    return Hit(part, target, inside, check, (zone,))


def _shielded(part: Part, off: Result) -> tuple[Result, str]:
    """What stands for the distance inside the zone: behind a stated shield it decides nothing."""
    if not part.shield:
        return off, "in the burst zone, and no shield is stated"
    basis = f"inside the burst zone, behind the stated shield: {part.shield}"
    absent = f"{basis}; whether it holds is not computed"
    return Result(off.id, off.title, None, "length", absent=absent), basis


# -------------------------------------------------------------------------------- clearance


def _gap(line: Line, surface: Surface) -> tuple[Check, WorkedStep]:
    """A line's gap to a hot or moving thing."""
    name = f"{WORD}.gap.{line.id}.{surface.id}"
    title = f"{called(line)} to {called(surface)}"
    given = (*(q for p in line.points for q in (p.x, p.y, p.z)), surface.x, surface.y, surface.z)

    def far(shift: Shift) -> float:
        corners = [vector(p, shift) for p in line.points]
        return min(
            room.segment_distance(vector(surface, shift), a, b) for a, b in pairwise(corners)
        )

    middle = Result(
        f"{name}.distance", f"{title}: distance between the middles", far(NOWHERE), "length"
    )
    step = work(
        room.gap, name, f"{title}: gap", distance=middle, first=line.radius, second=surface.radius
    )
    uncertainty = spread(
        lambda s: far(s) - at(line.radius, s) - at(surface.radius, s),
        sources((*given, line.radius, surface.radius)),
    )
    inputs = tuple(q.id for q in (*given, line.radius, surface.radius))
    asked = Result(
        surface.clearance.id,
        "clearance asked for",
        surface.clearance.si,
        "length",
        inputs=(surface.clearance.id,),
    )
    return make_check(
        f"{WORD}.check.gap.{line.id}.{surface.id}",
        f"{title}: clearance",
        demand=asked,
        capacity=as_result(step, uncertainty, inputs),
        inputs=(*asked.inputs, *inputs),
        sources=(room.GEOMETRY,),
    ), step


# ------------------------------------------------------------------------------------ words


def _open(hits: tuple[Hit, ...], targets: tuple[Target, ...]) -> Iterable[OpenItem]:
    if not targets:
        yield OpenItem(
            f"{WORD}.targets",
            WORD,
            "missing",
            "Nothing beside the rotating parts is described",
            "state lines, tanks, the driver's helmet, or mass items under `watch`",
        )
    points = [t for t in targets if t.bare]
    if points:
        yield OpenItem(
            f"{WORD}.sizes",
            WORD,
            "missing",
            f"Judged by the middle alone, since no size is stated: {', '.join(t.name for t in points)}",
            "state `size` of each, so that its whole body is held against the burst zones",
            tuple(h.check.id for h in hits if h.target.bare),
        )
    for hit in hits:
        if _inside_part(hit):
            part, target = called(hit.part), hit.target.name
            yield OpenItem(
                f"{WORD}.touches.{hit.part.id}.{hit.target.id}",
                WORD,
                "disagreement",
                f"{target} passes through {part} as both are described",
                "measure both again, and correct the one that is wrong",
                (hit.check.id,),
                f"rotating.parts.{hit.part.id}",
            )
    bare = dict.fromkeys(called(h.part) for h in hits if h.inside and not h.part.shield)
    for name in bare:
        yield OpenItem(
            f"{WORD}.shield.{name.lower().replace(' ', '_')}",
            WORD,
            "other",
            f"{name}: something lies in its burst zone, and no shield is stated",
            "move what lies there, or fit a shield and state it",
        )


def _unplaced(build: Build) -> Iterable[OpenItem]:
    """What could lie in a burst zone and is not placed, so that nobody looks."""
    fire = build.section(Fire)
    lost = [called(b) for b in (fire.bottles if fire else ()) if not (b.x and b.y and b.z)]
    if lost:
        yield OpenItem(
            f"{WORD}.bottles",
            WORD,
            "missing",
            f"Where {', '.join(lost)} stands is not stated: no burst zone is held against it",
            "state `x`, `y` and `z` of each bottle in `fire`, and its `size`",
        )
    if build.section(Driver) is None:
        yield OpenItem(
            f"{WORD}.driver",
            WORD,
            "missing",
            "The driver is not described: nobody looks whether a burst zone reaches the cockpit",
            "add a section `driver`",
        )


def _inside_part(hit: Hit) -> bool:
    """Whether a target lies in the part itself, which cannot be."""
    part = hit.part
    return f.touches(
        hit.target.pieces(NOWHERE),
        vector(part),
        AXES[part.axis],
        part.half_width.si,
        part.radius.si,
    )


def _cautions() -> tuple[Caution, ...]:
    texts = (
        "Fragments leave at the speed of the rim and bounce. A spread angle is a convention: one "
        "aircraft design code tells of blade fragments up to 30° off the plane of rotation, and a "
        "navy study found the usual angles too narrow. Stand clear of every plane of rotation when "
        "the engine runs, and keep everybody else clear.",
        "A shield that is stated is not thereby strong enough. Its specification, date and "
        "mounting stand in the rulebook in force.",
    )
    return tuple(
        Caution(f"{WORD}.caution.{i}", t, WORD, hazard=True) for i, t in enumerate(texts, 1)
    )


def _assumptions() -> tuple[Assumption, ...]:
    texts = (
        (
            "straight",
            "Fragments fly straight, within the spread angle, and nothing stops them but "
            "a stated shield.",
            "convention of burst zones",
        ),
        ("axes", "Parts turn about a direction of the vehicle.", "as described"),
    )
    return tuple(Assumption(f"{WORD}.assumption.{k}", t, WORD, s) for k, t, s in texts)


SUBJECT = Subject(
    word=WORD,
    title="Rotating parts and lines",
    purpose="Which lines, tanks, bottles, parts and people lie in the burst zone of a rotating "
    "part, and how close lines pass to hot and moving things.",
    evaluate=evaluate,
)
