"""Strength of round tube against worked examples of the AISC Design Examples, in kip and in."""

from __future__ import annotations

import math

import pytest

from generator.formulas import steel, tube
from tests.published.row import Row, Status, disagreements

V16 = "AISC Design Examples v16.0, example {}, as converted in a public repository"
V14 = "AISC Design Examples v14.0, example G.5, as quoted on a Bentley help page"
E1A = "AISC Design Examples, example E.1A (W14x132), as quoted in a public repository"
E = 29000.0
STEPS = "the example rounds every step to three digits"


def row(  # noqa: PLR0917  (the columns of a table)
    case: str,
    source: str,
    printed: float,
    closed: float,
    ours: float,
    tolerance: float,
    *,
    unit: str = "",
    status: Status = "read",
    reason: str = STEPS,
) -> Row:
    return Row(
        case=case,
        source=source,
        status=status,
        printed=printed,
        closed_form=closed,
        ours=float(ours),
        tolerance=tolerance,
        reason=reason,
        unit=unit,
        exactness=1e-12,
    )


def column_rows() -> list[Row]:
    """E.1A is no tube, but E3 asks for slenderness alone; E.11 is a pipe of 30 ft, K 1."""
    rows = []
    for name, source, status, strength, length, r, a, printed in (
        ("E.1A", E1A, "read in a transcription", 50.0, 360.0, 3.76, 38.8, (95.7, 31.2, 25.6, 993)),
        ("E.11", V16.format("E.11"), "read", 35.0, 360.0, 3.68, 11.5, (97.8, 29.9, 21.4, 246)),
    ):
        ratio = length / r
        fe = math.pi**2 * E / ratio**2
        fn = strength * math.exp(math.log(0.658) * strength / fe)
        ours = steel.slenderness(factor=1.0, length=length, gyration=r)
        ours_fe = steel.elastic_buckling_stress(modulus=E, slender=ours)
        ours_fn = steel.column_stress(strength=strength, elastic=ours_fe)
        ours_pn = steel.compressive_strength(stress=ours_fn, area=a)
        known: Status = "read" if status == "read" else "read in a transcription"
        rows += [
            row(f"{name}, KL/r", source, printed[0], ratio, ours, 0.05, status=known),
            row(
                f"{name}, elastic buckling stress",
                source,
                printed[1],
                fe,
                ours_fe,
                0.05,
                unit="ksi",
                status=known,
            ),
            row(
                f"{name}, critical stress",
                source,
                printed[2],
                fn,
                ours_fn,
                0.05,
                unit="ksi",
                status=known,
            ),
            row(
                f"{name}, nominal strength",
                source,
                printed[3],
                fn * a,
                ours_pn,
                0.003 * printed[3],
                unit="kip",
                status=known,
            ),
        ]
    limit = steel.transition_slenderness(modulus=E, strength=35.0)
    rows.append(
        row(
            "E.11, slenderness at the transition",
            V16.format("E.11"),
            136,
            4.71 * math.sqrt(E / 35),
            limit,
            0.5,
        )
    )
    return rows


def flexure_rows() -> list[Row]:
    source = V16.format("F.9")
    moment = (
        steel.flexural_strength(modulus=E, strength=35.0, thin=18.5, elastic=23.1, plastic=31.0)
        / 12
    )
    return [
        row(
            "F.9, compact limit of D/t",
            source,
            58.0,
            0.07 * E / 35,
            steel.LAMBDA_COMPACT * E / 35.0,
            0.05,
        ),
        row("F.9, nominal moment", source, 90.4, 35 * 31 / 12, moment, 0.05, unit="kip-ft"),
        row(
            "F.9, φ × moment",
            source,
            81.4,
            0.9 * 35 * 31 / 12,
            steel.RESISTANCE * moment,
            0.05,
            unit="kip-ft",
        ),
        row(
            "F.9, moment / Ω",
            source,
            54.1,
            35 * 31 / 12 / 1.67,
            moment / steel.SAFETY,
            0.05,
            unit="kip-ft",
        ),
    ]


