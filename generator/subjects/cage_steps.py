"""The worked steps of one member: every number of its margin, from diameter to verdict."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from generator.formulas import cage as f
from generator.formulas import steel, tube
from generator.frame.model import Array
from generator.subjects.cage_checks import Known, solved_case
from generator.subjects.cage_direct import SOFT
from generator.subjects.cage_members import WORD, Worst
from generator.subjects.cage_strength import PHI, elastic, squeezed
from generator.vocabulary import WorkedStep
from generator.work import Given, work


@dataclass(frozen=True, eq=False)
class Section:
    """One cross-section: sizes m, moduli and strengths Pa, forces N and N·m (6,), largest
    compression of the run N, the factor on it at which the frame buckles. whole: the wall before it
    was bent; radius: of the bend, inf where it is straight; here: yield strength
    there; column: away from welds; limit: what the stress is held against; elastic: F_e."""

    name: str
    outer: float
    wall: float
    modulus: float
    length: float
    unbraced: float
    column: float
    here: float
    least: float
    limit: float
    forces: Array
    pressed: float
    multiple: float
    elastic: float
    whole: float
    radius: float
    ultimate: bool

    @property
    def inner(self) -> float:
        """Inner diameter."""
        return float(tube.inner_diameter(outer=self.outer, wall=self.wall))

    def step(
        self, word: str, title: str, formula: Any, note: str = "", /, **given: Given
    ) -> WorkedStep:
        """One recorded call under this member's id."""
        return work(formula, f"{self.name}.{word}", title, note, **given)

    def sized(
        self, word: str, title: str, formula: Any, note: str = "", /, **given: Given
    ) -> WorkedStep:
        """One recorded call of a formula of both diameters."""
        return self.step(word, title, formula, note, outer=self.outer, inner=self.inner, **given)


def section(k: Known, member: int, w: Worst) -> Section:
    """The cross-section of a member that is used most, in the case that governs."""
    row, p, of = k.s.row[w.case], k.s.pieces, k.model.sections
    ultimate = k.model.cases[w.case].criterion == "ultimate"
    pressed = squeezed(k.s.on.normal[row : row + 1], p.stretch)
    multiple = k.s.multiple[row : row + 1]
    return Section(
        f"{WORD}.member.{k.model.geometry.lines[member].id}.step",
        float(p.outer[w.piece]),
        float(p.wall[w.piece]),
        float(p.modulus[w.piece]),
        float(p.length[w.piece]),
        float(p.unbraced[w.piece]),
        float(p.column[w.piece]),
        float(p.strength[w.piece, w.station]),
        float(p.strength[w.piece].min()),
        float((p.rupture if ultimate else p.strength)[w.piece, w.station]),
        section_forces(k, w),
        float(pressed[0, w.piece]),
        float(multiple[0]),
        float(elastic(p, pressed, multiple)[0, w.piece]),
        float(of.wall[w.piece] / (1.0 - of.thinned[w.piece])),
        float(of.radius[w.piece]),
        ultimate,
    )


def section_forces(k: Known, w: Worst) -> Array:
    """The section forces (6,) where a member is used most."""
    case = solved_case(k, w.case)
    assert case is not None  # it has a worst place
    assert case.design is not None
    return np.asarray(case.design.reshape(-1, 6)[k.s.places.rows[w.piece, w.station]])


def steps(k: Known, member: int, w: Worst) -> tuple[WorkedStep, ...]:
    """The steps of a member where it is used most: both utilisations and the margin."""
    s = section(k, member, w)
    inner = s.step("inner", "Inner diameter", tube.inner_diameter, outer=s.outer, wall=s.wall)
    moment = s.step(
        "moment",
        "Resultant bending moment",
        tube.resultant,
        "Under the factored load, in second order, the frame a fifth softer and out of plumb.",
        first=float(s.forces[4]),
        second=float(s.forces[5]),
    )
    across = s.step(
        "across",
        "Resultant transverse force",
        f.transverse,
        first=float(s.forces[1]),
        second=float(s.forces[2]),
    )
    bend = bend_of(s)
    strong = strength_steps(s, bend, moment.value, across.value)
    stress = stress_steps(s, bend, moment.value, across.value)
    used = (stress, strong)[w.criterion][-1].value
    grows = growth_steps(k, s, w, used)
    share = grows[-1].value if grows else used
    margin = s.step("margin", "Margin", f.margin_of_share, share=share)
    return (inner, moment, across, *bend.steps, *strong, *stress, *grows, margin)


