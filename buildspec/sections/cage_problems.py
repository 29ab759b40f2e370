"""What is wrong with a cage that its schema cannot say: names that lead nowhere, amounts that
contradict one another. What is wrong with its shape is looked for in `cage_shape`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Note, closest, listed, quoted
from buildspec.quantities import Quantity
from buildspec.sections.cage_driver import driver_problems
from buildspec.sections.cage_lines import TWIN, Joint, joints, other_side
from buildspec.sections.cage_loads import load_problems
from buildspec.sections.cage_shape import shape_problems
from buildspec.sections.cage_slips import group_problems, support_problems, twin_problems
from buildspec.sections.cage_welds import (
    end_problems,
    meeting_problems,
    strengths,
    weld_problems,
)
from buildspec.sections.cage_words import DRAWN, MATERIALS
from buildspec.sections.driver import Driver
from buildspec.sections.driver import Helmet as DriversHelmet
from buildspec.thousands import thousands

if TYPE_CHECKING:
    from buildspec.sections.cage import Cage, Helmet, Material, Space, Tube


def look(section: Cage, build: Build) -> Iterator[Diagnostic]:
    """Every problem of the frame, each at its line.

    Its shape is looked at once its names lead somewhere: before, there is none.
    """
    found = joints(section)
    names = (*_own_names(section, build), *_names(section, build, found))
    yield from names
    yield from thousands(
        (value, build.where(f"cage.nodes.{node.id}"))
        for node in section.nodes
        for value in (node.x, node.y, node.z)
    )
    yield from _tubes(section, build)
    yield from load_problems(section, build)
    yield from _supports(section, build)
    yield from support_problems(section, build, found)
    yield from _held_on_one_side(section, build, found)
    yield from weld_problems(section, build, found)
    yield from end_problems(section, build)
    yield from _spaces(section, build)
    yield from _prescribed(section, build)
    yield from group_problems(section, build)
    yield from _feed(section, build)
    yield from driver_problems(found, build)
    if not names:
        yield from twin_problems(section, build, found)
        yield from meeting_problems(section, build, found)
        yield from shape_problems(section, build, found)


# ------------------------------------------------------------------------------------- names


def _own_names(section: Cage, build: Build) -> Iterator[Diagnostic]:
    """Names that two things would have."""
    if not section.members and not section.paths:
        yield Diagnostic(
            "cage.tubes-missing",
            "the cage has no tube",
            build.where("cage"),
            "describe straight tubes under `members` and bent ones under `paths`",
        )
    yield from _twins(section, build)
    nodes = {node.id for node in section.nodes}
    for entry in section.node_sets:
        if entry.id in nodes:
            yield Diagnostic(
                "cage.name",
                f"{quoted(entry.id)} is the name of a joint and of a set of joints",
                build.where(f"cage.node_sets.{entry.id}.id"),
                "give the set another name",
                (Note(build.where(f"cage.nodes.{entry.id}"), "the joint"),),
            )


def _twins(section: Cage, build: Build) -> Iterator[Diagnostic]:
    """Names that end as those of twins do."""
    straight = {m.id: f"cage.members.{m.id}" for m in section.members}
    for path in section.paths:
        if path.id in straight:
            yield Diagnostic(
                "cage.name",
                f"{quoted(path.id)} is the name of a straight and of a bent tube",
                build.where(f"cage.paths.{path.id}.id"),
                "give one of them another name",
                (Note(build.where(straight[path.id]), "the straight tube"),),
            )
    lists = (("nodes", section.nodes), ("members", section.members), ("paths", section.paths))
    for word, entries in lists:
        for entry in entries:
            if entry.id.endswith(TWIN):
                yield Diagnostic(
                    "cage.twin-name",
                    f"{quoted(entry.id)} ends like the name of a twin",
                    build.where(f"cage.{word}.{entry.id}.id"),
                    f"names that end in `{TWIN}` are given by `mirror`: choose another, or leave the "
                    "entry out and let the other side's be mirrored",
                )


def _names(section: Cage, build: Build, found: Mapping[str, Joint]) -> Iterator[Diagnostic]:
    """Every place that names a joint, or a set where one may stand."""
    for member in section.members:
        for key, name in (("from", member.from_), ("to", member.to)):
            yield from _unknown(name, f"cage.members.{member.id}.{key}", build, found)
    for path in section.paths:
        for n, name in enumerate(path.through):
            yield from _unknown(name, f"cage.paths.{path.id}.through.{n}", build, found)
    for entry in section.node_sets:
        for n, name in enumerate(entry.nodes):
            yield from _unknown(name, f"cage.node_sets.{entry.id}.nodes.{n}", build, found)
    sets = {entry.id for entry in section.node_sets}
    for where, names in _places(section):
        for n, name in enumerate(names):
            if name not in sets:
                yield from _unknown(name, f"{where}.{n}", build, found, sets)


def _places(section: Cage) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Where joints or sets are named: supports, loads, masses, welds."""
    for n, support in enumerate(section.supports):
        yield f"cage.supports.{n}.nodes", support.nodes
    for case in section.load_cases:
        for n, load in enumerate(case.loads):
            yield f"cage.load_cases.{case.id}.loads.{n}.at", load.at
    for mass in section.masses:
        yield f"cage.masses.{mass.id}.at", mass.at
    for n, weld in enumerate(section.welds):
        yield f"cage.welds.{n}.nodes", weld.nodes


