"""A small build and its evaluation for the site's tests, made here so that no subject is needed."""

from __future__ import annotations

import dataclasses
import datetime

import numpy as np
from numpy.typing import NDArray

from buildspec.build import Build, Page
from buildspec.diagnostics import Place
from buildspec.kinds import System
from buildspec.quantities import Basis, Quantity, read
from buildspec.sections.mass import Item, Limits, Mass
from buildspec.sections.notes import Entry, Notes
from buildspec.sections.vehicle import Vehicle
from generator.checks import make_check
from generator.evaluation import Evaluation, evaluate
from generator.formulas.formula import Formula, Symbol
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Assumption, Caution, OpenItem, Outcome, Result
from generator.work import work

DAY = datetime.date(2026, 3, 14)


def _moment(*, mass: NDArray[np.float64], x: NDArray[np.float64]) -> float:
    return float((mass * x).sum())


def _place(*, moment: float, mass: float, origin: float) -> float:
    return moment / mass - origin


MOMENT: Formula[..., float] = Formula(
    "scene.moment",
    r"M_{x} = \sum_{i}{m_i x_i}",
    {
        "mass": Symbol("m_i", "mass", "mass of item i", each=True),
        "x": Symbol("x_i", "length", "place of item i", each=True),
    },
    Symbol("M_{x}", "mass moment", "first moment"),
    "statics, common practice",
    _moment,
)
PLACE: Formula[..., float] = Formula(
    "scene.place",
    r"x_{CG} = \frac{M_{x}}{m} - x_{0}",
    {
        "moment": Symbol("M_{x}", "mass moment", "first moment"),
        "mass": Symbol("m", "mass", "total mass", most=100.0),
        "origin": Symbol("x_{0}", "length", "origin"),
    },
    Symbol("x_{CG}", "length", "centre of gravity"),
    "statics, common practice",
    _place,
)


def quantity(
    dotted: str,
    written: str,
    kind: str,
    *,
    basis: Basis = "measured",
    source: str = "scale",
    half_width: float = 0.0,
    stated: bool = False,
    default: bool = False,
    line: int = 1,
) -> Quantity:
    """A quantity as the reader would make it; `half_width` in SI."""
    found = read(written, kind)
    assert hasattr(found, "si"), found
    return Quantity(
        dotted,
        found.si,
        kind,
        written,
        found.unit,
        half_width=half_width,
        basis=basis,
        source=source,
        fraction=found.fraction,
        stated=stated,
        default=default,
        place=Place("mass.yaml", line, 1),
    )


def _item(index: int, name: str, hostile: str) -> tuple[Item, tuple[Quantity, ...]]:
    stem, line = f"mass.items.part_{index}", 10 * index + 3
    mass = quantity(f"{stem}.mass", f"{100 + index} lb", "mass", half_width=0.5, line=line)
    x = quantity(f"{stem}.x", "1 5/8 in", "length", basis="assumed", source=hostile, line=line + 1)
    y = quantity(f"{stem}.y", "0 m", "length", basis="assumed", source="none stated", default=True)
    z = quantity(f"{stem}.z", "14 in", "length", basis="estimated", line=line + 2)
    return Item(id=f"part_{index}", name=name, mass=mass, x=x, y=y, z=z), (mass, x, y, z)


def build(
    *,
    name: str = "Brass Heron",
    item: str = "Engine, dressed",
    hostile: str = "drawing 3",
    items: int = 2,
    pages: tuple[Page, ...] = (),
    system: System = System.US,
) -> Build:
    """A build with `items` items; `hostile` stands wherever free text may stand."""
    made = [_item(n, f"{item} {n}", hostile) for n in range(1, items + 1)]
    total = quantity("mass.limits.total", "400 lb", "mass", stated=True, line=90)
    factor = quantity("mass.limits.factor", "1.25", "ratio", stated=True, line=91)
    target = quantity("vehicle.target_speed", "235 mph", "speed", stated=True)
    limits = Limits(total=total, factor=factor)
    mass = Mass(
        items=tuple(i for i, _ in made), conditions=(), design_condition="start", limits=limits
    )
    values = (target, *(q for _, qs in made for q in qs), total, factor)
    return Build(
        {
            "vehicle": Vehicle(
                name=name, team=hostile, number="27", target_speed=target, summary=hostile
            ),
            "mass": mass,
            "units": system,
            "notes": Notes(
                entries=(Entry(id="first", text=hostile, by=hostile, about="mass.items.part_1"),)
            ),
        },
        {q.id: q for q in values},
        {q.id: q.place for q in values if q.place},
        "c0ffee12" * 8,
        pages,
    )


def _outcome(of: Build, _given: Given) -> Outcome:
    mass = of.section(Mass)
    assert mass is not None
    assert mass.limits is not None
    assert mass.limits.total is not None
    m = np.array([i.mass.si for i in mass.items])
    x = np.array([i.x.si for i in mass.items])
    moment = work(MOMENT, "scene.moment", "First moment", mass=m, x=x)
    total = Result("scene.total", f"Total {mass.items[0].name}", float(m.sum()), "mass", 1.0)
    place = work(
        PLACE,
        "scene.place",
        "Centre of gravity",
        note=mass.items[0].x.source,
        moment=Result(moment.id, moment.title, moment.value, "mass moment"),
        mass=total,
        origin=mass.items[0].x,
    )
    limit = Result(mass.limits.total.id, "Most mass", mass.limits.total.si, "mass")
    lacking = Result(
        "scene.rating", "Rating", None, "mass", absent=f"no rating: {mass.items[0].name}"
    )
    heavy = dataclasses.replace(limit, id="scene.light", title="Light limit", value=50.0)
    used = tuple(q.id for i in mass.items for q in (i.mass, i.x))
    return Outcome(
        "scene",
        (total, Result("scene.gone", "Weighed total", None, "mass", absent="no weighing")),
        (
            make_check(
                "scene.check.total",
                f"Total against {mass.items[0].name}",
                demand=total,
                capacity=limit,
                inputs=used,
                sources=("common practice",),
            ),
            make_check(
                "scene.check.light", "Total, light limit", demand=total, capacity=heavy, factor=1.25
            ),
            make_check("scene.check.rating", "Wheel load", demand=total, capacity=lacking),
        ),
        (moment, place),
        (
            Caution("scene.lift", "Keep clear of a lifted axle; use stands.", "scene", hazard=True),
            Caution("scene.range", f"Outside: {mass.items[0].name}", "scene"),
        ),
        (
            Assumption(
                "scene.rigid",
                f"The frame is rigid: {mass.items[0].name}",
                "scene",
                "common practice",
            ),
        ),
        (
            OpenItem(
                "scene.weighing",
                "scene",
                "measurement",
                f"No weighing of {mass.items[0].name}",
                "weigh it",
            ),
        ),
    )


SUBJECTS = (Subject("scene", "Mass and centre of gravity", "What it weighs.", _outcome),)


def evaluation(of: Build | None = None) -> Evaluation:
    """The scene evaluated."""
    return evaluate(of or build(), as_of=DAY, subjects=SUBJECTS)