GROWTH = (
    "What second order and leaning add, used alone as given here, grows faster than the load. The factor is "
    "that of the frame's critical load, of a frame a fifth softer, on the factored load."
)


def growth_steps(k: Known, s: Section, w: Worst, used: float) -> tuple[WorkedStep, ...]:
    """By how much the load may grow, where a utilisation under 1 does not tell it."""
    if w.utilisation <= used * (1.0 + 1e-9):
        return ()
    added = float(k.s.added[w.criterion, k.s.row[w.case], w.piece, w.station])
    given = {"share": used, "added": added, "multiple": SOFT * s.multiple}
    return (s.step("grown", "Share of the load that may act", f.grown_share, GROWTH, **given),)


# ------------------------------------------------------------------------ bends


@dataclass(frozen=True, eq=False)
class Bend:
    """How a bend flattens: its steps, and its indices by limit moment and by peak stress, 1 where it
    does not, or where the tube is straight."""

    steps: tuple[WorkedStep, ...] = ()
    limit: float = 1.0
    peak: float = 1.0


SOFTENED = "The frame is solved with the bending stiffness of the arc divided by it."


def bend_of(s: Section) -> Bend:
    """The bend that a cross-section lies in. What comes out under 1 is no step: 1 counts there."""
    if not math.isfinite(s.radius):
        return Bend()
    h = s.step(
        "characteristic",
        "Flexibility characteristic of the bend",
        f.bend_characteristic,
        "By the wall as counted before it was bent.",
        wall=s.whole,
        radius=s.radius,
        outer=s.outer,
    )
    k = s.step("flexibility", "Flexibility of the bend", f.bend_flexibility, SOFTENED, bend=h.value)
    limit = s.step("limit", "Index by limit moment", f.bend_limit_index, bend=h.value)
    peak = s.step("peak", "Index by peak stress", f.bend_stress_index, bend=h.value)
    counted = (k, limit) if s.ultimate else (k, limit, peak)
    shown = tuple(step for step in counted if step.value > 1.0)
    return Bend((h, *shown), max(limit.value, 1.0), max(peak.value, 1.0))


# ------------------------------------------------------------------------ stress


def stress_steps(s: Section, bend: Bend, moment: float, across: float) -> tuple[WorkedStep, ...]:
    """The peak stress and its utilisation, which stands last."""
    n, t = float(s.forces[0]), float(s.forces[3])
    axial = s.sized("axial", "Axial stress", tube.axial_stress, force=n)
    bending = bending_steps(s, bend, moment)
    twist = s.sized("twist", "Torsional shear stress", tube.torsion_stress, moment=t)
    shear = s.sized("shear", "Transverse shear stress", tube.transverse_stress, force=across)
    peak = s.step(
        "stress",
        "Equivalent stress, a bound from above",
        tube.von_mises,
        "Normal stresses added at one fibre, and all shear on top of it there.",
        normal=abs(axial.value) + bending[-1].value,
        shear=abs(twist.value) + shear.value,
    )
    use = s.step(
        "stress_share",
        "Utilisation by stress at the wall",
        f.stress_share,
        stress=peak.value,
        strength=s.limit,
    )
    return axial, *bending, twist, shear, peak, use


def bending_steps(s: Section, bend: Bend, moment: float) -> tuple[WorkedStep, ...]:
    """The bending stress, which stands last: in a bend more than that of a straight tube."""
    plain = s.sized("bending", "Bending stress", tube.bending_stress, moment=moment)
    index = bend.limit if s.ultimate else bend.peak
    if index <= 1.0:
        return (plain,)
    note = (
        "By limit moment, since yielding is permitted; the peak elastic stress is higher."
        if s.ultimate
        else "By peak stress, since nothing may be bent afterwards; the bend as a whole gives way later."
    )
    return plain, s.step(
        "bent", "Bending stress in the bend", f.bent_stress, note, index=index, bending=plain.value
    )


# ------------------------------------------------------------------------ AISC 360


