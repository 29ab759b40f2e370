"""Requirements: every state by its proof, reckoned by hand; margins beside decide nothing."""

from __future__ import annotations

import dataclasses
import datetime
import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildspec.dotted import read_bound
from buildspec.sections.rules import Rules
from generator.checks import make_check
from generator.cli import main
from generator.evaluation import Evaluation, evaluate, load_subjects
from generator.overview import overview
from generator.report import report
from generator.results import schema
from generator.rules.comparing import less, same
from generator.rules.detail import Detail
from generator.subjects.inspection import Papers
from generator.subjects.rules import SUBJECT as RULES
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Conformance, Outcome, Requirement, Result
from tests.generator.subjects.scenes import DAY, read_text, rule

HEAD = """format: 1
vehicle: {{name: Wren, class_record: {record}, energy_source: Gasoline, wheel_count: 3}}
event: {{name: Trials, date: 2027-05-15}}
wheels:
  positions:
    - {{id: front_left, x: 0 in, y: -20 in, radius: 3 in, driven: false}}
    - {{id: front_right, x: 0 in, y: 20 in, radius: {{value: 3 in, plus_minus: 0.2 in, basis: measured}}}}
    - {{id: rear, x: 100 in, y: 0 in, radius: {{value: 3 in, basis: rated}}, driven: true}}
rules:
  equipment:
    - {{id: blower, title: supercharger, fitted: false}}
    - {{id: chute, title: parachute, fitted: true}}
    - {{id: wing}}
  people: [{{id: osei, name: L. Osei}}]
  sheets:
    - id: own
      title: Own sheet
      edition: "2027"
      groups: [{{id: g, title: Group}}]
      inspectors: [{{above: 0 mph, count: 1}}, {{above: 200 mph, count: 2}}, {{above: 250 mph, count: 3}}]
      requirements:
"""


def _other(strength: float = 8.0) -> Subject:
    """A subject beside: a result of 30 kN, one without a value, a check, and a prescription."""

    def made(build: object, given: Given) -> Outcome:
        load = Result("rotating.load", "Strap load", 30_000.0, "force", 500.0)
        lost = Result("rotating.lost", "Lost load", None, "force", absent="nobody weighed it")
        held = Result("rotating.held", "Strap", 30_000.0 * strength, "force")
        rules = tuple(
            Requirement(f"rotating.requirement.{n}", "rotating", n, None, None, state, "so")
            for n, state in _STATES.items()
        )
        check = make_check("rotating.check.strap", "Strap", demand=load, capacity=held)
        return Outcome("rotating", results=(load, lost), checks=(check,), requirements=rules)

    return Subject("rotating", "Rotating", "a stand-in", made)


_STATES: dict[str, Conformance] = {
    "one.good": "conforms",
    "one.bad": "departs",
    "two.good": "conforms",
    "two.unknown": "open",
    "three.good": "conforms",
    "three.elsewhere": "not applicable",
    "four.elsewhere": "not applicable",
    "five.good": "conforms",
    "fifty.bad": "departs",
    "fiveish": "departs",
}


@dataclasses.dataclass(frozen=True)
class Work:
    """How far the work on a line is, as a plan would say."""

    done: float
    steps_open: tuple[str, ...] = ()
    evidence_missing: tuple[str, ...] = ()
    evidence_changed: tuple[str, ...] = ()


def _plan(progress: dict[str, Work]) -> Subject:
    detail = type("Plan", (), {"progress": progress})()
    return Subject("plan", "Plan", "a stand-in", lambda b, g: Outcome("plan", detail=detail))


def judged(
    folder: Path,
    *lines: str,
    record: str = "208.6 mph",
    day: datetime.date = DAY,
    beside: tuple[Subject, ...] = (),
    more: str = "",
) -> Evaluation:
    """The evaluation of lines `x0`, `x1`, ... each written as what stands behind its statement."""
    written = "".join(
        f"        - {{id: x{n}, group: g, statement: Line {n}., {line}}}\n"
        for n, line in enumerate(lines)
    )
    build, problems = read_text(folder, HEAD.format(record=record) + written + more)
    assert [p for p in problems if p.severity == "error"] == []
    assert build is not None
    inspection = load_subjects(("inspection",))
    return evaluate(build, as_of=day, subjects=(*(beside or (_other(),)), RULES, *inspection))


