"""What the subject `plan` says in words: open items, and what the plan takes for granted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from buildspec.sections.rules import Rules
from generator.subjects.plan_records import WORD, Awaited, Detail, Planned
from generator.vocabulary import Assumption, OpenItem, Result


def open_items(detail: Detail, section: Rules) -> Iterator[OpenItem]:
    """One for each step that is left and each order that holds something, and one for the whole."""
    titles = {s.task.step.id: s.task.step.title for s in detail.planned}
    titles |= {a.order.id: a.order.title for a in detail.orders}
    yield from _whole(detail, titles)
    for planned in detail.planned:
        yield _step(planned, titles)
    for awaited in detail.orders:
        if awaited.overdue or not awaited.holds:
            yield _order(awaited)


def _step(planned: Planned, titles: Mapping[str, str]) -> OpenItem:
    step, task = planned.task.step, planned.task
    waits = [titles[w] for w in step.waits_for if w in titles]
    said = f"do it once there is: {', '.join(waits)}" if waits else "do it; nothing holds it up"
    if planned.undated:
        said += f"; it has no days in the plan, because {planned.undated}"
    else:
        late = ", after the day it is due" if planned.late else ""
        said += f"; by the plan {_days(planned)}{late}"
    return OpenItem(
        f"{task.id}.open",
        WORD,
        "date" if planned.late else "work",
        f"{step.title} ({task.line})",
        said,
        (f"rules.requirement.{task.key}",),
        task.id,
        task.owner,
        step.hours,
        task.due,
    )


def _days(planned: Planned) -> str:
    if planned.start == planned.finish:
        return f"on {planned.finish}"
    return f"from {planned.start} to {planned.finish}"


def _order(awaited: Awaited) -> OpenItem:
    order = awaited.order
    held = f"; {', '.join(awaited.holds)} waits for it" if awaited.holds else ""
    return OpenItem(
        f"{WORD}.order.{order.id}.late" if awaited.overdue else f"{WORD}.order.{order.id}.open",
        WORD,
        "date" if awaited.overdue else "work",
        f"{order.title}: expected on {order.expected}"
        + (", and not there" if awaited.overdue else ""),
        f"ask where it is, and state the new day or the day it arrived{held}",
        due=order.expected,
    )


def _whole(detail: Detail, titles: Mapping[str, str]) -> Iterator[OpenItem]:
    late = detail.float_days is not None and detail.float_days < 0.0
    if late and detail.planned:
        chain = ", then ".join(titles[name] for name in detail.chain)
        yield OpenItem(
            f"{WORD}.late",
            WORD,
            "date",
            f"By the plan the work ends on {detail.at_least}, and the event begins on {detail.event}",
            f"shorten what the end hangs on, give it more hours a week, or share it: {chain}",
            ref=f"{WORD}.float",
        )
    if detail.event is None and detail.planned:
        yield OpenItem(
            f"{WORD}.event",
            WORD,
            "missing",
            "The event has no date",
            "state its first day under `event`, so that the plan has an end to be held against",
        )


def float_result(detail: Detail, day: float) -> Result:
    """The days between the end of the work and the event, in seconds; absent with its reason."""
    name, title = f"{WORD}.float", "Time between the end of the work and the event"
    undated = sum(1 for p in detail.planned if p.undated)
    if detail.event is None:
        return Result(name, title, None, "time", absent="the event has no date")
    if undated:
        said = "1 step has no days" if undated == 1 else f"{undated} steps have no days"
        return Result(name, title, None, "time", absent=said)
    return Result(name, title, (detail.float_days or 0.0) * day, "time")


def assumptions(detail: Detail) -> tuple[Assumption, ...]:
    """What the plan takes for granted."""
    if not detail.planned:
        return ()
    practice = "common practice in planning"
    texts = (
        (
            "one_thing",
            "Everybody does one step at a time, whole, in the order of the plan; nobody helps.",
            practice,
        ),
        (
            "even_pace",
            "The hours a week of each person are spread evenly over seven days, holidays included.",
            "a simplification: which evenings are worked is nobody's to plan",
        ),
        (
            "orders",
            "What is on order is there at the end of the day it is expected; what is overdue, today.",
            "the day that was promised",
        ),
        (
            "hours",
            "A step takes the hours stated; nothing is kept in reserve for what goes wrong.",
            "the team's own estimates",
        ),
        (
            "order_of_steps",
            "The order of steps is the best of several rules of priority, here that of "
            f"{detail.priority}; another order may end somewhat sooner.",
            practice,
        ),
    )
    return tuple(Assumption(f"{WORD}.assumption.{k}", t, WORD, s) for k, t, s in texts)
