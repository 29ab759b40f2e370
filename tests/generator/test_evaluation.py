"""Evaluation: order, purity, generic open items, fingerprints, results.json. A toy subject stands in."""

from __future__ import annotations

import dataclasses
import datetime
import functools
import json
from pathlib import Path

import jsonschema
import pytest

from buildspec.build import Build
from buildspec.quantities import Quantity
from buildspec.read import read_folder
from generator.checks import make_check
from generator.evaluation import Evaluation, evaluate, load_subjects, needed, on_day
from generator.formulas.formula import REGISTRY, Symbol, formula
from generator.results import as_data, as_text, schema
from generator.subjects import SUBJECTS, described
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Check, OpenItem, Outcome, Result
from generator.work import as_result, work

DAY = datetime.date(2027, 3, 1)


@formula(
    equation=r"F = m a",
    result=Symbol("F", "force", "force"),
    source="Newton's second law",
    m=Symbol("m", "mass", "mass", least=0.0, most=100.0),
    a=Symbol("a", "acceleration", "acceleration"),
)
def toy_force(*, m: float, a: float) -> float:
    """Force that gives a mass an acceleration."""
    return m * a


del REGISTRY[toy_force.name]  # a toy is no part of the program's own list


def quantity(name: str, si: float, kind: str, **more: object) -> Quantity:
    unit = {"mass": "kg", "force": "N", "acceleration": "m/s²", "length": "m"}[kind]
    return Quantity(id=name, si=si, kind=kind, written=f"{si} {unit}", unit=unit, **more)  # type: ignore[arg-type]


def toy_build(mass: float = 10.0, **more: object) -> Build:
    values = (
        quantity("toy.mass", mass, "mass", half_width=0.3, **more),
        quantity("toy.pull", 3.0, "acceleration", basis="measured"),
        quantity("toy.strength", 25.0, "force", stated=True),
        quantity("other.length", 1.0, "length"),
    )
    return Build({}, {q.id: q for q in values}, {}, "0" * 64)


def toy_outcome(build: Build, given: Given) -> Outcome:
    mass, pull = build.quantities["toy.mass"], build.quantities["toy.pull"]
    step = work(toy_force, "toy.force", "Force", m=mass, a=pull)
    demand = as_result(step, pull.si * mass.standard_uncertainty, [mass.id, pull.id])
    capacity = Result("toy.capacity", "Strength", build.quantities["toy.strength"].si, "force")
    check = make_check(
        "toy.check.force",
        "Strap",
        demand=demand,
        capacity=capacity,
        inputs=[mass.id, pull.id, "toy.strength"],
    )
    lacking = make_check(
        "toy.check.mount",
        "Mount",
        demand=demand,
        capacity=Result("toy.mount", "Mount", None, "force", absent="no rating given"),
    )
    return Outcome("toy", (demand, capacity), (check, lacking), (step,))


TOY = Subject("toy", "Toy", "to test", toy_outcome)


def evaluated(build: Build | None = None, *subjects: Subject) -> Evaluation:
    return evaluate(build or toy_build(), as_of=DAY, subjects=subjects or (TOY,))


def test_a_short_check_an_open_check_and_an_assumed_value_are_open_items() -> None:
    items = evaluated().open_items
    assert [(i.kind, i.blocks) for i in items] == [
        ("short", ("toy.check.force",)),
        ("open", ("toy.check.mount",)),
        ("assumed", ("toy.check.force",)),
    ]
    assert "no rating given" in items[1].closes
    assert items[2].text == "toy: mass still assumed"


def undecided(word: str, reason: str) -> Check:
    return make_check(
        f"toy.check.{word}",
        word.title(),
        demand=Result("toy.demand", "Demand", 1.0, "force"),
        capacity=Result("toy.capacity", "Strength", None, "force", absent=reason),
    )


def items_of(*found: OpenItem, checks: tuple[Check, ...]) -> list[tuple[str, str, tuple[str, ...]]]:
    made = Outcome("toy", checks=checks, open_items=found)
    items = evaluated(None, Subject("toy", "Toy", "", lambda *_: made)).open_items
    return [(i.id, i.text, i.blocks) for i in items]


