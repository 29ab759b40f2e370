"""The opening of a canopy: integration against the closed form and a published example."""

from __future__ import annotations

import math

import pytest

from generator.formulas import parachutes as f
from generator.run.car import Car, Course
from generator.run.opening import open_canopy

AREA = 0.775 * math.pi * 1.5**2 / 4.0
"""Flat circular canopy of 1.5 m, drag coefficient 0.775, m²."""


@pytest.mark.parametrize("exponent", [0.5, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("mass", [2.0, 8.257, 40.0, 900.0])
def test_peak_is_the_closed_form(exponent: float, mass: float) -> None:
    """Right to 1e-5: the peak is read from 401 points, a flat maximum between two of them."""
    found = open_canopy(
        car=None,
        course=Course(1.225),
        mass=mass,
        speed=60.0,
        drag_area=AREA,
        filling=0.2,
        exponent=exponent,
    )
    a = f.ballistic_parameter(mass=mass, density=1.225, drag_area=AREA, speed=60.0, filling=0.2)
    assert found.peak == pytest.approx(
        0.5 * 1.225 * 60.0**2 * AREA * f.reduction(a, exponent), rel=1e-5
    )


def test_the_published_example() -> None:
    """1,527 N as printed in nrdptel/hpr-sim, docs/physics/recovery.md; its mass of 8.257 kg is from memory."""
    found = open_canopy(
        car=None,
        course=Course(1.225),
        mass=8.257,
        speed=60.0,
        drag_area=AREA,
        filling=0.2,
        exponent=2.0,
    )
    assert found.peak == pytest.approx(1527.0, rel=1e-3)


def test_a_heavy_vehicle_gets_no_credit_and_drag_only_lowers_the_peak() -> None:
    heavy = open_canopy(
        car=None,
        course=Course(1.0),
        mass=1e7,
        speed=100.0,
        drag_area=3.0,
        filling=0.3,
        exponent=1.0,
    )
    assert heavy.peak == pytest.approx(0.5 * 100.0**2 * 3.0, rel=1e-4)
    car = Car(900.0, 2.0, 0.4, 4.0, 0.4, 0.4, 0.0, 0.0, 0.02, math.inf, 0.5)
    alone, rolling = (
        open_canopy(
            car=c,
            course=Course(1.0),
            mass=900.0,
            speed=100.0,
            drag_area=3.0,
            filling=0.3,
            exponent=1.0,
        )
        for c in (None, car)
    )
    assert 0.9 * alone.peak < rolling.peak < alone.peak


def test_overshoot_multiplies_the_force_and_not_the_slowing() -> None:
    plain, over = (
        open_canopy(
            car=None,
            course=Course(1.0),
            mass=900.0,
            speed=100.0,
            drag_area=3.0,
            filling=0.3,
            exponent=1.0,
            overshoot=x,
        )
        for x in (1.0, 1.2)
    )
    assert over.peak == pytest.approx(1.2 * plain.peak, rel=1e-12)
    assert over.speed[-1] == pytest.approx(plain.speed[-1], rel=1e-12)
