"""First-order spread of a computed number through any function of the description's values."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from buildspec.quantities import Quantity
from generator.vocabulary import Result

Shift = Mapping[str, float]
"""By how much each value, named by its id, is off; what is not named is not."""
NOWHERE: Shift = {}


@dataclass(frozen=True, slots=True)
class Source:
    """A value that may be off: its id and its standard uncertainty in SI."""

    id: str
    uncertainty: float


def at(quantity: Quantity, shift: Shift) -> float:
    """The value of a quantity, moved by what `shift` says of it."""
    return quantity.si + shift.get(quantity.id, 0.0)


def sources(values: Iterable[Quantity | Result | None]) -> tuple[Source, ...]:
    """What may be off among these values; those without a spread are left out."""
    found = {
        v.id: v.standard_uncertainty
        for v in values
        if v is not None and v.standard_uncertainty > 0.0
    }
    return tuple(Source(name, u) for name, u in found.items())


def moved(up: float, down: float, middle: float) -> float:
    """What one standard uncertainty does, from a function at the value plus and minus it and at the value itself.

    Half the difference of both ways. Where both lead to the same side, as at a corner such as the weaker of
    two sides, or where neither way gets through at all, a slope would see nothing: there the larger of both.
    """
    above, below = up - middle, down - middle
    if above * below > 0.0:
        return above if abs(above) > abs(below) else below
    return 0.5 * (above - below)


def effects(function: Callable[[Shift], float], known: Iterable[Source]) -> Mapping[str, float]:
    """What one standard uncertainty of each source does to the function: see `moved`."""
    middle = function(NOWHERE)
    return {
        s.id: moved(function({s.id: s.uncertainty}), function({s.id: -s.uncertainty}), middle)
        for s in known
    }


def spread(function: Callable[[Shift], float], known: Iterable[Source]) -> float:
    """Standard uncertainty of the function, sources uncorrelated.

    Source: JCGM 100:2008, 5.1.2, note 2; at a corner, which that leaves out, the larger fall counts.
    """
    return math.hypot(*effects(function, known).values())
