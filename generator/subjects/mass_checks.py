"""The checks of mass: total, windows of the centre of gravity, height, offset, wheel loads.

Every measure is independent of where the team put its origin. A window with both ends compares
the distance from its middle with half its width; with one end, the distance from the axle on the
other side with what the limit leaves; so shifting the origin changes no margin.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.mass import Limits, Window
from generator.checks import make_check, undecided
from generator.ranking import ranked
from generator.subjects.mass_ballast import Bound
from generator.subjects.mass_detail import Loading, WindowX
from generator.subjects.mass_results import (
    NO_AXLES,
    NO_MASS,
    Ground,
    beside_the_line,
    coordinate,
    height,
    share,
    total,
    wheel_inputs,
    wheel_x,
)
from generator.vocabulary import Check, Result

AS_SHARE = "Centre of gravity as share of the wheelbase"
STATICS = "Statics of a rigid body at rest on level ground (common practice)."


@dataclass(frozen=True, eq=False)
class Case:
    """What the checks look at. `in_force` says where the figures come from."""

    loadings: tuple[Loading, ...]
    design: Loading
    on: Ground
    limits: Limits | None
    in_force: str


def checks(case: Case) -> tuple[Check, ...]:
    """Every check that limits and rated loads ask for."""
    found: list[Check] = [*_limits(case, case.limits)] if case.limits else []
    wheels, rated = case.on.wheels, any(w.rated_load for w in case.on.wheels)
    if wheels and (case.limits.wheel_load if case.limits else rated):
        found += [_wheel(case, n) for n in range(len(wheels))]
        found += _standing(case)
    return tuple(found)


def beside_the_scales(
    predicted: tuple[Check, ...], weighed: tuple[Check, ...], day: datetime.date
) -> tuple[Check, ...]:
    """The checks by the list of items, beside the same by the weighing of that day: what holds by
    the one and falls short by the other is open, whichever of the two is wrong.
    """
    return tuple(
        _contradicted(ours, theirs, day)
        if (ours.verdict, theirs.verdict) == ("holds", "short")
        else ours
        for ours, theirs in zip(predicted, weighed, strict=True)
    )


def _contradicted(ours: Check, theirs: Check, day: datetime.date) -> Check:
    return undecided(
        ours,
        f"it holds by the list of items and falls short by the weighing of {day.isoformat()}",
        "find out which of the two is wrong: mend the list or weigh again; `mass.use: weighed` lets "
        "the scales decide",
        theirs.inputs,
    )


def running(loadings: tuple[Loading, ...], design: Loading) -> tuple[Loading, ...]:
    """The conditions in which the vehicle may run: that of the design first, and those that leave nothing out."""
    return design, *(c for c in loadings if c is not design and not c.condition.without)


def _limits(case: Case, limits: Limits) -> Iterable[Check]:
    """Each limit in the condition that comes nearest to it, or goes furthest beyond."""
    each = [tuple(_in_condition(case, limits, c)) for c in running(case.loadings, case.design)]
    return (ranked(alike)[0] for alike in zip(*each, strict=True))


def _in_condition(case: Case, limits: Limits, of: Loading) -> Iterable[Check]:
    """Every limit in one condition."""
    word = "mass.design" if of is case.design else f"mass.condition.{of.condition.id}"
    if limits.total:
        yield _plain(
            case, of, "total", title="Total mass", demand=total(of, word), limit=limits.total
        )
    for name, title, where, window in (
        ("cg_x", "Centre of gravity, fore and aft", coordinate(of, 0, word), limits.cg_x),
        ("cg_share", AS_SHARE, share(of, case.on, word), limits.cg_share),
    ):
        if window:
            yield _window(case, of, name, title=title, where=where, window=window)
    if limits.cg_height:
        high = height(of, case.on.level, word)
        yield _plain(case, of, "cg_height", title=high.title, demand=high, limit=limits.cg_height)
    if limits.cg_offset:
        yield _plain(
            case,
            of,
            "cg_offset",
            title="Centre of gravity off the centre plane",
            demand=_offset(of, word),
            limit=limits.cg_offset,
            either_side=True,
        )


def _told(case: Case, of: Loading) -> str:
    """What a limit is held against."""
    alone = len(running(case.loadings, case.design)) == 1
    return case.in_force if alone else f"{case.in_force}, worst condition: {of.title}"


def _plain(
    case: Case,
    of: Loading,
    word: str,
    *,
    title: str,
    demand: Result,
    limit: Quantity,
    either_side: bool = False,
) -> Check:
    return make_check(
        f"mass.check.{word}",
        title,
        demand=demand,
        capacity=_capacity(limit, f"Limit: {title.lower()}"),
        factor=_factor(case),
        either_side=either_side,
        inputs=(*demand.inputs, limit.id, *_factor_ids(case)),
        sources=_sources(limit),
        basis_of_verdict=_told(case, of),
        ways=_WAYS[word],
    )


_WAYS = {
    "total": "take mass out",
    "cg_height": "put heavy items lower, or ballast low down",
    "cg_offset": "move mass across to the other side",
}


def _factor(case: Case) -> float:
    """The required factor; rated loads are taken as they stand where no limits are stated."""
    return case.limits.factor.si if case.limits else 1.0


def _factor_ids(case: Case) -> tuple[str, ...]:
    return (case.limits.factor.id,) if case.limits else ()


def _capacity(limit: Quantity, title: str) -> Result:
    u = limit.standard_uncertainty
    return Result(limit.id, title, limit.si, limit.kind, u, inputs=(limit.id,))


def _sources(*limits: Quantity | None) -> tuple[str, ...]:
    return tuple(dict.fromkeys(q.source for q in limits if q and q.source))


def _offset(of: Loading, word: str) -> Result:
    y = coordinate(of, 1, word)
    return Result(
        f"{word}.cg_offset",
        "Distance of the centre of gravity from the centre plane",
        None if y.value is None else abs(y.value),
        "length",
        y.standard_uncertainty,
        y.absent,
        y.inputs,
    )


# -------------------------------------------------------------------------------- windows


def _window(
    case: Case, of: Loading, word: str, *, title: str, where: Result, window: Window
) -> Check:
    demand, capacity, shared = _measures(word, where, window, case.on)
    ends = [q for q in (window.least, window.most) if q]
    return make_check(
        f"mass.check.{word}",
        f"{title}, off the middle of its window" if len(ends) == 2 else title,
        demand=demand,
        capacity=capacity,
        factor=_factor(case),
        covariance=shared,
        either_side=len(ends) == 2,
        inputs=(*demand.inputs, *capacity.inputs, *(q.id for q in ends), *_factor_ids(case)),
        sources=_sources(*ends),
        basis_of_verdict=_told(case, of),
        ways=f"{_which_way(where, window)}; Ballast says what would do in the design condition",
        fixed="capacity",
    )


def _which_way(where: Result, window: Window) -> str:
    """How a centre of gravity gets inside its window, by the end that it is nearer to or beyond."""
    if where.value is None:
        return "move heavy items or ballast along the car"
    least, most = window.least, window.most
    aft = most is not None and (least is None or where.value > 0.5 * (least.si + most.si))
    way, side = ("forward", "ahead of") if aft else ("aft", "behind")
    return f"move mass {way}, or add ballast {side} the centre of gravity"


Measures = tuple[Result, Result, float]
"""Demand, capacity and the covariance of the two."""


def _measures(word: str, where: Result, window: Window, on: Ground) -> Measures:
    """Demand and capacity of a window for the figure `where`."""
    if window.least and window.most:
        return _from_middle(word, where, window.least, window.most)
    limit = window.least or window.most
    assert limit is not None  # the schema asks for at least one end
    return _from_axle(word, where, limit, on, rear=window.most is None)


def _from_middle(word: str, where: Result, least: Quantity, most: Quantity) -> Measures:
    """Both ends enter the middle and the half: with D = ±(x − (a + b)/2) and C = (b − a)/2 their
    covariance is ∓(u_b² − u_a²)/4, so that near one end that end's own spread is what counts.
    """
    middle, half = 0.5 * (least.si + most.si), 0.5 * (most.si - least.si)
    u_end = 0.5 * float(np.hypot(least.standard_uncertainty, most.standard_uncertainty))
    demand = Result(
        f"{where.id}_from_middle",
        "Distance of the centre of gravity from the middle of its window",
        None if where.value is None else abs(where.value - middle),
        where.kind,
        float(np.hypot(where.standard_uncertainty, u_end)),
        where.absent,
        where.inputs,
    )
    words = "" if half >= 0.0 else "the window's least is above its most"
    name = f"mass.limit.{word}_half"
    capacity = Result(
        name, "Half the width of the window", None if words else half, where.kind, u_end, words
    )
    side = -1.0 if (where.value or 0.0) < middle else 1.0
    apart = most.standard_uncertainty**2 - least.standard_uncertainty**2
    return demand, capacity, -0.25 * side * apart


def _from_axle(word: str, where: Result, limit: Quantity, on: Ground, *, rear: bool) -> Measures:
    """Demand and capacity of a window with one end: the least is measured from the rear axle."""
    seen = "ahead of the rear axle" if rear else "aft of the front axle"
    names = (f"{where.id}_from_axle", f"mass.limit.{word}_from_axle")
    titles = (f"Distance of the centre of gravity {seen}", f"Allowed distance {seen}")
    end = _axle_end(word, on, rear=rear)
    if end is None or where.value is None:
        lacking, kind = where.absent or NO_AXLES, where.kind
        none, nothing = (
            Result(n, t, None, kind, absent=lacking) for n, t in zip(names, titles, strict=True)
        )
        return none, nothing, 0.0
    at, ids, u = end
    side = -1.0 if rear else 1.0
    demand = side * (where.value - at)
    past = "" if demand >= 0.0 else f"the centre of gravity is not {seen}: the vehicle tips over it"
    left = side * (limit.si - at)
    words = "" if left >= 0.0 else "the limit lies beyond the axle it is measured from"
    spread = float(np.hypot(where.standard_uncertainty, u))
    room = float(np.hypot(limit.standard_uncertainty, u))
    known = None if past else demand
    return (
        Result(names[0], titles[0], known, where.kind, spread, past, where.inputs + ids),
        Result(names[1], titles[1], None if words else left, where.kind, room, words),
        u**2,
    )


def _axle_end(word: str, on: Ground, *, rear: bool) -> tuple[float, tuple[str, ...], float] | None:
    """The axle that a one-sided limit is measured from: its place, the ids behind it, its u."""
    if on.two is None:
        return None
    if word == "cg_share":
        return (1.0 if rear else 0.0), (), 0.0
    axle = on.two[1] if rear else on.two[0]
    return axle.x, wheel_x(axle), axle.u_x


# ----------------------------------------------------------------------------- wheel loads


def _wheel(case: Case, n: int) -> Check:
    """One wheel's greatest load of all conditions against its rating."""
    wheel = case.on.wheels[n]
    name, rated = called(wheel), wheel.rated_load
    loaded = (c for c in case.loadings if len(c.wheel_loads))
    worst = max(loaded, key=lambda c: float(c.wheel_loads[n]), default=None)
    demand = _wheel_demand(case, worst, n)
    lacking = f"the rated load of {name} is missing"
    none = Result(
        f"mass.limit.wheel.{wheel.id}", f"Rated load of {name}", None, "force", absent=lacking
    )
    said = f", worst condition: {worst.title}" if worst else ""
    return make_check(
        f"mass.check.wheel.{wheel.id}",
        f"Wheel load: {name}",
        demand=demand,
        capacity=_capacity(rated, f"Rated load of {name}") if rated else none,
        factor=_factor(case),
        inputs=(*demand.inputs, *((rated.id,) if rated else ()), *_factor_ids(case)),
        sources=(STATICS, *_sources(rated)),
        basis_of_verdict=f"{case.in_force}{said}",
        ways="a tire or wheel that is rated for more, or less mass over it",
    )


