"""What the subject `cage` says in words: cautions, assumptions, open items."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from buildspec.sections.cage_lines import joints, other_side
from generator.formulas import steel
from generator.frame.model import Array, Flags
from generator.subjects.cage_checks import Known, solved_case
from generator.subjects.cage_direct import LEAN, SOURCE
from generator.subjects.cage_doubts import SAID
from generator.subjects.cage_loads import loads_of
from generator.subjects.cage_members import WORD
from generator.subjects.cage_strength import PHI, begins, over_rows
from generator.vocabulary import Assumption, Caution

HAZARDS = (
    (
        "welds",
        "A weld is as good as its procedure, its welder and its inspection. None of that is computed "
        "here: weld to a qualified procedure, test samples of the same tube and joint, and have every "
        "joint inspected before paint and padding hide it.",
    ),
    (
        "crash",
        "The loads are static and the material elastic. What a crash does besides (impact, energy, "
        "tubes that fold, ground that digs in) is not covered by any margin on this page.",
    ),
    (
        "flat",
        "Critical loads are those of the frame as drawn. A flat arch, or tubes that meet nearly in line, may snap "
        "through at far less: brace them, or have them computed with their shape as it changes.",
    ),
    (
        "joints",
        "Gussets, plates, tabs, bolts, holes drilled into tubes and the softness of one tube's wall under another "
        "are outside this calculation. A joint is taken as rigid, or as hinged where it is said to be bolted; the "
        "ends of tubes, and how they are cut and fitted, need their own eyes.",
    ),
    (
        "padding",
        "A cage injures a head that reaches it. Padding, head surround, belts and seat belong to it, and "
        "helmet and body move in the belts more than the frame does.",
    ),
    (
        "rules",
        "Holding is not conforming. The rulebook in force, its inspectors, local codes and, where the "
        "law or good sense asks for one, a licensed engineer decide; this page replaces none of them.",
    ),
)

RESTS_ON = (
    (
        "elastic",
        "Tubes are elastic, loads static, displacements small against the frame. Equilibrium is that of "
        "the deformed frame (second order, P-Δ and P-δ), each straight piece cut in four.",
        "space frame by direct stiffness; ANSI/AISC 360, C2",
    ),
    (
        "phi",
        f"AISC 360's nominal strengths are taken times its resistance factor φ = {PHI:.2f}; the load "
        "case's own factor stands beside it.",
        "ANSI/AISC 360-22 D2, E1, F1, G1, H3.1, as used in the AISC Design Examples v16.0",
    ),
    (
        "direct",
        f"Tubes are judged in a frame a fifth softer than drawn and out of plumb by {LEAN:.3f}, in the "
        "shape in which it sways first, whichever way is worse for each tube; columns then count from joint to "
        "joint with the K stated for them, 1 by default. What the frame moves is that of the frame as drawn.",
        SOURCE,
    ),
    (
        "one_plane",
        "A joint that other tubes brace in one plane only ends no column, unless the whole frame's "
        "critical load shows that the column bears more.",
        "ANSI/AISC 360 E2 and appendix 6: lengths between braced points, for each plane by itself",
    ),
    (
        "ultimate",
        "Where the ultimate strength is permitted, the peak elastic stress is held against it, and the member as a "
        "whole still against AISC 360 with the yield strength: a tube that buckles does not wait "
        "for its ultimate strength.",
        "common practice",
    ),
    (
        "round",
        "Moments about two axes act as their resultant, which is exact in one cross-section of round tube; a "
        "run's largest compression is taken with the moment of each of its sections.",
        "ANSI/AISC 360 H1, which adds the two moments and is never less careful",
    ),
    (
        "bodies",
        "Helmet and spaces to keep stay where they are described, while the tubes move.",
        "as described",
    ),
    ("spread", SAID, "JCGM 100:2008, 5.1.2, first order"),
)
"""What the calculation rests on: a key, the words, the source."""


ALIKE, NOTHING = 1e-6, 1e-8
"""Forces that differ by less than that share of them, or than that in N, are the same."""


def cautions(k: Known) -> tuple[Caution, ...]:
    """The work's hazards, then what this very frame gives reason to say."""
    hazards = (Caution(f"{WORD}.caution.{key}", text, WORD, hazard=True) for key, text in HAZARDS)
    return (*hazards, *_one_sided(k), *_slender(k), *_other_metals(k), *_yielding(k))


