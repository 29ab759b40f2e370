"""What would mend a check that falls short: how a builder would go about it, and which figure is enough."""

from __future__ import annotations

from buildspec.build import Build
from buildspec.kinds import System
from buildspec.quantities import Shown, show, to_si
from generator.vocabulary import Check, Result

HALF_STEP = 5e-4
"""The most that four significant figures round a number by, as a part of it."""


def mending(check: Check, build: Build) -> str:
    """The subject's own words, then how far demand must come down or capacity go up.

    A decision of the team's or of a rule (a limit, a target) is nothing to be changed for a margin,
    nor is what the subject calls `fixed`: only the other side is named then. No figures where
    demand or capacity is missing.
    """
    parts = (check.ways, _figures(check, build))
    return "; ".join(p for p in parts if p) or "less of what is demanded, or more that holds it"


def _figures(check: Check, build: Build) -> str:
    demand, capacity = check.demand, check.capacity
    if demand.value is None or capacity.value is None:
        return ""
    down = up = ""
    if check.fixed != "demand" and not _decided(demand, build) and capacity.value > 0.0:
        enough = capacity.value / check.factor
        down = _side(check, demand, build, (demand.value, enough), "or less")
    if check.fixed != "capacity" and not _decided(capacity, build):
        enough = max(demand.value * check.factor, demand.value)
        up = _side(check, capacity, build, (capacity.value, enough), "or more")
    counted = f", the factor of {check.factor:.6g} counted" if check.factor != 1.0 else ""
    ways = " or ".join(w for w in (down, up) if w)
    return f"it would hold with {ways}{counted}" if ways else ""


def _decided(result: Result, build: Build) -> bool:
    """Whether this is a limit or target that somebody stated."""
    quantity = build.quantities.get(result.id)
    return quantity is not None and quantity.stated


def _side(
    check: Check, result: Result, build: Build, figures: tuple[float, float], side: str
) -> str:
    """One side of the check, from what it is to what is enough."""
    now, then = figures
    was = show(now, result.kind, build.system)
    enough = _safely(then, result.kind, build.system, more=side == "or more")
    return f"“{_short(check, result)}” at {enough} {side} (now {was})"


def _safely(value: float, kind: str, system: System, *, more: bool) -> Shown:
    """A bound as printed, rounded to the side on which the check still holds."""
    shown = show(value, kind, system)
    printed = to_si(float(shown.number.replace(",", "").replace("−", "-")), kind, shown.unit)
    over = printed - value if more else value - printed
    if over >= -1e-9 * abs(value):
        return shown
    step = HALF_STEP * abs(value)
    return show(value + step if more else value - step, kind, system)


def _short(check: Check, result: Result) -> str:
    """The result's title without what it has in common with the check's: that stands beside it."""
    first = check.title.split(": ", 1)[0]
    return result.title.removeprefix(f"{first}: ")
