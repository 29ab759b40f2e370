"""Mass, centre of gravity, inertia and ballast against published worked examples.

Weighings run through the program's own weighing, ballast through its own solver; only units differ
(inches and pounds are as good as meters and kilograms where everything is linear).
"""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest

from buildspec.quantities import Quantity
from buildspec.sections.mass import Lift, Scale, Weighing
from buildspec.sections.wheels import Wheel
from generator.checks import margin_of
from generator.formulas.mass import (
    front_share,
    moment_of_inertia,
    radius_of_gyration,
)
from generator.formulas.uncertainty import normalised_error
from generator.subjects.mass_ballast import Bound, Problem, least_ballast
from generator.subjects.mass_weighing import Weighed, weigh
from tests.published.row import Row, disagreements

FAA = (
    "FAA-H-8083-1 example (nosewheel airplane), in "
    "flight-study.com/2021/11/electronic-calculator.html"
)
FAA_AHEAD = "FAA-H-8083-1 example, datum ahead of the airplane, in a public bank of worked sums"
METRIC = "three-point weighing in meters and kilograms, in a public bank of worked sums"
JAZAR = "Jazar, Vehicle Dynamics, Example 40"
LIFT = "axle-lift exercise, askfilo.com; the page prints x only"
TILTED = (
    "Volkswagen body-builder guideline, Crafter, 3.5, equations 1 to 9 (vwn-aufbaurichtlinien.de)"
)
OPENSTAX = "OpenStax, University Physics 1, Example 10.11"
BALLAST = "FAA airframe question, 4,954 lb at +30.5 in (aircraftweightandbal.passetra.com)"
MARGIN = "margin of safety as NASA-STD-5001B writes it; the example's numbers are our own"
EN = "E_n as the documentation of the R package measure writes it; the numbers are our own"

ROUNDED = "half a unit of the last digit printed"
STATED = "an exact consequence of the stated inputs"


def plain(dotted: str, value: float, kind: str) -> Quantity:
    """A quantity without spread whose unit does not matter."""
    unit = {"mass": "kg", "length": "m"}[kind]
    return Quantity(
        id=dotted, si=value, kind=kind, written=f"{value} {unit}", unit=unit, basis="measured"
    )


def wheel(word: str, x: float, y: float, radius: float = 0.0) -> Wheel:
    return Wheel(
        id=word,
        x=plain(f"{word}.x", x, "length"),
        y=plain(f"{word}.y", y, "length"),
        radius=plain(f"{word}.radius", radius, "length") if radius else None,
    )


def weighed(
    wheels: tuple[Wheel, ...],
    readings: dict[str, float],
    lifts: tuple[tuple[tuple[str, ...], float, float], ...] = (),
) -> Weighed:
    """A session with one scale a wheel; each lift is the wheels raised, how far, and the
    reading.
    """
    scales = tuple(
        Scale(id=w, under=(w,), reading=plain(f"{w}.reading", r, "mass"))
        for w, r in readings.items()
    )
    steps = tuple(
        Lift(
            id=f"lift_{n}",
            raised=up,
            height=plain("h", high, "length"),
            reading=plain("r", r, "mass"),
        )
        for n, (up, high, r) in enumerate(lifts)
    )
    session = Weighing(
        id="w", date=datetime.date(2026, 1, 1), condition="c", scales=scales, lifts=steps
    )
    return weigh(session, "c", wheels, None, None)


def number(value: float | None) -> float:
    assert value is not None
    return value


TRICYCLE = (wheel("nose", 50.0, 0.0), wheel("left", 128.0, -50.0), wheel("right", 128.0, 50.0))
FROM_MAINS = (wheel("nose", -78.0, 0.0), wheel("left", 0.0, -50.0), wheel("right", 0.0, 50.0))
THREE_POINT = {"nose": 340.0, "left": 833.0, "right": 833.0}
METERS = (wheel("nose", 1.2, 0.0), wheel("left", 3.5, -2.0), wheel("right", 3.5, 2.0))

# Example 40: each front wheel carries 2000 N, each rear wheel 1800 N, 2.34 m apart.
JAZAR_CAR = tuple(
    wheel(w, x, y)
    for w, x, y in (("fl", 0.0, -0.7), ("fr", 0.0, 0.7), ("rl", 2.34, -0.7), ("rr", 2.34, 0.7))
)
JAZAR_X = number(
    weighed(JAZAR_CAR, {"fl": 2000.0, "fr": 2000.0, "rl": 1800.0, "rr": 1800.0}).x.value
)

