"""What is wrong with the shape of a cage: joints too near, tubes without length, bends that do not
fit, parts that nothing joins, tubes that cross.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, Place, listed, quoted
from buildspec.quantities import both
from buildspec.sections.cage_crossings import crossing_problems, outers
from buildspec.sections.cage_lines import (
    TWIN,
    Course,
    Joint,
    courses,
    misfit,
    moved,
    ref_of,
    sharp,
    traced,
)

if TYPE_CHECKING:
    from buildspec.sections.cage import Cage


BACK = 50.0
"""A bend that needs so many times its leg is no bend: the tube goes back where it came from."""
MANY = 4
"""So many joints too near each other for one size of tube are a mistake in the size, said once."""


def shape_problems(section: Cage, build: Build, found: Mapping[str, Joint]) -> Iterator[Diagnostic]:
    """Every problem of the shape; what needs a sound shape waits until there is one."""
    of = courses(section, found)
    outer = outers(section, of)
    first = (
        *_lengths(of, build),
        *_unused(section, build, found, of),
        *_twice(of, build),
        *_crowded(section, build, found, of),
    )
    yield from first
    if first:
        return
    second = (*_corners(of, build, found), *_fits(section, of, build, found))
    yield from second
    if second:
        return
    yield from _parts(section, of, build)
    yield from _loose(section, of, build)
    yield from _stubs(section, of, build, found)
    yield from crossing_problems(section, build, found, of, outer)


def place_of(course: Course, build: Build) -> Place:
    """Where a tube is described."""
    name = ref_of(course.own)
    return build.where(f"{name}.id", name)


# ----------------------------------------------------------------------------------- lengths


def _lengths(of: tuple[Course, ...], build: Build) -> Iterator[Diagnostic]:
    """Tubes that go from a joint to the same one."""
    for course in of:
        pairs = zip(course.through, course.through[1:], strict=False)
        if not course.twin and any(a == b for a, b in pairs):
            yield Diagnostic(
                "cage.zero-length",
                f"the tube {quoted(course.name)} goes from a joint to the same joint",
                place_of(course, build),
                "a tube needs two joints apart from each other",
            )


def _stubs(
    section: Cage, of: tuple[Course, ...], build: Build, found: Mapping[str, Joint]
) -> Iterator[Diagnostic]:
    """Straight tubes shorter than they are thick: one joint typed as two, as a rule."""
    at, sizes = moved(section, found, of), {tube.id: tube.outer for tube in section.tubes}
    for course in of:
        outer = sizes[course.own.tube]
        length = float(np.linalg.norm(at[course.through[-1]] - at[course.through[0]]))
        if course.twin or hasattr(course.own, "radius") or length >= outer.si:
            continue
        yield Diagnostic(
            "cage.stub",
            f"the tube {quoted(course.name)} is {both(length, 'length', build.system, figures=3)} long, and thicker "
            f"than that, {outer.written}",
            place_of(course, build),
            "if its joints are meant to be one, make them one; a beam so short is no tube, and its figures "
            "mean little",
            severity="warning",
        )


def _plane(section: Cage, build: Build, outer: Mapping[str, float]) -> Iterator[Diagnostic]:
    """Joints on the centre plane that shall have a twin, or so near it that the twin is in the way."""
    for node in section.nodes:
        y = abs(node.y.si)
        if node.mirror and y == 0.0:
            yield Diagnostic(
                "cage.on-plane",
                f"the joint {quoted(node.id)} lies on the centre plane and shall be mirrored",
                build.where(f"cage.nodes.{node.id}.mirror"),
                "take `mirror` out: on the centre plane a joint is its own twin",
            )
        mirrored = section.mirror if node.mirror is None else node.mirror
        if mirrored and 0.0 < 2.0 * y < outer.get(node.id, 0.0):
            yield Diagnostic(
                "cage.on-plane",
                f"the joint {quoted(node.id)} and its twin are nearer to each other than the tube is thick",
                build.where(f"cage.nodes.{node.id}.y"),
                "write `y: 0 in` for a joint on the centre plane, or `mirror: false`",
            )


def _unused(
    section: Cage, build: Build, found: Mapping[str, Joint], of: tuple[Course, ...]
) -> Iterator[Diagnostic]:
    """Joints that no tube goes through, and what stands at them."""
    used = {name for course in of for name in course.through}
    for node in section.nodes:
        if node.id not in used and node.id + TWIN not in used:
            yield Diagnostic(
                "cage.node-unused",
                f"no tube goes through the joint {quoted(node.id)}",
                build.where(f"cage.nodes.{node.id}.id"),
                "join it with a tube, or take it out",
            )
    for where, name in _named(section):
        if name in found and name not in used:
            yield Diagnostic(
                "cage.node-unused",
                f"no tube goes through the joint {quoted(name)} that is named here",
                build.where(where),
                "name a joint of the frame",
            )


def _named(section: Cage) -> Iterator[tuple[str, str]]:
    """Every joint that supports, loads, masses, welds and sets name, with its place."""
    for n, support in enumerate(section.supports):
        yield from ((f"cage.supports.{n}.nodes.{k}", x) for k, x in enumerate(support.nodes))
    for case in section.load_cases:
        for n, load in enumerate(case.loads):
            where = f"cage.load_cases.{case.id}.loads.{n}.at"
            yield from ((f"{where}.{k}", x) for k, x in enumerate(load.at))
    for mass in section.masses:
        yield from ((f"cage.masses.{mass.id}.at.{k}", x) for k, x in enumerate(mass.at))
    for n, weld in enumerate(section.welds):
        yield from ((f"cage.welds.{n}.nodes.{k}", x) for k, x in enumerate(weld.nodes))
    for entry in section.node_sets:
        for k, name in enumerate(entry.nodes):
            yield f"cage.node_sets.{entry.id}.nodes.{k}", name


def _twice(of: tuple[Course, ...], build: Build) -> Iterator[Diagnostic]:
    """Two tubes between the same two joints."""
    seen: dict[frozenset[str], Course] = {}
    said: set[tuple[str, str]] = set()
    for course in of:
        if len(course.through) != 2:
            continue
        first = seen.setdefault(frozenset(course.through), course)
        if first.own is not course.own and (first.own.id, course.own.id) not in said:
            said.add((first.own.id, course.own.id))
            a, b = course.through
            yield Diagnostic(
                "cage.member-twice",
                f"the tube {quoted(course.name)} joins {quoted(a)} and {quoted(b)}, as "
                f"{quoted(first.name)} does",
                place_of(course, build),
                "keep one of the two; what is mirrored need not be written for the other side",
                (Note(place_of(first, build), "the other one"),),
            )


# ------------------------------------------------------------------------------------ nearness


def _crowded(
    section: Cage, build: Build, found: Mapping[str, Joint], of: tuple[Course, ...]
) -> Iterator[Diagnostic]:
    """Joints nearer than tubes are thick; where the thickest size alone makes many, that is said once."""
    every = _too_close(section, build, found, of, outers(section, of))
    used = {course.own.tube for course in of}
    thick = max((t for t in section.tubes if t.id in used), key=lambda t: t.outer.si, default=None)
    if len(every) < MANY or thick is None:
        yield from every
        return
    others = _too_close(section, build, found, of, outers(section, of, without=thick.id))
    count = len(every) - len(others)
    if count < MANY:
        yield from every
        return
    yield Diagnostic(
        "cage.outer",
        f"with a diameter of {thick.outer.written}, tubes of the size {quoted(thick.id)} are thicker than "
        f"{count} pairs of joints are apart",
        thick.outer.place or build.where(f"cage.tubes.{thick.id}.outer", f"cage.tubes.{thick.id}"),
        "look at the number and its unit: no joint is at fault while they all are",
    )
    yield from others


def _too_close(
    section: Cage,
    build: Build,
    found: Mapping[str, Joint],
    of: tuple[Course, ...],
    outer: Mapping[str, float],
) -> tuple[Diagnostic, ...]:
    return (*_plane(section, build, outer), *_near(build, found, of, outer))


def _near(
    build: Build, found: Mapping[str, Joint], of: tuple[Course, ...], outer: Mapping[str, float]
) -> Iterator[Diagnostic]:
    """Joints at one spot, or nearer than a tube is thick without a tube between them."""
    names = [name for name in found if name in outer]
    linked = {frozenset(pair) for c in of for pair in zip(c.through, c.through[1:], strict=False)}
    reported: set[frozenset[str]] = set()
    for a, b, gap in _pairs(names, found, outer):
        written = frozenset((found[a].node.id, found[b].node.id))
        twins = len(written) == 1  # said of the joint on the centre plane
        if twins or written in reported or (frozenset((a, b)) in linked and gap > 0.0):
            continue
        reported.add(written)
        yield _too_near(build, found[a], found[b], gap)


def _pairs(
    names: list[str], found: Mapping[str, Joint], outer: Mapping[str, float]
) -> Iterator[tuple[str, str, float]]:
    """Pairs of joints nearer than the mean of their tubes' diameters, and the distance."""
    if not names:
        return
    at = np.array([found[name].at for name in names])
    thick = np.array([outer[name] for name in names])
    order = np.argsort(at[:, 0], kind="stable")
    at, thick = at[order], thick[order]
    until = np.searchsorted(at[:, 0], at[:, 0] + thick.max(), side="right")
    for i in range(len(names)):
        gaps = np.linalg.norm(at[i + 1 : until[i]] - at[i], axis=1)
        least = (thick[i + 1 : until[i]] + thick[i]) / 2.0
        for k in np.flatnonzero(gaps < least):
            a, b = sorted((int(order[i]), int(order[i + 1 + k])))
            yield names[a], names[b], float(gaps[k])


