"""Where the pull acts: moments about the CG, axle loads over speed, and what the tires hold sideways."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import partial

from buildspec.quantities import Quantity
from generator.formulas import parachutes as f
from generator.run.car import Car, forces
from generator.spread import Shift, at
from generator.subjects.compared import compared
from generator.subjects.parachutes_loads import Loads, Scene
from generator.subjects.parachutes_tires import axle_loads, opening_tires
from generator.subjects.pulls import Axles, Pull, over_the_rim, round_the_rim
from generator.subjects.run_model import Parts, State, car, ids_of_all, number, rolling_mass
from generator.subjects.stability_wind import footing
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
    """What the place of the pull does. `rows` are those of the condition in `state`, the one unloaded most; `behind`
    are the ids of the description that they rest on.
    """

    state: str
    rows: tuple[AxleRow, ...]
    checks: tuple[Check, ...]
    steps: tuple[WorkedStep, ...]
    results: tuple[Result, ...]
    behind: tuple[str, ...] = ()


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
        *_sideways(loads, known, (*behind, *aside)),
        _tipping(loads, known, (*behind, *aside)),
        *opening_tires(loads, known[0].scene, runs, (station, height), behind),
    )
    results = tuple(_results(loads, steps, _inputs(loads, runs[:1]), aside))
    return Geometry(shown.title, shown.rows, checks, steps, results, behind)


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


There = tuple[Car, Pull]
"""A vehicle and what pulls at it."""


@dataclass(frozen=True)
class Pulled:
    """The vehicle in one condition at one speed in m/s, under the governing pull: figures for a shift of the values."""

    loads: Loads
    run: Run
    speed: float

    def model(self, shift: Shift) -> Car:
        """The vehicle."""
        return car(self.run.scene.of, shift)

    def pull(self, shift: Shift) -> Pull:
        """The pull at that speed."""
        return drawn(self.run.scene.of, self.loads, pull_at(self.loads, self.speed), shift)

    def under(self, there: There, aft: float, up: float) -> Axles:
        """Axle loads under a pull aft and up, N."""
        (model, pull), course = there, self.run.scene.course
        retarding = forces(model, course, self.speed).resistance + aft
        place = (pull.station, pull.height)
        return axle_loads(
            model, course, speed=self.speed, aft=aft, up=up, place=place, retarding=retarding
        )

    def there(self, shift: Shift) -> There:
        """The vehicle and the pull."""
        return self.model(shift), self.pull(shift)

    def taken(self, axle: int, shift: Shift) -> Axles:
        """The load that the pull takes off an axle wherever in its cone it points, and the axle's load without it."""
        there = self.there(shift)
        pull = there[1]
        ways = ((pull.force, 0.0), (pull.aft, pull.across), (pull.aft, -pull.across))
        least = min(self.under(there, aft, up)[axle] for aft, up in ways)
        coasting = self.under(there, 0.0, 0.0)[axle]
        return rounded(coasting - least, coasting), coasting

    def side(self, axle: int, shift: Shift) -> Axles:
        """What an axle's tires must hold of the pull, and what they hold, where on the rim they hold it least."""
        there = self.there(shift)
        model, pull = there
        both = zip(self.under(there, pull.aft, 0.0), self.under(there, 0.0, 0.0), strict=True)
        front, rear = (min(pair) for pair in both)  # level on the rim, no more than without any
        friction = at(self.run.scene.of.course.friction, shift)
        worst = round_the_rim((pull,), (front, rear), model.wheelbase, friction)[axle]
        return worst.need, friction * worst.load

    def tipped(self, shift: Shift) -> Axles:
        """Overturning and righting moment, where on the rim they are nearest one another."""
        there = self.there(shift)
        (model, pull), on = there, footing(self.run.scene.of, shift)
        return over_the_rim((pull,), self.under(there, pull.aft, 0.0), model.wheelbase, on)

    @property
    def values(self) -> tuple[Quantity | Result, ...]:
        """All that those rest on."""
        return behind_pulls(self.run.scene.of, (self.loads,))


def drawn(of: Parts, loads: Loads, force: float, shift: Shift) -> Pull:
    """A parachute's pull of `force` N, which is off as its governing load is."""
    canopy, governing = loads.canopy, loads.governing
    share = 1.0 + shift.get(governing.id, 0.0) / (governing.value or math.inf)
    attach = canopy.attach
    return Pull(
        force * share,
        max(at(canopy.cone, shift), 0.0),
        at(attach.x, shift) - of.axles.x(of.axles.front, shift),
        at(attach.z, shift) - (at(of.ground, shift) if of.ground else 0.0),
        at(attach.y, shift) - number(of.cg_y, shift),
    )