def strength_steps(s: Section, bend: Bend, moment: float, across: float) -> tuple[WorkedStep, ...]:
    """The member's strength by AISC 360 and its utilisation, which stands last."""
    area = s.sized("area", "Area", tube.area)
    thin = s.step("thinness", "Thinness", steel.thinness, outer=s.outer, wall=s.wall)
    axial = axial_steps(s, area.value, thin.value)
    bent = bent_steps(s, bend, thin.value)
    flexure = s.step(
        "flexure_share",
        "Share of flexural strength",
        f.flexure_share,
        moment=moment,
        phi=PHI,
        strength=bent[-1].value,
    )
    sheared = shear_steps(s, area.value, thin.value, across)
    twisted = torsion_steps(s, thin.value)
    shares = (axial[-1].value, flexure.value, sheared[-1].value, twisted[-1].value)
    return (
        area,
        thin,
        *axial,
        *bent,
        flexure,
        *sheared,
        *twisted,
        *combined_steps(s, *shares),
    )


def axial_steps(s: Section, area: float, thin: float) -> tuple[WorkedStep, ...]:
    """Share of axial strength: the larger of that of the column and of the section."""
    whole = s.step(
        "yielding",
        "Axial strength of the section",
        steel.tensile_strength,
        strength=s.here,
        area=area,
    )
    column = column_steps(s, area, thin) if s.pressed > 0.0 else ()
    force, strength = abs(float(s.forces[0])), whole.value
    if column and s.pressed / column[-1].value >= force / strength:
        force, strength = s.pressed, column[-1].value
    share = s.step(
        "axial_share",
        "Share of axial strength",
        f.axial_share,
        "The larger of that of the column under the run's largest compression, and of the section.",
        force=force,
        phi=PHI,
        strength=strength,
    )
    return (*column, whole, share)


def column_steps(s: Section, area: float, thin: float) -> tuple[WorkedStep, ...]:
    """Nominal compressive strength of the run between joints, which stands last."""
    euler = elastic_steps(s, area)
    stress = column_stress(s, euler[-1].value)
    whole = effective(s, area, thin)
    strength = s.step(
        "compression",
        "Compressive strength",
        steel.compressive_strength,
        stress=stress.value,
        area=whole[-1].value if whole else area,
    )
    return (*euler, stress, *whole, strength)


BETWEEN = "The length is that between joints where other tubes meet, times its factor K."
ONE_PLANE = (
    "The length, times its factor K, runs on past joints that other tubes brace in one plane only."
)
BY_FRAME = (
    "A joint on the way is braced in one plane only. No column buckles before the whole frame does, "
    "and that takes this many times the load."
)


def elastic_steps(s: Section, area: float) -> tuple[WorkedStep, ...]:
    """The elastic buckling stress by what decides it, which stands last: the length between joints,
    a longer one, or the whole frame."""
    by_frame = s.multiple * s.pressed / area
    if abs(by_frame - s.elastic) <= 1e-9 * s.elastic:
        given = {"multiple": s.multiple, "force": s.pressed, "area": area}
        return (s.step("euler", "Elastic buckling stress", f.stress_of_frame, BY_FRAME, **given),)
    gyration = s.sized("gyration", "Radius of gyration", tube.radius_of_gyration)
    plain = steel.elastic_buckling_stress(modulus=s.modulus, slender=s.length / gyration.value)
    whole = abs(plain - s.elastic) <= 1e-9 * s.elastic
    slender = s.step(
        "slenderness",
        "Slenderness",
        steel.slenderness,
        BETWEEN if whole else ONE_PLANE,
        factor=1.0,
        length=s.length if whole else s.unbraced,
        gyration=gyration.value,
    )
    euler = s.step(
        "euler",
        "Elastic buckling stress",
        steel.elastic_buckling_stress,
        modulus=s.modulus,
        slender=slender.value,
    )
    return gyration, slender, euler


def column_stress(s: Section, euler: float) -> WorkedStep:
    """Critical stress of the column by the branch that holds."""
    title = "Critical stress of the column"
    if s.column / euler <= 2.25:
        return s.step("column", title, steel.inelastic_column, strength=s.column, elastic=euler)
    return s.step("column", title, steel.elastic_column, elastic=euler)


def effective(s: Section, area: float, thin: float) -> tuple[WorkedStep, ...]:
    """The reduced area, where the wall is so thin that it counts."""
    if thin <= 0.11 * s.modulus / s.column:
        return ()
    given = {"modulus": s.modulus, "strength": s.column, "thin": thin, "area": area}
    return (s.step("effective", "Effective area", steel.reduced_area, **given),)


