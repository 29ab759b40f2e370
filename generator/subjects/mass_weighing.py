"""What the scales said: measured total, centre of gravity and height, and the prediction against
them.

The spread of every figure comes from the readings', the wheels' places' and the lifts' own spreads,
by central differences through the whole chain, so that what two figures share is counted once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from buildspec.plain import called
from buildspec.quantities import Quantity
from buildspec.sections.mass import Lift, Scale, Weighing
from buildspec.sections.wheels import Wheel
from generator.formulas.mass import centre, first_moment, lift_angle, lifted_height, total_mass
from generator.formulas.uncertainty import COVERAGE, expanded, normalised_error, sensitivities
from generator.subjects.mass_loading import AXES, State
from generator.subjects.mass_wheels import Axle, G, OnScales, axles
from generator.vocabulary import Result, WorkedStep
from generator.work import work

Array = NDArray[np.float64]
NO_SCATTER = 1e-18
"""Variance between lifts (m²) that is rounding: a nanometre squared."""
SAME_PLACE = 0.001
"""Wheels whose coordinates differ by no more than this (m) count as one place under one scale."""


@dataclass(frozen=True)
class Lifted:
    """One step of the axle-lift test: the height it gives, with how much it weighs in the mean.

    `u_apart` is the standard uncertainty of its difference from the mean by the readings' spreads:
    what both share is out.
    """

    lift: Lift
    angle: float
    height: Result
    weight: float
    u_apart: float


@dataclass(frozen=True)
class Compared:
    """Prediction against measurement: `difference` is predicted less measured. `error` is E_n,
    None where `reason` says why it cannot be had.
    """

    word: str
    title: str
    predicted: Result
    measured: Result
    difference: float
    error: float | None
    reason: str = ""

    @property
    def agrees(self) -> bool | None:
        """Whether |E_n| ≤ 1, None where there is no E_n."""
        return None if self.error is None else abs(self.error) <= 1.0


@dataclass(frozen=True)
class Carried:
    """A coordinate that an earlier weighing told: which one, what it depends on, and how much of a
    shift of the ground's z reaches the height above it.
    """

    weighing: str
    inputs: tuple[str, ...]
    ground: float


@dataclass(frozen=True, eq=False)
class Earlier:
    """The vehicle of an earlier weighing in the condition of this one, with what was measured."""

    state: State
    known: Mapping[str, Carried]


@dataclass(frozen=True)
class Weighed:
    """One session on the scales, worked out. `state` is the vehicle as weighed, in the team's
    coordinates, what was not measured taken from an earlier weighing (`carried`) or else from the
    prediction (`borrowed`); None where the scales do not give a total and a place along x.
    `on_scales` are the wheels' loads where each wheel had a scale of its own.
    """

    weighing: Weighing
    condition: str
    total: Result
    x: Result
    y: Result
    height: Result
    lifts: tuple[Lifted, ...]
    compared: tuple[Compared, ...]
    state: State | None
    borrowed: tuple[str, ...]
    carried: Mapping[str, Carried]
    steps: tuple[WorkedStep, ...]
    on_scales: OnScales | None = None

    @property
    def results(self) -> tuple[Result, ...]:
        """Total, x, y and height."""
        return (self.total, self.x, self.y, self.height)

    @property
    def scattered(self) -> tuple[Lifted, ...]:
        """Lifts further from the height they give together than the readings' spreads explain."""
        mean = self.height.value
        if mean is None:
            return ()
        return tuple(
            x
            for x in self.lifts
            if 0.0 < COVERAGE * x.u_apart < abs((x.height.value or 0.0) - mean)
        )

    @property
    def anchor(self) -> str:
        """Where it stands on the page."""
        return f"mass.weighing.{self.weighing.id}"