def states(found: Evaluation) -> list[str]:
    return [r.state for r in found.requirements if r.subject == "rules"]


def reason(found: Evaluation, number: int = 0) -> str:
    return rule(found, f"rules.requirement.own.x{number}").reason


# ------------------------------------------------------------------------------- comparisons


@pytest.mark.parametrize(
    ("bound", "state"),
    [
        # One inch is 25.4 mm exactly (NIST SP 811, B.8), so 3 in is 76.2 mm: at the bound it conforms.
        ("least: 76.2 mm", "conforms"),
        ("most: 76.2 mm", "conforms"),
        ("equal: 76.2 mm", "conforms"),
        ("equal: 76.21 mm", "departs"),
        ("least: 76.21 mm", "departs"),
        ("most: 76.19 mm", "departs"),
        ("least: 75 mm, most: 77 mm", "conforms"),
        ("within: [2.9 in, 3 in]", "conforms"),
        ("within: [3.1 in, 4 in]", "departs"),
    ],
)
def test_a_value_is_compared_in_any_unit_and_may_stand_at_its_bound(
    tmp_path: Path, bound: str, state: str
) -> None:
    line = f"compare: {{value: wheels.positions.rear.radius, {bound}}}"
    assert states(judged(tmp_path, line)) == [state]


@pytest.mark.parametrize(
    ("compare", "state"),
    [
        ("value: wheels.positions, equal: 3", "conforms"),  # a list counts by its entries
        ("value: wheels.positions, least: 4", "departs"),
        ("value: vehicle.wheel_count, equal: 3", "conforms"),
        ("value: vehicle.energy_source, one_of: [methanol, gasoline]", "conforms"),  # no capitals
        ("value: vehicle.energy_source, equal: methanol", "departs"),
        ("value: wheels.positions.rear.driven, equal: true", "conforms"),
        ("value: wheels.positions.front_left.driven, equal: true", "departs"),
        ("value: event.date, least: 2027-05-15", "conforms"),
        ("value: event.date, most: 2027-05-14", "departs"),
        ("value: vehicle.target_speed, least: 100 mph", "open"),  # not stated
        ("value: parachutes.canopies, least: 1", "open"),  # its section is not there
        ("result: rotating.load, most: 30 kN", "conforms"),
        ("result: rotating.load, most: 29.9 kN", "departs"),
        ("result: rotating.load, most: 6800 lbf", "conforms"),  # 30 kN is 6,744 lbf
        ("result: rotating.load, most: 6700 lbf", "departs"),
        ("result: rotating.lost, most: 1 kN", "open"),
        ("result: rotating.lode, most: 1 kN", "open"),
        ("result: rotating.load, most: 10 in", "open"),  # no force
    ],
)
def test_what_can_be_compared(tmp_path: Path, compare: str, state: str) -> None:
    assert states(judged(tmp_path, f"compare: {{{compare}}}")) == [state]


def test_a_computed_value_is_named_in_a_sentence_that_ends(tmp_path: Path) -> None:
    found = judged(tmp_path, "compare: {result: rotating.load, most: 30 kN}")
    assert reason(found).startswith("found “Strap load”, as computed; asked: at most 30 kN")


