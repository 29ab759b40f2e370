"""Whether a word stands: by hand on small designs, and by finite changes on the demonstration."""

from __future__ import annotations

import datetime
import functools
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from buildspec.assemble import assemble
from buildspec.documents import Document
from buildspec.plain import Patch, find, patched
from buildspec.quantities import Quantity, from_si
from buildspec.read import read_folder
from buildspec.sections.signoffs import Signoffs, apart, together
from generator.evaluation import Evaluation, evaluate, load_subjects
from generator.results import as_data, schema
from generator.signoffs.reviewed import reviewed, still_open
from generator.signoffs.scope import ScopeError, scope_of
from generator.signoffs.sign import Looked, Said, record_of
from generator.signoffs.standing import _check_moved, standings
from generator.vocabulary import Fact, Result, Standing
from tests.buildspec.descriptions import reading_of
from tests.generator.revisions.sides import CAR, DAY, edited, side_of

FAST = ("mass", "gear", "fire", "reach", "vents", "rotating")
RUN = ("mass", "air", "speed", "parachutes", "stability", "stopping")
"""Subjects of the demonstration that a test needs; the cage alone takes longer than all of them."""
WORD = Said("mass", "R. Sandoval", "reviewer", "accepted")


def sealed(text: str, said: Said = WORD, day: datetime.date = DAY) -> dict[str, Any]:
    """The record of a word on the design that `text` describes."""
    return record_of(said, side_of(text, day=day).evaluation, Looked("rev-1"))


def standing(text: str, record: dict[str, Any], day: datetime.date = DAY) -> Standing:
    """How the record stands in the design that `text` describes."""
    reading = reading_of(text)
    assert isinstance(reading.data, dict)
    build = assemble(Document({**reading.data, "signoffs": {"records": [record]}})).sound
    assert build is not None
    (found,) = standings(evaluate(build, as_of=day))
    return found


# ------------------------------------------------------------------------------- small ones


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("format: 1", "format: 1 # another comment"),
        ("name: Frame", "name: The welded frame"),
        ("x: 60 in", "x: 5 ft"),
        ("mass: 100 lb", "mass: 1600 oz"),
        ("source: scale}\n    - {id: engine", "source: another scale}\n    - {id: engine"),
        ("vehicle: {name: Brass Heron}", "vehicle: {name: Tin Heron, target_speed: 150 mph}"),
    ],
)
def test_what_cannot_matter_undoes_nothing(old: str, new: str) -> None:
    found = standing(edited(CAR, (old, new)), sealed(CAR))
    assert found.stands, found.reasons
    assert found.accepts


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("mass: 100 lb", "mass: 112.5 lb", "Frame: mass 100 → 112.5 lb"),
        ("total: 400 lb", "total: 500 lb", "Limits: most mass 400 → 500 lb"),
        ("mass: 100 lb", "mass: {value: 100 lb, plus_minus: 2 lb}", "± 2 lb; measured"),
        (
            "basis: measured, source: scale}\n    - {id: engine",
            "basis: estimated, source: scale}\n    - {id: engine",
            "Frame: mass 100 lb: measured → estimated",
        ),
        (
            "  conditions:",
            "    - {id: seat, name: Seat, mass: 9 lb, x: 80 in, z: 20 in}\n  conditions:",
            "Seat is new: mass 9 lb, x 80 in, and 2 more",
        ),
    ],
)
def test_what_matters_undoes_it_and_is_named(old: str, new: str, says: str) -> None:
    found = standing(edited(CAR, (old, new)), sealed(CAR))
    assert not found.stands
    assert not found.accepts
    assert any(says in reason for reason in found.reasons), found.reasons


def test_a_value_that_is_gone_is_named_without_any_history() -> None:
    line = "    - {id: engine, name: Engine, mass: 200 lb, x: 90 in, z: 15 in, basis: measured, source: scale}\n"
    found = standing(edited(CAR, (line, "")), sealed(CAR))
    assert any("mass.items.engine is gone; it was mass 200 lb" in r for r in found.reasons)


def test_a_count_that_moves_the_result_undoes_it_although_no_value_changed() -> None:
    one = edited(CAR, ("mass: 100 lb", "count: 1, mass: 100 lb"))
    found = standing(edited(one, ("count: 1", "count: 2")), sealed(one))
    assert found.reasons[0] == "Frame: count 1 → 2"
    # 400/300 − 1 and 400/400 − 1, by hand
    assert "Total mass margin 33.3 % → 0 %" in found.reasons


