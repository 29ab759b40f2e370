"""The subject `reach`: what a belted driver reaches, and the room around helmet, hands and
shoulders.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from buildspec.build import Build
from buildspec.quantities import Quantity
from buildspec.sections.controls import Control, Controls
from buildspec.sections.driver import (
    Driver,
    Edge,
    Hand,
    Opening,
    Part,
    Point,
    Steering,
    Tether,
    Tube,
)
from generator.checks import make_check
from generator.formulas import reach as f
from generator.spread import NOWHERE, Shift, at, sources, spread
from generator.subjects.subject import Given, Subject
from generator.vocabulary import (
    Assumption,
    Caution,
    Check,
    Conformance,
    OpenItem,
    Outcome,
    Requirement,
    Result,
    WorkedStep,
)
from generator.work import as_result, work

WORD = "reach"
Placed = Point | Control | Part | Steering


@dataclass(frozen=True, slots=True)
class Reached:
    """One control with the hand that reaches it best, and that hand's checks."""

    control: Control
    hand: Hand
    checks: tuple[Check, ...]
    steps: tuple[WorkedStep, ...]
    results: tuple[Result, ...]


@dataclass(frozen=True)
class Detail:
    """For the page and the drawing."""

    driver: Driver
    reached: tuple[Reached, ...]
    room: tuple[Check, ...]


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Reaches and clearances; None without a section `driver`."""
    driver, controls = build.section(Driver), build.section(Controls)
    if driver is None:
        return None
    reached = tuple(
        r for c in (controls.items if controls else ()) for r in _control(driver, c, controls)
    )
    room = (*_helmet(driver), *_wheel(driver), *_openings(driver), *_views(driver))
    return Outcome(
        WORD,
        results=(
            *(x for r in reached for x in r.results),
            *(c.capacity for c, _ in room if c.capacity.id),
        ),
        checks=(*(c for r in reached for c in r.checks), *(c for c, _ in room)),
        steps=(*(s for r in reached for s in r.steps), *(s for _, own in room for s in own)),
        cautions=_cautions(),
        assumptions=_assumptions(driver),
        open_items=tuple(_open(driver, controls)),
        requirements=_outside(controls) if controls else (),
        detail=Detail(driver, reached, tuple(c for c, _ in room)),
    )


# --------------------------------------------------------------------------------- controls


def _control(driver: Driver, control: Control, controls: Controls | None) -> tuple[Reached, ...]:
    """The hand that reaches a control best; both hands where it takes both."""
    if controls is None:
        return ()
    tried = [
        _hand(driver, control, hand, controls.factor, several=control.two_handed)
        for hand in control.hands
    ]
    return tuple(tried) if control.two_handed else (max(tried, key=_slack),)


def _slack(reached: Reached) -> float:
    return min(c.margin if c.margin is not None else 0.0 for c in reached.checks)


def _hand(
    driver: Driver, control: Control, hand: Hand, factor: Quantity, *, several: bool
) -> Reached:
    """One hand to one control: from the shoulder, and from its tether's anchor where it has one."""
    suffix = f".{hand}" if several else ""
    name = f"{WORD}.control.{control.id}{suffix}"
    title = f"{control.name or control.id}, {hand} hand"
    shoulder: Point = getattr(driver, f"{hand}_shoulder")
    arm: Quantity = getattr(driver, f"{hand}_reach")
    reach = work(
        f.belted_reach, f"{name}.reach", f"{title}: reach, belted", arm=arm, loss=driver.belted_loss
    )
    capacity = as_result(reach, _root(arm, driver.belted_loss), _ids(arm, driver.belted_loss))
    parts = [_far(f"{name}.distance", f"{title}: from the shoulder", shoulder, control)]
    capacities, steps, words = [capacity], [reach], ["arm"]
    if tether := next((t for t in driver.tethers if t.hand == hand), None):
        parts.append(
            _far(
                f"{name}.tether_distance",
                f"{title}: from the tether's anchor",
                tether.anchor,
                control,
            )
        )
        held, step = _tether(f"{name}.tether_reach", title, tether)
        capacities.append(held)
        steps.append(step)
        words.append("tether")
    basis = "the hand that reaches best" if not several and len(control.hands) > 1 else ""
    checks = tuple(
        _within(
            f"{WORD}.check.{control.id}{suffix}.{word}",
            f"{title}: {_SAID[word]}",
            far,
            own,
            factor=factor,
            basis=basis,
        )
        for word, (far, _), own in zip(words, parts, capacities, strict=True)
    )
    own_steps, results = (*steps, *(s for _, s in parts)), (*capacities, *(r for r, _ in parts))
    return Reached(control, hand, checks, own_steps, results)


