"""The load cases of a cage as forces on joints, and the masses that are fixed to it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, closest, quoted
from buildspec.quantities import Quantity
from buildspec.sections.cage import Cage, Load, LoadCase, Mass
from buildspec.sections.mass import Mass as MassSection
from generator.formulas.cage_loads import multiple_of_force, multiple_of_weight
from generator.frame.model import Array, Frame, Indices, Loads, no_loads
from generator.subjects.cage_geometry import Geometry, members_of_set
from generator.subjects.cage_items import sum_of_items
from generator.subjects.cage_mass import fed
from generator.subjects.subject import Given
from generator.tables.load_cases import Part, load_cases
from generator.vocabulary import Assumption, Result, WorkedStep
from generator.work import as_result, work

GRAVITY = 9.80665
"""Standard gravity in m/s², exact by definition (CGPM 1901)."""


@dataclass(frozen=True, eq=False)
class Pull:
    """One force: joints and the share of each (sum 1); its size in N, absent where it cannot be
    had; where it points (3,), a unit vector; how its size came about, in words and as a step.
    """

    joints: Indices
    shares: Array
    size: Result
    direction: Array
    words: str
    inputs: tuple[str, ...]
    step: WorkedStep | None = None

    @property
    def force(self) -> Array:
        """The force in N, (3,); zeros where its size is absent."""
        return np.asarray(self.direction * (self.size.value or 0.0))


@dataclass(frozen=True, eq=False)
class Case:
    """One load case. `absent` says why it cannot be computed, or is "". `inertia`: nothing holds
    the frame; `weight`: tubes and masses weigh; `masses`: the ids of what is fixed to the frame, where
    one of both makes it count; `unsure`: how unsure what weighs is, as in `Carried`.
    """

    own: LoadCase
    title: str
    text: str
    source: str
    pulls: tuple[Pull, ...]
    criterion: Literal["yield", "ultimate"]
    factor: Quantity
    inertia: bool
    weight: bool
    absent: str
    masses: tuple[str, ...] = ()
    unsure: float = 0.0

    @property
    def id(self) -> str:
        """The id of the case in the description."""
        return self.own.id

    @property
    def inputs(self) -> tuple[str, ...]:
        """The ids of the description that it depends on."""
        loads = (i for p in self.pulls for i in p.inputs)
        return tuple(dict.fromkeys((self.factor.id, *loads, *self.masses)))

    @property
    def spread(self) -> float:
        """The largest relative standard uncertainty among its forces and weights."""
        sizes = (pull.size for pull in self.pulls)
        known = (s.standard_uncertainty / s.value for s in sizes if s.value)
        return max((self.unsure, *known))


@dataclass(frozen=True, eq=False)
class Carried:
    """What is fixed to the joints: kg (n,), the ids it comes from, and why it is not known, or "";
    spread: the largest relative standard uncertainty of an entry."""

    mass: Array
    inputs: tuple[str, ...]
    words: tuple[str, ...]
    absent: str
    spread: float = 0.0


@dataclass(frozen=True, eq=False)
class _Around:
    """What sizes and places of loads are taken from."""

    cage: Cage
    geometry: Geometry
    build: Build
    given: Given


def cases(
    cage: Cage, geometry: Geometry, build: Build, given: Given, fixed: Carried
) -> tuple[Case, ...]:
    """Every load case, in the order of the description; `fixed`: what is fixed to the frame."""
    around = _Around(cage, geometry, build, given)
    return tuple(_case(around, case, fixed) for case in cage.load_cases)


def _case(around: _Around, own: LoadCase, fixed: Carried) -> Case:
    """One case; `fixed`: what is fixed to the frame, which it may need."""
    shipped = load_cases()[own.shipped] if own.shipped else None
    name = f"cage.load_cases.{own.id}.loads"
    pulls = tuple(
        _pull(
            around, load, f"{name}.{n}", shipped.parts[load.part] if shipped and load.part else None
        )
        for n, load in enumerate(own.loads)
    )
    inertia = (own.held_by or around.cage.held_by) == "inertia"
    reasons = [p.size.absent for p in pulls if p.size.value is None]
    counts = inertia or own.weight
    if fixed.absent and counts:
        reasons.append(fixed.absent)
    return Case(
        own,
        own.title or (shipped.title if shipped else own.name),
        own.text or (shipped.text if shipped else ""),
        own.source or (shipped.source if shipped else ""),
        pulls,
        own.criterion or (shipped.criterion if shipped else "yield"),
        own.factor,
        inertia,
        own.weight,
        "; ".join(dict.fromkeys(reasons)),
        fixed.inputs if counts else (),
        fixed.spread if own.weight else 0.0,
    )


# ------------------------------------------------------------------------------------- forces


def _pull(around: _Around, load: Load, name: str, part: Part | None) -> Pull:
    sized = _size(around, load, name, part)
    joints, shares = shared(around.cage, around.geometry, load.at, load.shares)
    way, ids = _direction(load, part)
    ids = (*sized.inputs, *ids, *(q.id for q in load.shares))
    return replace(
        sized, joints=joints, shares=shares, direction=way, inputs=tuple(dict.fromkeys(ids))
    )


def _direction(load: Load, part: Part | None) -> tuple[Array, tuple[str, ...]]:
    """Where a load points, a unit vector, and the ids that say so."""
    stated = load.direction
    if stated is None:
        shipped = part.direction if part else None
        return np.array(shipped or (0.0, 0.0, 0.0)), ()
    way = np.array(stated.parts)
    way = way / np.abs(way).max(initial=np.finfo(float).tiny)  # squares of tiny parts are none
    given = (q for q in (stated.x, stated.y, stated.z) if q is not None)
    return way / (np.linalg.norm(way) or 1.0), tuple(q.id for q in given)


_NOWHERE = np.zeros(0, dtype=np.intp)


def _sized(size: Result, words: str, step: WorkedStep | None = None) -> Pull:
    """A force of known size, not yet on any joint."""
    return Pull(_NOWHERE, np.zeros(0), size, np.zeros(3), words, size.inputs, step)


def _size(around: _Around, load: Load, name: str, part: Part | None) -> Pull:
    """How large a force is: stated, shipped, or a multiple of a weight or of another page's result."""
    if part is not None and part.force is not None:
        return _sized(Result(name, "Force", part.force, "force"), part.written)
    if load.force is not None:
        q = load.force
        size = Result(name, "Force", q.si, "force", q.standard_uncertainty, inputs=(q.id,))
        return _sized(size, "as stated")
    if load.result:
        return _of_result(around.given, load, name)
    return _of_weight(around, load, name, part)


