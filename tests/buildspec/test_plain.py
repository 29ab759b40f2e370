"""Patches of plain data: by id, alone or together, and never in the data they were given."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from buildspec.plain import Patch, entry_ids, find, patched

DATA: dict[str, Any] = {"items": [{"id": "a", "m": 1}, {"id": "b", "m": 2}], "plain": [1, 2]}


def names(data: Any) -> list[str] | None:
    return entry_ids(data["items"])


def test_an_entry_goes_behind_the_nearest_of_its_neighbours_that_is_there() -> None:
    new = {"id": "x"}
    assert names(patched(DATA, [Patch("add", ("items", "x"), new, ("gone", "a"))])) == [
        "a",
        "x",
        "b",
    ]
    assert names(patched(DATA, [Patch("add", ("items", "x"), new, ("gone",))])) == ["x", "a", "b"]
    assert names(patched(DATA, [Patch("add", ("items", "x"), new, ("b", "a"))])) == ["a", "b", "x"]


def test_values_are_set_added_dropped_and_sorted() -> None:
    assert find(patched(DATA, [Patch("set", ("items", "b", "m"), 5)]), ("items", "b", "m")) == 5
    assert names(patched(DATA, [Patch("drop", ("items", "a"))])) == ["b"]
    assert names(patched(DATA, [Patch("order", ("items",), ["b", "a"])])) == ["b", "a"]
    assert patched(DATA, [Patch("add", ("new",), {"k": 1})])["new"] == {"k": 1}
    assert patched(DATA, [Patch("drop", ("plain",))]).keys() == {"items"}


@pytest.mark.parametrize("address", [("items", "c", "m"), ("items", 7), ("none", "x")])
def test_a_patch_that_does_not_fit_is_an_error(address: tuple[str | int, ...]) -> None:
    with pytest.raises(KeyError):
        patched(DATA, [Patch("set", (*address, "y"), 1)])


def test_the_data_given_stays_as_it_was() -> None:
    before = copy.deepcopy(DATA)
    patched(DATA, [Patch("set", ("items", "a", "m"), 9), Patch("drop", ("items", "b"))])
    assert before == DATA


@pytest.mark.parametrize(
    "entries", [[1], [{"id": "a"}, {}], [{"id": "a"}, {"id": "a"}], "text", None]
)
def test_ids_are_only_taken_where_every_entry_has_its_own(entries: Any) -> None:
    assert entry_ids(entries) is None
