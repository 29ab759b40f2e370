"""The snippets of the manual: each says which section it belongs to and in which file it may stand, and is read."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path

import pytest

from buildspec.documents import read_yaml
from buildspec.schema import words
from buildspec.validate import validate

PAGES = Path(__file__).parents[1] / "docs" / "how-to"
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
SNIPPETS = [
    pytest.param(snippet, id=f"{page}-{number}")
    for page in DESCRIBED
    for number, snippet in enumerate(
        re.findall(r"```yaml\n(.*?)```", (PAGES / f"{page}.md").read_text("utf-8"), re.DOTALL), 1
    )
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
