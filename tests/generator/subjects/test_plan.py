"""The plan of a small build, every day of it worked by hand in `work_builds`."""

from __future__ import annotations

import csv
import datetime
import io
import json
import re
from pathlib import Path

import pytest

from generator.charts.plan import charts, hours_left
from generator.compose import OPEN_KINDS, compose
from generator.evaluation import Evaluation, evaluate, load_subjects
from generator.openitems import COLUMNS, GROUPS, OVERDUE, as_csv, by_owner, grouped
from generator.report import report
from generator.results import as_data
from generator.subjects.plan_records import Detail, Planned
from generator.vocabulary import OpenItem
from tests.generator.subjects.work_builds import DAY, SUBJECTS, TEXT, build_in, evaluated


@pytest.fixture
def plan(tmp_path: Path) -> Evaluation:
    return evaluated(tmp_path / "car")


def detail(of: Evaluation) -> Detail:
    found = of.outcomes["plan"].detail
    assert isinstance(found, Detail)
    return found


def planned(of: Evaluation, name: str) -> Planned:
    return next(p for p in detail(of).planned if p.task.step.id == name)


def items(of: Evaluation, begin: str) -> list[OpenItem]:
    return [i for i in of.open_items if i.id.startswith(begin)]


def day(month: int, number: int) -> datetime.date:
    return datetime.date(2026, month, number)


@pytest.mark.parametrize(
    ("name", "start", "finish"),
    [
        ("cut", day(11, 25), day(11, 26)),
        ("weld", day(11, 27), day(11, 29)),
        ("wire", day(11, 25), day(11, 28)),
        ("fit", day(12, 5), day(12, 5)),
    ],
)
def test_each_step_has_the_days_worked_by_hand(
    plan: Evaluation, name: str, start: datetime.date, finish: datetime.date
) -> None:
    found = planned(plan, name)
    assert (found.start, found.finish, found.undated) == (start, finish, "")


def test_the_end_is_set_against_the_event(plan: Evaluation) -> None:
    known = detail(plan)
    assert (known.ready, known.at_least, known.float_days) == (day(12, 5), day(12, 5), 14.0)
    result = plan.outcomes["plan"].by_id
    assert result["plan.float"].value == pytest.approx(14.0 * 86400.0)
    assert result["plan.hours_left"].value == pytest.approx(15.0 * 3600.0)
    assert result["plan.hours"].value == pytest.approx(16.0 * 3600.0)


def test_what_sets_the_end_is_the_order(plan: Evaluation) -> None:
    assert detail(plan).chain == ("belts", "fit")
    assert planned(plan, "fit").why_then == "after “Belts”"
    assert planned(plan, "weld").why_then == "after “Cut the tabs”"
    assert planned(plan, "cut").why_then == ""


def test_slack_is_that_of_the_network_to_the_event(plan: Evaluation) -> None:
    """fit: 25 − 11 = 14 days; weld must end by day 24: 24 − 5 = 19; so must cut by 21: 21 − 2 = 19;
    wire by 25: 25 − 4 = 21.
    """
    found = {p.task.step.id: p.slack for p in detail(plan).planned}
    assert found == pytest.approx({"fit": 14.0, "weld": 19.0, "cut": 19.0, "wire": 21.0})


def test_what_waits_behind_a_step_is_counted_with_its_hours(plan: Evaluation) -> None:
    assert (planned(plan, "cut").behind, planned(plan, "cut").hours_behind) == (2, 5.0)
    assert (planned(plan, "wire").behind, planned(plan, "wire").hours_behind) == (0, 0.0)


def test_the_week_says_who_does_what(plan: Evaluation) -> None:
    week = detail(plan).week
    assert [(e.planned.task.step.id, e.hours) for e in week["Kit Ostrander"]] == [
        ("cut", pytest.approx(2.0)),
        ("weld", pytest.approx(3.0)),
    ]
    assert [(e.planned.task.step.id, e.hours) for e in week["Lee Byrne"]] == [
        ("wire", pytest.approx(8.0))
    ]
    kit, lee = detail(plan).people
    assert (kit.hours_this_week, lee.hours_this_week) == (pytest.approx(5.0), pytest.approx(8.0))
    assert (kit.free, lee.free, lee.hours_left) == (day(11, 29), day(12, 5), 10.0)


