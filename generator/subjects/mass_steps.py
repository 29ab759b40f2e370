"""The worked steps of the design condition, recorded as they are computed."""

from __future__ import annotations

import numpy as np

from buildspec.plain import called
from generator.formulas.margin import margin_of_safety
from generator.formulas.mass import (
    axle_load,
    carried_mass,
    carried_moment,
    centre,
    first_moment,
    front_share,
    height_above_ground,
    moment_of_inertia,
    radius_of_gyration,
    total_mass,
    wheel_load,
    wheelbase_share,
)
from generator.subjects.mass_detail import Detail
from generator.subjects.mass_loading import State
from generator.subjects.mass_results import Ground
from generator.subjects.mass_wheels import G, footing
from generator.vocabulary import Check, WorkedStep
from generator.work import work

STEP = "mass.step"


def steps(detail: Detail, on: Ground, checks: tuple[Check, ...]) -> tuple[WorkedStep, ...]:
    """Total, moments, centre of gravity, axle and wheel loads, inertia, weighings, governing
    margin.
    """
    state = detail.design.predicted
    if state is None:
        return ()
    in_force = detail.design.state or state
    return (
        *_items(detail, state, on),
        *_carried(detail),
        *_axles(in_force, on),
        *_one_wheel(in_force, on),
        *_inertia(detail, state),
        *(s for w in detail.weighings for s in w.steps),
        *_governing(checks),
    )


def _items(detail: Detail, state: State, on: Ground) -> list[WorkedStep]:
    """Sums over the items aboard in the design condition, as the table of items lists them."""
    aboard = detail.design.load.mass
    note = "Each term is a line of the table of items."
    total = work(total_mass, f"{STEP}.total", "Total", note, m=aboard)
    made = [total]
    for k, axis in enumerate("xyz"):
        name, title = f"{STEP}.moment_{axis}", f"Moment about the origin along {axis}"
        moment = work(first_moment, name, title, m=aboard, r=detail.table.place[:, k])
        made += [moment, _centre(f"cg_{axis}", f"Centre of gravity, {axis}", moment, total)]
    level = on.level if on.level is not None else 0.0
    title = "Height of the centre of gravity"
    z = float(state.cg[2])
    return [*made, work(height_above_ground, f"{STEP}.cg_height", title, z=z, ground=level)]


def _centre(word: str, title: str, moment: WorkedStep, total: WorkedStep) -> WorkedStep:
    return work(centre, f"{STEP}.{word}", title, s=moment.value, m=total.value)


def _carried(detail: Detail) -> list[WorkedStep]:
    """From the weighed vehicle to the design condition, where the weighed mass is used."""
    base, change = detail.design.base, detail.design.change
    if base is None or change is None or base.weighed.state is None:
        return []
    moved, start = np.flatnonzero(change.mass), base.weighed.state
    added, names = change.mass[moved], [detail.table.items[n].name for n in moved]
    note = f"Items aboard in one condition and not in the other: {', '.join(names) or 'none'}."
    title = "Total from the weighing"
    total = work(carried_mass, f"{STEP}.carried_total", title, note, start=start.total, m=added)
    made = [total]
    for k, axis in enumerate("xyz"):
        place = {"at": float(start.cg[k]), "r": detail.table.place[moved, k]}
        name, title = f"{STEP}.carried_moment_{axis}", f"Moment along {axis} from the weighing"
        moment = work(carried_moment, name, title, start=start.total, m=added, **place)
        title = f"Centre of gravity from the weighing, {axis}"
        made += [moment, _centre(f"carried_cg_{axis}", title, moment, total)]
    return made


def _axles(state: State, on: Ground) -> list[WorkedStep]:
    if on.two is None:
        return []
    x, (front, rear) = float(state.cg[0]), on.two
    along = work(
        wheelbase_share,
        f"{STEP}.cg_share",
        "Centre of gravity as share of the wheelbase",
        x=x,
        front=front.x,
        rear=rear.x,
    )
    if len(on.axles) > 2:
        return [along]
    ahead = work(
        front_share, f"{STEP}.front_share", "Front axle's share", x=x, front=front.x, rear=rear.x
    )
    return [
        along,
        ahead,
        work(
            axle_load,
            f"{STEP}.front_load",
            "Load of the front axle",
            q=ahead.value,
            m=state.total,
            g=G,
        ),
        work(
            axle_load,
            f"{STEP}.rear_load",
            "Load of the rear axle",
            q=along.value,
            m=state.total,
            g=G,
        ),
    ]


def _one_wheel(state: State, on: Ground) -> list[WorkedStep]:
    """The first wheel's load; the others follow with their own places."""
    if on.two is None:
        return []
    stand = footing(np.array([w.x.si for w in on.wheels]), np.array([w.y.si for w in on.wheels]))
    if stand.in_line:
        return []
    first = on.wheels[0]
    return [
        work(
            wheel_load,
            f"{STEP}.wheel",
            f"Load of one wheel: {called(first)}",
            "The other wheels follow with their own a and b.",
            m=state.total,
            g=G,
            n=float(len(on.wheels)),
            ex=float(state.cg[0]) - stand.mean_x,
            ey=float(state.cg[1]) - stand.mean_y,
            a=first.x.si - stand.mean_x,
            b=first.y.si - stand.mean_y,
            axx=stand.axx,
            ayy=stand.ayy,
            axy=stand.axy,
        )
    ]


def _inertia(detail: Detail, state: State) -> list[WorkedStep]:
    of, aboard = detail.table, detail.design.load.mass
    arm = of.place - state.cg
    made = [
        work(
            moment_of_inertia,
            f"{STEP}.inertia_{axis}",
            f"Moment of inertia about {axis} ({words})",
            m=aboard,
            u=arm[:, p],
            v=arm[:, q],
            a=of.size[:, p],
            b=of.size[:, q],
        )
        for axis, words, p, q in (("x", "roll", 1, 2), ("y", "pitch", 2, 0), ("z", "yaw", 0, 1))
    ]
    return [
        *made,
        work(
            radius_of_gyration,
            f"{STEP}.yaw_radius",
            "Radius of gyration in yaw",
            i=made[2].value,
            m=state.total,
        ),
    ]


def _governing(checks: tuple[Check, ...]) -> list[WorkedStep]:
    """The margin of the check that has the least."""
    decided = [c for c in checks if c.margin is not None]
    if not decided:
        return []
    least = min(decided, key=lambda c: c.margin or 0.0)
    return [
        work(
            margin_of_safety.of(least.kind),
            f"{STEP}.margin",
            f"Least margin: {least.title}",
            capacity=least.capacity,
            factor=least.factor,
            demand=least.demand,
        )
    ]
