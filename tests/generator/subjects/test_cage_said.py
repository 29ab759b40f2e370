"""What the cage says in words: joints by name, one-sided loads, forces that nobody computes."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from generator.evaluation import Evaluation
from generator.results import as_data
from generator.subjects.cage_geometry import joint_called
from tests.generator.subjects.cage_builds import cage, detail, figures, outcome, solve

SCHEMA = Path(__file__).parents[3] / "buildspec" / "schema"
POSTS = {
    "foot": "0 m, 0.3 m, 0 m",
    "head": "0 m, 0.3 m, 1 m",
}
TUBES = (
    "{id: post, from: foot, to: head, tube: t}",
    "{id: cross, from: head, to: head_twin, tube: t}",
)
FEET = "{nodes: [foot, foot_twin]}"
BOTH = "node_sets: [{id: all_heads, nodes: [head], twins: true}]"


def pushed(folder: Path, *cases: str, more: tuple[str, ...] = ()) -> Evaluation:
    """Two posts and a tube across them, mirrored."""
    text = cage(POSTS, TUBES, cases, supports=(FEET,), more=("mirror: true", BOTH, *more))
    return solve(folder, text)


def push(name: str, at: str, way: str, **also: str) -> str:
    extra = "".join(f", {key}: {value}" for key, value in also.items())
    return f"{{id: {name}, loads: [{{at: [{at}], force: 2 kN, direction: {{{way}}}}}]{extra}}}"


# ------------------------------------------------------------------------ joints


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("hoop_foot", "hoop foot"),
        ("hoop_foot_twin", "hoop foot (other side)"),
        ("main_hoop_twin.bend_1.3", "main hoop (other side), bend 1, 3"),
    ],
)
def test_a_joint_is_called_in_words(name: str, words: str) -> None:
    assert joint_called(name) == words


def test_the_schema_has_one_word_for_a_joint() -> None:
    """Its keys say `nodes`; whoever reads titles and descriptions reads of joints."""

    def said(part: object) -> Iterator[str]:
        if isinstance(part, dict):
            yield from (part[w] for w in ("title", "description") if isinstance(part.get(w), str))
        for below in (
            part.values() if isinstance(part, dict) else part if isinstance(part, list) else ()
        ):
            yield from said(below)

    every = list(said(json.loads((SCHEMA / "cage.schema.json").read_text("utf-8"))))
    plain = [re.sub(r"`[^`]*`", "", words).lower() for words in every]
    assert any("joint" in words for words in plain)
    assert [words for words in plain if re.search(r"\bnodes?\b", words)] == []


def test_supports_that_do_not_say_how_they_hold_are_named_in_words(tmp_path: Path) -> None:
    found = outcome(pushed(tmp_path, push("a_push", "all_heads", "x: 1")))
    (item,) = (i for i in found.open_items if i.id == "cage.held")
    (taken,) = (a for a in found.assumptions if ".held." in a.id)
    assert "foot, foot (other side)" in item.text
    assert taken.text.startswith("foot, foot (other side): how they are held is not stated")


def test_no_title_of_a_result_or_check_shows_an_id(tmp_path: Path) -> None:
    found = pushed(tmp_path, push("a_push", "all_heads", "x: 1"))
    said = [r.title for r in outcome(found).results] + [c.title for c in found.checks]
    said += [c.basis_of_verdict for c in found.checks]
    said += [case.title for case in detail(found).cases]
    assert [words for words in said if "_" in words] == []
    assert "a push: movement of head (other side)" in said


def test_a_force_names_its_set_of_joints(tmp_path: Path) -> None:
    found = pushed(tmp_path, push("one", "all_heads, foot_twin", "x: 1"))
    assert detail(found).cases[0].forces[0].at == "all heads (2 joints), foot (other side)"


def test_the_results_have_every_force_of_a_case(tmp_path: Path) -> None:
    case = (
        "{id: two, title: Two, loads: [{at: [head], force: 2 kN, direction: {x: 1}}, "
        "{at: [head], result: parachutes.a.b, direction: {x: 1}}]}"
    )
    values = as_data(pushed(tmp_path, case))["values"]
    first, second = (values[f"cage.case.two.force_{n}"] for n in (1, 2))
    assert (first["title"], first["value"], first["unit"]) == ("Two: force at head", 2000.0, "N")
    assert second["value"] is None
    assert "parachutes.a.b is no force" in second["reason"]


# ------------------------------------------------------------------------ one side


def one_sided(found: Evaluation) -> str:
    return next((c.text for c in found.cautions if c.id == "cage.one_sided"), "")


def test_a_push_on_one_side_alone_is_pointed_out(tmp_path: Path) -> None:
    found = pushed(
        tmp_path,
        push("right", "head", "y: -1", title="From the right"),
        push("down", "all_heads", "z: -1", title="From above"),
    )
    assert one_sided(found).startswith("From the right: the load is on one side only")
    assert "From above" not in one_sided(found)


def test_pushes_from_both_sides_need_no_word(tmp_path: Path) -> None:
    found = pushed(tmp_path, push("right", "head", "y: -1"), push("left", "head_twin", "y: 1"))
    assert one_sided(found) == ""


def test_a_sideways_push_on_both_joints_comes_from_one_side(tmp_path: Path) -> None:
    """The joints are alike, the direction is not."""
    assert one_sided(pushed(tmp_path, push("right", "all_heads", "y: -1")))


def test_a_frame_that_is_not_mirrored_has_no_other_side(tmp_path: Path) -> None:
    nodes = {**POSTS, "left": "0 m, -0.3 m, 1 m"}
    tubes = (TUBES[0], "{id: cross, from: head, to: left, tube: t}")
    text = cage(nodes, tubes, (push("right", "head", "y: -1"),), supports=("{nodes: [foot]}",))
    assert one_sided(solve(tmp_path, text)) == ""


# ------------------------------------------------------------------------ what a case rests on


def test_a_result_that_is_no_force_is_pointed_out_at_its_line(tmp_path: Path) -> None:
    case = (
        "{id: pull, loads: [{at: [head], result: parachutes.main.design_laod, direction: {x: 1}}]}"
    )
    (problem,) = pushed(tmp_path, case).problems
    assert (problem.code, problem.severity) == ("cage.load-result", "warning")
    assert "`parachutes.main.design_laod` is no force" in problem.message
    line = (tmp_path / "build.yaml").read_text("utf-8").splitlines()[problem.place.line - 1]
    assert line[problem.place.column - 1 :].startswith("parachutes.main.design_laod")


def test_a_case_that_nobody_stands_behind_is_an_assumption(tmp_path: Path) -> None:
    found = pushed(
        tmp_path,
        push("named", "head", "x: 1", source="the club"),
        push("bare", "head", "x: 1", title="Bare"),
        "{id: tab, shipped: belt_tab, loads: [{at: [head], part: belt, direction: {x: 1}}]}",
    )
    said = {a.id: a.text for a in found.assumptions if a.id.endswith(".source")}
    assert list(said) == ["cage.load_cases.bare.source"]
    assert said["cage.load_cases.bare.source"].startswith("Bare: the load is taken as it is")


# ------------------------------------------------------------------------ figures for other programs


def test_every_tube_has_its_figures_in_every_case_in_the_results(tmp_path: Path) -> None:
    found = pushed(tmp_path, push("one", "head", "x: 1"), push("two", "head_twin", "z: -1"))
    table = as_data(found)["tables"]["cage.forces"]
    names = [f"{c['name']} [{c['unit']}]" if c["unit"] else c["name"] for c in table["columns"]]
    rows = [dict(zip(names, row, strict=True)) for row in table["rows"]]
    assert {(r["tube"], r["load case"]) for r in rows} == {
        (tube, case) for tube in ("post", "post_twin", "cross") for case in ("one", "two")
    }
    for row in rows:
        number = ("one", "two").index(row["load case"])
        own = figures(found, row["tube"], number)
        for name, value in (
            ("axial force [N]", own.axial),
            ("transverse force [N]", own.shear),
            ("torsion [N·m]", own.torsion),
            ("moment at start [N·m]", own.start),
            ("moment at end [N·m]", own.end),
            ("largest moment between [N·m]", own.span),
            ("peak stress [Pa]", own.stress),
            ("utilisation by stress", own.by_stress),
            ("utilisation by AISC 360", own.by_member),
        ):
            assert row[name] == pytest.approx(value, rel=1e-5, abs=2e-9)  # six digits are kept


def test_a_case_without_an_answer_has_no_figures_and_says_why(tmp_path: Path) -> None:
    case = "{id: pull, loads: [{at: [head], result: parachutes.high.pull, direction: {x: 1}}]}"
    rows = as_data(pushed(tmp_path, case))["tables"]["cage.forces"]["rows"]
    assert len(rows) == 3
    for row in rows:
        assert row[2:-1] == [None] * 9
        assert "parachutes.high.pull is no force" in row[-1]


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("4130_normalized", ""),
        ("6061_t6", "is a code for steel"),
        ("304l_tube", "stainless steel gives before it yields"),
        ("304_tube", "stainless steel gives before it yields"),
    ],
)
def test_a_metal_that_the_curves_were_not_made_for_is_told(
    tmp_path: Path, word: str, said: str
) -> None:
    """AISC 360 is for carbon and low-alloy steel; aluminium and stainless steel have codes of their own."""
    text = cage(
        {"a": "0 m, 0 m, 0 m", "b": "1 m, 0 m, 0 m"},
        ("{id: bar, from: a, to: b, tube: t}",),
        ("{id: c, loads: [{at: [b], force: 1 kN, direction: {x: -1}}]}",),
        supports=("{nodes: [a], held: fixed}",),
        tubes=(f"{{id: t, outer: 40 mm, wall: 2 mm, material: {word}}}",),
    )
    found = {c.id: c.text for c in outcome(solve(tmp_path, text)).cautions}
    about = found.get(f"cage.metal.{word}", "")
    assert (said in about) if said else (about == "")