@pytest.mark.parametrize(
    ("record", "states_"),
    [
        ("180 mph", ["departs", "not applicable"]),  # one asked for; below the first step
        ("200 mph", ["departs", "not applicable"]),  # at the step is not above it
        ("321.8688 km/h", ["departs", "not applicable"]),  # 200 mph: a mile is 1.609344 km
        ("200.1 mph", ["conforms", "conforms"]),
        ("301 mph", ["conforms", "departs"]),
    ],
)
def test_bounds_step_with_the_class_record(tmp_path: Path, record: str, states_: list[str]) -> None:
    """Three wheels against: exactly 2, over 200 mph 3; and none, over 200 mph 3, over 300 mph 4."""
    three = "compare: {value: wheels.positions, by_record: [{above: 100 mph, equal: 2}, {above: 200 mph, equal: 3}]}"
    four = "compare: {value: wheels.positions, by_record: [{above: 200 mph, least: 3}, {above: 300 mph, least: 4}]}"
    assert states(judged(tmp_path, three, four, record=record)) == states_


def test_an_assumed_value_proves_nothing_but_can_depart(tmp_path: Path) -> None:
    of = "value: wheels.positions.front_left.radius"
    found = judged(tmp_path, f"compare: {{{of}, least: 2 in}}", f"compare: {{{of}, least: 4 in}}")
    assert states(found) == ["open", "departs"]
    assert "assumed" in reason(found)


@pytest.mark.parametrize(
    ("inputs", "state"),
    [
        (("wheels.positions.rear.radius",), "conforms"),  # rated
        (("wheels.positions.front_left.radius",), "open"),  # no basis given
        (("wheels.positions.rear.radius", "wheels.positions.front_left.radius"), "open"),
        (("vehicle.class_record",), "conforms"),  # a decision, not a value to be known
        ((), "conforms"),
    ],
)
def test_a_result_is_worth_no_more_than_what_it_rests_on(
    tmp_path: Path, inputs: tuple[str, ...], state: str
) -> None:
    """30 kN against 31 kN and 29 kN: assumed values cannot prove the first, and excuse the second."""
    load = Result("rotating.load", "Strap load", 30_000.0, "force", inputs=inputs)
    beside = Subject("rotating", "R", "a stand-in", lambda b, g: Outcome("rotating", (load,)))
    lines = [f"compare: {{result: rotating.load, most: {most} kN}}" for most in (31, 29)]
    found = judged(tmp_path, *lines, beside=(beside,))
    assert states(found) == [state, "departs"]
    named = "wheels.positions.front_left.radius" in reason(found)
    assert named == (state == "open")


@pytest.mark.parametrize(
    ("temperature", "state"),
    [("", "open"), (", temperature: {value: 38 °C, basis: measured}", "conforms")],
)
def test_a_result_behind_air_that_nobody_stated_proves_nothing(
    tmp_path: Path, temperature: str, state: str
) -> None:
    """At sea level the standard atmosphere's 15 °C give 1.225 kg/m³, and 38 °C some 1.134 (ideal gas): the
    program's own temperature is no better than an assumed one.
    """
    load = Result("rotating.load", "Load", 30_000.0, "force", inputs=("venue.elevation",))
    beside = Subject("rotating", "R", "a stand-in", lambda b, g: Outcome("rotating", (load,)))
    venue = f"venue: {{elevation: {{value: 0 ft, basis: measured}}{temperature}}}\n"
    lines = [f"compare: {{result: rotating.load, most: {most} kN}}" for most in (31, 29)]
    found = judged(tmp_path, *lines, beside=(beside,), more=venue)
    assert states(found) == [state, "departs"]
    assert ("venue.temperature" in reason(found)) == (state == "open")


@pytest.mark.parametrize(
    ("applies", "state"),
    [
        ("{value: wheels.positions.front_left.radius, over: 4 in}", "open"),  # 3 in, assumed
        ("{value: wheels.positions.rear.radius, over: 4 in}", "not applicable"),  # 3 in, rated
        ("{value: wheels.positions.front_left.radius, over: 2 in}", "conforms"),  # it is asked
    ],
)
def test_an_assumed_value_leaves_no_line_out(tmp_path: Path, applies: str, state: str) -> None:
    line = f"applies: [{applies}], compare: {{value: vehicle.wheel_count, equal: 3}}"
    assert states(judged(tmp_path, line)) == [state]


