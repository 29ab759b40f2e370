"""The subject `fire`: what the rule sheet prescribes, compared with what the description says. No
calculation here.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.fire import Bottle, Fire, LeastAgent, NozzleCount, Prescribed
from buildspec.sections.vehicle import Vehicle
from generator.formulas.dates import add_months
from generator.subjects.dates import deadline
from generator.subjects.fire_records import WORD
from generator.subjects.proven import proven
from generator.tables.agents import agents
from generator.vocabulary import Conformance, Fact, Requirement, Result

RULE = f"{WORD}.requirement"
ROUNDING = 1e-9
"""Relative; values that differ by less are the same value in different units."""


def requirements(
    build: Build, section: Fire, read: Fire, as_of: datetime.date
) -> tuple[Requirement, ...]:
    """Every prescription of the section, compared; `read` is the section without readings yet to come."""
    rules = section.prescribed
    if rules is None:
        return ()
    found = (
        *_least(build, read, rules),
        *_nozzles(section, rules),
        *_dates(build, section, rules, as_of),
        *_systems(section, rules),
        *_releases(section, rules),
        *_inside(section, rules),
        *_mounts(section, rules),
    )
    return tuple(found)


def _rule(
    word: str,
    title: str,
    facts: tuple[Fact, Fact],
    said: tuple[Conformance, str],
    rules: Prescribed,
    *refs: str,
) -> Requirement:
    """One line: `facts` are what is prescribed and found, `said` the state and the reason."""
    (prescribed, found), (state, reason) = facts, said
    return Requirement(
        f"{RULE}.{word}", WORD, title, prescribed, found, state, reason, rules.source, refs
    )


def _state(fulfilled: bool) -> Conformance:
    return "conforms" if fulfilled else "departs"


# ---------------------------------------------------------------------------------- amount


def _least(build: Build, section: Fire, rules: Prescribed) -> Iterable[Requirement]:
    """The step of the least agent that the class record's speed falls into."""
    if not rules.least_agent:
        return
    vehicle = build.section(Vehicle)
    record = vehicle.class_record if vehicle else None
    title = "Least agent in all bottles"
    if record is None:
        yield _rule(
            "least_agent",
            title,
            (None, None),
            ("open", "vehicle.class_record is not stated"),
            rules,
        )
        return
    # 200 mph is the same speed in whichever unit it was written: no step is passed by rounding
    passed = record.si * (1.0 - ROUNDING)
    steps = [s for s in rules.least_agent if s.above.si < passed]
    if not steps:
        yield _rule(
            "least_agent",
            title,
            (None, None),
            ("not applicable", "the class record lies below the first step"),
            rules,
            record.id,
        )
        return
    yield _amount(section, rules, max(steps, key=lambda s: s.above.si), title, record.id)


def _amount(
    section: Fire, rules: Prescribed, step: LeastAgent, title: str, record: str
) -> Requirement:
    """The bottles' labels together: by volume where all is foam and the step states one, else by
    mass.
    """
    by_volume = step.volume is not None and all(_foam(b) for b in section.bottles)
    asked = step.volume if by_volume else step.mass
    labels = [b.agent_volume if by_volume else b.agent_mass for b in section.bottles]
    if asked is None or any(q is None for q in labels):
        return _rule(
            "least_agent",
            title,
            (asked, None),
            ("open", "the step or a bottle's label states no amount"),
            rules,
            record,
        )
    stated = [q for q in labels if q is not None]
    there = sum(_there(b, q) for b, q in zip(section.bottles, stated, strict=True))
    total = Result(f"{RULE}.least_agent.found", "agent by the labels", there, asked.kind)
    enough = there >= asked.si * (1.0 - ROUNDING)
    reason = (
        "by the labels of all bottles that count, or by the scale where that shows less, for the step that "
        "the class record falls into"
    )
    return _rule(
        "least_agent",
        title,
        (asked, total),
        proven(enough, reason, stated),
        rules,
        record,
        asked.id,
        *(q.id for q in stated),
    )