def torsion_rows() -> list[Row]:
    """HSS5.000x0.250 of 14 ft; with the example's printed D/t of 21.5 and C of 7.95 in³."""
    source = V16.format("H.5B")
    ratio = 168.0 / 5.0
    long = steel.torsion_buckling_long(modulus=E, length=168.0, outer=5.0, thin=21.5)
    short = steel.torsion_buckling_short(modulus=E, thin=21.5)
    critical = steel.torsion_critical(modulus=E, strength=50.0, length=168.0, outer=5.0, thin=21.5)
    strength = steel.torsional_strength(stress=critical, constant=7.95)
    exact = 2 * float(tube.torsion_constant(outer=5.0, inner=5.0 - 2 * 0.233)) / 5.0
    return [
        row(
            "H.5B, Eq. H3-2a",
            source,
            133,
            1.23 * E * ratio**-0.5 * 21.5**-1.25,
            long,
            0.5,
            unit="ksi",
        ),
        row("H.5B, Eq. H3-2b", source, 175, 0.6 * E * 21.5**-1.5, short, 0.5, unit="ksi"),
        row("H.5B, critical stress", source, 30.0, 0.6 * 50, critical, 0.05, unit="ksi"),
        row("H.5B, nominal torsion", source, 239, 30 * 7.95, strength, 0.6, unit="kip-in"),
        row(
            "H.5B, φ × torsion",
            source,
            215,
            0.9 * 30 * 7.95,
            steel.RESISTANCE * strength,
            0.5,
            unit="kip-in",
        ),
        row(
            "H.5B, torsion / Ω",
            source,
            143,
            30 * 7.95 / 1.67,
            strength / steel.SAFETY,
            0.5,
            unit="kip-in",
        ),
        row(
            "H.5B, tabulated C is 2J/D",
            source,
            7.95,
            math.pi / 16 * (5**4 - 4.534**4) / 5,
            exact,
            0.005,
            unit="in³",
            reason="half a unit of the last digit printed",
        ),
    ]


def shear_rows() -> list[Row]:
    """HSS16.000x0.375, 32 ft span, half of it to zero shear; A 17.2 in²."""
    thin = 16.0 / 0.349
    long = steel.shear_buckling_long(modulus=E, length=192.0, outer=16.0, thin=thin)
    short = steel.shear_buckling_short(modulus=E, thin=thin)
    critical = steel.shear_stress(modulus=E, strength=42.0, length=192.0, outer=16.0, thin=thin)
    strength = steel.shear_strength(stress=critical, area=17.2)
    kind: Status = "read in a transcription"
    return [
        row(
            "G.5, Eq. G5-2a",
            V14,
            112,
            1.6 * E * 12**-0.5 * thin**-1.25,
            long,
            0.5,
            unit="ksi",
            status=kind,
        ),
        row(
            "G.5, Eq. G5-2b", V14, 72.9, 0.78 * E * thin**-1.5, short, 0.05, unit="ksi", status=kind
        ),
        row("G.5, critical stress", V14, 25.2, 0.6 * 42, critical, 0.05, unit="ksi", status=kind),
        row(
            "G.5, nominal shear",
            V14,
            217,
            0.6 * 42 * 17.2 / 2,
            strength,
            0.5,
            unit="kip",
            status=kind,
        ),
        row(
            "G.5, φ × shear",
            V14,
            195,
            0.9 * 0.6 * 42 * 17.2 / 2,
            steel.RESISTANCE * strength,
            0.5,
            unit="kip",
            status=kind,
        ),
        row(
            "G.5, shear / Ω",
            V14,
            130,
            0.6 * 42 * 17.2 / 2 / 1.67,
            strength / steel.SAFETY,
            0.5,
            unit="kip",
            status=kind,
        ),
    ]


def combined_rows() -> list[Row]:
    """H.1B: W14x99 in two-axis bending; H.5C: HSS in torsion, shear and bending (Eq. H3-6)."""
    two, three = V16.format("H.1B"), V16.format("H.5C")
    rows = []
    for name, p, m, printed in (
        ("LRFD", 400 / 1130, 250 / 642 + 80 / 311, 0.929),
        ("ASD", 267 / 750, 167 / 427 + 53.3 / 207, 0.933),
    ):
        rows.append(
            row(
                f"H.1B, {name}",
                two,
                printed,
                p + 8 / 9 * m,
                steel.interaction(axial=p, flexure=m),
                6e-4,
                reason="three digits",
            )
        )
    for name, m, v, q, printed in (
        ("at the support, LRFD", 0.0, 11.0 / 66.7, 66.2 / 273, 0.166),
        ("at the support, ASD", 0.0, 7.36 / 44.4, 44.2 / 181, 0.168),
        ("where torsion is 20 %, LRFD", 84.6 / 384, 9.07 / 66.7, 0.20, 0.333),
        ("where torsion is 20 %, ASD", 58.2 / 256, 6.03 / 44.4, 0.20, 0.340),
    ):
        ours = steel.interaction_torsion(axial=0.0, flexure=m, shear=v, torsion=q)
        rows.append(
            row(
                f"H.5C, {name}", three, printed, m + (v + q) ** 2, ours, 6e-4, reason="three digits"
            )
        )
    return rows


