"""What the exact texts of `tests/specs/bad/` leave open: one mistake gives one problem."""

from __future__ import annotations

import pytest

from buildspec.validate import example_line, homes_of, is_date
from tests.buildspec.descriptions import HEAD, MASS, codes, reading_of


@pytest.mark.parametrize(
    ("text", "good"),
    [
        # ISO 8601 calendar dates in the extended format; the other forms it knows are not ours
        ("2026-11-25", True),
        ("2024-02-29", True),
        ("2026-02-29", False),
        ("20261125", False),
        ("2026-W10-1", False),
        ("2026-330", False),
        ("2026-1-5", False),
        ("2026-11-25T10:00", False),
        (" 2026-11-25", False),
        ("２０２６-11-25", False),
    ],
)
def test_dates(text: str, good: bool) -> None:
    assert is_date(text) == good


@pytest.mark.parametrize("date", ["2026-11-25", '"2026-11-25"', "'2026-11-25'"])
def test_a_date_may_be_quoted_or_not(date: str) -> None:
    assert codes(HEAD + f"event: {{name: Meeting, date: {date}}}\n") == []


ITEM = "    - {{id: a, name: A, mass: {0}, x: 1 in, z: 1 in}}\n"


@pytest.mark.parametrize(
    "value",
    [
        "",
        "12",
        "[1 lb]",
        "{value: 1}",
        "{value: }",
        "{}",
        "{value: 1 lb, plus_minus: 2}",
        "{value: 1 lb, basis: x}",
        "{valeu: 1 lb}",
        "-1 lb",
        "1 in",
        "nan",
        "*a",
        "!t 1 lb",
        "1:30",
        "no",
        "true",
        "{value: [1 lb]}",
        "{value: 1 lb, coverage: 2, distribution: triangular}",
    ],
)
def test_a_wrong_quantity_gives_one_problem(value: str) -> None:
    text = HEAD + MASS.replace("  conditions", ITEM.format(value) + "  conditions")
    assert len(codes(text)) == 1


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("design_condition", "design_conditon"),
        ("  items:", "  itmes:"),
        ("name: Frame", "nmae: Frame"),
        ("vehicle:", "vehicel:"),
        ("mass: 300 lb", "mass: 300 lb, mass: 301 lb"),
        ("id: frame", "id: Frame 1"),
    ],
)
def test_a_wrong_key_gives_no_second_problem(old: str, new: str) -> None:
    assert len(codes((HEAD + MASS).replace(old, new, 1))) == 1


def test_what_could_not_be_read_is_not_missed_elsewhere() -> None:
    text = HEAD + "mass:\n  items: items.csv\n  conditions: [{id: c, without: [fuel]}]\n"
    text += "  design_condition: c\n"
    assert codes(text) == ["file.missing"]
    assert codes(text, items_csv=b"\xff\xfe") == ["file.encoding"]
    assert codes(text, items_csv='id,"name\n') == ["table.quote"]


def test_faults_of_several_files_come_at_once_and_in_order() -> None:
    reading = reading_of(HEAD + "event: {}\n", mass_yaml="items: [", venue_yaml="nmae: x\n")
    assert [p.place.file for p in reading.problems] == ["build.yaml", "mass.yaml", "venue.yaml"]


def test_sections_that_are_sound_are_looked_into_beside_broken_ones() -> None:
    """A mistake in `event` does not hide that all wheels stand on one axle."""
    wheels = "wheels: {positions: [{id: a, x: 0 in, y: 1 in}, {id: b, x: 0 in, y: 2 in}]}\n"
    assert codes(HEAD + "event: {}\n" + wheels) == ["key.missing", "wheels.axle"]


def test_a_section_may_be_a_single_word_in_its_own_file() -> None:
    assert codes(HEAD, units_yaml="si\n") == []
    assert codes(HEAD, units_yaml="metric\n") == ["value.choice"]


def test_where_a_key_belongs() -> None:
    assert homes_of("elevation") == ("venue",)
    assert homes_of("scales") == ("mass.weighings",)
    assert homes_of("name") == ()  # in too many places to be of help
    assert homes_of("nonsense") == ()


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("mass", "items", 0, "mass"), "mass: 285 lb"),
        (("vehicle", "number"), 'number: "417"'),
        (("wheels", "positions", 0, "steered"), "steered: true"),
        (("egress", "activities", 0, "after"), "after: [stop]"),
        (("vehicle",), "vehicle: {name: Copper Wren}"),
        (("mass", "items", 0, "x", "plus_minus"), "plus_minus: 0.01 in"),
    ],
)
def test_lines_to_add(path: tuple[str | int, ...], line: str) -> None:
    assert example_line(str(path[-1]), path) == line
