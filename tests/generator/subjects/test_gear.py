"""The subject `gear`: protective times, lives, and the calendar file, against published rules and
another parser.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path

import pytest
import vobject

from buildspec.schema import load
from generator.downloads.gear import downloads
from generator.evaluation import evaluate, load_subjects
from generator.tables.gear import lives, ratings
from tests.generator.subjects.scenes import DAY, evaluated, read_text, rule, value

ALL = "[head, face, neck, torso, arms, hands, legs, feet]"
SEAMS = (
    "  seams: [{place: neck, closed: true}, {place: wrists, closed: true}, "
    "{place: ankles, closed: true}, {place: face, closed: true}]\n"
)
SEEN = SEAMS.replace("closed: true", "closed: true, checked: 2026-11-01")


def scene(items: str, *, seams: str = SEAMS, event: str = "2027-05-15", more: str = "") -> str:
    return f"""format: 1
vehicle: {{name: Wren}}
event: {{name: Trials, date: {event}}}
gear:
{more}  items:
{items}
{seams}"""


def whole(rating: str = "SFI 3.2A/5", extra: str = "") -> str:
    return f"    - {{id: suit, type: suit, rating: {rating}, covers: {ALL}{extra}}}"


@pytest.mark.parametrize(
    ("level", "seconds"), [(1, 3), (3, 7), (5, 9.5), (10, 19), (15, 30), (20, 40)]
)
def test_published_levels_give_their_seconds(tmp_path: Path, level: int, seconds: float) -> None:
    """SFI 3.2A: TPP 6, 14, 19, 38, 60, 80 over 2 (read at two sellers and in three explanations)."""
    found = evaluated(tmp_path, scene(whole(f"SFI 3.2A/{level}")), "gear")
    assert value(found, "gear.protective_time") == pytest.approx(seconds, rel=1e-9)


def test_layers_are_not_added_and_the_weakest_part_decides(tmp_path: Path) -> None:
    items = (
        whole("SFI 3.2A/20") + "\n    - {id: under, type: underwear, rating: FIA 8856-2018, "
        "covers: [torso]}"
    ).replace(ALL, "[head, face, neck, torso, arms, legs, feet]")
    gloves = "\n    - {id: gloves, type: gloves, protective_time: 11 s, covers: [hands]}"
    found = evaluated(tmp_path, scene(items + gloves, seams=SEEN), "gear")
    assert value(found, "gear.region.torso.time") == pytest.approx(40.0)
    assert value(found, "gear.protective_time") == pytest.approx(11.0)


def test_a_part_that_nothing_covers_has_no_time(tmp_path: Path) -> None:
    found = evaluated(tmp_path, scene(whole().replace(", feet", "")), "gear")
    assert value(found, "gear.protective_time") == 0.0
    assert any(i.id == "gear.bare" for i in found.open_items)


@pytest.mark.parametrize(
    ("place", "region"),
    [("neck", "neck"), ("wrists", "hands"), ("ankles", "feet"), ("face", "face")],
)
def test_an_open_seam_leaves_its_part_bare(tmp_path: Path, place: str, region: str) -> None:
    seams = SEAMS.replace(f"{place}, closed: true", f"{place}, closed: false")
    found = evaluated(tmp_path, scene(whole(), seams=seams), "gear")
    assert value(found, f"gear.region.{region}.time") == 0.0
    assert value(found, "gear.protective_time") == 0.0
    # Stoll's curve at the flux of the test: about half a second
    assert found.outcomes["gear"].steps[-1].value == pytest.approx(0.49, abs=0.01)
    assert found.outcomes["gear"].steps[-1].outside == ("flux",)


def test_seams_nobody_looked_at_are_asked_for(tmp_path: Path) -> None:
    found = evaluated(tmp_path, scene(whole(), seams=""), "gear")
    item = next(i for i in found.open_items if i.id == "gear.seams")
    assert "neck, wrists, ankles, face" in item.text


@pytest.mark.parametrize(
    ("made", "tested", "state", "last"),
    [
        ("2020-05-16", "2025-01-01", "conforms", "2027-05-16"),  # 7 years from its making
        (
            "2020-05-01",
            "2025-01-01",
            "departs",
            "2027-05-01",
        ),  # tested again, and too old for all that
        ("2021-01-01", "2022-05-16", "conforms", "2027-05-16"),  # 5 years from its test
        ("2021-01-01", "2022-05-01", "departs", "2027-05-01"),
        ("", "2025-01-01", "open", ""),
    ],
)
def test_a_fuel_bladder_that_was_tested_again_grows_no_younger(
    tmp_path: Path, made: str, tested: str, state: str, last: str
) -> None:
    """Recertified at 5 years, 7 years at most (a club's rules page, read)."""
    day = f", manufactured: {made}" if made else ""
    rule_ = '"Fuel bladder FT-3, test every 5 years"'
    item = f"    - {{id: cell, type: other, life: {rule_}, tested: {tested}{day}}}"
    found = rule(
        evaluated(tmp_path, scene(whole() + "\n" + item), "gear"), "gear.requirement.life.cell"
    )
    assert (found.state, last in found.reason) == (state, True)


@pytest.mark.parametrize(
    ("piece", "life", "state"),
    [
        ("belts", "FIA 8856-2018, 10 years", "open"),
        ("head and neck restraint", "FIA 8856-2018, 10 years", "open"),
        ("gloves", "FIA 8856-2018, 10 years", "conforms"),
        ("suit", "Window net, 2 years", "open"),
        ("window net", "Window net, 2 years", "conforms"),
    ],
)
def test_a_rule_for_another_kind_of_piece_proves_nothing(
    tmp_path: Path, piece: str, life: str, state: str
) -> None:
    item = f'    - {{id: one, type: {piece}, manufactured: 2026-01-01, life: "{life}"}}'
    found = rule(
        evaluated(tmp_path, scene(whole() + "\n" + item), "gear"), "gear.requirement.life.one"
    )
    assert found.state == state
    assert (life in found.reason) is (state == "open")


def test_a_rating_of_suits_is_none_of_a_helmet(tmp_path: Path) -> None:
    text = scene(whole("SFI 3.2A/20").replace("type: suit", "type: helmet"))
    time = evaluated(tmp_path, text, "gear").outcomes["gear"].by_id["gear.protective_time"]
    assert time.value is None
    assert "SFI 3.2A/20 is a rating of the type suit" in time.absent


@pytest.mark.parametrize(("made", "time"), [("", None), (", manufactured: 2025-01-01", 9.5)])
def test_a_suit_whose_making_is_not_dated_gives_no_time_by_its_rating(
    tmp_path: Path, made: str, time: float | None
) -> None:
    text = scene(whole(extra=f', life: "FIA 8856-2018, 10 years"{made}'))
    known = evaluated(tmp_path, text, "gear").outcomes["gear"].by_id["gear.protective_time"]
    assert known.value == (None if time is None else pytest.approx(time))
    assert ("not stated" in known.absent) is (time is None)


LOOKED = (
    "  seams: [{{place: wrists, closed: true, checked: {}}}, "
    "{{place: ankles, closed: true, checked: 2026-11-01}}]\n"
)
PIECES = """    - {id: suit, type: suit, protective_time: 20 s, covers: [neck, torso, arms, legs]}
    - {id: sock, type: head sock, protective_time: 20 s, covers: [head, face, neck]}
    - {id: gloves, type: gloves, protective_time: 20 s, covers: [hands], manufactured: MADE}
    - {id: boots, type: shoes, protective_time: 20 s, covers: [feet]}"""


@pytest.mark.parametrize(
    ("seams", "lacking"),
    [
        ("", ["hands", "feet"]),  # one piece goes over the neck, another over the face
        ("  seams: [{place: wrists, closed: true, checked: 2026-11-01}]\n", ["feet"]),
        (LOOKED.format("2026-11-01"), []),
        (LOOKED.format("2027-01-01"), ["hands"]),  # ahead of today
        (LOOKED.format("2025-11-25"), []),  # a year ago to the day
        (LOOKED.format("2025-11-24"), ["hands"]),  # longer
        (LOOKED.format("2026-11-01").replace("2026-11-01", "2025-12-31", 1), ["hands"]),
        (LOOKED.replace(", checked: {}", "").format(), ["hands"]),  # on no stated day
    ],
)
def test_a_seam_nobody_looked_at_leaves_the_time_open_where_two_pieces_meet(
    tmp_path: Path, seams: str, lacking: list[str]
) -> None:
    made = "2026-01-01" if "2025-12-31" in seams else "2025-01-01"
    pieces = PIECES.replace("MADE", made)
    known = evaluated(tmp_path, scene(pieces, seams=seams), "gear").outcomes["gear"].by_id
    times = {n: known[f"gear.region.{n}.time"].value for n in ("neck", "face", "hands", "feet")}
    assert [name for name, time in times.items() if time is None] == lacking
    assert known["gear.protective_time"].value == (None if lacking else 20.0)


def test_a_piece_without_a_rating_leaves_the_time_open(tmp_path: Path) -> None:
    items = whole().replace(", face", "") + "\n    - {id: helmet, type: helmet, covers: [face]}"
    found = (
        evaluated(tmp_path, scene(items, seams=SEEN), "gear")
        .outcomes["gear"]
        .by_id["gear.protective_time"]
    )
    assert found.value is None
    assert "helmet" in found.absent


@pytest.mark.parametrize(
    ("life", "made", "event", "state"),
    [
        # label of September 2008, valid to September 2013 (a sanctioning body's notice, read)
        ("SFI 38.1, 5 years to the month", "2008-09-01", "2013-09-30", "conforms"),
        ("SFI 38.1, 5 years to the month", "2008-09-01", "2013-10-01", "departs"),
        # made any day of 2015, not valid after 2020 (a seller's explanation, read)
        ("FIA 8853/98, end of the 5th year", "2015-01-02", "2020-12-31", "conforms"),
        ("FIA 8853/98, end of the 5th year", "2015-12-31", "2021-01-01", "departs"),
        # 31 December of the second year after manufacture (a club, 2003, read), or two years to the
        # month (a forum, read)
        ("SFI 16.1, end of the 2nd year", "2024-06-01", "2026-12-31", "conforms"),
        ("SFI 16.1, 2 years to the month", "2024-06-01", "2026-07-01", "departs"),
        ("Helmet Snell SA2015, end of 2026", "2016-01-01", "2026-12-31", "conforms"),
        ("Helmet Snell SA2015, end of 2026", "2016-01-01", "2027-01-01", "departs"),
    ],
)
def test_lives_run_out_as_published(
    tmp_path: Path, life: str, made: str, event: str, state: str
) -> None:
    text = scene(whole(extra=f', manufactured: {made}, life: "{life}"'), event=event)
    text = text.replace("type: suit", f"type: {lives()[life].of}")
    found = evaluated(tmp_path, text, "gear", day=datetime.date.fromisoformat(event))
    assert rule(found, "gear.requirement.life.suit").state == state


@pytest.mark.parametrize(
    ("today", "state", "against"),
    [
        ("2026-10-01", "conforms", "the event on 2026-10-15"),
        ("2026-10-20", "conforms", "since the event is over"),  # its last day still counts
        ("2026-11-25", "departs", "since the event is over"),
    ],
)
def test_once_the_event_is_over_today_decides(
    tmp_path: Path, today: str, state: str, against: str
) -> None:
    """What ran out on 20 October, after an event on the 15th, is not valid in November."""
    text = scene(whole(extra=", expires: 2026-10-20"), event="2026-10-15")
    found = evaluated(tmp_path, text, "gear", day=datetime.date.fromisoformat(today))
    said = rule(found, "gear.requirement.life.suit")
    assert (said.state, against in said.reason) == (state, True)


@pytest.mark.parametrize(
    ("last_day", "expires", "state"),
    [
        ("", "2027-05-15", "conforms"),
        (", last_day: 2027-05-17", "2027-05-15", "departs"),  # runs out on the first of three days
        (", last_day: 2027-05-17", "2027-05-17", "conforms"),
    ],
)
def test_a_meeting_of_several_days_is_held_against_its_last(
    tmp_path: Path, last_day: str, expires: str, state: str
) -> None:
    text = scene(whole(extra=f", expires: {expires}"), event=f"2027-05-15{last_day}")
    assert rule(evaluated(tmp_path, text, "gear"), "gear.requirement.life.suit").state == state


RATED = 9.5
"""Seconds of SFI 3.2A/5: TPP 19 over 2, as above."""
RULES = """rules:
  sheets:
    - id: ours
      title: Ours
      groups: [{id: gear, title: Gear}]
      requirements:
        - id: suit
          group: gear
          statement: The suit is in force.
          follows: [FOLLOWED]
          waiver: {authority: Club, reference: W-1, date: 2026-10-01, scope: suit}
"""


@pytest.mark.parametrize(
    ("expires", "followed", "time"),
    [
        ("2027-05-15", "", RATED),  # in force on the day of the event
        ("2027-05-14", "", None),
        ("2027-05-14", "gear.requirement.life.suit", RATED),  # waived, and said so
        ("2027-05-14", "gear.requirement.life", None),  # a waiver of all is one of none
    ],
)
def test_a_piece_whose_life_is_over_gives_no_time_unless_it_is_waived(
    tmp_path: Path, expires: str, followed: str, time: float | None
) -> None:
    """Nobody vouches for the rating of a suit that has run out: the exit's check is then open."""
    more = (
        "egress: {scenarios: [{id: upright, title: Upright}], "
        "activities: [{id: out, text: Out, duration: 5 s}]}\n"
        "clock: {detection: 2 s, stopping: 0 s, reaction: 1 s}\n"
    )
    rules = RULES.replace("FOLLOWED", followed) if followed else ""
    text = scene(whole(extra=f", expires: {expires}")) + more + rules
    found = evaluated(tmp_path, text, "gear", "egress", "clock")
    check = next(c for c in found.checks if c.id == "clock.check.upright")
    assert (check.capacity.value, check.verdict == "open") == (time, time is None)
    if time is None:
        assert "its life ends on 2027-05-14, before the event on 2027-05-15" in check.reason
    waived = any("it counts by a waiver" in r.title for r in found.outcomes["gear"].results)
    assert waived == (bool(followed) and time is not None)


def test_the_teams_own_rule_replaces_the_tables(tmp_path: Path) -> None:
    own = (
        ', manufactured: 2025-05-15, life: "FIA 8856-2018, 10 years", '
        "own_life: {months: 24, source: rules}"
    )
    assert (
        rule(
            evaluated(tmp_path, scene(whole(extra=own)), "gear"), "gear.requirement.life.suit"
        ).state
        == "conforms"
    )
    day_less = own.replace("05-15", "05-14")
    assert (
        rule(
            evaluated(tmp_path, scene(whole(extra=day_less)), "gear"), "gear.requirement.life.suit"
        ).state
        == "departs"
    )


def test_a_date_in_the_future_and_a_missing_one_are_open(tmp_path: Path) -> None:
    future = scene(whole(extra=", manufactured: 2026-12-01, own_life: {months: 24, source: rules}"))
    late = rule(evaluated(tmp_path, future, "gear"), "gear.requirement.life.suit")
    assert (late.state, "future" in late.reason) == ("open", True)
    assert (
        rule(evaluated(tmp_path, scene(whole()), "gear"), "gear.requirement.life.suit").state
        == "open"
    )


@pytest.mark.parametrize(
    ("printed", "made", "state"),
    [
        ("2035-01-01", "", "open"),  # the rule's 60 months may have ended years ago
        ("2027-05-14", "", "departs"),  # the label alone settles it: the event is a day later
        ("2035-01-01", ", manufactured: 2022-05-15", "conforms"),  # 60 months: the event's day
        ("2035-01-01", ", manufactured: 2022-05-14", "departs"),
    ],
)
def test_a_printed_day_does_not_hide_a_rule_whose_start_is_missing(
    tmp_path: Path, printed: str, made: str, state: str
) -> None:
    own = f", expires: {printed}{made}, own_life: {{months: 60, source: rules}}"
    found = evaluated(tmp_path, scene(whole(extra=own)), "gear")
    said = rule(found, "gear.requirement.life.suit")
    assert said.state == state
    assert ("which is not stated" in said.reason) == (state == "open")


def test_what_lasts_to_the_event_and_not_through_the_season_is_open(tmp_path: Path) -> None:
    text = scene(whole(extra=", expires: 2027-08-01"), more="  season_end: 2027-10-31\n")
    found = evaluated(tmp_path, text, "gear")
    assert any(i.id.startswith("gear.season") for i in found.open_items)


def test_the_calendar_opens_in_another_parser(tmp_path: Path) -> None:
    """vobject, which shares no code with what writes the file. A long name with a comma must
    survive folding.
    """
    name = "Suit, two layers, " + "with a very long name " * 4 + "é"
    text = scene(whole(extra=f', name: "{name}", expires: 2027-08-01'))
    found = evaluated(tmp_path, text, "gear")
    made = downloads(found.outcomes["gear"], found.build, DAY)["gear.ics"]
    events = list(vobject.readOne(made.decode()).vevent_list)
    assert [e.dtstart.value for e in events] == [datetime.date(2027, 8, 1)]
    assert events[0].summary.value == f"{name.strip()}: last valid day"
    assert events[0].valarm.trigger.value == datetime.timedelta(days=-60)
    assert made == downloads(found.outcomes["gear"], found.build, DAY)["gear.ics"]
    assert all(len(line) <= 75 for line in made.split(b"\r\n"))  # RFC 5545, 3.1


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (("SFI 3.2A/5", "SFI 3.2A/7"), "value.choice"),
        (("covers: [head", "covers: [tail"), "value.choice"),
        ((", covers", ", manufactured: 12/2024, covers"), "value.date"),
        ((", covers", ", manufactured: 2024-02-30, covers"), "value.date"),
        ((", covers", ", manufactured: 2024-05-02, tested: 2024-05-01, covers"), "gear.dates"),
    ],
)
def test_mistakes_are_named_at_their_line(
    tmp_path: Path, change: tuple[str, str], code: str
) -> None:
    text = scene(whole()).replace(*change)
    build, problems = read_text(tmp_path, text)
    assert build is None
    found = next(p for p in problems if p.code == code)
    assert "id: suit" in text.splitlines()[found.place.line - 1]


