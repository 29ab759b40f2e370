"""Forces along members and stresses, against statics."""

from __future__ import annotations

import numpy as np
import pytest

from generator.formulas.tube import area, second_moment
from generator.frame.model import Array, Points, no_loads, no_points
from generator.frame.recover import ASIDE, breaks, deflected, peak_stress, section_forces, stations
from generator.frame.solve import solve
from generator.frame.subdivide import split
from tests.generator.frame.frames import (
    FIXED,
    frame_of,
    held,
    nodal,
    solution,
    some_loads,
    tower,
    with_points,
)


def points_at(*where: tuple[int, float]) -> Points:
    k = len(where)
    return Points(
        np.zeros(k, dtype=np.intp),
        np.array([m for m, _ in where], dtype=np.intp),
        np.array([a for _, a in where]),
        np.zeros((k, 3)),
        np.zeros((k, 3)),
    )


def test_stations_stand_on_both_sides_of_every_point_load() -> None:
    assert breaks(points_at((1, 0.3), (1, 0.7), (0, 0.5)), 2).tolist() == [
        [0, 0.5, 1, 1],
        [0, 0.3, 0.7, 1],
    ]
    at = stations(points_at((0, 0.5)), 1, 3)[0]
    assert at.tolist() == pytest.approx([0, 0.25, 0.5 - ASIDE, 0.5 + ASIDE, 0.75, 1], abs=1e-12)
    assert at[2] < 0.5 < at[3]
    assert stations(no_points(), 3, 5).shape == (3, 5)


def test_signs_of_a_cantilever() -> None:
    """N and T positive outwards, moments by the right-hand rule on the cut facing +x."""
    frame = held(
        frame_of(((0, 0, 0), (2, 0, 0)), ((0, 1),), ((0, 1, 0),), modulus=1e6, shear_modulus=1e6),
        n0=FIXED,
    )
    found = solution(solve(frame, nodal(frame, (1, (3, 5, 7, 11, 13, 17)))))
    forces = section_forces(
        frame, nodal(frame, (1, (3, 5, 7, 11, 13, 17))), found, np.array([[0.0, 0.5, 1.0]])
    )[0, 0]
    assert forces[2] == pytest.approx([3, 5, 7, 11, 13, 17])
    assert forces[0] == pytest.approx([3, 5, 7, 11, 13 - 7 * 2, 17 + 5 * 2])
    assert forces[1] == pytest.approx([3, 5, 7, 11, 13 - 7 * 1, 17 + 5 * 1])


def test_simple_beam_under_line_and_point_loads() -> None:
    """wL²/8 amid, and under a point load P·a·b/L more; the peak is among the stations."""
    frame = held(
        frame_of(((0, 0, 0), (4, 0, 0)), ((0, 1),), modulus=1e6),
        n0=(1, 1, 1, 1, 0, 0),
        n1=(0, 1, 1, 0, 0, 0),
    )
    loads = no_loads(frame, 1)
    loads.line[0, 0, :, 2] = -6.0
    found = solution(solve(frame, loads))
    moments = section_forces(frame, loads, found, stations(loads.points, 1))[0, 0, :, 4:]
    assert np.hypot(*moments.T).max() == pytest.approx(6 * 16 / 8, rel=1e-12)
    loads = with_points(no_loads(frame, 1), (0, 0.3, (0, 0, -10), (0, 0, 0)))
    found = solution(solve(frame, loads))
    moments = section_forces(frame, loads, found, stations(loads.points, 1))[0, 0, :, 4:]
    assert np.hypot(*moments.T).max() == pytest.approx(10 * 1.2 * 2.8 / 4, rel=1e-6)


def test_both_ends_of_the_diagram_are_the_end_forces() -> None:
    """Whatever the loads between: what enters at the start leaves at the end."""
    frame, loads = tower(3), some_loads(tower(3), 3)
    found = solution(solve(frame, loads))
    ends = section_forces(frame, loads, found, np.tile((0.0, 1.0), (len(frame.ends), 1)))
    assert ends[:, :, 0] == pytest.approx(-found.forces[..., :6], abs=1e-8)
    assert ends[:, :, 1] == pytest.approx(found.forces[..., 6:], abs=1e-8)


def test_deflected_shape_passes_through_the_joints_between_pieces() -> None:
    """Loads at joints only: the exact shapes give what a split frame gives at its inner joints."""
    frame = tower(2)
    loads = no_loads(frame, 1)
    loads.nodal[0, 8:] = (100, 50, -80, 5, 3, 2)
    found = solution(solve(frame, loads))
    parts = split(frame, loads, 4)
    inner = solution(solve(parts.frame, parts.loads)).displacement[0, len(frame.nodes) :, :3]
    at = np.tile((0.25, 0.5, 0.75), (len(frame.ends), 1))
    assert deflected(frame, loads, found, at)[0].reshape(-1, 3) == pytest.approx(inner, abs=1e-12)


def fibre_stress(forces: Array, outer: float, inner: float) -> float:
    """Von Mises stress searched around the outer fibre, each stress where it truly acts."""
    a, i = float(area(outer=outer, inner=inner)), float(second_moment(outer=outer, inner=inner))
    angle = np.linspace(0, 2 * np.pi, 721)
    y, z = outer / 2 * np.cos(angle), outer / 2 * np.sin(angle)
    n, vy, vz, t, my, mz = forces
    normal = n / a + my * z / i - mz * y / i
    peak = 4 / 3 * (outer**2 + outer * inner + inner**2) / (outer**2 + inner**2) / a
    flow = peak * (-vy * np.sin(angle) + vz * np.cos(angle))
    return float(np.sqrt(normal**2 + 3 * (t * outer / 2 / (2 * i) + flow) ** 2).max())


def test_peak_stress_is_never_under_a_search_around_the_fibre() -> None:
    """A bound from above, and close: where bending governs within a few per cent."""
    rng = np.random.default_rng(7)
    for _ in range(300):
        outer, wall = rng.uniform(0.02, 0.06), rng.uniform(0.001, 0.004)
        forces = rng.normal(size=6) * (5e3, 1e3, 1e3, 200, 300, 300)
        ours = float(
            peak_stress(forces[None, None, None], np.array([outer]), np.array([outer - 2 * wall]))[
                0, 0, 0
            ]
        )
        exact = fibre_stress(forces, outer, outer - 2 * wall)
        assert exact <= ours * (1 + 1e-9)
        assert ours <= 1.5 * exact


def test_peak_stress_of_single_forces_by_hand() -> None:
    """Tube 40 × 2 mm: 10 kN axial, 300 N·m bending and 200 N·m torsion, one after another."""
    outer, inner = np.array([0.04]), np.array([0.036])
    forces = np.zeros((1, 1, 3, 6))
    forces[0, 0, 0, 0] = -1e4
    forces[0, 0, 1, (4, 5)] = (180, -240)
    forces[0, 0, 2, 3] = -200
    a, i = np.pi / 4 * (0.04**2 - 0.036**2), np.pi / 64 * (0.04**4 - 0.036**4)
    by_hand = [1e4 / a, 300 * 0.02 / i, np.sqrt(3) * 200 * 0.02 / (2 * i)]
    assert peak_stress(forces, outer, inner)[0, 0] == pytest.approx(by_hand, rel=1e-12)