def test_the_value_decides_and_a_spread_across_the_bound_is_said(tmp_path: Path) -> None:
    """3 ± 0.2 in against 2.9 in: the value conforms, its spread does not; against 2.8 in both do."""
    of = "value: wheels.positions.front_right.radius"
    found = judged(
        tmp_path, f"compare: {{{of}, least: 2.9 in}}", f"compare: {{{of}, least: 2.8 in}}"
    )
    assert states(found) == ["conforms", "conforms"]
    assert [("spread" in reason(found, n)) for n in (0, 1)] == [True, False]


# -------------------------------------------------------------------------------- conditions


@pytest.mark.parametrize(
    ("condition", "state", "said"),
    [
        ("fitted: blower", "not applicable", "no supercharger"),
        ("fitted: chute", "open", "nobody has looked yet"),
        ("not_fitted: chute", "not applicable", "fitted: parachute"),
        ("not_fitted: blower", "open", "nobody has looked yet"),
        ("fitted: wing", "open", "rules.equipment.wing does not say"),
        ("has: mass", "not applicable", "mass is not described"),
        ("has: wheels.positions", "open", "nobody"),
        ("has_no: wheels.positions.rear", "not applicable", "wheels.positions.rear is described"),
        ("has_no: wheels.positions.spare", "open", "nobody"),
        ("value: vehicle.class_record, over: 208.6 mph", "not applicable", "not over 208.6 mph"),
        ("value: vehicle.class_record, over: 208.5 mph", "open", "nobody"),
        ("value: vehicle.class_record, under: 208.6 mph", "not applicable", "not under"),
        ("value: vehicle.energy_source, one_of: [methanol]", "not applicable", "Gasoline"),
        ("value: vehicle.wheel_count, equal: 3", "open", "nobody"),
        ("value: vehicle.target_speed, over: 1 mph", "open", "vehicle.target_speed is not stated"),
        ("has: mass, otherwise: no scales", "not applicable", "no scales"),
    ],
)
def test_whether_a_line_applies(tmp_path: Path, condition: str, state: str, said: str) -> None:
    found = judged(tmp_path, f"applies: [{{{condition}}}], attest: {{}}")
    assert states(found) == [state]
    assert said in reason(found)


def test_one_false_condition_decides_also_beside_an_unknown_one(tmp_path: Path) -> None:
    both = "applies: [{value: vehicle.target_speed, over: 1 mph}, {fitted: blower}], attest: {}"
    found = judged(tmp_path, both)
    assert (states(found), reason(found)) == (["not applicable"], "no supercharger")


def test_what_may_not_apply_does_not_conform(tmp_path: Path) -> None:
    seen = "attest: {by: Osei, date: 2026-11-01, found: conforms}"
    found = judged(tmp_path, f"applies: [{{fitted: wing}}], {seen}", seen)
    assert states(found) == ["open", "conforms"]


# ------------------------------------------------------------------------- people and papers


@pytest.mark.parametrize("proof", ["attest", "demonstrate"])
@pytest.mark.parametrize(
    ("said", "state"),
    [
        ("", "open"),
        ("by: Osei, date: 2026-11-25, found: conforms", "conforms"),  # today counts
        ("by: Osei, date: 2026-11-25, found: departs", "departs"),
        ("by: Osei, date: 2026-11-26, found: conforms", "open"),  # tomorrow does not
        ("by: Osei, date: 2026-11-26, found: departs", "open"),
        ("by: Osei, date: 2026-05-14, found: conforms", "conforms"),  # a year before the event
        ("by: Osei, date: 2026-05-13, found: conforms", "open"),  # who knows what was rebuilt since
        ("by: Osei, date: 2019-01-01, found: departs", "departs"),
        ("by: Osei, date: 2026-11-01, found: conforms, evidence_needed: true", "open"),
        ("by: Osei, date: 2026-11-01, found: departs, evidence_needed: true", "departs"),
    ],
)
def test_a_person_says_what_was_found(tmp_path: Path, proof: str, said: str, state: str) -> None:
    assert states(judged(tmp_path, f"{proof}: {{{said}}}")) == [state]


