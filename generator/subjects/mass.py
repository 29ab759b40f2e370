"""The subject `mass`: total, centre of gravity, wheel loads and inertia in every condition, against
limits, against the scales, and with the least ballast that would mend it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import fields, replace
from itertools import chain

import numpy as np

from buildspec.build import Build
from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.datum import Datum
from buildspec.sections.mass import Condition, Item, Mass
from buildspec.sections.wheels import Wheels
from generator.formulas.mass import first_moment, total_mass
from generator.subjects import mass_growth as growth
from generator.subjects.dates import Done, ahead
from generator.subjects.mass_ballast import MET, Answer, Problem, least_ballast
from generator.subjects.mass_checks import Case, beside_the_scales, bounds, checks, running, windows
from generator.subjects.mass_detail import (
    Ballasted,
    BallastRow,
    Base,
    Contribution,
    Detail,
    GroupLine,
    GrowthLine,
    ItemLine,
    Loading,
    Part,
    Sums,
    carried_to,
    inputs_by_axis,
    item_inputs,
)
from generator.subjects.mass_loading import (
    Load,
    State,
    Table,
    change_of,
    combine,
    contributions_to_x,
    inertia,
    load,
    table,
)
from generator.subjects.mass_results import (
    Ground,
    all_results,
    condition_line,
    design_results,
    inertia_results,
)
from generator.subjects.mass_said import assumptions, cautions, open_items
from generator.subjects.mass_steps import steps
from generator.subjects.mass_weighing import Weighed, weigh
from generator.subjects.mass_wheels import (
    Array,
    axles,
    footing,
    loads,
    loads_from_scales,
    loads_with_spread,
    u_of_shares,
)
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Check, Outcome, Result

GREATEST = 10
"""How many of the largest contributions to the spread are listed."""


def evaluate(build: Build, given: Given) -> Outcome | None:
    """Everything about mass, or None where the description has no `mass`."""
    described = build.section(Mass)
    if described is None:
        return None
    mass = _done(described, given)
    on = _ground(build)
    known = table(_items(build, mass))
    of = _grown(known) if mass.growth_allowance else known
    conditions = {c.id: c for c in mass.conditions}
    # the scales know no allowance, so neither does what they are compared with
    weighings = _weighings(mass, known, conditions, on)
    latest = _by_day(weighings)[-1] if weighings else None
    scales = _scales(known, conditions, latest)
    base = scales if mass.use == "weighed" else None
    loadings = tuple(_loading(of, c, base, on) for c in mass.conditions)
    detail = _detail(mass, of, on, loadings=loadings, weighings=weighings, latest=latest, base=base)
    found = checks(Case(loadings, detail.design, on, mass.limits, detail.in_force))
    if scales and base is None:
        day = scales.weighed.weighing.date
        found = beside_the_scales(found, _by_scales(mass, of, scales, on), day)
    return Outcome(
        subject="mass",
        results=all_results(detail),
        checks=found,
        steps=steps(detail, on, found),
        cautions=cautions(mass, detail),
        assumptions=assumptions(mass, detail),
        open_items=(
            *open_items(mass, detail, found, build.system),
            *ahead("mass", _dated(described), given),
        ),
        detail=detail,
    )


SUBJECT = Subject(
    word="mass",
    title="Mass and centre of gravity",
    purpose="What the vehicle weighs, where its centre of gravity is in every condition, what each "
    "wheel carries, and how sure all of that is.",
    evaluate=evaluate,
)


# --------------------------------------------------------------------------------- set-up


def _done(mass: Mass, given: Given) -> Mass:
    """The section without weighings that are yet to come: nobody has read those scales."""
    return replace(mass, weighings=tuple(w for w in mass.weighings if given.reached(w.date)))


def _dated(mass: Mass) -> Iterable[Done]:
    for w in mass.weighings:
        words = f"The weighing {w.id} is not used: it is said to have been made"
        yield f"mass.weighings.{w.id}", words, w.date


def _items(build: Build, mass: Mass) -> tuple[Item, ...]:
    """The items, that of the cage with the mass of its tubes where it says so."""
    if "cage" not in build.sections:
        return mass.items
    from generator.subjects.cage_mass import fed  # noqa: PLC0415  (loads what a frame is made of)

    return fed(build, mass.items)


def _ground(build: Build) -> Ground:
    wheels, datum = build.section(Wheels), build.section(Datum)
    positions = wheels.positions if wheels else ()
    return Ground(positions, axles(positions), datum.ground if datum else None)


def _grown(of: Table) -> Table:
    """The items with their growth allowances."""
    return replace(of, allowance=np.array([growth.allowance(i) for i in of.items]))


def _weighings(
    mass: Mass, of: Table, conditions: dict[str, Condition], on: Ground
) -> tuple[Weighed, ...]:
    """The sessions in the order of the description, each knowing what was weighed before it."""
    found: dict[str, Weighed] = {}
    before: Weighed | None = None
    for w in sorted(mass.weighings, key=lambda w: w.date):
        condition = conditions[w.condition]
        aboard = load(of, condition)
        predicted = combine(of, aboard)
        listed = {axis: item_inputs(of, aboard, [condition], axis) for axis in ("", "x", "y", "z")}
        past = carried_to(of, condition, before, conditions) if before else None
        found[w.id] = weigh(
            w, called(condition), on.wheels, on.level, predicted, earlier=past, listed=listed
        )
        before = found[w.id] if found[w.id].state else before
    return tuple(found[w.id] for w in mass.weighings)


def _by_day(weighings: tuple[Weighed, ...]) -> list[Weighed]:
    """The earliest first; those of one day in the order of the description."""
    return sorted(weighings, key=lambda w: w.weighing.date)


def _in_force(base: Base | None) -> str:
    """What the checks are about, and that the scales and the list of items do not agree."""
    if base is None:
        return "predicted"
    said = f"weighed {base.weighed.weighing.date.isoformat()}"
    apart = [c.title for c in base.weighed.compared if c.agrees is False]
    return f"{said}, where the list of items disagrees ({'; '.join(apart)})" if apart else said


def _scales(of: Table, conditions: dict[str, Condition], latest: Weighed | None) -> Base | None:
    """The weighing, as something to reckon from."""
    if latest is None or latest.state is None:
        return None
    condition = conditions[latest.weighing.condition]
    return Base(latest, condition, of, load(of, condition))


def _by_scales(mass: Mass, of: Table, scales: Base, on: Ground) -> tuple[Check, ...]:
    """The checks as they would be if the weighing were in force."""
    loadings = tuple(_loading(of, c, scales, on) for c in mass.conditions)
    design = next(c for c in loadings if c.condition.id == mass.design_condition)
    return checks(Case(loadings, design, on, mass.limits, _in_force(scales)))


def _loading(of: Table, condition: Condition, base: Base | None, on: Ground) -> Loading:
    what = load(of, condition)
    predicted = combine(of, what)
    change = load(base.table, condition, base.condition) if base else None
    state = combine(of, change, base.weighed.state) if base and change else predicted
    moment = inertia(of, what, predicted.cg) if predicted else None
    on_wheels = _wheel_loads(of, state, change, base, on)
    made = Loading(condition, what, predicted, state, change, base, moment, *on_wheels)
    return replace(made, ids=inputs_by_axis(of, made))


def _wheel_loads(
    of: Table, state: State | None, change: Load | None, base: Base | None, on: Ground
) -> tuple[Array, Array, Array]:
    """Each wheel's load, their covariance, and u of load over mean load; nothing without axles."""
    if state is None or on.two is None:
        return np.zeros(0), np.zeros((0, 0)), np.zeros(0)
    weighed = base.weighed if base else None
    if weighed and weighed.on_scales and weighed.state and change is not None:
        since = change_of(base.table if base else of, change)
        found = loads_from_scales(weighed.on_scales, weighed.state, state, since, on.wheels)
    else:
        found = loads_with_spread(state, on.wheels)
    return *found, u_of_shares(*found)


