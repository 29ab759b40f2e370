"""What is wrong with what is said of the welds of a cage, and of the ends of its tubes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, Place, listed, quoted
from buildspec.quantities import Quantity
from buildspec.sections.cage_lines import Course, Joint, courses, other_side, ref_of
from buildspec.sections.cage_loads import joints_of

if TYPE_CHECKING:
    from buildspec.sections.cage import Cage


def weld_problems(section: Cage, build: Build, found: Mapping[str, Joint]) -> Iterator[Diagnostic]:
    """A joint of which two things are said, strengths that are exchanged, a side that is forgotten."""
    first: dict[str, tuple[int, str]] = {}
    for n, weld in enumerate(section.welds):
        where = f"cage.welds.{n}"
        yield from strengths((weld.yield_strength, weld.ultimate_strength), build.where(where))
        for k, name in enumerate(weld.nodes):
            before = [j for j in joints_of(section, found, name) if j in first]
            if before:
                other, its = first[before[0]]
                yield Diagnostic(
                    "cage.weld-twice",
                    f"the weld at {quoted(before[0])} is described twice",
                    build.where(f"{where}.nodes.{k}", where),
                    "keep one of the two: only one can be so",
                    (Note(build.where(f"cage.welds.{other}.nodes.{its}"), "the other one"),),
                )
            for joint in joints_of(section, found, name):
                first.setdefault(joint, (n, str(k)))
    yield from _on_one_side(first, build, found)


def meeting_problems(
    section: Cage, build: Build, found: Mapping[str, Joint]
) -> Iterator[Diagnostic]:
    """Tubes that meet at a joint that is not welded, and yet pass on moments there; names must lead
    somewhere."""
    of = courses(section, found)
    for n, weld in enumerate(section.welds):
        for k, name in enumerate(weld.nodes):
            for joint in () if weld.welded else joints_of(section, found, name):
                here = [course for course in of if joint in course.through]
                some = [course.name for course in here if _stiff(course, joint)]
                if len(here) > 1 and some and not _drawn_in_two(here, joint, found):
                    yield Diagnostic(
                        "cage.unfixed",
                        f"{listed(some, 4)} {'ends' if len(some) == 1 else 'end'} at {quoted(joint)}, which is not "
                        "welded, and bending moments are passed on there",
                        build.where(f"cage.welds.{n}.nodes.{k}", f"cage.welds.{n}"),
                        "an end that is bolted is `pinned`; if it is welded after all, take the joint out here",
                        severity="warning",
                    )


def _stiff(course: Course, joint: str) -> bool:
    """Whether a tube ends at a joint and passes on moments there."""
    ends = {"start": course.through[0], "end": course.through[-1]}
    loose = ends if course.own.pinned == "both" else (course.own.pinned,)
    return any(name == joint and side not in loose for side, name in ends.items())


def _drawn_in_two(here: list[Course], joint: str, found: Mapping[str, Joint]) -> bool:
    """Whether the tubes at a joint are one straight tube, cut there in the drawing alone."""
    ways = []
    for course in here:
        names = course.through if course.through[0] == joint else course.through[::-1]
        if names[0] != joint:
            return False
        way = found[names[1]].at - found[joint].at
        ways.append(way / np.linalg.norm(way))
    return len(ways) == 2 and float(ways[0] @ ways[1]) < -STRAIGHT


def _on_one_side(
    described: Mapping[str, tuple[int, str]], build: Build, found: Mapping[str, Joint]
) -> Iterator[Diagnostic]:
    """A weld of a mirrored frame whose twin is not described: seldom meant."""
    for name, (n, k) in described.items():
        twin = other_side(name, found)
        if name in found and twin not in described:
            yield Diagnostic(
                "cage.weld-one-side",
                f"the weld at {quoted(name)} is described, and that at {quoted(twin)} on the other side is not",
                build.where(f"cage.welds.{n}.nodes.{k}", f"cage.welds.{n}"),
                "each side is named by itself: add it, if it is the same",
                severity="warning",
            )


def strengths(pair: tuple[Quantity | None, Quantity | None], where: Place) -> Iterator[Diagnostic]:
    """What breaks before it yields: the two strengths are exchanged, or one is of another steel."""
    low, high = pair
    if low is not None and high is not None and low.si > high.si:
        yield Diagnostic(
            "cage.strengths",
            f"the yield strength, {low.written}, is above the tensile strength, {high.written}",
            low.place or where,
            "exchange or correct the two",
        )


STRAIGHT = 0.985
"""Cosine of the 10° by which two tubes may turn and be one."""
LEAST = {None: 0.5, "start": 0.7, "end": 0.7, "both": 1.0}
"""The least K of a column whose ends are held in place, by which of them turns freely (AISC 360, commentary
to appendix 7: 0.5, 0.7 and 1.0 in theory)."""


def end_problems(section: Cage, build: Build) -> Iterator[Diagnostic]:
    """A tube that counts as shorter than its ends can make it."""
    for own in section.every_tube:
        k = own.effective_length or section.effective_length
        least = LEAST[own.pinned]
        if k.si < least * (1.0 - 1e-9):
            ends = {"both": "two bolted ends", None: "welded ends"}.get(
                own.pinned, "one bolted end"
            )
            yield Diagnostic(
                "cage.effective-length",
                f"an effective length factor of {k.written} is too small for a tube with {ends}",
                build.where(f"{ref_of(own)}.effective_length", ref_of(own)),
                f"K is {least:g} or more where neither end can shift; 1 is what the calculation asks for",
            )