LIBRARY = "pyaisc360 0.1.1 (MIT, AISC 360-16), run once, for want of a worked example in print"
TUBES = (
    # outer, wall, KL in; Fy ksi; P kip, M kip-in; printed: φ Pn kip, φ Mn kip-in, H1-1
    ("H1-1a, compact", 1.75, 0.095, 24.0, 75.0, 12.0, 9.0, (27.74, 17.583, 0.88757)),
    ("H1-1a, slender column", 1.25, 0.058, 40.0, 75.0, 1.5, 3.0, (5.4596, 5.5671, 0.75375)),
    ("H1-1b, noncompact wall", 2.5, 0.065, 30.0, 75.0, 4.0, 14.0, (29.381, 24.119, 0.64852)),
    ("H1-1a, pipe 2 Std", 2.375, 0.143, 60.0, 35.0, 8.0, 10.0, (23.524, 22.471, 0.73564)),
)


def by_hand(  # noqa: PLR0917  (the columns of a table)
    outer: float, wall: float, length: float, strength: float, p: float, m: float
) -> tuple[float, float, float]:
    """φ Pn, φ Mn and the sum of H1-1 for a tube, the equations worked out in their places."""
    inner = outer - 2 * wall
    a, i = math.pi / 4 * (outer**2 - inner**2), math.pi / 64 * (outer**4 - inner**4)
    fe = math.pi**2 * E / (length**2 * a / i)
    fn = 0.877 * fe if strength > 2.25 * fe else strength * 0.658 ** (strength / fe)
    noncompact = outer / wall > 0.07 * E / strength
    local = (0.021 * E * wall / outer + strength) * 2 * i / outer if noncompact else math.inf
    pc, mc = 0.9 * a * fn, 0.9 * min(strength * (outer**3 - inner**3) / 6, local)
    whole = p / pc + 8 / 9 * m / mc if p / pc >= 0.2 else p / pc / 2 + m / mc
    return pc, mc, whole


def ours_of(  # noqa: PLR0917  (the columns of a table)
    outer: float, wall: float, length: float, strength: float, p: float, m: float
) -> tuple[float, float, float]:
    """The same by the program's formulas."""
    inner = tube.inner_diameter(outer=outer, wall=wall)
    area = tube.area(outer=outer, inner=inner)
    slender = steel.slenderness(
        factor=1.0, length=length, gyration=tube.radius_of_gyration(outer=outer, inner=inner)
    )
    stress = steel.column_stress(
        strength=strength, elastic=steel.elastic_buckling_stress(modulus=E, slender=slender)
    )
    pc = steel.RESISTANCE * steel.compressive_strength(stress=stress, area=area)
    mc = steel.RESISTANCE * steel.flexural_strength(
        modulus=E,
        strength=strength,
        thin=steel.thinness(outer=outer, wall=wall),
        elastic=tube.elastic_modulus(outer=outer, inner=inner),
        plastic=tube.plastic_modulus(outer=outer, inner=inner),
    )
    return float(pc), float(mc), float(steel.interaction(axial=p / pc, flexure=m / mc))


def tube_rows() -> list[Row]:
    """Round tubes under compression and bending at once, from their sizes to the sum of H1-1."""
    return [
        row(
            f"{case}: {what}",
            LIBRARY,
            printed[n],
            by_hand(*of)[n],
            ours_of(*of)[n],
            half,
            unit=unit,
            reason="half of the last digit kept",
        )
        for case, *of, printed in TUBES
        for n, (what, unit, half) in enumerate(
            (("φ Pn", "kip", 5e-4), ("φ Mn", "kip-in", 5e-4), ("sum", "", 5e-6))
        )
    ]


ROWS: tuple[Row, ...] = (
    *column_rows(),
    *flexure_rows(),
    *torsion_rows(),
    *shear_rows(),
    *combined_rows(),
    *tube_rows(),
)


@pytest.mark.parametrize("one", ROWS, ids=lambda r: r.case)
def test_published(one: Row) -> None:
    assert disagreements(one) == ()
