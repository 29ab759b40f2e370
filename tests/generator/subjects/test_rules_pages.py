"""The pages of the requirements: conformance and margin stay apart, and the paper has room to sign."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from generator.compose import compose
from generator.evaluation import evaluate, load_subjects
from generator.pagetext import ROW
from generator.subjects.inspection import BLANK

from .scenes import DAY, read_text

HOSTILE = "<script>alert(1)</script> **b** [x](javascript:1)"
TEXT = f"""format: 1
vehicle: {{name: Wren, number: "41", class_record: 220 mph, wheel_count: 4}}
event: {{name: Trials, date: 2027-05-15}}
wheels:
  positions:
    - {{id: front_left, x: 0 in, y: -20 in, radius: 12 in, rated_load: 100 lbf, basis: measured}}
    - {{id: front_right, x: 0 in, y: 20 in, radius: 12 in, rated_load: 9000 lbf, basis: measured}}
    - {{id: rear_left, x: 100 in, y: -20 in, radius: 12 in, rated_load: 900 lbf, basis: measured}}
    - {{id: rear_right, x: 100 in, y: 20 in, radius: 12 in, rated_load: 900 lbf, basis: measured}}
mass:
  items: [{{id: all, name: All of it, mass: 1600 lb, x: 50 in, z: 15 in, basis: measured}}]
  conditions: [{{id: start_line, title: Start line}}]
  design_condition: start_line
rules:
  equipment: [{{id: blower, title: supercharger, fitted: false}}]
  sheets:
    - id: own
      title: Own sheet
      banner: "{HOSTILE}"
      groups: [{{id: first, title: First group}}, {{id: second, title: "{HOSTILE}"}}]
      inspectors: [{{above: 0 mph, count: 1}}, {{above: 200 mph, count: 2}}]
      requirements:
        - id: holds
          group: first
          statement: Departs and holds.
          attest: {{by: Osei, date: 2026-11-01, found: departs}}
          checks: [mass.check.wheel.front_right]
        - id: short
          group: first
          statement: Conforms and falls short.
          attest: {{by: Osei, date: 2026-11-01, found: conforms}}
          checks: [mass.check.wheel.front_left]
        - {{id: blower, group: second, statement: Straps., applies: [{{fitted: blower}}], attest: {{}}}}
        - id: letters
          group: second
          statement: Letters.
          attest: {{}}
          waiver: {{authority: R. Ekdahl, reference: "7", date: 2026-11-01, scope: left side}}
        - id: hostile
          group: second
          title: "{HOSTILE}"
          statement: "{HOSTILE}"
          attest: {{by: "{HOSTILE}", date: 2026-11-01, found: conforms, remark: "{HOSTILE}"}}
          remark: "{HOSTILE}"
          clause: "{HOSTILE}"
          checks: [mass.check.nothing]
        - id: ours
          group: second
          statement: Weighs at most 1500 lb.
          ours: true
          compare: {{result: mass.condition.start_line.total, most: 1500 lb}}
"""
WORDS = ("mass", "rules", "inspection")


class _Tables(HTMLParser):
    """The rows of all tables: the row's attributes, and of each cell its classes and text."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[tuple[dict[str, str], list[tuple[list[str], str]]]] = []
        self.cell: list[str] | None = None
        self.classes: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {k: v or "" for k, v in attrs}
        if tag == "tr":
            self.rows.append((given, []))
        elif tag in ("td", "th"):
            self.cell, self.classes = [], given.get("class", "").split()
        elif self.cell is not None:
            self.classes += given.get("class", "").split()

    def handle_data(self, data: str) -> None:
        if self.cell is not None and data != ROW:  # hidden: for the search alone
            self.cell.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th") and self.cell is not None:
            self.rows[-1][1].append((self.classes, " ".join("".join(self.cell).split())))
            self.cell = None


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    build, problems = read_text(tmp_path_factory.mktemp("rules"), TEXT)
    assert [p for p in problems if p.severity == "error"] == []
    assert build is not None
    chosen = load_subjects(WORDS)
    files = compose(evaluate(build, as_of=DAY, subjects=chosen), subjects=chosen).files
    found = {name: files[f"docs/{name}.md"].decode() for name in (*WORDS, "index", "open-items")}
    return found | {"binder": files["docs/binder.html"].decode()}


def _rows(page: str, key: str) -> list[tuple[dict[str, str], list[tuple[list[str], str]]]]:
    tables = _Tables()
    tables.feed(page)
    return [(given, cells) for given, cells in tables.rows if key in given.get("class", "")]


def test_conformance_and_margin_stand_in_columns_of_their_own(pages: dict[str, str]) -> None:
    rows = {
        given["id"].rsplit(".", 1)[1]: (given, cells)
        for given, cells in _rows(pages["rules"], "mb-line")
    }
    assert list(rows) == ["holds", "short", "blower", "letters", "hostile", "ours"]
    for given, (_, _, conformance, margin, _) in rows.values():
        assert "mb-state" in conformance[0]
        assert "mb-verdict" not in conformance[0]
        assert "mb-state" not in margin[0]
        # what colours the row is its state alone
        assert {c for c in given["class"].split() if c.startswith("mb-row-")} == {
            f"mb-row-{given['data-state'].replace(' ', '-')}"
        }
    departs, short = rows["holds"], rows["short"]
    assert (departs[0]["data-state"], short[0]["data-state"]) == ("departs", "conforms")
    # 1600 lb stands evenly on four wheels: 400 lbf each, against 9000 and 100 lbf
    assert departs[1][3][1].startswith("holds over +1,000 %")
    assert short[1][3][1].startswith("short −75.0 %")