LIFT_CAR = tuple(
    wheel(w, x, y, 0.353)
    for w, x, y in (("fl", 0.0, -0.9), ("fr", 0.0, 0.9), ("rl", 2.55, -0.9), ("rr", 2.55, 0.9))
)
LIFTED = weighed(
    LIFT_CAR, {"fl": 290.0, "fr": 330.0, "rl": 210.0, "rr": 220.0}, ((("fl", "fr"), 1.5, 680.0),)
)


def tilted_height() -> float:
    """Height above the axles by the guideline's nine equations, front axle raised."""
    base, up, front_level, front_raised, total = 2.55, 1.5, 620.0, 1050.0 - 680.0, 1050.0
    level = front_level * base / total
    short = math.sqrt(base**2 - up**2)
    raised = front_raised * short / total
    along = level - math.sqrt((up * raised / short) ** 2 + raised**2)
    return math.tan(math.acos(up / base)) * along


def ballast() -> float:
    """Least ballast at +162 in that brings 4,954 lb from +30.5 in to +32.0 in."""
    answer = least_ballast(
        Problem(
            total=4954.0,
            cg=np.array([30.5, 0.0, 0.0]),
            places=np.array([[162.0, 0.0, 0.0]]),
            most=np.array([500.0]),
            bounds=(Bound("forward limit", 0, -1, 32.0), Bound("aft limit", 0, 1, 42.1)),
        )
    )
    return float(answer.masses[0])


def about(m: list[float], u: list[float], a: list[float], b: list[float]) -> float:
    none = np.zeros(len(m))
    return float(
        moment_of_inertia(m=np.array(m), u=np.array(u), v=none, a=np.array(a), b=np.array(b))
    )


