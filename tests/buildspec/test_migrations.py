"""Older formats go on being read, each value with the line it was written at; newer ones are refused."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from buildspec.documents import read_yaml
from buildspec.migrations import MIGRATIONS, migrated, moved
from buildspec.read import read_folder
from buildspec.schema import FORMAT
from generator.evaluation import evaluate

OLD = Path(__file__).parents[1] / "specs" / "old"
TEXT = """format: 1
car: {name: Wren}
mass:
  limit: 900 lb
  items:
    - {id: a, weight: 3 lb}
"""


def test_there_is_a_step_from_every_older_format_and_a_folder_in_it() -> None:
    assert set(MIGRATIONS) == set(range(1, FORMAT))
    assert {p.name for p in OLD.iterdir()} >= {f"format_{n}" for n in range(1, FORMAT + 1)}


@pytest.mark.parametrize("folder", sorted(OLD.iterdir()), ids=lambda p: p.name)
def test_old_descriptions_are_read_with_their_meaning(folder: Path) -> None:
    reading = read_folder(folder)
    assert [p for p in reading.problems if p.severity == "error"] == []
    assert reading.build is not None
    found = evaluate(reading.build, as_of=datetime.date(2027, 1, 15))
    total = found.outcomes["mass"].by_id["mass.condition.start_line.total"].value
    written = 380 + 460 + 120 + 190 + 260 + 195 + 30  # lb, as the file says
    assert total == pytest.approx(written * 0.45359237, rel=1e-12)  # exactly, by definition
    assert found.outcomes["egress"].checks


def test_steps_are_taken_one_after_the_other() -> None:
    document = read_yaml(TEXT, "build.yaml")
    steps = {
        1: lambda d: moved(d, ("car",), ("vehicle",)),
        2: lambda d: moved(d, ("mass", "limit"), ("mass", "limits", "total")),
    }
    assert migrated(document, steps, to=3).data == {
        "format": 3,
        "vehicle": {"name": "Wren"},
        "mass": {"limits": {"total": "900 lb"}, "items": [{"id": "a", "weight": "3 lb"}]},
    }
    assert migrated(document, steps, to=2).data["mass"]["limit"] == "900 lb"  # type: ignore[index]
    assert document.data["format"] == 1, "what was read stays as it was"  # type: ignore[index]


def test_what_moved_keeps_its_line() -> None:
    document = moved(read_yaml(TEXT, "build.yaml"), ("mass", "limit"), ("mass", "limits", "total"))
    assert document.place(("mass", "limits", "total")).line == 4
    assert document.key(("mass", "limits", "total")).line == 4
    entry = moved(document, ("mass", "items", 0, "weight"), ("mass", "items", 0, "mass"))
    assert entry.data["mass"]["items"] == [{"id": "a", "mass": "3 lb"}]  # type: ignore[index]
    assert entry.place(("mass", "items", 0, "mass")).line == 6


@pytest.mark.parametrize(
    "old", [("none",), ("mass", "none"), ("format", "x"), ("mass", "items", 7, "x")]
)
def test_what_is_not_there_is_not_moved(old: tuple[str | int, ...]) -> None:
    document = read_yaml(TEXT, "build.yaml")
    assert moved(document, old, ("elsewhere",)) is document


@pytest.mark.parametrize("given", ["2", "true", "one", "0", "-1", "[1]"])
def test_what_is_no_older_format_is_left_to_be_reported(given: str) -> None:
    document = read_yaml(f"format: {given}\nvehicle: {{name: Wren}}\n", "build.yaml")
    assert migrated(document, {1: lambda d: d}, to=2) is document


def test_a_newer_format_is_refused_with_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "build.yaml").write_text(f"format: {FORMAT + 1}\nnothing: known\n", "utf-8")
    reading = read_folder(tmp_path)
    assert reading.build is None
    (problem,) = reading.problems
    assert problem.code == "format.newer"
    assert problem.help == "use a newer version of the program"
    assert (problem.place.file, problem.place.line) == ("build.yaml", 1)
