"""What the subject `stability` hands from one of its parts to the next, and to its page and charts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from buildspec.quantities import Quantity, show
from buildspec.sections.shape import Shape
from generator.subjects.run_model import Parts
from generator.subjects.stability_parts import Contributor
from generator.vocabulary import Result

WORD = "stability"


@dataclass(frozen=True, slots=True)
class ConditionLine:
    """Static margin in one condition. `running` is one that leaves no item out, or the design condition: the
    others do not run.
    """

    title: str
    cg_x: float
    running: bool
    in_wheelbases: Result
    in_lengths: Result


@dataclass(frozen=True, eq=False)
class Detail:
    """Everything the page and the charts show.

    `forward` is the centre of pressure where it lies furthest forward up to the speed of the run.
    `blown` and `lifted` name what is worst in crosswind and the condition for the front axle's load,
    which is `front`; `tipping` comes with when that is. `winds` holds the largest crosswind over speed at full
    throttle and at constant speed, and where the method ends; `lifting` are the speeds at which full throttle
    leaves the tires too little for the crosswind asked, or nothing. `astray` says why the slopes of the parts
    say nothing of the whole.
    """

    of: Parts
    shape: Shape
    speed: float
    why: str
    contributors: tuple[Contributor, ...]
    slope: Result
    centre: Result
    forward: Result
    conditions: tuple[ConditionLine, ...]
    winds: tuple[tuple[float, float, float, float], ...]
    axles: tuple[tuple[float, float, float], ...]
    wind: Result
    tipping: tuple[Result, str]
    side: tuple[Result, ...]
    steering: tuple[Result, ...]
    inputs: tuple[Quantity, ...]
    blown: str
    lifted: str
    front: Result
    lifting: tuple[float, ...]
    astray: str


def leaves_too_little(detail: Detail) -> str:
    """At which speeds full throttle leaves the tires too little for the crosswind asked, in words."""
    wind, limits = detail.of.course.cross_wind, detail.shape.limits
    factor = limits.factor.si if limits else 1.0
    asked = f"a crosswind of {wind.written}" if wind else "any crosswind"
    if wind and factor != 1.0:
        asked += f" times {factor:g}"
    speeds = " and ".join(_ranges(detail))
    return f"{speeds} full throttle leaves the tires less grip than {asked} asks for"


def _ranges(detail: Detail) -> Iterable[str]:
    """The speeds of `lifting` as ranges; one that begins at the first that was looked at begins at nothing."""
    paces = [row[0] for row in detail.axles]
    at = [n for n, pace in enumerate(paces) if pace in detail.lifting]
    for first in (n for n in at if n - 1 not in at):
        last = next(n for n in at if n >= first and n + 1 not in at)
        low, high = (show(paces[n], "speed", detail.of.system, figures=3) for n in (first, last))
        yield (
            f"up to {high}"
            if first == 0
            else f"at {high}"
            if first == last
            else f"from {low} to {high}"
        )