def _unknown(
    name: str, where: str, build: Build, found: Mapping[str, Joint], sets: Iterable[str] = ()
) -> Iterator[Diagnostic]:
    if name in found:
        return
    yield Diagnostic(
        "cage.node-unknown",
        f"there is no joint {quoted(name)}",
        build.where(where),
        _advice(name, found, (*found, *sets)),
    )


def _advice(name: str, found: Mapping[str, Joint], words: tuple[str, ...]) -> str:
    """What to do about a joint that is not there."""
    written = name.removesuffix(TWIN)
    if name.endswith(TWIN) and written in found:
        if found[written].node.y.si == 0.0:
            return f"{quoted(written)} lies on the centre plane and has no twin: write `{written}`"
        return f"{quoted(written)} has no twin: write `mirror: true` in the cage or at that joint"
    near = closest(name, words)
    return f"did you mean `{near}`?" if near else "add it to `nodes`"


# ------------------------------------------------------------------------------------- tubes


def _tubes(section: Cage, build: Build) -> Iterator[Diagnostic]:
    for own in section.materials:
        if own.id in MATERIALS:
            yield Diagnostic(
                "cage.material-twice",
                f"{quoted(own.id)} is a word of the shipped table",
                build.where(f"cage.materials.{own.id}.id"),
                "give the team's own values another name, and name that at the tube",
            )
        yield from _strengths(own, build)
    for tube in section.tubes:
        yield from _likely(tube, build)
        yield from _material(section, tube.material, f"cage.tubes.{tube.id}.material", build)
        yield from _formed(tube, build)
        yield from _wall(tube.wall, tube, build)
        yield from _measured(section, tube.measured_wall, tube, build)
        yield from _wall_used(section, tube, build)
    by_id = {tube.id: tube for tube in section.tubes}
    for own_tube in section.every_tube:
        for wall in (own_tube.measured_wall, own_tube.measured_wall_twin):
            yield from _measured(section, wall, by_id[own_tube.tube], build)
    for path in section.paths:
        if path.radius.si <= by_id[path.tube].outer.si / 2.0:
            yield Diagnostic(
                "cage.bend-tight",
                f"a bend of {path.radius.written} to the middle line leaves no inside to a tube of "
                f"{by_id[path.tube].outer.written}",
                path.radius.place or build.where(f"cage.paths.{path.id}"),
                "the radius is that of the bend, not of the tube: look at its unit",
            )


STRONGEST = 0.013
"""Yield strength over modulus: 0.0026 for normalized 4130, 0.01 for hardened titanium; no tube has more."""