# --------------------------------------------------------------------------------- detail


def _detail(
    mass: Mass,
    of: Table,
    on: Ground,
    *,
    loadings: tuple[Loading, ...],
    weighings: tuple[Weighed, ...],
    latest: Weighed | None,
    base: Base | None,
) -> Detail:
    design = next(c for c in loadings if c.condition.id == mass.design_condition)
    level, limits = on.level.si if on.level else 0.0, mass.limits
    return Detail(
        table=of,
        loadings=loadings,
        design=design,
        lines=_lines(of, design),
        sums=_sums(of, design),
        conditions=tuple(condition_line(c, on, design=c is design) for c in loadings),
        groups=_parts(of, design, lambda i: i.group),
        bases=_parts(of, design, lambda i: i.mass.basis),
        groups_by_basis=_by_basis(of, design),
        with_spread=sum(1 for i in of.items if i.mass.half_width > 0.0 and i.x.half_width > 0.0),
        contributions=_contributions(of, design, base),
        wheels=on.wheels,
        axles=on.axles,
        ground=level,
        windows=windows(limits, on),
        most_height=limits.cg_height.si / limits.factor.si if limits and limits.cg_height else None,
        most_offset=limits.cg_offset.si / limits.factor.si if limits and limits.cg_offset else None,
        weighings=weighings,
        latest=latest,
        in_force=_in_force(base),
        growth=_growth(of, design) if mass.growth_allowance else (),
        without_allowance=_without(of, design) if mass.growth_allowance else None,
        ballast=_ballast(mass, running(loadings, design), on),
        glance=design_results(design, on),
        inertia=inertia_results(of, design, "mass.design"),
    )


