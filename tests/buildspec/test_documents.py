"""YAML as it is read: scalars of YAML 1.2, and the place of everything."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from buildspec import documents
from buildspec.diagnostics import Place
from buildspec.documents import read_yaml
from buildspec.scalars import Ambiguous, resolve

LOADERS = [yaml.SafeLoader, getattr(yaml, "CSafeLoader", yaml.SafeLoader)]


@pytest.fixture(params=LOADERS, ids=["python", "libyaml"])
def loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setattr(documents, "_LOADER", request.param)
    return request.param


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        # YAML 1.2.2, 10.3.2 "Tag resolution" (core schema); from memory
        ("null", None),
        ("~", None),
        ("", None),
        ("true", True),
        ("False", False),
        ("0", 0),
        ("-19", -19),
        ("+12", 12),
        ("0.", 0.0),
        ("-0.0", -0.0),
        (".5", 0.5),
        ("+12e03", 12000.0),
        ("-2E+05", -200000.0),
        ("1e3", 1000.0),
        # text in 1.2 and in ours
        ("2026-11-25", "2026-11-25"),
        ("12 in", "12 in"),
        ("-", "-"),
        ("+", "+"),
        (".", "."),
        ("1.2.3", "1.2.3"),
        ("12:99", "12:99"),
        ("e3", "e3"),
        ("nan", "nan"),
        ("y", "y"),
        ("=", "="),
        ("1,5", "1,5"),
        ("--1", "--1"),
    ],
)
def test_scalars_of_yaml_1_2(text: str, meaning: object) -> None:
    found = resolve(text)
    assert found == meaning
    assert type(found) is type(meaning)


@pytest.mark.parametrize(
    "text",
    [
        # read otherwise by YAML 1.1 (its type repository), or no number at all
        "yes",
        "No",
        "ON",
        "off",
        "010",
        "-07",
        "0o7",
        "0x1F",
        "0b11",
        "1_000",
        "1_0.5",
        "1:30",
        "-1:30:05",
        "190:20:30.15",
        ".nan",
        ".NaN",
        ".inf",
        "-.INF",
        "1e999",
        "9" * 41,
    ],
)
def test_scalars_that_are_refused(text: str) -> None:
    found = resolve(text)
    assert isinstance(found, Ambiguous)
    assert found.help


def test_what_yaml_1_1_reads_otherwise_never_passes_as_something_else() -> None:
    """PyYAML reads YAML 1.1: where it makes something else of a scalar, we refuse it."""
    for text in ("yes", "no", "on", "off", "010", "1:30", "1_000", "0x1F", ".nan", ".inf", "0b11"):
        assert not isinstance(yaml.safe_load(text), str)
        assert isinstance(resolve(text), Ambiguous)


@given(st.text(max_size=60))
def test_no_scalar_raises(text: str) -> None:
    resolve(text)


def test_places_of_scalars(loader: Any) -> None:
    text = "a: 1\nb:\n  c: \"x y\"\n  d: [p, 'q', {r: 2 in}]\ne:\n- f: 1\n  g: 2\n- h\n"
    document = read_yaml(text, "f.yaml")
    assert document.data == {
        "a": 1,
        "b": {"c": "x y", "d": ["p", "q", {"r": "2 in"}]},
        "e": [{"f": 1, "g": 2}, "h"],
    }
    assert document.place(("a",)) == Place("f.yaml", 1, 4, 1)
    assert document.place(("b", "c")) == Place("f.yaml", 3, 6, 5)
    assert document.place(("b", "d")) == Place("f.yaml", 4, 3, 1)  # a collection: by its key
    assert document.place(("b", "d", 1)) == Place("f.yaml", 4, 10, 3)
    assert document.place(("b", "d", 2, "r")) == Place("f.yaml", 4, 19, 4)
    assert document.place(("e", 0)) == Place("f.yaml", 6, 3, 1)  # an entry: by its first key
    assert document.place(("e", 1)) == Place("f.yaml", 8, 3, 1)
    assert document.key(("b", "c")) == Place("f.yaml", 3, 3, 1)
    assert document.values[("b", "d")].place == Place("f.yaml", 4, 6, 19)


def test_places_inside_a_scalar(loader: Any) -> None:
    document = read_yaml("a: 12 lbs\nb: '12 lbs'\nc: \"12\\u0020lbs\"\nd: |\n  12 lbs\n", "f.yaml")
    assert document.values[("a",)].part(3, 6) == Place("f.yaml", 1, 7, 3)
    assert document.values[("b",)].part(3, 6) == Place("f.yaml", 2, 8, 3)
    assert document.values[("c",)].part(3, 6) == Place("f.yaml", 3, 4, 13)  # the whole
    assert document.values[("d",)].part(3, 6).line == 4


def test_columns_count_characters_not_bytes(loader: Any) -> None:
    document = read_yaml("名前: 速 x\n", "f.yaml")
    assert document.place(("名前",)) == Place("f.yaml", 1, 5, 3)


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_every_kind_of_line_end(ends: str, loader: Any) -> None:
    document = read_yaml(ends.join(["a: 1", "b: 2", "c: 3", ""]), "f.yaml")
    assert document.data == {"a": 1, "b": 2, "c": 3}
    assert document.place(("c",)).line == 3


def test_a_prefix_puts_the_content_where_it_belongs() -> None:
    document = read_yaml("items: [1]\n", "mass.yaml", ("mass",))
    assert document.data == {"items": [1]}
    assert document.place(("mass", "items", 0)) == Place("mass.yaml", 1, 9, 1)


def test_a_syntax_error_leaves_nothing_to_complain_about(loader: Any) -> None:
    document = read_yaml("a: {b: [\n", "f.yaml", ("mass",))
    assert (document.data, document.broken) == (None, frozenset({("mass",)}))
    assert len(document.problems) == 1


def test_what_a_repeated_key_holds_is_not_looked_into(loader: Any) -> None:
    document = read_yaml("a: {b: 1}\na: {c: *x, d: {e: !t 1}}\nf: 2\n", "f.yaml")
    assert document.data == {"a": {"b": 1}, "f": 2}
    assert document.problems[0].code == "key.repeated"
    assert document.problems[0].notes[0].place == Place("f.yaml", 1, 1, 1)


plain = st.recursive(
    st.text(alphabet="abcxyz 9.é速", min_size=1, max_size=8)
    | st.integers(-999, 999)
    | st.booleans()
    | st.none(),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(alphabet="abc_", min_size=1, max_size=5), inner, max_size=4)
    ),
    max_leaves=20,
)


@given(data=st.dictionaries(st.sampled_from("abcdef"), plain, max_size=4), flow=st.booleans())
def test_what_is_dumped_is_read_back(data: dict[str, object], flow: bool) -> None:
    """The data of any YAML that PyYAML writes, and a place in the text for every value of it."""
    text = yaml.safe_dump(data, allow_unicode=True, default_flow_style=flow, width=10**6)
    document = read_yaml(text, "f.yaml")
    assert document.problems == ()
    assert document.data == data
    lines = text.splitlines()
    for path, spot in document.values.items():
        if spot.inner >= 0 and spot.text:
            line = lines[spot.place.line - 1]
            start = spot.place.column - 1 + spot.inner
            assert line[start : start + len(spot.text)] == spot.text, path