def _one_sided(k: Known) -> Iterator[Caution]:
    """Cases that push on one side of a mirrored cage while none does so on the other."""
    if not k.model.cage.mirror:
        return
    pushed = loads_of(k.model.frame, k.model.cases).nodal[..., :3]
    across = pushed[:, _other_sides(k)] * (1.0, -1.0, 1.0)
    alone = [
        case.title
        for case, own in zip(k.model.cases, across, strict=True)
        if _apart(own, pushed).all()
    ]
    if alone:
        yield Caution(
            f"{WORD}.one_sided",
            f"{'; '.join(alone)}: the load is on one side only, and no load case puts it on the other. "
            "What it asks of a tube it asks of the tube's twin when it comes from there: judge each pair "
            "by the worse of the two, or add those cases.",
            WORD,
        )


def _apart(own: Array, every: Array) -> Flags:
    """Which of `every` forces (c, n, 3) differ from those of one case (n, 3), (c,)."""
    return np.asarray((np.abs(own - every) > ALIKE * np.abs(every) + NOTHING).any(axis=(1, 2)))


def _other_sides(k: Known) -> list[int]:
    """For each joint the one on the other side, itself where it has none; so a point of a bend,
    where no load acts."""
    g, found = k.model.geometry, joints(k.model.cage)
    return [g.place.get(other_side(name, found), n) for n, name in enumerate(g.joints)]


def _slender(k: Known) -> Iterator[Caution]:
    """Compressed members beyond the slenderness that the code advises against."""
    first = begins(k.model.geometry.line)
    most = over_rows(np.minimum, k.s.on.normal, first).min(axis=0, initial=0.0)
    slender = np.maximum.reduceat(k.s.has.slender, first).tolist()
    for line, of, normal in zip(k.model.geometry.lines, slender, most.tolist(), strict=True):
        if of > steel.LARGEST_SLENDERNESS and normal < 0.0:
            yield Caution(
                f"{WORD}.member.{line.id}.slender",
                f"{line.title}: slenderness KL/r of {of:.0f} under compression; AISC 360 advises "
                "against more than 200.",
                WORD,
                ref=f"{WORD}.check.member.{line.id}",
            )


STAINLESS = ("304_tube", "304l_tube")
"""Words of the table of materials whose stress and strain part from a line at half their yield strength."""


def _other_metals(k: Known) -> Iterator[Caution]:
    """Metals that the code's curves were not made for: told by their stiffness."""
    tubes = dict.fromkeys(line.tube for line in k.model.geometry.lines)
    for word in dict.fromkeys(k.model.stock.tubes[tube].material for tube in tubes):
        stuff = k.model.stock.stuff[word]
        if word in STAINLESS:
            yield Caution(
                f"{WORD}.metal.{word}",
                f"{stuff.title}: stainless steel gives before it yields, so that its columns and bends bear less than "
                "AISC 360's curves for other steel tell. Have pressed members of it checked by a code of its own, "
                "such as AISC 370.",
                WORD,
            )
        elif not 180e9 <= stuff.modulus.si <= 220e9:
            yield Caution(
                f"{WORD}.metal.{word}",
                f"{stuff.title}: AISC 360 is a code for steel, and its column and bending strengths "
                "have no footing for this metal. Have members of it checked by a code of its own.",
                WORD,
            )


def _yielding(k: Known) -> Iterator[Caution]:
    """Cases whose answer is elastic although tubes pass their strength."""
    rows = zip(k.model.cases, k.s.row, strict=True)
    over = [case.title for case, row in rows if row >= 0 and (k.most[row] > 1.0).any()]
    if over:
        yield Caution(
            f"{WORD}.elastic",
            f"{'; '.join(over)}: some tubes are over their limit. Once they give way the forces go "
            "elsewhere, and tubes that hold in this elastic calculation may then not.",
            WORD,
        )
    for number, case in enumerate(k.model.cases):
        solved = solved_case(k, number)
        if solved and solved.beyond:
            yield Caution(
                f"{WORD}.case.{case.id}.beyond",
                f"{case.title}: the frame buckles before this load is reached.",
                WORD,
            )


def assumptions() -> tuple[Assumption, ...]:
    """What the calculation rests on."""
    return tuple(
        Assumption(f"{WORD}.assumption.{key}", text, WORD, source) for key, text, source in RESTS_ON
    )
