"""How far tubes are from their strength: stress at the wall, and AISC 360 for the whole member.

Everything works on arrays over load cases, pieces and stations (c, p, s). A utilisation is the share
of strength that the forces take, in proportion to them: 1 is the limit, and 1 / utilisation is how
many times as large the forces may be. By how much the loads may grow, `grown` says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from generator.formulas import steel, tube
from generator.formulas.cage import (
    bend_limit_index,
    bend_stress_index,
    bent_strength,
    bent_stress,
    grown_share,
    torsion_begins,
    transverse,
    twisted_share,
)
from generator.frame.model import Array, Flags, Indices

PHI = steel.RESISTANCE


@dataclass(frozen=True, eq=False)
class Pieces:
    """Straight pieces of tube, one row each; every length in m, stress in Pa.

    outer, wall, modulus (p,); length (p,): unsupported length with its effective length factor;
    unbraced (p,): the same where braces in one plane end no length;
    stretch (p,): which unsupported stretch the piece is part of; member (p,): which member;
    strength (p, s): yield strength at the stations, that of the weld zone where they lie in one;
    column (p,): yield strength away from welds, which governs a column;
    rupture (p, s): tensile strength, as `strength`; bent (p,): flexibility characteristic h of a
    bend, inf where the piece is straight.
    """

    outer: Array
    wall: Array
    modulus: Array
    length: Array
    unbraced: Array
    stretch: Indices
    member: Indices
    strength: Array
    column: Array
    rupture: Array
    bent: Array

    def only(self, some: Indices) -> Pieces:
        """Some of the pieces, whole members."""
        return Pieces(*(getattr(self, f.name)[some] for f in fields(self)))

    @property
    def inner(self) -> Array:
        """Inner diameter (p,)."""
        return np.asarray(tube.inner_diameter(outer=self.outer, wall=self.wall))

    @property
    def area(self) -> Array:
        """Area of the cross-section (p,)."""
        return np.asarray(tube.area(outer=self.outer, inner=self.inner))

    @property
    def limit(self) -> Array:
        """By how much a bend bears a smaller moment than a straight tube (p,), 1 at least."""
        return np.asarray(np.maximum(1.0, bend_limit_index(bend=self.bent)))

    @property
    def peak(self) -> Array:
        """By how much a moment stresses a bend more than a straight tube (p,), 1 at least."""
        return np.asarray(np.maximum(1.0, bend_stress_index(bend=self.bent)))

    def euler(self, length: Array) -> Array:
        """Elastic buckling stress (p,) over an effective length (p,)."""
        gyration = tube.radius_of_gyration(outer=self.outer, inner=self.inner)
        slender = length / gyration
        return np.asarray(steel.elastic_buckling_stress(modulus=self.modulus, slender=slender))


@dataclass(frozen=True, eq=False)
class Capacity:
    """Design strengths, φ included. effective (p,) m²: area that counts in compression; tension
    (p, s) N; moment (p, s) N·m; shear, torque (p,) N, N·m; slender (p,) KL/r; outside (p,): the
    wall is too thin for the code.
    """

    effective: Array
    tension: Array
    moment: Array
    shear: Array
    torque: Array
    slender: Array
    outside: Flags


@dataclass(frozen=True, eq=False)
class Acting:
    """What acts at the stations, each (c, p, s): axial force, tension positive, and resultant transverse
    force in N; size of the torsion and resultant bending moment in N·m."""

    normal: Array
    across: Array
    twist: Array
    moment: Array


@dataclass(frozen=True, eq=False)
class Use:
    """The equivalent stress at the wall (c, p, s) Pa, and of both criteria, (2, c, p, s), the
    utilisation: of the strength by stress, and of the member's by AISC 360."""

    stress: Array
    both: Array


@dataclass(frozen=True, eq=False)
class Stations:
    """Where forces are judged: at (p, s), shares of each piece's length, and the rows of these among
    all stations that they are taken from, piece after piece (p, s). A quarter's end is the next
    one's start, and counts once."""

    at: Array
    rows: Indices

    def only(self, some: Indices) -> Stations:
        """Those of some pieces."""
        return Stations(self.at[some], self.rows[some])

    def components(self, cases: Sequence[Array]) -> Array:
        """Section forces (6, c, p, s) of cases that have them for all stations, (p, s', 6): each kind
        of force stands together."""
        every = np.empty((6, len(cases), *self.at.shape))
        for n, forces in enumerate(cases):
            every[:, n] = np.take(np.moveaxis(forces, -1, 0).reshape(6, -1), self.rows, axis=1)
        return every