def _strengths(own: Material, build: Build) -> Iterator[Diagnostic]:
    """Strengths of a material that are exchanged, or that no metal has."""
    where = build.where(f"cage.materials.{own.id}")
    if own.yield_strength.si > STRONGEST * own.modulus.si:
        yield Diagnostic(
            "cage.too-strong",
            f"a yield strength of {own.yield_strength.written} at a modulus of {own.modulus.written} is more than "
            "metals of tubes have",
            own.yield_strength.place or where,
            "look at both numbers and their units: 4130 has some 75 ksi (517 MPa) and 29000 ksi (200 GPa)",
            severity="warning",
        )
    yield from strengths((own.yield_strength, own.ultimate_strength), where)
    yield from strengths((own.welded_yield, own.welded_ultimate), where)


def _formed(tube: Tube, build: Build) -> Iterator[Diagnostic]:
    """A tube that is left as welded, with the strength of one that was drawn."""
    if tube.forming == "welded" and tube.material in DRAWN:
        yield Diagnostic(
            "cage.forming",
            f"{quoted(tube.material)} has the strength of seamless or drawn tube, and this one is {quoted('welded')}",
            build.where(f"cage.tubes.{tube.id}.forming"),
            "name the material of its certificate, such as `a500_grade_b`, or one of your own under `materials`; tube "
            "drawn after welding is `drawn over mandrel`",
        )


def _material(section: Cage, word: str, where: str, build: Build) -> Iterator[Diagnostic]:
    known = (*(m.id for m in section.materials), *sorted(MATERIALS))
    if word in known:
        return
    begun = [k for k in known if k.startswith(f"{word}_")]
    near = begun[0] if len(begun) == 1 else closest(word, known)
    yield Diagnostic(
        "cage.material-unknown",
        f"there is no material {quoted(word)}",
        build.where(where),
        f"did you mean `{near}`?"
        if near
        else f"materials are {listed(known, 20)}; others go under `materials`",
    )


THICKNESS = (0.006, 0.125)
"""Outer diameters in m between which a frame's tubes lie; common practice is 1/2 to 3 in."""
HOLLOW = (0.004, 0.4)
"""Wall as a share of the outer diameter; common practice is 1/40 to 1/6."""


def _likely(tube: Tube, build: Build) -> Iterator[Diagnostic]:
    """A size that nobody builds a frame of: most often a slip of the unit or of the decimal point."""
    low, high = THICKNESS
    if not low <= tube.outer.si <= high:
        yield Diagnostic(
            "cage.size",
            f"an outer diameter of {tube.outer.written} is unusual for a tube of a frame",
            tube.outer.place or build.where(f"cage.tubes.{tube.id}"),
            "frames around a driver have tubes of 1/2 to 3 in: look at the number and its unit",
            severity="warning",
        )
        return
    low, high = (share * tube.outer.si for share in HOLLOW)
    if not low <= tube.wall.si <= high and tube.wall.si < tube.outer.si / 2.0 * (1.0 - 1e-9):
        yield Diagnostic(
            "cage.size",
            f"a wall of {tube.wall.written} is unusual for a tube of {tube.outer.written}",
            tube.wall.place or build.where(f"cage.tubes.{tube.id}"),
            "walls are 1/40 to 1/6 of the diameter as a rule: look at the number and its unit",
            severity="warning",
        )


def _wall(wall: Quantity | None, tube: Tube, build: Build) -> Iterator[Diagnostic]:
    """A tube with no hole in it is no tube."""
    if wall is None or wall.si < tube.outer.si / 2.0 * (1.0 - 1e-9):
        return
    yield Diagnostic(
        "cage.wall",
        f"a wall of {wall.written} is half the outer diameter of {tube.outer.written} or more",
        wall.place or build.where(f"cage.tubes.{tube.id}"),
        "the wall is the thickness of one side; correct the wall or the diameter",
    )


THICKER = 1.25
"""Measured over nominal wall from which on one of the two is of another tube; mills hold 10 to 22 %."""