@dataclass(frozen=True, eq=False)
class _Setup:
    """What stood where, as the chain needs it. Empty reasons mean that the figure can be had."""

    wheels: tuple[Wheel, ...]
    scales: tuple[Scale, ...]
    common: Quantity | None
    under: tuple[tuple[int, ...], ...]
    axles: tuple[Axle, ...]
    lifts: tuple[Lift, ...]
    no_total: str
    no_x: str
    no_y: str
    no_height: str

    def inputs(self) -> tuple[Quantity | None, ...]:
        """Every quantity of the chain, in the order the chain takes them."""
        w = self.wheels
        return (
            *(s.reading for s in self.scales),
            *(x.x for x in w),
            *(x.y for x in w),
            *(x.radius for x in w),
            *(f.height for f in self.lifts),
            *(f.reading for f in self.lifts),
        )

    def values(self) -> tuple[Array, Array]:
        """The chain's inputs and their standard uncertainties; the last is the scales' common error,
        as a share of what they show: 0, give or take what is stated.
        """
        given = self.inputs()
        at = np.array([*(q.si if q else 0.0 for q in given), 0.0])
        u = np.array([*(q.standard_uncertainty if q else 0.0 for q in given), self.u_common])
        return at, u

    @property
    def u_common(self) -> float:
        """Standard uncertainty of the common error, stated as a half-width (rectangular)."""
        return self.common.si / np.sqrt(3.0) if self.common else 0.0

    def split(self, v: Array) -> tuple[Array, Array, Array, Array, Array, Array]:
        """Readings, wheels' x, y and radii, heights and readings of the lifts.

        The readings as they are after the scales' common error.
        """
        n, w, f = len(self.scales), len(self.wheels), len(self.lifts)
        x, y, radius, height = n, n + w, n + 2 * w, n + 3 * w  # where each begins
        shown = 1.0 + v[-1]
        return (
            v[:n] * shown,
            v[x:y],
            v[y:radius],
            v[radius:height],
            v[height : height + f],
            v[height + f : -1] * shown,
        )


def weigh(
    weighing: Weighing,
    condition: str,
    wheels: tuple[Wheel, ...],
    ground: Quantity | None,
    predicted: State | None,
    *,
    earlier: Earlier | None = None,
    listed: Mapping[str, tuple[str, ...]] | None = None,
) -> Weighed:
    """Work out one session in the condition of that title.

    `predicted` is the vehicle as predicted in the condition it was weighed in, and `listed` the ids
    behind its total ("") and its x, y and z; `earlier` what was weighed before, in that condition.
    """
    setup = _setup(weighing, wheels)
    at, u = setup.values()
    of_lifts = _lift_covariance(setup, at, u)
    between = _between(setup, at, of_lifts)
    weights = _weights(of_lifts, between)
    figures = _figures(setup, at, weights)
    gradient = sensitivities(lambda v: _figures(setup, v, weights), at)
    covariance = (gradient * (u**2)[:, None]).T @ gradient
    covariance[3, 3] += between * float(weights @ weights)
    results = _results(weighing, setup, figures, covariance)
    lifts = _lifted(weighing, setup, at, of_lifts, weights)
    height = None if predicted is None else _height_of(predicted, ground)
    compared = _compare(weighing, results, predicted, height, _heights_too(listed or {}, ground))
    state, borrowed, carried = _state(
        results, covariance, predicted, ground.si if ground else 0.0, earlier
    )
    steps = _steps(weighing, setup, results, compared)
    shown = _on_scales(setup)
    return Weighed(
        weighing, condition, *results, lifts, compared, state, borrowed, carried, steps, shown
    )


def _on_scales(setup: _Setup) -> OnScales | None:
    """The load of each wheel where each stood on a scale of its own."""
    if setup.no_total or any(len(under) != 1 for under in setup.under):
        return None
    scale_of = {under[0]: scale for under, scale in zip(setup.under, setup.scales, strict=True)}
    readings = [scale_of[n].reading for n in range(len(setup.wheels))]
    load = G * np.array([q.si for q in readings])
    own = np.diag([(G * q.standard_uncertainty) ** 2 for q in readings])
    covariance = own + setup.u_common**2 * np.outer(load, load)
    common = (setup.common.id,) if setup.common else ()
    return OnScales(load, covariance, tuple(q.id for q in readings), common)


# ----------------------------------------------------------------------------- the set-up


