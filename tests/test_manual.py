"""The snippets of the manual: each says which section it belongs to and in which file it may stand, and is read."""

from __future__ import annotations

import datetime
import re
import textwrap
from pathlib import Path
from typing import Any

import pytest
import yaml

from buildspec.documents import read_yaml
from buildspec.read import read_folder
from buildspec.schema import words
from buildspec.validate import validate
from generator.evaluation import evaluate

PAGES = Path(__file__).parents[1] / "docs" / "how-to"
STARTER = Path(__file__).parents[1] / "generator" / "starter" / "build.yaml"
DESCRIBED = (
    "air",
    "cage",
    "clock",
    "egress",
    "fire",
    "gear",
    "mass",
    "parachutes",
    "reach",
    "rotating",
    "speed",
    "stability",
    "stopping",
    "vehicle",
    "vents",
)


def _snippets(page: str) -> list[str]:
    return re.findall(r"```yaml\n(.*?)```", (PAGES / f"{page}.md").read_text("utf-8"), re.DOTALL)


SNIPPETS = [
    pytest.param(snippet, id=f"{page}-{number}")
    for page in DESCRIBED
    for number, snippet in enumerate(_snippets(page), 1)
]
PARTS_OF_RULES = [
    pytest.param(snippet, id=f"{page}-{number}")
    for page in ("evidence", "plan", "rules")
    for number, snippet in enumerate(
        re.findall(
            r"```yaml\n(\w+: # in rules.*?)```", (PAGES / f"{page}.md").read_text("utf-8"), re.S
        )
    )
]
LEFT_OUT = {"key.missing", "value.count"}
"""What a snippet may lack: it shows a part of a section."""


@pytest.mark.parametrize("snippet", SNIPPETS)
def test_a_snippet_names_its_section_and_its_file(snippet: str) -> None:
    first = snippet.split("\n", 1)[0]
    word = first.split(":", 1)[0]
    assert word in words()
    assert first == f"{word}: # in build.yaml; in {word}.yaml leave this line out"


@pytest.mark.parametrize("snippet", SNIPPETS)
def test_a_snippet_is_read_by_the_program(snippet: str) -> None:
    document = read_yaml(snippet, "build.yaml")
    assert document.problems == ()
    wrong = [d.message for _, d in validate(document) if d.code not in LEFT_OUT]
    assert wrong == []


def test_the_parts_of_rules_that_have_pages_of_their_own_are_among_them() -> None:
    assert [p.values[0].split(":", 1)[0] for p in PARTS_OF_RULES] == [
        "evidence",
        "people",
        "sheets",
        "equipment",
    ]


@pytest.mark.parametrize("snippet", PARTS_OF_RULES)
def test_a_part_of_rules_is_read_where_its_page_says(snippet: str) -> None:
    assert snippet.split("\n", 1)[0].endswith(": # in rules.yaml; in build.yaml below `rules:`")
    document = read_yaml("rules:\n" + textwrap.indent(snippet, "  "), "build.yaml")
    assert document.problems == ()
    assert [d.message for _, d in validate(document) if d.code not in LEFT_OUT] == []


def test_the_snippets_put_together_describe_a_vehicle(tmp_path: Path) -> None:
    """Who follows the pages from what `new` writes ends with a description that is read and computed.

    The cage is left out: its joints are tables of the reader's own. Of the three ways to give the
    power the first is taken, and the exit of the page takes the place of the starter's.
    """
    whole = {k: v for k, v in _data(STARTER.read_text("utf-8")).items() if k != "egress"}
    for page in DESCRIBED:
        seen: set[str] = set()
        for snippet in () if page == "cage" else _snippets(page):
            part = _data(snippet)
            if not (page == "speed" and "drive" in part and "drive" in seen):
                whole = _joined(whole, part)
            seen |= part.keys()
    text = yaml.safe_dump(whole, allow_unicode=True, sort_keys=False)
    (tmp_path / "build.yaml").write_text(text, "utf-8")
    reading = read_folder(tmp_path)
    assert [(p.code, p.message) for p in reading.problems if p.severity == "error"] == []
    assert reading.build is not None
    found = evaluate(reading.build, as_of=datetime.date(2026, 11, 28))
    computed = {c.subject for c in found.checks if c.margin is not None}
    assert computed >= {*DESCRIBED} - {"air", "cage", "gear", "vehicle"}


def _data(text: str) -> dict[str, Any]:
    return dict(read_yaml(text, "build.yaml").data)


def _joined(one: Any, other: Any) -> Any:
    """What two parts of a description say together: keys side by side, entries by their ids."""
    if isinstance(one, dict) and isinstance(other, dict):
        return {k: _joined(one.get(k), other.get(k)) for k in {**one, **other}}
    entries = [e for part in (one, other) if isinstance(part, list) for e in part]
    if isinstance(one, list) and isinstance(other, list) and all("id" in e for e in entries):
        by_id: dict[str, Any] = {}
        for entry in entries:
            by_id[entry["id"]] = _joined(by_id.get(entry["id"]), entry)
        return list(by_id.values())
    return one if other is None else other
