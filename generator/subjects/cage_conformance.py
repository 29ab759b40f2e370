"""What the rule sheet prescribes for the tubes of a cage, compared with what the description says.

Nothing here is computed from a load: no strength excuses a departure. A measured wall is compared
where there is one, else the nominal wall.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from buildspec.quantities import Quantity
from buildspec.sections.cage import Cage, Prescription, Size, Tube
from generator.subjects.cage_geometry import Geometry, Line
from generator.subjects.cage_stock import Stock, Stuff, stuff_of
from generator.subjects.proven import proven
from generator.vocabulary import Conformance, Fact, Requirement, Result

WORD = "cage"
ROUNDING = 1e-9
"""Relative: what is equal in one system of units is equal in the other."""


@dataclass(frozen=True, eq=False)
class _Look:
    """One line under one prescription."""

    cage: Cage
    geometry: Geometry
    stuff: Mapping[str, Stuff]
    line: Line
    tube: Tube
    rule: Prescription

    def says(
        self,
        what: tuple[str, str],
        facts: tuple[Fact, Fact],
        said: tuple[Conformance, str],
        *refs: str,
    ) -> Requirement:
        """One line: `what` is its word and its title, `facts` what is prescribed and what is found,
        `said` the state and the reason.
        """
        (word, title), (prescribed, found), (state, reason) = what, facts, said
        return Requirement(
            f"{WORD}.requirement.{self.line.id}.{self.rule.id}.{word}",
            WORD,
            f"{self.line.title}: {title}",
            prescribed,
            found,
            state,
            reason,
            self.rule.source,
            (self.line.ref, *refs),
        )

    @property
    def places(self) -> tuple[Quantity, ...]:
        """Where the joints are that the line is drawn through."""
        names = {self.geometry.refs[self.geometry.joint(n)] for n in self.line.own.through}
        joints = (n for n in self.cage.nodes if f"{WORD}.nodes.{n.id}" in names)
        return tuple(q for joint in joints for q in (joint.x, joint.y, joint.z))

    def result(self, word: str, title: str, value: float, kind: str) -> Result:
        """What is found, where it is a number that follows from the description."""
        name = f"{WORD}.requirement.{self.line.id}.{self.rule.id}.{word}.found"
        return Result(name, title, value, kind)


def requirements(cage: Cage, geometry: Geometry, stock: Stock) -> tuple[Requirement, ...]:
    """Every prescription of every tube, in the order of the tubes; a twin is a tube of its own."""
    looks = (
        _Look(cage, geometry, stock.stuff, line, stock.tubes[line.tube], rule)
        for line in geometry.lines
        for rule in cage.prescribed
        if line.group in rule.groups
    )
    return tuple(found for look in looks for part in _PARTS for found in part(look))


def allowed(cage: Cage, group: str, tube: Tube) -> bool:
    """Whether a listed size is one of those that every prescription of a group allows, by its nominal
    wall, and made as they ask."""
    rules = [rule for rule in cage.prescribed if group in rule.groups]
    outer, wall = tube.outer.si, tube.wall.si
    return all(
        (not r.sizes or any(_fits(outer, wall, size, 0.0) for size in _of(r.sizes, tube)))
        and (not r.forming or tube.forming in (None, *r.forming))
        for r in rules
    )


def _state(fulfilled: bool) -> Conformance:
    return "conforms" if fulfilled else "departs"


# -------------------------------------------------------------------------------------- size


def _size(look: _Look) -> Iterable[Requirement]:
    """Outer diameter and wall, against any one of the sizes allowed."""
    if not look.rule.sizes:
        return
    measured = look.line.measured_wall or look.tube.measured_wall
    wall = measured or look.tube.wall
    slack = look.rule.wall_tolerance.si if measured and look.rule.wall_tolerance else 0.0
    sizes = _of(look.rule.sizes, look.tube)
    fits = any(_fits(look.tube.outer.si, wall.si, size, slack) for size in sizes)
    low = wall.si - wall.reach
    sure = any(_fits(look.tube.outer.si, low, size, slack) for size in sizes)
    asked = " or ".join(_said(look.cage, size) for size in look.rule.sizes)
    found = (
        f"{look.tube.outer.written} × {wall.written} ({'measured' if measured else 'nominal'} wall)"
    )
    reason = _why_size(look, wall, slack, fits)
    if fits and not sure:
        reason = "by its value; within the ± of the measured wall it may not"
    facts = (f"at least {asked}", found)
    refs = (look.tube.outer.id, wall.id)
    said = proven(fits, reason, (look.tube.outer, wall))
    yield look.says(("size", "size"), facts, said, *refs)


def _of(sizes: Iterable[Size], tube: Tube) -> tuple[Size, ...]:
    """The sizes that are allowed in a tube's material."""
    return tuple(s for s in sizes if not s.materials or tube.material in s.materials)