def _setup(weighing: Weighing, wheels: tuple[Wheel, ...]) -> _Setup:
    index = {w.id: n for n, w in enumerate(wheels)}
    under = tuple(tuple(index[name] for name in s.under) for s in weighing.scales)
    standing = axles(wheels)
    no_total = _no_total(weighing, wheels)
    no_x = no_total or _no_coordinate(weighing, under, [w.x.si for w in wheels], "x")
    no_y = no_total or _no_coordinate(weighing, under, [w.y.si for w in wheels], "y")
    no_height = no_x or _no_height(weighing, standing)
    lifts = () if no_height else weighing.lifts
    common = weighing.common_error
    return _Setup(
        wheels, weighing.scales, common, under, standing, lifts, no_total, no_x, no_y, no_height
    )


def _no_total(weighing: Weighing, wheels: tuple[Wheel, ...]) -> str:
    stood = [name for scale in weighing.scales for name in scale.under]
    lacking = [called(w) for w in wheels if w.id not in stood]
    twice = sorted({name for name in stood if stood.count(name) > 1})
    if lacking:
        return f"no scale stood under {', '.join(lacking)}"
    if twice:
        return f"more than one scale is listed under {', '.join(twice)}"
    nothing = sum(s.reading.si for s in weighing.scales) <= 0.0
    return "the scales showed nothing" if nothing else ""


def _no_coordinate(
    weighing: Weighing, under: tuple[tuple[int, ...], ...], where: list[float], axis: str
) -> str:
    for scale, wheels in zip(weighing.scales, under, strict=True):
        places = [where[n] for n in wheels]
        if max(places) - min(places) > SAME_PLACE:
            return f"the scale {called(scale)} carried wheels of different {axis}"
    return ""


def _no_height(weighing: Weighing, standing: tuple[Axle, ...]) -> str:
    if not weighing.lifts:
        return "no axle was lifted"
    if len(standing) != 2:
        return f"the axle lift is worked for two axles; here are {len(standing)}"
    without = [called(w) for a in standing for w in a.wheels if w.radius is None]
    if without:
        return f"the loaded radius of {', '.join(without)} is missing"
    radii = [w.radius.si for a in standing for w in a.wheels if w.radius]
    step = max(radii) - min(radii)
    for lift in weighing.lifts:
        if set(lift.raised) not in [{w.id for w in a.wheels} for a in standing]:
            return f"the lift {called(lift)} did not raise the wheels of one axle"
        if lift.height.si + step >= 0.9 * (standing[1].x - standing[0].x):
            return f"the lift {called(lift)} is higher than the wheelbase allows"
    return ""


# -------------------------------------------------------------------------------- the chain


def _figures(setup: _Setup, v: Array, weights: Array) -> Array:
    """Total, x, y and height from the inputs of the chain; 0 where one cannot be had."""
    total, x, y = _level(setup, v)
    heights = _heights(setup, v, total, x)
    return np.array([total, x, y, float(weights @ heights) if len(heights) else 0.0])


def _level(setup: _Setup, v: Array) -> tuple[float, float, float]:
    """Total, x and y on level scales; 0 where they cannot be had."""
    reading, wx, wy = setup.split(v)[:3]
    total = float(total_mass(m=reading))
    if setup.no_total or total <= 0.0:
        return 0.0, 0.0, 0.0
    at = [np.array([np.mean(w[list(n)]) for n in setup.under]) for w in (wx, wy)]
    x, y = (centre(s=first_moment(m=reading, r=r), m=total) for r in at)
    return total, x, y


def _heights(setup: _Setup, v: Array, total: float, x: float) -> Array:
    """The height that each lift gives."""
    return np.array(
        [
            lifted_height(
                theta=lift_angle(height=a["height"], base=a["base"], s=a["s"]),
                m=total,
                r=a["r"],
                reading=a["reading"],
                d=a["d"],
                base=a["base"],
                s=a["s"],
            )
            for a in (_lever(setup, v, x, n) for n in range(len(setup.lifts)))
        ]
    )


def _lever(setup: _Setup, v: Array, x: float, n: int) -> dict[str, float]:
    """The arguments of the lift's two formulas, whichever axle went up."""
    _, wx, _, radius, height, reading = setup.split(v)
    ids = [w.id for w in setup.wheels]
    front, rear = ([ids.index(w.id) for w in a.wheels] for a in setup.axles)
    x_front, x_rear = float(np.mean(wx[front])), float(np.mean(wx[rear]))
    front_up = setup.lifts[n].raised[0] in {ids[k] for k in front}
    up, down = (front, rear) if front_up else (rear, front)
    r = float(np.mean(radius[up]))
    return {
        "height": float(height[n]),
        "reading": float(reading[n]),
        "base": x_rear - x_front,
        "r": r,
        "s": r - float(np.mean(radius[down])),
        "d": x - x_front if front_up else x_rear - x,
    }


