"""Tubes of a cage that cross or touch without a joint: they are welded in steel, and not in the model."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, quoted
from buildspec.quantities import show
from buildspec.sections.cage_lines import Array, Course, Joint, bends_of, moved, traced

if TYPE_CHECKING:
    from buildspec.sections.cage import Cage

REACH = 3.0
"""Tubes that share a joint run into each other near it; within so many diameters that is no crossing."""
CHORDS = 4
"""Chords a bend is looked at with."""


@dataclass(frozen=True, eq=False)
class _Segments:
    """Straight stretches: begin, end (s, 3) m, radius (s,) m, and the number of their course (s,)."""

    begin: Array
    end: Array
    radius: Array
    course: NDArray[np.intp]


def outers(section: Cage, of: tuple[Course, ...], without: str = "") -> dict[str, float]:
    """For each joint that a tube goes through the largest outer diameter there, m; tubes of the size
    `without` count as lines."""
    by_id = {tube.id: 0.0 if tube.id == without else tube.outer.si for tube in section.tubes}
    found: dict[str, float] = {}
    for course in of:
        for name in course.through:
            found[name] = max(found.get(name, 0.0), by_id[course.own.tube])
    return found


def crossing_problems(
    section: Cage,
    build: Build,
    found: Mapping[str, Joint],
    of: tuple[Course, ...],
    outer: Mapping[str, float],
) -> Iterator[Diagnostic]:
    """A warning for each two tubes that come nearer than they are thick, away from a common joint."""
    at = moved(section, found, of)
    near = {c.name: {n: at[n] for n in c.through} for c in of}
    linked = {frozenset((a, b)) for c in of for a, b in zip(c.through, c.through[1:], strict=False)}
    said: set[frozenset[str]] = set()
    for i, j, p, q, reach in _close(_segments(section, of, found, at)):
        first, second = of[i], of[j]
        pair = frozenset((first.own.id, second.own.id))
        if pair in said or _common(near[first.name], near[second.name], (p, q), reach, linked):
            continue
        said.add(pair)
        yield _crossing(build, first, second, (p + q) / 2.0)


def _segments(
    section: Cage, of: tuple[Course, ...], found: Mapping[str, Joint], at: Mapping[str, Array]
) -> _Segments:
    by_id = {tube.id: tube.outer.si for tube in section.tubes}
    begins, ends, radii, number = [], [], [], []
    for n, course in enumerate(of):
        points = _points(course, found, at)
        begins.append(points[:-1])
        ends.append(points[1:])
        radii += [by_id[course.own.tube] / 2.0] * (len(points) - 1)
        number += [n] * (len(points) - 1)
    return _Segments(
        np.concatenate(begins),
        np.concatenate(ends),
        np.array(radii),
        np.array(number, dtype=np.intp),
    )


def _points(course: Course, found: Mapping[str, Joint], at: Mapping[str, Array]) -> Array:
    """The middle line of a tube as points, bends in a few chords."""
    corner = {bend.number: bend for bend in bends_of(course, found, at)}
    points: list[Array] = []
    for k, place in enumerate(traced(course, found, at)):
        if k in corner:
            whole = corner[k].points
            pick = np.linspace(0, len(whole) - 1, CHORDS + 1).round().astype(int)
            points += list(whole[np.unique(pick)])
        else:
            points.append(place)
    return np.array(points)


def _close(of: _Segments) -> Iterator[tuple[int, int, Array, Array, float]]:
    """Pairs of courses with the nearest points of two stretches that are nearer than their radii,
    and the reach within which a common joint explains it.
    """
    low = np.minimum(of.begin, of.end) - of.radius[:, None]
    high = np.maximum(of.begin, of.end) + of.radius[:, None]
    order = np.argsort(low[:, 0], kind="stable")
    until = np.searchsorted(low[order, 0], high[order, 0], side="right")
    for place, i in enumerate(order):
        rest = order[place + 1 : until[place]]
        meets = (low[rest] <= high[i]).all(axis=1) & (high[rest] >= low[i]).all(axis=1)
        rest = rest[meets & (of.course[rest] != of.course[i])]
        if not len(rest):
            continue
        p, q = nearest_points((of.begin[i], of.end[i]), (of.begin[rest], of.end[rest]))
        both = of.radius[i] + of.radius[rest]
        for k in np.flatnonzero(np.linalg.norm(p - q, axis=1) < both):
            yield int(of.course[i]), int(of.course[rest[k]]), p[k], q[k], REACH * float(both[k])


def nearest_points(one: tuple[Array, Array], many: tuple[Array, Array]) -> tuple[Array, Array]:
    """The nearest points of one stretch (3,)–(3,) and each of many (k, 3)–(k, 3).

    The lines' nearest points, each held between its ends in turn; source: C. Ericson, Real-Time
    Collision Detection (2005), 5.1.9, from memory; the tests compare it with a search by brute force.
    """
    along, other = one[1] - one[0], many[1] - many[0]
    apart = one[0] - many[0]
    a, e = along @ along, (other * other).sum(axis=1)
    b, c, f = other @ along, apart @ along, (other * apart).sum(axis=1)
    flat = a * e - b * b
    s = np.where(flat > 1e-12 * a * e, (b * f - c * e) / np.where(flat > 0.0, flat, 1.0), 0.0)
    s = np.clip(s, 0.0, 1.0)
    t = np.clip((b * s + f) / e, 0.0, 1.0)
    s = np.clip((b * t - c) / a, 0.0, 1.0)
    return one[0] + s[:, None] * along, many[0] + t[:, None] * other


def _common(
    first: Mapping[str, Array],
    second: Mapping[str, Array],
    points: tuple[Array, Array],
    reach: float,
    linked: set[frozenset[str]],
) -> bool:
    """Whether a joint that both go through, or two that a tube joins, explain why they are near."""
    here = [n for n, at in first.items() if np.linalg.norm(at - points[0]) <= reach]
    there = [n for n, at in second.items() if np.linalg.norm(at - points[1]) <= reach]
    return any(a == b or frozenset((a, b)) in linked for a in here for b in there)


def _crossing(build: Build, first: Course, second: Course, point: Array) -> Diagnostic:
    said = ", ".join(
        f"{axis} {show(float(value), 'length', build.system)}"
        for axis, value in zip("xyz", point, strict=True)
    )
    word = "paths" if hasattr(second.own, "radius") else "members"
    name = f"cage.{word}.{second.own.id}"
    return Diagnostic(
        "cage.crossing",
        f"the tubes {quoted(first.name)} and {quoted(second.name)} meet at {said}, and share no joint there",
        build.where(f"{name}.id", name),
        "if they are welded there, let both end at a joint at that point; if one passes the other, leave it",
        severity="warning",
    )
