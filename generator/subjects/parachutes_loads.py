"""What one parachute is and does: its ranges, its opening loads without and with credit, its snatch load."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from buildspec.quantities import Quantity
from buildspec.sections.parachutes import Canopy
from generator.formulas import air as air_formulas
from generator.formulas import parachutes as f
from generator.run.car import Car, Course
from generator.run.opening import Opening, open_canopy
from generator.spread import NOWHERE, Shift, at
from generator.subjects.parachutes_snatch import Stretched, snatch
from generator.subjects.run_model import Parts, ids, made, number
from generator.tables.canopies import CanopyRow, canopies
from generator.vocabulary import Result, WorkedStep
from generator.work import work

WORD = "parachutes"
BOTH = (1.0, 2.0)
"""Growth exponents shown where none is printed for a canopy type."""
UNSURE = 1.5
"""Below this ballistic parameter the published figure and the exact solution differ by more than 10 %."""


@dataclass(frozen=True, slots=True)
class Ranges:
    """A canopy's figures at both ends, SI. `fill` is the travel while filling over `diameter`; None is unknown."""

    low_area: float
    high_area: float
    high_opening: float | None
    fill: float | None
    exponents: tuple[float, ...]
    diameter: float | None
    projected: float | None
    high_coefficient: float | None


@dataclass(frozen=True, slots=True)
class Credit:
    """An opening with the credit for slowing, at one growth exponent: N, and the integrated course of it."""

    exponent: float
    ballistic: float
    reduction: float
    expected: Result
    integrated: Result
    rolling: Opening
    agrees: float

    @property
    def same(self) -> bool:
        """Whether integration and closed form agree within 0.1 %."""
        return abs(self.agrees) <= 1e-3


@dataclass(frozen=True, slots=True)
class Pace:
    """A speed over ground in m/s, its standard uncertainty, the ids of the description it rests on, and
    where it comes from in words.
    """

    speed: float
    off: float
    ids: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class Scene:
    """What a parachute opens behind, and how fast; masses count turning wheels, kg: in the design condition,
    and the least of any condition, with the ids behind all of those.
    """

    of: Parts
    car: Car
    course: Course
    pace: Pace
    mass: float
    lightest: float
    weighed: tuple[str, ...]

    @property
    def speed(self) -> float:
        """Speed over ground, m/s."""
        return self.pace.speed

    @property
    def through(self) -> float:
        """Speed through the air, m/s: a head wind is added, a tail wind is not taken off."""
        return self.speed + max(self.course.wind, 0.0)

    @property
    def paced(self) -> tuple[str, ...]:
        """Ids of the description behind that."""
        return (*self.pace.ids, self.of.course.head_wind.id)


@dataclass(frozen=True, eq=False)
class Loads:
    """The loads of one parachute at the speed considered; `paced` are the ids behind that through the air."""

    canopy: Canopy
    ranges: Ranges
    pace: Pace
    through: float
    paced: tuple[str, ...]
    pressure: float
    filling: float | None
    design: Result
    steady: Result
    deceleration: Result
    snatch: Result
    credits: tuple[Credit, ...]
    steps: tuple[WorkedStep, ...]
    governing: Result

    @property
    def speed(self) -> float:
        """Speed over ground, m/s."""
        return self.pace.speed

    @property
    def filled(self) -> Iterable[Result]:
        """Filling time and ballistic parameter, where a fill constant is known."""
        name, title = f"parachutes.{self.canopy.id}", self.canopy.name
        for one in self.credits[:1]:
            known, time = one.expected.inputs, self.filling or 0.0
            ballistic = f"{title}: ballistic parameter"
            yield Result(
                f"{name}.filling_time", f"{title}: filling time", time, "time", inputs=known
            )
            yield Result(f"{name}.ballistic", ballistic, one.ballistic, "ratio", inputs=known)

    @property
    def snaps(self) -> bool:
        """Whether the snatch load is above the design load."""
        return self.design.value is not None and (self.snatch.value or 0.0) > self.design.value


