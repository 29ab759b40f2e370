"""Published networks through steps, people and days: the plan ends when the book says."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

import pytest

from buildspec.sections.rules import Person, Step
from generator.planning.levelling import Schedule, level
from generator.planning.network import jobs_of
from tests.published.row import Row, disagreements
from tests.published.test_egress import COURSE, COURSE_TABLE, HANDOUT, HANDOUT_TABLE

DAY = datetime.date(2026, 11, 25)


def planned(waits: Mapping[str, str], hours: Mapping[str, float], alone: bool = False) -> Schedule:
    """Steps of one letter; each with a person of its own, or all with one. An hour a day."""
    owner = {name: "all" if alone else f"p_{name}" for name in waits}
    people = [Person(id=o, name=o, hours_a_week=7.0) for o in sorted(set(owner.values()))]
    steps = [
        Step(id=n, title=n, hours=hours[n], owner=owner[n], waits_for=tuple(w))
        for n, w in waits.items()
    ]
    return level(jobs_of(steps, [], people, DAY).jobs)


def handout() -> Schedule:
    return planned(
        {n: w for n, (w, _) in HANDOUT_TABLE.items()},
        {n: r[0] for n, (_, r) in HANDOUT_TABLE.items()},
    )


def course() -> Schedule:
    means = {n: (a + 4 * m + b) / 6 for n, (_, (a, m, b)) in COURSE_TABLE.items()}
    return planned({n: w for n, (w, _) in COURSE_TABLE.items()}, means)


def at(plan: Schedule, name: str) -> int:
    return plan.net.ids.index(name)


def row(case: str, source: str, printed: float | None, closed: float, ours: float) -> Row:
    return Row(
        case=case,
        source=source,
        status="derived" if printed is None else "read in a transcription",
        printed=printed,
        closed_form=closed,
        ours=ours,
        tolerance=0.0051,
        reason="half a unit of the second decimal, as printed",
        unit="days",
    )


def rows() -> tuple[Row, ...]:
    first, second = handout(), course()
    total = sum(r[0] for _, r in HANDOUT_TABLE.values())
    alone = planned(
        {n: w for n, (w, _) in HANDOUT_TABLE.items()},
        {n: r[0] for n, (_, r) in HANDOUT_TABLE.items()},
        alone=True,
    )
    return (
        row("7 steps, each with a person: end", HANDOUT, 16.0, 6 + 2 + 3 + 4 + 1, first.finish),
        row(
            "7 steps, each with a person: latest start of F", HANDOUT, 9.0, 16 - 1 - 4 - 2,
            float(first.earliest.latest_start[at(first, "F")]),
        ),
        row(
            "7 steps, each with a person: slack of C", HANDOUT, 1.0, 3 + 2 - 2 - 2,
            float(first.earliest.slack[at(first, "C")]),
        ),
        row("7 steps of one person: end", "the sum of the hours, worked by hand", None, total, alone.finish),
        row(
            "14 steps, each with a person: end of E", COURSE, 20.00,
            (5 + 20 + 7) / 6 + 5 + (1 + 40 + 17) / 6, second.slots["E"].finish,
        ),
        row(
            "14 steps, each with a person: slack of F", COURSE, 1.83,
            (5 + 58 / 6) - (49 / 6 + 28 / 6), float(second.earliest.slack[at(second, "F")]),
        ),
    )  # fmt: skip


ROWS = rows()


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_agrees_with_what_is_printed(row: Row) -> None:
    assert disagreements(row) == ()