def _within(
    check_id: str, title: str, far: Result, own: Result, *, factor: Quantity, basis: str
) -> Check:
    """A distance against what reaches it."""
    return make_check(
        check_id,
        title,
        demand=far,
        capacity=own,
        factor=factor.si,
        inputs=(*far.inputs, *own.inputs, factor.id),
        sources=(f.GEOMETRY,),
        basis_of_verdict=basis,
    )


_SAID = {"arm": "within the belted arm's reach", "tether": "within the arm restraint's tether"}


def _tether(name: str, title: str, tether: Tether) -> tuple[Result, WorkedStep]:
    step = work(
        f.tethered_reach,
        name,
        f"{title}: reach of the tethered hand",
        tether=tether.length,
        cuff=tether.cuff_to_grip,
    )
    return as_result(
        step, _root(tether.length, tether.cuff_to_grip), _ids(tether.length, tether.cuff_to_grip)
    ), step


def _far(name: str, title: str, begin: Placed, end: Placed) -> tuple[Result, WorkedStep]:
    """The distance between two points, with its uncertainty."""
    named = {"xa": begin.x, "ya": begin.y, "za": begin.z, "xb": end.x, "yb": end.y, "zb": end.z}
    step = work(f.distance, name, title, **named)  # type: ignore[arg-type]
    uncertainty = spread(
        lambda shift: f.distance(**{n: at(q, shift) for n, q in named.items()}),
        sources(named.values()),
    )
    return as_result(step, uncertainty, _ids(*named.values())), step


def _root(*quantities: Quantity) -> float:
    return float(sum(q.standard_uncertainty**2 for q in quantities) ** 0.5)


def _ids(*quantities: Quantity) -> tuple[str, ...]:
    return tuple(q.id for q in quantities)


def _outside(controls: Controls) -> tuple[Requirement, ...]:
    """What must be worked from outside, by what the description says."""
    found = []
    for control in controls.items:
        if not control.needs_outside:
            continue
        state: Conformance = (
            "open" if control.outside is None else "conforms" if control.outside else "departs"
        )
        words = {
            None: None,
            True: "can be worked from outside",
            False: "cannot be worked from outside",
        }[control.outside]
        found.append(
            Requirement(
                f"{WORD}.requirement.outside.{control.id}",
                WORD,
                f"{control.name or control.id}: from outside",
                "can be worked from outside",
                words,
                state,
                "" if words else "`outside` is not stated",
                controls.source,
                (f"controls.items.{control.id}",),
            )
        )
    return tuple(found)


# ------------------------------------------------------------------------------------- room


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
    capacity = as_result(step, uncertainty, _ids(*given, *own))
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
    ), (step,)


def _helmet(driver: Driver) -> Iterable[Room]:
    for tube in driver.structure if driver.helmet else ():
        yield _tube(driver, tube)


def _tube(driver: Driver, tube: Tube) -> Room:
    helmet = driver.helmet
    assert helmet is not None
    centre = Point(x=helmet.x, y=helmet.y, z=helmet.z)
    ends = (centre, tube.begin, tube.end)
    return _clearance(
        f"helmet.{tube.id}",
        f"Helmet to {tube.name or tube.id}",
        helmet.clearance,
        lambda shift: f.segment_distance(*(_vector(p, shift) for p in ends)),
        radii=(helmet.radius, tube.radius),
        given=tuple(q for p in ends for q in (p.x, p.y, p.z)),
    )


def _wheel(driver: Driver) -> Iterable[Room]:
    wheel = driver.steering
    for part in driver.body if wheel else ():
        assert wheel is not None
        yield _swept(wheel, part)


