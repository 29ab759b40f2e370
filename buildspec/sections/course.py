"""The section `course`: its lengths, its surface, its slope and its wind."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Place
from buildspec.quantities import Basis, Quantity, show


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """A stretch that is timed; `start` is how far past the end of the run-up it begins."""

    id: str
    title: str = ""
    length: Quantity
    start: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rolling:
    """Rolling resistance over wheel load: `coefficient`, twice that at `doubling_speed`, known to `valid_to`."""

    coefficient: Quantity
    doubling_speed: Quantity | None = None
    valid_to: Quantity | None = None
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """From the start line: run-up, timed sections, shut-down."""

    run_up: Quantity
    timed: tuple[Timed, ...]
    shut_down: Quantity
    length: Quantity | None = None
    friction: Quantity
    rolling: Rolling
    grade: Quantity
    head_wind: Quantity
    cross_wind: Quantity | None = None
    two_way: bool = False
    basis: Basis | None = None
    source: str = ""

    @property
    def end(self) -> float:
        """Where the last timed section ends, m from the start line."""
        return self.run_up.si + max(
            (t.start.si if t.start else 0.0) + t.length.si for t in self.timed
        )

    @property
    def total(self) -> float:
        """The sum of the parts, m."""
        return self.end + self.shut_down.si


def problems(section: Course, build: Build) -> Iterable[Diagnostic]:
    """The parts fit into the whole, and the friction has a source."""
    length = section.length
    if length and section.total > length.si * (1.0 + 1e-6):
        what = "timed sections alone" if section.end - section.run_up.si > length.si else "parts"
        more = section.total if what == "parts" else section.end - section.run_up.si
        said = show(more, "distance", build.system, unit=length.unit)
        yield Diagnostic(
            "course.too-short",
            f"the {what} add up to {said}, and the whole course is {length.written}",
            length.place or Place("build.yaml"),
            "run-up, timed sections and shut-down must fit into `length`",
        )
    if not section.friction.source:
        yield Diagnostic(
            "course.friction-source",
            "nothing says where the friction comes from",
            section.friction.place or Place("build.yaml"),
            "add `source`: a test on this surface, or say that it is a judgement",
            severity="warning",
        )