def test_progress_by_line_and_by_group(plan: Evaluation) -> None:
    known = detail(plan)
    belts, loop = known.progress["own.belts"], known.progress["own.loop"]
    assert (belts.done, belts.by) == (pytest.approx(1 / 8), "hours")
    assert (loop.done, loop.evidence_missing) == (0.0, ("pull", "card"))
    cage, wires = known.groups
    assert (cage.title, cage.steps_open, cage.hours_left, cage.ready) == (
        "Cage",
        3,
        7.0,
        day(12, 5),
    )
    assert (wires.hours, wires.done, wires.complete) == (8.0, 0.0, 0)


def test_a_step_takes_the_day_of_its_line_where_it_has_none(plan: Evaluation) -> None:
    assert planned(plan, "fit").task.due == day(12, 4)
    assert planned(plan, "fit").late
    assert not planned(plan, "weld").late
    (item,) = items(plan, "plan.step.fit")
    assert (item.kind, item.owner, item.hours, item.due) == ("date", "Lee Byrne", 2.0, day(12, 4))
    assert item.closes == (
        "do it once there is: Weld the tabs, Belts; by the plan on 2026-12-05, after the day it is due"
    )


def test_every_open_step_and_late_order_is_an_open_item(plan: Evaluation) -> None:
    assert {i.id for i in items(plan, "plan.step.")} == {
        f"plan.step.{n}.open" for n in ("cut", "weld", "fit", "wire")
    }
    assert items(plan, "plan.step.weld")[0].closes == (
        "do it once there is: Cut the tabs; by the plan from 2026-11-27 to 2026-11-29"
    )
    (tires,) = items(plan, "plan.order.")
    assert (tires.id, tires.due) == ("plan.order.tires.late", day(11, 20))
    assert plan.open_items[0] is tires, "what is overdue comes first"
    assert items(plan, "plan.late") == []


def test_an_event_too_soon_is_said_with_what_would_help(tmp_path: Path) -> None:
    soon = evaluated(tmp_path / "car", TEXT.replace("2026-12-20", "2026-12-05"))
    assert detail(soon).float_days == pytest.approx(-1.0)
    assert "15 h of work left; by the plan 1 day too late for the event" in report(soon)
    (late,) = items(soon, "plan.late")
    assert (
        late.text == "By the plan the work ends on 2026-12-05, and the event begins on 2026-12-05"
    )
    assert late.closes.endswith("Belts, then Fit the belts")


def test_the_last_evening_before_the_event_is_in_time(tmp_path: Path) -> None:
    just = evaluated(tmp_path / "car", TEXT.replace("2026-12-20", "2026-12-06"))
    assert detail(just).float_days == pytest.approx(0.0)
    assert items(just, "plan.late") == []


def test_a_step_that_nobody_does_leaves_the_end_unknown(tmp_path: Path) -> None:
    text = TEXT.replace("hours: 2, owner: kit}", "hours: 2}")
    left = evaluated(tmp_path / "car", text)
    known = detail(left)
    assert (known.ready, known.at_least) == (None, day(11, 28))
    assert planned(left, "cut").undated == "nobody is named to do it"
    assert planned(left, "fit").undated == "it waits for “Weld the tabs”, which has no days"
    assert left.outcomes["plan"].by_id["plan.float"].value is None
    assert left.outcomes["plan"].by_id["plan.float"].absent == "3 steps have no days"
    assert (
        "has no days in the plan, because nobody is named" in items(left, "plan.step.cut")[0].closes
    )


def test_without_a_day_of_the_event_that_is_asked_for(tmp_path: Path) -> None:
    text = TEXT.replace(", date: 2026-12-20", "")
    dateless = evaluated(tmp_path / "car", text)
    assert [i.kind for i in items(dateless, "plan.event")] == ["missing"]
    assert {p.slack for p in detail(dateless).planned} == {None}


def test_a_month_later_nothing_of_it_has_passed_by_itself(tmp_path: Path) -> None:
    """The clock alone closes nothing: an order past its day is overdue, and holds until it is there."""
    build = build_in(tmp_path / "car")
    then = evaluate(build, as_of=day(12, 15), subjects=load_subjects(SUBJECTS))
    assert {i.id for i in items(then, "plan.order.")} == {
        "plan.order.tires.late",
        "plan.order.belts.late",
    }
    assert detail(then).hours_left == 15.0
    assert planned(then, "fit").late