def test_what_triggers_a_parachute_is_told_where_the_stop_moved() -> None:
    """The speed at which the second parachute is released moves the stop."""
    day, run = datetime.date(2026, 11, 25), load_subjects(RUN)
    data, _ = _example()
    whole = read_folder(Path("example_build")).build
    assert whole is not None
    word = Said("stopping", "R. S.", "reviewer", "accepted")
    record = record_of(word, evaluate(whole, as_of=day, subjects=run), Looked())
    place = ("stopping", "deploy", "second", "below")
    changed = patched(data, [Patch("set", place, "120 mph")])
    build = assemble(Document({**changed, "signoffs": {"records": [record]}})).sound
    assert build is not None
    (found,) = standings(evaluate(build, as_of=day, subjects=run))
    assert found.reasons[0] == "second: below 140 → 120 mph"


def test_a_scope_that_is_gone_and_a_record_that_was_edited_count_for_nothing() -> None:
    record = sealed(CAR, Said("mass.check.total", "R. S.", "reviewer", "accepted"))
    found = standing(edited(CAR, ("  limits: {total: 400 lb}\n", "")), record)
    assert found.reasons == ("the design has no such part any more",)
    forged = {
        **record,
        "seen": {**record["seen"], "values": {"mass.limits.total": "500 lb; stated"}},
    }
    assert standing(CAR, forged).reasons == ("the record was edited after it was made",)


def test_the_scope_of_one_check_does_not_see_another_subjects_inputs() -> None:
    record = sealed(CAR, Said("mass.check.total", "R. S.", "reviewer", "accepted"))
    assert standing(edited(CAR, ("x: 60 in", "x: 64 in")), record).stands
    assert not standing(edited(CAR, ("mass: 100 lb", "mass: 101 lb")), record).stands


def test_an_unknown_scope_is_refused_with_what_there_is() -> None:
    with pytest.raises(ScopeError, match="did you mean `mass`"):
        scope_of(side_of(CAR).evaluation, "mas")


def test_a_group_holds_its_scopes() -> None:
    text = CAR + "signoffs:\n  groups: [{id: weight, title: Weight, scopes: [mass.check.total]}]\n"
    scope = scope_of(side_of(text).evaluation, "weight")
    assert (scope.title, [c.id for c in scope.checks]) == ("Weight", ["mass.check.total"])


def test_a_later_word_of_the_same_person_takes_the_place_of_the_earlier() -> None:
    first = sealed(CAR)
    second = {**sealed(edited(CAR, ("mass: 100 lb", "mass: 120 lb"))), "id": "mass_2"}
    reading = reading_of(edited(CAR, ("mass: 100 lb", "mass: 120 lb")))
    assert isinstance(reading.data, dict)
    data = {**reading.data, "signoffs": {"records": [first, second]}}
    build = assemble(Document(data)).sound
    assert build is not None
    one, other = standings(evaluate(build, as_of=DAY))
    assert (one.superseded, one.stands) == (True, False)
    assert (other.superseded, other.accepts) == (False, True)


# ------------------------------------------------------------------------------ open items


def commented(says: str, answers: str = "") -> Evaluation:
    record = sealed(CAR, Said("mass", "R. Sandoval", "reviewer", says, "Where is the ballast?"))
    reading = reading_of(CAR + answers)
    assert isinstance(reading.data, dict)
    section = {"records": [record], **reading.data.get("signoffs", {})}
    data = {k: v for k, v in reading.data.items() if k != "signoffs"}
    build = assemble(Document({**data, "signoffs": section})).sound
    assert build is not None
    return evaluate(build, as_of=DAY)


ANSWER = """signoffs:
  answers: [{to: mass_1, by: L. Osei, date: 2026-09-02, text: Under the seat.}]
"""


def test_a_comment_is_an_open_item_until_it_is_answered() -> None:
    ids = [i.id for i in commented("accepted-with-comment").open_items]
    assert "signoffs.records.mass_1.comment" in ids
    reading = reading_of(CAR)
    assert isinstance(reading.data, dict)
    record = sealed(CAR, Said("mass", "R. S.", "reviewer", "accepted-with-comment", "Where?"))
    answer = {"to": "mass_1", "by": "L. O.", "date": "2026-09-02", "text": "Under the seat."}
    build = assemble(
        Document({**reading.data, "signoffs": {"records": [record], "answers": [answer]}})
    ).sound
    assert build is not None
    after = evaluate(build, as_of=DAY)
    assert "signoffs.records.mass_1.comment" not in [i.id for i in after.open_items]
    (found,) = standings(after)
    assert found.answer is not None
    assert found.answer.text == "Under the seat."


def test_a_refusal_stays_open_after_an_answer_until_the_person_says_otherwise() -> None:
    evaluation = commented("not-accepted")
    (item,) = [i for i in evaluation.open_items if i.id.startswith("signoffs.")]
    assert "does not accept mass: Where is the ballast?" in item.text
    (found,) = standings(evaluation)
    assert found.stands
    assert not found.accepts


