"""The contributors to the side force: slope and centre of pressure of each, from its outline or as stated."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.mass import Mass
from buildspec.sections.shape import Body, Fin, Part, Shape
from generator.formulas import stability as f
from generator.spread import NOWHERE, Shift, at
from generator.vocabulary import WorkedStep
from generator.work import work


@dataclass(frozen=True, slots=True)
class Contributor:
    """One part: slope per radian on the reference area, and where its side force acts, m in the team's x."""

    id: str
    title: str
    slope: float
    x: float
    how: str


def contributors(
    shape: Shape, compression: float, shift: Shift = NOWHERE
) -> tuple[Contributor, ...]:
    """Every part that makes a side force. `compression` is the Prandtl–Glauert factor √(1 − M²)."""
    area = at(shape.reference_area, shift)
    return (
        *(c for b in shape.bodies for c in _body(b, area, shift)),
        *(_fin(fin, area, compression, shift) for fin in shape.fins),
        *(
            Contributor(p.id, called(p), at(p.slope, shift), at(_placed(p), shift), _how(p))
            for p in shape.parts
        ),
    )


def placed(shape: Shape, mass: Mass) -> Shape:
    """The shape with the place of a mass item for each part that names one instead of its own."""
    items = {item.id: item for item in mass.items}
    parts = (replace(p, x=items[p.item].x) if p.x is None and p.item else p for p in shape.parts)
    return replace(shape, parts=tuple(parts))


def _placed(part: Part) -> Quantity:
    if part.x is None:
        raise ValueError(f"{part.id}: the reader lets no part pass that has no place")
    return part.x


def _how(part: Part) -> str:
    return f"as stated, at the mass item {part.item}" if part.item else "as stated"


def _section(height: float) -> float:
    """Area of the circle that a section of this height counts as, m²: for side force its width does not matter."""
    return math.pi * height * height / 4.0


def _body(body: Body, area: float, shift: Shift) -> Iterable[Contributor]:
    front, rear = at(body.front_height, shift), at(body.rear_height, shift)
    if abs(rear - front) < 1e-6:
        return
    length = at(body.length, shift)
    volume = at(body.volume, shift) if body.volume else frustum(length, front, rear)
    slope = f.body_slope(rear=_section(rear), front=_section(front), reference=area)
    x = f.body_centre(
        start=at(body.start, shift),
        length=length,
        rear=_section(rear),
        volume=volume,
        front=_section(front),
    )
    yield Contributor(body.id, called(body), slope, x, "slender body")


def frustum(length: float, front: float, rear: float) -> float:
    """Volume in m³ of a round body with straight sides between two heights, m."""
    return math.pi * length * (front * front + front * rear + rear * rear) / 12.0


@dataclass(frozen=True, slots=True)
class Outline:
    """A fin's exposed area, m², and the sweep of its mid-chord line, rad."""

    area: float
    sweep: float


def outline(fin: Fin, shift: Shift = NOWHERE) -> Outline:
    """Area and mid-chord sweep of a trapezoidal fin."""
    height, root, tip = at(fin.height, shift), at(fin.root, shift), at(fin.tip, shift)
    middle = at(fin.sweep, shift) + 0.5 * (tip - root)
    return Outline(0.5 * height * (root + tip), math.atan(middle / height))


def _fin(fin: Fin, area: float, compression: float, shift: Shift) -> Contributor:
    shape, span = outline(fin, shift), at(fin.height, shift)
    slope = f.fin_slope(
        interference=f.interference(radius=at(fin.body_radius, shift), span=span),
        count=float(fin.count),
        span=span,
        reference=area,
        compression=compression,
        area=shape.area,
        sweep=shape.sweep,
    )
    x = f.fin_centre(
        start=at(fin.start, shift),
        sweep=at(fin.sweep, shift),
        root=at(fin.root, shift),
        tip=at(fin.tip, shift),
    )
    return Contributor(fin.id, called(fin), float(slope), x, "thin fin")


def whole(shape: Shape, compression: float, shift: Shift = NOWHERE) -> tuple[float, float]:
    """Slope per radian and centre of pressure, m, of the whole vehicle: as stated for it, else the sum of its parts."""
    if shape.whole:
        return at(shape.whole.slope, shift), at(shape.whole.x, shift)
    found = contributors(shape, compression, shift)
    slopes, stations = np.array([c.slope for c in found]), np.array([c.x for c in found])
    total = float(slopes.sum())
    if abs(total) < 1e-9:
        return 0.0, 0.0
    return total, float(f.centre_of_pressure(slopes=slopes, stations=stations))


def quantities(shape: Shape) -> Iterable[Quantity]:
    """Every value of the shape that slope and centre depend on."""
    yield shape.reference_area
    if shape.whole:
        yield from (shape.whole.slope, shape.whole.x)
        return
    for body in shape.bodies:
        yield from (
            q
            for q in (body.start, body.length, body.front_height, body.rear_height, body.volume)
            if q
        )
    for fin in shape.fins:
        yield from (fin.start, fin.root, fin.tip, fin.sweep, fin.height, fin.body_radius)
    for part in shape.parts:
        yield from (part.slope, _placed(part))


def steps(shape: Shape, compression: float) -> Iterable[WorkedStep]:
    """Slope and centre of each outline, then of the whole."""
    if shape.whole:
        return
    area = shape.reference_area
    for body in shape.bodies:
        yield from _body_steps(body, area)
    for fin in shape.fins:
        yield from _fin_steps(fin, area, compression)
    found = contributors(shape, compression)
    if len(found) > 1:
        yield work(
            f.centre_of_pressure,
            "stability.step.centre",
            "Centre of pressure of the whole",
            slopes=np.array([c.slope for c in found]),
            stations=np.array([c.x for c in found]),
        )


def _body_steps(body: Body, area: Quantity) -> Iterable[WorkedStep]:
    front, rear = _section(body.front_height.si), _section(body.rear_height.si)
    if abs(body.rear_height.si - body.front_height.si) < 1e-6:
        return
    name, title = f"stability.step.{body.id}", called(body)
    yield work(
        f.body_slope,
        f"{name}.slope",
        f"{title}: slope",
        rear=rear,
        front=front,
        reference=area,
        note="A section counts as the circle of its height: for a slender body the side force depends on height "
        "alone.",
    )
    yield work(
        f.body_centre,
        f"{name}.centre",
        f"{title}: centre of pressure",
        start=body.start,
        length=body.length,
        rear=rear,
        front=front,
        volume=body.volume or frustum(body.length.si, body.front_height.si, body.rear_height.si),
    )


def _fin_steps(fin: Fin, area: Quantity, compression: float) -> Iterable[WorkedStep]:
    name, title, shape = f"stability.step.{fin.id}", called(fin), outline(fin)
    factor = work(
        f.interference,
        f"{name}.interference",
        f"{title}: interference with the body",
        radius=fin.body_radius,
        span=fin.height,
    )
    yield factor
    yield work(
        f.fin_slope,
        f"{name}.slope",
        f"{title}: slope",
        interference=factor.value,
        count=float(fin.count),
        span=fin.height,
        reference=area,
        compression=compression,
        area=shape.area,
        sweep=shape.sweep,
    )
    yield work(
        f.fin_centre,
        f"{name}.centre",
        f"{title}: centre of pressure",
        start=fin.start,
        sweep=fin.sweep,
        root=fin.root,
        tip=fin.tip,
    )
