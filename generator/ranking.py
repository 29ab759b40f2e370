"""Which checks come first wherever checks are listed, and which verdicts are in doubt."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from buildspec.quantities import Quantity, digits
from generator.vocabulary import Check

TWO_SIGMA = 0.0228
"""Probability beyond two standard deviations on one side of a normal distribution."""
VAST = 10.0
"""A margin above which its digits say nothing that a reader could use."""
BEYOND = "over +1,000 %"
AT_ONCE, HOLDING = 10, 4
"""Checks a page shows at once; how many that hold are shown behind many that do not, or are worth a fold."""
_FIRST = {"short": 0, "open": 1, "holds": 2}


def ranked(checks: Iterable[Check]) -> tuple[Check, ...]:
    """Short, open, then those that hold, the least margin first and those without one last."""
    return tuple(
        sorted(checks, key=lambda c: (_FIRST[c.verdict], c.margin is None, c.margin or 0.0))
    )


@dataclass(frozen=True, slots=True)
class Told:
    """Checks told at once, and those that a page may fold away: all of the latter hold."""

    first: tuple[Check, ...]
    others: tuple[Check, ...] = ()


def foremost(checks: tuple[Check, ...]) -> Told:
    """Checks that are `ranked` already, parted: nothing that is short or open is ever folded away."""
    urgent = sum(c.verdict != "holds" for c in checks)
    most = max(AT_ONCE, urgent + HOLDING)
    return Told(checks) if len(checks) < most + HOLDING else Told(checks[:most], checks[most:])


def doubtful(check: Check) -> bool:
    """Whether zero lies within two standard uncertainties of the margin."""
    short = check.probability_short
    return short is not None and TWO_SIGMA <= short <= 1.0 - TWO_SIGMA


def margin_percent(margin: float, uncertainty: float | None) -> tuple[str, str]:
    """A margin and its standard uncertainty in per cent; the latter is "" where there is none.

    Four figures at the most: a margin is no better known than that, whatever its inputs claim.
    """
    number, spread = 100.0 * margin, 100.0 * (uncertainty or 0.0)
    if not spread:
        return digits(number, figures=3), ""
    # two digits of a spread are printed, so the hundredth part of the leading digit is the fourth figure
    finest = 10.0 ** (math.floor(math.log10(abs(number))) - 2) if number else 0.0
    return digits(number, max(spread, finest)), digits(spread, max(spread, finest))


@dataclass(frozen=True, slots=True)
class Stating:
    """How many of the `known` values behind a check, decisions apart, state a spread."""

    stating: int
    known: int


def stating(check: Check, quantities: Mapping[str, Quantity]) -> Stating | None:
    """How far a check's ± can be believed: None where at least half of what is behind it has one.

    A check whose probability comes from no spread of values (an exit's samples) has none to lack.
    """
    if check.margin is None or (
        check.probability_short is not None and not check.margin_uncertainty
    ):
        return None
    behind = [q for name in check.inputs if (q := quantities.get(name)) and not q.stated]
    own = sum(q.half_width > 0.0 for q in behind)
    return None if 2 * own >= len(behind) else Stating(own, len(behind))
