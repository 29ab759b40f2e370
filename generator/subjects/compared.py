"""A check whose demand and capacity move with the same values: both with their spread, and how they move together."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from buildspec.quantities import Quantity
from generator.checks import make_check
from generator.spread import NOWHERE, Shift, sources
from generator.vocabulary import Check, Result

Pair = tuple[float, float]
"""Demand and capacity, SI."""


def compared(
    pair: Callable[[Shift], Pair],
    values: Iterable[Quantity | Result],
    check_id: str,
    title: str,
    *,
    said: tuple[str, str],
    kind: str = "force",
    inputs: tuple[str, ...],
    basis_of_verdict: str,
    signed: bool = False,
    ways: str = "",
) -> Check:
    """A check of what `pair` gives for a shift of the values; `said` names demand and capacity.

    First order, from the worse side of each value. Source: JCGM 100:2008, 5.1.2 and 5.2.2.
    """
    demand, capacity = pair(NOWHERE)
    offs = [effects(pair, (demand, capacity), s.id, s.uncertainty) for s in sources(values)]
    name = check_id.replace(".check.", ".")
    results = (
        Result(
            f"{name}.{word}", title_, value, kind, math.hypot(*(o[n] for o in offs)), inputs=inputs
        )
        for n, (word, title_, value) in enumerate(
            (("demand", said[0], demand), ("capacity", said[1], capacity))
        )
    )
    first, second = results
    return make_check(
        check_id,
        title,
        demand=first,
        capacity=second,
        covariance=sum(d * c for d, c in offs),
        signed=signed,
        inputs=inputs,
        basis_of_verdict=basis_of_verdict,
        ways=ways,
    )


def effects(pair: Callable[[Shift], Pair], usual: Pair, name: str, by: float) -> Pair:
    """What one standard uncertainty of a value does to demand and capacity, on the side that is worse for both."""
    moved = [pair({name: off}) for off in (by, -by)]
    worse = max(moved, key=lambda one: one[0] / one[1] if one[1] > 0.0 else math.inf)
    return worse[0] - usual[0], worse[1] - usual[1]