def test_checks_that_are_open_for_one_reason_are_one_open_item() -> None:
    """Each stays a check of its own; what there is to do is said once."""
    checks = (undecided("a", "no rating"), undecided("b", "no length"), undecided("c", "no rating"))
    assert items_of(checks=checks) == [
        (
            "toy.check.a.open",
            "A, and 1 more: cannot be decided",
            ("toy.check.a", "toy.check.c"),
        ),
        ("toy.check.b.open", "B: cannot be decided", ("toy.check.b",)),
    ]


def test_what_is_open_for_many_checks_stands_behind_what_falls_short() -> None:
    short = OpenItem("toy.z", "toy", "short", "z", "do z", ("toy.check.z",))
    checks = (undecided("a", "no rating"), undecided("b", "no rating"))
    assert [name for name, _, _ in items_of(short, checks=checks)] == ["toy.z", "toy.check.a.open"]


def test_an_open_check_that_its_subject_tells_of_is_no_item_of_its_own() -> None:
    own = OpenItem("toy.case", "toy", "open", "no answer", "look", ("toy.check.a",))
    other = dataclasses.replace(own, id="toy.else", kind="missing", blocks=("toy.check.b",))
    checks = (undecided("a", "no answer"), undecided("b", "no length"))
    assert [name for name, _, _ in items_of(own, other, checks=checks)] == [
        "toy.case",
        "toy.check.b.open",
        "toy.else",
    ]


def test_a_measured_value_is_neither_assumption_nor_open_item() -> None:
    found = evaluated(toy_build(basis="measured"))
    assert [i.kind for i in found.open_items] == ["short", "open"]
    assert [a.id for a in found.assumptions] == ["other.length"]


def test_what_blocks_most_comes_first_but_behind_what_is_short_or_open() -> None:
    items = (
        OpenItem("toy.b", "toy", "missing", "b", "do b", ("1",)),
        OpenItem("toy.a", "toy", "assumed", "a", "do a", ("1", "2")),
        OpenItem("toy.c", "toy", "short", "c", "do c", ("1",)),
    )
    subject = Subject("toy", "Toy", "", lambda *_: Outcome("toy", open_items=items))
    assert [i.id for i in evaluated(None, subject).open_items] == ["toy.c", "toy.a", "toy.b"]


def test_a_step_outside_its_range_becomes_a_caution_and_keeps_its_value() -> None:
    found = evaluated(toy_build(mass=150.0))
    assert [c.id for c in found.cautions] == ["toy.force.range"]
    assert found.outcomes["toy"].by_id["toy.force"].value == 450.0


def test_subjects_run_after_those_they_need_and_see_only_those() -> None:
    seen: dict[str, list[str]] = {}

    def remember(word: str) -> Subject:
        def run(_: Build, given: Given) -> Outcome:
            seen[word] = sorted(given.outcomes)
            return Outcome(word)

        return Subject(word, word, "", run, needs=("b",) if word == "a" else ())

    found = evaluated(None, remember("a"), remember("b"), remember("c"))
    assert seen == {"a": ["b"], "b": [], "c": []}
    assert list(seen).index("b") < list(seen).index("a")
    assert list(found.outcomes) == ["a", "b", "c"]  # pages keep the order of the list


def test_a_subject_that_is_not_described_leaves_no_trace() -> None:
    absent = Subject("absent", "Absent", "", lambda *_: None)
    assert list(evaluated(None, absent, TOY).outcomes) == ["toy"]


def test_the_same_build_gives_the_same_evaluation() -> None:
    assert as_text(as_data(evaluated())) == as_text(as_data(evaluated()))


@pytest.mark.parametrize(
    ("change", "undone"),
    [
        ({"mass": 10.5}, True),
        ({"basis": "measured"}, True),
        ({"source": "another scale"}, False),
        ({"written": "0.01 t"}, False),
    ],
)
def test_the_fingerprint_changes_with_what_the_result_depends_on(
    change: dict[str, object], undone: bool
) -> None:
    before = evaluated().checks[0].fingerprint
    build = toy_build()
    mass = build.quantities["toy.mass"]
    changed = (
        dataclasses.replace(mass, si=change["mass"])
        if "mass" in change
        else dataclasses.replace(mass, **change)
    )
    after = evaluated(
        dataclasses.replace(build, quantities={**build.quantities, "toy.mass": changed})
    )
    assert (after.checks[0].fingerprint != before) is undone


