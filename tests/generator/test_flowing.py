"""A long equation goes on in the next line, and still says what it said."""

from __future__ import annotations

from xml.etree import ElementTree as Tree

import numpy as np
import pytest

from buildspec.kinds import System
from generator import flowing
from generator.equations import Lines, lines, mathml
from generator.formulas.formula import Formula, Symbol
from generator.markup import Markup
from generator.work import work
from tests.generator.scene import MOMENT

LONG = r"y = \frac{" + " + ".join(f"a_{{{n}}} b_{{{n}}}" for n in range(1, 25)) + "}{c}"


def _pieces(markup: Markup) -> list[str]:
    roots = [Tree.fromstring(piece) for piece in flowing.flowing(markup).split("<wbr>")]
    return ["".join(root.itertext()) for root in roots]


def _moment(count: int) -> Lines:
    numbers = np.arange(1.0, count + 1.0)
    return lines(work(MOMENT, "m", "m", mass=numbers, x=numbers), System.SI)


def test_a_short_equation_stays_as_it_is() -> None:
    shown = mathml("F = m a")
    assert flowing.flowing(shown) == shown


def test_a_long_sum_begins_its_pieces_at_a_sign_or_a_factor() -> None:
    """The equals sign stays with the left side, which never stands alone in a line."""
    assert _pieces(_moment(3).numbers) == [
        "Mx=",
        "((1.000kg)",
        "(1.000m)",
        "+(2.000kg)",
        "(2.000m)",
        "+(3.000kg)",
        "(3.000m))",
    ]


@pytest.mark.parametrize("shown", [_moment(4).numbers, mathml(LONG)], ids=["sum", "fraction"])
def test_nothing_is_lost_and_nothing_changes_its_place(shown: Markup) -> None:
    assert "".join(_pieces(shown)) == "".join(Tree.fromstring(shown).itertext())


def test_a_root_or_a_fraction_behind_a_factor_may_go_on_in_the_next_line() -> None:
    long = " + ".join(f"d_{{{n}}} e_{{{n}}}" for n in range(9))
    shown = mathml(
        rf"y = \left(a_1 + b_1\right) \sqrt{{{long}}} \left(a_2 + b_2\right) \frac{{{long}}}{{c}}"
    )
    heads = [p[:3] for p in _pieces(shown)]
    assert heads == ["y=", "(a1", "d0e", "(a2", "d0e"]


@pytest.mark.parametrize("letters", ["abc", "abcdefgh"])
def test_deep_inside_factors_stand_one_below_another(letters: str) -> None:
    """Five roots leave a fraction's rows little room: less than two factors need, or even one."""
    one, two = ("".join(f"{letter}_{{{n}}}" for letter in letters) for n in (1, 2))
    tex = r"y = " + r"\left(b + c \sqrt{" * 5 + rf"\frac{{({one})({two})}}{{d}}" + r"}\right)" * 5
    whole = Tree.fromstring(flowing.flowing(mathml(tex)).split("<wbr>")[1])
    cells = ["".join(e.itertext()) for e in whole.iter() if e.tag.endswith("mtd")]
    assert cells[-2:] == ["(" + "".join(f"{letter}{n}" for letter in letters) + ")" for n in "12"]


def test_a_sign_that_opens_a_line_is_spaced_as_between_two_terms() -> None:
    """A browser spaces a sign at the head of an expression as a prefix unless told otherwise."""
    pieces = flowing.flowing(_moment(3).numbers).split("<wbr>")
    signs = [e for p in pieces for e in Tree.fromstring(p) if e.text in ("+", "=")]
    assert len(signs) == 3
    assert {s.get("form") for s in signs} == {"infix"}


def test_what_is_long_in_a_fraction_is_stacked_in_rows_that_begin_with_a_sign() -> None:
    whole = flowing.flowing(mathml(LONG))
    fraction = next(e for e in Tree.fromstring(whole.split("<wbr>")[1]).iter() if "mfrac" in e.tag)
    cells = ["".join(e.itertext()) for e in fraction.iter() if e.tag.endswith("mtd")]
    assert len(cells) > 1
    assert cells[0].startswith("a1b1+")
    assert all(c.startswith("+") for c in cells[1:])


def test_the_name_of_a_function_keeps_its_argument() -> None:
    terms = " + ".join(rf"\sin(a_{{{n}}}) \exp(b_{{{n}}})" for n in range(1, 8))
    pieces = _pieces(mathml(f"y = {terms}"))
    assert len(pieces) > 5
    assert not [p for p in pieces if p.endswith(("sin", "exp"))]
    assert not [p for p in pieces if p.startswith("(")]


def test_a_tall_bracket_stays_in_one_piece() -> None:
    """Brackets grow with what they hold; opened, they would stand at unequal heights."""
    terms = " + ".join(rf"\frac{{a_{{{n}}}}}{{b}}" for n in range(1, 40))
    pieces = _pieces(mathml(f"y = d ({terms}) - c"))
    assert [p for p in pieces if p.startswith("(")] == [p for p in pieces if p.endswith(")")]


def test_a_term_already_in_brackets_gets_no_second_pair() -> None:
    made: Formula[..., float] = Formula(
        "test.bracketed",
        r"y = \sum_{i}{(a_i - b)}",
        {"a": Symbol("a_i", "ratio", "a", each=True), "b": Symbol("b", "ratio", "b")},
        Symbol("y", "ratio", "sum"),
        "definition of a sum",
        lambda *, a, b: float(np.sum(a - b)),
    )
    shown = lines(work(made, "y", "y", a=np.array([1.0, 2.0]), b=0.5), System.SI).numbers
    assert "".join(Tree.fromstring(shown).itertext()) == "y=((1.000−0.5000)+(2.000−0.5000))"
