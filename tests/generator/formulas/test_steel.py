"""AISC 360 for round tube: where curves meet, what never exceeds what, and what is out of range."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.formulas import steel

E, FY = 200e9, 350e6


def test_the_two_column_curves_meet() -> None:
    """At F_y/F_e = 2.25: 0.658^2.25 = 0.3899 F_y against 0.877/2.25 = 0.3898 F_y."""
    at = np.array((FY / 2.25 * (1 + 1e-9), FY / 2.25 * (1 - 1e-9)))
    low, high = steel.column_stress(strength=FY, elastic=at)
    assert low == pytest.approx(0.3899 * FY, rel=1e-3)
    assert high == pytest.approx(low, rel=1e-3)
    slender = steel.transition_slenderness(modulus=E, strength=FY)
    assert steel.elastic_buckling_stress(modulus=E, slender=slender) * 2.25 == pytest.approx(
        FY, rel=2e-3
    )


@given(st.floats(1.0, 400.0))
def test_a_column_carries_neither_more_than_euler_nor_than_yield(slender: float) -> None:
    elastic = steel.elastic_buckling_stress(modulus=E, slender=slender)
    stress = float(steel.column_stress(strength=FY, elastic=elastic))
    assert 0 < stress < FY
    assert stress <= elastic * 0.8775
    assert float(steel.column_stress(strength=FY, elastic=elastic * 0.99)) < stress


def test_flexure_falls_as_the_wall_gets_thin() -> None:
    """Compact up to 0.07 E/F_y; the curves beyond differ by 0.3 % at 0.31 E/F_y."""

    def strength(share: float) -> float:
        return float(
            steel.flexural_strength(
                modulus=E, strength=FY, thin=share * E / FY, elastic=1.0, plastic=1.3
            )
        )

    assert strength(0.05) == strength(0.07) == pytest.approx(1.3 * FY)
    assert strength(0.0701) == pytest.approx(FY * (1 + 0.021 / 0.0701), rel=1e-9)
    assert strength(0.31) == pytest.approx(FY * (1 + 0.021 / 0.31), rel=1e-9)
    assert strength(0.3101) == pytest.approx(FY * 0.33 / 0.3101, rel=1e-9)
    assert strength(0.31) == pytest.approx(strength(0.3101), rel=5e-3)


@pytest.mark.parametrize(
    ("share", "name"),
    [
        (0.069, "compact"),
        (0.071, "noncompact"),
        (0.309, "noncompact"),
        (0.311, "slender"),
        (0.449, "slender"),
        (0.451, "outside"),
    ],
)
def test_wall_classes(share: float, name: str) -> None:
    assert steel.wall_class(modulus=E, strength=FY, thin=share * E / FY) == name


def test_effective_area() -> None:
    """Whole up to 0.11 E/F_y (where E7-7 gives 1.012, so no jump up), then less."""

    def area(share: float) -> float:
        return float(steel.effective_area(modulus=E, strength=FY, thin=share * E / FY, area=2.0))

    assert area(0.05) == area(0.11) == 2.0
    assert area(0.1101) == 2.0
    assert area(0.2) == pytest.approx(2.0 * (0.038 / 0.2 + 2 / 3))
    assert area(0.2) < 2.0


def test_thick_walls_yield_in_shear_and_torsion_thin_ones_buckle() -> None:
    """Cage tube is thick: 0.6 F_y rules. A wall of D/t 300 buckles first in both."""
    thick = {"modulus": E, "strength": FY, "length": 1.0, "outer": 0.04}
    assert float(steel.shear_stress(**thick, thin=20.0)) == pytest.approx(0.6 * FY)
    assert float(steel.torsion_critical(**thick, thin=20.0)) == pytest.approx(0.6 * FY)
    thin = float(steel.torsion_critical(**thick, thin=300.0))
    assert thin == pytest.approx(1.23 * E / (25**0.5 * 300**1.25), rel=1e-12)
    assert thin < 0.6 * FY


def test_torsion_only_counts_beyond_a_fifth() -> None:
    low, high = (float(steel.interaction(axial=p, flexure=0.5)) for p in (0.2 - 1e-9, 0.2))
    assert low == pytest.approx(0.6)
    assert high == pytest.approx(0.2 + 8 / 9 * 0.5)
    plain = float(steel.combined(axial=0.1, flexure=0.5, shear=0.3, torsion=0.2))
    assert plain == pytest.approx(0.55)
    assert float(steel.combined(axial=0.1, flexure=0.5, shear=0.3, torsion=0.21)) == pytest.approx(
        0.6 + 0.51**2
    )


def test_interaction_meets_at_a_fifth_where_the_sum_is_one() -> None:
    """The two lines cross on the limit itself: p = 0.2, m = 0.9 is exactly 1 in both."""
    assert steel.interaction_low(axial=0.2, flexure=0.9) == pytest.approx(1.0)
    assert steel.interaction_high(axial=0.2, flexure=0.9) == pytest.approx(1.0)


def test_shear_alone_can_rule() -> None:
    assert float(steel.combined(axial=0.0, flexure=0.0, shear=0.9, torsion=0.0)) == pytest.approx(
        0.9
    )


def test_the_code_s_torsional_constant_is_a_thin_wall_s() -> None:
    """π(D − t)²t/2 against 2J/D of HSS5.000x0.250: 8.32 in³ against 7.95, 4.6 % over."""
    assert steel.torsional_constant(outer=5.0, wall=0.233) == pytest.approx(8.32, abs=0.005)


def test_tension_and_compression_of_a_stub() -> None:
    assert steel.tensile_strength(strength=FY, area=1e-3) == pytest.approx(350e3)
    assert steel.compressive_strength(stress=FY, area=1e-3) == pytest.approx(350e3)
    assert steel.thinness(outer=0.04, wall=0.002) == pytest.approx(20.0)
