"""From steps and orders to the time line; the critical path against a reference library."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from scipy.sparse import csgraph

from buildspec.sections.rules import Order, Person, Step
from generator.planning.days import after, before, days_of, first_day, last_day, overlap
from generator.planning.levelling import Job, level
from generator.planning.network import behind, curve, jobs_of
from tests.generator.planning.test_levelling import some_jobs

TODAY = datetime.date(2026, 11, 25)  # a Wednesday
KIT = Person(id="kit", name="Kit", hours_a_week=7.0)
LEE = Person(id="lee", name="Lee", hours_a_week=14.0)
IDLE = Person(id="idle", name="Idle", hours_a_week=0.0)


def step(name: str, hours: float | None = 1.0, owner: str = "kit", **more: Any) -> Step:
    return Step(id=name, title=f"Do {name}", hours=hours, owner=owner, **more)


def order(name: str = "part", expected: datetime.date = TODAY, **more: Any) -> Order:
    return Order(id=name, title=name, expected=expected, **more)


def test_hours_become_days_by_hours_a_week() -> None:
    assert (days_of(7.0, 7.0), days_of(7.0, 14.0), days_of(10.0, 5.0)) == (7.0, 3.5, 14.0)


def test_offsets_are_days_of_the_calendar() -> None:
    assert first_day(0.0, TODAY) == last_day(1.0, TODAY) == TODAY
    assert first_day(1.0, TODAY) == TODAY + datetime.timedelta(1)
    assert last_day(1.01, TODAY) == TODAY + datetime.timedelta(1)
    assert last_day(0.0, TODAY) == TODAY
    assert before(datetime.date(2026, 12, 2), TODAY) == 7.0
    assert after(TODAY, TODAY) == 1.0
    assert after(datetime.date(2026, 11, 1), TODAY) == 0.0
    assert overlap(5.0, 9.0, 0.0, 7.0) == 2.0


def test_what_has_arrived_or_is_done_holds_nothing_up() -> None:
    steps = [step("fit", waits_for=("part", "cut"))]
    left = jobs_of(steps, [order(arrived=TODAY)], [KIT], TODAY)
    assert [(j.id, j.waits_for) for j in left.jobs] == [("fit", ())]
    late = jobs_of(steps, [order(arrived=TODAY + datetime.timedelta(1))], [KIT], TODAY)
    assert [(j.id, j.not_before, j.waits_for) for j in late.jobs] == [
        ("part", 1.0, ()),
        ("fit", 0.0, ("part",)),
    ]


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (step("a", hours=None), "no hours are stated"),
        (step("a", owner=""), "nobody is named to do it"),
        (step("a", owner="idle"), "its owner has no hours a week"),
    ],
)
def test_what_cannot_be_laid_says_why_and_holds_what_waits_for_it(wrong: Step, said: str) -> None:
    chain = [step("c", waits_for=("b",)), step("b", waits_for=("a",)), wrong, step("free")]
    left = jobs_of(chain, [], [KIT, IDLE], TODAY)
    assert dict(left.undated) == {
        "a": said,
        "b": "it waits for “Do a”, which has no days",
        "c": "it waits for “Do b”, which has no days",
    }
    assert [j.id for j in left.jobs] == ["free"]


def test_what_is_behind_a_step_is_found_through_others() -> None:
    steps = [
        step("a"), step("b", waits_for=("a",)), step("c", waits_for=("b",)),
        step("d", waits_for=("a", "c")), step("e"),
    ]  # fmt: skip
    assert behind(steps)["a"] == {"b", "c", "d"}
    assert behind(steps)["d"] == behind(steps)["e"] == frozenset()


def test_hours_left_fall_to_nothing_at_the_pace_of_the_plan() -> None:
    # 4 h over days 0 to 2, then 3 h over days 1 to 4: by hand 7, 5, 2, 0
    assert curve([(0.0, 2.0, 4.0), (1.0, 4.0, 3.0)]) == (
        (0.0, 7.0),
        (1.0, 5.0),
        (2.0, 2.0),
        (4.0, 0.0),
    )
    assert curve([]) == ((0.0, 0.0),)


# Taylor, Introduction to Management Science, solutions to chapter 8, as transcribed at
# scribd.com/doc/47113515: activity → duration, earliest start and finish, latest start and finish.
TAYLOR: dict[str, tuple[float, ...]] = {
    "1-2": (8, 0, 8, 1, 9),
    "1-3": (10, 0, 10, 0, 10),
    "1-4": (9, 0, 9, 6, 15),
    "2-5": (6, 8, 14, 9, 15),
    "2-6": (4, 8, 12, 16, 20),
    "3-5": (5, 10, 15, 10, 15),
    "4-5": (0, 9, 9, 15, 15),
    "4-7": (7, 9, 16, 20, 27),
    "5-7": (12, 15, 27, 15, 27),
    "5-8": (15, 15, 30, 16, 31),
    "6-9": (18, 12, 30, 20, 38),
    "7-8": (4, 27, 31, 27, 31),
    "8-9": (7, 31, 38, 31, 38),
}


def test_a_printed_network_through_steps_and_people() -> None:
    """With somebody of their own for each activity (7 hours a week: an hour a day), the plan is the
    printed one: it ends after 38 days, and each activity has its earliest and latest days. The
    activity of no time is left out of the steps, whose hours are positive; it only repeats 1-4.
    """
    names = [n for n, row in TAYLOR.items() if row[0]]
    ends = {n: n.split("-") for n in names}

    def waits(event: str) -> tuple[str, ...]:
        found = tuple(n for n in names if ends[n][1] == event)
        return (*found, "1-4") if event == "5" else found

    people = [Person(id=f"p{n}", name=n, hours_a_week=7.0) for n in names]
    steps = [step(n, TAYLOR[n][0], f"p{n}", waits_for=waits(ends[n][0])) for n in names]
    plan = level(jobs_of(steps, [], people, TODAY).jobs)
    assert plan.finish == pytest.approx(38.0)
    for i, name in enumerate(plan.net.ids):
        found = (
            plan.slots[name].start, plan.slots[name].finish,
            plan.earliest.latest_start[i], plan.earliest.latest_finish[i],
        )  # fmt: skip
        assert found == pytest.approx(TAYLOR[name][1:]), name


@given(some_jobs())
def test_without_busy_people_the_end_is_the_longest_way_of_a_reference_library(
    jobs: list[Job],
) -> None:
    """The longest way through a network is the shortest with every length negative (scipy's
    Bellman-Ford, which knows nothing of plans). Node 0 is the start, and each job an edge to a node
    that the jobs behind it leave from; a day before which a job may not begin is an edge of its own.
    """
    alone = [replace(job, owner="") for job in jobs]
    number = {job.id: 2 * n + 1 for n, job in enumerate(alone)}
    size = 2 * len(alone) + 1
    lengths = np.full((size, size), np.inf)  # infinite: no edge; a length of zero is an edge
    for job in alone:
        lengths[0, number[job.id]] = -job.not_before
        lengths[number[job.id], number[job.id] + 1] = -job.days
        for name in job.waits_for:
            lengths[number[name] + 1, number[job.id]] = 0.0
    graph = csgraph.csgraph_from_dense(lengths, null_value=np.inf)
    longest = -csgraph.bellman_ford(graph, indices=0).min()
    assert level(alone).finish == pytest.approx(longest, abs=1e-9)