@pytest.mark.parametrize(
    ("said", "state"),
    [
        ("", "open"),
        ("issued: 2026-01-01", "open"),  # until when?
        ("issued: 2026-01-01, unlimited: true", "conforms"),
        ("issued: 2026-01-01, expires: 2027-05-15", "conforms"),  # the event's first day
        ("issued: 2026-01-01, expires: 2027-05-14", "departs"),
        ("issued: 2026-12-01, expires: 2028-01-01", "open"),  # not issued yet
        ("issued: 2026-01-01, unlimited: true, evidence_needed: true", "open"),
    ],
)
def test_a_document_is_in_force_on_the_day_of_the_event(
    tmp_path: Path, said: str, state: str
) -> None:
    assert states(judged(tmp_path, f"document: {{{said}}}")) == [state]


def test_behind_the_event_a_document_must_be_in_force_today(tmp_path: Path) -> None:
    line = "document: {issued: 2026-01-01, expires: 2027-06-01}"
    assert states(judged(tmp_path, line, day=datetime.date(2027, 6, 1))) == ["conforms"]
    assert states(judged(tmp_path, line, day=datetime.date(2027, 6, 2))) == ["departs"]


# ---------------------------------------------------------------------------------- followed


def test_a_line_follows_the_worst_of_what_others_found(tmp_path: Path) -> None:
    found = judged(
        tmp_path,
        "follows: [rotating.requirement.one]",
        "follows: [rotating.requirement.two]",
        "follows: [rotating.requirement.three]",
        "follows: [rotating.requirement.four]",
        "follows: [rotating.requirement.one.good]",
        "follows: [rotating.requirement.one.good, rotating.requirement.tow]",
        "follows: [rotating.requirement.two, rotating.requirement.one]",
        "follows: [rotating.requirement.five]",  # and not what only begins with those letters
    )
    assert states(found) == [
        "departs", "open", "conforms", "not applicable", "conforms", "open", "departs", "conforms",
    ]  # fmt: skip


def test_a_followed_prescription_is_counted_once(tmp_path: Path) -> None:
    """Ten prescriptions beside, two of them followed by one line: 8 + 1 remain, and 3 depart."""
    found = judged(tmp_path, "follows: [rotating.requirement.one]")
    over = overview(found, {"rotating": "R", "rules": "Q", "inspection": "I"})
    assert (over.total.prescriptions, over.total.departs) == (9, 3)


def test_what_the_program_supplies_proves_no_computed_value(tmp_path: Path) -> None:
    """Nobody said where the mass lies across: that the centre of gravity is in the middle is assumed."""
    head = HEAD.format(record="200 mph")
    item = "{id: car, name: Car, mass: {value: 1000 kg, basis: measured}, x: {value: 50 in, basis: measured}"
    where = "z: {value: 10 in, basis: measured}"
    mass = f"mass: {{items: [%s, {where}%s}}], conditions: [{{id: start}}], design_condition: start}}\n"
    line = "{id: own, group: g, title: T, statement: S, compare: {result: mass.design.cg_y, within: [-1 in, 1 in]}}"
    rules_text = f"        - {line}\n"
    found = []
    for across in ("", ", y: {value: 0.1 in, basis: measured}"):
        build, problems = read_text(tmp_path, mass % (item, across) + head + rules_text)
        assert build is not None, problems
        every = evaluate(build, as_of=DAY, subjects=load_subjects(("mass", "rules")))
        found += [(r.state, r.reason) for r in every.requirements]
    assert [state for state, _ in found] == ["open", "conforms"]
    assert "mass.items.car.y" in found[0][1]


# --------------------------------------------------------------------- waivers, work, margins

_WAIVER = "waiver: {authority: R. Ekdahl, reference: '7', date: %s, scope: hatch%s}"


