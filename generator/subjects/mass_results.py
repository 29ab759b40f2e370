"""The figures in force as results: what the checks, the page and other subjects receive."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain

import numpy as np

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.wheels import Wheel
from generator.formulas.mass import height_above_ground, radius_of_gyration, wheelbase_share
from generator.subjects.mass_detail import (
    ConditionLine,
    Detail,
    Loading,
    ground_share,
    height_inputs,
    inertia_inputs,
)
from generator.subjects.mass_loading import Table
from generator.subjects.mass_weighing import Weighed
from generator.subjects.mass_wheels import Axle, footing, sum_of
from generator.vocabulary import Result

NO_MASS = "nothing is aboard in this condition"
NO_AXLES = "it needs a front and a rear axle, and `wheels` states none"


@dataclass(frozen=True, eq=False)
class Ground:
    """What the vehicle stands on: its wheels, axles front to rear, and the ground's z."""

    wheels: tuple[Wheel, ...]
    axles: tuple[Axle, ...]
    level: Quantity | None

    @property
    def two(self) -> tuple[Axle, Axle] | None:
        """The first and the last axle, or None where there are not two."""
        return (self.axles[0], self.axles[-1]) if len(self.axles) > 1 else None


# ------------------------------------------------------------------------ figures in force


def total(loading: Loading, word: str = "mass.design") -> Result:
    """The total in force."""
    ids = loading.ids[""]
    return _figure(loading, 0, name=f"{word}.total", title="Total mass", kind="mass", ids=ids)


def coordinate(loading: Loading, axis: int, word: str = "mass.design") -> Result:
    """A coordinate (axis 0, 1 or 2) of the centre of gravity in force, where the team measures."""
    letter = "xyz"[axis]
    name, title = f"{word}.cg_{letter}", f"Centre of gravity, {letter}"
    ids = loading.ids[letter]
    return _figure(loading, axis + 1, name=name, title=title, kind="length", ids=ids)


def _figure(
    loading: Loading, row: int, *, name: str, title: str, kind: str, ids: tuple[str, ...]
) -> Result:
    state = loading.state
    if state is None:
        return Result(name, title, None, kind, absent=NO_MASS)
    value = state.total if row == 0 else float(state.cg[row - 1])
    return Result(name, title, value, kind, float(state.u[row]), inputs=ids)


def height(loading: Loading, ground: Quantity | None, word: str = "mass.design") -> Result:
    """The height of the centre of gravity above the ground, in force."""
    z = coordinate(loading, 2, word)
    title, name = "Height of the centre of gravity", f"{word}.cg_height"
    if z.value is None:
        return Result(name, title, None, "length", absent=z.absent)
    level, u = (ground.si, ground.standard_uncertainty) if ground else (0.0, 0.0)
    return Result(
        name,
        title,
        height_above_ground(z=z.value, ground=level),
        "length",
        float(np.hypot(z.standard_uncertainty, ground_share(loading) * u)),
        inputs=height_inputs(loading, ground),
    )


def share(loading: Loading, on: Ground, word: str = "mass.design") -> Result:
    """Where the centre of gravity in force is along the wheelbase: 0 front axle, 1 rear axle."""
    name, title = f"{word}.cg_share", "Centre of gravity as share of the wheelbase"
    state = loading.state
    if state is None or on.two is None:
        return Result(name, title, None, "share", absent=NO_MASS if state is None else NO_AXLES)
    front, rear = on.two
    value = wheelbase_share(x=float(state.cg[0]), front=front.x, rear=rear.x)
    base = rear.x - front.x
    u = np.linalg.norm([state.u[1], (1.0 - value) * front.u_x, value * rear.u_x]) / base
    return Result(
        name,
        title,
        value,
        "share",
        float(u),
        inputs=loading.ids["x"] + wheel_x(front, rear),
    )


def wheel_x(*of: Axle) -> tuple[str, ...]:
    return tuple(w.x.id for a in of for w in a.wheels)