def ranges(canopy: Canopy, shift: Shift = NOWHERE) -> Ranges:
    """Both ends of what the maker or the table of types says."""
    row = canopies()[canopy.type] if canopy.type else None
    diameter = at(canopy.diameter, shift) if canopy.diameter else None
    low, high = _coefficients(canopy, row, shift)
    if canopy.drag_area:
        areas = _ends(canopy.drag_area, shift)
    else:
        nominal = f.nominal_area(diameter=diameter or 0.0)
        areas = ((low or 0.0) * nominal, (high or 0.0) * nominal)
    opening = (
        _ends(canopy.opening_coefficient, shift)[1]
        if canopy.opening_coefficient
        else row.opening[1]
        if row
        else None
    )
    fill = at(canopy.fill_constant, shift) if canopy.fill_constant else row.fill if row else None
    own = canopy.growth_exponent.si if canopy.growth_exponent else row.exponent if row else None
    projected = (
        diameter * (row.projected[1] if row and row.projected else 1.0) if diameter else None
    )
    return Ranges(
        (1.0 - at(canopy.wake_loss, shift)) * areas[0],
        areas[1],
        opening,
        fill,
        (float(own),) if own else BOTH,
        diameter,
        projected,
        high,
    )


def _coefficients(
    canopy: Canopy, row: CanopyRow | None, shift: Shift
) -> tuple[float | None, float | None]:
    if canopy.drag_coefficient:
        return _ends(canopy.drag_coefficient, shift)
    return row.drag if row else (None, None)


def _ends(quantity: Quantity, shift: Shift) -> tuple[float, float]:
    value = at(quantity, shift)
    return value - quantity.reach, value + quantity.reach


def loads(canopy: Canopy, scene: Scene) -> Loads:
    """Opening loads of one parachute."""
    found = ranges(canopy)
    areas = _area_steps(scene.of, canopy, found, scene.through)
    steps = {s.id.rsplit(".", 1)[1]: s for s in areas}
    q, name = steps["pressure"].value, f"parachutes.{canopy.id}"
    inputs, share = _inputs(scene, canopy), _share(scene)
    steady = _steady(canopy, q * found.high_area, share, inputs)
    design = _design(canopy, found, steady, steps)
    credits = _credits(canopy, found, scene, steps)
    behind = (*scene.of.density.inputs, *scene.paced)
    caught = snatch(canopy, Stretched(q, share, scene.through, scene.of.mass, behind), steps)
    slow = _slowed(canopy, design, scene, tuple(dict.fromkeys((*inputs, *scene.weighed))))
    return Loads(
        canopy,
        found,
        scene.pace,
        scene.through,
        scene.paced,
        q,
        steps["filling"].value if "filling" in steps else None,
        design,
        steady,
        slow,
        caught,
        credits,
        tuple(steps.values()),
        _governing(design, caught, name, canopy),
    )


def _steady(canopy: Canopy, drag: float, share: float, inputs: tuple[str, ...]) -> Result:
    """The drag in N of the open canopy; `share` is the relative uncertainty of the dynamic pressure."""
    name, title = f"parachutes.{canopy.id}.steady_drag", f"{canopy.name}: steady drag, high end"
    off = drag * math.hypot(share, _size_off(canopy))
    return Result(name, title, drag, "force", off, inputs=inputs)


def _slowed(canopy: Canopy, design: Result, scene: Scene, inputs: tuple[str, ...]) -> Result:
    return Result(
        f"parachutes.{canopy.id}.deceleration",
        f"{canopy.name}: deceleration by the design load alone, in the lightest condition",
        None if design.value is None else design.value / scene.lightest,
        "acceleration",
        absent=design.absent,
        inputs=inputs,
    )