def _between(setup: _Setup, at: Array, covariance: Array) -> float:
    """Variance between lifts (m²) that the readings' spreads do not explain; 0 where they do.

    Mandel and Paule: so much that the weighted squares of what the lifts are off their mean add up
    to one less than their number. Suspension travel or a dragging brake shows here, and a lift
    that is high, and so sharp by its readings alone, does not outvote the others.
    """
    if len(setup.lifts) < 2:
        return 0.0
    total, x, _ = _level(setup, at)
    heights = _heights(setup, at, total, x)
    low, high = 0.0, float(np.var(heights, ddof=1))
    if high <= NO_SCATTER or excess(heights, covariance, NO_SCATTER) <= 0.0:
        return 0.0
    while high - low > 1e-9 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if excess(heights, covariance, middle) > 0.0 else (low, middle)
    return high


def excess(heights: Array, covariance: Array, between: float) -> float:
    """Weighted squares of n heights about their mean of least variance, less n − 1.

    `covariance` (n × n, m²) is that of the heights; `between` > 0 (m²) is added to each variance.
    Falls as `between` grows. Source: Mandel and Paule, Analytical Chemistry 42 (1970), 1194 (from
    memory), with the heights' common part kept.
    """
    inverse = np.linalg.inv(covariance + between * np.eye(len(heights)))
    mean = float(inverse.sum(axis=0) @ heights / inverse.sum())
    return float((heights - mean) @ inverse @ (heights - mean)) - (len(heights) - 1)


def _weights(own: Array, between: float) -> Array:
    """How much each lift counts in the mean height, adding up to 1: by their covariance `own` from what was
    read, and the variance `between` them, m².

    All lifts share the level weighing, so that plain weights by 1/u² could make the mean worse than
    its best lift. These are the weights of least variance under the full covariance, none of them
    negative. Equal weights where a lift has no spread.
    """
    covariance = own + between * np.eye(len(own))
    kept = np.ones(len(own), dtype=bool)
    if not np.all(np.diag(covariance) > 0.0):
        return kept / max(len(kept), 1)
    while True:
        part = np.linalg.lstsq(covariance[np.ix_(kept, kept)], np.ones(kept.sum()), rcond=None)[0]
        if np.all(part >= 0.0):
            break
        kept[np.flatnonzero(kept)[np.argmin(part)]] = False
    weights = np.zeros(len(kept))
    weights[kept] = part / part.sum()
    return weights


def _lift_covariance(setup: _Setup, at: Array, u: Array) -> Array:
    """Covariance of the heights that the lifts give."""

    def each(v: Array) -> Array:
        total, x, _ = _level(setup, v)
        return _heights(setup, v, total, x)

    moved = sensitivities(each, at) * u[:, None]
    return np.asarray(moved.T @ moved)


# ------------------------------------------------------------------------------ what is said


def _results(
    weighing: Weighing,
    setup: _Setup,
    figures: Array,
    covariance: Array,
) -> tuple[Result, Result, Result, Result]:
    absent = [setup.no_total, setup.no_x, setup.no_y, setup.no_height]
    titles = (
        "Weighed total",
        "Weighed centre of gravity, x",
        "Weighed centre of gravity, y",
        "Weighed height of the centre of gravity",
    )
    ids = _input_ids(setup)
    made = [
        Result(
            f"mass.weighing.{weighing.id}.{word}",
            title,
            None if why else float(value),
            "mass" if word == "total" else "length",
            0.0 if why else float(np.sqrt(max(var, 0.0))),
            why,
            ids[word],
        )
        for word, title, value, var, why in zip(
            ("total", "cg_x", "cg_y", "cg_height"),
            titles,
            figures,
            np.diag(covariance),
            absent,
            strict=True,
        )
    ]
    return made[0], made[1], made[2], made[3]