def wheel_inputs(loading: Loading, on: Ground, wheel: int | None = None) -> tuple[str, ...]:
    """Ids of what the wheel loads of a condition depend on, or of what one of them does."""
    shown = loading.base.weighed.on_scales if loading.base else None
    if shown and "moved" in loading.ids:
        moved = loading.ids["moved"]
        stand = tuple(p.id for w in on.wheels for p in (w.x, w.y)) if moved else ()
        readings = shown.readings if wheel is None else (shown.readings[wheel],)
        return tuple(dict.fromkeys((*readings, *shown.common, *moved, *stand)))
    ids = loading.ids["x"] + (loading.ids["y"] if _sideways(on) else ())
    places = tuple(w.x.id for w in on.wheels) + (
        tuple(w.y.id for w in on.wheels) if _sideways(on) else ()
    )
    return tuple(dict.fromkeys(ids + places))


IN_LINE = 0.001
"""A centre of gravity within this (m) of the line of wheels that stand in one is above it."""


def beside_the_line(loading: Loading, on: Ground) -> str:
    """Why wheels that all stand in one line do not hold the vehicle at rest; "" where they do."""
    if loading.state is None or len(on.wheels) < 2:
        return ""
    x, y = (np.array([getattr(w, axis).si for w in on.wheels]) for axis in ("x", "y"))
    stand = footing(x, y)
    if not stand.in_line:
        return ""
    along = np.array([x[-1] - x[0], y[-1] - y[0]]) / np.hypot(x[-1] - x[0], y[-1] - y[0])
    off = loading.state.cg[:2] - np.array([stand.mean_x, stand.mean_y])
    aside = abs(float(off[0] * along[1] - off[1] * along[0]))
    if aside <= IN_LINE:
        return ""
    return (
        "all wheels stand in one line and the centre of gravity beside it: something else holds it"
    )


def _sideways(on: Ground) -> bool:
    """Whether the wheels' y counts: not where all stand in one line along x."""
    return len({round(w.y.si, 9) for w in on.wheels}) > 1


# ---------------------------------------------------------------------- design and conditions


def design_results(design: Loading, on: Ground) -> tuple[Result, ...]:
    """Total, centre of gravity, height, share of the wheelbase and front share, in force."""
    return (
        total(design),
        *(coordinate(design, k) for k in range(3)),
        height(design, on.level),
        share(design, on),
        front(design, on, "mass.design"),
    )


def front(loading: Loading, on: Ground, word: str) -> Result:
    """The front axle's share of the load in force."""
    name, title = f"{word}.front_share", "Front axle's share"
    along = share(loading, on, word)
    if along.value is None:
        return Result(name, title, None, "share", absent=along.absent)
    if len(on.axles) == 2:
        value, u = 1.0 - along.value, along.standard_uncertainty
    else:
        picked = [w in on.axles[0].wheels for w in on.wheels]
        load, spread = sum_of(picked, loading.wheel_loads, loading.load_covariance)
        whole = float(loading.wheel_loads.sum())
        value, u = load / whole, spread / whole
    return Result(name, title, value, "share", u, inputs=along.inputs)


def condition_line(loading: Loading, on: Ground, *, design: bool) -> ConditionLine:
    """One condition's figures in force."""
    word = f"mass.condition.{loading.condition.id}"
    ids = wheel_inputs(loading, on)
    return ConditionLine(
        title=loading.title,
        design=design,
        total=total(loading, word),
        cg_x=coordinate(loading, 0, word),
        cg_y=coordinate(loading, 1, word),
        cg_height=height(loading, on.level, word),
        front_share=front(loading, on, word),
        axles=_loads(loading, _axle_picks(on), word, ids),
        loads=_loads(loading, _wheel_picks(on), word, ids),
        sides=_loads(loading, _side_picks(on), word, ids),
    )


Pick = tuple[str, str, list[bool]]
"""The end of an id, a title, and which wheels count."""


def _wheel_picks(on: Ground) -> list[Pick]:
    return [
        (f"wheel.{w.id}", f"Wheel load, {called(w)}", [v is w for v in on.wheels])
        for w in on.wheels
    ]


