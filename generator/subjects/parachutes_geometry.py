"""Where the pull acts: moments about the CG, axle loads over speed, and what the tires hold sideways."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from generator.checks import make_check
from generator.formulas import parachutes as f
from generator.run.car import Car, forces
from generator.subjects.parachutes_loads import Loads, Scene
from generator.subjects.parachutes_tires import axle_loads, opening_tires
from generator.subjects.pulls import Pull, Side, round_the_rim
from generator.subjects.run_model import Parts, State, car, ids_of_all, number, rolling_mass
from generator.vocabulary import Check, Result, WorkedStep
from generator.work import work

NOISE = 1e-9
"""A share of a load that is less than this is rounding."""
SHARES = (1.0, 0.8, 0.6, 0.4)
"""At these shares of the speed considered the axle loads are shown."""


@dataclass(frozen=True, slots=True)
class AxleRow:
    """Axle loads at one speed, N: coasting, and with the governing pull straight aft, up and down the cone."""

    speed: float
    coasting: tuple[float, float]
    straight: tuple[float, float]
    up: tuple[float, float]
    down: tuple[float, float]
    least_front: float
    least_rear: float


@dataclass(frozen=True, eq=False)
class Geometry:
    """What the place of the pull does. `rows` are those of the condition in `state`, the one unloaded most."""

    state: str
    rows: tuple[AxleRow, ...]
    checks: tuple[Check, ...]
    steps: tuple[WorkedStep, ...]
    results: tuple[Result, ...]


@dataclass(frozen=True, slots=True)
class Run:
    """A condition the vehicle runs in, with its axle loads at the speeds considered."""

    title: str
    scene: Scene
    rows: tuple[AxleRow, ...]


def geometry(loads: Loads, scene: Scene, runs: tuple[State, ...]) -> Geometry | None:
    """Moments, axles, side pull and tires at the governing load in every condition; None where unknown."""
    if loads.design.value is None:
        return None
    of, attach = scene.of, loads.canopy.attach
    height = attach.z.si - (of.ground.si if of.ground else 0.0)
    station = attach.x.si - of.axles.x(of.axles.front)
    known = tuple(_run(loads, scene, state, (station, height)) for state in runs)
    shown = min(known, key=lambda run: min(_left(run.rows, n)[0] for n in (0, 1)))
    steps = _moments(of, loads, scene.car, height)
    behind, aside = _inputs(loads, runs), (attach.y.id, *of.cg_y.inputs)
    checks = (
        *_axles(loads, known, behind),
        *_sideways(loads, known, (station, height), (*behind, *aside)),
        *opening_tires(loads, known[0].scene, runs, (station, height), behind),
    )
    results = tuple(_results(loads, steps, _inputs(loads, runs[:1]), aside))
    return Geometry(shown.title, shown.rows, checks, steps, results)


def _run(loads: Loads, scene: Scene, state: State, place: tuple[float, float]) -> Run:
    there = replace(scene, of=state.of, car=car(state.of), mass=rolling_mass(state.of))
    return Run(
        state.title,
        there,
        tuple(_row(loads, there, place, share * loads.speed) for share in SHARES),
    )


def _left(rows: tuple[AxleRow, ...], axle: int) -> tuple[float, AxleRow]:
    """The least share of an axle's load that the pull leaves, and where."""
    return min(
        (((r.least_front, r.least_rear)[axle] / r.coasting[axle], r) for r in rows),
        key=lambda pair: pair[0],
    )


def pull_at(loads: Loads, speed: float) -> float:
    """The greater of both loads at a speed: the design load goes with its square, the snatch load with it."""
    share = speed / loads.speed
    design, snatch = loads.design.value or 0.0, loads.snatch.value or 0.0
    return max(design * share**2, snatch * share)


def _row(loads: Loads, scene: Scene, place: tuple[float, float], speed: float) -> AxleRow:
    acting = forces(scene.car, scene.course, speed)
    pull, cone = pull_at(loads, speed), loads.canopy.cone.si

    def under(pull: float, angle: float) -> tuple[float, float]:
        return axle_loads(
            scene.car,
            scene.course,
            speed=speed,
            aft=pull * math.cos(angle),
            up=pull * math.sin(angle),
            place=place,
            retarding=acting.resistance + pull * math.cos(angle),
        )

    cases = [under(pull, angle) for angle in (0.0, cone, -cone)]
    return AxleRow(
        speed,
        under(0.0, 0.0),
        cases[0],
        cases[1],
        cases[2],
        min(c[0] for c in cases),
        min(c[1] for c in cases),
    )


def _moments(of: Parts, loads: Loads, car: Car, height: float) -> tuple[WorkedStep, ...]:
    name, attach, cone = (
        f"parachutes.{loads.canopy.id}.step",
        loads.canopy.attach,
        loads.canopy.cone.si,
    )
    aft = (loads.design.value or 0.0) * math.cos(cone)
    lever = (attach.x.si - number(of.cg_x, {})) * math.tan(cone)
    return (
        work(
            f.pitching_moment,
            f"{name}.pitching",
            "Pitching moment of the design pull, straight aft",
            pull=loads.design.value or 0.0,
            height=height,
            cg_height=of.cg_height,
        ),
        work(
            f.yawing_moment,
            f"{name}.yawing",
            "Yawing moment of the design pull at the edge of its cone",
            pull=aft,
            offset=attach.y.si + math.copysign(lever, attach.y.si - number(of.cg_y, {})),
            cg_offset=of.cg_y,
            note="The pull line is carried forward to the station of the CG, where the cone has opened by the "
            "distance between.",
        ),
    )


