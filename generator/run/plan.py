"""What the driver does in a stop, and what becomes of it when something fails."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

AT_ONCE = 20
"""Values that a search tries side by side."""
Trigger = Literal["time", "mark", "below", "after"]


@dataclass(frozen=True, slots=True)
class Deployment:
    """A parachute to be let out, SI.

    `trigger` says what `at` is: seconds after the timed section's end, metres after it, a speed
    in m/s fallen below, or seconds after the parachute before it is stretched. `backup` are seconds after
    which it is let out when the one before has failed (None: its own trigger stands). From the pull to line
    stretch takes `delay`; then the drag area grows in `fill` (n D₀, metres of travel) with `exponent`.
    """

    name: str
    trigger: Trigger
    at: float
    delay: float
    drag_area: float
    fill: float
    exponent: float
    height: float
    backup: float | None = None


@dataclass(frozen=True, slots=True)
class Brakes:
    """Brakes: used below a speed, with a reaction time, up to `limit` N at the ground."""

    below: float
    limit: float
    delay: float = 0.0


@dataclass(frozen=True, slots=True)
class Plan:
    """What the driver does after the timed section: throttle closed after `throttle` s, then the rest."""

    throttle: float
    engine_braking: float
    deployments: tuple[Deployment, ...]
    brakes: Brakes | None


def without(plan: Plan, failed: Sequence[str], *, brakes: bool = True, late: float = 0.0) -> Plan:
    """The plan with parachutes left out that fail, the brakes too where `brakes` is False, and all late.

    One that comes `after` a failed parachute, or has a `backup` time, is let out that many seconds after the
    failed one should have been stretched, if that one's time is known; otherwise at its own trigger.
    """
    kept: list[Deployment] = []
    lost: Deployment | None = None
    for d in plan.deployments:
        if d.name in failed:
            lost = d
            continue
        if lost is not None:
            d = _backed(d, lost)  # noqa: PLW2901
        lost = None
        kept.append(replace(d, delay=d.delay + late))
    return replace(plan, deployments=tuple(kept), brakes=plan.brakes if brakes else None)


def _backed(deployment: Deployment, lost: Deployment) -> Deployment:
    """How a parachute is let out when the one before it has failed."""
    wait = (
        deployment.backup
        if deployment.backup is not None
        else (deployment.at if deployment.trigger == "after" else None)
    )
    if wait is None:
        return deployment
    later = lost.delay + wait
    return replace(deployment, trigger=lost.trigger, at=lost.at, delay=deployment.delay + later)


def pulled_at(plan: Plan, mark: float) -> Plan:
    """The plan with its first parachute pulled at a mark, in m after the end of the timed section."""
    first, *rest = plan.deployments
    return replace(plan, deployments=(replace(first, trigger="mark", at=mark), *rest))


def last_good(
    good: Callable[[Sequence[float]], Sequence[bool]], low: float, high: float, *, to: float
) -> float | None:
    """The greatest value between `low` and `high` for which `good` holds, to within `to`; None if none.

    `good` judges several values at once. It must hold below some value and not above it.
    """
    tried = [low, *_between(low, high), high]
    held = _held(good(tried))
    if held in {0, len(tried)}:
        return high if held else None
    low, high = tried[held - 1 : held + 1]
    while high - low > to:
        inside = _between(low, high)
        held = _held(good(inside))
        low, high = [low, *inside, high][held : held + 2]
    return low


def _between(low: float, high: float) -> list[float]:
    step = (high - low) / (AT_ONCE + 1)
    return [low + step * n for n in range(1, AT_ONCE + 1)]


def _held(judged: Sequence[bool]) -> int:
    """How many hold before the first that does not."""
    return next((n for n, ok in enumerate(judged) if not ok), len(judged))