def _measured(
    section: Cage, wall: Quantity | None, tube: Tube, build: Build
) -> Iterator[Diagnostic]:
    """A measured wall that is too thick for the tube, or thinner than the one computed with."""
    yield from _wall(wall, tube, build)
    if wall is not None and wall.si > THICKER * tube.wall.si:
        yield Diagnostic(
            "cage.wall-thicker",
            f"{wall.written} was measured on a tube whose nominal wall is {tube.wall.written}",
            wall.place or build.where(f"cage.tubes.{tube.id}"),
            "no mill delivers so much more: look at the number and its unit, and at which tube it is",
            severity="warning",
        )
    if wall is not None and section.wall_used == "nominal" and wall.si < tube.wall.si:
        yield Diagnostic(
            "cage.wall-thinner",
            f"{wall.written} was measured, and the nominal wall of {tube.wall.written} is computed with",
            wall.place or build.where(f"cage.tubes.{tube.id}"),
            "write `wall_used: measured` or `wall_used: least`",
            severity="warning",
        )


def _wall_used(section: Cage, tube: Tube, build: Build) -> Iterator[Diagnostic]:
    """A least wall needs something to come from."""
    if section.wall_used in (None, "nominal") or tube.wall_tolerance or tube.measured_wall:
        return
    yield Diagnostic(
        "cage.wall-unknown",
        f"`wall_used` asks for the {section.wall_used} wall, and {quoted(tube.id)} has neither a "
        "tolerance nor a measured one",
        build.where(f"cage.tubes.{tube.id}"),
        "add `wall_tolerance` or `measured_wall`, or write `wall_used: nominal`",
        (Note(build.where("cage.wall_used"), "asked for here"),),
    )


# ----------------------------------------------------------------------------------- the rest


def _supports(section: Cage, build: Build) -> Iterator[Diagnostic]:
    for n, support in enumerate(section.supports):
        if support.held and support.motions:
            yield Diagnostic(
                "cage.held-twice",
                "what is held is given twice: as `held` and as `motions`",
                build.where(f"cage.supports.{n}.motions"),
                "keep one of the two",
            )


def _held_on_one_side(
    section: Cage, build: Build, found: Mapping[str, Joint]
) -> Iterator[Diagnostic]:
    """A joint of a mirrored frame that is held, while its twin is not: seldom meant."""
    sets = {s.id: s for s in section.node_sets}
    held = {name for support in section.supports for name in support.nodes}
    for name in tuple(held & sets.keys()):
        held |= {*sets[name].nodes}
        if sets[name].twins:
            held |= {other_side(node, found) for node in sets[name].nodes}
    for n, support in enumerate(section.supports):
        for k, name in enumerate(support.nodes):
            twin = other_side(name, found)
            if name in found and twin not in held:
                yield Diagnostic(
                    "cage.held-one-side",
                    f"{quoted(name)} is held, and {quoted(twin)} on the other side is not",
                    build.where(f"cage.supports.{n}.nodes.{k}"),
                    "each side is named by itself: add it, if it is held too",
                    severity="warning",
                )


def _spaces(section: Cage, build: Build) -> Iterator[Diagnostic]:
    for space in section.keep_out:
        yield from _space(space, build)
        if space.id == "helmet":
            yield Diagnostic(
                "cage.name",
                f"{quoted(space.id)} is the name of the driver's helmet",
                build.where(f"cage.keep_out.{space.id}.id"),
                "give this space another name; the helmet itself is described under `helmet`",
            )
    helmet = section.helmet
    if helmet is None:
        return
    given = [q for q in (helmet.x, helmet.y, helmet.z, helmet.radius) if q is not None]
    driver = build.section(Driver)
    if driver and driver.helmet and len(given) == 4:
        yield from _two_helmets(helmet, driver.helmet, build)
    if given and len(given) < 4:
        yield Diagnostic(
            "cage.helmet",
            "the helmet's place is given in part",
            given[0].place or build.where("cage.helmet"),
            "give x, y, z and radius, or none of them: then the driver's helmet is taken",
        )
    elif not given and (driver is None or driver.helmet is None):
        yield Diagnostic(
            "cage.helmet",
            "there is no helmet to keep clear of",
            build.where("cage.helmet"),
            "give x, y, z and radius here, or `helmet` in the section `driver`",
        )