def _axle_picks(on: Ground) -> list[Pick]:
    last = len(on.axles)
    names = {1: "front", last: "rear"}
    return [
        (
            f"axle_{n}",
            f"Axle load, {names.get(n, f'axle {n}')}",
            [w in axle.wheels for w in on.wheels],
        )
        for n, axle in enumerate(on.axles, 1)
    ]


def _side_picks(on: Ground) -> list[Pick]:
    """Left and right of the centre plane, where wheels stand on both sides."""
    left, right = ([side * w.y.si > 0.0 for w in on.wheels] for side in (-1.0, 1.0))
    if not (any(left) and any(right)):
        return []
    return [("side_left", "Side load, left", left), ("side_right", "Side load, right", right)]


def _loads(
    loading: Loading, picks: list[Pick], word: str, ids: tuple[str, ...]
) -> tuple[Result, ...]:
    if not len(loading.wheel_loads):
        return ()
    sums = [sum_of(pick, loading.wheel_loads, loading.load_covariance) for _, _, pick in picks]
    return tuple(
        Result(f"{word}.{name}", title, value, "force", u, inputs=ids)
        for (name, title, _), (value, u) in zip(picks, sums, strict=True)
    )


# ------------------------------------------------------------------------------- inertia


def inertia_results(of: Table, loading: Loading, word: str) -> tuple[Result, ...]:
    """Moments, products, principal values and radius of gyration, scaled to the total in force."""
    if loading.inertia is None or loading.predicted is None or loading.state is None:
        return ()
    scale, ids = loading.state.total / loading.predicted.total, inertia_inputs(of, loading)
    tensor, u = loading.inertia.tensor * scale, loading.inertia.u * scale
    rows = [
        (f"inertia_{a}{a}", f"Moment of inertia about {a}", tensor[k, k], u[k])
        for k, a in enumerate("xyz")
    ]
    rows += [
        (f"product_{a}{b}", f"Product of inertia, {a} and {b}", -tensor[i, j], 0.0)
        for i, j, a, b in ((0, 1, "x", "y"), (0, 2, "x", "z"), (1, 2, "y", "z"))
    ]
    rows += [
        (f"principal_{n}", f"Principal moment of inertia {n}", p * scale, 0.0)
        for n, p in enumerate(loading.inertia.principal, 1)
    ]
    made = tuple(
        Result(f"{word}.{name}", title, float(value), "inertia", float(spread), inputs=ids)
        for name, title, value, spread in rows
    )
    gyration = float(radius_of_gyration(i=float(tensor[2, 2]), m=loading.state.total))
    title = "Radius of gyration in yaw"
    return (*made, Result(f"{word}.yaw_radius", title, gyration, "length", inputs=ids))


# ----------------------------------------------------------------------------- all of them


def all_results(detail: Detail) -> tuple[Result, ...]:
    """Every result of the subject, each once."""
    lines = chain.from_iterable(c.results for c in detail.conditions)
    said = chain.from_iterable((*w.results, *(x.height for x in w.lifts)) for w in detail.weighings)
    spare = (detail.without_allowance,) if detail.without_allowance else ()
    errors = chain.from_iterable(_errors(w) for w in detail.weighings)
    return (*detail.glance, *detail.inertia, *spare, *lines, *said, *errors, *_ballast(detail))


def _ballast(detail: Detail) -> tuple[Result, ...]:
    if detail.ballast is None:
        return ()
    return (
        *(row.mass for row in detail.ballast.rows),
        detail.ballast.total,
        detail.ballast.after,
        detail.ballast.cg_x,
    )


def _errors(weighed: Weighed) -> Iterable[Result]:
    for c in weighed.compared:
        yield Result(
            f"{weighed.anchor}.error_{c.word}",
            f"{c.title}: normalised error",
            c.error,
            "ratio",
            absent=c.reason,
            inputs=tuple(dict.fromkeys((*c.predicted.inputs, *c.measured.inputs))),
        )