def _input_ids(setup: _Setup) -> dict[str, tuple[str, ...]]:
    common = (setup.common.id,) if setup.common else ()
    readings = (*(s.reading.id for s in setup.scales), *common)
    x, y = tuple(w.x.id for w in setup.wheels), tuple(w.y.id for w in setup.wheels)
    radii = tuple(w.radius.id for w in setup.wheels if w.radius)
    lifts = tuple(q.id for f in setup.lifts for q in (f.height, f.reading))
    return {
        "total": readings,
        "cg_x": readings + x,
        "cg_y": readings + y,
        "cg_height": readings + x + radii + lifts,
    }


def _lift_inputs(setup: _Setup, lift: Lift) -> tuple[str, ...]:
    """Ids behind the height of one lift: what all share, and its own height and reading."""
    others = {q.id for f in setup.lifts if f is not lift for q in (f.height, f.reading)}
    return tuple(i for i in _input_ids(setup)["cg_height"] if i not in others)


def _lifted(
    weighing: Weighing, setup: _Setup, at: Array, covariance: Array, weights: Array
) -> tuple[Lifted, ...]:
    if not setup.lifts:
        return ()
    total, x, _ = _level(setup, at)
    heights = _heights(setup, at, total, x)
    apart = np.eye(len(weights)) - weights
    u_apart = np.sqrt(np.maximum(np.diag(apart @ covariance @ apart.T), 0.0))
    found = []
    for n, lift in enumerate(setup.lifts):
        a = _lever(setup, at, x, n)
        angle = float(lift_angle(height=a["height"], base=a["base"], s=a["s"]))
        name = f"mass.weighing.{weighing.id}.lift.{lift.id}"
        spread = float(np.sqrt(covariance[n, n]))
        title = f"Height by the lift {called(lift)}"
        ids = _lift_inputs(setup, lift)
        height = Result(name, title, float(heights[n]), "length", spread, inputs=ids)
        found.append(Lifted(lift, angle, height, float(weights[n]), float(u_apart[n])))
    return tuple(found)


def _height_of(predicted: State, ground: Quantity | None) -> tuple[float, float]:
    level, u = (ground.si, ground.standard_uncertainty) if ground else (0.0, 0.0)
    return float(predicted.cg[2] - level), float(np.hypot(predicted.u[3], u))


def _compare(
    weighing: Weighing,
    results: tuple[Result, ...],
    predicted: State | None,
    height: tuple[float, float] | None,
    listed: Mapping[str, tuple[str, ...]],
) -> tuple[Compared, ...]:
    if predicted is None or height is None:
        return ()
    u = predicted.u
    values = (
        (predicted.total, float(u[0])),
        (float(predicted.cg[0]), float(u[1])),
        (float(predicted.cg[1]), float(u[2])),
        height,
    )
    words = ("total", "cg_x", "cg_y", "cg_height")
    titles = ("Total", "Centre of gravity, x", "Centre of gravity, y", "Centre of gravity, height")
    return tuple(
        _compared(weighing, word, (title, value, listed.get(word, ())), result)
        for word, title, value, result in zip(words, titles, values, results, strict=True)
        if result.value is not None
    )


def _heights_too(
    listed: Mapping[str, tuple[str, ...]], ground: Quantity | None
) -> Mapping[str, tuple[str, ...]]:
    """The ids behind the prediction by the words of the figures; the height rests on the ground's z too."""
    level = (ground.id,) if ground else ()
    return {
        "total": listed.get("", ()),
        "cg_x": listed.get("x", ()),
        "cg_y": listed.get("y", ()),
        "cg_height": (*listed.get("z", ()), *level),
    }


def _compared(
    weighing: Weighing,
    word: str,
    said: tuple[str, tuple[float, float], tuple[str, ...]],
    measured: Result,
) -> Compared:
    title, value, inputs = said
    predicted = Result(
        f"mass.weighing.{weighing.id}.predicted_{word}",
        f"{title}, predicted",
        value[0],
        measured.kind,
        value[1],
        inputs=inputs,
    )
    both = (("the prediction", value[1]), ("the weighing", measured.standard_uncertainty))
    silent = [side for side, u in both if u <= 0.0]
    assert measured.value is not None
    difference = value[0] - measured.value
    if silent:
        reason = f"no spread is stated for {' nor for '.join(silent)}"
        return Compared(word, title, predicted, measured, difference, None, reason)
    error = normalised_error(
        x=value[0],
        reference=measured.value,
        u_x=expanded(k=COVERAGE, u=value[1]),
        u_reference=expanded(k=COVERAGE, u=measured.standard_uncertainty),
    )
    return Compared(word, title, predicted, measured, difference, float(error))


