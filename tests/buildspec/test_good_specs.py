"""Good descriptions read without a problem, and every value of theirs can be traced."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildspec.read import read_folder

ROOT = Path(__file__).parents[2]
FOLDERS = [
    *sorted(path.parent for path in (ROOT / "tests" / "specs" / "good").glob("*/build.yaml")),
    ROOT / "generator" / "starter",
    ROOT / "example_build",
]


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda f: f.name)
def test_it_reads_without_a_problem(folder: Path) -> None:
    reading = read_folder(folder)
    assert reading.problems == ()
    assert reading.build is not None


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda f: f.name)
def test_every_value_stands_where_its_place_says(folder: Path) -> None:
    """The characters at the place of a value are those it is said to be written with."""
    reading = read_folder(folder)
    assert reading.build is not None
    for quantity in reading.build.quantities.values():
        place = quantity.place
        assert place is not None
        assert place.line > 0 or quantity.default
        if not quantity.default:
            line = reading.texts[place.file].splitlines()[place.line - 1]
            there = line[place.column - 1 : place.column - 1 + place.width].strip("\"' ")
            assert there, quantity.id
            assert quantity.written.startswith(there), quantity.id


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda f: f.name)
def test_reading_twice_gives_the_same(folder: Path) -> None:
    first, second = read_folder(folder), read_folder(folder)
    assert first == second