def _there(bottle: Bottle, label: Quantity) -> float:
    """What the label says, or the scale where that showed less, in SI."""
    if bottle.gross is None or bottle.tare is None or label.kind != "mass":
        return label.si
    return min(label.si, bottle.gross.si - bottle.tare.si)


def _foam(bottle: Bottle) -> bool:
    return agents()[bottle.agent].kind == "foam"


# --------------------------------------------------------------------------------- nozzles


def _nozzles(section: Fire, rules: Prescribed) -> Iterable[Requirement]:
    names = {z.id: called(z) for z in section.zones}
    for count in rules.nozzles:
        own = [n for n in section.nozzles if n.zone == count.zone]
        yield _rule(
            f"nozzles.{count.zone}",
            f"Nozzles in {names[count.zone]}",
            (count.count, len(own)),
            (_state(len(own) >= count.count), "by count"),
            rules,
            *(f"fire.nozzles.{n.id}" for n in own),
        )
        yield from _aims(count, names[count.zone], [n.aim for n in own], rules)


def _aims(
    count: NozzleCount, zone: str, aims: list[str], rules: Prescribed
) -> Iterable[Requirement]:
    if not count.aims:
        return
    missing = [a for a in count.aims if a.casefold() not in {x.casefold() for x in aims}]
    silent = any(not a for a in aims)
    state: Conformance = "conforms" if not missing else "open" if silent else "departs"
    reason = f"no nozzle points at: {', '.join(missing)}" if missing else "each is pointed at"
    yield _rule(
        f"aims.{count.zone}",
        f"What nozzles in {zone} point at",
        (", ".join(count.aims), ", ".join(a for a in aims if a) or None),
        (state, reason),
        rules,
    )


# ----------------------------------------------------------------------------------- dates


Clock = tuple[tuple[datetime.date, str], datetime.date]
"""The day that dates are held against and what it is called, and the day of the evaluation."""


def _dates(
    build: Build, section: Fire, rules: Prescribed, as_of: datetime.date
) -> Iterable[Requirement]:
    """Inspections, pressure tests and lives of all bottles."""
    clock = deadline(build, as_of), as_of
    for bottle in section.bottles:
        for span in spans(rules, bottle):
            yield _dated(bottle, rules, span, clock)


@dataclass(frozen=True, slots=True)
class Span:
    """A time that may pass: `months` from `last`, prescribed as `words`; `lacking` says why not known."""

    word: str
    title: str
    words: str
    months: int
    last: datetime.date | None
    done: str
    lacking: str


def spans(rules: Prescribed, bottle: Bottle) -> Iterable[Span]:
    """What the rule sheet limits in time for a bottle."""
    made, tested = bottle.manufactured, bottle.pressure_tested
    if rules.inspection_months is not None:
        last = _latest(bottle.inspected, bottle.filled)
        lacking = "neither an inspection nor a filling is dated"
        every = f"every {rules.inspection_months} months"
        yield Span(
            "inspection", "inspection", every, rules.inspection_months, last, "last done", lacking
        )
    if rules.pressure_test_months is not None:
        lacking = "neither a pressure test nor its making is dated"
        every = f"every {rules.pressure_test_months} months"
        months, last = rules.pressure_test_months, _latest(tested, made)
        yield Span(
            "pressure_test", "pressure test", every, months, last, "last tested or made", lacking
        )
    if rules.bottle_life_months is not None:
        words = f"{rules.bottle_life_months} months from its making"
        lacking = "`manufactured` is not stated"
        yield Span("life", "life", words, rules.bottle_life_months, made, "made", lacking)


def _latest(*days: datetime.date | None) -> datetime.date | None:
    return max((d for d in days if d), default=None)