_NAMES = st.lists(st.text("abcdefg_", min_size=1, max_size=4), min_size=1, max_size=4).map(".".join)
_TEXTS = st.one_of(
    st.text("0123456789.;± lb|", max_size=12), st.sampled_from(["conforms | 1 lb | 1 lb", "", " "])
)


@given(st.dictionaries(_NAMES, _TEXTS, max_size=12))
def test_entries_written_in_a_line_come_apart_again(entries: dict[str, str]) -> None:
    assert apart(together(entries)) == entries
    assert apart(entries) == entries  # as records of before have them


def test_a_record_is_a_line_for_each_part_of_the_design_that_it_saw() -> None:
    """The two items of the car have a mass and a place each: four entries, two lines."""
    seen = sealed(CAR)["seen"]["values"]
    assert seen["mass.items.frame.*"].startswith("mass ")
    assert len(seen) < len(apart(seen))


def worded(before: str, after: str, says: str = "accepted") -> Evaluation:
    """`after`, with a word on what `before` describes, and with what became of it."""
    record = sealed(before, Said("mass", "R. Sandoval", "reviewer", says, "Look again."))
    reading = reading_of(after)
    assert isinstance(reading.data, dict)
    build = assemble(Document({**reading.data, "signoffs": {"records": [record]}})).sound
    assert build is not None
    return reviewed(evaluate(build, as_of=DAY), lambda _: "rev-7")


HEAVIER = edited(CAR, ("mass: 100 lb", "mass: 120 lb"))


def test_a_word_that_a_change_undid_is_an_open_item_of_who_gave_it() -> None:
    (item,) = [i for i in worded(CAR, HEAVIER).open_items if i.kind == "review"]
    assert item.text.startswith(
        "The word of R. Sandoval (reviewer) on mass is undone since rev-7: "
    )
    assert "mass 100 → 120 lb" in item.text
    assert (item.owner, item.subject) == ("R. Sandoval", "mass")
    assert "sign FOLDER --scope mass" in item.closes


def test_a_word_that_stands_is_no_open_item_and_a_refusal_is_one_alone() -> None:
    assert not [i for i in worded(CAR, CAR).open_items if i.kind == "review"]
    refused = worded(CAR, HEAVIER, "not-accepted")
    assert [i.id for i in refused.open_items if i.kind == "review"] == [
        "signoffs.records.mass_1.comment"
    ]


@pytest.mark.parametrize("says", ["accepted", "accepted-with-comment", "not-accepted"])
@pytest.mark.parametrize("after", [CAR, HEAVIER], ids=["stands", "undone"])
def test_open_items_can_be_counted_without_their_words(after: str, says: str) -> None:
    whole = worded(CAR, after, says)
    bare = evaluate(whole.build, as_of=DAY)
    assert still_open(bare) == still_open(whole) == len(whole.open_items)


@pytest.mark.parametrize(
    ("now", "says"),
    [
        ("2.0002e0 3e0 1 holds", "demand +0.010 %"),
        ("- 3e0 1 open", "holds → open"),
        ("2e0 3e0 1 short", "holds → short"),
        ("2.5e0 3e0 1 holds", "margin 50.0 % → 20.0 %"),
    ],
)
def test_a_check_that_moved_is_said_by_what_can_be_seen_of_it(now: str, says: str) -> None:
    """3/2 − 1 = 50 %, 3/2.5 − 1 = 20 %; 3/2.0002 − 1 rounds to the same 50 % as before."""
    assert _check_moved("2e0 3e0 1 holds", now)[0] == says


def test_a_check_without_margin_says_which_figure_moved() -> None:
    assert _check_moved("2e0 - 1 open", "2.5e0 - 1 open") == ("demand +25 %", False)
    assert _check_moved("- 4e0 1 open", "- 3e0 1 open") == ("capacity −25 %", False)
    assert _check_moved("2e0 - 1 open", "- - 1 open") == ("demand is not known any more", False)


def test_results_say_of_each_word_whether_it_stands_and_what_undid_it() -> None:
    data = as_data(worded(CAR, HEAVIER))
    jsonschema.validate(data, schema())
    (word,) = data["signoffs"]
    assert (word["state"], word["since"], word["subject"]) == ("undone", "rev-7", "mass")
    assert "mass 100 → 120 lb" in word["reasons"][0]
    (stands,) = as_data(worded(CAR, CAR))["signoffs"]
    assert (stands["state"], stands["since"], stands["reasons"]) == ("stands", "", [])


# --------------------------------------------------------------------- the day, and the program


