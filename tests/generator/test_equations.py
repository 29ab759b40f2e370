"""Worked steps as MathML: what is shown is what ran, in units that multiply out."""

from __future__ import annotations

import importlib
import pkgutil
import re
from xml.etree import ElementTree as Tree

import numpy as np
import pytest

import generator.formulas
from buildspec.kinds import System
from generator import equations
from generator.equations import lines, mathml, units_for
from generator.formulas.formula import REGISTRY, Formula, Symbol
from generator.vocabulary import Result
from generator.work import work
from tests.generator.scene import MOMENT, PLACE

for _module in pkgutil.iter_modules(generator.formulas.__path__):
    importlib.import_module(f"generator.formulas.{_module.name}")


def _drag(*, rho: float, v: float, cd: float, area: float) -> float:
    return 0.5 * rho * v**2 * cd * area


DRAG: Formula[..., float] = Formula(
    "test.drag",
    r"F_{D} = \frac{1}{2} \rho v^{2} C_{D} A",
    {
        "rho": Symbol(r"\rho", "density", "density"),
        "v": Symbol("v", "speed", "speed"),
        "cd": Symbol("C_{D}", "ratio", "drag coefficient"),
        "area": Symbol("A", "area", "reference area"),
    },
    Symbol("F_{D}", "force", "drag"),
    "definition of the drag coefficient",
    _drag,
)


def _text(markup: str) -> str:
    return "".join(Tree.fromstring(markup).itertext())


def _moment(count: int) -> equations.Lines:
    numbers = np.arange(1.0, count + 1.0)
    return lines(work(MOMENT, "m", "m", mass=numbers, x=numbers), System.SI)


def test_a_short_sum_is_written_out() -> None:
    # 2 kg · 2 m and so on, by hand
    assert _text(_moment(2).numbers) == "Mx=((1.000kg)(1.000m)+(2.000kg)(2.000m))"


def test_a_sum_of_one_term_has_no_brackets_around_it() -> None:
    assert _text(_moment(1).numbers) == "Mx=(1.000kg)(1.000m)"


def test_a_long_sum_shows_its_first_two_terms_and_its_last() -> None:
    shown = _text(_moment(60).numbers)
    assert shown == "Mx=((1.000kg)(1.000m)+(2.000kg)(2.000m)+⋯+(60.00kg)(60.00m))"


def test_an_empty_sum_stays_symbols() -> None:
    assert "∑" in _text(_moment(0).numbers)


def test_pounds_and_inches_are_shown_where_they_multiply_out() -> None:
    step = work(
        PLACE, "p", "p", moment=Result("a", "a", 60.0, "mass moment"), mass=20.0, origin=0.5
    )
    shown = lines(step, System.US)
    assert not shown.si
    # 60 kg·m / (0.45359237 · 0.0254) = 5207.8 lb·in; 20 kg = 44.09 lb; 0.5 m = 19.69 in
    assert _text(shown.numbers) == "xCG=5,208lb·in44.09lb−19.69in"
    assert pytest.approx(2.5 / 0.0254, rel=1e-3) == 5208 / 44.09 - 19.69  # four figures shown


def test_mixed_units_that_do_not_multiply_out_give_way_to_si() -> None:
    step = work(DRAG, "d", "d", rho=1.2, v=100.0, cd=0.3, area=0.5)
    shown = lines(step, System.US)
    assert shown.si
    assert _text(shown.numbers) == "FD=12(1.200kg/m³)(100.0m/s)2(0.3000)(0.5000m²)"
    assert units_for(step, System.US)["speed"] == "m/s"


def test_a_negative_number_stands_in_parentheses() -> None:
    step = work(PLACE, "p", "p", moment=6.0, mass=2.0, origin=-1.0)
    assert _text(lines(step, System.SI).numbers) == "xCG=6.000kg·m2.000kg−(−1.000m)"


def test_a_number_that_a_function_takes_stands_in_parentheses() -> None:
    made: Formula[..., float] = Formula(
        "test.slope",
        r"y = a \tan{b}",
        {"a": Symbol("a", "ratio", "a"), "b": Symbol("b", "angle", "b")},
        Symbol("y", "ratio", "y"),
        "definition of a tangent",
        lambda *, a, b: float(a * np.tan(b)),
    )
    shown = lines(work(made, "y", "y", a=2.0, b=0.5), System.SI)
    assert _text(shown.numbers) == "y=(2.000)tan(0.5000rad)"
    gaps = [e for e in Tree.fromstring(shown.symbols).iter() if e.tag.endswith("mspace")]
    assert len(gaps) == 2, "a gap before the function's name and one after it"
    assert "mspace" not in mathml(r"\sin(b)"), "no gap before a bracket"


@pytest.mark.parametrize(
    "inside",
    [
        '<a href="javascript:alert(1)">x</a>',
        "<script>x</script>",
        '<mi onclick="x">x</mi>',
        '<mi style="x">x</mi>',
        '<maction actiontype="x"><mi>x</mi></maction>',
        '<mi href="x">x</mi>',
    ],
)
def test_what_the_allow_list_does_not_name_is_refused(inside: str) -> None:
    with pytest.raises(ValueError, match="an equation makes"):
        equations._clean(f'<math xmlns="http://www.w3.org/1998/Math/MathML">{inside}</math>')


@pytest.mark.parametrize("name", sorted(REGISTRY))
def test_every_formula_can_be_shown(name: str) -> None:
    made = REGISTRY[name]
    shown = mathml(made.equation)
    assert shown.startswith("<math ")
    assert "\\" not in _text(shown), "a command that the converter does not know"
    known = {equations._plain(m[0]) for m in equations._TOKEN.finditer(made.equation)}
    assert {equations._plain(s.tex) for s in made.symbols.values()} <= known, (
        "a symbol that is not in the equation"
    )


def test_words_in_subscripts_stand_upright_and_letters_do_not() -> None:
    assert re.findall(r'mathvariant="normal">(\w)', mathml("x_{CG} + m_{i}")) == ["C", "G"]


def test_a_power_raises_all_that_its_brackets_hold() -> None:
    """LaTeX readers raise the closing bracket alone, which leaves the pair of unequal height."""
    root = Tree.fromstring(mathml(r"y = \left( \frac{a}{b} \right) (c + d)^{2}"))
    power = next(e for e in root.iter() if e.tag.endswith("msup"))
    assert "".join(power[0].itertext()) == "(c+d)"
    assert all(e.get("stretchy") != "false" for e in root.iter() if e.text in {"(", ")"})


def test_brackets_that_do_not_match_stay_where_they_are() -> None:
    root = Tree.fromstring(mathml(r"y = ) a ("))
    assert "".join(root.itertext()) == "y=)a("


@pytest.mark.parametrize("exponent", [5.256, -2.0])
def test_a_number_in_an_exponent_is_raised_whole(exponent: float) -> None:
    made: Formula[..., float] = Formula(
        "test.power",
        r"y = (\frac{a}{b})^n",
        {name: Symbol(name, "ratio", name) for name in "abn"},
        Symbol("y", "ratio", "power"),
        "definition of a power",
        lambda *, a, b, n: (a / b) ** n,
    )
    shown = lines(work(made, "y", "y", a=2.0, b=3.0, n=exponent), System.SI).numbers
    power = next(e for e in Tree.fromstring(shown).iter() if e.tag.endswith("msup"))
    assert float("".join(power[1].itertext()).replace("−", "-").strip("()")) == exponent