def _dated(bottle: Bottle, rules: Prescribed, span: Span, clock: Clock) -> Requirement:
    """What was done last, and when that runs out, against the day that matters."""
    title, ref = f"{called(bottle)}: {span.title}", f"fire.bottles.{bottle.id}"
    word, last, ((day, occasion), as_of) = f"{span.word}.{bottle.id}", span.last, clock
    if last is None:
        return _rule(word, title, (span.words, None), ("open", span.lacking), rules, ref)
    if last > as_of:
        said = f"{last} lies in the future on {as_of}"
        return _rule(word, title, (span.words, last), ("open", said), rules, ref)
    due = add_months(last, span.months)
    said = f"{span.done} {last}, due by {due}; held against {occasion}"
    return _rule(word, title, (span.words, last), (_state(day <= due), said), rules, ref)


def due_dates(section: Fire) -> Iterable[tuple[str, str, datetime.date]]:
    """For the calendar, of every bottle what runs out: id of the description, title, last day."""
    for bottle in section.bottles if section.prescribed else ():
        for span in spans(section.prescribed, bottle) if section.prescribed else ():
            if span.last:
                suffix = {"inspection": "", "pressure_test": ".pressure_tested"}
                name = f"fire.bottles.{bottle.id}{suffix.get(span.word, '.manufactured')}"
                title = f"{called(bottle)}: {span.title}"
                yield name, title, add_months(span.last, span.months)


# ------------------------------------------------------------------------------------ rest


def _systems(section: Fire, rules: Prescribed) -> Iterable[Requirement]:
    if rules.systems is None:
        return
    unsaid = [b.id for b in section.bottles if not b.system]
    count = len({b.system for b in section.bottles if b.system})
    if unsaid and count < rules.systems:
        yield _rule(
            "systems",
            "Independent systems",
            (rules.systems, None),
            ("open", f"no system stated for: {', '.join(unsaid)}"),
            rules,
        )
    else:
        yield _rule(
            "systems",
            "Independent systems",
            (rules.systems, count),
            (_state(count >= rules.systems), "by the bottles' `system`"),
            rules,
        )


def _releases(section: Fire, rules: Prescribed) -> Iterable[Requirement]:
    for bottle in section.bottles if rules.releases else ():
        has = {r.by for r in section.releases if bottle.id in r.bottles}
        missing = [by for by in rules.releases if by not in has]
        reason = f"nothing sets it off by: {', '.join(missing)}" if missing else "each is there"
        yield _rule(
            f"releases.{bottle.id}",
            f"{called(bottle)}: releases",
            (", ".join(rules.releases), ", ".join(sorted(has)) or None),
            (_state(not missing), reason),
            rules,
            f"fire.bottles.{bottle.id}",
        )


def _inside(section: Fire, rules: Prescribed) -> Iterable[Requirement]:
    for bottle in section.bottles if rules.inside else ():
        state: Conformance = (
            "open"
            if not bottle.inside
            else _state(bottle.inside.casefold() == rules.inside.casefold())
        )
        yield _rule(
            f"inside.{bottle.id}",
            f"{called(bottle)}: lies inside",
            (rules.inside, bottle.inside or None),
            (state, "" if bottle.inside else "`inside` is not stated"),
            rules,
            f"fire.bottles.{bottle.id}",
        )


def _mounts(section: Fire, rules: Prescribed) -> Iterable[Requirement]:
    for bottle in section.bottles if rules.mount else ():
        rating = bottle.mount_rating
        said: tuple[Conformance, str] = ("open", "`mount_rating` is not stated")
        if rating is not None and rules.mount is not None:
            fits = rating.si >= rules.mount.si * (1.0 - ROUNDING)
            said = proven(fits, bottle.mount, [rating])
        yield _rule(
            f"mount.{bottle.id}",
            f"{called(bottle)}: mount",
            (rules.mount, rating),
            said,
            rules,
            f"fire.bottles.{bottle.id}",
        )