@pytest.mark.parametrize(
    ("date", "until", "state"),
    [
        ("2026-11-25", "", "waived"),
        ("2026-11-26", "", "departs"),  # not given yet
        ("2026-01-01", ", until: 2027-05-15", "waived"),
        ("2026-01-01", ", until: 2027-05-14", "departs"),  # ends before the event
        ("2019-10-24", "", "departs"),  # without a last day it is none for ever
    ],
)
def test_a_waiver_counts_from_its_day_to_the_event(
    tmp_path: Path, date: str, until: str, state: str
) -> None:
    seen = "attest: {by: Osei, date: 2026-11-01, found: departs}"
    found = judged(tmp_path, f"{seen}, {_WAIVER % (date, until)}")
    assert states(found) == [state]
    assert ("R. Ekdahl, 7, 2026" in reason(found)) == (state == "waived")


def test_a_waived_line_never_reads_as_conforming(tmp_path: Path) -> None:
    seen = "attest: {by: Osei, date: 2026-11-01, found: conforms}"
    assert states(judged(tmp_path, f"{seen}, {_WAIVER % ('2026-11-01', '')}")) == ["waived"]


def test_a_waiver_does_not_make_a_line_apply(tmp_path: Path) -> None:
    line = f"applies: [{{fitted: blower}}], attest: {{}}, {_WAIVER % ('2026-11-01', '')}"
    assert states(judged(tmp_path, line)) == ["not applicable"]


@pytest.mark.parametrize(
    ("work", "state"),
    [
        (Work(1.0), "conforms"),
        (Work(0.5, ("weld",)), "open"),
        (Work(0.9, (), ("photo",)), "open"),
    ],
)
@pytest.mark.parametrize(
    "line",
    [
        "attest: {by: Osei, date: 2026-11-01, found: conforms}",
        "document: {issued: 2026-01-01, unlimited: true}",
        "compare: {value: vehicle.wheel_count, equal: 3}",
    ],
)
def test_nothing_is_done_while_a_step_is_open_or_a_file_is_missing(
    tmp_path: Path, work: Work, state: str, line: str
) -> None:
    assert states(judged(tmp_path, line, beside=(_plan({"own.x0": work}),))) == [state]


def test_open_work_hides_no_departure(tmp_path: Path) -> None:
    line = "attest: {by: Osei, date: 2026-11-01, found: departs}"
    work = _plan({"own.x0": Work(0.0, ("weld",))})
    assert states(judged(tmp_path, line, beside=(work,))) == ["departs"]


@pytest.mark.parametrize("strength", [0.1, 0.999, 1.001, 100.0])
def test_no_margin_changes_a_state_or_a_count(tmp_path: Path, strength: float) -> None:
    """The same lines beside a check that falls far short and one that holds a hundredfold."""
    beside = "checks: [rotating.check.strap]"
    found = judged(
        tmp_path,
        f"attest: {{by: Osei, date: 2026-11-01, found: departs}}, {beside}",
        f"attest: {{by: Osei, date: 2026-11-01, found: conforms}}, {beside}",
        f"attest: {{}}, {beside}",
        beside=(_other(strength),),
    )
    assert states(found) == ["departs", "conforms", "open"]
    detail = found.outcomes["rules"].detail
    assert isinstance(detail, Detail)
    counts = detail.counts
    assert (counts.departs, counts.conforms, counts.open, counts.total) == (1, 1, 1, 3)
    assert detail.leaves[0].blocks[0].rows[0].checks == found.checks


# ------------------------------------------------------------------------- counts and signers