def _too_near(build: Build, first: Joint, second: Joint, gap: float) -> Diagnostic:
    note = Note(build.where(f"cage.nodes.{first.node.id}"), "the other one")
    where = build.where(f"cage.nodes.{second.node.id}.id")
    if gap == 0.0:
        return Diagnostic(
            "cage.node-twice",
            f"the joints {quoted(first.name)} and {quoted(second.name)} are at the same spot",
            where,
            "keep one of the two, and let tubes that meet there name it",
            (note,),
        )
    return Diagnostic(
        "cage.node-near",
        f"the joints {quoted(first.name)} and {quoted(second.name)} are {both(gap, 'length', build.system)} "
        "apart, less than a tube is thick, and nothing joins them",
        where,
        "make them one joint, or join them by a short tube: tubes meet only where they name the same joint",
        (note,),
    )


# --------------------------------------------------------------------------------------- bends


def _corners(
    of: tuple[Course, ...], build: Build, found: Mapping[str, Joint]
) -> Iterator[Diagnostic]:
    """A corner of one bent tube that another goes through as well."""
    owner: dict[str, Course] = {}
    for course in of:
        if hasattr(course.own, "radius"):
            for number, _ in sharp(np.array([found[name].at for name in course.through])):
                owner.setdefault(course.through[number], course)
    said: set[tuple[str, str]] = set()
    for course in of:
        for name in course.through[1:-1]:
            first = owner.get(name)
            if first is None or first is course:
                continue
            pair = (first.own.id, course.own.id)
            if pair not in said:
                said.add(pair)
                yield Diagnostic(
                    "cage.corner-shared",
                    f"the bent tube {quoted(course.name)} goes through {quoted(name)}, a corner of "
                    f"{quoted(first.name)}",
                    place_of(course, build),
                    "a corner is where the legs of one tube would meet: let the other end there, or pass "
                    "through a joint of its own",
                    (Note(place_of(first, build), "the other one"),),
                )


