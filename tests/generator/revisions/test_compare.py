"""Comparing two descriptions: every expected change and contribution is worked out by hand."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildspec.assemble import assemble
from buildspec.documents import Document
from buildspec.plain import Patch, find, patched
from buildspec.read import read_folder
from buildspec.renames import RenameError
from generator.evaluation import evaluate, load_subjects, needed
from generator.revisions.causes import causes
from generator.revisions.compare import Comparison, Move, Side, compare
from generator.revisions.differences import Change
from generator.revisions.printing import as_text
from generator.revisions.wording import words_of
from tests.buildspec.descriptions import reading_of
from tests.generator.revisions.sides import CAR, DAY, between, edited, side, side_of

TOTAL = "mass.check.total"
KNOWN = "basis: measured, source: scale"
SUPPLIED = "no y stated: taken to be on the centre plane"


def ids(comparison: Comparison) -> list[tuple[str, str]]:
    return [(c.kind, c.id) for c in comparison.changes]


def total(comparison: Comparison) -> Move:
    return next(m for m in comparison.moves if m.check.id == TOTAL)


# -------------------------------------------------------------------------------- differences


def test_a_changed_value_is_named_with_what_it_was_and_is() -> None:
    found = between(("mass: 100 lb", "mass: 150 lb"))
    (change,) = found.changes
    assert (change.kind, change.id) == ("value", "mass.items.frame.mass")
    assert change.before is not None
    assert change.after is not None
    assert (change.before.written, change.after.written) == ("100 lb", "150 lb")
    assert change.label == "Frame: mass"


@pytest.mark.parametrize(
    "pair",
    [
        ("mass: 100 lb", "mass: 1.0e2 lb"),
        ("x: 60 in", "x: 5 ft"),
        ("x: 60 in", "x: 1.524 m"),
        ("format: 1", "# a comment\nformat: 1"),
        ("id: frame, name: Frame", "name: Frame, id: frame"),
        (
            "mass: 100 lb, x: 60 in, z: 15 in, basis: measured, source: scale",
            f"mass: {{value: 100 lb, {KNOWN}}}, x: {{value: 60 in, {KNOWN}}}, z: {{value: 15 in, {KNOWN}}}",
        ),
        ("x: 60 in", f"y: {{value: 0 in, basis: assumed, source: '{SUPPLIED}'}}, x: 60 in"),
    ],
)
def test_another_way_to_write_the_same_is_no_difference(pair: tuple[str, str]) -> None:
    found = between(pair)
    assert found.nothing, found.changes


def test_a_table_in_a_file_is_the_same_as_a_list() -> None:
    rows = (
        "id,name,mass [lb],x [in],z [in],basis,source\n"
        "frame,Frame,100,60,15,measured,scale\nengine,Engine,200,90,15,measured,scale\n"
    )
    head, rest = CAR.split("  items:\n")
    listed = f"{head}  items: items.csv\n{rest[rest.index('  conditions') :]}"
    assert compare(side_of(CAR), side_of(listed, items_csv=rows)).nothing


def test_basis_spread_and_source_count_as_a_change_of_the_value() -> None:
    found = between(("mass: 200 lb", "mass: {value: 200 lb, plus_minus: 2 lb, basis: estimated}"))
    (change,) = found.changes
    assert not change.number_moved
    assert change.before is not None
    assert change.after is not None
    assert (change.before.basis, change.after.basis) == ("measured", "estimated")


def test_the_basis_of_a_record_is_a_change_of_each_of_its_values() -> None:
    pair = (
        "z: 15 in, basis: measured, source: scale}\n  conditions",
        "z: 15 in, basis: rated, source: scale}\n  conditions",
    )
    assert [c.id for c in between(pair).changes] == [
        "mass.items.engine.mass",
        "mass.items.engine.x",
        "mass.items.engine.z",
    ]


def test_added_removed_and_sorted_entries() -> None:
    fuel = "    - {id: fuel, name: Fuel, mass: 40 lb, x: 80 in, z: 12 in}\n"
    found = between(("    - {id: engine", fuel + "    - {id: engine"))
    assert ids(found) == [("added", "mass.items.fuel")]
    back = compare(found.later, found.earlier)
    assert ids(back) == [("removed", "mass.items.fuel")]
    lines = CAR.splitlines(keepends=True)
    lines[5], lines[6] = lines[6], lines[5]
    assert ids(compare(side_of(CAR), side_of("".join(lines)))) == [("order", "mass.items")]


def test_an_added_or_removed_section_is_one_change() -> None:
    with_event = edited(CAR, ("vehicle:", "event: {name: Trials}\nvehicle:"))
    assert ids(compare(side_of(CAR), side_of(with_event))) == [("added", "event")]
    assert ids(compare(side_of(with_event), side_of(CAR))) == [("removed", "event")]


def test_words_are_told_from_choices() -> None:
    assert ids(between(("name: Frame", "name: The frame"))) == [("words", "mass.items.frame.name")]
    assert ids(between(("units: us", "units: si"))) == [("choice", "units")]


def test_a_renamed_record_is_recognised_when_told_and_hinted_at_when_not() -> None:
    new = edited(CAR, ("id: engine", "id: motor"))
    quiet = compare(side_of(CAR), side_of(new))
    assert ids(quiet) == [("added", "mass.items.motor"), ("removed", "mass.items.engine")]
    assert quiet.alike == (("mass.items.engine", "mass.items.motor"),)
    text = as_text(words_of(quiet, causes(quiet)))
    hint = "say --renamed mass.items.engine=mass.items.motor."
    assert text.index(hint) < text.index("Items added and removed"), "the hint stands first"

    heavier = compare(side_of(CAR), side_of(new.replace("200 lb", "210 lb")))
    assert {p.label for p in causes(heavier).parts} == {"Engine, added", "Engine, removed"}
    told = compare(side_of(CAR), side_of(new), {"mass.items.engine": "mass.items.motor"})
    assert told.changes == ()
    assert not told.nothing


def test_what_refers_to_a_renamed_record_is_renamed_with_it() -> None:
    new = edited(
        CAR,
        ("{id: start_line}", "{id: line}"),
        ("design_condition: start_line", "design_condition: line"),
    )
    told = compare(
        side_of(CAR), side_of(new), {"mass.conditions.start_line": "mass.conditions.line"}
    )
    assert told.changes == ()
    assert told.moves == ()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("mass.items.gearbox", "mass.items.box", "has no `mass.items.gearbox`"),
        ("mass.items.engine", "mass.items.frame", "has a `mass.items.frame` already"),
        ("mass.items.engine", "gear.items.engine", "differ in more than their last part"),
    ],
)
def test_a_rename_that_cannot_be_made_says_why(old: str, new: str, says: str) -> None:
    with pytest.raises(RenameError, match=says):
        compare(side_of(CAR), side_of(CAR), {old: new})


# ------------------------------------------------------------------------------------- moves


def test_a_check_that_falls_short_comes_before_one_that_only_moved() -> None:
    found = between(("total: 400 lb", "total: 290 lb"))
    move = total(found)
    assert move.before is not None
    assert move.after is not None
    assert (move.before.verdict, move.after.verdict) == ("holds", "short")
    # 400/300 − 1 = 1/3 before; 290/300 − 1 = −1/30 after: by hand
    assert move.by == pytest.approx(-1.0 / 30.0 - 1.0 / 3.0, rel=1e-12)
    assert found.moves[0] == move
    assert "mass.check.total.short" in [i.id for i in found.opened]


def test_a_check_that_comes_or_goes_has_one_side_only() -> None:
    found = between(("  limits: {total: 400 lb}\n", ""))
    move = total(found)
    assert move.after is None
    assert move.by is None
    back = total(compare(found.later, found.earlier))
    assert back.before is None


def test_a_prescription_that_turns_is_told_with_its_open_item() -> None:
    """A helmet made twenty years before the day of the event is past any life printed for it."""
    reading = read_folder(Path("example_build"))
    assert reading.build is not None
    place = find(reading.data, ("gear", "items", "helmet"))
    (key,) = [k for k, v in place.items() if str(v).startswith("2021-05")]
    old = patched(reading.data, [Patch("set", ("gear", "items", "helmet", key), "2001-05-01")])
    build = assemble(Document(old)).sound
    assert build is not None
    gear = load_subjects(("gear",))
    earlier, later = (
        Side(name, data, evaluate(made, as_of=DAY, subjects=gear))
        for name, data, made in (("old", reading.data, reading.build), ("new", old, build))
    )
    found = compare(earlier, later)
    (ruling,) = found.rulings
    assert ruling.rule.id == "gear.requirement.life.helmet"
    assert ruling.before is not None
    assert ruling.after is not None
    assert (ruling.before.state, ruling.after.state) == ("conforms", "departs")
    assert [i.id for i in found.opened] == ["gear.requirement.life.helmet.departs"]
    assert [i.id for i in compare(later, earlier).closed] == [i.id for i in found.opened]


# ------------------------------------------------------------------------------------ causes


def test_contributions_and_remainder_by_hand() -> None:
    """Limit 400 → 420 lb, frame 100 → 150 lb, and 50 lb of fuel added; margin = limit/total − 1.

    Before: 400/300 − 1 = 1/3. After: 420/400 − 1 = 0.05.
    """
    fuel = "    - {id: fuel, name: Fuel, mass: 50 lb, x: 80 in, z: 15 in}\n"
    found = between(
        ("mass: 100 lb", "mass: 150 lb"),
        ("total: 400 lb", "total: 420 lb"),
        ("  conditions", fuel + "  conditions"),
    )
    account = causes(found).accounts[TOTAL]
    effects = {s.part.changes[0].id: s.effect for s in account.shares}
    assert effects == {
        "mass.items.frame.mass": pytest.approx(400 / 350 - 400 / 300, rel=1e-12),
        "mass.items.fuel": pytest.approx(400 / 350 - 400 / 300, rel=1e-12),
        "mass.limits.total": pytest.approx(420 / 300 - 400 / 300, rel=1e-12),
    }
    whole = 420 / 400 - 400 / 300
    alone = 2 * (400 / 350 - 400 / 300) + 420 / 300 - 400 / 300
    assert account.remainder == pytest.approx(whole - alone, rel=1e-9)
    assert account.move.by == pytest.approx(whole, rel=1e-12)


def test_a_single_change_has_the_whole_effect_and_leaves_no_remainder() -> None:
    account = causes(between(("mass: 100 lb", "mass: 150 lb"))).accounts[TOTAL]
    assert [s.effect for s in account.shares] == [account.move.by]
    assert account.remainder == 0.0


def test_changes_that_cannot_stand_alone_are_tried_together() -> None:
    """Another condition under another id, and the name that points at it: neither reads alone."""
    found = between(
        ("[{id: start_line}]", "[{id: line, without: [frame]}]"),
        ("design_condition: start_line", "design_condition: line"),
        ("total: 400 lb", "total: 380 lb"),
    )
    result = causes(found)
    # 400/200 against 400/300; the limit alone 380/300: by hand
    effects = {s.part.changes[0].id: s.effect for s in result.accounts[TOTAL].shares}
    joined = next(p for p in result.parts if len(p.changes) == 3)
    assert {c.id for c in joined.changes} == {
        "mass.conditions.line",
        "mass.conditions.start_line",
        "mass.design_condition",
    }
    assert effects["mass.limits.total"] == pytest.approx(380 / 300 - 400 / 300, rel=1e-9)
    assert not result.unreadable


def test_values_that_must_fit_each_other_are_tried_together() -> None:
    """A window that is moved as a whole: its new lower end alone would lie above its old upper end.

    CG at (100·60 + 200·90)/300 = 80 in; the window 70 to 85 in becomes 90 to 100 in.
    """
    text = edited(CAR, ("{total: 400 lb}", "{total: 400 lb, cg_x: {least: 70 in, most: 85 in}}"))
    found = between(("least: 70 in, most: 85 in", "least: 90 in, most: 100 in"), text=text)
    result = causes(found)
    assert not result.unreadable
    (part,) = result.parts
    assert [c.id for c in part.changes] == ["mass.limits.cg_x.least", "mass.limits.cg_x.most"]
    account = result.accounts["mass.check.cg_x"]
    assert account.remainder == 0.0
    assert [s.effect for s in account.shares] == [account.move.by]


def test_what_cannot_be_read_even_together_is_said_and_left_in_the_remainder(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from buildspec.assemble import Assembled
    from buildspec.diagnostics import Diagnostic, Place
    from generator.revisions import causes as module

    read = module._Trial.read

    def fails(self: module._Trial, group: tuple[Change, ...]) -> Assembled:
        if any(c.id == "mass.limits.total" for c in group):
            return Assembled(None, (Diagnostic("x", "it needs a scale", Place("build.yaml")),))
        return read(self, group)

    monkeypatch.setattr(module._Trial, "read", fails)
    result = causes(between(("mass: 100 lb", "mass: 150 lb"), ("total: 400 lb", "total: 420 lb")))
    (part,) = result.unreadable
    assert part.reason == "it needs a scale"
    account = result.accounts[TOTAL]
    # whole move 420/350 − 400/300; the frame alone 400/350 − 400/300: by hand
    assert [s.effect for s in account.shares] == [pytest.approx(400 / 350 - 400 / 300, rel=1e-9)]
    assert account.remainder == pytest.approx(420 / 350 - 400 / 350, rel=1e-9)


def test_wording_costs_no_evaluation() -> None:
    found = between(("name: Frame", "name: The frame"), ("mass: 100 lb", "mass: 150 lb"))
    assert [p.changes[0].id for p in causes(found).parts] == ["mass.items.frame.mass"]


def test_too_many_changes_are_taken_together_and_it_is_said() -> None:
    found = between(
        ("mass: 100 lb, x: 60 in", "mass: 150 lb, x: 61 in"),
        ("mass: 200 lb, x: 90 in", "mass: 190 lb, x: 91 in"),
    )
    result = causes(found, most=2)
    assert [len(p.changes) for p in result.parts] == [2, 2]
    assert "those of one record were taken together" in result.together
    # 400/350 − 400/300 and 400/290 − 400/300, by hand
    effects = [s.effect for s in result.accounts[TOTAL].shares]
    assert sorted(effects) == pytest.approx(
        sorted([400 / 350 - 400 / 300, 400 / 290 - 400 / 300]), rel=1e-12
    )


# ----------------------------------------------------------------------------- property tests

NUMBERS = st.integers(50, 400)
ITEMS = st.dictionaries(st.sampled_from("abcdef"), st.tuples(NUMBERS, NUMBERS), min_size=1)


def car_of(items: dict[str, tuple[int, int]], limit: int) -> str:
    lines = "".join(
        f"    - {{id: {name}, name: {name}, mass: {m} lb, x: {x} in, z: 12 in}}\n"
        for name, (m, x) in items.items()
    )
    head, rest = CAR.split("  items:\n")
    tail = rest[rest.index("  conditions") :].replace("400", str(limit))
    return f"{head}  items:\n{lines}{tail}"


@settings(max_examples=60, deadline=None)
@given(ITEMS, ITEMS, NUMBERS, NUMBERS)
def test_all_changes_made_together_give_the_later_description(
    before: dict[str, tuple[int, int]], after: dict[str, tuple[int, int]], one: int, other: int
) -> None:
    earlier, later = side_of(car_of(before, one)), side_of(car_of(after, other))
    found = compare(earlier, later)
    # what came goes in before what went comes out: a list may not be emptied
    data = patched(earlier.data, [c.patch for c in found.changes if c.patch])
    build = assemble(Document(data)).sound
    assert build is not None
    assert build.fingerprint == later.evaluation.build.fingerprint


@settings(max_examples=25, deadline=None)
@given(ITEMS, ITEMS, NUMBERS, NUMBERS)
def test_shares_and_remainder_add_up_to_the_move(
    before: dict[str, tuple[int, int]], after: dict[str, tuple[int, int]], one: int, other: int
) -> None:
    found = compare(side_of(car_of(before, one)), side_of(car_of(after, other)))
    for account in causes(found).accounts.values():
        whole = sum(s.effect for s in account.shares) + account.remainder
        assert whole == pytest.approx(account.move.by, rel=1e-6, abs=1e-8)


@settings(max_examples=30, deadline=None)
@given(ITEMS, NUMBERS)
def test_a_description_does_not_differ_from_itself(
    items: dict[str, tuple[int, int]], limit: int
) -> None:
    one = side_of(car_of(items, limit))
    assert compare(one, one).nothing


def test_another_day_is_a_change_like_any_other() -> None:
    reading = read_folder(Path("example_build"))
    early, late = datetime.date(2026, 9, 1), datetime.date(2027, 4, 1)
    found = compare(side(reading, "early", early), side(reading, "late", late))
    assert found.changes == ()
    days = {p.changes[0].kind for p in causes(found).parts}
    assert days <= {"day"}
    for account in causes(found).accounts.values():
        assert account.remainder == 0.0


def test_what_was_done_between_the_days_is_looked_at_on_the_later_one() -> None:
    """On the earlier day a drill still lies ahead, and would count for nothing."""
    data = read_folder(Path("example_build")).data
    drills = ("drill_3", "drill_4")
    before = patched(data, [Patch("drop", ("egress", "drills", name)) for name in drills])
    sides = []
    for name, of, day in (("early", before, 5), ("late", data, 10)):
        made = assemble(Document(of)).sound
        assert made is not None
        when = datetime.date(2026, 11, day)
        found = evaluate(made, as_of=when, subjects=needed(["egress"]))
        sides.append(Side(name, of, found))
    accounts = causes(compare(*sides)).accounts
    shares = accounts["egress.check.upright.required_time"].shares
    assert "Egress: drill 3, added" in {share.part.label for share in shares}


def test_change_is_plain() -> None:
    change = Change("mass.items.a.mass", "value", "A: mass")
    assert change.section == "mass"
    assert not change.number_moved
    assert reading_of(CAR).data is not None
