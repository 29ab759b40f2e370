"""Tubes of a cage that cross or touch without a joint: they are welded in steel, and not in the model."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, quoted
from buildspec.quantities import both, show
from buildspec.sections.cage_lines import Array, Course, Joint, bends_of, moved, ref_of, traced

if TYPE_CHECKING:
    from buildspec.sections.cage import Cage

REACH = 3.0
"""Tubes that share a joint run into each other near it; within so many diameters that is no crossing."""
CHORDS = 4
"""Chords a bend is looked at with."""
WITHIN = 0.5
"""Share of the sum of two radii: tubes whose middle lines are nearer all along are in each other's place."""


@dataclass(frozen=True, eq=False)
class _Segments:
    """Straight stretches: begin, end (s, 3) m, radius and that of the hole (s,) m, and the number of
    their course (s,)."""

    begin: Array
    end: Array
    radius: Array
    hole: Array
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
    """A warning for each two tubes that come nearer than they are thick, away from a common joint;
    an error where they lie in one another, and would be counted twice.
    """
    at = moved(section, found, of)
    near = {c.name: {n: at[n] for n in c.through} for c in of}
    linked = {frozenset((a, b)) for c in of for a, b in zip(c.through, c.through[1:], strict=False)}
    said: set[frozenset[str]] = set()
    for meet in _close(_segments(section, of, found, at)):
        first, second = of[meet.first], of[meet.second]
        pair, points = frozenset((first.own.id, second.own.id)), (meet.at, meet.other)
        if pair in said:
            continue
        if meet.shared > 0.0:
            said.add(pair)
            yield _doubled(build, first, second, meet.shared)
        elif not _common(near[first.name], near[second.name], points, meet.reach, linked):
            said.add(pair)
            yield _crossing(build, first, second, (meet.at + meet.other) / 2.0)


def _segments(
    section: Cage, of: tuple[Course, ...], found: Mapping[str, Joint], at: Mapping[str, Array]
) -> _Segments:
    by_id = {tube.id: tube for tube in section.tubes}
    lines = [_points(course, found, at) for course in of]
    number = np.repeat(np.arange(len(of)), [len(points) - 1 for points in lines])
    tubes = [by_id[course.own.tube] for course in of]
    radius = np.array([tube.outer.si / 2.0 for tube in tubes])
    wall = np.array([tube.wall.si for tube in tubes])
    return _Segments(
        np.concatenate([points[:-1] for points in lines]),
        np.concatenate([points[1:] for points in lines]),
        radius[number],
        (radius - wall)[number],
        number,
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


@dataclass(frozen=True, eq=False)
class _Meet:
    """Two courses by their numbers, the nearest points of a stretch of each (3,), m, the reach within
    which a common joint explains them, and over what length they lie in one another."""

    first: int
    second: int
    at: Array
    other: Array
    reach: float
    shared: float


def _close(of: _Segments) -> Iterator[_Meet]:
    """Pairs of courses with stretches that are nearer than their radii."""
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
            pair = int(of.course[i]), int(of.course[rest[k]])
            shared = _shared(of, int(i), int(rest[k]))
            yield _Meet(*pair, p[k], q[k], REACH * float(both[k]), shared)


def _shared(of: _Segments, i: int, j: int) -> float:
    """Over what length two stretches lie in one another, m; 0 where it is no more than two tubes do that
    leave one joint at an angle, or where one fits into the other as a sleeve does.
    """
    thick = float(of.radius[i] + of.radius[j])
    if min(of.radius[i], of.radius[j]) <= max(of.hole[i], of.hole[j]):
        return 0.0
    length, other = (float(np.linalg.norm(of.end[k] - of.begin[k])) for k in (i, j))
    along = (of.end[i] - of.begin[i]) / length
    line = (of.end[j] - of.begin[j]) / other
    ends = (np.array((of.begin[j], of.end[j])) - of.begin[i]) @ along
    apart = of.begin[i] - of.begin[j]
    near, far = _within(apart - apart @ line * line, along - along @ line * line, WITHIN * thick)
    shared = min(float(ends.max()), far, length) - max(float(ends.min()), near, 0.0)
    return shared if shared > max(REACH * thick, min(length, other) / 2.0) else 0.0


def _within(start: Array, change: Array, most: float) -> tuple[float, float]:
    """From where to where a vector `start` + t `change` (3,) is shorter than `most`; (0, 0) nowhere."""
    a, b, c = float(change @ change), float(start @ change), float(start @ start) - most**2
    if a < 1e-18:
        return (-np.inf, np.inf) if c < 0.0 else (0.0, 0.0)
    root = b * b - a * c
    if root <= 0.0:
        return 0.0, 0.0
    return (-b - root**0.5) / a, (-b + root**0.5) / a


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


def _doubled(build: Build, first: Course, second: Course, shared: float) -> Diagnostic:
    name = ref_of(second.own)
    return Diagnostic(
        "cage.doubled",
        f"the tubes {quoted(first.name)} and {quoted(second.name)} lie in one another over "
        f"{both(shared, 'length', build.system)}",
        build.where(f"{name}.id", name),
        "keep one of the two there: both would be counted, and there is room for one",
    )


def _crossing(build: Build, first: Course, second: Course, point: Array) -> Diagnostic:
    said = ", ".join(
        f"{axis} {show(float(value), 'length', build.system)}"
        for axis, value in zip("xyz", point, strict=True)
    )
    name = ref_of(second.own)
    return Diagnostic(
        "cage.crossing",
        f"the tubes {quoted(first.name)} and {quoted(second.name)} meet at {said}, and share no joint there",
        build.where(f"{name}.id", name),
        "if they are welded there, let both end at a joint at that point; if one passes the other, leave it",
        severity="warning",
    )
