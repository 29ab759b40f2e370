"""A worked step as three lines of MathML: symbols, numbers with their units, result.

Only equations written in this program reach the LaTeX reader; numbers and units are put into its
output afterwards, and text of the description never comes near either.
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree as Tree

import numpy as np
from latex2mathml.converter import convert

from buildspec.kinds import KINDS, System
from buildspec.quantities import digits, from_si
from generator.formulas.formula import Symbol
from generator.markup import Markup
from generator.vocabulary import Argument, WorkedStep

_NAMESPACE = "http://www.w3.org/1998/Math/MathML"
_TAGS = frozenset(
    {
        "math",
        "mrow",
        "mi",
        "mn",
        "mo",
        "ms",
        "mtext",
        "mspace",
        "mfrac",
        "msqrt",
        "mroot",
        "msub",
        "msup",
        "msubsup",
        "munder",
        "mover",
        "munderover",
        "mtable",
        "mtr",
        "mtd",
        "mstyle",
        "mpadded",
        "mfenced",
    }
)
_ATTRIBUTES = frozenset(
    {
        "display",
        "mathvariant",
        "stretchy",
        "fence",
        "form",
        "separator",
        "lspace",
        "rspace",
        "width",
        "height",
        "depth",
        "linethickness",
        "displaystyle",
        "scriptlevel",
        "columnalign",
        "rowspacing",
        "columnspacing",
        "movablelimits",
        "accent",
        "accentunder",
        "symmetric",
        "minsize",
        "maxsize",
        "largeop",
    }
)
_TOKEN = re.compile(r"(?:\\[A-Za-z]+|[A-Za-z])(?:_(?:\{[^{}]*\}|[A-Za-z0-9]))?")
_SUM = re.compile(r"\\sum_\{?i\}?\s*")
_WORD = re.compile(r"_\{([A-Za-z]{2,})\}")
_FUNCTION = re.compile(r"\\(?:sin|cos|tan|arcsin|arccos|arctan|ln|exp)\{?$")
_HELD = re.compile(r"\[\[(\d+)\]\]")
SHOWN_TERMS = 4
"""A sum of more terms than this shows its first two and its last."""

Units = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Lines:
    """A worked step's symbols and its numbers as MathML, and the symbol its result has.

    `si` says that the numbers are in SI units although the page prints another system first.
    """

    symbols: Markup
    numbers: Markup
    result: Markup
    si: bool


@dataclass(frozen=True, slots=True)
class _Written:
    """LaTeX in which held places stand for numbers, and what each of them holds."""

    tex: str
    held: tuple[str, ...]


def lines(step: WorkedStep, system: System) -> Lines:
    """The lines of a step. Numbers are in units that multiply out to the unit of the result."""
    units = units_for(step, system)
    left, right = (side.strip() for side in step.formula.equation.split("=", 1))
    written = _substituted(right, step, units)
    return Lines(
        mathml(step.formula.equation),
        _filled(mathml(rf"{left} = {written.tex}"), written.held),
        mathml(step.formula.result.tex, block=False),
        si=units == _SI,
    )


@functools.lru_cache(maxsize=1024)
def mathml(tex: str, *, block: bool = True) -> Markup:
    """LaTeX of this program as MathML. Words in subscripts stand upright."""
    upright = _WORD.sub(r"_{\\mathrm{\1}}", tex)
    return Markup(_clean(convert(upright, display="block" if block else "inline")))


def symbol(of: Symbol) -> Markup:
    """One symbol, inline."""
    return mathml(of.tex, block=False)


def _clean(text: str) -> str:
    """The MathML with nothing in it but what the allow-lists name; ValueError otherwise."""
    root = Tree.fromstring(text)
    for element in root.iter():
        element.tag = element.tag.removeprefix(f"{{{_NAMESPACE}}}")
        if element.tag not in _TAGS:
            raise ValueError(f"an equation makes the element {element.tag}")
        if strange := set(element.attrib) - _ATTRIBUTES:
            raise ValueError(f"an equation makes the attributes {sorted(strange)}")
    for element in list(root.iter()):
        _grow_brackets(element)
        _space_functions(element)
    root.set("xmlns", _NAMESPACE)
    return Tree.tostring(root, encoding="unicode")


def _grow_brackets(row: Tree.Element) -> None:
    """Put each pair of round brackets in a row of its own, as high as what it encloses."""
    rows: list[list[Tree.Element]] = [[]]
    for child in list(row):
        if _is(child, "("):
            rows.append([child])
        elif len(rows) > 1 and _is(_closing(child), ")"):
            inside = rows.pop()
            rows[-1].append(_grouped(inside, child))
        else:
            rows[-1].append(child)
    row[:] = [child for open_row in rows for child in open_row]


def _closing(child: Tree.Element) -> Tree.Element:
    """The element itself, or what a power raises: LaTeX raises the closing bracket alone."""
    return child[0] if child.tag == "msup" else child


def _grouped(inside: list[Tree.Element], last: Tree.Element) -> Tree.Element:
    """What stands between two brackets, with them, in a row; a power then raises all of it."""
    group = Tree.Element("mrow")
    group.extend([*inside, _closing(last)])
    if last.tag != "msup":
        return group
    last[0] = group
    return last


def _space_functions(row: Tree.Element) -> None:
    """Put a small gap around the name of a function, but none before its bracket or beside a sign."""
    children: list[Tree.Element] = []
    for child in list(row):
        last = children[-1] if children else None
        if last is not None and (_gap_before(last, child) or _gap_after(last, child)):
            children.append(Tree.Element("mspace", {"width": "0.17em"}))
        children.append(child)
    row[:] = children


def _gap_before(last: Tree.Element, child: Tree.Element) -> bool:
    return _is_function(child) and last.tag != "mo"


def _gap_after(last: Tree.Element, child: Tree.Element) -> bool:
    inner = child[0] if child.tag in {"mrow", "msup"} and len(child) else child
    inner = inner[0] if inner.tag == "mrow" and len(inner) else inner
    return _is_function(last) and not _is(inner, "(")


def _is_function(element: Tree.Element) -> bool:
    return element.tag == "mi" and len(element.text or "") > 1 and (element.text or "").isalpha()


def _is(element: Tree.Element, bracket: str) -> bool:
    """Whether this is that bracket; if so it may grow."""
    if element.tag != "mo" or element.text != bracket:
        return False
    element.attrib.pop("stretchy", None)
    return True


# ----------------------------------------------------------------------------- units

_SI: Units = {name: kind.si if kind.si != "1" else "" for name, kind in KINDS.items()}


@functools.cache
def _choices(system: System) -> tuple[Units, ...]:
    """Sets of units to try, from the most to the least familiar."""
    printed = {name: kind.printed_unit(system) for name, kind in KINDS.items()}
    printed |= {"share": "", "angle": "rad"}
    longer = printed | {"length": "ft" if system is System.US else "m"}
    return (printed, longer) if system is System.US else (longer,)


def units_for(step: WorkedStep, system: System) -> Units:
    """The most familiar units in which the numbers, worked as written, give the result."""
    fitting = (units for units in _choices(system) if _fits(step, units))
    return next(fitting, _SI)


def _fits(step: WorkedStep, units: Units) -> bool:
    symbols = step.formula.symbols
    numbers: dict[str, Any] = {
        a.name: _number(a, symbols[a.name].kind, units) for a in step.arguments
    }
    wanted = _in(step.value, step.formula.result.kind, units)
    try:
        found = float(step.formula(**numbers))
    except (ArithmeticError, ValueError):
        return False
    return math.isclose(found, wanted, rel_tol=1e-9, abs_tol=1e-12)


def _number(argument: Argument, kind: str, units: Units) -> Any:
    values = [_in(v, kind, units) for v in argument.values]
    return values[0] if argument.scalar else np.array(values)


def _in(value: float, kind: str, units: Units) -> float:
    return value if units is _SI else from_si(value, kind, units[kind])


# ----------------------------------------------------------------------------- numbers


def _substituted(right: str, step: WorkedStep, units: Units) -> _Written:
    """The right-hand side with a held place for every known symbol."""
    given = {a.name: a for a in step.arguments}
    known = {_plain(s.tex): (s, given[n]) for n, s in step.formula.symbols.items() if n in given}
    held: list[str] = []

    def put(match: re.Match[str], tex: str, index: int | None) -> str:
        symbol_, argument = known.get(_plain(match[0]), (None, None))
        if symbol_ is None or argument is None or (symbol_.each and index is None):
            return match[0]
        value = argument.values[index or 0 if symbol_.each else 0]
        held.append(_mathml_number(value, symbol_.kind, units))
        place = rf"\text{{[[{len(held) - 1}]]}}"
        if match.string[: match.start()].endswith("^"):
            return f"{{{place}}}"  # as one group, or the power would take its bracket alone
        return place if value >= 0 and _alone(tex, match) else f"({place})"

    def hold(tex: str, index: int | None) -> str:
        return _TOKEN.sub(lambda m: put(m, tex, index), tex)

    return _Written("".join(_pieces(right, known, hold)), tuple(held))


def _pieces(right: str, known: Mapping[str, Any], hold: Any) -> Iterator[str]:
    """The right-hand side in pieces, every sum over i written out."""
    at = 0
    while found := _SUM.search(right, at):
        yield hold(right[at : found.start()], None)
        body, at = _braced(right, found.end())
        yield _sum(body, known, hold)
    yield hold(right[at:], None)


def _sum(body: str, known: Mapping[str, Any], hold: Any) -> str:
    tokens = {_plain(m[0]) for m in _TOKEN.finditer(body)}
    lengths = [len(a.values) for t, (s, a) in known.items() if s.each and t in tokens]
    count = min(lengths, default=0)
    if not count:
        return rf"\sum_{{i}}{{{body}}}"
    chosen = range(count) if count <= SHOWN_TERMS else (0, 1, count - 1)
    bare = re.search(r"[+-]", body) and not _enclosed(body)
    terms = [f"({hold(body, i)})" if bare else str(hold(body, i)) for i in chosen]
    if count == 1:
        return terms[0]
    if count > SHOWN_TERMS:
        terms.insert(2, r"\cdots")
    return rf"\left({' + '.join(terms)}\right)"


def _enclosed(tex: str) -> bool:
    """Whether one pair of round brackets already holds all of it."""
    plain = re.sub(r"\\(?:left|right)(?=[()])", "", tex).strip()
    depth, depths = 0, []
    for letter in plain:
        depth += {"(": 1, ")": -1}.get(letter, 0)
        depths.append(depth)
    return plain.startswith("(") and 0 not in depths[:-1] and depths[-1:] == [0]


def _alone(tex: str, match: re.Match[str]) -> bool:
    """Whether nothing multiplies, divides or raises what the match stands for, and no function takes it."""
    before, after = tex[: match.start()].rstrip(), tex[match.end() :].lstrip()
    if _FUNCTION.search(before):
        return False
    return (not before or before[-1] in "{(+-") and (not after or after[0] in "})+-")


def _plain(tex: str) -> str:
    """One spelling of a symbol: `m_i` and `m_{i}` are the same."""
    return re.sub(r"_(\w)$", r"_{\1}", tex.strip())


def _braced(text: str, start: int) -> tuple[str, int]:
    """The group in braces that begins at `start`, or what is left, and where it ends."""
    if start >= len(text) or text[start] != "{":
        return text[start:], len(text)
    depth = 0
    for at in range(start, len(text)):
        depth += {"{": 1, "}": -1}.get(text[at], 0)
        if depth == 0:
            return text[start + 1 : at], at + 1
    raise ValueError(f"braces do not match in {text!r}")


def _mathml_number(value: float, kind: str, units: Units) -> str:
    number, unit = digits(_in(value, kind, units)), units[kind]
    gap = '<mspace width="0.2em"/>' if unit not in {"", "°"} else ""
    return f"<mrow><mn>{number}</mn>{gap}{f'<mtext>{unit}</mtext>' if unit else ''}</mrow>"


def _filled(text: Markup, held: tuple[str, ...]) -> Markup:
    """The MathML with its numbers in the held places."""
    whole = re.sub(r"<mtext[^>]*>(\[\[\d+\]\])</mtext>", r"\1", str(text))
    return Markup(_HELD.sub(lambda m: held[int(m[1])], whole))