def _lines(of: Table, design: Loading) -> tuple[ItemLine, ...]:
    moments = design.load.mass[:, None] * of.place
    return tuple(
        ItemLine(item, float(m), *(float(s) for s in moment))
        for item, m, moment in zip(of.items, design.load.mass, moments, strict=True)
    )


def _sums(of: Table, design: Loading) -> Sums:
    m = design.load.mass
    x, y, z = (first_moment(m=m, r=of.place[:, k]) for k in range(3))
    return Sums(float(total_mass(m=m)), float(x), float(y), float(z))


def _parts(of: Table, design: Loading, name: Callable[[Item], str]) -> tuple[Part, ...]:
    """The design condition's predicted mass by group or basis, heaviest first."""
    sums: dict[str, tuple[float, int]] = {}
    for item, kilograms in zip(of.items, design.load.mass, strict=True):
        so_far, count = sums.get(name(item), (0.0, 0))
        sums[name(item)] = (so_far + float(kilograms), count + 1)
    whole = sum(m for m, _ in sums.values())
    parts = (Part(n, m, m / whole if whole > 0.0 else 0.0, k) for n, (m, k) in sums.items())
    return tuple(sorted(parts, key=lambda p: (-p.mass, p.name)))


def _by_basis(of: Table, design: Loading) -> tuple[GroupLine, ...]:
    """Each group's mass by basis, heaviest group first."""
    pairs = _parts(of, design, lambda i: f"{i.mass.basis} {i.group}")
    split: dict[str, dict[str, float]] = {}
    for pair in pairs:
        basis, group = pair.name.split(" ", 1)
        split.setdefault(group, {})[basis] = pair.mass
    lines = (GroupLine(g, sum(m.values()), tuple(m.items())) for g, m in split.items())
    return tuple(sorted(lines, key=lambda line: (-line.mass, line.name)))


def _contributions(of: Table, design: Loading, base: Base | None) -> tuple[Contribution, ...]:
    """The largest contributions to u(x of the design centre of gravity), and the weighing's own."""
    if design.state is None:
        return ()
    what = design.change if base and design.change is not None else design.load
    each = contributions_to_x(of, what, design.state)
    variance = float(design.state.covariance[1, 1])
    rows = [
        (i.name, f"mass.items.{i.id}", float(c))
        for i, c in zip(of.items, each, strict=True)
        if c > 0.0
    ]
    rest = variance - float(np.sum(each**2))
    if base and rest > 0.0:
        rows.append(
            ("The weighing", f"mass.weighings.{base.weighed.weighing.id}", float(np.sqrt(rest)))
        )
    rows.sort(key=lambda r: -r[2])
    return tuple(Contribution(n, ref, c, c**2 / variance) for n, ref, c in rows[:GREATEST])


def _growth(of: Table, design: Loading) -> tuple[GrowthLine, ...]:
    bare = design.load.mass / (1.0 + of.allowance)
    found = []
    for row, maturity, allowance, count in growth.classes(of.items):
        inside = [growth.row(i) == row and growth.maturity(i) == maturity for i in of.items]
        found.append(
            GrowthLine(row, maturity, allowance, count, float(np.sum(bare[inside])) * allowance)
        )
    return tuple(found)


