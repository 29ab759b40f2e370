"""Round tube: limits, identities, a section library, and the shear coefficient's known ends."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sectionproperties.analysis import Section
from sectionproperties.pre.library import circular_hollow_section

from generator.formulas import tube

OUTER = st.floats(0.005, 0.3)
SHARE = st.floats(0.0, 0.98)  # inner over outer diameter


@given(OUTER, SHARE)
def test_properties_hang_together(outer: float, share: float) -> None:
    """r² = I/A, S = 2I/D, J = 2I, and d = D − 2t."""
    inner = tube.inner_diameter(outer=outer, wall=outer * (1 - share) / 2)
    assert inner == pytest.approx(outer * share, abs=1e-12)
    a, i = tube.area(outer=outer, inner=inner), tube.second_moment(outer=outer, inner=inner)
    assert tube.radius_of_gyration(outer=outer, inner=inner) ** 2 == pytest.approx(i / a, rel=1e-9)
    assert tube.elastic_modulus(outer=outer, inner=inner) == pytest.approx(2 * i / outer, rel=1e-12)
    assert tube.torsion_constant(outer=outer, inner=inner) == pytest.approx(2 * i, rel=1e-12)
    assert tube.plastic_modulus(outer=outer, inner=inner) > tube.elastic_modulus(
        outer=outer, inner=inner
    )


def test_shape_factors_at_the_two_ends() -> None:
    """Z/S is 16/(3π) for a solid bar and 4/π for a thin wall (plastic bending, common practice)."""
    solid = tube.plastic_modulus(outer=1.0, inner=0.0) / tube.elastic_modulus(outer=1.0, inner=0.0)
    thin = tube.plastic_modulus(outer=1.0, inner=0.9999) / tube.elastic_modulus(
        outer=1.0, inner=0.9999
    )
    assert (solid, thin) == (
        pytest.approx(16 / (3 * math.pi)),
        pytest.approx(4 / math.pi, rel=1e-3),
    )


@given(st.floats(0.0, 0.5))
def test_shear_coefficient_between_solid_and_thin(poisson: float) -> None:
    """6(1 + ν)/(7 + 6ν) solid, 2(1 + ν)/(4 + 3ν) thin; Cowper (1966), as quoted in public codes."""
    solid = tube.shear_coefficient(outer=1.0, inner=0.0, poisson=poisson)
    thin = tube.shear_coefficient(outer=1.0, inner=1.0 - 1e-7, poisson=poisson)
    assert solid == pytest.approx(6 * (1 + poisson) / (7 + 6 * poisson), rel=1e-12)
    assert thin == pytest.approx(2 * (1 + poisson) / (4 + 3 * poisson), rel=1e-6)
    assert thin < tube.shear_coefficient(outer=1.0, inner=0.8, poisson=poisson) < solid


def test_peak_transverse_shear_at_the_two_ends() -> None:
    """4V/(3A) for a solid bar, 2V/A for a thin wall (common practice)."""
    for inner, factor in ((0.0, 4 / 3), (0.9999, 2.0)):
        area = tube.area(outer=1.0, inner=inner)
        peak = tube.transverse_stress(force=1.0, outer=1.0, inner=inner)
        assert peak * area == pytest.approx(factor, rel=1e-3)


def test_stresses_by_hand() -> None:
    """40 × 2 mm: A 238.76 mm², S 2160.8 mm³ by hand."""
    outer, inner = 0.04, 0.036
    assert tube.axial_stress(force=-1e4, outer=outer, inner=inner) == pytest.approx(
        -1e4 / 238.761e-6, rel=1e-5
    )
    assert tube.bending_stress(moment=300.0, outer=outer, inner=inner) == pytest.approx(
        300 / 2160.79e-9, rel=1e-5
    )
    assert tube.torsion_stress(moment=300.0, outer=outer, inner=inner) == pytest.approx(
        150 / 2160.79e-9, rel=1e-5
    )
    assert tube.resultant(first=3.0, second=-4.0) == 5.0
    assert tube.von_mises(normal=3.0, shear=0.0) == 3.0
    assert tube.von_mises(normal=0.0, shear=1.0) == pytest.approx(math.sqrt(3))


def test_mass_per_length_of_a_table() -> None:
    """HSS1.900x0.120: 2.28 lb/ft, nominal wall, 0.2833 lb/in³ (AISC Shapes Database v16.0)."""
    pounds = tube.line_mass(outer=1.9, inner=1.9 - 0.24, density=0.2833) * 12
    assert pounds == pytest.approx(2.28, abs=0.005)


def test_a_meshed_section_agrees() -> None:
    """sectionproperties 3 (MIT), a polygon of 128 sides: 0.1 % low in A, 0.2 % in I and J."""
    shape = circular_hollow_section(d=42.0, t=3.0, n=128).create_mesh(mesh_sizes=[3.0])
    meshed = Section(shape)
    meshed.calculate_geometric_properties()
    meshed.calculate_warping_properties()
    outer, inner = 42.0, 36.0
    assert meshed.get_area() == pytest.approx(tube.area(outer=outer, inner=inner), rel=1e-3)
    assert meshed.get_ic()[0] == pytest.approx(
        tube.second_moment(outer=outer, inner=inner), rel=2e-3
    )
    assert meshed.get_j() == pytest.approx(
        tube.torsion_constant(outer=outer, inner=inner), rel=3e-3
    )


def test_arrays_go_through() -> None:
    outer = np.array((0.03, 0.04))
    assert tube.area(outer=outer, inner=outer * 0.9).shape == (2,)


def test_formulas_of_tubes_bring_no_solver_along() -> None:
    """A description without a cage pays nothing for the frame engine: scipy stays out."""
    wanted = (
        "import sys, generator.formulas.steel, generator.formulas.tube\n"
        "print('scipy' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", wanted], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "False"