def _wheel_demand(case: Case, worst: Loading | None, n: int) -> Result:
    wheel = case.on.wheels[n]
    name = f"mass.design.wheel.{wheel.id}"
    title = f"Greatest load of {called(wheel)}, all conditions"
    if worst is None:
        return Result(name, title, None, "force", absent=NO_MASS if case.on.two else NO_AXLES)
    lifted = [
        (c.title, called(case.on.wheels[k]))
        for c in case.loadings
        for k in np.flatnonzero(c.wheel_loads < 0.0)
    ]
    if lifted:
        where, which = lifted[0]
        words = (
            f"{which} lifts off the ground in {where}, so that the loads of the others are "
            "not those computed"
        )
        return Result(name, title, None, "force", absent=words)
    u = float(np.sqrt(worst.load_covariance[n, n]))
    ids = wheel_inputs(worst, case.on, n)
    return Result(name, title, float(worst.wheel_loads[n]), "force", u, inputs=ids)


def _standing(case: Case) -> Iterable[Check]:
    """One check: the wheel with the least share of the load, in any condition, still carries
    some, with the required factor on what it lacks.
    """
    found = [
        (c.wheel_loads[n] / c.wheel_loads.sum(), n, c)
        for c in case.loadings
        for n in range(len(c.wheel_loads))
    ]
    if not found:
        return
    least, n, loading = min(found, key=lambda f: f[0])
    name = called(case.on.wheels[n])
    aside = beside_the_line(loading, case.on)
    demand = Result(
        "mass.design.unloading",
        f"How far {name} is unloaded, of an equal share",
        None if aside else 1.0 - float(least) * len(case.on.wheels),
        "share",
        float(loading.u_wheel_shares[n]),
        aside,
        wheel_inputs(loading, case.on),
    )
    yield make_check(
        "mass.check.wheels_down",
        "Every wheel stays on the ground, at rest",
        demand=demand,
        capacity=Result(
            "mass.limit.unloading", "Unloaded altogether: the wheel lifts", 1.0, "share"
        ),
        factor=_factor(case),
        inputs=(*demand.inputs, *_factor_ids(case)),
        sources=(STATICS,),
        basis_of_verdict=f"{case.in_force}, worst condition: {loading.title}. "
        f"At 0 % {name} carries as much as any; at 100 % it lifts",
        ways="move mass towards that wheel, or set its spring",
        fixed="capacity",
    )