def test_the_teams_own_lines_are_counted_apart(tmp_path: Path) -> None:
    seen = "attest: {by: Osei, date: 2026-11-01, found: %s}"
    found = judged(
        tmp_path,
        seen % "departs",
        f"ours: true, {seen % 'departs'}",
        f"ours: true, {seen % 'conforms'}",
        "not_applicable: no boat, attest: {}",
    )
    detail = found.outcomes["rules"].detail
    assert isinstance(detail, Detail)
    assert (detail.counts.departs, detail.counts.total, detail.counts.apply) == (1, 2, 1)
    assert (detail.ours.departs, detail.ours.conforms, detail.ours.total) == (1, 1, 2)
    over = overview(found, {"rotating": "R", "rules": "Q", "inspection": "I"})
    assert (over.own.departs, over.own.prescriptions) == (1, 2)
    assert over.total.prescriptions == 2 + len(_STATES)


@pytest.mark.parametrize(
    ("record", "count"),
    [
        ("150 mph", 1),
        ("200 mph", 1),
        ("321.8688 km/h", 1),
        ("200.1 mph", 2),
        ("250 mph", 2),
        ("251 mph", 3),
    ],
)
def test_inspectors_by_record(tmp_path: Path, record: str, count: int) -> None:
    """Common practice, as the sheet says: two over 200 mph, three over 250 mph."""
    found = judged(tmp_path, "attest: {}", record=record)
    papers = found.outcomes["inspection"].detail
    assert isinstance(papers, Papers)
    assert len(papers.papers[0].initials) == count


def test_without_a_record_there_is_room_for_the_most_inspectors(tmp_path: Path) -> None:
    text = HEAD.format(record="1 mph").replace(", class_record: 1 mph", "")
    steps = "by_record: [{above: 0 mph, least: 1}]"
    line = f"{{id: x0, group: g, statement: A., compare: {{value: wheels.positions, {steps}}}}}"
    build, _ = read_text(tmp_path, f"{text}        - {line}\n")
    assert build is not None
    found = evaluate(build, as_of=DAY, subjects=(RULES, *load_subjects(("inspection",))))
    papers = found.outcomes["inspection"].detail
    assert isinstance(papers, Papers)
    assert len(papers.papers[0].initials) == 3
    assert states(found) == ["open"]


# ------------------------------------------------------------- what only the results can show


def test_a_wrong_id_of_a_result_is_said_at_its_line_with_what_was_meant(tmp_path: Path) -> None:
    found = judged(
        tmp_path,
        "compare: {result: rotating.lode, most: 1 kN}, checks: [rotating.check.strop]",
        "compare: {result: rotating.load, most: 10 in}",
        "follows: [rotating.requirements]",
        "compare: {result: mass.total, most: 1 lb}",  # no mass is described: open, and no mistake
    )
    said = {(p.code, p.place.line, p.severity) for p in found.problems}
    first = HEAD.count("\n") + 1
    assert said == {
        ("rules.unknown", first, "warning"),
        ("quantity.unit-wrong", first + 1, "warning"),
        ("rules.unknown", first + 2, "warning"),
    }
    assert any("did you mean `rotating.load`?" in p.message for p in found.problems)
    assert any("did you mean `rotating.check.strap`?" in p.message for p in found.problems)


def test_requirements_carry_owner_day_and_source(tmp_path: Path) -> None:
    found = judged(tmp_path, "attest: {}, owner: osei, due: 2027-03-01, clause: '4.2'")
    line = rule(found, "rules.requirement.own.x0")
    assert (line.owner, line.due) == ("L. Osei", datetime.date(2027, 3, 1))
    assert line.source == "Own sheet; clause 4.2; edition 2027"
    item = next(i for i in found.open_items if i.ref == line.id)
    assert (item.owner, item.due) == ("L. Osei", datetime.date(2027, 3, 1))


def test_without_sheets_there_is_nothing_to_judge(tmp_path: Path) -> None:
    build, _ = read_text(tmp_path, "format: 1\nvehicle: {name: Wren}\n")
    assert build is not None
    assert build.section(Rules) is None
    assert RULES.evaluate(build, Given(DAY)) is None