def _design(canopy: Canopy, found: Ranges, steady: Result, steps: dict[str, WorkedStep]) -> Result:
    """The load without credit for slowing; its step is added to `steps`."""
    name, opening = f"parachutes.{canopy.id}", found.high_opening
    load = None if opening is None else (steady.value or 0.0) * opening
    if opening is not None:
        steps["design"] = work(
            f.design_load,
            f"{name}.step.design",
            "Design load, no credit for slowing",
            pressure=steps["pressure"].value,
            drag_area=steps["area"].value if "area" in steps else found.high_area,
            overshoot=opening,
        )
    return made(
        f"{name}.design_load",
        f"{canopy.name}: design load",
        load,
        "force",
        u=steady.standard_uncertainty * (opening or 0.0),
        inputs=steady.inputs,
        absent="neither a type nor an opening-force coefficient is stated",
    )


def _share(scene: Scene) -> float:
    """Relative standard uncertainty of the dynamic pressure, which loads are proportional to."""
    density, wind = scene.of.density, scene.of.course.head_wind.standard_uncertainty
    met = wind if scene.course.wind >= 0.0 else 0.0  # a tail wind is not taken off
    speed = math.hypot(scene.pace.off, met)
    return math.hypot(
        density.standard_uncertainty / number(density, {}), 2.0 * speed / scene.through
    )


def _size_off(canopy: Canopy) -> float:
    """Relative standard uncertainty of the area by the diameter, which goes with its square. Coefficients and areas
    that are stated enter at their ends instead.
    """
    if canopy.drag_area or canopy.diameter is None:
        return 0.0
    return 2.0 * canopy.diameter.standard_uncertainty / canopy.diameter.si


def _inputs(scene: Scene, canopy: Canopy) -> tuple[str, ...]:
    own = (canopy.diameter, canopy.drag_coefficient, canopy.drag_area, canopy.opening_coefficient)
    known = ids((*(q for q in own if q), scene.of.density))
    return tuple(dict.fromkeys((*known, *scene.paced)))


def _slowing(scene: Scene, canopy: Canopy) -> tuple[str, ...]:
    """Ids of the description behind an opening that counts the slowing."""
    own = (canopy.fill_constant, canopy.growth_exponent)
    known = (*_inputs(scene, canopy), *ids(q for q in own if q), *scene.of.rolling_ids)
    return tuple(dict.fromkeys(known))


def _area_steps(of: Parts, canopy: Canopy, found: Ranges, through: float) -> Iterable[WorkedStep]:
    name = f"parachutes.{canopy.id}.step"
    yield work(
        air_formulas.dynamic_pressure,
        f"{name}.pressure",
        "Dynamic pressure at line stretch",
        density=of.density,
        speed=through,
        note="At the full speed considered: nothing is counted for slowing before line stretch.",
    )
    if canopy.drag_area or found.diameter is None or found.high_coefficient is None:
        return
    nominal = work(
        f.nominal_area,
        f"{name}.nominal",
        "Nominal area",
        diameter=canopy.diameter or found.diameter,
    )
    yield nominal
    yield work(
        f.canopy_drag_area,
        f"{name}.area",
        "Drag area, high end",
        wake=1.0,
        coefficient=found.high_coefficient,
        area=nominal.value,
        note="For loads the whole drag counts; the wake of the vehicle is credited only in stopping.",
    )


# ------------------------------------------------------------------------------- credit


def _credits(
    canopy: Canopy, found: Ranges, scene: Scene, steps: dict[str, WorkedStep]
) -> tuple[Credit, ...]:
    if found.fill is None or found.diameter is None or found.high_opening is None:
        return ()
    name = f"parachutes.{canopy.id}.step"
    steps["filling"] = work(
        f.filling_time,
        f"{name}.filling",
        "Filling time",
        speed=scene.through,
        fill=canopy.fill_constant or found.fill,
        diameter=canopy.diameter or found.diameter,
    )
    steps["ballistic"] = work(
        f.ballistic_parameter,
        f"{name}.ballistic",
        "Ballistic parameter",
        mass=scene.mass,
        density=scene.of.density,
        drag_area=found.high_area,
        speed=scene.through,
        filling=steps["filling"].value,
        note="The mass counts the turning wheels.",
    )
    return tuple(_credit(canopy, found, scene, steps, j) for j in found.exponents)