def bent_steps(s: Section, bend: Bend, thin: float) -> tuple[WorkedStep, ...]:
    """Nominal flexural strength, which stands last: in a bend less than that of a straight tube."""
    straight = flexural_steps(s, thin)
    if bend.limit <= 1.0:
        return straight
    given = {"strength": straight[-1].value, "index": bend.limit}
    return *straight, s.step(
        "bent_flexural", "Flexural strength in the bend", f.bent_strength, **given
    )


def flexural_steps(s: Section, thin: float) -> tuple[WorkedStep, ...]:
    """Nominal flexural strength by the wall's class, which stands last."""
    title = "Flexural strength"
    kind = steel.wall_class(modulus=s.modulus, strength=s.here, thin=thin)
    if kind == "compact":
        z = s.sized("plastic", "Plastic modulus", tube.plastic_modulus)
        whole = {"strength": s.here, "plastic": z.value}
        return z, s.step("flexural", title, steel.plastic_moment, **whole)
    e = s.sized("elastic", "Elastic modulus", tube.elastic_modulus)
    given = {"modulus": s.modulus, "thin": thin, "elastic": e.value}
    if kind == "noncompact":
        return e, s.step("flexural", title, steel.noncompact_moment, strength=s.here, **given)
    return e, s.step("flexural", title, steel.slender_moment, **given)


def shear_steps(s: Section, area: float, thin: float, across: float) -> tuple[WorkedStep, ...]:
    """Share of shear strength, which stands last."""
    given = {"modulus": s.modulus, "length": s.length, "outer": s.outer, "thin": thin}
    stress = steel.shear_stress(strength=s.least, **given)
    strength = s.step(
        "shear_strength",
        "Shear strength",
        steel.shear_strength,
        "The critical stress is the larger of Eqs. G5-2a and G5-2b, at most 0.6 of the yield strength.",
        stress=float(stress),
        area=area,
    )
    share = s.step(
        "shear_share",
        "Share of shear strength",
        f.shear_share,
        force=across,
        phi=PHI,
        strength=strength.value,
    )
    return strength, share


def torsion_steps(s: Section, thin: float) -> tuple[WorkedStep, ...]:
    """Share of torsional strength, which stands last."""
    given = {"modulus": s.modulus, "length": s.length, "outer": s.outer, "thin": thin}
    stress = steel.torsion_critical(strength=s.least, **given)
    exact = 2 * tube.elastic_modulus(outer=s.outer, inner=s.inner)
    constant = min(float(steel.torsional_constant(outer=s.outer, wall=s.wall)), float(exact))
    strength = s.step(
        "torsional",
        "Torsional strength",
        steel.torsional_strength,
        "The constant is the smaller of the code's and the exact one; the critical stress the "
        "larger of Eqs. H3-2a and H3-2b, at most 0.6 of the yield strength.",
        stress=float(stress),
        constant=constant,
    )
    share = s.step(
        "torsion_share",
        "Share of torsional strength",
        f.torsion_share,
        moment=abs(float(s.forces[3])),
        phi=PHI,
        strength=strength.value,
    )
    return strength, share


def combined_steps(
    s: Section, axial: float, flexure: float, shear: float, torsion: float
) -> tuple[WorkedStep, ...]:
    """The member's utilisation, which stands last: by H1, or by H3 where torsion counts."""
    shares = {"axial": axial, "flexure": flexure}
    pair = (steel.interaction_high, steel.interaction_low)
    h1 = s.step(
        "combined",
        "Utilisation of the member, axial force and bending",
        max(pair, key=lambda one: float(one(**shares))),
        "Of both equations of H1 the one that gives more, so that it is in proportion to the forces.",
        **shares,
    )
    plain = max(h1.value, shear, torsion)
    if torsion <= f.TORSION_COUNTS * plain:
        return (h1,)
    both = s.step(
        "twisted", "With torsion", f.twisted_share, shear=shear, torsion=torsion, **shares
    )
    begins = s.step("begins", "Where torsion begins to count", f.torsion_begins, torsion=torsion)
    lower = min((both, begins), key=lambda step: step.value)
    higher = both if lower is begins else begins
    return (h1, higher, lower) if lower.value >= plain else (higher, lower, h1)
