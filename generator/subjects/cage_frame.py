"""From the geometry and the tubes of a cage to the frame that is solved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from buildspec.sections.cage import Cage, Support
from generator.formulas import tube as t
from generator.formulas.cage import bend_characteristic, bend_flexibility
from generator.frame.model import Array, Flags, Frame, Indices, reference_directions
from generator.subjects.cage_geometry import Geometry, joint_names, pieces_of_lines
from generator.subjects.cage_stock import Stock, thinning_of, wall_of

MOTIONS: Mapping[str, int] = {"x": 0, "y": 1, "z": 2, "turn_x": 3, "turn_y": 4, "turn_z": 5}


@dataclass(frozen=True, eq=False)
class Sections:
    """The cross-section and material of each of k pieces, (k,), in SI. `wall` is the counted one, less
    the thinning in bends; `line_mass` is that of the nominal wall, per length of the piece: a
    chord carries the mass of its arc. `thinned`: the share that its wall lost in a bend; `radius`:
    that of the bend, inf where it is straight.
    """

    outer: Array
    wall: Array
    modulus: Array
    poisson: Array
    line_mass: Array
    thinned: Array
    radius: Array

    @property
    def bent(self) -> Array:
        """Flexibility characteristics h of bends, inf where a piece is straight; by the wall before
        it was bent, since the whole ring resists flattening, its thicker inside too."""
        whole = self.wall / (1.0 - self.thinned)
        found = bend_characteristic(wall=whole, radius=self.radius, outer=self.outer)
        return np.asarray(found)

    @property
    def softer(self) -> Array:
        """How many times as much as a straight tube each piece gives in bending: over 1 in bends."""
        return np.asarray(np.maximum(1.0, bend_flexibility(bend=self.bent)))

    @property
    def inner(self) -> Array:
        """Inner diameters, m."""
        return self.outer - 2.0 * self.wall


def sections(cage: Cage, geometry: Geometry, stock: Stock) -> Sections:
    """The sections of all pieces."""
    rows = [_row(cage, geometry, stock, n) for n in range(len(geometry.lines))]
    return _of_pieces(geometry, np.array(rows)[geometry.line], np.arange(len(geometry.ends)))


def swapped(
    cage: Cage, geometry: Geometry, stock: Stock, of: Sections, swap: Mapping[int, str]
) -> Sections:
    """The sections `of` all pieces with other listed tubes, by their ids, in some lines."""
    rows = {n: _row(cage, geometry, stock, n, tube) for n, tube in swap.items()}
    some = pieces_of_lines(geometry, rows)
    new = _of_pieces(geometry, np.array([rows[n] for n in geometry.line[some].tolist()]), some)

    def put(name: str) -> Array:
        values = getattr(of, name).copy()
        values[some] = getattr(new, name)
        return np.asarray(values)

    return Sections(*(put(f.name) for f in fields(of)))


def _of_pieces(geometry: Geometry, rows: Array, pieces: Indices) -> Sections:
    """The sections of some pieces from the rows of their lines."""
    outer, wall, thin, modulus, poisson, per_length, radius = rows.T
    bend, ends = geometry.bend[pieces], geometry.position[geometry.ends[pieces]]
    thin, radius = np.where(bend, thin, 0.0), np.where(bend, radius, np.inf)
    straight = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    mass = per_length * (geometry.true_length[pieces] / straight)
    return Sections(outer, wall * (1.0 - thin), modulus, poisson, mass, thin, radius)


def _row(
    cage: Cage, geometry: Geometry, stock: Stock, number: int, other: str = ""
) -> tuple[float, ...]:
    """Outer diameter, counted wall, thinning, E, ν, mass per length and bend radius of one line."""
    line = geometry.lines[number]
    tube = stock.tubes[other or line.tube]
    stuff = stock.stuff[tube.material]
    wall = wall_of(cage, tube).si if other else stock.walls[number].si
    nominal = t.inner_diameter(outer=tube.outer.si, wall=tube.wall.si)
    radius = getattr(line.own, "radius", None)
    return (
        tube.outer.si,
        wall,
        thinning_of(tube, line),
        stuff.modulus.si,
        stuff.poisson.si,
        float(t.line_mass(outer=tube.outer.si, inner=nominal, density=stuff.density.si)),
        np.inf if radius is None else radius.si,
    )


def frame_of(cage: Cage, geometry: Geometry, of: Sections, node_mass: Array) -> Frame:
    """The frame: joints, pieces, supports. `node_mass` (n,) kg is what is fixed to the joints.

    A pinned end passes on no bending moment; torsion it does.
    """
    return Frame(
        nodes=geometry.position,
        ends=geometry.ends,
        reference=reference_directions(geometry.position, geometry.ends),
        released=_released(geometry),
        held=_held(cage, geometry),
        spring=np.zeros((len(geometry.joints), 6)),
        node_mass=node_mass,
        **_stiffness(cage, of),
    )


def stiffened(cage: Cage, frame: Frame, of: Sections) -> Frame:
    """The frame with other cross-sections."""
    return replace(frame, **_stiffness(cage, of))


def _stiffness(cage: Cage, of: Sections) -> dict[str, Any]:
    """What a frame takes from its cross-sections.

    A bend flattens as it is bent, and gives more: its bending stiffness is less, its others are not.
    Shear areas are infinite where the description asks for Euler–Bernoulli beams.
    """
    inner = of.inner
    area = t.area(outer=of.outer, inner=inner)
    second = np.asarray(t.second_moment(outer=of.outer, inner=inner) / of.softer)
    kappa = t.shear_coefficient(outer=of.outer, inner=inner, poisson=of.poisson)
    shear = kappa * area if cage.beams == "timoshenko" else np.full(len(area), np.inf)
    return {
        "modulus": of.modulus,
        "shear_modulus": of.modulus / (2.0 * (1.0 + of.poisson)),
        "area": area,
        "second_y": second,
        "second_z": second,
        "torsion": t.torsion_constant(outer=of.outer, inner=inner),
        "shear_y": shear,
        "shear_z": shear,
        "line_mass": of.line_mass,
    }


def _released(geometry: Geometry) -> Flags:
    """(k, 2, 3): both bending moments at pinned ends."""
    free = np.zeros((len(geometry.ends), 2, 3), dtype=bool)
    for line in geometry.lines:
        free[line.pieces[0], 0, 1:] |= line.pinned_start
        free[line.pieces[-1], 1, 1:] |= line.pinned_end
    return free


def _held(cage: Cage, geometry: Geometry) -> Flags:
    """(n, 6): the motions that supports hold."""
    held = np.zeros((len(geometry.joints), 6), dtype=bool)
    for support in cage.supports:
        at = [geometry.joint(n) for n in joint_names(cage, support.nodes)]
        held[np.ix_(at, _motions(support))] = True
    return held


def _motions(support: Support) -> list[int]:
    if support.motions:
        return [MOTIONS[m] for m in support.motions]
    return [0, 1, 2] if support.held == "pinned" else [0, 1, 2, 3, 4, 5]