def _other_page(given: Given, name: str) -> Result | None:
    """A result of another page, by its id; None where there is none."""
    outcome = given.outcomes.get(name.partition(".")[0])
    return outcome.by_id.get(name) if outcome else None


def stray_results(cage: Cage, build: Build, given: Given) -> Iterator[Diagnostic]:
    """Loads whose `result` is no force of another page, each at its line."""
    for case in cage.load_cases:
        for n, load in enumerate(case.loads):
            found = _other_page(given, load.result) if load.result else None
            if not load.result or (found is not None and found.kind == "force"):
                continue
            every = (r for o in given.outcomes.values() for r in o.results)
            near = closest(load.result, [r.id for r in every if r.kind == "force"])
            yield Diagnostic(
                "cage.load-result",
                f"{quoted(load.result)} is no force that another page computes",
                build.where(f"cage.load_cases.{case.id}.loads.{n}.result"),
                f"did you mean `{near}`?"
                if near
                else "name a force of the parachutes' page by its id",
                severity="warning",
            )


def _of_result(given: Given, load: Load, name: str) -> Pull:
    """A multiple of a force that another page computes."""
    found = _other_page(given, load.result)
    if found is None or found.value is None or found.kind != "force":
        why = f"{load.result} is no force that another page computes"
        if found is not None and found.kind == "force":
            why = f"{load.result} is missing: {found.absent}"
        return _sized(Result(name, "Force", None, "force", absent=why), load.result)
    factor = load.factor.si if load.factor else 1.0
    step = work(
        multiple_of_force,
        f"{_step(name)}",
        f"force from {found.title}",
        factor=load.factor or factor,
        force=found,
    )
    ids = (*((load.factor.id,) if load.factor else ()), *found.inputs)
    size = as_result(step, _spread(load.factor or factor, found), ids)
    return _sized(replace(size, id=name), found.title, step)


def _spread(factor: Quantity | float, of: Result) -> float:
    """Standard uncertainty of a multiple of a result, first order: the factor's and the result's."""
    if not isinstance(factor, Quantity):
        return factor * of.standard_uncertainty
    by_factor = factor.standard_uncertainty * abs(of.value or 0.0)
    return math.hypot(factor.si * of.standard_uncertainty, by_factor)


def _of_weight(around: _Around, load: Load, name: str, part: Part | None) -> Pull:
    """A multiple of the weight of a condition, or of items."""
    of = load.condition
    mass = total_of(around.given, of) if of else sum_of(around.build, load.items)
    if mass.value is None:
        return _sized(Result(name, "Force", None, "force", absent=mass.absent), mass.title)
    stated: float | Quantity = load.factor if load.factor else 1.0
    if load.factor is None and part is not None and part.factor is not None:
        stated = part.factor
    step = work(
        multiple_of_weight,
        _step(name),
        f"force from {mass.title}",
        factor=stated,
        mass=mass,
        gravity=GRAVITY,
    )
    factor = stated.si if isinstance(stated, Quantity) else stated
    ids = (*((load.factor.id,) if load.factor else ()), *mass.inputs)
    size = as_result(step, GRAVITY * _spread(stated, mass), ids)
    return _sized(replace(size, id=name), f"{factor:g} × weight of: {mass.title}", step)