def behind_pulls(of: Parts, known: Iterable[Loads]) -> tuple[Quantity | Result, ...]:
    """All that the vehicle under the pulls of some parachutes rests on."""
    air = (of.density, of.course.head_wind)  # in the spread of the pulls
    wheels = (w.y for w in (*of.axles.front, *of.axles.rear))
    own = (
        value
        for loads in known
        for attach in [loads.canopy.attach]
        for value in (attach.x, attach.y, attach.z, loads.canopy.cone, loads.governing)
    )
    return (*(v for v in of.values if v not in air), of.cg_y, *wheels, *own)


def axle_results(loads: Loads, place: Geometry | None) -> Iterable[Result]:
    """The axle loads under the pull at each speed looked at, in the condition shown; the page has them as a table."""
    if place is None:
        return
    for share, row in zip(SHARES, place.rows, strict=True):
        for axle, coasting, least in (
            ("front", row.coasting[0], row.least_front),
            ("rear", row.coasting[1], row.least_rear),
        ):
            name = f"parachutes.{loads.canopy.id}.axle.{axle}"
            at_ = f"at {share:.0%} of the speed considered"
            for word, said, value in (
                ("coasting", "coasting", coasting),
                ("least", "least under the pull", least),
            ):
                title = f"{loads.canopy.name}: {axle} axle {at_}, {said}"
                id_ = f"{name}.{word}_{100.0 * share:.0f}"
                yield Result(id_, title, value, "force", inputs=place.behind)


def _axles(loads: Loads, runs: tuple[Run, ...], inputs: tuple[str, ...]) -> list[Check]:
    """Whether any axle is unloaded by the pull, at the speed and in the condition where that is worst."""
    found = []
    for n, axle in enumerate(("front", "rear")):
        (_, row), run = min(((_left(run.rows, n), run) for run in runs), key=lambda one: one[0][0])
        worst = Pulled(loads, run, row.speed)
        found.append(
            compared(
                partial(worst.taken, n),
                worst.values,
                f"parachutes.check.{loads.canopy.id}.{axle}",
                f"{loads.canopy.name}: {axle} axle stays loaded",
                said=(
                    f"Load the pull takes off the {axle} axle",
                    f"Load of the {axle} axle, coasting at that speed",
                ),
                signed=True,  # a pull from below the CG presses the axle down
                inputs=inputs,
                basis_of_verdict="governing pull anywhere in its cone, at the worst of the speeds listed; "
                f"worst loaded: {run.title}",
                ways="attach the line nearer the height of the centre of gravity, or a smaller canopy",
            )
        )
    return found


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


def _every(loads: Loads, runs: tuple[Run, ...]) -> Iterable[Pulled]:
    return (Pulled(loads, run, row.speed) for run in runs for row in run.rows)


def _ratio(pair: Axles) -> tuple[float, float]:
    """How much of what holds is used, and, of several without any, the one with most to hold."""
    need, holds = pair
    return need / holds if holds > 0.0 else math.inf if need > 0.0 else 0.0, need


def _sideways(loads: Loads, runs: tuple[Run, ...], inputs: tuple[str, ...]) -> list[Check]:
    """Whether the tires hold the pull round the rim of its cone, in steady balance, at the worst speed."""
    found = []
    for n, axle in enumerate(("front", "rear")):
        worst = max(_every(loads, runs), key=lambda one, n=n: _ratio(one.side(n, {})))  # type: ignore[misc]
        found.append(
            compared(
                partial(worst.side, n),
                worst.values,
                f"parachutes.check.{loads.canopy.id}.{axle}_side",
                f"{loads.canopy.name}: {axle} tires hold the side pull",
                said=(
                    f"Side force the {axle} tires must hold",
                    f"Grip of the {axle} tires sideways",
                ),
                inputs=inputs,
                basis_of_verdict="governing pull anywhere on the rim of its cone, held steadily, at the worst of "
                f"the speeds listed; the peak lasts a moment; worst loaded: {worst.run.title}",
            )
        )
    return found


def _tipping(loads: Loads, runs: tuple[Run, ...], inputs: tuple[str, ...]) -> Check:
    """Whether the inner wheels stay on the ground under a pull to the side."""
    worst = max(_every(loads, runs), key=lambda one: _ratio(one.tipped({})))
    of = worst.run.scene.of
    wheels = (w.y.id for w in (*of.axles.front, *of.axles.rear))
    return compared(
        worst.tipped,
        worst.values,
        f"parachutes.check.{loads.canopy.id}.tipping",
        f"{loads.canopy.name}: inner wheels stay on the ground",
        said=(
            "Moment of the pull about the outer wheels",
            "Moment that keeps the inner wheels on the ground",
        ),
        kind="torque",
        inputs=(*inputs, *wheels),
        basis_of_verdict="governing pull anywhere on the rim of its cone, held steadily, at the worst of the speeds "
        f"listed; the peak lasts a moment; worst loaded: {worst.run.title}",
        ways="attach the line lower, a wider track, or a canopy that swings less",
    )
