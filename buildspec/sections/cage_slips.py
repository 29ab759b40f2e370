"""Slips of the pen in a cage by which a tube is asked for nothing, or something found on it is lost."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, quoted
from buildspec.sections.cage_lines import Joint, courses, ref_of
from buildspec.sections.cage_loads import joints_of

if TYPE_CHECKING:
    from buildspec.sections.cage import Cage

ALIKE = 0.85
"""How alike two names of groups must be for one to be a slip of the other; `side structure` and `upper
structure` are 0.76."""


def group_problems(section: Cage, build: Build) -> Iterator[Diagnostic]:
    """A tube whose group is almost one that something is prescribed for: it would be asked for nothing."""
    named = {own.group for own in section.every_tube}  # of no tube: that is an error of its own
    groups = (g for rule in section.prescribed for g in rule.groups if g in named)
    asked = tuple(dict.fromkeys(groups))
    for own in section.every_tube:
        if not own.group or own.group in asked:
            continue
        near = [group for group in asked if _alike(own.group, group)]
        if near:
            yield Diagnostic(
                "cage.group-near",
                f"nothing is prescribed for the group {quoted(own.group)} of {quoted(own.id)}",
                build.where(f"{ref_of(own)}.group", ref_of(own)),
                f"did you mean `{near[0]}`?",
                severity="warning",
            )


def _alike(one: str, other: str) -> bool:
    """Whether two names are one but for a letter; `hoop 1` and `hoop 2` are two."""
    first, second = (
        " ".join(re.split(r"[\s_-]+", name.casefold().strip())) for name in (one, other)
    )
    same = re.findall(r"\d+", first) == re.findall(r"\d+", second)
    return same and SequenceMatcher(None, first, second).ratio() >= ALIKE


def support_problems(
    section: Cage, build: Build, found: Mapping[str, Joint]
) -> Iterator[Diagnostic]:
    """A joint that two entries hold, one less than the other; `motions` may be added to one."""
    first: dict[str, tuple[int, int]] = {}
    for n, support in enumerate(section.supports):
        for k, name in enumerate(support.nodes):
            for joint in joints_of(section, found, name):
                other, its = first.setdefault(joint, (n, k))
                before = section.supports[other]
                if other == n or before.held == support.held or before.motions or support.motions:
                    continue
                yield Diagnostic(
                    "cage.held-apart",
                    f"{quoted(joint)} is held in two ways, {support.held or 'fixed'} and {before.held or 'fixed'}",
                    build.where(f"cage.supports.{n}.nodes.{k}", f"cage.supports.{n}"),
                    "keep the entry that is so",
                    (Note(build.where(f"cage.supports.{other}.nodes.{its}"), "the other one"),),
                )


def twin_problems(section: Cage, build: Build, found: Mapping[str, Joint]) -> Iterator[Diagnostic]:
    """What was found on the twin of a tube that has none."""
    twins = {course.own.id for course in courses(section, found) if course.twin}
    for own in section.every_tube:
        for key in ("measured_wall_twin", "inspection_hole_twin"):
            if getattr(own, key) is not None and own.id not in twins:
                yield Diagnostic(
                    "cage.no-twin",
                    f"{quoted(own.id)} has no twin, and `{key}` is stated",
                    build.where(f"{ref_of(own)}.{key}"),
                    f"what was found on this very tube is `{key.removesuffix('_twin')}`; the least wall counts",
                )
