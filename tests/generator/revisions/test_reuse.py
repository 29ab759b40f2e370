"""What is not computed again is what would come out the same."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest

from buildspec.assemble import assemble
from buildspec.build import Build
from buildspec.documents import Document
from buildspec.plain import Patch, patched
from buildspec.read import read_folder
from buildspec.sections.vehicle import Vehicle
from generator.evaluation import evaluate
from generator.revisions.reuse import Reuse, _Glass, alike
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Outcome
from tests.generator.revisions.sides import CAR, DAY, edited, side_of

LATER = datetime.date(2026, 9, 20)
Look = Callable[[Build, Given], object]


def build_of(*pairs: tuple[str, str]) -> Build:
    return side_of(edited(CAR, *pairs)).evaluation.build


class Seen:
    """Two subjects, the second of which needs the first; counts how often each is computed."""

    def __init__(self, look: Look) -> None:
        self.looked, self.behind = 0, 0
        self.look = look
        self.subjects = (
            Subject("one", "One", "", self.one),
            Subject("two", "Two", "", self.two, needs=("one",)),
            Subject("all", "All", "", lambda _, __: Outcome("all"), needs=("one",)),
        )

    def one(self, build: Build, given: Given) -> Outcome:
        self.looked += 1
        return Outcome("one", detail=self.look(build, given))

    def two(self, _: Build, given: Given) -> Outcome:
        self.behind += 1
        return Outcome("two", detail=given.outcomes["one"].detail)

    def times(self, *states: tuple[Build, datetime.date]) -> tuple[int, int]:
        reuse = Reuse()
        for build, day in states:
            found = reuse.evaluate(build, as_of=day, subjects=self.subjects)
            fresh = evaluate(build, as_of=day, subjects=self.subjects)
            self.looked, self.behind = self.looked - 1, self.behind - 1
            assert found.outcomes == fresh.outcomes
        return self.looked, self.behind


HEAVIER = ("mass: 100 lb", "mass: 101 lb")
ANOTHER_NAME = ("Brass Heron", "Tin Heron")
MORE_ITEMS = ("limits: {total: 400 lb}", "limits: {total: 400 lb, cg_height: 30 in}")


@pytest.mark.parametrize(
    ("look", "edit", "computed"),
    [
        (lambda b, _: b.section(Vehicle).name, HEAVIER, 1),
        (lambda b, _: b.section(Vehicle).name, ANOTHER_NAME, 2),
        (lambda b, _: b.sections["vehicle"].name, HEAVIER, 1),
        (lambda b, _: b.sections["vehicle"].name, ANOTHER_NAME, 2),
        (lambda b, _: b.quantities["mass.items.engine.mass"].si, HEAVIER, 1),
        (lambda b, _: b.quantities["mass.items.frame.mass"].si, HEAVIER, 2),
        (lambda b, _: "mass.limits.cg_height" in b.quantities, HEAVIER, 1),
        (lambda b, _: "mass.limits.cg_height" in b.quantities, MORE_ITEMS, 2),
        (lambda b, _: b.place("mass.limits.cg_height") is None, HEAVIER, 1),
        (lambda b, _: b.place("mass.limits.cg_height") is None, MORE_ITEMS, 2),
        (lambda b, _: sum(q.si for q in b.quantities.values()), HEAVIER, 2),
        (lambda b, _: len(b.quantities), MORE_ITEMS, 2),
        (lambda b, _: b.fingerprint, HEAVIER, 2),
        (lambda b, _: len(b.pages), HEAVIER, 1),
        (lambda b, _: b.system, HEAVIER, 1),
    ],
)
def test_a_subject_is_computed_again_where_what_it_looked_at_is_another(
    look: Look, edit: tuple[str, str], computed: int
) -> None:
    seen = Seen(look)
    assert seen.times((build_of(), DAY), (build_of(edit), DAY))[0] == computed


def test_another_line_is_nothing_that_was_looked_at() -> None:
    seen = Seen(lambda b, _: b.section(Vehicle).name)
    moved = build_of(("units: us\n", "\n\nunits: us\n"))
    assert seen.times((build_of(), DAY), (moved, DAY)) == (1, 1)


@pytest.mark.parametrize(
    ("look", "computed"),
    [
        (lambda _, g: g.as_of, 2),
        (lambda _, g: g.reached(datetime.date(2026, 9, 10)), 2),
        (lambda _, g: g.reached(datetime.date(2026, 12, 1)), 1),
        (lambda _, __: "no day", 1),
    ],
)
def test_what_asks_of_the_day_is_computed_again_where_the_answer_is_another(
    look: Look, computed: int
) -> None:
    assert Seen(look).times((build_of(), DAY), (build_of(), LATER)) == (computed, computed)


def test_who_needs_another_is_computed_again_only_where_that_came_out_otherwise() -> None:
    whole = Seen(lambda b, _: sum(q.si for q in b.quantities.values()))
    assert whole.times((build_of(), DAY), (build_of(HEAVIER), DAY)) == (2, 2)
    count = Seen(lambda b, _: len([*b.quantities.values()]))
    assert count.times((build_of(), DAY), (build_of(HEAVIER), DAY)) == (2, 1)


def test_what_was_taken_over_knows_its_questions_of_the_day() -> None:
    """A later look at another day must not take for settled what was never asked again."""
    due = datetime.date(2026, 9, 10)
    seen = Seen(lambda _, g: g.reached(due))
    reuse = Reuse()
    for build in (build_of(), build_of(HEAVIER)):
        found = reuse.evaluate(build, as_of=DAY, subjects=seen.subjects)
    assert seen.looked == 1
    assert not found.given["one"].same_on(LATER)
    assert found.given["one"].same_on(datetime.date(2026, 9, 9))


def test_what_is_alike_is_so_all_through() -> None:
    assert alike({"a": (1.0, np.array([1.0, 2.0]))}, {"a": (1.0, np.array([1.0, 2.0]))})
    assert not alike({"a": (1.0, np.array([1.0, 2.0]))}, {"a": (1.0, np.array([1.0, 2.5]))})
    assert not alike([1], (1,))
    assert not alike((1, 2), (1,))
    assert not alike({"a": 1, "b": 2}, {"b": 2, "a": 1})
    assert alike(Outcome("x", detail=(1,)), Outcome("x", detail=(1,)))
    assert not alike(Outcome("x", detail=(1,)), Outcome("x", detail=(2,)))


def test_the_demonstration_comes_out_as_if_it_were_computed_anew() -> None:
    """A limit that only two subjects look at, and a shorter exit months later."""
    reading = read_folder(Path("example_build"))
    assert reading.build is not None
    reuse = Reuse()
    reuse.evaluate(reading.build, as_of=datetime.date(2026, 11, 24))
    for at, value, day in (
        (("mass", "limits", "total"), "2090 lb", datetime.date(2026, 11, 24)),
        (("egress", "limits", "required_time"), "24 s", datetime.date(2027, 8, 1)),
    ):
        made = assemble(Document(patched(reading.data, [Patch("set", at, value)])), ())
        assert made.sound is not None
        build = replace(made.sound, files=reading.build.files)
        found, fresh = reuse.evaluate(build, as_of=day), evaluate(build, as_of=day)
        for part in ("checks", "requirements", "open_items", "assumptions", "cautions"):
            assert getattr(found, part) == getattr(fresh, part), part
        for word, outcome in fresh.outcomes.items():
            assert alike(found.outcomes[word].results, outcome.results), word


def test_the_glass_shows_every_field_of_a_build() -> None:
    """A field that it did not pass on would answer with its default, whatever the build holds."""
    own = {f.name for f in fields(Build)}
    assert own <= set(vars(_Glass))
