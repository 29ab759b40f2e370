"""What is wrong with a cage's loads and masses that the schema cannot say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Place, closest, listed, quoted
from buildspec.quantities import Quantity
from buildspec.sections.cage_lines import Joint, joints, other_side
from buildspec.sections.cage_words import SHIPPED

if TYPE_CHECKING:
    from buildspec.sections.cage import Cage, Load, LoadCase, Mass


def load_problems(section: Cage, build: Build) -> Iterator[Diagnostic]:
    """Cases held by nothing, sizes given twice or not at all, forces that point nowhere."""
    found = joints(section)
    yield from _holding(section, build)
    for case in section.load_cases:
        yield from _shipped(case, build)
        for n, load in enumerate(case.loads):
            where = f"cage.load_cases.{case.id}.loads.{n}"
            yield from _size(case, load, where, build)
            yield from _direction(case, load, where, build)
            yield from _upward(section, found, load, where, build)
            yield from _aft(load, where, build)
            yield from _shares(load.at, load.shares, where, build)
            yield from _repeated(section, found, load.at, where, build)
            yield from _unsure(load, build)
            yield from _into_supports(section, found, (case, load), where, build)
    for mass in section.masses:
        yield from _mass(mass, build)
        yield from _shares(mass.at, mass.shares, f"cage.masses.{mass.id}", build)
        yield from _repeated(section, found, mass.at, f"cage.masses.{mass.id}", build)


def _holding(section: Cage, build: Build) -> Iterator[Diagnostic]:
    """Something must hold the frame: supports, or masses that resist; said once, at the first case."""

    def those(held: str) -> tuple[str, Place]:
        ids = [c.id for c in section.load_cases if (c.held_by or section.held_by) == held]
        first = f"cage.load_cases.{ids[0]}" if ids else "cage"
        words = f"the load case{'s' if len(ids) > 1 else ''} {listed(ids, 4)}" if ids else ""
        return words, build.where(f"{first}.held_by", "cage.held_by", first)

    cases, where = those("supports")
    if cases and not section.supports:
        yield Diagnostic(
            "cage.unsupported",
            f"nothing holds the frame in {cases}",
            where,
            "name the joints that are held under `supports`, or write `held_by: inertia` for a frame "
            "that its own inertia holds, as in a roll",
        )
    cases, where = those("inertia")
    if cases and not section.masses:
        yield Diagnostic(
            "cage.massless",
            f"in {cases} the tubes' own mass alone resists the load",
            where,
            "name what is fixed to the frame under `masses`, the rest of the vehicle included",
            severity="warning",
        )


def _shipped(case: LoadCase, build: Build) -> Iterator[Diagnostic]:
    """Whoever names a shipped case has all of it: its title and source stand on the page."""
    if not case.shipped:
        return
    if case.shipped in SHIPPED:
        yield from _lacking(case, SHIPPED[case.shipped], build)
        return
    near = closest(case.shipped, tuple(SHIPPED))
    yield Diagnostic(
        "cage.shipped-unknown",
        f"there is no shipped load case {quoted(case.shipped)}",
        build.where(f"cage.load_cases.{case.id}.shipped"),
        f"did you mean `{near}`?" if near else f"they are {listed(SHIPPED, 20)}",
    )


OWN = "a case that departs from the shipped one on purpose has no `shipped`, but a title and source of its own"


def _lacking(case: LoadCase, parts: tuple[str, ...], build: Build) -> Iterator[Diagnostic]:
    """Parts of a shipped case that no load is; a part of another name is said where it stands."""
    used = {load.part for load in case.loads if load.part}
    missing = [part for part in parts if part not in used]
    if not missing or used - set(parts):
        return
    words = " and ".join(f"`part: {part}`" for part in missing)
    yield Diagnostic(
        "cage.shipped-part",
        f"no load of this case has {words}, which {quoted(case.shipped)} consists of",
        build.where(f"cage.load_cases.{case.id}.shipped"),
        f"add a load for each part that is missing; {OWN}",
    )


SIZES = ("force", "condition", "items", "result", "part")


def _size(case: LoadCase, load: Load, where: str, build: Build) -> Iterator[Diagnostic]:
    """How large a force is, said once and in full."""
    given = [word for word in SIZES if getattr(load, word)]
    own = [word for word in given if word != "part"]
    if load.part:
        yield from _part(case, load, where, build)
        weight = case.shipped in WEIGHTS
        if own and not (weight and own in (["condition"], ["items"])):
            yield _twice(given, where, build)
        elif weight and not own:
            yield Diagnostic(
                "cage.load-size",
                f"{quoted(case.shipped)} is a multiple of a weight, and no weight is named",
                build.where(f"{where}.part", where),
                "add `condition`, a condition of the section `mass`, or `items`",
            )
    elif not given:
        yield Diagnostic(
            "cage.load-size",
            "this load has no size",
            build.where(where),
            "give `force`; or `factor` with `condition`, `items` or `result`; or `part` of a shipped case",
        )
    elif len(given) > 1:
        yield _twice(given, where, build)
    yield from _factor(load, where, build)


WEIGHTS = ("roof_crush", "roof_crush_good")
"""Shipped cases whose size is a multiple of a weight."""


def _twice(given: list[str], where: str, build: Build) -> Diagnostic:
    return Diagnostic(
        "cage.load-size",
        f"the size of this load is given more than once: {listed(given)}",
        build.where(f"{where}.{given[-1]}", where),
        "keep one of them; several forces are several loads",
    )


def _part(case: LoadCase, load: Load, where: str, build: Build) -> Iterator[Diagnostic]:
    parts = SHIPPED.get(case.shipped)
    if parts is None and not case.shipped:
        yield Diagnostic(
            "cage.part",
            f"{quoted(load.part)} is part of no shipped load case: this case names none",
            build.where(f"{where}.part"),
            "name one under `shipped`, or give the load's own size",
        )
    elif parts is not None and load.part not in parts:
        yield Diagnostic(
            "cage.part",
            f"{quoted(case.shipped)} has no part {quoted(load.part)}",
            build.where(f"{where}.part"),
            f"its parts are {listed(parts)}",
        )


def _factor(load: Load, where: str, build: Build) -> Iterator[Diagnostic]:
    """A factor multiplies a weight or a result; a weight needs one."""
    if load.factor and load.part:
        yield Diagnostic(
            "cage.factor",
            f"part {quoted(load.part)} of a shipped load case has the size of its source",
            load.factor.place or build.where(where),
            f"leave `factor` out; more may be asked with the `factor` of the whole case; {OWN}",
        )
    elif load.factor and load.force:
        yield Diagnostic(
            "cage.factor",
            "a stated force has no `factor`",
            load.factor.place or build.where(where),
            "write the force itself; the factor asked of the whole case stands at the case",
        )
    elif (load.condition or load.items) and not load.factor and not load.part:
        yield Diagnostic(
            "cage.factor",
            "this load is a multiple of a weight, and the multiple is missing",
            build.where(where),
            "add `factor`, such as `factor: 6` for six times the weight",
        )


POINTED: Mapping[str, tuple[float, float, float]] = {
    "roll_structure_main": (60.0, 50.0, -90.0),
    "roll_structure_second": (0.0, 0.0, -1.0),
    "head_restraint": (1.0, 0.0, 0.0),
}
"""Shipped cases whose source says where the force points, as parts along the axes."""


def _direction(case: LoadCase, load: Load, where: str, build: Build) -> Iterator[Diagnostic]:
    if load.direction is None:
        if not (load.part and case.shipped in POINTED):
            yield Diagnostic(
                "cage.direction",
                "this load points nowhere",
                build.where(where),
                "add `direction`, such as `direction: {z: -1}` for straight down",
            )
    elif not any(load.direction.parts):
        yield Diagnostic(
            "cage.direction",
            "this load points nowhere: every part of its direction is 0",
            build.where(f"{where}.direction"),
            "x is aft, y to the driver's right, z up",
        )
    elif load.part and case.shipped in POINTED and not _points(load.direction.parts, case.shipped):
        yield Diagnostic(
            "cage.direction",
            f"{quoted(case.shipped)} does not point this way",
            build.where(f"{where}.direction"),
            f"leave `direction` out, or turn only the sign of its `y` for the other side; {OWN}",
        )


BELTS = ("lap", "shoulder", "belt", "belts")
"""Parts of shipped cases that stand for a belt: the driver flies forward and pulls at it."""


def _aft(load: Load, where: str, build: Build) -> Iterator[Diagnostic]:
    """A belt that pushes its anchor aft, or a parachute that pulls forward: a sign turned round."""
    x = load.direction.parts[0] if load.direction else 0.0
    if load.part in BELTS and x > 0.0:
        said = (
            f"this load, part {quoted(load.part)}, points aft, and a belt pulls its anchor forward"
        )
        mend = "x is aft: give its part along x a minus"
    elif load.result.startswith("parachutes.") and x < 0.0:
        said = "this load points forward, and a parachute pulls aft"
        mend = "x is aft: take the minus of its part along x away"
    else:
        return
    place = build.where(f"{where}.direction")
    yield Diagnostic("cage.turned-round", said, place, mend, severity="warning")


def _unsure(load: Load, build: Build) -> Iterator[Diagnostic]:
    """A ± of where a load points or of who shares it: it is in no margin, and must not seem to be."""
    way = load.direction
    parts = (way.x, way.y, way.z) if way else ()
    for q in (*parts, *load.shares):
        if q is not None and q.half_width > 0.0:
            yield Diagnostic(
                "cage.spread",
                f"the ± of {q.written} is counted nowhere: neither a direction nor a share has a spread",
                build.where(q.id),
                "write a load case for each end of it: the worse one counts",
            )


def _points(way: tuple[float, float, float], shipped: str) -> bool:
    """Whether a direction is that of a shipped case, or its mirror image on the other side."""
    x, y, z = POINTED[shipped]
    own = np.array(way) / np.linalg.norm(way)
    both = np.array(((x, y, z), (x, -y, z))) / np.linalg.norm((x, y, z))
    return bool(np.abs(both - own).max(axis=1).min() < 0.01)


STEEP = 0.5
"""Share of a force that is called upward; a harness or a parachute pulls flatter."""


def _upward(
    section: Cage, found: Mapping[str, Joint], load: Load, where: str, build: Build
) -> Iterator[Diagnostic]:
    """A force that lifts the top of the frame: the ground presses on it, whatever lies above in a roll."""
    way = load.direction.parts if load.direction else (0.0, 0.0, 0.0)
    if load.result or load.direction is None or way[2] <= STEEP * float(np.linalg.norm(way)):
        return
    heights = sorted(float(joint.at[2]) for joint in found.values())
    sets = {s.id: s.nodes for s in section.node_sets}
    at = [found[n].at[2] for name in load.at for n in sets.get(name, (name,)) if n in found]
    if not at or min(at) <= (heights[0] + heights[-1]) / 2.0:
        return
    yield Diagnostic(
        "cage.upward",
        "this load lifts the upper half of the frame",
        build.where(f"{where}.direction"),
        "z is up: where the vehicle lies on the ground, the ground presses the other way, with "
        "a negative z; leave it if something does lift there",
        severity="warning",
    )


def _shares(
    at: tuple[str, ...], shares: tuple[Quantity, ...], where: str, build: Build
) -> Iterator[Diagnostic]:
    if not shares:
        return
    if len(shares) != len(at):
        yield Diagnostic(
            "cage.shares",
            f"`shares` has {len(shares)} and `at` has {len(at)} entries",
            build.where(f"{where}.shares"),
            "give one for each, in the same order, or leave `shares` out",
        )
    elif not any(q.si for q in shares):
        yield Diagnostic(
            "cage.shares",
            "every share is 0",
            build.where(f"{where}.shares"),
            "give at least one of them a number above 0",
        )


def _repeated(
    section: Cage, found: Mapping[str, Joint], at: tuple[str, ...], where: str, build: Build
) -> Iterator[Diagnostic]:
    """A joint that two entries of `at` stand for, by itself or in a set, would take twice as much."""
    first: dict[str, str] = {}
    for n, name in enumerate(at):
        for joint in joints_of(section, found, name):
            if joint in first:
                yield Diagnostic(
                    "cage.joint-twice",
                    f"{quoted(name)} names the joint {quoted(joint)}, which {quoted(first[joint])} "
                    "names before it",
                    build.where(f"{where}.at.{n}", f"{where}.at", where),
                    "name each joint once; give `shares` where one takes more than another",
                )
                return
            first[joint] = name


def _into_supports(
    section: Cage,
    found: Mapping[str, Joint],
    of: tuple[LoadCase, Load],
    where: str,
    build: Build,
) -> Iterator[Diagnostic]:
    """A force on a joint that is held the way it points: no tube feels it, and all of them hold."""
    case, load = of
    if (case.held_by or section.held_by) != "supports":
        return
    way = load.direction.parts if load.direction else POINTED.get(case.shipped, (0.0, 0.0, 0.0))
    along = {axis for axis, part in zip("xyz", way, strict=True) if part}
    held = _held(section, found)
    every = dict.fromkeys(j for name in load.at for j in joints_of(section, found, name))
    lost = [j for j in every if along and along <= held.get(j, set())]
    if lost:
        yield Diagnostic(
            "cage.load-held",
            f"{listed(lost, 4)} {'is' if len(lost) == 1 else 'are'} held the way this load points: no tube feels "
            f"{'it' if len(lost) == len(every) else 'what acts there'}",
            build.where(f"{where}.at", where),
            "let it act where the frame is not held; leave it if the rest of the vehicle is to take it there",
            severity="warning",
        )


def _held(section: Cage, found: Mapping[str, Joint]) -> Mapping[str, set[str]]:
    """The translations that supports hold at each joint."""
    held: dict[str, set[str]] = {}
    for support in section.supports:
        for name in support.nodes:
            for joint in joints_of(section, found, name):
                held.setdefault(joint, set()).update(support.motions or "xyz")
    return held


def joints_of(section: Cage, found: Mapping[str, Joint], name: str) -> tuple[str, ...]:
    """The joints that a name of a joint or of a set stands for."""
    chosen = next((s for s in section.node_sets if s.id == name), None)
    own = chosen.nodes if chosen else (name,)
    twins = (other_side(j, found) for j in own) if chosen and chosen.twins else ()
    return tuple(dict.fromkeys((*own, *twins)))


def _mass(mass: Mass, build: Build) -> Iterator[Diagnostic]:
    given = [word for word in ("mass", "items", "rest_of") if getattr(mass, word)]
    if len(given) == 1:
        return
    where = f"cage.masses.{mass.id}"
    said = "has no size" if not given else f"is given more than once: {listed(given)}"
    yield Diagnostic(
        "cage.mass-size",
        f"the mass {quoted(mass.id)} {said}",
        build.where(f"{where}.{given[-1]}" if given else where, where),
        "give one of `mass`, `items` and `rest_of`",
    )
