"""The subject `reach`: the room around helmet, hands and shoulders, and what the eyes see."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.controls import Control
from buildspec.sections.driver import Driver, Edge, Opening, Part, Point, Steering, Tube
from generator.checks import make_check
from generator.formulas import reach as f
from generator.spread import NOWHERE, Shift, at, sources, spread
from generator.subjects.reach_bodies import WORD, breadth
from generator.vocabulary import Check, Result, WorkedStep
from generator.work import as_result, work

Placed = Point | Control | Part | Steering


Room = tuple[Check, tuple[WorkedStep, ...]]


def _vector(point: Placed, shift: Shift) -> f.Vector:
    return np.array([at(point.x, shift), at(point.y, shift), at(point.z, shift)])


def _clearance(
    name: str,
    title: str,
    asked: Quantity | None,
    far: Callable[[Shift], float],
    *,
    radii: tuple[Quantity | None, Quantity | None],
    given: tuple[Quantity, ...],
) -> Room:
    """A gap between two round things against the clearance asked for."""
    capacity, step = _gap(name, title, far, radii, given)
    demand = (
        Result(asked.id, "clearance asked for", asked.si, "length", inputs=(asked.id,))
        if asked
        else Result("", "clearance asked for", None, "length", absent="no clearance is stated")
    )
    return make_check(
        f"{WORD}.check.{name}",
        title,
        demand=demand,
        capacity=capacity,
        inputs=(*demand.inputs, *capacity.inputs),
        sources=(f.GEOMETRY,),
        ways="move the seat, the part or the tube: padding takes room and makes none",
    ), (step,)


def _gap(
    name: str,
    title: str,
    far: Callable[[Shift], float],
    radii: tuple[Quantity | None, Quantity | None],
    given: tuple[Quantity, ...],
) -> tuple[Result, WorkedStep]:
    """What is between two round things whose middles are `far` apart, with its uncertainty."""
    first, second = radii
    middle = Result(
        f"{WORD}.{name}.distance", f"{title}: distance between the middles", far(NOWHERE), "length"
    )
    step = work(
        f.gap,
        f"{WORD}.{name}.gap",
        f"{title}: gap",
        distance=middle,
        first=first or 0.0,
        second=second or 0.0,
    )
    own = tuple(q for q in (first, second) if q)
    uncertainty = spread(
        lambda shift: far(shift) - sum(at(q, shift) for q in own), sources((*given, *own))
    )
    return as_result(step, uncertainty, ids(*given, *own)), step


def helmet(driver: Driver) -> Iterable[Room]:
    """The gap between the helmet and each tube near it."""
    for tube in driver.structure:
        title = f"Helmet to {called(tube)}"
        lacking = "the helmet's place and size are not stated (driver.helmet)"
        yield (
            _tube(driver, tube) if driver.helmet else _unknown(f"helmet.{tube.id}", title, lacking)
        )


def _tube(driver: Driver, tube: Tube) -> Room:
    helmet = driver.helmet
    assert helmet is not None
    centre = Point(x=helmet.x, y=helmet.y, z=helmet.z)
    ends = (centre, tube.begin, tube.end)
    return _clearance(
        f"helmet.{tube.id}",
        f"Helmet to {called(tube)}",
        helmet.clearance,
        lambda shift: f.segment_distance(*(_vector(p, shift) for p in ends)),
        radii=(helmet.radius, tube.radius),
        given=tuple(q for p in ends for q in (p.x, p.y, p.z)),
    )


def wheel(driver: Driver) -> Iterable[Room]:
    """The gap between the turning wheel and each part of the body."""
    wheel = driver.steering
    for part in driver.body:
        title = f"Steering wheel to {called(part)}"
        lacking = "the steering wheel's place is not stated (driver.steering)"
        yield _swept(wheel, part) if wheel else _unknown(f"wheel.{part.id}", title, lacking)


def _swept(wheel: Steering, part: Part) -> Room:
    given = (wheel.x, wheel.y, wheel.z, wheel.rake, wheel.radius, part.x, part.y, part.z)
    return _clearance(
        f"wheel.{part.id}",
        f"Steering wheel to {called(part)}",
        wheel.clearance,
        lambda shift: f.disc_distance(
            _vector(part, shift),
            _vector(wheel, shift),
            at(wheel.rake, shift),
            at(wheel.radius, shift),
        ),
        radii=(None, part.radius),
        given=given,
    )


def openings(driver: Driver) -> Iterable[Room]:
    """Each opening against the shoulders; the steps behind their breadth go with the first."""
    wide, steps = breadth(driver)
    for number, opening in enumerate(driver.openings):
        yield _opening(wide, opening), (steps if number == 0 else ())


def _opening(wide: Result, opening: Opening) -> Check:
    name = f"opening.{opening.id}"
    capacity = Result(
        f"{WORD}.{name}.width",
        f"{called(opening)}: clear width",
        opening.width.si,
        "length",
        opening.width.standard_uncertainty,
        inputs=(opening.width.id,),
    )
    return make_check(
        f"{WORD}.check.{name}",
        f"{called(opening)}: shoulders pass",
        demand=wide,
        capacity=capacity,
        inputs=(*wide.inputs, *capacity.inputs),
        basis_of_verdict="one shoulder after the other may pass where both at once "
        "do not; a drill shows",
        ways="a wider opening",
    )


def views(driver: Driver) -> Iterable[Room]:
    """The view over each edge."""
    for edge in driver.view:
        title, lacking = f"View over {called(edge)}", "the eyes' place is not stated (driver.eyes)"
        eyes = driver.eyes
        yield _view(eyes, edge) if eyes else _unknown(f"view.{edge.id}", title, lacking, "angle")


def _unknown(name: str, title: str, lacking: str, kind: str = "length") -> Room:
    """What is asked for and cannot be looked at, since the other half of it is not described."""
    nothing = Result("", title, None, kind, absent=lacking)
    return make_check(f"{WORD}.check.{name}", title, demand=nothing, capacity=nothing), ()


def _view(eyes: Point, edge: Edge) -> Room:
    """How far below the horizontal the driver sees over an edge ahead."""
    name, title = f"view.{edge.id}", f"View over {called(edge)}"
    given = (eyes.x, eyes.y, eyes.z, edge.at.x, edge.at.y, edge.at.z)

    def ahead(shift: Shift) -> float:
        return float(
            np.hypot(
                at(eyes.x, shift) - at(edge.at.x, shift), at(eyes.y, shift) - at(edge.at.y, shift)
            )
        )

    def angle(shift: Shift) -> float:
        return f.view_angle(height=at(eyes.z, shift) - at(edge.at.z, shift), ahead=ahead(shift))

    step = work(
        f.view_angle,
        f"{WORD}.{name}.angle",
        f"{title}: angle below the horizontal",
        height=eyes.z.si - edge.at.z.si,
        ahead=ahead(NOWHERE),
    )
    capacity = as_result(step, spread(angle, sources(given)), ids(*given))
    demand = Result(
        edge.least_angle.id,
        "angle asked for",
        edge.least_angle.si,
        "angle",
        inputs=(edge.least_angle.id,),
    )
    return make_check(
        f"{WORD}.check.{name}",
        title,
        demand=demand,
        capacity=capacity,
        signed=True,
        inputs=(*demand.inputs, *capacity.inputs),
        sources=(f.GEOMETRY,),
        ways="raise the seat, or lower the edge",
    ), (step,)


def ids(*quantities: Quantity) -> tuple[str, ...]:
    """The ids of some values of the description; those of a shipped table are none."""
    return tuple(q.id for q in quantities if not q.id.startswith(f"{WORD}."))


def room_of(driver: Driver) -> tuple[Room, ...]:
    """Every clearance, opening and view, with its steps."""
    return (*helmet(driver), *wheel(driver), *openings(driver), *views(driver))