# ---------------------------------------------------------------- limits as plain coordinates


def windows(limits: Limits | None, on: Ground) -> tuple[WindowX, ...]:
    """The windows along x, in the team's coordinates, narrowed by the required factor."""
    if limits is None:
        return ()
    found = []
    if limits.cg_x:
        found.append(_narrowed("window along x", limits, limits.cg_x, on, lambda v: v))
    if limits.cg_share and on.two:
        front, base = on.two[0].x, on.two[1].x - on.two[0].x
        words = "window as share of the wheelbase"
        found.append(_narrowed(words, limits, limits.cg_share, on, lambda v: front + v * base))
    return tuple(w for w in found if w is not None)


def _narrowed(
    words: str, limits: Limits, window: Window, on: Ground, place: Callable[[float], float]
) -> WindowX | None:
    factor = limits.factor.si
    least = place(window.least.si) if window.least else None
    most = place(window.most.si) if window.most else None
    if least is not None and most is not None:
        middle, half = 0.5 * (least + most), 0.5 * (most - least) / factor
        return WindowX(words, middle - half, middle + half) if half >= 0.0 else None
    if on.two is None:
        return None
    front, rear = on.two[0].x, on.two[1].x
    return WindowX(
        words,
        None if least is None else rear - (rear - least) / factor,
        None if most is None else front + (most - front) / factor,
    )


def bounds(limits: Limits | None, on: Ground) -> tuple[Bound, ...]:
    """The limits on the centre of gravity as bounds on its coordinates, required factor
    included.
    """
    if limits is None:
        return ()
    factor, level = limits.factor.si, on.level.si if on.level else 0.0
    found = [
        Bound(window.words, 0, sign, end)
        for window in windows(limits, on)
        for sign, end in ((-1, window.least), (1, window.most))
        if end is not None
    ]
    if limits.cg_height:
        found.append(Bound("greatest height", 2, 1, level + limits.cg_height.si / factor))
    if limits.cg_offset:
        side = limits.cg_offset.si / factor
        found += [Bound("greatest offset", 1, sign, sign * side) for sign in (-1, 1)]
    return tuple(found)
