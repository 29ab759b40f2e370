"""Straight-line motion against closed forms, and the average of two runs against published pairs."""

from __future__ import annotations

import math

import pytest

from generator.formulas import motion
from tests.published.row import Row, disagreements

NEWTON = "closed form of Newton's second law (derived)"
CASE = {"mass": 1200.0, "density": 1.0, "drag_area": 0.20, "power": 600e3, "first": 20.0}


def _distance(last: float) -> float:
    k = 0.1
    return 1200.0 / (3 * k) * math.log((6e5 - k * 8000.0) / (6e5 - k * last**3))


ROWS: tuple[Row, ...] = (
    Row(
        case="terminal speed, 600 kW, 0.20 m², 1 kg/m³",
        source=NEWTON,
        status="derived",
        printed=181.71206,
        closed_form=math.pow(6e6, 1 / 3),
        unit="m/s",
        tolerance=5e-6,
        ours=motion.terminal_speed(power=6e5, density=1.0, drag_area=0.2),
        reason="last digit",
    ),
    *(
        Row(
            case=f"constant power, 20 to {last:g} m/s",
            source=NEWTON,
            status="derived",
            printed=printed,
            closed_form=_distance(last),
            unit="m",
            tolerance=1e-2,
            ours=motion.constant_power_distance(**CASE, last=last),
            reason="last digit",
        )
        for last, printed in ((100.0, 723.9493), (150.0, 3301.3774))
    ),
    *(
        Row(
            case=f"constant power, time from 20 to {last:g} m/s",
            source=NEWTON,
            status="derived",
            printed=printed,
            closed_form=printed,
            unit="s",
            tolerance=5e-6,
            exactness=1e-6,
            ours=motion.constant_power_time(**CASE, last=last),
            reason="last digit",
        )
        for last, printed in ((100.0, 10.34559), (150.0, 30.28250))
    ),
    Row(
        case="coast, 150 to 50 m/s",
        source=NEWTON,
        status="derived",
        printed=13183.3475,
        closed_form=12000.0 * math.log(3.0),
        unit="m",
        tolerance=1e-4,
        reason="last digit",
        ours=float(
            motion.coast_distance(mass=1200, density=1.0, drag_area=0.2, first=150, last=50)
        ),
    ),
    Row(
        case="coast, time from 150 to 50 m/s",
        source=NEWTON,
        status="derived",
        printed=160.0,
        closed_form=160.0,
        unit="s",
        tolerance=1e-9,
        reason="exact",
        ours=motion.coast_time(mass=1200, density=1.0, drag_area=0.2, first=150, last=50),
    ),
    Row(
        case="drag and constant friction, 150 m/s to rest",
        source=NEWTON,
        status="derived",
        printed=1942.89885,
        unit="m",
        tolerance=1e-5,
        reason="last digit",
        closed_form=6000.0 * math.log(1 + 0.1 * 22500 / (0.5 * 1200 * 9.80665)),
        ours=float(
            motion.stopping_distance(
                mass=1200, density=1.0, drag_area=0.2, speed=150, force=0.5 * 1200 * 9.80665
            )
        ),
    ),
    Row(
        case="drag and constant friction, time",
        source=NEWTON,
        status="derived",
        printed=27.397913,
        closed_form=27.397913,
        unit="s",
        tolerance=1e-6,
        reason="last digit",
        ours=motion.stopping_time(
            mass=1200, density=1.0, drag_area=0.2, speed=150, force=0.5 * 1200 * 9.80665
        ),
        exactness=1e-7,
    ),
    Row(
        case="rear axle load, 1500 kg, wheelbase 5 m, CG at 2 m",
        source=NEWTON,
        status="derived",
        printed=5535.07,
        closed_form=(1500 * 9.80665 * 2 - 1000 * 2.5 + 1888.532 * 0.4) / 5.0,
        unit="N",
        tolerance=5e-3,
        reason="last digit",
        ours=motion.rear_load(
            mass=1500,
            gravity=9.80665,
            arm=2.0,
            drag=1888.532,
            drag_height=0.4,
            acceleration=0.0,
            height=0.5,
            wheelbase=5.0,
            lift=500.0,
        ),
    ),
    Row(
        case="a pull of 20 kN at 0.5 m, 1 kN of it up at 5.5 m, on a wheelbase of 5 m",
        source=NEWTON,
        status="derived",
        printed=900.0,
        closed_form=(20e3 * 0.5 - 1e3 * 5.5) / 5.0,
        unit="N",
        tolerance=1e-9,
        reason="exact",
        ours=motion.pull_on_rear_axle(
            pull=20e3, height=0.5, upward=1e3, station=5.5, wheelbase=5.0
        ),
    ),
    Row(
        case="front axle load, the same",
        source=NEWTON,
        status="derived",
        printed=8174.90,
        closed_form=1500 * 9.80665 - 1000 - 5535.07256,
        unit="N",
        tolerance=5e-3,
        exactness=1e-8,
        reason="last digit",
        ours=motion.front_load(
            mass=1500,
            gravity=9.80665,
            front_lift=500.0,
            rear_lift=500.0,
            rear=5535.07256,
        ),
    ),
    Row(
        case="the two runs of a record of 1947, 385.6 and 403.135 mph",
        source="a weekly's report of 1947-09-29 (385.6; 394.196) and robinsonlibrary.com, 1947 auto racing "
        "(403.135; 394.196)",
        status="read",
        printed=394.196,
        closed_form=2 * 385.6 * 403.135 / (385.6 + 403.135),
        unit="mph",
        ours=motion.two_way(first=385.6, second=403.135),
        tolerance=0.03,
        reason="the first run is printed to a tenth, which moves the average by 0.026; the plain mean would be 394.37",
    ),
    *(
        Row(
            case=f"constant power, 20 m/s to {share:.0%} of the terminal speed, {what}",
            source=NEWTON,
            status="derived",
            printed=printed,
            closed_form=None if what == "time" else _distance(share * (6e6) ** (1 / 3)),
            unit="s" if what == "time" else "m",
            tolerance=5e-5 if what == "time" else 5e-3,
            ours=function(**CASE, last=share * (6e6) ** (1 / 3)),
            reason="last digits",
        )
        for share, what, printed, function in (
            (0.95, "distance", 7784.809, motion.constant_power_distance),
            (0.95, "time", 57.68222, motion.constant_power_time),
            (0.99, "distance", 14060.96, motion.constant_power_distance),
            (0.99, "time", 93.10142, motion.constant_power_time),
        )
    ),
    Row(
        case="average of 622 and 638 km/h over one distance",
        source="total distance over total time (derived; the rule of two runs is common practice)",
        status="derived",
        printed=None,
        closed_form=2 * 622 * 638 / (622 + 638),
        unit="km/h",
        ours=3.6 * motion.two_way(first=622 / 3.6, second=638 / 3.6),
        tolerance=0.0,
        reason="exact",
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_published(row: Row) -> None:
    assert disagreements(row) == ()


def test_two_way_average_is_distance_over_time() -> None:
    """A mile out at 200 mph and back at 240 mph takes 18 s + 15 s: 218.18 mph, not 220."""
    assert motion.two_way(first=200.0, second=240.0) == pytest.approx(
        2.0 / (33.0 / 3600.0), rel=1e-12
    )
