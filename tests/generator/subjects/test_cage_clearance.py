"""Whether joints surround a point: against the faces of their convex hull by Qhull (scipy)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from generator.subjects.cage_clearance import surrounded


def clouds(rng: np.random.Generator) -> NDArray[np.float64]:
    """Joints of all shapes; or those of tubes, with more of them along straight lines."""
    joints = rng.uniform(-1.0, 1.0, (int(rng.integers(5, 30)), 3)) * rng.uniform(0.1, 2.0, 3)
    if rng.uniform() < 0.5:
        return joints
    begin, end = joints[:-1, None], joints[1:, None]
    pieces = begin + (end - begin) * np.linspace(0.0, 1.0, 5)[:, None]
    return np.vstack([pieces.reshape(-1, 3), pieces.reshape(-1, 3) * (1.0, -1.0, 1.0)])


def test_what_joints_surround_is_their_convex_hull() -> None:
    """300 points, seeded, none within 1 nm of a face, where either answer would do."""
    rng, inside = np.random.default_rng(11), 0
    for _ in range(150):
        joints = clouds(rng)
        faces = ConvexHull(joints).equations
        for point in rng.uniform(-0.6, 0.6, (2, 3)):
            height = float(np.max(faces[:, :3] @ point + faces[:, 3]))
            assert abs(height) > 1e-9
            assert surrounded(point[None], joints) == (height < 0.0)
            inside += height < 0.0
    assert 50 < inside < 250
