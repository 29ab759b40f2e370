"""Load cases without an answer: every check stays open by itself, what there is to do is said once."""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.evaluation import Evaluation
from generator.vocabulary import OpenItem
from tests.generator.subjects.cage_builds import NO_WELD, cage, detail, solve

NODES = {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m", "c": "1 m, 0 m, 1 m"}
TUBES = ("{id: one, from: a, to: b, tube: t}", "{id: two, from: b, to: c, tube: t}")
HELD = ("{nodes: [a]}",)
LOOSE = ("{nodes: [a], motions: [x, y, z]}",)
HELMET = "helmet: {x: 0.5 m, y: 0 m, z: 0.5 m, radius: 100 mm, clearance: 10 mm}"


def case(name: str, size: str = "force: 1 N") -> str:
    return f"{{id: {name}, title: Case {name}, loads: [{{at: [c], {size}, direction: {{y: 1}}}}]}}"


def found(folder: Path, *cases: str, supports: tuple[str, ...] = HELD) -> Evaluation:
    return solve(folder, cage(NODES, TUBES, cases, supports=supports, more=(HELMET,)))


def undecided(evaluation: Evaluation) -> list[OpenItem]:
    return [i for i in evaluation.open_items if i.kind == "open"]


def test_a_mechanism_is_one_item_that_names_its_cases_and_counts_the_tubes(tmp_path: Path) -> None:
    made = found(tmp_path, case("p"), case("q"), supports=LOOSE)
    waiting = {c.id for c in made.checks if c.verdict == "open" and "member" in c.id}
    assert waiting == {"cage.check.member.one", "cage.check.member.two"}
    first, *others = undecided(made)
    assert first.text == "Case p; Case q: no answer, and 2 tubes wait for it"
    assert "a support or a member is missing" in first.closes
    assert waiting <= set(first.blocks)
    criticals = {"cage.check.critical.p", "cage.check.critical.q"}
    assert criticals <= set(first.blocks)
    assert [i.id for i in others] == ["cage.check.clearance.helmet.open"]  # outside the tubes


def test_one_case_alone_is_named_alone(tmp_path: Path) -> None:
    """The other case has its answer; the force that nobody states leaves one without."""
    (item,) = (
        i
        for i in undecided(
            found(
                tmp_path, case("p"), case("q", "result: parachutes.main.governing_load, factor: 1")
            )
        )
        if i.id.startswith("cage.case.")
    )
    assert (item.id, item.ref) == ("cage.case.q.open", "cage.load_cases.q")
    assert item.text == "Case q: no answer, and 2 tubes wait for it"


def test_where_every_case_is_solved_there_is_no_such_item(tmp_path: Path) -> None:
    assert [i for i in undecided(found(tmp_path, case("p"))) if ".case." in i.id] == []


# ------------------------------------------------------------------------ one case far too large


def test_a_case_that_moves_too_far_leaves_the_others_their_answers(tmp_path: Path) -> None:
    """Each case is solved by itself: what the others find is what they find without it, other tubes
    that would hold included. The load of `q` would move the tip by more than half the frame."""
    sizes = (
        "{id: t, outer: 1.75 in, wall: 0.095 in, material: steel}",
        "{id: u, outer: 2.5 in, wall: 0.25 in, material: steel}",
    )
    made = []
    for name, cases in (
        ("alone", (case("p", "force: 2.5 kN"),)),
        ("all", (case("q", "force: 900 kN"), case("p", "force: 2.5 kN"))),
        ("last", (case("p", "force: 2.5 kN"), case("q", "force: 900 kN"))),
    ):
        folder = tmp_path / name
        folder.mkdir()
        text = cage(NODES, TUBES, cases, supports=HELD, tubes=sizes, more=(NO_WELD,))
        made.append(detail(solve(folder, text)))
    alone, *both = made
    assert [c.why for c in alone.cases] == [""]
    assert alone.remedies
    for other in both:
        whys = {c.id: c.why for c in other.cases}
        assert "by more than the theory allows" in whys["q"]
        assert whys["p"] == ""
        assert {c.id: c.used for c in other.cases}["p"] == pytest.approx(
            alone.cases[0].used, rel=1e-9
        )  # the same arithmetic, in another order
        assert [(r.tube, round(r.margin, 9)) for r in other.remedies] == [
            (r.tube, round(r.margin, 9)) for r in alone.remedies
        ]
