"""Making a check: the one place where a margin and a verdict are computed."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Literal, NamedTuple, TypedDict, Unpack

from generator.formulas.margin import margin_of_safety
from generator.vocabulary import Check, Result, Verdict

BELOW_ZERO = "comes out below zero, which it cannot be"
ROUNDING = 1e-12
"""Margins nearer zero are zero: 0.1 kg and 0.2 kg are 0.3 kg, whatever binary fractions make of them."""
NO_RATIO = "no margin: nothing above zero is asked"


def margin_of(demand: float, capacity: float, factor: float) -> float:
    """Margin of safety, capacity / (factor × demand) − 1, for demand > 0 and factor > 0.

    0 is just enough, negative is short; what differs from 0 by rounding is 0. Source: see the formula.
    """
    margin = margin_of_safety(capacity=capacity, factor=factor, demand=demand)
    return 0.0 if abs(margin) < ROUNDING else margin


def margin_uncertainty(
    demand: Result, capacity: Result, factor: float, covariance: float = 0.0
) -> float:
    """Standard uncertainty of the margin, first order. `covariance` is that of the two.

    Source: JCGM 100:2008, 5.1.2 and 5.2.2.
    """
    if demand.value is None or capacity.value is None:
        raise ValueError("a margin's uncertainty needs demand and capacity")
    to_capacity = 1.0 / (factor * demand.value)
    to_demand = -capacity.value / (factor * demand.value**2)
    variance = (
        (to_capacity * capacity.standard_uncertainty) ** 2
        + (to_demand * demand.standard_uncertainty) ** 2
        + 2.0 * to_capacity * to_demand * covariance
    )
    return math.sqrt(max(variance, 0.0))


def probability_short(
    demand: Result,
    capacity: Result,
    factor: float,
    *,
    covariance: float = 0.0,
    either_side: bool = False,
) -> float | None:
    """Probability that factor × demand exceeds capacity, both normally distributed.

    Exact for two normal values, where a margin's own first-order uncertainty is not: the ratio
    of two normal values is not normal. With `either_side` the demand is the size of a value that
    may lie on either side of zero, and both tails count. None where neither value has a spread.
    """
    if demand.value is None or capacity.value is None:
        return None
    variance = capacity.standard_uncertainty**2 + (factor * demand.standard_uncertainty) ** 2
    if not variance > 0.0:
        return None
    tails = (1.0, -1.0) if either_side else (1.0,)
    return min(
        sum(
            _tail(
                capacity.value - factor * side * demand.value,
                variance - 2.0 * side * factor * covariance,
            )
            for side in tails
        ),
        1.0,
    )


def _tail(left: float, variance: float) -> float:
    """Probability that a normal value of that mean and variance is below zero."""
    if variance <= 0.0:
        return float(left < 0.0)
    return 0.5 * math.erfc(left / math.sqrt(2.0 * variance))


class Said(TypedDict, total=False):
    """What a check says in words, and which of its sides nobody can change: see `Check`."""

    basis_of_verdict: str
    closes: str
    ways: str
    fixed: Literal["", "demand", "capacity"]


class _Asked(TypedDict):
    """How a caller of `make_check` wants demand and capacity compared."""

    covariance: float
    either_side: bool
    signed: bool
    nothing_asked: str
    probability: float | Literal["normal"] | None


class _Came(NamedTuple):
    """What a comparison came to, in the order in which a check holds it."""

    margin: float | None
    verdict: Verdict
    reason: str
    margin_uncertainty: float | None
    probability_short: float | None


def make_check(
    check_id: str,
    title: str,
    *,
    demand: Result,
    capacity: Result,
    factor: float = 1.0,
    covariance: float = 0.0,
    either_side: bool = False,
    signed: bool = False,
    nothing_asked: str = "",
    probability: float | Literal["normal"] | None = "normal",
    inputs: Iterable[str] = (),
    sources: Iterable[str] = (),
    **said: Unpack[Said],
) -> Check:
    """Compare demand with capacity. Both are of one kind; factor > 0.

    A missing value makes the verdict `open`, and so does a demand below zero, unless the caller
    says with `signed` that it may rightly be negative: then capacity ≥ demand decides. Without a
    demand above zero there is no margin. `nothing_asked` says why nothing is to be compared here
    (a valve that closes); the verdict is then `holds` with that reason. `covariance` is that of demand and
    capacity; for `either_side` see `probability_short`. `probability` replaces the one of normal
    distributions where the caller knows another, or knows that there is none.
    """
    how = _Asked(
        covariance=covariance,
        either_side=either_side,
        signed=signed,
        nothing_asked=nothing_asked,
        probability=probability,
    )
    ids = tuple(dict.fromkeys(inputs))
    came = _came(demand, capacity, factor, how)
    word, kind = check_id.split(".", 1)[0], demand.kind
    return Check(
        check_id, title, word, kind, demand, capacity, factor, *came, ids, tuple(sources), **said
    )


def _came(demand: Result, capacity: Result, factor: float, how: _Asked) -> _Came:
    verdict, reason = _verdict(demand, capacity, factor, signed=how["signed"])
    if how["nothing_asked"]:
        verdict, reason = "holds", how["nothing_asked"]
    covariance, short = how["covariance"], how["probability"]
    margin, spread = (None, None) if reason else _margin(demand, capacity, factor, covariance)
    if verdict == "open" or how["nothing_asked"]:
        return _Came(margin, verdict, reason, spread, None)
    if short == "normal":
        asked = 1.0 if reason else factor
        short = probability_short(
            demand, capacity, asked, covariance=covariance, either_side=how["either_side"]
        )
    return _Came(margin, verdict, reason, spread, short)


def undecided(check: Check, reason: str, closes: str, inputs: Iterable[str] = ()) -> Check:
    """The check left open for that reason, which weighs more than what it came to.

    `inputs` are the ids of further values of the description that the reason rests on.
    """
    return replace(
        check,
        verdict="open",
        margin=None,
        margin_uncertainty=None,
        probability_short=None,
        reason=reason,
        closes=closes,
        inputs=tuple(dict.fromkeys((*check.inputs, *inputs))),
    )


def _margin(
    demand: Result, capacity: Result, factor: float, covariance: float
) -> tuple[float | None, float | None]:
    """The margin and its standard uncertainty, both None where a value is missing."""
    if demand.value is None or capacity.value is None:
        return None, None
    spread = margin_uncertainty(demand, capacity, factor, covariance)
    return margin_of(demand.value, capacity.value, factor), spread


def _verdict(
    demand: Result, capacity: Result, factor: float, *, signed: bool
) -> tuple[Verdict, str]:
    """The verdict, and the reason where there is no margin."""
    if demand.value is None or capacity.value is None:
        lacking = demand if demand.value is None else capacity
        return "open", lacking.absent or f"{lacking.title} is missing"
    if demand.value > 0.0:
        margin = margin_of(demand.value, capacity.value, factor)
        return ("holds" if margin >= 0.0 else "short"), ""
    if demand.value < 0.0 and not signed:
        return "open", f"{demand.title} {BELOW_ZERO}"
    if capacity.value >= demand.value - ROUNDING * abs(demand.value):
        return "holds", NO_RATIO
    return "short", f"{NO_RATIO}, and yet {capacity.title} is less"