@pytest.mark.parametrize("date", ["2025-03-01", '"2025-03-01"'])
def test_dates_are_read_quoted_or_not(tmp_path: Path, date: str) -> None:
    build, problems = read_text(tmp_path, scene(whole(extra=f", manufactured: {date}")))
    assert build is not None
    assert problems == ()


def test_the_schema_offers_exactly_the_tables_rows() -> None:
    item = load("gear")["properties"]["items"]["items"]["properties"]
    assert item["rating"]["enum"] == list(ratings())
    assert item["life"]["enum"] == list(lives())
    assert all(x.source for x in lives().values())


@dataclass(frozen=True)
class Fact:
    """What the reader says of a file, as far as it matters here."""

    fault: str


def test_a_photo_that_is_not_there_is_asked_for(tmp_path: Path) -> None:
    """The reader says what it found of each file; here one is sound and one is missing."""
    text = scene(whole(extra=", photo: evidence/suit.jpg"))
    build, _ = read_text(tmp_path, text)
    assert build is not None
    asked = {}
    for fault in ("", "is not in the build folder"):
        object.__setattr__(build, "files", {"evidence/suit.jpg": Fact(fault)})
        found = evaluate(build, as_of=DAY, subjects=load_subjects(("gear",)))
        asked[fault] = {i.id: i.text for i in found.open_items}
    assert "gear.photo.suit" not in asked[""]
    said = asked["is not in the build folder"]["gear.photo.suit"]
    assert said.endswith("evidence/suit.jpg: is not in the build folder")


@pytest.mark.parametrize("word", ["manufactured", "tested"])
def test_what_was_done_after_the_event_is_a_mistake(tmp_path: Path, word: str) -> None:
    """The day of the event itself is none."""
    text = scene(whole(extra=f", {word}: 2027-05-15"))
    build, _ = read_text(tmp_path, text)
    assert build is not None
    build, problems = read_text(
        tmp_path, text.replace(f"{word}: 2027-05-15", f"{word}: 2027-05-16")
    )
    assert build is None
    assert [p.code for p in problems] == ["gear.dates"]


def test_a_seam_checked_ahead_of_today_is_open(tmp_path: Path) -> None:
    """The day of the evaluation is 2026-11-25; no clock is read."""
    for day, there in (("2026-11-25", False), ("2026-11-26", True)):
        seams = f"  seams: [{{place: neck, closed: true, checked: {day}}}]\n"
        found = evaluated(tmp_path, scene(whole(), seams=seams), "gear")
        assert ("gear.ahead.seams_0" in {i.id for i in found.open_items}) is there
