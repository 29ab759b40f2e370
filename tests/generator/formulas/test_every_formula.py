r"""Every formula of the program is proven here, and none can stay out.

What a formula must be, so that its equation is what runs:

- `equation` is `result = right-hand side`, and the left side is the `tex` of `result`.
- A symbol is one letter or one Greek command with at most one subscript: `m`, `\rho`, `F_{D}`,
  `m_i`. Every symbol of the right-hand side has a `Symbol`, and every `Symbol` stands in it. No two
  symbols share a spelling, and none has that of the result.
- The right-hand side may use `+`, `-`, products by juxtaposition or `\cdot`, `\frac{}{}`,
  `\sqrt{}`, `^2` or `^{}`, parentheses with or without `\left` and `\right`, numbers, `\pi`, and
  `\ln`, `\exp`, `\sin`, `\cos`, `\tan`, `\arcsin`, `\arccos`, `\arctan`, `\operatorname{erf}`
  followed by braces or parentheses. `|x|`, `\min` and cases are no part of it: write the case as a
  formula of its own.
- A sum is `\sum_{i}{...}` with a braced body. A symbol of an array has `each=True`, an index i
  (`m_i`) and stands in sums only. A subscript `_i` on anything else is refused.
- What is no closed equation (a quantile, an iteration, a table) is an ordinary function.
- The function takes the symbols by keyword, uses plain arithmetic and numpy, and so can be called
  with quantities that carry units; that is how its dimension is proven. Functions of a pure number
  may come from `math`, since a quantity without dimension turns into a float.
- A docstring, a source that is not empty, and a valid range where the equation has one: the random
  inputs come from it.
"""

from __future__ import annotations

import importlib
import math
import pkgutil
import re
from collections.abc import Mapping
from typing import Any

import numpy as np
import pint
import pytest
import sympy as sp

import generator.formulas
from buildspec.kinds import KINDS
from generator.formulas.formula import REGISTRY, Formula, Symbol

from . import latex

for _module in pkgutil.iter_modules(generator.formulas.__path__):
    importlib.import_module(f"generator.formulas.{_module.name}")

EVERY = tuple(REGISTRY.values())
WANTED, TRIES = 12, 3000
RELATIVE = 1e-9
"""Both sides are double precision of the same expression; cancellation costs a few digits."""

PINT = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)

AnyFormula = Formula[Any, Any]
Inputs = Mapping[str, Any]


# ------------------------------------------------------------------------------ the proofs


def both_ways(one: AnyFormula) -> tuple[frozenset[str], frozenset[str]]:
    """Symbols of the equation that have no `Symbol`, and those that have one but stand nowhere."""
    said = latex.symbols_in(one.equation.split("=", 1)[1])
    known = frozenset(latex.plain(s.tex) for s in one.symbols.values())
    return said - known, known - said


def mistakes_of_form(one: AnyFormula) -> list[str]:
    """Everything about a formula that is not as the rules above want it."""
    left, _, right = one.equation.partition("=")
    spellings = [latex.plain(s.tex) for s in one.symbols.values()]
    unknown, idle = both_ways(one)
    found = [
        ("no docstring", not (one.function.__doc__ or "").strip()),
        ("no source", not one.source.strip()),
        ("left side is not the result", latex.plain(left) != latex.plain(one.result.tex)),
        ("two equal signs", "=" in right),
        (f"symbols without a meaning: {sorted(unknown)}", bool(unknown)),
        (f"symbols that stand nowhere: {sorted(idle)}", bool(idle)),
        ("two symbols of one spelling", len(set(spellings)) != len(spellings)),
        ("the result is one of the symbols", latex.plain(one.result.tex) in spellings),
        ("an unknown kind", any(s.kind not in KINDS for s in (*one.symbols.values(), one.result))),
        ("an empty meaning", not all(s.meaning for s in (*one.symbols.values(), one.result))),
        (
            "an index without an array, or an array without one",
            any(s.each != bool(re.search(r"_\{?i\}?$", s.tex)) for s in one.symbols.values()),
        ),
    ]
    return [words for words, wrong in found if wrong]


def right_side(one: AnyFormula) -> tuple[sp.Expr, dict[str, Any]]:
    """The equation's right side in sympy, and its sympy symbols by the names of the arguments."""
    named = {name: _sympy(name, s) for name, s in one.symbols.items()}
    by_tex = {s.tex: named[name] for name, s in one.symbols.items()}
    return latex.read(one.equation.split("=", 1)[1], by_tex), named