def test_days_that_go_by_undo_nothing_until_they_turn_a_verdict() -> None:
    """Lives of gear, seen as lasting, still last a week later, and no longer after ten years."""
    day, fast = datetime.date(2026, 11, 25), load_subjects(FAST)
    whole = read_folder(Path("example_build")).data
    assert isinstance(whole, dict)
    data = {k: v for k, v in whole.items() if k != "event"}  # else lives are held against its day
    first = assemble(Document(data)).sound
    assert first is not None
    word = Said("gear", "R. S.", "inspector", "accepted")
    record = record_of(word, evaluate(first, as_of=day, subjects=fast), Looked())
    build = assemble(Document({**data, "signoffs": {"records": [record]}})).sound
    assert build is not None
    later = [day + datetime.timedelta(days=d) for d in (7, 3650)]
    (week,), (years,) = (standings(evaluate(build, as_of=d, subjects=fast)) for d in later)
    assert week.stands, week.reasons
    assert not years.stands
    assert all("as the day is" in reason for reason in years.reasons), years.reasons


def test_another_equation_in_the_program_undoes_what_used_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:

    from generator.formulas.formula import REGISTRY

    record = sealed(CAR)
    name = next(iter(record["seen"]["formulas"]))
    monkeypatch.setitem(REGISTRY, name, replace(REGISTRY[name], equation="y = x + 1"))
    assert f"the program's formula {name} is another one" in standing(CAR, record).reasons


# --------------------------------------------------------------------------- property test


@functools.cache
def _example() -> tuple[Any, Evaluation]:
    reading = read_folder(Path("example_build"))
    assert reading.build is not None
    return reading.data, evaluate(reading.build, as_of=DAY, subjects=load_subjects(FAST))


@functools.cache
def _record(scope: str) -> dict[str, Any]:
    return record_of(Said(scope, "R. S.", "reviewer", "accepted"), _example()[1], Looked())


def _computed(evaluation: Evaluation, scope: str) -> list[tuple[object, ...]]:
    """What the scope's page says, taken straight from the outcome."""
    outcome = evaluation.outcomes[scope]
    checks = [(c.id, c.demand.value, c.capacity.value, c.verdict) for c in outcome.checks]
    rules = ((r.id, r.state, _found(r.found), _found(r.prescribed)) for r in outcome.requirements)
    return [*checks, *rules]


def _found(fact: Fact) -> object:
    if isinstance(fact, Quantity):
        return fact.si
    return fact.value if isinstance(fact, Result) else fact


def _nudged(dotted: str, factor: float) -> Any:
    """The demonstration's plain data with one number of it another; None where it has no text."""
    data, evaluation = _example()
    steps = tuple(int(s) if s.isdigit() else s for s in dotted.split("."))
    try:
        raw = find(data, steps)
    except KeyError:  # a value the program supplies
        return None
    quantity = evaluation.build.quantities[dotted]
    number = from_si(quantity.si, quantity.kind, quantity.unit) * factor
    text = f"{number:.9f} {quantity.unit}".strip()
    new = {**raw, "value": text} if isinstance(raw, dict) else text
    return patched(data, [Patch("set", steps, new)])


@settings(max_examples=20, deadline=None)
@given(data=st.data(), scope=st.sampled_from(("mass", "fire", "reach", "vents", "rotating")))
def test_only_what_can_influence_a_scope_undoes_it(data: st.DataObject, scope: str) -> None:
    """One number of the demonstration is changed. What the scope computes is compared directly:
    if it moved, the word must be undone; if it did not and the scope does not name the number
    among its inputs, the word must stand.
    """
    names = sorted(_example()[1].build.quantities)
    dotted = data.draw(st.sampled_from(names))
    plain = _nudged(dotted, data.draw(st.sampled_from((0.97, 1.01, 1.2))))
    assume(plain is not None)
    record = _record(scope)
    build = assemble(Document({**plain, "signoffs": {"records": [record]}})).sound
    assume(build is not None)
    assert build is not None
    before = _example()[1]
    assume(build.quantities[dotted].si != before.build.quantities[dotted].si)
    after = evaluate(build, as_of=DAY, subjects=load_subjects(FAST))
    (found,) = standings(after)
    moved = _computed(after, scope) != _computed(before, scope)
    if moved:
        assert not found.stands, f"{dotted} moved {scope} and undid nothing"
    elif dotted not in scope_of(before, scope).inputs:
        assert found.stands, f"{dotted} does not matter to {scope}: {found.reasons}"
    else:
        assert any("→" in reason for reason in found.reasons)


def test_the_section_of_the_record_round_trips() -> None:
    found = standing(CAR, sealed(CAR))
    assert found.record.intact
    assert isinstance(found.record.date, datetime.date)
    assert Signoffs().records == ()