def stations_of(at: Array) -> Stations:
    """The stations to judge at among all, `at` (p, s') in rising order: as many for each piece as the
    one with the most needs, the last one more than once where a piece needs fewer."""
    new = np.ones(at.shape, dtype=bool)
    new[:, 1:] = at[:, 1:] > at[:, :-1]
    rows = np.full((len(at), int(new.sum(axis=1).max(initial=1))), at.shape[1] - 1)
    piece, station = np.nonzero(new)
    rows[piece, (np.cumsum(new, axis=1) - 1)[piece, station]] = station
    return Stations(
        np.take_along_axis(at, rows, axis=1), rows + at.shape[1] * np.arange(len(at))[:, None]
    )


def acting(of: Array) -> Acting:
    """What acts, from section forces (6, c, p, s)."""
    n, vy, vz, t, my, mz = of
    moment = tube.resultant(first=my, second=mz)
    return Acting(n, np.asarray(transverse(first=vy, second=vz)), np.abs(t), np.asarray(moment))


def capacity(of: Pieces) -> Capacity:
    """Design strengths of every piece (AISC 360 E3 and E7, D2, F8, G5, H3)."""
    d, t, e, fy = of.outer, of.wall, of.modulus, of.column
    sizes = {"outer": d, "inner": of.inner}
    thin, whole = steel.thinness(outer=d, wall=t), tube.area(**sizes)
    slender = of.length / tube.radius_of_gyration(**sizes)
    effective = steel.effective_area(modulus=e, strength=fy, thin=thin, area=whole)
    least = of.strength.min(axis=1)
    sheared = steel.shear_stress(modulus=e, strength=least, length=of.length, outer=d, thin=thin)
    twisted = steel.torsion_critical(
        modulus=e, strength=least, length=of.length, outer=d, thin=thin
    )
    constant = np.minimum(
        steel.torsional_constant(outer=d, wall=t), 2 * tube.elastic_modulus(**sizes)
    )
    return Capacity(
        effective=np.asarray(effective),
        tension=PHI * steel.tensile_strength(strength=of.strength, area=whole[:, None]),
        moment=PHI * _moment(of, thin),
        shear=PHI * steel.shear_strength(stress=sheared, area=whole),
        torque=PHI * steel.torsional_strength(stress=twisted, constant=constant),
        slender=np.asarray(slender),
        outside=np.asarray(thin * fy / e >= steel.LAMBDA_OUTSIDE),
    )


def _moment(of: Pieces, thin: Array) -> Array:
    """Nominal flexural strength (p, s), in bends that of a tube that flattens."""
    sizes = {"outer": of.outer[:, None], "inner": of.inner[:, None]}
    straight = steel.flexural_strength(
        modulus=of.modulus[:, None],
        strength=of.strength,
        thin=thin[:, None],
        elastic=tube.elastic_modulus(**sizes),
        plastic=tube.plastic_modulus(**sizes),
    )
    return np.asarray(bent_strength(strength=straight, index=of.limit[:, None]))


def peak_stress(of: Pieces, on: Acting, ultimate: Flags) -> Array:
    """Equivalent stress (c, p, s) Pa that bounds the wall's from above.

    Axial and bending stress add at one fibre, torsion and the peak of transverse shear to each
    other, and both are taken there. A bend is stressed by its peak elastic stress where nothing may
    yield, by its limit moment where the metal may (`ultimate` (c,))."""
    sizes = {"outer": of.outer, "inner": of.inner}
    index = np.where(ultimate[:, None], of.limit, of.peak)
    bending = bent_stress(index=index, bending=tube.bending_stress(moment=1.0, **sizes))
    axial = tube.axial_stress(force=1.0, **sizes)[:, None]
    normal = np.abs(on.normal) * axial + on.moment * bending[:, :, None]
    twist = tube.torsion_stress(moment=1.0, **sizes)[:, None]
    across = tube.transverse_stress(force=1.0, **sizes)[:, None]
    return np.asarray(tube.von_mises(normal=normal, shear=on.twist * twist + on.across * across))


def squeezed(normal: Array, stretch: Indices) -> Array:
    """The largest compression of each piece's whole stretch, (c, p) N; 0 where it is pulled.

    `normal` (c, p, s): axial force, tension positive. The pieces of a stretch stand in one row.
    """
    first = begins(stretch)
    most = np.maximum(-over_rows(np.minimum, normal, first), 0.0)
    return np.repeat(most, np.diff(first, append=len(stretch)), axis=1)