def _sympy(name: str, symbol: Symbol) -> Any:
    if symbol.each:
        return tuple(sp.Symbol(f"{name}_{i}") for i in range(latex.TERMS))
    return sp.Symbol(name)


def by_equation(one: AnyFormula, inputs: Inputs) -> float | None:
    """The right side at these inputs; None where it is no real, finite number."""
    expression, named = right_side(one)
    given: dict[sp.Symbol, float] = {}
    for name, symbols in named.items():
        pairs = (
            [(symbols, inputs[name])]
            if isinstance(symbols, sp.Symbol)
            else zip(symbols, inputs[name], strict=True)
        )
        given |= {s: sp.Float(float(v), 30) for s, v in pairs}
    value = sp.N(expression.subs(given), 30)
    return float(value) if value.is_real and value.is_finite else None


def by_function(one: AnyFormula, inputs: Inputs) -> float | None:
    """What the function returns; None where that is no real, finite number."""
    try:
        with np.errstate(all="ignore"):
            value = one(**inputs)
    except (ArithmeticError, ValueError):
        return None
    return float(value) if np.isreal(value) and math.isfinite(value) else None


def random_inputs(one: AnyFormula, rng: np.random.Generator) -> dict[str, Any]:
    """Inputs inside the valid range, of the size that is usual where a range is open."""
    return {n: _random(s, rng, latex.TERMS if s.each else None) for n, s in one.symbols.items()}


def _random(symbol: Symbol, rng: np.random.Generator, size: int | None) -> Any:
    least, most = symbol.least, symbol.most
    if least is not None and most is not None:
        return rng.uniform(least, most, size)
    if least is not None:
        return least + max(abs(least), 1.0) * rng.uniform(0.05, 2.0, size)
    if most is not None:
        return most - max(abs(most), 1.0) * rng.uniform(0.05, 2.0, size)
    return rng.uniform(0.05, 3.0, size) * rng.choice([1.0, 1.0, -1.0], size)


def disagreements(one: AnyFormula, seed: int = 1) -> list[str]:
    """Where equation and function differ, at random inputs at which they have a value."""
    rng, agreed, found = np.random.default_rng(seed), 0, []
    for _ in range(TRIES):
        inputs = random_inputs(one, rng)
        ours = by_function(one, inputs)
        if ours is None:
            continue
        theirs = by_equation(one, inputs)
        if theirs is None or abs(ours - theirs) > RELATIVE * max(abs(ours), abs(theirs), 1e-6):
            found.append(f"{inputs}: function {ours!r}, equation {theirs!r}")
        agreed += 1
        if agreed == WANTED:
            return found
    return [*found, f"only {agreed} of {TRIES} random inputs have a value"]


def unit_of(kind: str) -> Any:
    """The SI unit of a kind, as pint has it."""
    return PINT.Quantity(1.0, KINDS[kind].units[0].name).to_base_units().units


def wrong_dimension(one: AnyFormula, seed: int = 2) -> str:
    """What is wrong with the dimension of the result; "" where nothing is."""
    rng, quantity = np.random.default_rng(seed), PINT.Quantity
    for _ in range(TRIES):
        inputs = random_inputs(one, rng)
        if by_function(one, inputs) is None:
            continue
        given = {n: quantity(v, unit_of(one.symbols[n].kind)) for n, v in inputs.items()}
        try:
            found = quantity(one(**given))
        except Exception as error:
            return f"{type(error).__name__}: {error}"
        wanted = quantity(1.0, unit_of(one.result.kind))
        same = found.dimensionality == wanted.dimensionality
        return "" if same else f"{found.dimensionality}, and {wanted.dimensionality} is due"
    return "no random input has a value"


# ------------------------------------------------------------------------------- the tests


def test_every_module_of_formulas_is_seen() -> None:
    modules = {m.name for m in pkgutil.iter_modules(generator.formulas.__path__)} - {"formula"}
    assert {"egress", "mass", "margin"} <= modules
    assert {one.name.split(".")[0] for one in EVERY} <= modules
    assert len(EVERY) >= 30


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.name)
def test_its_form_is_as_the_rules_want_it(one: AnyFormula) -> None:
    assert mistakes_of_form(one) == []


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.name)
def test_its_equation_is_what_runs(one: AnyFormula) -> None:
    assert disagreements(one) == []


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.name)
def test_its_result_has_the_dimension_it_says(one: AnyFormula) -> None:
    assert wrong_dimension(one) == ""


# ------------------------------------------------------ the proofs notice what they are for


def toy(
    equation: str, result: Symbol, body: Any, source: str = "a toy", **symbols: Symbol
) -> AnyFormula:
    """A formula that is no part of the program's own list."""
    body.__doc__ = "A toy."
    return Formula("toy", equation, symbols, result, source, body)


