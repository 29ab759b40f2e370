"""How problems print: the whole text is quoted, the mark included."""

from __future__ import annotations

import json
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildspec.diagnostics import (
    CANDIDATES,
    MOST,
    WIDEST,
    Diagnostic,
    Note,
    Place,
    closest,
    harmless,
    in_order,
    listed,
    position,
    quoted,
    render,
    render_concise,
    to_json,
)


def one(line: str, start: int, width: int) -> list[str]:
    """The two lines of a snippet: what is shown, and the mark."""
    problem = Diagnostic("a.b", "m", Place("f", 1, start, width))
    return render([problem], {"f": line}).splitlines()[2:4]


def test_the_whole_text() -> None:
    problems = [
        Diagnostic(
            "b.c",
            "second",
            Place("f.yaml", 3, 4, 2),
            "do that",
            (Note(Place("g.yaml", 1, 1, 3), "here"),),
        ),
        Diagnostic("a.b", "first", Place("f.yaml", 1, 1, 1), severity="warning"),
        Diagnostic("z.z", "whole", Place("f.yaml")),
    ]
    assert (
        render(problems, {"f.yaml": "a: 1\nb: 2\nc: xy\n", "g.yaml": "abc"})
        == """\
f.yaml  error[z.z]
  whole

f.yaml:1:1  warning[a.b]
  first
     1 | a: 1
       | ^

f.yaml:3:4  error[b.c]
  second
     3 | c: xy
       |    ^^
  do that
  g.yaml:1:1: here
     1 | abc
       | ^^^

2 errors and 1 warning in 1 file
"""
    )


def test_nothing_is_nothing() -> None:
    assert (render([], {}), render_concise([]), to_json([])) == ("", "", [])


def test_concise() -> None:
    problems = [Diagnostic("a.b", "x\x1b[2J", Place("f", 2, 3)), Diagnostic("c.d", "y", Place("e"))]
    assert render_concise(problems) == "e: error[c.d]: y\nf:2:3: error[a.b]: x\ufffd[2J\n"


def test_json_holds_everything_as_it_is() -> None:
    problem = Diagnostic(
        "a.b", "x\x1b", Place("f", 2, 3, 4), "h", (Note(Place("g"), "n"),), "warning"
    )
    assert json.loads(json.dumps(to_json([problem]))) == [
        {
            "code": "a.b",
            "severity": "warning",
            "message": "x\x1b",
            "help": "h",
            "place": {"file": "f", "line": 2, "column": 3, "width": 4},
            "notes": [{"text": "n", "place": {"file": "g", "line": 0, "column": 0, "width": 1}}],
        }
    ]


def test_each_problem_once_and_in_order() -> None:
    first, second = Diagnostic("a", "m", Place("f", 1, 9)), Diagnostic("a", "m", Place("f", 10, 1))
    assert in_order([second, first, second]) == (first, second)


def test_tabs_count_as_they_are_shown() -> None:
    assert one("\ta:\tx", 5, 1) == ["     1 |     a:    x", "       |           ^"]


def test_wide_and_combining_characters_take_their_columns() -> None:
    """East Asian Width W and F take two columns (Unicode Standard Annex 11)."""
    assert one("漢字: x", 5, 1) == ["     1 | 漢字: x", "       |       ^"]
    assert one("e\u0301: x", 5, 1) == ["     1 | e\u0301: x", "       |    ^"]
    assert one("a漢字", 2, 2) == ["     1 | a漢字", "       |  ^^^^"]


@given(
    line=st.text(
        alphabet=st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp", "Mn", "Me", "Cf"]),
        max_size=400,
    ),
    start=st.integers(1, 400),
    width=st.integers(1, 400),
)
def test_the_mark_stands_under_what_it_marks(line: str, start: int, width: int) -> None:
    shown, mark = one(line, start, width)

    def cells(text: str) -> int:
        return sum(
            2 if unicodedata.east_asian_width(c) in "WF" else 1
            for c in text
            if not unicodedata.combining(c)
        )

    assert cells(shown) <= WIDEST + len("     1 | ") + 2
    assert 1 <= mark.count("^") <= WIDEST
    marked = line[start - 1 : start - 1 + width]
    before = mark.index("^")
    column, at = 0, 0
    while column < before and at < len(shown):
        column += cells(shown[at])
        at += 1
    if marked and marked == marked.strip() and shown[at:]:
        assert shown[at] == marked[0]


def test_a_long_line_is_cut_on_both_sides() -> None:
    shown, mark = one("a" * 500 + "HERE" + "b" * 500, 501, 4)
    assert shown.startswith("     1 | …a")
    assert shown.endswith("b…")
    assert shown.index("HERE") == mark.index("^")
    assert mark.count("^") == 4


@pytest.mark.parametrize("place", [Place("f", 9, 1), Place("f", 0), Place("x", 1, 1)])
def test_a_place_without_a_line_shows_none(place: Place) -> None:
    assert "|" not in render([Diagnostic("a", "m", place)], {"f": "text"})


def test_only_so_many_are_shown_and_all_are_counted() -> None:
    many = [Diagnostic("a", "m", Place("f", n, 1)) for n in range(1, MOST + 51)]
    text = render(many, {})
    assert text.count("error[a]") == MOST
    assert text.endswith(f"\n{MOST + 50} errors in 1 file; the first {MOST} are shown\n")


def test_colour_is_only_added() -> None:
    problems = [
        Diagnostic("a", "m", Place("f", 1, 1)),
        Diagnostic("b", "n", Place("f", 1, 2), severity="warning"),
    ]
    coloured = render(problems, {"f": "xy"}, colour=True)
    assert "\x1b[31m" in coloured
    plain = coloured
    for code in ("\x1b[1m", "\x1b[31m", "\x1b[33m", "\x1b[2m", "\x1b[0m"):
        plain = plain.replace(code, "")
    assert plain == render(problems, {"f": "xy"})


HOSTILE = "\x1b[31m\x07\u202eabc\u2066\u200b\x9b\r\n\t\ud800"


def test_text_of_users_cannot_steer_a_terminal() -> None:
    problem = Diagnostic(
        "a.b", HOSTILE, Place(HOSTILE, 1, 1), HOSTILE, (Note(Place(HOSTILE), HOSTILE),)
    )
    for text in (render([problem], {HOSTILE: HOSTILE}), render_concise([problem])):
        for character in text.replace("\n", ""):
            assert unicodedata.category(character) not in ("Cc", "Cs", "Zl", "Zp")
            assert unicodedata.bidirectional(character) not in (
                "RLO",
                "LRO",
                "RLE",
                "LRE",
                "RLI",
                "LRI",
                "FSI",
                "PDI",
                "PDF",
            )
        text.encode("utf-8")


@given(st.text())
def test_harmless_text_keeps_its_length_and_its_good_characters(text: str) -> None:
    safe = harmless(text)
    assert len(safe) == len(text)
    assert all(a in (b, "\ufffd") for a, b in zip(safe, text, strict=True))
    assert harmless(safe) == safe


def test_words_in_sentences() -> None:
    assert quoted("x" * 99) == "`" + "x" * 60 + "…`"
    assert listed(["a", "b", "c"], most=2) == "`a`, `b` and 1 more"
    assert closest("feul", ("fuel", "frame")) == "fuel"
    assert closest("FUEL", ("frame", "fuel")) == "fuel"
    assert closest("driver", ("fuel", "frame")) is None
    assert closest("b", ()) is None
    assert closest("target", [f"x{n}" for n in range(CANDIDATES)] + ["target"]) is None  # bounded
    assert position("ab\ncd") == (2, 3)