def begins(rows: Indices) -> Indices:
    """Where each row of pieces (p,) with one number begins, (r,)."""
    new = np.ones(len(rows), dtype=bool)
    new[1:] = rows[1:] != rows[:-1]
    return np.flatnonzero(new)


def over_rows(best: np.ufunc, values: Array, first: Indices) -> Array:
    """What `best`, a maximum or minimum, makes of values (…, p, s) in each row of pieces; `first`
    (r,) begin one: (…, r)."""
    *kinds, pieces, stations = values.shape
    flat = values.reshape(*kinds, pieces * stations)
    return np.asarray(best.reduceat(flat, first * stations, axis=-1))


def elastic(of: Pieces, pressed: Array, multiple: Array) -> Array:
    """Elastic buckling stress F_e of every piece as part of its column, (c, p) Pa.

    pressed (c, p) N: the largest compression of its stretch; multiple (c,): the factor on these
    forces at which the whole frame buckles. No column buckles before the frame does: F_e is that
    stress at least. Beyond that, a brace in one plane ends no length, and no column counts for more
    than it bears between joints with its stated K.
    """
    known = np.where(np.isfinite(multiple), multiple, 0.0)
    frame = known[:, None] * pressed / of.area
    return np.asarray(np.minimum(of.euler(of.length), np.maximum(of.euler(of.unbraced), frame)))


def compression(of: Pieces, has: Capacity, pressed: Array, multiple: Array) -> Array:
    """Design strength in compression, (c, p) N (AISC 360 E3 and E7)."""
    stress = steel.column_stress(strength=of.column, elastic=elastic(of, pressed, multiple))
    return np.asarray(PHI * stress * has.effective)


def use(
    of: Pieces,
    has: Capacity,
    on: Acting,
    *,
    ultimate: Flags,
    multiple: Array,
    part_of: Acting | None = None,
) -> Use:
    """Utilisations under what acts; `ultimate` (c,): which cases may yield; `multiple` (c,): the
    factor on the forces at which the frame buckles; `part_of`: the forces that these are a part of,
    None where they are all, which columns have their strength by."""
    stress = peak_stress(of, on, ultimate)
    pressed = squeezed(on.normal, of.stretch)
    whole = squeezed(part_of.normal, of.stretch) if part_of else pressed
    column = pressed / compression(of, has, whole, multiple)
    axial = np.maximum(np.abs(on.normal) / has.tension, column[:, :, None])
    shear, torsion = on.across / has.shear[:, None], on.twist / has.torque[:, None]
    both = np.empty((2, *stress.shape))
    limits = np.stack((of.strength, of.rupture))
    np.divide(stress, limits[ultimate.astype(np.intp)], out=both[0])
    both[1] = taken(axial, on.moment / has.moment, shear, torsion)
    return Use(stress, both)


NOTHING = 1e-9
"""A utilisation under this is rounding: the tube carries nothing."""


def grown(used: Array, added: Array, soft: Array) -> Array:
    """Inverse of the factors by which loads may grow until utilisations `used` (…, c, p, s) reach 1.

    `added`: what second order and leaning alone would use; soft (c,): the factor on the load at which
    the softer frame buckles. They are `used` where that is 1 or more, so that verdicts stay.
    """
    can = np.isfinite(soft) & (soft > 1.0)
    multiple = np.where(can, soft, 2.0)[:, None, None]
    share = np.asarray(grown_share(share=used, added=added, multiple=multiple))
    grows = (used < 1.0) & (added > NOTHING) & can[:, None, None]
    return np.where(grows, np.clip(share, used, 1.0), used)


def taken(axial: Array, flexure: Array, shear: Array, torsion: Array) -> Array:
    """AISC 360's combined utilisation (H1, H3) in proportion to the forces.

    The code's own ratio is not in proportion away from 1. This one is: under forces 1 / taken times
    as large the code's ratio is 1, or passes it in the jump that H3-6 makes at 20 % torsion.
    """
    high = steel.interaction_high(axial=axial, flexure=flexure)
    low = steel.interaction_low(axial=axial, flexure=flexure)
    plain = np.maximum(np.maximum(high, low), np.maximum(shear, torsion))
    both = twisted_share(axial=axial, flexure=flexure, shear=shear, torsion=torsion)
    begins = torsion_begins(torsion=torsion)  # no more than `plain` where torsion does not count
    return np.asarray(np.maximum(plain, np.minimum(both, begins)))
