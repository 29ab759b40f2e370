"""What a comparison says, in words that were written down before they were printed."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest
from markdown import Markdown

from generator.cli import main
from generator.revisions.causes import causes
from generator.revisions.compare import Comparison, compare
from generator.revisions.printing import as_data, as_markdown, as_text
from generator.revisions.wording import points, words_of
from generator.signoffs.sign import Looked, Said, record_of
from tests.generator.revisions.repositories import DESCRIPTION, issue, start
from tests.generator.revisions.sides import CAR, between, side_of


def text_of(comparison: Comparison) -> str:
    return as_text(words_of(comparison, causes(comparison)))


def test_a_value_is_said_with_unit_difference_percent_and_basis() -> None:
    said = text_of(
        between(("mass: 200 lb", "mass: {value: 250 lb, plus_minus: 5 lb, basis: estimated}"))
    )
    assert (
        "mass.items.engine.mass: 200 lb (90.72 kg) → 250.0 ± 5.0 lb (113.4 ± 2.3 kg) "
        "(+50.0 lb, +25.0 %; measured → estimated; ± none → ± 5.0 lb)"
    ) in said


def test_a_check_is_said_with_its_causes_and_they_add_up_by_eye() -> None:
    # 400/300 − 1 = +33.3 %, 400/400 − 1 = 0; frame alone 400/350: −19.0; engine alone the same
    said = text_of(between(("mass: 100 lb", "mass: 150 lb"), ("mass: 200 lb", "mass: 250 lb")))
    assert "mass.check.total: Total mass: margin +33.3 % → 0 % (−33.3 points)" in said
    assert "−19.0  Frame: mass" in said
    assert "+4.8  only together: what the changes do to each other" in said


def test_a_verdict_that_turns_is_said_first() -> None:
    said = text_of(between(("total: 400 lb", "total: 290 lb")))
    lines = said.splitlines()
    assert lines[4].startswith("  holds → short  mass.check.total: Total mass")
    assert "1 verdict turned" in lines[1]


def test_nothing_is_said_as_nothing() -> None:
    assert "Nothing of the design differs" in text_of(between(("format: 1", "format: 1 # same")))


@pytest.mark.parametrize(("share", "said"), [(0.1, "+10.0"), (-0.1, "−10.0"), (0.0, "0")])
def test_points_carry_their_sign(share: float, said: str) -> None:
    assert points(share) == said


HOSTILE = "<img src=x onerror=alert(1)> [a](https://b.example) | @team `c` ![d](e) **f** #1"


def test_markdown_prints_the_users_words_as_they_stand() -> None:
    found = between(("name: Frame", f"name: '{HOSTILE}'"), ("mass: 100 lb", "mass: 150 lb"))
    made = as_markdown(words_of(found, causes(found)))
    page = Markdown(extensions=["tables"]).convert(made)
    assert not re.search(r"<(img|a|strong|code|script)\b", page)
    assert HOSTILE.replace("<", "&lt;").replace(">", "&gt;") in page.replace("&#64;", "@").replace(
        "&#58;", ":"
    )
    assert page.count("<table>") >= 3


def test_data_holds_every_figure_in_si_and_no_nan() -> None:
    found = between(("mass: 100 lb", "mass: 150 lb"))
    data = json.loads(json.dumps(as_data(found, causes(found)), allow_nan=False))
    (change,) = data["changes"]
    # 1 lb = 0.45359237 kg exactly (international pound, 1959)
    assert change["before"]["value"] == pytest.approx(45.359237, rel=1e-12)
    assert change["after"]["value"] == pytest.approx(150 * 0.45359237, rel=1e-12)
    check = next(c for c in data["checks"] if c["id"] == "mass.check.total")
    whole = sum(c["margin"] for c in check["contributions"]) + check["remainder"]
    assert math.isclose(whole, check["margin_moved_by"], rel_tol=1e-9)


# --------------------------------------------------------------------------------- command


@pytest.fixture
def car(tmp_path: Path) -> Path:
    folder = start(tmp_path / "repository")
    for number, (old, new) in enumerate((("900 lb", "880 lb"), ("400 lb", "450 lb")), 1):
        issue(folder, number, old, new)
    return folder


def test_revisions_folders_and_commits_can_be_compared(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", "rev-1", "rev-2", "--in", str(car)]) == 0
    first = capsys.readouterr().out
    assert "rev-1 (2026-09-02) → rev-2 (2026-09-03)" in first
    assert "mass.items.frame.mass: 400 lb" in first
    assert main(["compare", "HEAD~1", str(car), "--as-of", "2026-09-03"]) == 0
    second = capsys.readouterr().out
    assert "mass.items.frame.mass: 400 lb" in second
    assert "Evaluated for different days" not in second


def test_a_folder_is_compared_as_it_is_now(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (car / "build.yaml").read_text("utf-8").replace("880 lb", "430 lb")
    (car / "build.yaml").write_text(text, "utf-8")
    assert main(["compare", "rev-2", str(car), "--strict", "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert [c["id"] for c in data["changes"]] == ["mass.limits.total"]
    assert main(["compare", "rev-1", "rev-2", "--in", str(car), "--strict"]) == 0


def test_an_unknown_name_and_an_unreadable_side_are_said(
    car: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", "rev-9", str(car)]) == 2
    said = capsys.readouterr().err
    assert "`rev-9` is no folder, no revision and no commit" in said
    assert "rev-1, rev-2" in said
    (car / "build.yaml").write_text(DESCRIPTION.replace("400 lb", "400"), "utf-8")
    assert main(["compare", "rev-1", str(car)]) == 2
    said = capsys.readouterr().err
    assert "its description cannot be read" in said
    assert "`400` has no unit" in said


def test_a_rename_is_taken_from_the_command(car: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (car / "build.yaml").read_text("utf-8").replace("id: frame", "id: chassis")
    (car / "build.yaml").write_text(text, "utf-8")
    pair = "mass.items.frame=mass.items.chassis"
    assert main(["compare", "rev-2", str(car), "--renamed", pair]) == 0
    assert "mass.items.frame is called mass.items.chassis now." in capsys.readouterr().out
    assert main(["compare", "rev-2", str(car), "--renamed", "mass.items.box=mass.items.b"]) == 2
    assert "has no `mass.items.box`" in capsys.readouterr().err


def test_the_comparison_can_be_a_page_of_the_later_sides_site(car: Path, tmp_path: Path) -> None:
    site = tmp_path / "site"
    assert main(["compare", "rev-1", "rev-2", "--in", str(car), "--to", str(site)]) == 0
    page = (site / "since.html").read_text("utf-8")
    assert "Since rev-1" in page
    assert "450 lb" in page


def test_the_folder_whose_revisions_are_meant_is_named(
    car: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(car)
    assert main(["compare", "rev-1", "."]) == 0
    assert f" → {car.name} (" in capsys.readouterr().out.splitlines()[0]
    assert main(["compare", "rev-1", car.name]) == 2
    assert f"of the repository of `{car.name}`" in capsys.readouterr().err


# ------------------------------------------------------------------------- by what it is called


def test_a_part_without_a_name_stands_below_its_section() -> None:
    said = text_of(between(("total: 400 lb", "total: 390 lb"), ("mass: 100 lb", "mass: 101 lb")))
    assert "Mass: limits: most mass" in said, "`Limits` could be those of any section"
    assert "  Frame: mass" in said, "what has a name needs no more"


def test_a_check_that_came_is_new_and_no_verdict_that_turned() -> None:
    said = text_of(
        between(("limits: {total: 400 lb}", "limits: {total: 400 lb, cg_height: 30 in}"))
    )
    assert "1 check new" in said.splitlines()[1]
    assert "turned" not in said
    assert "  new: holds  mass.check.cg_height: " in said
    assert "(it came with what is new)" in said


def signed(text: str, *words: dict[str, str], answers: str = "") -> str:
    """The text with records of words on its mass."""
    seen = side_of(text).evaluation
    records = [
        record_of(
            Said("mass", w["by"], "reviewer", w["says"], w.get("note", "")), seen, Looked("rev-1")
        )
        | {"id": w["id"]}
        for w in words
    ]
    section = {"records": records} | ({"answers": json.loads(answers)} if answers else {})
    return text + "signoffs: " + json.dumps(section) + "\n"


ONE = {"id": "mass_1", "by": "R. Sandoval", "says": "accepted-with-comment", "note": "Weigh it."}
TWO = {"id": "mass_2", "by": "N. Whitlock", "says": "accepted"}
ANSWER = '[{"to": "mass_1", "by": "M. Calloway", "date": "2026-09-02", "text": "Weighed."}]'


def test_words_and_answers_are_told_as_such_and_not_as_items() -> None:
    before, after = side_of(signed(CAR, ONE)), side_of(signed(CAR, ONE, TWO, answers=ANSWER))
    found = compare(before, after)
    said = as_text(words_of(found, causes(found)))
    assert "2 words given or answered" in said.splitlines()[1]
    assert "item added" not in said
    assert "  Mass and centre of gravity: N. Whitlock (reviewer), 2026-09-01: accepted\n" in said
    assert (
        "  Mass and centre of gravity: M. Calloway, 2026-09-02: answers the comment: “Weighed.”"
        in said
    )
    assert "Items" not in said
    assert "signoffs.answers:" not in said
    page = Markdown(extensions=["tables"]).convert(as_markdown(words_of(found, causes(found))))
    assert "N. Whitlock (reviewer)" in page


def test_the_first_words_of_all_are_told_too() -> None:
    found = compare(side_of(CAR), side_of(signed(CAR, ONE)))
    said = as_text(words_of(found, causes(found)))
    assert "R. Sandoval (reviewer), 2026-09-01: accepted with a comment: “Weigh it.”" in said
    assert "Sign-offs: 1 entry" not in said