def test_a_value_that_cannot_reach_the_check_leaves_its_fingerprint() -> None:
    build = toy_build()
    longer = dataclasses.replace(build.quantities["other.length"], si=2.0)
    changed = dataclasses.replace(build, quantities={**build.quantities, "other.length": longer})
    assert evaluated(changed).checks[0].fingerprint == evaluated().checks[0].fingerprint


def test_results_keep_their_schema_and_absent_figures_have_a_reason() -> None:
    data = as_data(evaluated())
    jsonschema.Draft202012Validator(schema()).validate(data)
    mount = data["checks"][1]
    assert (mount["margin"], mount["capacity"], mount["verdict"]) == (None, None, "open")
    assert mount["reason"] == "no rating given"
    assert data["values"]["toy.force"]["unit"] == "N"
    assert data["values"]["toy.mass"]["standard_uncertainty"] == pytest.approx(0.3 / 3**0.5)


def test_the_schema_of_the_results_notices_a_null_without_a_reason() -> None:
    data = as_data(evaluated())
    data["checks"][1]["reason"] = ""
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema()).validate(data)


def test_no_result_is_written_that_json_does_not_have() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        as_text({"value": float("nan")})
    assert json.loads(as_text({"value": None})) == {"value": None}


# ----------------------------------------------------------------------------- another day


def test_a_day_is_looked_at_by_what_was_asked() -> None:
    """A question whose answer stays is no reason to compute again; the day itself always is."""
    given = Given(DAY)
    assert not given.reached(datetime.date(2027, 3, 2))
    assert given.reached(DAY)
    assert given.same_on(DAY)
    assert not given.same_on(datetime.date(2027, 3, 2))
    assert not given.same_on(datetime.date(2027, 2, 28))
    asked = Given(DAY)
    asked.reached(datetime.date(2027, 2, 1))
    assert asked.same_on(datetime.date(2027, 2, 1))
    assert asked.as_of == DAY
    assert not asked.same_on(datetime.date(2027, 2, 1))


@pytest.mark.parametrize("day", ["2026-09-01", "2026-11-13", "2026-11-14", "2026-11-23"])
def test_another_day_is_what_an_evaluation_for_it_gives(day: str) -> None:
    """The demonstration's one weighing is dated 14 November, its drills are spread over the autumn."""
    words, then = ("egress", "fire", "parachutes"), datetime.date.fromisoformat(day)
    found, want = (
        on_day(_example(), then, words),
        evaluate(_build(), as_of=then, subjects=needed(words)),
    )
    assert found.outcomes.keys() == want.outcomes.keys() > set(words)
    for one in ("checks", "open_items", "requirements", "cautions", "assumptions", "as_of"):
        assert getattr(found, one) == getattr(want, one), one
    for word, outcome in want.outcomes.items():
        assert found.outcomes[word].results == outcome.results
    same = found.outcomes["speed"] is _example().outcomes["speed"]
    assert same == (then >= datetime.date(2026, 11, 14))


@functools.cache
def _build() -> Build:
    build = read_folder(Path(__file__).parents[2] / "example_build").build
    assert build
    return build


@functools.cache
def _example() -> Evaluation:
    return evaluate(
        _build(),
        as_of=datetime.date(2026, 11, 25),
        subjects=needed(("egress", "fire", "parachutes")),
    )


@pytest.fixture(scope="module")
def example() -> Build:
    build = read_folder(Path(__file__).parents[2] / "example_build").build
    assert build is not None
    return build


@pytest.mark.parametrize("word", SUBJECTS)
def test_a_subject_without_its_section_is_not_even_loaded(word: str, example: Build) -> None:
    """The demonstration has them all; and each without its section indeed has nothing to say."""
    assert described(example.sections) == SUBJECTS
    reads = [s for s in example.sections if word not in described(set(example.sections) - {s})]
    assert len(reads) == 1
    left = {name: s for name, s in example.sections.items() if name not in reads}
    (subject,) = load_subjects([word])
    assert subject.evaluate(dataclasses.replace(example, sections=left), Given(DAY, {})) is None