def test_the_numbers_are_in_the_results(plan: Evaluation) -> None:
    data = as_data(plan)
    assert data["values"]["plan.progress.own.belts"]["value"] == pytest.approx(1 / 8)
    wire = next(i for i in data["open_items"] if i["id"] == "plan.step.wire.open")
    assert (wire["owner"], wire["hours"], wire["due"]) == ("Lee Byrne", 8.0, "2026-12-01")


def test_the_report_says_who_how_long_and_by_when(plan: Evaluation) -> None:
    belts = r"\n  Fit the belts \(Belts\).*\n {6}do it once there is: Weld the tabs, Belts; "
    assert re.search(belts, report(plan))
    assert "(Lee Byrne, 2 h, due 2026-12-04)" in report(plan)
    assert "\n15 h of work left; by the plan 14 days to spare before the event\n" in report(plan)
    assert len(re.findall(r"\n  \S", report(plan))) <= 11, "ten items and how many more"


# ----------------------------------------------------------------------------- CSV and JSON


def rows(of: Evaluation) -> list[dict[str, str]]:
    """The exported list, read by the standard library as anyone's spreadsheet would."""
    made = as_csv(of, OPEN_KINDS, lambda item: item.text)
    return list(csv.DictReader(io.StringIO(made.decode("utf-8-sig"), newline="")))


def test_the_list_survives_another_reader(plan: Evaluation) -> None:
    found = rows(plan)
    assert tuple(found[0]) == COLUMNS
    assert [r["id"] for r in found] == [i.id for i in plan.open_items]
    by_id = {r["id"]: r for r in found}
    for item in plan.open_items:
        row = by_id[item.id]
        assert (row["what is open"], row["what would close it"]) == (item.text, item.closes)
        assert (float(row["hours"]) if row["hours"] else None) == item.hours
        assert row["due"] == (item.due.isoformat() if item.due else "")


@pytest.mark.parametrize("begin", ["=1+1", "+1", "-1", "@SUM(A1)"])
def test_no_text_of_the_list_is_a_formula(tmp_path: Path, begin: str) -> None:
    text = TEXT.replace("title: Cut the tabs", f'title: "{begin}, \\"quoted\\"; cut"')
    found = next(
        r for r in rows(evaluated(tmp_path / "car", text)) if r["id"] == "plan.step.cut.open"
    )
    assert found["what is open"] == f'\'{begin}, "quoted"; cut (Belts)'


def test_json_and_csv_lie_beside_the_site(plan: Evaluation, tmp_path: Path) -> None:
    files = compose(plan, folder=tmp_path / "car", subjects=load_subjects(SUBJECTS)).files
    data = json.loads(files["docs/open-items.json"])
    assert [i["id"] for i in data["open_items"]] == [i.id for i in plan.open_items]
    assert data["as_of"] == DAY.isoformat()
    assert files["docs/open-items.csv"].startswith(b"\xef\xbb\xbfid,kind,")


def test_groups_leave_none_out_and_begin_with_what_is_overdue(plan: Evaluation) -> None:
    groups = grouped(plan.open_items, plan.as_of)
    assert sorted(i.id for g in groups for i in g.items) == sorted(i.id for i in plan.open_items)
    assert groups[0].title == "Overdue"
    assert {i.due < plan.as_of for i in groups[0].items if i.due} == {True}
    for group in groups[1:]:
        assert {i.kind for i in group.items} == {group.slug}
        assert all(i.due is None or i.due >= plan.as_of for i in group.items)
        order = [plan.open_items.index(i) for i in group.items]
        assert order == sorted(order), "within a group the order stays"
        assert group.due == min((i.due for i in group.items if i.due), default=None)


def test_departures_come_before_shortfalls_whatever_these_hold_up() -> None:
    """A departure ends an inspection by itself; a shortfall that holds up forty checks may not."""
    some = [
        OpenItem(kind, "toy", kind, "", "", blocks, "")
        for kind, blocks in (("assumed", ("a", "b")), ("short", ("c",)), ("departs", ()))
    ]
    assert [g.slug for g in grouped(tuple(some), DAY)] == ["departs", "short", "assumed"]


def test_every_kind_of_item_has_a_heading() -> None:
    assert set(GROUPS) == {OVERDUE, *OPEN_KINDS}


