"""What a schema cannot say about the work that is left: steps, dates, orders, attested files."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from buildspec.diagnostics import Diagnostic, Note, Place, quoted
from buildspec.graphs import circle_problem, find_circle
from buildspec.sections.event import Event, after_event

if TYPE_CHECKING:
    from buildspec.build import Build
    from buildspec.sections.rules import Evidence, Line, Rules, Sheet, Step


@dataclass(frozen=True, slots=True)
class _Work:
    """A step with the dotted id of its entry."""

    step: Step
    id: str


def look(section: Rules, build: Build) -> Iterator[Diagnostic]:
    """Every mistake in the steps, orders and dates of the section, and in what was attested."""
    work = tuple(_works(section))
    yield from _repeated(work, section, build)
    yield from _circles(work, build)
    if any(person.hours_a_week for person in section.people):
        yield from _without_hours(work, build)
    yield from _after_the_event(section, work, build)
    yield from _out_of_order(work, section, build)
    for entry in section.evidence:
        yield from _attested(entry, build)
        yield from _days_of_proof(entry, build)


def _works(section: Rules) -> Iterator[_Work]:
    for sheet in section.sheets:
        for line in sheet.requirements:
            for step in line.steps:
                yield _Work(step, f"{_line_id(sheet, line)}.steps.{step.id}")


def _line_id(sheet: Sheet, line: Line) -> str:
    return f"rules.sheets.{sheet.id}.requirements.{line.id}"


def _repeated(work: tuple[_Work, ...], section: Rules, build: Build) -> Iterator[Diagnostic]:
    """Ids that two steps, or a step and an order, have: `waits_for` could mean either."""
    first: dict[str, Place] = {o.id: build.where(f"rules.orders.{o.id}.id") for o in section.orders}
    for each in work:
        place = build.where(f"{each.id}.id", each.id)
        if each.step.id in first:
            yield Diagnostic(
                "plan.step-twice",
                f"the id {quoted(each.step.id)} is taken already",
                place,
                "give the step another id, and change it in every `waits_for`",
                (Note(first[each.step.id], "the first one"),),
            )
        first.setdefault(each.step.id, place)


def _circles(work: tuple[_Work, ...], build: Build) -> Iterator[Diagnostic]:
    """The first circle of steps that wait for one another."""
    circle = find_circle({w.step.id: w.step.waits_for for w in work})
    if circle:
        at = {w.step.id: build.where(f"{w.id}.waits_for", w.id) for w in work}
        notes = tuple(Note(at[name], f"{quoted(name)} waits here") for name in circle[1:4])
        yield circle_problem(circle, "waits_for", at[circle[0]], notes)


def _without_hours(work: tuple[_Work, ...], build: Build) -> Iterator[Diagnostic]:
    """Open steps without hours, where hours a week ask for a plan."""
    for each in work:
        if each.step.hours is None and each.step.done is None:
            yield Diagnostic(
                "plan.hours",
                f"the step {quoted(each.step.title)} has no hours, and a plan is asked for",
                build.where(f"{each.id}.id", each.id),
                "state its `hours`, or `done` where it is; a plan is asked for by `hours_a_week`",
            )


def _after_the_event(section: Rules, work: tuple[_Work, ...], build: Build) -> Iterator[Diagnostic]:
    """Days by which something must be done that come after the event has begun."""
    event = build.section(Event)
    if event is None or event.date is None:
        return
    asked = [(f"{w.id}.due", w.step.due) for w in work]
    asked += [
        (f"{_line_id(sheet, line)}.due", line.due)
        for sheet in section.sheets
        for line in sheet.requirements
    ]
    for dotted, day in asked:
        if day is not None and day >= event.date:
            yield Diagnostic(
                "plan.due",
                f"it is due on {day}, and the event begins on {event.date}",
                build.where(dotted),
                "state a day before the event, or leave the day out",
                (Note(build.where("event.date"), "the event"),),
            )


def _out_of_order(work: tuple[_Work, ...], section: Rules, build: Build) -> Iterator[Diagnostic]:
    """Steps that are done although what they wait for is not, or was done later."""
    days = {w.step.id: w.step.done for w in work} | {o.id: o.arrived for o in section.orders}
    for each in work:
        for name in each.step.waits_for:
            before = days.get(name)
            if each.step.done and (before is None or before > each.step.done):
                said = f"is done on {before}" if before else "is not"
                yield Diagnostic(
                    "plan.order",
                    f"it is done on {each.step.done}, but {quoted(name)}, which it waits for, {said}",
                    build.where(f"{each.id}.done"),
                    "correct one of the two, or take the name out of `waits_for`",
                    severity="warning",
                )


def _days_of_proof(entry: Evidence, build: Build) -> Iterator[Diagnostic]:
    """A file that was attested before it was made, or days after the event."""
    at = f"rules.evidence.{entry.id}"
    for key, done, day in (
        ("date", "made", entry.date),
        ("attested", "attested", entry.attested),
    ):
        if problem := after_event("evidence.dates", done, day, build.where(f"{at}.{key}"), build):
            yield problem
    if entry.date and entry.attested and entry.attested < entry.date:
        yield Diagnostic(
            "evidence.dates",
            f"it was attested on {entry.attested}, before it was made on {entry.date}",
            build.where(f"{at}.attested"),
            "correct one of the two dates",
            (Note(build.where(f"{at}.date"), "made"),),
        )


def _attested(entry: Evidence, build: Build) -> Iterator[Diagnostic]:
    """A file that somebody attested without the digest that would show a change."""
    if entry.sha256 or not (entry.attested_by or entry.attested):
        return
    fact = build.files.get(entry.file)
    digest = fact.sha256 if fact else ""
    yield Diagnostic(
        "evidence.digest",
        f"{quoted(entry.id)} is attested, but nothing shows which content was looked at",
        build.where(
            f"rules.evidence.{entry.id}.attested_by", f"rules.evidence.{entry.id}.attested"
        ),
        f"if the file is still the one that was looked at, add `sha256: {digest}`"
        if digest
        else "add the file's `sha256`",
        severity="warning",
    )