def _swept(wheel: Steering, part: Part) -> Room:
    given = (wheel.x, wheel.y, wheel.z, wheel.rake, wheel.radius, part.x, part.y, part.z)
    return _clearance(
        f"wheel.{part.id}",
        f"Steering wheel to {part.name or part.id}",
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


def _openings(driver: Driver) -> Iterable[Room]:
    for opening in driver.openings:
        yield _opening(driver.breadth, opening)


def _opening(breadth: Quantity | None, opening: Opening) -> Room:
    name = f"opening.{opening.id}"
    demand = (
        Result(
            breadth.id,
            "shoulder breadth in full gear",
            breadth.si,
            "length",
            breadth.standard_uncertainty,
            inputs=(breadth.id,),
        )
        if breadth
        else Result("", "shoulder breadth", None, "length", absent="driver.breadth is not stated")
    )
    capacity = Result(
        f"{WORD}.{name}.width",
        f"{opening.name or opening.id}: clear width",
        opening.width.si,
        "length",
        opening.width.standard_uncertainty,
        inputs=(opening.width.id,),
    )
    return make_check(
        f"{WORD}.check.{name}",
        f"{opening.name or opening.id}: shoulders pass",
        demand=demand,
        capacity=capacity,
        inputs=(*demand.inputs, *capacity.inputs),
        basis_of_verdict="one shoulder after the other may pass where both at once "
        "do not; a drill shows",
    ), ()


def _views(driver: Driver) -> Iterable[Room]:
    for edge in driver.view if driver.eyes else ():
        assert driver.eyes is not None
        yield _view(driver.eyes, edge)


def _view(eyes: Point, edge: Edge) -> Room:
    """How far below the horizontal the driver sees over an edge ahead."""
    name, title = f"view.{edge.id}", f"View over {edge.name or edge.id}"
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
    capacity = as_result(step, spread(angle, sources(given)), _ids(*given))
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
    ), (step,)


# ------------------------------------------------------------------------------------ words


def _open(driver: Driver, controls: Controls | None) -> Iterable[OpenItem]:
    if controls is None:
        yield OpenItem(
            f"{WORD}.controls",
            WORD,
            "missing",
            "No controls are described",
            "add a section `controls`",
        )
    if driver.helmet and not driver.structure:
        yield OpenItem(
            f"{WORD}.structure",
            WORD,
            "missing",
            "Nothing around the helmet is described",
            "state the tubes and panels near it under driver.structure",
        )
    if not driver.source:
        yield OpenItem(
            f"{WORD}.source",
            WORD,
            "missing",
            "Whose body the driver's values are is not stated",
            "measure the driver in the seat, or name the survey and percentile under driver.source",
        )


def _cautions() -> tuple[Caution, ...]:
    texts = (
        "A straight arm's length says that a hand gets there, not that it can pull or turn there, "
        "nor that it can do so blind, hurt or upside down. Try every control belted, gloved, with "
        "eyes shut, in each attitude.",
        "Clearances are those of the driver at rest. In a crash the belts stretch and the head "
        "moves by inches: what padding and clearance are asked for stands in the rulebook in force.",
    )
    return tuple(
        Caution(f"{WORD}.caution.{i}", t, WORD, hazard=True) for i, t in enumerate(texts, 1)
    )


def _assumptions(driver: Driver) -> tuple[Assumption, ...]:
    texts = [
        (
            "straight",
            "An arm reaches in a straight line from the shoulder joint; what stands "
            "in its way is not seen.",
            "geometry",
        )
    ]
    if driver.helmet:
        texts.append(
            (
                "ball",
                "Helmet, knees and other parts are taken as balls that hold them.",
                "never less than the part",
            )
        )
    return tuple(Assumption(f"{WORD}.assumption.{k}", t, WORD, s) for k, t, s in texts)


SUBJECT = Subject(
    word=WORD,
    title="Reach and room",
    purpose="Whether the driver, belted and tethered, reaches every control, and what room there "
    "is around helmet, hands, shoulders and eyes.",
    evaluate=evaluate,
)
