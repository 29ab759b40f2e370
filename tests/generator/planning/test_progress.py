"""Progress: never done while a step is open or a proof is missing."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildspec.sections.rules import Line, Step
from generator.planning.progress import Progress, progress
from generator.workwords import percent

TODAY = datetime.date(2026, 11, 25)
BEFORE, LATER = datetime.date(2026, 11, 14), datetime.date(2026, 12, 1)


def step(name: str = "weld", **given_: Any) -> Step:
    return Step(id=name, title=name, **given_)


def of(*steps: Step, evidence: tuple[str, ...] = (), proved: tuple[str, ...] = ()) -> Progress:
    line = Line(id="belt", group="cage", statement="It exists.", steps=steps, evidence=evidence)
    return progress(line, set(proved), TODAY)


def test_hours_count_where_every_step_states_them() -> None:
    found = of(step("a", hours=3.0, done=BEFORE), step("b", hours=1.0))
    assert (found.done, found.by, found.hours, found.hours_left) == (0.75, "hours", 4.0, 1.0)
    assert found.steps_open == ("b",)


def test_weights_go_before_hours_and_a_step_without_one_counts_one() -> None:
    found = of(step("a", hours=9.0, weight=3.0, done=BEFORE), step("b", hours=1.0))
    assert (found.done, found.by) == (0.75, "weight")


def test_steps_count_alike_where_one_states_neither() -> None:
    found = of(step("a", hours=9.0, done=BEFORE), step("b"))
    assert (found.done, found.by, found.unsized) == (0.5, "number of steps", ("b",))


def test_a_step_without_its_proof_does_not_count_although_its_hours_are_spent() -> None:
    done = step("a", hours=3.0, done=BEFORE, evidence=("photo",))
    without = of(done, step("b", hours=1.0, done=BEFORE))
    assert (without.done, without.hours_left) == (0.25, 0.0)
    assert (without.steps_open, without.evidence_missing, without.complete) == (
        (),
        ("photo",),
        False,
    )
    assert of(done, step("b", hours=1.0, done=BEFORE), proved=("photo",)).done == 1.0


def test_proof_of_work_to_come_is_not_missing_yet() -> None:
    found = of(step("a", evidence=("photo",)))
    assert (found.evidence_missing, found.steps_open) == ((), ("a",))


def test_a_day_to_come_is_not_done() -> None:
    assert of(step("a", done=LATER)).done == 0.0
    assert of(step("a", done=TODAY)).done == 1.0


def test_proof_of_the_line_counts_as_a_step_of_average_weight() -> None:
    steps = (step("a", hours=1.0, done=BEFORE), step("b", hours=3.0, done=BEFORE))
    found = of(*steps, evidence=("photo", "paper"), proved=("paper",))
    assert found.done == pytest.approx((1 + 3 + 2) / (1 + 3 + 2 + 2))
    assert (found.evidence_missing, found.complete) == (("photo",), False)
    assert found.evidence_changed == ()


def test_proof_with_another_content_is_lacking_and_said_to_have_changed() -> None:
    line = Line(id="x", group="g", statement="s", evidence=("photo", "paper"))
    found = progress(line, (), TODAY, changed=("paper", "other"))
    assert (found.evidence_missing, found.evidence_changed) == (("photo", "paper"), ("paper",))


def test_a_line_without_steps_or_proof_is_complete() -> None:
    found = of()
    assert (found.done, found.complete, found.steps) == (1.0, True, 0)
    assert of(evidence=("photo",)).done == 0.0
    assert of(evidence=("photo",), proved=("photo",)).complete


STEP = st.builds(
    Step,
    id=st.text("abc", min_size=1, max_size=3),
    title=st.just("x"),
    hours=st.none() | st.floats(0.1, 2000.0),
    weight=st.none() | st.floats(0.01, 1000.0),
    done=st.sampled_from([None, BEFORE, TODAY, LATER]),
    evidence=st.sampled_from([(), ("photo",), ("paper", "photo")]),
)


@given(
    st.lists(STEP, max_size=9),
    st.sampled_from([(), ("photo",), ("film", "paper")]),
    st.sets(st.sampled_from(["photo", "paper", "film"])),
)
def test_it_reads_as_done_exactly_when_nothing_is_open(
    steps: list[Step], evidence: tuple[str, ...], proved: set[str]
) -> None:
    found = of(*steps, evidence=evidence, proved=tuple(proved))
    assert 0.0 <= found.done <= 1.0
    assert (found.done == 1.0) == found.complete
    assert (percent(found.done) == "100 %") == found.complete
    assert 0.0 <= found.hours_left <= found.hours
    assert len(found.steps_open) <= found.steps


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.0, "0 %"), (1e-9, "1 %"), (0.5, "50 %"), (0.9999, "99 %"), (1.0, "100 %")],
)
def test_only_nothing_is_zero_and_only_everything_a_hundred(share: float, said: str) -> None:
    assert percent(share) == said
