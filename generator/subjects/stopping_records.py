"""What the subject `stopping` hands from one of its parts to the next, and to its page and charts."""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.quantities import Quantity
from generator.run.speed import Run
from generator.run.stop import Stop
from generator.subjects.stopping_cases import Case, Setting
from generator.vocabulary import Check, Result

WORD = "stopping"


@dataclass(frozen=True, eq=False)
class CaseLine:
    """A case with its stop, as results."""

    case: Case
    stop: Stop
    distance: Result
    time: Result
    peak: Result
    energy: Result
    rise: Result
    check: Check


@dataclass(frozen=True, eq=False)
class Surface:
    """How far each case goes on a surface of another friction, in the order of the cases."""

    friction: float
    distances: tuple[Result, ...]


@dataclass(frozen=True, eq=False)
class Detail:
    """Everything the page and the charts show. `run` is the run that the stop belongs to, where computed."""

    setting: Setting
    lines: tuple[CaseLine, ...]
    latest: Result
    fastest: Result
    rough: tuple[Surface, ...]
    inputs: tuple[Quantity, ...]
    run: Run | None = None
