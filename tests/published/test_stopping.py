"""Brake heat against printed worked examples."""

from __future__ import annotations

import pytest

from generator.formulas import stopping
from tests.published.row import Row, disagreements

LB, MPH, FTLBF = 0.45359237, 0.44704, 1.3558179483314004
BTU_PER_LB_F = 4186.8
SMALL = "solve.club, brake example (750 kg at 24 m/s, 15 kg of iron)"
LARGE = "scribd 12801615, brake example (3000 lb at 60 mph, four rotors of 10 lb)"

ROWS: tuple[Row, ...] = (
    Row(
        case="kinetic energy of 750 kg at 24 m/s",
        source=SMALL,
        status="read",
        printed=216e3,
        closed_form=375.0 * 576.0,
        ours=stopping.kinetic_energy(mass=750.0, speed=24.0),
        unit="J",
        tolerance=500.0,
        reason="printed to 1 kJ",
    ),
    Row(
        case="rise of 15 kg of iron, c = 450 J/(kg·K)",
        source=SMALL,
        status="read",
        printed=32.0,
        closed_form=216e3 / 6750.0,
        ours=stopping.temperature_rise(energy=216e3, rotors=15, heat=450),
        unit="K",
        tolerance=0.5,
        reason="printed to 1 K",
    ),
    Row(
        case="kinetic energy of 3000 lb at 60 mph",
        source=LARGE,
        status="read",
        printed=361306.4,
        closed_form=1500.0 / 32.17404856 * 88.0**2,
        unit="ft·lbf",
        ours=stopping.kinetic_energy(mass=3000 * LB, speed=60 * MPH) / FTLBF,
        tolerance=0.001 * 361306.4,
        reason="printed with g = 32.15 ft/s²",
        exactness=1e-8,
    ),
    Row(
        case="rise of 40 lb of iron, c = 0.130 Btu/(lb·°F)",
        source=LARGE,
        status="read",
        printed=90.3,
        closed_form=361036.0 / 778.169 / (40 * 0.130),
        unit="°F",
        exactness=2e-4,
        ours=1.8
        * stopping.temperature_rise(
            energy=stopping.kinetic_energy(mass=3000 * LB, speed=60 * MPH),
            rotors=40 * LB,
            heat=0.130 * BTU_PER_LB_F,
        ),
        tolerance=1.2,
        reason="printed with 0.0013 Btu/ft·lbf and g = 32.15 ft/s²: 1.2 %",
    ),
    Row(
        case="kinetic energy of 6400 lb at 60 mph",
        source="tomorrowstechnician.com",
        status="read",
        printed=988.0,
        closed_form=0.5 * 6400 * LB * (60 * MPH) ** 2 / 1055.05585262,
        unit="Btu",
        ours=stopping.kinetic_energy(mass=6400 * LB, speed=60 * MPH) / 1055.05585262,
        tolerance=3.0,
        reason="0.3 %",
    ),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.case)
def test_published(row: Row) -> None:
    assert disagreements(row) == ()
