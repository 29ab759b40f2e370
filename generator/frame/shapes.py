"""The deflected shape between a member's ends, exact for a prismatic Timoshenko beam.

One bending plane has four motions: deflection and rotation at the start, the same at the end. ξ =
x/L runs from 0 to 1, and φ = 12EI/(κGA·L²) is 0 for an Euler–Bernoulli beam. Source: J. S.
Przemieniecki, Theory of Matrix Structural Analysis (McGraw-Hill, 1968), ch. 5 (from memory);
derived again here, and held by tests to the closed forms of beams with shear.
"""

from __future__ import annotations

import numpy as np

from generator.frame.model import Array

XY = np.array((1, 5, 7, 11))
"""The motions of a member that bend it in its local x-y plane."""
XZ = np.array((2, 4, 8, 10))
"""The motions that bend it in its local x-z plane."""
TURN = np.array((1.0, -1.0, 1.0, -1.0))
"""A positive rotation about y lowers z ahead of it: in the x-z plane signs are turned."""


_PLAIN = np.array(((1, 0, 0, 0), (0, 1, 0, 0), (-3, -2, 3, -1), (2, 1, -2, 1)), dtype=float)
_SHEAR = np.array(((1, 0, 0, 0), (-1, 0.5, 1, -0.5), (0, -0.5, 0, 0.5), (0, 0, 0, 0)), dtype=float)


def cubics(phi: Array, length: Array) -> Array:
    """The deflection as a cubic in ξ: factors of 1, ξ, ξ², ξ³ for a unit of each of the four motions,
    (…, 4, 4); 1 and m."""
    one = np.ones_like(length)
    each = np.stack((one, length, one, length), axis=-1) / (1 + phi)[..., None]
    return np.asarray((_PLAIN + phi[..., None, None] * _SHEAR) * each[..., None, :])


def deflection(xi: Array, phi: Array, length: Array) -> Array:
    """Deflection at ξ for a unit of each of the four motions, (…, 4); 1 and m."""
    powers = np.stack((np.ones_like(xi), xi, xi * xi, xi * xi * xi), axis=-1)
    return np.asarray((powers[..., None, :] @ cubics(phi, length))[..., 0, :])


def rotation(xi: Array, phi: Array, length: Array) -> Array:
    """Rotation of the section at ξ for a unit of each of the four motions, (…, 4); 1/m and 1."""
    x2 = xi * xi
    start = 6 / length * (x2 - xi)
    turn = 1 - 4 * xi + 3 * x2 + phi * (1 - xi)
    turn_end = 3 * x2 - 2 * xi + phi * xi
    return np.stack((start, turn, -start, turn_end), axis=-1) / (1 + phi)[..., None]


def line_share(phi: Array, length: Array) -> Array:
    """Equivalent end loads of a line load that is 1 at one end and falls linearly to 0 at the
    other.

    (…, 2, 4): the first row for 1 at the start, the second for 1 at the end; m and m².
    """
    far = (0.15 + phi / 6) / (1 + phi)
    near = 0.5 - far
    small = (1 / 30 + phi / 24) / (1 + phi)
    large = (1 / 20 + phi / 24) / (1 + phi)
    at_start = np.stack((near, large * length, far, -small * length), axis=-1)
    at_end = np.stack((far, small * length, near, -large * length), axis=-1)
    return np.stack((at_start, at_end), axis=-2) * length[..., None, None]
