"""Beams, arches, portals and brackets against formulas worked by hand (beam theory, exact as
stated).

Arcs are followed by chords, and the error of chords is part of the tolerance: measured, it falls
with the square of their number.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from generator.frame.model import Frame, no_loads
from generator.frame.recover import section_forces
from generator.frame.solve import solve
from tests.generator.frame.frames import (
    FIXED,
    arc,
    chain_of,
    flat,
    frame_of,
    held,
    nodal,
    solution,
    with_points,
)

SMALL = 1e-3  # a load small enough for small displacements, where P = R = L = EI = 1


def arch(chords: int, feet: tuple[int, ...]) -> Frame:
    """Semicircle of radius 1, EI 1, without axial strain to speak of."""
    frame = flat(chain_of(arc(1.0, math.pi, 0.0, chords), area=1e6))
    return held(frame, n0=feet, **{f"n{chords}": feet})


def test_fixed_arch_under_a_crown_load() -> None:
    """H 0.459138 P, base moment 0.110607 PR, crown 0.0116618 PR³/EI, by integration."""
    found = solution(solve(arch(128, FIXED), nodal(arch(128, FIXED), (64, (0, 0, -SMALL)))))
    assert found.reaction[0, 0, 0] == pytest.approx(0.459138 * SMALL, rel=3e-4)
    assert abs(found.reaction[0, 0, 4]) == pytest.approx(0.110607 * SMALL, rel=6e-4)
    assert -found.displacement[0, 64, 2] == pytest.approx(0.0116618 * SMALL, rel=6e-4)


def test_two_hinged_arch_under_a_crown_load() -> None:
    """H = P/π exactly; δ = (3π/8 − 1 − 1/(2π))PR³/EI."""
    feet = (1, 1, 1, 1, 0, 1)
    found = solution(solve(arch(128, feet), nodal(arch(128, feet), (64, (0, 0, -SMALL)))))
    assert found.reaction[0, 0, 0] == pytest.approx(SMALL / math.pi, rel=3e-4)
    exact = (3 * math.pi / 8 - 1 - 1 / (2 * math.pi)) * SMALL
    assert -found.displacement[0, 64, 2] == pytest.approx(exact, rel=6e-4)


@pytest.mark.parametrize(
    ("chords", "low", "high"),
    [(4, 0.10, 0.13), (8, 0.024, 0.028), (16, 0.006, 0.007), (32, 0.0015, 0.0017)],
)
def test_too_few_chords_make_an_arch_too_stiff(chords: int, low: float, high: float) -> None:
    """The thrust of a two-hinged semicircle is too high by about 11, 2.6, 0.65 and 0.16 %."""
    feet = (1, 1, 1, 1, 0, 1)
    found = solution(
        solve(arch(chords, feet), nodal(arch(chords, feet), (chords // 2, (0, 0, -SMALL))))
    )
    assert low < found.reaction[0, 0, 0] / (SMALL / math.pi) - 1 < high


@pytest.mark.parametrize("k", [0.3, 1.0, 4.0])
def test_fixed_portal_pushed_at_the_top(k: float) -> None:
    """k = I_b·h/(I_c·l): base moment Hh/2·(1 + 3k)/(1 + 6k), sway Hh³/12EI·(2 + 3k)/(1 + 6k)."""
    frame = flat(
        chain_of(
            ((0, 0, 0), (0, 0, 1), (1, 0, 1), (1, 0, 0)),
            area=1e8,
            second_y=(1, k, 1),
            second_z=(1, k, 1),
        )
    )
    frame = held(frame, n0=FIXED, n3=FIXED)
    found = solution(solve(frame, nodal(frame, (1, (SMALL, 0, 0)))))
    assert abs(found.reaction[0, 0, 4]) == pytest.approx(
        SMALL / 2 * (1 + 3 * k) / (1 + 6 * k), rel=1e-6
    )
    assert found.displacement[0, 1, 0] == pytest.approx(
        SMALL / 12 * (2 + 3 * k) / (1 + 6 * k), rel=1e-6
    )
    assert np.hypot(*found.forces[0, 1, 4:6]) == pytest.approx(
        SMALL / 2 * 3 * k / (1 + 6 * k), rel=1e-6
    )


def test_bent_bracket_bends_and_twists() -> None:
    """Stem 1, arm 0.5, load out of plane: PL³/3EI + Pa³/3EI + Pa²L/GJ, with GJ = EI/1.3."""
    frame = held(chain_of(((0, 0, 0), (1, 0, 0), (1, 0.5, 0)), torsion=1 / 1.3), n0=FIXED)
    found = solution(solve(frame, nodal(frame, (2, (0, 0, -SMALL)))))
    assert -found.displacement[0, 2, 2] == pytest.approx(0.7 * SMALL, rel=1e-12)
    assert abs(found.reaction[0, 0, 3]) == pytest.approx(0.5 * SMALL, rel=1e-12)
    assert abs(found.reaction[0, 0, 4]) == pytest.approx(SMALL, rel=1e-12)


def fixed_beam(phi: float) -> Frame:
    """Length 2, both ends fixed, φ = 12EI/(κGA·L²)."""
    area = 12 / (phi * 4) if phi else np.inf
    return held(
        frame_of(((0, 0, 0), (2, 0, 0)), ((0, 1),), shear_y=area, shear_z=area), n0=FIXED, n1=FIXED
    )


@pytest.mark.parametrize("phi", [0.0, 0.4, 3.0])
@pytest.mark.parametrize("at", [0.5, 0.2, 0.9])
@pytest.mark.parametrize("axis", [1, 2])
def test_point_load_on_a_fixed_beam_with_shear_strain(phi: float, at: float, axis: int) -> None:
    """End moments P·a·b/L²·(b + φL/2)/(1 + φ), and with a for b: by the force method."""
    frame = fixed_beam(phi)
    force = np.eye(3)[axis] * -SMALL
    found = solution(solve(frame, with_points(no_loads(frame, 1), (0, at, force, (0, 0, 0)))))
    a, b = 2 * at, 2 * (1 - at)
    about = 6 - axis  # a force along y bends about z (motion 5), one along z about y (4)
    near = SMALL * a * b / 4 * (b + phi) / (1 + phi)
    far = SMALL * a * b / 4 * (a + phi) / (1 + phi)
    assert np.abs(found.reaction[0, :, about]) == pytest.approx([near, far], rel=1e-12)


@pytest.mark.parametrize("phi", [0.0, 1.0])
def test_rising_line_load_on_a_fixed_beam(phi: float) -> None:
    """wL²/30 at the low end, wL²/20 at the high one; with shear strain (φ) shared anew."""
    frame = fixed_beam(phi)
    loads = no_loads(frame, 1)
    loads.line[0, 0, 1, 2] = -SMALL
    found = solution(solve(frame, loads))
    low = SMALL * 4 * (1 / 30 + phi / 24) / (1 + phi)
    high = SMALL * 4 * (1 / 20 + phi / 24) / (1 + phi)
    assert np.abs(found.reaction[0, :, 4]) == pytest.approx([low, high], rel=1e-12)
    assert found.reaction[0, :, 2].sum() == pytest.approx(SMALL, rel=1e-12)


@pytest.mark.parametrize("axis", [1, 2])
def test_a_cantilever_s_shear_strain_adds_its_own_sag(axis: int) -> None:
    """PL³/3EI + PL/(κGA), rotation PL²/2EI unchanged."""
    frame = held(
        frame_of(((0, 0, 0), (2, 0, 0)), ((0, 1),), shear_modulus=3.0, shear_y=0.7, shear_z=0.9),
        n0=FIXED,
    )
    force = np.eye(3)[axis] * SMALL
    found = solution(solve(frame, nodal(frame, (1, force)))).displacement[0, 1]
    shear = 3.0 * (0.7 if frame.reference[0] @ np.eye(3)[axis] else 0.9)
    assert found[axis] == pytest.approx(SMALL * (8 / 3 + 2 / shear), rel=1e-12)
    assert abs(found[6 - axis]) == pytest.approx(SMALL * 2, rel=1e-12)


@pytest.mark.parametrize(("axis", "across", "sign"), [(1, 2, 1.0), (2, 1, -1.0)])
def test_couple_along_a_beam(axis: int, across: int, sign: float) -> None:
    """Couple C at a quarter of a simple beam: reactions ∓C/L, and the moment jumps by C there.

    About y a force R along z at the far end turns by −LR, about z one along y by +LR.
    """
    frame = held(
        frame_of(((0, 0, 0), (2, 0, 0)), ((0, 1),)), n0=(1, 1, 1, 1, 0, 0), n1=(0, 1, 1, 0, 0, 0)
    )
    couple = np.eye(3)[axis] * SMALL
    loads = with_points(no_loads(frame, 1), (0, 0.25, (0, 0, 0), couple))
    found = solution(solve(frame, loads))
    far = sign * SMALL / 2
    assert found.reaction[0, :, across] == pytest.approx([-far, far], rel=1e-12)
    at = np.array([[0.25 - 1e-9, 0.25 + 1e-9]])
    moment = section_forces(frame, loads, found, at)[0, 0, :, 4:]
    assert np.hypot(*(moment[1] - moment[0])) == pytest.approx(SMALL, rel=1e-6)


def test_hinged_member_in_a_beam_gives_no_moment_there() -> None:
    """Propped cantilever by a released end: 3PL/16 at the fixed end under a mid load."""
    frame = held(frame_of(((0, 0, 0), (1, 0, 0)), ((0, 1),)), n0=FIXED, n1=FIXED)
    frame.released[0, 1, 1:] = True
    loads = with_points(no_loads(frame, 1), (0, 0.5, (0, 0, -SMALL), (0, 0, 0)))
    found = solution(solve(frame, loads))
    assert abs(found.reaction[0, 0, 4]) == pytest.approx(3 / 16 * SMALL, rel=1e-12)
    assert found.forces[0, 0, (10, 11)].tolist() == [0.0, 0.0]


def test_weight_is_a_force_downwards() -> None:
    """A field of 0, 0, −g pushes down: reaction up, its size the mass times g."""
    frame = held(frame_of(((0, 0, 0), (2, 0, 0)), ((0, 1),), modulus=1e6, line_mass=3.0), n0=FIXED)
    frame.node_mass[1] = 5.0
    loads = no_loads(frame, 1)
    loads.field[0] = (0, 0, -9.80665)
    found = solution(solve(frame, loads))
    assert found.reaction[0, 0, 2] == pytest.approx((3.0 * 2 + 5.0) * 9.80665, rel=1e-12)
    assert found.displacement[0, 1, 2] < 0