def test_check_prints_counts_apart_and_the_figure_behind_a_departure(tmp_path: Path) -> None:
    found = judged(
        tmp_path,
        "compare: {result: rotating.load, most: 20 kN}",
        "ours: true, attest: {}",
        "demonstrate: {by: Osei, date: 2026-11-01, found: departs}",
        "demonstrate: {by: Osei, date: 2026-11-01, found: conforms}",
    )
    text = report(found)
    assert "“Strap load”, as computed, is not at most 20 kN; found 6,744 lbf (30,000 N)" in text
    # with those of the subject beside: 1 + 1 + 2 and 3 depart, and so on
    assert "Prescriptions: 5 depart, 1 open, 5 conform, 2 not applicable\n" in text
    assert "The team's own: 1 open\n" in text
    shown = [n for n in (2, 3) if "inspector" in reason(found, n)]
    assert shown == [3]  # what departs is not shown to anyone yet


@pytest.mark.parametrize(
    ("line", "plain", "strict"),
    [
        ("attest: {by: Osei, date: 2026-11-01, found: conforms}", 0, 0),
        ("attest: {by: Osei, date: 2026-11-01, found: departs}", 1, 1),
        ("ours: true, attest: {by: Osei, date: 2026-11-01, found: departs}", 1, 1),
        (f"attest: {{}}, {_WAIVER % ('2026-11-01', '')}", 0, 0),
        ("not_applicable: no boat, attest: {}", 0, 0),
        ("attest: {}", 0, 1),
    ],
)
def test_a_departure_ends_check_with_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], line: str, plain: int, strict: int
) -> None:
    text = f"""format: 1
vehicle: {{name: Wren}}
rules:
  sheets:
    - id: own
      title: Own sheet
      groups: [{{id: g, title: Group}}]
      requirements:
        - {{id: x0, group: g, statement: A line., {line}}}
"""
    (tmp_path / "build.yaml").write_text(text, "utf-8")
    command = ["check", str(tmp_path), "--as-of", "2026-11-25"]
    assert main(command) == plain
    assert main([*command, "--strict"]) == strict
    capsys.readouterr()
    assert main([*command, "--json"]) == plain
    data = json.loads(capsys.readouterr().out)
    jsonschema.validate(data, schema())
    assert [r["ours"] for r in data["requirements"]] == ["ours" in line]


MILLIMETRES = {
    "in": Fraction("25.4"),
    "ft": Fraction("304.8"),
    "mm": Fraction(1),
    "m": Fraction(1000),
}
"""Exact: NIST SP 811, appendix B.8."""


@given(
    value=st.decimals("0.001", "900", places=3),
    bound=st.decimals("0.001", "900", places=3),
    units=st.tuples(st.sampled_from(sorted(MILLIMETRES)), st.sampled_from(sorted(MILLIMETRES))),
)
def test_comparisons_agree_with_exact_fractions(
    value: Decimal, bound: Decimal, units: tuple[str, str]
) -> None:
    """Within one part in 10⁹ two numbers are equal; elsewhere exact arithmetic decides."""
    exact = (Fraction(value) * MILLIMETRES[units[0]], Fraction(bound) * MILLIMETRES[units[1]])
    ours = [
        read_bound(f"{number} {unit}", "length")
        for number, unit in zip((value, bound), units, strict=True)
    ]
    assert all(isinstance(o, float) for o in ours)
    a, b = (o for o in ours if isinstance(o, float))
    near = abs(exact[0] - exact[1]) <= max(exact) / 10**9
    assert less(a, b) == (exact[0] < exact[1] and not near)
    assert same(a, b) == near


def test_a_file_that_changed_is_not_said_to_be_missing(tmp_path: Path) -> None:
    line = "attest: {by: Osei, date: 2026-11-01, found: conforms}"
    for part, changed in ((("photo", "paper"), True), (("paper",), False)):
        work = _plan({"own.x0": Work(0.5, (), part, ("paper",))})
        (found,) = judged(tmp_path, line, beside=(work,)).requirements
        assert "1 file has changed since it was attested" in found.reason
        assert ("1 file is missing" in found.reason) == changed