def _step(name: str) -> str:
    """The id of the step that gives a force, from the id of the load."""
    case, number = name.removeprefix("cage.load_cases.").split(".loads.")
    return f"cage.case.{case}.force_{int(number) + 1}"


def total_of(given: Given, condition: str) -> Result:
    """The mass of a condition of loading, as the mass page has it."""
    name = f"mass.condition.{condition}.total"
    outcome = given.outcomes.get("mass")
    found = outcome.by_id.get(name) if outcome else None
    if found is None:
        return Result(name, condition, None, "mass", absent=f"{name} is not computed")
    return found


def sum_of(build: Build, names: Iterable[str]) -> Result:
    """The mass of several items of the mass table, all of each aboard; the tubes' own mass for the item
    that is fed with it.
    """
    section = build.section(MassSection)
    return sum_of_items(fed(build, section.items) if section else (), names)


def shared(
    cage: Cage, geometry: Geometry, at: tuple[str, ...], shares: tuple[Quantity, ...]
) -> tuple[Indices, Array]:
    """The joints that entries of `at` stand for, and what each takes of the whole, sum 1.

    Without `shares` every joint takes as much as any other; with them, the joints of one entry
    take equal parts of its share.
    """
    share: dict[int, float] = {}
    for n, name in enumerate(at):
        joints = [geometry.joint(j) for j in members_of_set(cage, name)]
        each = shares[n].si / len(joints) if shares else 1.0
        for joint in joints:
            share[joint] = share.get(joint, 0.0) + each
    numbers = np.array(list(share.values()))
    return np.array(list(share), dtype=np.intp), numbers / numbers.sum()


# ------------------------------------------------------------------------------------- masses


def carried(cage: Cage, geometry: Geometry, build: Build, given: Given) -> Carried:
    """What is fixed to the joints, kg."""
    at = np.zeros(len(geometry.joints))
    inputs: list[str] = []
    words: list[str] = []
    absent = ""
    known = spread = 0.0
    for entry in sorted(cage.masses, key=lambda m: bool(m.rest_of)):
        found = _mass(entry, build, given, cage, known)
        if found.value is None:
            absent = absent or f"{entry.name}: {found.absent}"
            continue
        joints, shares = shared(cage, geometry, entry.at, entry.shares)
        at[joints] += shares * found.value
        known += found.value
        spread = max(spread, found.standard_uncertainty / found.value)
        inputs += found.inputs
        words.append(entry.name)
    return Carried(at, tuple(dict.fromkeys(inputs)), tuple(words), absent, spread)


def _mass(entry: Mass, build: Build, given: Given, cage: Cage, known: float) -> Result:
    """The mass of one entry; `known` kg are those of the entries before it."""
    if entry.mass is not None:
        q = entry.mass
        return Result(q.id, entry.name, q.si, "mass", q.standard_uncertainty, inputs=(q.id,))
    if entry.items:
        return sum_of(build, entry.items)
    whole = total_of(given, entry.rest_of)
    if whole.value is None:
        return whole
    claimed = sum_of(build, cage.mass_items).value or 0.0
    left = whole.value - known - claimed
    if left <= 0.0:
        return replace(
            whole, value=None, absent="the other masses are more than the whole condition"
        )
    return replace(whole, value=left)


def assumptions(cage: Cage) -> Iterable[Assumption]:
    """What is taken for granted about loads and masses."""
    for case in cage.load_cases:
        if not case.source and not case.shipped:
            yield Assumption(
                f"cage.load_cases.{case.id}.source",
                f"{case.name}: the load is taken as it is written; nobody says where it comes from.",
                "cage",
                "none stated; name the rule, the test or the person that asks for it as its `source`",
            )
    if cage.masses:
        yield Assumption(
            "cage.masses",
            "What is fixed to the frame is counted as point masses at the joints named; how high "
            "above or beside them it sits is left out, and so is its own stiffness.",
            "cage",
            "common practice",
        )


def loads_of(frame: Frame, of: tuple[Case, ...]) -> Loads:
    """The loads of the cases on the frame, unfactored. A force that cannot be had counts nothing."""
    loads = no_loads(frame, len(of))
    for n, case in enumerate(of):
        for pull in case.pulls:
            loads.nodal[n, pull.joints, :3] += pull.shares[:, None] * pull.force
        if case.weight:
            loads.field[n, 2] = -GRAVITY
    return loads
