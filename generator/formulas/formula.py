"""What makes a function a formula: the equation that is shown is the function that runs.

A formula takes keyword-only SI numbers, uses plain arithmetic and numpy, and carries its
equation in LaTeX. Tests parse every equation with a computer-algebra library, compare it with the
function, and call the function with pint quantities to prove its dimensions.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Generic, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Symbol:
    """One symbol of an equation: LaTeX, kind of quantity, meaning, and where it is valid.

    `tex` is one letter or command with an optional subscript: `m`, `F_{D}`, `\\rho`. `least` and
    `most` bound the valid range in SI, inclusive; None is unbounded. `each` marks a symbol
    that stands for an array, indexed by i in the equation (`m_i`).
    """

    tex: str
    kind: str
    meaning: str
    least: float | None = None
    most: float | None = None
    each: bool = False


@dataclass(frozen=True)
class Formula(Generic[P, R]):
    """A function with its equation. Calling it calls the function, and nothing else."""

    name: str
    equation: str
    symbols: Mapping[str, Symbol]
    result: Symbol
    source: str
    function: Callable[P, R]

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        return self.function(*args, **kwargs)

    @property
    def summary(self) -> str:
        """The first line of the function's docstring."""
        return (inspect.getdoc(self.function) or "").split("\n", 1)[0]

    def of(self, kind: str) -> Formula[P, R]:
        """The same formula for another kind of quantity; symbols that are ratios stay ratios.

        For formulas that hold for any kind, such as a margin or a normalised error.
        """
        symbols = {name: _of(symbol, kind) for name, symbol in self.symbols.items()}
        return replace(self, symbols=symbols, result=_of(self.result, kind))

    def outside(self, values: Mapping[str, tuple[float, ...]]) -> tuple[str, ...]:
        """The names of the arguments that leave their valid range."""
        return tuple(
            name for name, numbers in values.items() if _leaves(self.symbols[name], numbers)
        )


def _of(symbol: Symbol, kind: str) -> Symbol:
    return symbol if symbol.kind == "ratio" else replace(symbol, kind=kind)


def _leaves(symbol: Symbol, numbers: tuple[float, ...]) -> bool:
    least = float("-inf") if symbol.least is None else symbol.least
    most = float("inf") if symbol.most is None else symbol.most
    return any(not least <= n <= most for n in numbers)


REGISTRY: dict[str, Formula[Any, Any]] = {}
"""Every formula by name, filled when its module is imported; tests and the manual walk it."""


def formula(
    *, equation: str, result: Symbol, source: str, **symbols: Symbol
) -> Callable[[Callable[P, R]], Formula[P, R]]:
    """Make a function a formula. `symbols` names every parameter of the function, in order."""

    def make(function: Callable[P, R]) -> Formula[P, R]:
        if tuple(inspect.signature(function).parameters) != tuple(symbols):
            raise TypeError(f"{function.__name__}: parameters and symbols differ")
        name = f"{function.__module__.rsplit('.', 1)[-1]}.{function.__name__}"
        made = Formula(name, equation, dict(symbols), result, source, function)
        REGISTRY[name] = made
        return made

    return make