def test_states_can_be_reached_by_a_link_alone(pages: dict[str, str]) -> None:
    page = pages["rules"]
    for state in ("departs", "open", "waived", "conforms", "not-applicable"):
        assert f'href="#own-{state}"' in page
        assert f'class="mb-show mb-show-{state}" id="own-{state}"' in page
    for group in ("all", "first", "second"):
        assert f'id="own{"-" if group == "all" else "."}{group}"' in page


def test_a_groups_fold_says_what_is_in_it(pages: dict[str, str]) -> None:
    """Of two lines one departs; of four none departs and none is open, the waived one apart."""
    folds = re.findall(r"<details[^>]*data-group><summary>(.*?)</summary>", pages["rules"])
    said = [re.sub(r"<[^>]+>", "", fold) for fold in folds]
    assert said[0] == "First group: 2 lines, 1 departs"
    assert said[1].endswith(": 4 lines, 1 departs")
    assert len(said) == 2


def test_the_counts_leave_the_teams_own_apart(pages: dict[str, str]) -> None:
    """Of the rules: one departs, none open, one waived, two conform, one does not apply."""
    tables = _Tables()
    tables.feed(pages["rules"])
    counts = {cells[0][1]: [c[1] for c in cells[1:]] for _, cells in tables.rows if len(cells) == 7}
    assert counts["Of the rules"] == ["1", "0", "1", "2", "1", "5"]
    assert counts["The team's own, beyond the rules"] == ["1", "0", "0", "0", "0", "1"]


def test_the_front_page_counts_conformance_apart_from_margins(pages: dict[str, str]) -> None:
    tables = _Tables()
    tables.feed(pages["index"])
    rows = [[c[1] for c in cells] for _, cells in tables.rows]
    assert ["Requirements", "1", "0", "1", "2", "1"] in rows
    assert ["The team's own lines, beyond the rules", "1", "0", "0", "0", "0"] in rows
    assert any(
        row[0] == "Mass and centre of gravity" and row[1:] == ["1", "0", "4"] for row in rows
    )
    assert ["Requirements", "0", "0", "0"] not in rows  # it has no margins, and so no such row


def test_the_paper_names_the_part_of_the_dossier_that_proves_a_line(pages: dict[str, str]) -> None:
    """The number is that of the table of contents, and the part itself bears it."""
    listed = pages["binder"].partition("</nav>")[0]
    contents = re.findall(r'<li><a href="#([\w-]+)">', listed)
    assert contents[:3] == ["index", "open-items", "mass"]
    parts = re.findall(r'<section class="mb-sheet" id="([\w-]+)">', pages["binder"])
    assert parts == contents
    assert "counter-increment: mb-part" in pages["binder"]


def test_the_paper_has_a_line_an_item_and_room_for_each_inspector(pages: dict[str, str]) -> None:
    page = pages["inspection"]
    tables = _Tables()
    tables.feed(page)
    lines = [cells for _, cells in tables.rows if cells and cells[0][1].isdigit()]
    assert [cells[0][1] for cells in lines] == ["1", "2", "3", "4", "5", "6"]
    for cells in lines:
        assert sum("mb-initial" in classes and not text for classes, text in cells) == 2
    assert [cells[2][1] for cells in lines] == [
        "departs", "conforms", "n/a", "waived", "conforms", "departs",
    ]  # fmt: skip
    assert lines[2][-1][1] == "no supercharger"
    assert lines[3][-1][1] == "R. Ekdahl, 7"
    assert lines[5][-1][1] == "Mass and centre of gravity (3)"
    assert page.count('class="mb-blank"') == BLANK
    assert "mb-verdict" not in page  # no margin reaches the paper
    assert "not a rulebook" in page


@pytest.mark.parametrize("name", ["rules", "inspection", "open-items", "index"])
def test_hostile_words_stay_words(pages: dict[str, str], name: str) -> None:
    page = pages[name]
    assert "<script>alert" not in page
    assert "](javascript" not in page
    assert not re.search(r"\*\*b\*\*", page)


def test_an_id_that_no_check_has_is_shown_as_that(pages: dict[str, str]) -> None:
    assert "no check mass.check.nothing" in pages["rules"]


def test_a_page_composes_where_nothing_is_known(tmp_path: Path) -> None:
    text = """format: 1
vehicle: {name: Wren}
rules:
  sheets:
    - id: own
      title: Own sheet
      groups: [{id: g, title: Group}, {id: empty, title: Empty}]
      requirements:
        - {id: a, group: g, statement: A., follows: [gear.requirement]}
"""
    build, problems = read_text(tmp_path, text)
    assert problems == ()
    assert build is not None
    chosen = load_subjects(("rules", "inspection"))
    found = evaluate(build, as_of=DAY, subjects=chosen)
    files = compose(found, subjects=chosen).files
    assert found.problems == ()
    for word in ("rules", "inspection"):
        page = files[f"docs/{word}.md"].decode()
        assert "None" not in page
        assert "Empty" not in page