def _said(cage: Cage, size: Size) -> str:
    """A size in words, with the materials it is allowed in where not in all."""
    words = " or ".join(stuff_of(cage, word).title for word in size.materials)
    return f"{size.outer.written} × {size.wall.written}{f' of {words}' if words else ''}"


def _fits(outer: float, wall: float, size: Size, slack: float) -> bool:
    enough = wall >= size.wall.si * (1.0 - slack) * (1.0 - ROUNDING)
    return outer >= size.outer.si * (1.0 - ROUNDING) and enough


def _why_size(look: _Look, wall: Quantity, slack: float, fits: bool) -> str:
    """Which of diameter and wall is too small for every size allowed."""
    if fits:
        return f"a measured wall may lie {100.0 * slack:.3g} % below" if slack else ""
    outer, sizes = look.tube.outer.si, _of(look.rule.sizes, look.tube)
    wide = [s for s in sizes if outer >= s.outer.si * (1.0 - ROUNDING)]
    if not sizes:
        return "no size is allowed in its material"
    if not wide:
        return "its outer diameter is too small"
    return "its wall is too thin for its outer diameter"


# ------------------------------------------------------------------------ material and making


def _material(look: _Look) -> Iterable[Requirement]:
    if not look.rule.materials:
        return
    fits = look.tube.material in look.rule.materials
    asked = " or ".join(look.stuff[word].title for word in look.rule.materials)
    yield look.says(
        ("material", "material"),
        (asked, look.stuff[look.tube.material].title),
        (_state(fits), "" if fits else "no strength makes another material conform"),
        f"cage.tubes.{look.tube.id}",
    )


def _forming(look: _Look) -> Iterable[Requirement]:
    if not look.rule.forming:
        return
    made = look.tube.forming
    said: tuple[Conformance, str] = ("open", f"`forming` of the tube {look.tube.id} is not stated")
    if made is not None:
        said = (_state(made in look.rule.forming), "")
    facts = (" or ".join(look.rule.forming), made)
    yield look.says(("forming", "how it was made"), facts, said, f"cage.tubes.{look.tube.id}")


# -------------------------------------------------------------------------------------- shape


def _longest(look: _Look) -> Iterable[Requirement]:
    """The longest run without another tube meeting it."""
    most = look.rule.longest
    if most is None:
        return
    longest = max(look.geometry.runs[r].met for r in look.line.runs)
    fits = longest <= most.si * (1.0 + ROUNDING)
    found = look.result("longest", "longest run", longest, "length")
    said = proven(fits, "" if fits else "another tube must meet it in between", look.places)
    yield look.says(("longest", "length between tubes that meet it"), (most, found), said, most.id)


def _bend(look: _Look) -> Iterable[Requirement]:
    """The bend radius to the middle line over the outer diameter."""
    least, radius = look.rule.least_bend, getattr(look.line.own, "radius", None)
    if least is None or radius is None or not look.line.bends:
        return
    ratio = radius.si / look.tube.outer.si
    found = look.result("bend", "bend radius over diameter", ratio, "ratio")
    fits = ratio >= least.si * (1.0 - ROUNDING)
    said = proven(fits, "" if fits else "it is bent too tightly", (radius, look.tube.outer))
    refs = (radius.id, look.tube.outer.id)
    yield look.says(("bend", "bend radius over outer diameter"), (least, found), said, *refs)


# --------------------------------------------------------------------------------- inspection


def _measured(look: _Look) -> Iterable[Requirement]:
    """Whether the wall of this very tube was measured."""
    if not look.rule.wall_measured:
        return
    wall = look.line.measured_wall
    said: tuple[Conformance, str] = (
        "open",
        "the wall of this tube was not measured, by ultrasound or through a hole",
    )
    if wall:
        known = f"`measured_wall` is {wall.basis}: say that it was measured, and with what"
        said = ("conforms", "") if wall.basis == "measured" else ("open", known)
    refs = (wall.id,) if wall else ()
    yield look.says(("measured", "wall measured"), ("on every tube", wall), said, *refs)


def _hole(look: _Look) -> Iterable[Requirement]:
    """The hole that shows the wall."""
    least, hole = look.rule.inspection_hole, look.line.inspection_hole
    if least is None:
        return
    said: tuple[Conformance, str] = ("open", "no hole is stated")
    if hole is not None:
        fits = hole.si >= least.si * (1.0 - ROUNDING)
        said = proven(fits, "" if fits else "it is smaller", (hole,))
    refs = (hole.id,) if hole else ()
    yield look.says(("hole", "inspection hole"), (least, hole), said, *refs)


_PARTS = (_size, _material, _forming, _longest, _bend, _measured, _hole)
