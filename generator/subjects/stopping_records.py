"""What the subject `stopping` hands from one of its parts to the next, and to its page and charts."""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.quantities import Quantity
from generator.run.speed import Run
from generator.run.stop import Happening, Stop
from generator.subjects.stopping_cases import Case, Setting, Tried
from generator.subjects.stopping_heat import most_heat
from generator.vocabulary import Check, Result

WORD = "stopping"


@dataclass(frozen=True, eq=False)
class CaseLine:
    """A case with its stop in one direction, in the condition that goes farthest, as results.

    `rough` are the stops of the same on the other surfaces, in their order.
    """

    setting: Setting
    case: Case
    stop: Stop
    distance: Result
    time: Result
    peak: Result
    energy: Result
    rise: Result
    check: Check
    rough: tuple[Stop, ...]

    @property
    def happened(self) -> tuple[Happening, ...]:
        """Everything that happened in it, the standstill included where it comes to one."""
        done = self.stop
        if done.stalled:
            return done.happenings
        return (*done.happenings, Happening("standstill", done.time, done.distance, 0.0))


@dataclass(frozen=True, eq=False)
class Way:
    """Every case in one direction. `tried` are the stops of all conditions."""

    setting: Setting
    lines: tuple[CaseLine, ...]
    tried: tuple[Tried, ...]
    run: Run | None = None


@dataclass(frozen=True, eq=False)
class Surface:
    """How far each case goes on a surface of another friction, in the order of the cases."""

    friction: float
    distances: tuple[Result, ...]


@dataclass(frozen=True, eq=False)
class Detail:
    """Everything the page and the charts show.

    `carried` is the rise that the rotors bring from a first run.
    `ways` are the directions, the one with the worst check first; `lines` are the cases, each in its worse one.
    """

    setting: Setting
    ways: tuple[Way, ...]
    lines: tuple[CaseLine, ...]
    latest: Result
    fastest: Result
    rough: tuple[Surface, ...]
    inputs: tuple[Quantity, ...]
    carried: Result | None = None

    @property
    def over_friction(self) -> tuple[tuple[CaseLine, tuple[Result, ...]], ...]:
        """Each case with its distances on the surfaces of `rough`, in their order."""
        columns = zip(*(surface.distances for surface in self.rough), strict=True)
        return tuple(zip(self.lines, columns, strict=True))

    @property
    def cool(self) -> bool:
        """Whether the heat of the rotors has a limit that can be counted."""
        return most_heat(self.setting) is not None

    def words(self, what: str) -> str:
        """A happening in words, a parachute by its name."""
        before, mark, name = what.partition(": ")
        canopy = self.setting.canopies.get(name)
        return f"{before}{mark}{canopy.name if canopy else name}"