def _results(
    loads: Loads, steps: tuple[WorkedStep, ...], inputs: tuple[str, ...], aside: tuple[str, ...]
) -> list[Result]:
    name = f"parachutes.{loads.canopy.id}"
    return [
        Result(
            f"{name}.pitching_moment",
            f"{loads.canopy.name}: pitching moment about the CG",
            steps[0].value,
            "torque",
            inputs=inputs,
        ),
        Result(
            f"{name}.yawing_moment",
            f"{loads.canopy.name}: yawing moment about the CG",
            steps[1].value,
            "torque",
            inputs=(*inputs, *aside),
        ),
    ]


def _axles(loads: Loads, runs: tuple[Run, ...], inputs: tuple[str, ...]) -> list[Check]:
    """Whether any axle is unloaded by the pull, at the speed and in the condition where that is worst."""
    made = []
    for n, axle in enumerate(("front", "rear")):
        (_, worst), title = min(
            ((_left(run.rows, n), run.title) for run in runs), key=lambda found: found[0][0]
        )
        name = f"parachutes.{loads.canopy.id}.{axle}"
        taken = rounded(
            worst.coasting[n] - (worst.least_front, worst.least_rear)[n], worst.coasting[n]
        )
        demand = Result(
            f"{name}_taken",
            f"Load the pull takes off the {axle} axle",
            taken,
            "force",
            abs(taken) * share(loads),
            inputs=inputs,
        )
        capacity = Result(
            f"{name}_load",
            f"Load of the {axle} axle, coasting at that speed",
            worst.coasting[n],
            "force",
            inputs=inputs,
        )
        made.append(
            make_check(
                f"parachutes.check.{loads.canopy.id}.{axle}",
                f"{loads.canopy.name}: {axle} axle stays loaded",
                demand=demand,
                capacity=capacity,
                signed=True,  # a pull from below the CG presses the axle down
                inputs=inputs,
                basis_of_verdict="governing pull anywhere in its cone, at the worst of the speeds listed; "
                f"worst loaded: {title}",
                ways="attach the line nearer the height of the centre of gravity, or a smaller canopy",
            )
        )
    return made


def rounded(taken: float, of: float) -> float:
    """A load taken off, N; none where it is only what rounding leaves of the load it is taken from."""
    return 0.0 if abs(taken) < NOISE * abs(of) else taken


def share(loads: Loads) -> float:
    """Relative standard uncertainty of the governing pull."""
    governing = loads.governing
    return governing.standard_uncertainty / governing.value if governing.value else 0.0


def _inputs(loads: Loads, runs: tuple[State, ...]) -> tuple[str, ...]:
    """What the pull and the vehicle under it rest on."""
    attach = loads.canopy.attach
    own = (*loads.governing.inputs, attach.x.id, attach.z.id, loads.canopy.cone.id)
    return tuple(dict.fromkeys((*own, *ids_of_all(runs))))


def _round(
    loads: Loads, run: Run, row: AxleRow, place: tuple[float, float]
) -> tuple[tuple[Side, Run], ...]:
    """What either axle must hold against the pull round the rim of its cone at one speed, and in which condition."""
    attach, (station, height) = loads.canopy.attach, place
    offset = attach.y.si - number(run.scene.of.cg_y, {})
    pull = Pull(pull_at(loads, row.speed), loads.canopy.cone.si, station, height, offset)
    front, rear = (min((row.up[n] + row.down[n]) / 2.0, row.coasting[n]) for n in (0, 1))
    friction, wheelbase = run.scene.of.course.friction.si, run.scene.car.wheelbase
    return tuple((s, run) for s in round_the_rim((pull,), (front, rear), wheelbase, friction))


def _sideways(
    loads: Loads, runs: tuple[Run, ...], place: tuple[float, float], inputs: tuple[str, ...]
) -> list[Check]:
    """Whether the tires hold the pull round the rim of its cone, in steady balance, at the worst speed."""
    tried = [_round(loads, run, row, place) for run in runs for row in run.rows]
    friction = runs[0].scene.of.course.friction
    made = []
    for n, axle in enumerate(("front", "rear")):
        worst, run = max(
            (sides[n] for sides in tried),
            key=lambda found: (found[0].used(friction.si), found[0].need),
        )
        name, off = f"parachutes.{loads.canopy.id}.{axle}", friction.standard_uncertainty
        demand = Result(
            f"{name}_side",
            f"Side force the {axle} tires must hold",
            worst.need,
            "force",
            worst.need * share(loads),
            inputs=inputs,
        )
        title, grip = f"Grip of the {axle} tires sideways", friction.si * worst.load
        capacity = Result(f"{name}_grip", title, grip, "force", off * worst.load, inputs=inputs)
        made.append(
            make_check(
                f"parachutes.check.{loads.canopy.id}.{axle}_side",
                f"{loads.canopy.name}: {axle} tires hold the side pull",
                demand=demand,
                capacity=capacity,
                inputs=inputs,
                basis_of_verdict="governing pull anywhere on the rim of its cone, held steadily, at the worst of "
                f"the speeds listed; the peak lasts a moment; worst loaded: {run.title}",
            )
        )
    return made