APART = 0.005
"""How far in m two descriptions of one helmet may differ, by rounding inches."""


def _two_helmets(helmet: Helmet, own: DriversHelmet, build: Build) -> Iterator[Diagnostic]:
    """The helmet of the cage that is not the one on the driver's head."""
    for axis in ("x", "y", "z", "radius"):
        here: Quantity | None = getattr(helmet, axis)
        there: Quantity = getattr(own, axis)
        if here is not None and abs(here.si - there.si) > APART:
            yield Diagnostic(
                "cage.helmet-differs",
                f"the helmet's {axis} is {here.written} here and {there.written} in the section `driver`",
                here.place or build.where("cage.helmet"),
                "leave x, y, z and radius out here: then the driver's helmet is taken",
                (Note(build.where(there.id), "the other one"),),
                severity="warning",
            )
            return


def _space(space: Space, build: Build) -> Iterator[Diagnostic]:
    where = f"cage.keep_out.{space.id}"
    ball = (space.centre, space.radius)
    box = (space.least, space.most)
    if (None in ball and None in box) or (any(ball) and any(box)):
        yield Diagnostic(
            "cage.space",
            f"the space {quoted(space.id)} is neither a ball nor a box",
            build.where(where),
            "give `centre` and `radius` for a ball, or `least` and `most` for a box",
        )
    elif space.least and space.most:
        for axis in "xyz":
            low: Quantity = getattr(space.least, axis)
            high: Quantity = getattr(space.most, axis)
            if low.si >= high.si:
                yield Diagnostic(
                    "cage.space",
                    f"the least {axis}, {low.written}, is not below the most, {high.written}",
                    build.where(f"{where}.least.{axis}"),
                    "exchange or correct the two",
                )


ASKED = (
    "sizes",
    "materials",
    "forming",
    "longest",
    "least_bend",
    "wall_measured",
    "inspection_hole",
)
"""What a prescription may ask for; `wall_tolerance` only loosens one."""


def _prescribed(section: Cage, build: Build) -> Iterator[Diagnostic]:
    groups = tuple(dict.fromkeys(own.group for own in section.every_tube if own.group))
    for rule in section.prescribed:
        if not any(getattr(rule, word) for word in ASKED):
            yield Diagnostic(
                "cage.nothing-asked",
                f"the prescription {quoted(rule.id)} asks for nothing",
                build.where(f"cage.prescribed.{rule.id}"),
                f"add what the rule sheet asks: {listed(ASKED, 20)}; or take it out",
            )
        for n, group in enumerate(rule.groups):
            if group not in groups:
                near = closest(group, groups)
                yield Diagnostic(
                    "cage.group-unknown",
                    f"no tube belongs to the group {quoted(group)}",
                    build.where(f"cage.prescribed.{rule.id}.groups.{n}"),
                    f"did you mean `{near}`?" if near else f"groups are {listed(groups, 20)}",
                )
        for n, word in enumerate(rule.materials):
            yield from _material(section, word, f"cage.prescribed.{rule.id}.materials.{n}", build)
        for n, size in enumerate(rule.sizes):
            for k, word in enumerate(size.materials):
                where = f"cage.prescribed.{rule.id}.sizes.{n}.materials.{k}"
                yield from _material(section, word, where, build)


def _feed(section: Cage, build: Build) -> Iterator[Diagnostic]:
    if section.feed_mass and len(section.mass_items) != 1:
        yield Diagnostic(
            "cage.feed",
            f"`feed_mass` needs one item to feed, and `mass_items` has {len(section.mass_items)}",
            build.where("cage.feed_mass"),
            "name the one item of the mass table that is the cage under `mass_items`",
        )
