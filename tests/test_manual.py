"""The snippets of the manual: each says which section it belongs to and in which file it may stand, and is read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from buildspec.documents import read_yaml
from buildspec.schema import words
from buildspec.validate import validate

PAGES = Path(__file__).parents[1] / "docs" / "how-to"
DESCRIBED = (
    "air",
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