def _without(of: Table, design: Loading) -> Result:
    bare = replace(of, allowance=np.zeros(len(of.items)))
    state = combine(bare, load(bare, design.condition))
    return Result(
        "mass.design.total_without_allowance",
        "Predicted total without growth allowance",
        state.total if state else None,
        "mass",
        float(state.u[0]) if state else 0.0,
        "" if state else "nothing is aboard in this condition",
    )


# ------------------------------------------------------------------------------- ballast


def _ballast(mass: Mass, runs: tuple[Loading, ...], on: Ground) -> Ballasted | None:
    """The least ballast for the first of the conditions to run in."""
    design = runs[0]
    if design.state is None or mass.ballast is None:
        return None
    limits, chosen = mass.limits, mass.ballast.places
    problem = Problem(
        total=design.state.total,
        cg=design.state.cg,
        places=np.array([[q.si for q in (p.x, p.y, p.z)] for p in chosen]),
        most=np.array([p.most.si for p in chosen]),
        bounds=bounds(limits, on),
        most_total=limits.total.si / limits.factor.si if limits and limits.total else None,
    )
    answer = least_ballast(problem)
    behind = _behind_ballast(mass, design, on)

    def figure(word: str, title: str, value: float, kind: str = "mass") -> Result:
        return Result(f"mass.ballast.{word}", title, value, kind, inputs=behind)

    rows = tuple(
        BallastRow(p, figure(p.id, f"Ballast: {called(p)}", float(m)))
        for p, m in zip(chosen, answer.masses, strict=True)
    )
    return Ballasted(
        rows,
        answer,
        figure("total", "Ballast in all", float(np.sum(answer.masses))),
        figure("after", "Total with ballast", answer.total),
        figure("cg_x", "Centre of gravity with ballast, x", float(answer.cg[0]), "length"),
        _ballast_words(answer),
        _overloaded(design, answer, on, limits.factor.si if limits else 1.0),
        tuple(c.title for c in runs[1:] if c.state and _outside(c.state, problem, answer)),
    )


def _outside(state: State, problem: Problem, answer: Answer) -> bool:
    """Whether a vehicle with that ballast lies outside a limit, or is heavier than its limit."""
    total = state.total + float(answer.masses.sum())
    at = (state.total * state.cg + answer.masses @ problem.places) / total
    heavy = problem.most_total is not None and total > problem.most_total
    return heavy or any(bound.excess(at) > MET for bound in problem.bounds)


def _behind_ballast(mass: Mass, design: Loading, on: Ground) -> tuple[str, ...]:
    """Ids of the description behind the least ballast: mass and CG, wheels, limits and places."""
    places = mass.ballast.places if mass.ballast else ()
    limits = (mass.limits, mass.limits.cg_x, mass.limits.cg_share) if mass.limits else ()
    records = (*on.wheels, *places, *(r for r in limits if r))
    own = (getattr(r, f.name) for r in records for f in fields(r))
    ids = (q.id for q in own if isinstance(q, Quantity))
    return tuple(dict.fromkeys((*chain.from_iterable(design.ids.values()), *ids)))


def _overloaded(design: Loading, answer: Answer, on: Ground, factor: float) -> tuple[str, ...]:
    """The wheels that ballast would load beyond their rating over the factor, or lift."""
    if design.state is None or not len(design.wheel_loads):
        return ()
    stand = footing(np.array([w.x.si for w in on.wheels]), np.array([w.y.si for w in on.wheels]))
    now_at, then_at = design.state.cg, answer.cg
    before = loads(design.state.total, float(now_at[0]), float(now_at[1]), stand)
    after = loads(answer.total, float(then_at[0]), float(then_at[1]), stand)
    carried = design.wheel_loads + after - before
    return tuple(
        called(w)
        for w, load_, now in zip(on.wheels, carried, design.wheel_loads, strict=True)
        if load_ < min(now, 0.0) or (w.rated_load and load_ > max(w.rated_load.si / factor, now))
    )


def _ballast_words(answer: Answer) -> str:
    """Which of the four answers it is: `inside`, `reached`, `over` (too heavy already) or
    `short`.
    """
    if answer.excess > MET:
        return "short"
    if answer.over > 0.0:
        return "over"
    return "reached" if answer.needed else "inside"
