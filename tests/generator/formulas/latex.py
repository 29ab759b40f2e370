"""Reads the LaTeX of a formula's equation into sympy, so that it can be compared with the function.

sympy's own readers of LaTeX refuse or misread much of what stands in textbooks (`x^{2} y`,
`a (1 + b)` as a call of a function `a`), so this is a small reader of our own for the little that
equations here may use. It shares nothing with the code that prints equations.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import sympy as sp

Value = sp.Symbol | Sequence[sp.Symbol]

_TOKEN = re.compile(
    r"\s*(?P<number>\d+(?:\.\d+)?)"
    r"|\s*\\operatorname\{(?P<operator>[a-z]+)\}"
    r"|\s*(?P<sum>\\sum_\{i\})"
    r"|\s*(?P<symbol>(?:\\[A-Za-z]+|[A-Za-z])(?:_(?:\{[^{}]*\}|[A-Za-z0-9]))?)"
    r"|\s*(?P<mark>[-+^(){}])"
)
_FUNCTIONS = {
    r"\ln": sp.log,
    r"\exp": sp.exp,
    r"\sin": sp.sin,
    r"\cos": sp.cos,
    r"\tan": sp.tan,
    r"\arcsin": sp.asin,
    r"\arccos": sp.acos,
    r"\arctan": sp.atan,
    "erf": sp.erf,
}
_STRUCTURE = frozenset({r"\frac", r"\sqrt", r"\left", r"\right", r"\cdot", r"\pi", *_FUNCTIONS})
TERMS = 3
"""How long an array is when a sum over it is written out."""


class UnreadableError(ValueError):
    """The equation uses something that an equation may not use here."""


def plain(tex: str) -> str:
    """One spelling of a symbol: `m_i` and `m_{i}` are the same."""
    return re.sub(r"_(\w)$", r"_{\1}", tex.strip())


def tokens(text: str) -> tuple[str, ...]:
    """The equation in pieces; UnreadableError where a piece is of no kind that is known."""
    found, at, text = [], 0, text.rstrip()
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None:
            raise UnreadableError(f"`{text[at:]}` in `{text}`")
        piece = match[match.lastgroup or 0]
        found.append(plain(piece) if match.lastgroup == "symbol" else piece)
        at = match.end()
    return tuple(found)


def symbols_in(text: str) -> frozenset[str]:
    """The symbols of an equation's side, in their plain spelling."""
    named = (t for t in tokens(text) if re.match(r"\\?[A-Za-z]", t))
    return frozenset(t for t in named if t not in _STRUCTURE and t != r"\sum_{i}")


def read(text: str, values: Mapping[str, Value]) -> sp.Expr:
    """The right-hand side of an equation, with `values` for its symbols by their LaTeX.

    A symbol of an array has `TERMS` values and may stand in a sum over i only.
    """
    reader = _Reader(tokens(text), {plain(tex): value for tex, value in values.items()})
    found = reader.sum_of_terms()
    if reader.peek():
        raise UnreadableError(f"`{reader.peek()}` left over in `{text}`")
    return found


class _Reader:
    """Recursive descent over the tokens; `index` is the term of the sum that is being written."""

    def __init__(self, pieces: tuple[str, ...], values: Mapping[str, Value]) -> None:
        self.pieces, self.values, self.at = pieces, values, 0
        self.index: int | None = None

    def peek(self) -> str:
        return self.pieces[self.at] if self.at < len(self.pieces) else ""

    def take(self, wanted: str = "") -> str:
        piece = self.peek()
        if wanted and piece != wanted:
            whole = " ".join(self.pieces)
            raise UnreadableError(f"`{wanted}` expected, `{piece}` found in {whole}")
        self.at += 1
        return piece

    def sum_of_terms(self) -> sp.Expr:
        total = self.term()
        while self.peek() in {"+", "-"}:
            total = total + self.term() if self.take() == "+" else total - self.term()
        return total

    def term(self) -> sp.Expr:
        if self.peek() == "-":
            self.take()
            return -self.term()
        product = self.power()
        while self.peek() not in {"", "+", "-", ")", "}", r"\right"}:
            if self.peek() == r"\cdot":
                self.take()
            product = product * self.power()
        return product

    def power(self) -> sp.Expr:
        base = self.factor()
        if self.peek() != "^":
            return base
        self.take()
        if self.peek() == "{":
            return base ** self.group()
        piece = self.take()
        if len(piece) != 1:
            raise UnreadableError(f"`^{piece}` needs braces: without, only `{piece[:1]}` is raised")
        return base ** (sp.Integer(piece) if piece.isdecimal() else self.symbol(piece))

    def factor(self) -> sp.Expr:
        piece = self.take()
        if re.fullmatch(r"\d+(?:\.\d+)?", piece):
            return sp.Rational(piece)
        if piece in _FUNCTIONS:
            return _FUNCTIONS[piece](self.group() if self.peek() == "{" else self.bracket())
        if piece in {"(", r"\left"}:
            self.at -= 1
            return self.bracket()
        return self.command(piece)

    def command(self, piece: str) -> sp.Expr:
        if piece == r"\frac":
            return self.group() / self.group()
        if piece == r"\sqrt":
            return sp.sqrt(self.group())
        if piece == r"\sum_{i}":
            return self.sum()
        return sp.pi if piece == r"\pi" else self.symbol(piece)

    def group(self) -> sp.Expr:
        self.take("{")
        found = self.sum_of_terms()
        self.take("}")
        return found

    def bracket(self) -> sp.Expr:
        tall = self.peek() == r"\left"
        if tall:
            self.take()
        self.take("(")
        found = self.sum_of_terms()
        if tall:
            self.take(r"\right")
        self.take(")")
        return found

    def sum(self) -> sp.Expr:
        begin, outer, total = self.at, self.index, sp.Integer(0)
        for self.index in range(TERMS):
            self.at = begin
            total += self.group()
        self.index = outer
        return total

    def symbol(self, piece: str) -> sp.Expr:
        if piece not in self.values:
            raise UnreadableError(f"`{piece}` is no symbol of the formula")
        value = self.values[piece]
        if isinstance(value, sp.Symbol):
            return value
        if self.index is None:
            raise UnreadableError(f"`{piece}` stands for an array and may stand in a sum only")
        return value[self.index]