def _state(
    results: tuple[Result, ...],
    covariance: Array,
    predicted: State | None,
    ground: float,
    earlier: Earlier | None,
) -> tuple[State | None, tuple[str, ...], Mapping[str, Carried]]:
    """The weighed vehicle. Where the scales do not tell y or z, it comes from an earlier weighing,
    and where none told it, from the prediction.
    """
    total, x, y, height = results
    if total.value is None or x.value is None or predicted is None:
        return None, (), {}
    absent = tuple(axis for axis, r in (("y", y), ("z", height)) if r.value is None)
    carried = {a: earlier.known[a] for a in absent if earlier and a in earlier.known}
    borrowed = tuple(axis for axis in absent if axis not in carried)
    cg = np.array([x.value, y.value or 0.0, (height.value or 0.0) + ground])
    merged = covariance.copy()
    for axis in absent:
        k = AXES.index(axis)
        source = earlier.state if earlier and axis in carried else predicted
        cg[k] = source.cg[k]
        merged[k + 1, :] = merged[:, k + 1] = 0.0
        merged[k + 1, k + 1] = source.covariance[k + 1, k + 1]
    return State(total.value, cg, merged, 0.0), borrowed, carried


# ------------------------------------------------------------------------------ worked steps


def _steps(
    weighing: Weighing, setup: _Setup, results: tuple[Result, ...], compared: tuple[Compared, ...]
) -> tuple[WorkedStep, ...]:
    name = f"mass.weighing.{weighing.id}.step"
    if results[0].value is None:
        return ()
    readings = np.array([s.reading.si for s in setup.scales])
    made = [work(total_mass, f"{name}.total", "Weighed total: the sum of the readings", m=readings)]
    for result, axis, places in (
        (results[1], "x", [w.x.si for w in setup.wheels]),
        (results[2], "y", [w.y.si for w in setup.wheels]),
    ):
        if result.value is not None:
            at = np.array([np.mean([places[n] for n in under]) for under in setup.under])
            moment = work(
                first_moment,
                f"{name}.moment_{axis}",
                f"Moment of the readings along {axis}",
                m=readings,
                r=at,
            )
            made += [
                moment,
                work(
                    centre,
                    f"{name}.cg_{axis}",
                    f"Weighed centre of gravity, {axis}",
                    s=moment.value,
                    m=results[0],
                ),
            ]
    made += _lift_steps(name, setup, results)
    made += [_error_step(name, c) for c in compared if c.error is not None]
    return tuple(made)


def _lift_steps(name: str, setup: _Setup, results: tuple[Result, ...]) -> list[WorkedStep]:
    at = setup.values()[0]
    made = []
    for n, lift in enumerate(setup.lifts):
        assert results[1].value is not None
        a = _lever(setup, at, results[1].value, n)
        angle = work(
            lift_angle,
            f"{name}.angle_{lift.id}",
            f"Lift {called(lift)}: angle",
            height=lift.height,
            base=a["base"],
            s=a["s"],
        )
        made += [
            angle,
            work(
                lifted_height,
                f"{name}.height_{lift.id}",
                f"Lift {called(lift)}: height of the centre of gravity",
                r=a["r"],
                reading=lift.reading,
                m=results[0],
                d=a["d"],
                base=a["base"],
                s=a["s"],
                theta=angle.value,
            ),
        ]
    return made


def _error_step(name: str, c: Compared) -> WorkedStep:
    return work(
        normalised_error.of(c.measured.kind),
        f"{name}.error_{c.word}",
        f"{c.title}: prediction against weighing",
        x=c.predicted,
        reference=c.measured,
        u_x=COVERAGE * c.predicted.standard_uncertainty,
        u_reference=COVERAGE * c.measured.standard_uncertainty,
    )