ROWS: tuple[Row, ...] = (
    Row(
        case="centre of gravity, datum ahead",
        source=FAA_AHEAD,
        status="read in a transcription",
        printed=114.8,
        unit="in",
        closed_form=128.0 - 340.0 * 78.0 / 2006.0,
        ours=number(weighed(TRICYCLE, THREE_POINT).x.value),
        tolerance=0.05,
        reason=ROUNDED,
    ),
    Row(
        case="centre of gravity from the main wheels",
        source=FAA,
        status="read in a transcription",
        printed=-13.2,
        unit="in",
        closed_form=-340.0 * 78.0 / 2006.0,
        ours=number(weighed(FROM_MAINS, THREE_POINT).x.value),
        tolerance=0.05,
        reason=ROUNDED,
    ),
    Row(
        case="centre of gravity, metric",
        source=METRIC,
        status="read in a transcription",
        printed=3.06,
        unit="m",
        closed_form=(1100 * 1.2 + 4600 * 3.5) / 5700,
        ours=number(weighed(METERS, {"nose": 1100.0, "left": 2300.0, "right": 2300.0}).x.value),
        tolerance=0.005,
        reason=ROUNDED,
    ),
    Row(
        case="centre of gravity behind the front axle",
        source=JAZAR,
        status="read",
        printed=1.1084,
        unit="m",
        closed_form=2.34 * 1800 / 3800,
        ours=JAZAR_X,
        tolerance=5e-5,
        reason=ROUNDED,
    ),
    Row(
        case="centre of gravity ahead of the rear axle",
        source=JAZAR,
        status="read",
        printed=1.2316,
        unit="m",
        closed_form=2.34 * 2000 / 3800,
        ours=2.34 * float(front_share(x=JAZAR_X, front=0.0, rear=2.34)),
        tolerance=5e-5,
        reason=ROUNDED,
    ),
    Row(
        case="axle lift: ahead of mid-wheelbase",
        source=LIFT,
        status="read",
        printed=0.2307,
        unit="m",
        closed_form=1.275 - 2.55 * 430 / 1050,
        ours=1.275 - number(LIFTED.x.value),
        tolerance=5e-5,
        reason=ROUNDED,
    ),
    Row(
        case="axle lift: right of the middle",
        source=LIFT,
        status="derived",
        printed=None,
        unit="m",
        closed_form=0.9 * (330 + 220 - 290 - 210) / 1050,
        ours=number(LIFTED.y.value),
        tolerance=0.0,
        reason=STATED,
    ),
    Row(
        case="axle lift: height, exact trigonometry",
        source=LIFT,
        status="derived",
        printed=None,
        unit="m",
        closed_form=0.353 + (680 - 430) * 2.55 / 1050 / math.tan(math.asin(1.5 / 2.55)),
        ours=number(LIFTED.height.value),
        tolerance=0.0,
        reason=STATED,
    ),
    Row(
        case="axle lift: height above the axles, another maker's equations",
        source=TILTED,
        status="read",
        printed=None,
        unit="m",
        closed_form=tilted_height(),
        ours=number(LIFTED.height.value) - 0.353,
        tolerance=0.0,
        reason="the guideline prints equations, no figure",
    ),
    Row(
        case="child on a merry-go-round: moment of inertia",
        source=OPENSTAX,
        status="read",
        printed=1025.0,
        unit="kg·m²",
        closed_form=25.0 * 1.0**2 + 0.5 * 500.0 * 2.0**2,
        ours=about([25.0, 500.0], [1.0, 0.0], [0.0, math.sqrt(12.0)], [0.0, math.sqrt(12.0)]),
        tolerance=0.5,
        reason="printed to 1 kg·m²; the disc stands as the box of equal inertia",
    ),
    Row(
        case="rod about its end, by parallel axes",
        source="closed form m·L²/3 (common practice)",
        status="derived",
        printed=None,
        unit="kg·m²",
        closed_form=3.0 * 0.8**2 / 3.0,
        ours=about([3.0], [0.4], [0.8], [0.0]),
        tolerance=0.0,
        reason=STATED,
    ),
    Row(
        case="cube about its middle: radius of gyration",
        source="closed form a/√6 (common practice)",
        status="derived",
        printed=None,
        unit="m",
        closed_form=0.6 / math.sqrt(6.0),
        ours=float(radius_of_gyration(i=about([7.0], [0.0], [0.6], [0.6]), m=7.0)),
        tolerance=0.0,
        reason=STATED,
    ),
    Row(
        case="least ballast to the forward limit",
        source=BALLAST,
        status="read",
        printed=57.16,
        unit="lb",
        closed_form=4954.0 * 1.5 / 130.0,
        ours=ballast(),
        tolerance=5e-3,
        reason=ROUNDED,
    ),
    Row(
        case="margin, ultimate factor 1.4",
        source=MARGIN,
        status="derived",
        printed=None,
        closed_form=450 / 420 - 1,
        ours=margin_of(300.0, 450.0, 1.4),
        tolerance=0.0,
        reason=STATED,
    ),
    Row(
        case="normalised error of 9.8 ± 0.3 against 10.1 ± 0.4",
        source=EN,
        status="derived",
        printed=None,
        closed_form=-0.6,
        ours=float(normalised_error(x=9.8, reference=10.1, u_x=0.3, u_reference=0.4)),
        tolerance=0.0,
        reason=STATED,
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.case)
def test_three_columns_agree(row: Row) -> None:
    assert disagreements(row) == ()


def test_a_height_can_be_had_from_either_axle() -> None:
    """The forward problem: choose a height, compute what the scales would show, find the height
    again.

    Unequal radii, either axle raised; the statics here are written out with rotated coordinates.
    """
    base, r_front, r_rear, x, h, total = 2.6, 0.31, 0.36, 1.1, 0.47, 900.0
    car = (
        wheel("fl", 0.0, -0.7, r_front),
        wheel("fr", 0.0, 0.7, r_front),
        wheel("rl", base, -0.7, r_rear),
        wheel("rr", base, 0.7, r_rear),
    )
    level = {
        "fl": 0.5 * total * (1 - x / base),
        "fr": 0.5 * total * (1 - x / base),
        "rl": 0.5 * total * x / base,
        "rr": 0.5 * total * x / base,
    }
    for front_up in (True, False):
        angle = 0.2 if front_up else -0.2
        turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
        front, rear, cg = (turn @ np.array(p) for p in ((0.0, r_front), (base, r_rear), (x, h)))
        rise = (front - rear)[1] - (r_front - r_rear)
        on_rear = total * (cg - front)[0] / (rear - front)[0]
        lift = (("fl", "fr"), rise, on_rear) if front_up else (("rl", "rr"), -rise, total - on_rear)
        assert weighed(car, level, (lift,)).height.value == pytest.approx(h, rel=1e-9)