SPEED, TIME = Symbol("v", "speed", "speed"), Symbol("t", "time", "time")
WAY = Symbol("s", "distance", "way")


def test_a_right_formula_passes() -> None:
    one = toy("s = v t", WAY, lambda v, t: v * t, v=SPEED, t=TIME)
    assert (mistakes_of_form(one), disagreements(one), wrong_dimension(one)) == ([], [], "")


@pytest.mark.parametrize(
    "body",
    [
        lambda v, t: v * t * 1.0000001,
        lambda v, t: v * t + 1e-5,
        lambda v, t: v / t,
        lambda v, t: abs(v * t),
    ],
)
def test_another_function_than_the_equation_is_noticed(body: Any) -> None:
    assert disagreements(toy("s = v t", WAY, body, v=SPEED, t=TIME))


def test_a_wrong_dimension_is_noticed() -> None:
    assert wrong_dimension(toy("s = v t", TIME, lambda v, t: v * t, v=SPEED, t=TIME))
    assert wrong_dimension(toy("s = v + t", WAY, lambda v, t: v + t, v=SPEED, t=TIME))


def test_a_number_with_a_hidden_dimension_is_noticed() -> None:
    one = toy(r"s = v t + 9.81", WAY, lambda v, t: v * t + 9.81, v=SPEED, t=TIME)
    assert disagreements(one) == []
    assert "DimensionalityError" in wrong_dimension(one)


def test_a_function_that_never_has_a_value_is_noticed() -> None:
    one = toy("s = v t", WAY, lambda v, t: math.nan * v * t, v=SPEED, t=TIME)
    assert "only 0 of" in disagreements(one)[-1]


@pytest.mark.parametrize(
    ("equation", "words"),
    [
        ("s = v t x", "without a meaning"),
        ("s = v", "stand nowhere"),
        ("x = v t", "left side"),
    ],
)
def test_symbols_that_do_not_match_are_noticed(equation: str, words: str) -> None:
    one = toy(equation, WAY, lambda v, t: v * t, v=SPEED, t=TIME)
    assert any(words in mistake for mistake in mistakes_of_form(one))


def test_a_missing_source_and_an_array_without_index_are_noticed() -> None:
    array = Symbol("v", "speed", "speeds", each=True)
    one = toy("s = v t", WAY, lambda v, t: v * t, source=" ", v=array, t=TIME)
    assert mistakes_of_form(one) == [
        "no source",
        "an index without an array, or an array without one",
    ]


# -------------------------------------------------------------------- the reader of LaTeX

X, Y = sp.symbols("x y")
ARRAY = sp.symbols("a_0 a_1 a_2")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("x y", X * Y),
        ("x (1 + y)", X * (1 + Y)),
        (r"x \left(1 - y\right)^{2}", X * (1 - Y) ** 2),
        ("x^{2} y^2", X**2 * Y**2),
        ("x^y y", X**Y * Y),
        ("-x^2", -(X**2)),
        ("x - y - 1", X - Y - 1),
        (r"\frac{x}{2} \ln{\frac{1}{1 - y}}", X / 2 * sp.log(1 / (1 - Y))),
        (r"1 - \exp(-\frac{x}{y})", 1 - sp.exp(-X / Y)),
        (r"2 \sqrt{x} \cdot 1.5", 3 * sp.sqrt(X)),
        (r"0.5^{\frac{x}{y}} y", sp.Rational(1, 2) ** (X / Y) * Y),
        (r"\operatorname{erf}\left(x\right) \pi", sp.erf(X) * sp.pi),
        (r"\sin(x) y", sp.sin(X) * Y),
        (r"\sum_{i}{(a_i - x)^2} y", Y * sum((a - X) ** 2 for a in ARRAY)),
        (r"\frac{\sum_{i}{a_i}}{x}", sum(ARRAY) / X),
    ],
)
def test_the_reader_reads_what_a_textbook_means(text: str, expected: sp.Expr) -> None:
    found = latex.read(text, {"x": X, "y": Y, "a_{i}": ARRAY})
    assert sp.simplify(found - expected) == 0


@pytest.mark.parametrize(
    "text", ["x + q", "a_i", r"\max(x)", "x |y|", "x)", r"\frac{x}", "x = y", "x^12", "x^"]
)
def test_the_reader_refuses_what_it_does_not_know(text: str) -> None:
    with pytest.raises(latex.UnreadableError):
        latex.read(text, {"x": X, "y": Y, "a_{i}": ARRAY})