def _fits(
    section: Cage, of: tuple[Course, ...], build: Build, found: Mapping[str, Joint]
) -> Iterator[Diagnostic]:
    """Bends that need more length than their legs have."""
    at = {name: joint.at for name, joint in found.items()}
    if all(_misfit(course, found, at) is None for course in of):
        at = moved(section, found, of)
    for course in of:
        short = _misfit(course, found, at)
        if short is None or course.twin:
            continue
        leg, need, has = short
        yield Diagnostic(
            "cage.bend",
            _bend_words(course, leg, (need, has), build),
            build.where(f"cage.paths.{course.own.id}.radius"),
            "bend it about a smaller radius, or move the joints apart",
        )


def _bend_words(course: Course, leg: int, sizes: tuple[float, float], build: Build) -> str:
    """What does not fit: bends on a leg too short, or a tube that turns back on itself."""
    need, has = sizes
    a, b = course.through[leg : leg + 2]
    if need > BACK * has:
        return f"the tube {quoted(course.name)} turns back on itself at {quoted(a)} or {quoted(b)}"
    taken, length = (both(size, "length", build.system) for size in sizes)
    return (
        f"the bends of {quoted(course.name)} take {taken} of the leg from {quoted(a)} to "
        f"{quoted(b)}, and it is {length} long"
    )


def _misfit(
    course: Course, found: Mapping[str, Joint], at: Mapping[str, np.ndarray]
) -> tuple[int, float, float] | None:
    radius = getattr(course.own, "radius", None)
    return misfit(traced(course, found, at), radius.si) if radius else None


# --------------------------------------------------------------------------------------- parts


def _parts(section: Cage, of: tuple[Course, ...], build: Build) -> Iterator[Diagnostic]:
    """Tubes that are joined with the rest by nothing."""
    part = {name: name for course in of for name in course.through}

    def root(name: str) -> str:
        while part[name] != name:
            part[name] = part[part[name]]
            name = part[name]
        return name

    for course in of:
        for name in course.through[1:]:
            part[root(name)] = root(course.through[0])
    groups: dict[str, list[Course]] = {}
    for course in of:
        groups.setdefault(root(course.through[0]), []).append(course)
    largest = max(groups.values(), key=len)
    said: list[frozenset[str]] = []
    for group in groups.values():
        own = frozenset(c.own.id for c in group)  # a part and its mirror image are one mistake
        if group is largest or own in said:
            continue
        said.append(own)
        yield Diagnostic(
            "cage.parts",
            f"nothing joins {listed([c.name for c in group], 6)} with the rest of the frame",
            place_of(group[0], build),
            "let one of them end at a joint of the rest: tubes meet only where they name the same joint",
        )


def _loose(section: Cage, of: tuple[Course, ...], build: Build) -> Iterator[Diagnostic]:
    """Ends that nothing else is fixed to."""
    count: dict[str, int] = {}
    for course in of:
        for name in (course.through[0], course.through[-1], *course.through):
            count[name] = count.get(name, 0) + 1
    held = {name for _, name in _named(section)}
    for course in of:
        for name in (course.through[0], course.through[-1]):
            if (
                count[name] == 2
                and name not in held
                and not course.twin
                and course.through[0] != course.through[-1]
            ):
                yield Diagnostic(
                    "cage.loose-end",
                    f"the tube {quoted(course.name)} ends at {quoted(name)}, and nothing else is there",
                    place_of(course, build),
                    "join it, support it, or leave it: it then carries nothing",
                    severity="warning",
                )
