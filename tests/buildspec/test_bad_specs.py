"""Every wrong description in `tests/specs/bad/` is answered with exactly the text beside it."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from buildspec import documents
from buildspec.read import read_folder
from tests.buildspec.bad_specs import EXPECTED, folders, rendered

#: Words of the libraries underneath that must never reach a user.
FOREIGN = (
    "Traceback",
    "jsonschema",
    "is not of type",
    "is a required property",
    "Error(",
    "while scanning",
    "while parsing",
    "could not determine a constructor",
    "pint",
)

ONLY_WARNINGS = {
    "file_unused",
    "condition_fills_solid",
    "cage_crossing",
    "driver_outside_cage",
    "thousands_with_points",
    "cage_loose_end",
    "cage_massless",
    "evidence_digest_missing",
    "plan_done_before_its_time",
    "cage_wall_thinner",
    "wheels_of_one_axle_a_finger_apart",
    "mass_place_with_thousands",
    "signs_turned_round",
    "drive_rolling_radius",
    "drill_conditions_in_one",
    "chute_losses_as_lost",
    "drive_fuel_flow_too_much",
    "shape_body_radius",
    "cage_held_on_one_side",
    "cage_belts_aft",
    "cage_load_held",
    "cage_load_upward",
    "cage_stub",
    "cage_two_helmets",
    "cage_sizes_unlikely",
    "wheel_radius_in_the_wrong_unit",
}


@pytest.mark.parametrize("folder", folders(), ids=lambda f: f.name)
def test_each_is_answered_exactly(folder: Path) -> None:
    assert rendered(folder) == (folder / EXPECTED).read_text("utf-8")


@pytest.mark.parametrize("folder", folders(), ids=lambda f: f.name)
def test_a_build_comes_out_only_where_there_is_no_error(folder: Path) -> None:
    assert (read_folder(folder).build is not None) == (folder.name in ONLY_WARNINGS)


@pytest.mark.parametrize("folder", folders(), ids=lambda f: f.name)
def test_the_slower_parser_finds_the_same(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """PyYAML without libyaml words its faults differently; codes and lines must not change."""
    quick = [(p.code, p.place.file, p.place.line) for p in read_folder(folder).problems]
    monkeypatch.setattr(documents, "_LOADER", yaml.SafeLoader)
    slow = [(p.code, p.place.file, p.place.line) for p in read_folder(folder).problems]
    if folder.name == "tab_inside":  # it refuses tabs between key and value as well
        assert slow == [("yaml.tab", "build.yaml", 3)]
    else:
        assert slow == quick


@pytest.mark.parametrize("folder", folders(), ids=lambda f: f.name)
def test_no_words_of_the_libraries_show(folder: Path) -> None:
    said = "\n".join(f"{p.message}\n{p.help}" for p in read_folder(folder).problems)
    assert not [word for word in FOREIGN if word in said]


@pytest.mark.parametrize("folder", folders(), ids=lambda f: f.name)
def test_each_mark_lies_inside_its_line(folder: Path) -> None:
    reading = read_folder(folder)
    for problem in reading.problems:
        place = problem.place
        if place.line:
            line = reading.texts[place.file].splitlines()[place.line - 1]
            assert 1 <= place.column <= max(len(line), 1), problem
            assert place.column - 1 + place.width <= max(len(line), 1), problem


def test_there_are_enough_of_them() -> None:
    assert len(folders()) >= 60