def test_items_by_owner_leave_none_out(plan: Evaluation) -> None:
    owners = by_owner(plan.open_items)
    assert [o.name for o in owners] == ["Kit Ostrander", "Lee Byrne", "nobody named"]
    assert sum(len(o.items) for o in owners) == len(plan.open_items)
    assert owners[1].hours == pytest.approx(10.0)


# ----------------------------------------------------------------------------- charts


def test_the_charts_say_what_they_show(plan: Evaluation) -> None:
    gantt, hours = charts(plan.outcomes["plan"], plan.build)
    assert gantt.finding == (
        "4 steps; the last ends on 2026-12-05. The event begins on 2026-12-20, 14 days after that."
    )
    assert "15 of 16 hours are left on 2026-11-25" in hours.finding
    for name in ("Weld the tabs, Kit Ostrander", "Belts, expected 2026-12-04", "2026-12-20"):
        assert name in gantt.svg


def test_many_steps_are_drawn_on_several_sheets(tmp_path: Path) -> None:
    more = "".join(
        f"            - {{id: s{n}, title: Step {n}, hours: 1, owner: kit}}\n" for n in range(44)
    )
    text = TEXT.replace("            - {id: cut,", f"{more}            - {{id: cut,")
    drawn = charts(
        evaluated(tmp_path / "car", text).outcomes["plan"], evaluated(tmp_path / "car").build
    )
    assert [c.id for c in drawn] == [
        "plan.gantt",
        *(f"plan.gantt.{n}" for n in (2, 3, 4)),
        "plan.hours",
    ]


def test_hours_of_earlier_states_can_be_drawn_before_today(plan: Evaluation) -> None:
    earlier = ((day(10, 1), 40.0), (day(11, 1), 22.0))
    drawn = hours_left(detail(plan), earlier)
    assert "was so" in drawn.svg
    assert "was so" not in hours_left(detail(plan)).svg


@pytest.mark.parametrize(
    "why", ["not_applicable: no switch is carried", "applies: [{has: fire.bottles}]"]
)
def test_work_on_a_line_that_does_not_apply_is_not_planned(tmp_path: Path, why: str) -> None:
    text = TEXT.replace("        - id: switch\n", f"        - id: switch\n          {why}\n")
    known = detail(evaluated(tmp_path / "car", text))
    assert known.hours_left == 7.0
    assert "wire" not in {p.task.step.id for p in known.planned}
    assert known.progress["own.switch"].complete


HOSTILE = "<script>alert(1)</script> [x](javascript:alert(1)) `c` {{ 7*7 }} $x$"


def test_hostile_words_are_words_on_page_chart_and_list(tmp_path: Path) -> None:
    said = json.dumps(HOSTILE)
    text = TEXT
    for plain in (
        "Weld the tabs",
        "Kit Ostrander",
        "order 12",
        "The loop held.",
    ):
        text = text.replace(f"title: {plain}", f"title: {said}").replace(
            f"name: {plain}", f"name: {said}"
        )
        text = text.replace(f"source: {plain}", f"source: {said}").replace(
            f"proves: {plain}", f"proves: {said}"
        )
    text = text.replace("{id: belts, title: Belts,", f"{{id: belts, title: {said},")
    assert text.count("alert(1)") >= 5
    found = evaluated(tmp_path / "car", text)
    files = compose(found, folder=tmp_path / "car", subjects=load_subjects(SUBJECTS)).files
    for name, data in files.items():
        if name.endswith((".md", ".html")):
            page = data.decode().replace('<script src="assets/filter.js" defer></script>', "")
            assert "<script" not in page, name
            assert 'href="javascript' not in page, name
    assert rows(found)[0]


def test_a_sheet_without_steps_plans_nothing(tmp_path: Path) -> None:
    head, _, rest = TEXT.partition("          steps:\n            - {id: plan")
    assert rest
    bare = head + "  evidence: []\n"
    found = evaluated(tmp_path / "car", bare)
    known = detail(found)
    assert (known.planned, known.done, known.float_days) == ((), (), 25.0)
    assert charts(found.outcomes["plan"], found.build) == ()
    files = compose(found, folder=tmp_path / "car", subjects=load_subjects(SUBJECTS)).files
    assert "list no steps yet" in files["docs/plan.md"].decode()
