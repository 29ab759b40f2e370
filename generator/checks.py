"""Making a check: the one place where a margin and a verdict are computed."""

from __future__ import annotations

import math
from collections.abc import Iterable

from generator.formulas.margin import margin_of_safety
from generator.vocabulary import Check, Result, Verdict


def margin_of(demand: float, capacity: float, factor: float) -> float:
    """Margin of safety, capacity / (factor × demand) − 1, for demand > 0 and factor > 0.

    0 is just enough, negative is short. Source: see the formula.
    """
    return margin_of_safety(capacity=capacity, factor=factor, demand=demand)


def margin_uncertainty(demand: Result, capacity: Result, factor: float) -> float:
    """Standard uncertainty of the margin, first order, demand and capacity uncorrelated.

    Source: JCGM 100:2008, 5.1.2.
    """
    if demand.value is None or capacity.value is None:
        raise ValueError("a margin's uncertainty needs demand and capacity")
    by_capacity = capacity.standard_uncertainty / (factor * demand.value)
    by_demand = capacity.value * demand.standard_uncertainty / (factor * demand.value**2)
    return math.hypot(by_capacity, by_demand)


def probability_below_zero(margin: float, uncertainty: float) -> float:
    """Probability that a normally distributed margin is below 0: Φ(−margin/u), for u > 0."""
    return 0.5 * math.erfc(margin / uncertainty / math.sqrt(2.0))


def make_check(
    check_id: str,
    title: str,
    *,
    demand: Result,
    capacity: Result,
    factor: float = 1.0,
    inputs: Iterable[str] = (),
    sources: Iterable[str] = (),
    basis_of_verdict: str = "",
    closes: str = "",
) -> Check:
    """Compare demand with capacity. Both are of one kind; factor > 0.

    A missing value makes the verdict `open`. A demand of zero or less asks for nothing: the
    verdict is `holds`, without a margin.
    """
    margin: float | None = None
    spread: float | None = None
    verdict: Verdict = "open"
    reason = ""
    if demand.value is None or capacity.value is None:
        lacking = demand if demand.value is None else capacity
        reason = lacking.absent or f"{lacking.title} is missing"
    elif demand.value <= 0.0:
        verdict, reason = "holds", "there is no demand"
    else:
        margin = margin_of(demand.value, capacity.value, factor)
        spread = margin_uncertainty(demand, capacity, factor)
        verdict = "holds" if margin >= 0.0 else "short"
    short = probability_below_zero(margin, spread) if margin is not None and spread else None
    return Check(
        check_id,
        title,
        check_id.split(".", 1)[0],
        demand.kind,
        demand,
        capacity,
        factor,
        margin,
        verdict,
        reason,
        spread,
        short,
        tuple(dict.fromkeys(inputs)),
        tuple(sources),
        basis_of_verdict,
        closes,
    )
