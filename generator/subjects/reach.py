"""The subject `reach`: what a belted driver reaches, and the room around helmet, hands and
shoulders.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.controls import Control, Controls
from buildspec.sections.driver import (
    Driver,
    Hand,
    Point,
    Tether,
)
from buildspec.sections.gear import Gear
from generator.checks import make_check
from generator.formulas import reach as f
from generator.spread import at, sources, spread
from generator.subjects import reach_bodies as bodies
from generator.subjects.reach_bodies import WORD, seated
from generator.subjects.reach_room import Placed, ids, room_of
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
    sized = seated(driver)
    tied = _tied(build)
    reached = tuple(
        r for c in (controls.items if controls else ()) for r in _control(sized, c, controls, tied)
    )
    room = room_of(sized)
    return Outcome(
        WORD,
        results=(
            *(x for r in reached for x in r.results),
            *(c.capacity for c, _ in room if c.capacity.id),
        ),
        checks=(*(c for r in reached for c in r.checks), *(c for c, _ in room)),
        steps=(*(s for r in reached for s in r.steps), *(s for _, own in room for s in own)),
        cautions=_cautions(),
        assumptions=(*_assumptions(driver), *bodies.assumptions(driver)),
        open_items=(*_open(driver, controls), *bodies.open_items(driver)),
        requirements=_outside(controls) if controls else (),
        detail=Detail(sized, reached, tuple(c for c, _ in room)),
    )


# --------------------------------------------------------------------------------- controls


def _tied(build: Build) -> bool:
    """Whether the equipment holds arm restraints, whose length then decides as the arm's does."""
    gear = build.section(Gear)
    return gear is not None and any(i.type == "arm restraints" for i in gear.items)


def _control(
    driver: Driver, control: Control, controls: Controls | None, tied: bool
) -> tuple[Reached, ...]:
    """The hand that reaches a control best; both hands where it takes both."""
    if controls is None:
        return ()
    tried = [
        _hand(driver, control, hand, controls.factor, several=control.two_handed, tied=tied)
        for hand in control.hands
    ]
    return tuple(tried) if control.two_handed else (max(tried, key=_slack),)


def _slack(reached: Reached) -> tuple[bool, bool, float]:
    """A hand that does not fall short comes first, then one of which all is known, then the wider margin."""
    known = [c.margin for c in reached.checks if c.margin is not None]
    least = min(known, default=0.0)
    return least >= 0.0, len(known) == len(reached.checks), least


def _hand(
    driver: Driver,
    control: Control,
    hand: Hand,
    factor: Quantity,
    *,
    several: bool,
    tied: bool,
) -> Reached:
    """One hand to one control: from the shoulder, and from its tether's anchor where it has one."""
    suffix = f".{hand}" if several else ""
    name, title = (
        f"{WORD}.control.{control.id}{suffix}",
        f"{called(control)}, {hand} hand",
    )
    ways = [_by_arm(driver, control, hand, name, title)]
    if tether := next((t for t in driver.tethers if t.hand == hand), None):
        ways.append(_by_tether(tether, control, name, title))
    elif tied:
        ways.append(_by_unknown_tether(name, title, hand))
    basis = "the hand that reaches best" if not several and len(control.hands) > 1 else ""
    checks = tuple(
        _within(
            f"{WORD}.check.{control.id}{suffix}.{way.word}",
            f"{title}: {_SAID[way.word]}",
            way.far,
            way.held,
            factor=factor,
            basis=basis,
            ways=_WAYS[way.word],
        )
        for way in ways
    )
    steps = tuple(s for w in ways for s in w.steps)
    results = tuple(r for w in ways for r in (w.held, w.far))
    return Reached(control, hand, checks, steps, results)


@dataclass(frozen=True, slots=True)
class _Way:
    """One thing that holds a hand back: how far the control is from it, and how far it lets go."""

    word: str
    far: Result
    held: Result
    steps: tuple[WorkedStep, ...] = ()


def _by_arm(driver: Driver, control: Control, hand: Hand, name: str, title: str) -> _Way:
    shoulder: Point = getattr(driver, f"{hand}_shoulder")
    arm = bodies.arm(driver, hand)
    step = work(
        f.belted_reach, f"{name}.reach", f"{title}: reach, belted", arm=arm, loss=driver.belted_loss
    )
    held = as_result(step, _root(arm, driver.belted_loss), ids(arm, driver.belted_loss))
    far, measured = _far(f"{name}.distance", f"{title}: from the shoulder", shoulder, control)
    return _Way("arm", far, held, (step, measured))


def _by_tether(tether: Tether, control: Control, name: str, title: str) -> _Way:
    far, measured = _far(
        f"{name}.tether_distance", f"{title}: from the tether's anchor", tether.anchor, control
    )
    held, step = _tether(f"{name}.tether_reach", title, tether)
    return _Way("tether", far, held, (step, measured))


def _by_unknown_tether(name: str, title: str, hand: Hand) -> _Way:
    """The equipment has arm restraints, and nobody says how far this hand's one lets it go."""
    absent = f"arm restraints are worn (`gear`), and the {hand} hand's is not stated under driver.tethers"
    far, held = (
        Result(f"{name}.{word}", f"{title}: {words}", None, "length", absent=absent)
        for word, words in (
            ("tether_distance", "from the tether's anchor"),
            ("tether_reach", "reach of the tethered hand"),
        )
    )
    return _Way("tether", far, held)


def _within(
    check_id: str, title: str, far: Result, own: Result, *, factor: Quantity, basis: str, ways: str
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
        ways=ways,
    )


_WAYS = {
    "arm": "move the control nearer, by a bracket, a longer lever or a pull cable",
    "tether": "move the control nearer, or have the arm restraint set anew by its maker's instructions",
}
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
        step, _root(tether.length, tether.cuff_to_grip), ids(tether.length, tether.cuff_to_grip)
    ), step


def _far(name: str, title: str, begin: Placed, end: Placed) -> tuple[Result, WorkedStep]:
    """The distance between two points, with its uncertainty."""
    named = {"xa": begin.x, "ya": begin.y, "za": begin.z, "xb": end.x, "yb": end.y, "zb": end.z}
    step = work(f.distance, name, title, **named)  # type: ignore[arg-type]
    uncertainty = spread(
        lambda shift: f.distance(**{n: at(q, shift) for n, q in named.items()}),
        sources(named.values()),
    )
    return as_result(step, uncertainty, ids(*named.values())), step


def _root(*quantities: Quantity) -> float:
    return float(sum(q.standard_uncertainty**2 for q in quantities) ** 0.5)


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
                f"{called(control)}: from outside",
                "can be worked from outside",
                words,
                state,
                "" if words else "`outside` is not stated",
                controls.source,
                (f"controls.items.{control.id}",),
            )
        )
    return tuple(found)


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
    if driver.steering and not driver.body:
        yield OpenItem(
            f"{WORD}.body",
            WORD,
            "missing",
            "No part of the body beside the steering wheel is described",
            "state knees, thighs and chest as balls under driver.body",
        )
    if not driver.source and driver.survey is None:
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
    group="The driver",
    evaluate=evaluate,
)