def _credit(
    canopy: Canopy, found: Ranges, scene: Scene, steps: dict[str, WorkedStep], exponent: float
) -> Credit:
    a, q = steps["ballistic"].value, steps["pressure"].value
    reduced, expected = _pflanz(canopy, found, (a, q, exponent), steps)
    alone = _opened(found, scene, steps["filling"].value, exponent, alone=True)
    rolling = _opened(found, scene, steps["filling"].value, exponent, alone=False)
    name, mark = f"parachutes.{canopy.id}", _mark(exponent)
    return Credit(
        exponent,
        a,
        reduced,
        Result(
            f"{name}.expected_{mark}",
            f"{canopy.name}: expected load by Pflanz, growth exponent {exponent:g}",
            expected,
            "force",
            inputs=_slowing(scene, canopy),
        ),
        Result(
            f"{name}.integrated_{mark}",
            f"{canopy.name}: expected load by integration, growth exponent {exponent:g}",
            rolling.peak,
            "force",
            inputs=tuple(dict.fromkeys((*_slowing(scene, canopy), *scene.of.ids))),
        ),
        rolling,
        alone.peak / (q * found.high_area * reduced) - 1.0,
    )


def _mark(exponent: float) -> str:
    return f"{exponent:g}".replace(".", "_")


def _pflanz(
    canopy: Canopy, found: Ranges, at_: tuple[float, float, float], steps: dict[str, WorkedStep]
) -> tuple[float, float]:
    """Reduction factor and expected load at a ballistic parameter, a dynamic pressure and an exponent."""
    name, (a, q, exponent) = f"parachutes.{canopy.id}.step", at_
    reduced = work(
        f.reduction_formula(a, exponent),
        f"{name}.reduction_{_mark(exponent)}",
        f"Opening-force reduction factor, growth exponent {exponent:g}",
        ballistic=a,
        exponent=exponent,
    )
    expected = work(
        f.expected_load,
        f"{name}.expected_{_mark(exponent)}",
        f"Expected load, growth exponent {exponent:g}",
        pressure=q,
        drag_area=found.high_area,
        overshoot=found.high_opening or 1.0,
        reduction=reduced.value,
    )
    steps |= {f"reduction_{_mark(exponent)}": reduced, f"expected_{_mark(exponent)}": expected}
    return reduced.value, expected.value


def _opened(
    found: Ranges, scene: Scene, filling: float, exponent: float, *, alone: bool
) -> Opening:
    """The filling integrated: the canopy `alone` as the closed form has it, or the vehicle's own resistance too."""
    return open_canopy(
        car=None if alone else scene.car,
        course=Course(scene.course.density),
        mass=scene.mass,
        speed=scene.through,
        drag_area=found.high_area,
        filling=filling,
        exponent=exponent,
        overshoot=1.0 if alone else found.high_opening or 1.0,
        after=1.0 if alone else 4.0,
    )


def _governing(design: Result, snatch: Result, name: str, canopy: Canopy) -> Result:
    """The load that lines, riser and mount are checked for: the greater of design load and snatch load."""
    snaps = design.value is not None and (snatch.value or 0.0) > design.value
    most = snatch if snaps else design
    which = "snatch load, above the design load" if snaps else "design load"
    return replace(
        most,
        id=f"{name}.governing_load",
        title=f"{canopy.name}: governing load, the {which}",
        inputs=tuple(dict.fromkeys((*design.inputs, *snatch.inputs))),
    )
