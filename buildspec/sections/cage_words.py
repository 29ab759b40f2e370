"""The words that a cage may use for what the program's tables hold.

The reader knows no engineering, so it has the words alone; a test holds them and the tables together.
"""

from __future__ import annotations

from collections.abc import Mapping

MATERIALS: frozenset[str] = frozenset(
    (
        "4130_normalized",
        "a500_grade_b",
        "fsae_steel",
        "a513_1020_dom",
        "a513_1026_dom",
        "304_tube",
        "304l_tube",
        "6061_t6",
        "ti_6al_4v_annealed",
    )
)
"""The words of the shipped table of materials."""
DRAWN: frozenset[str] = frozenset(("4130_normalized", "6061_t6", "a513_1020_dom", "a513_1026_dom"))
"""Those whose strengths are of seamless or drawn tube: a tube that is left as welded has less."""

SHIPPED: Mapping[str, tuple[str, ...]] = {
    "roll_structure_main": ("top",),
    "roll_structure_second": ("top",),
    "roof_crush": ("plate",),
    "roof_crush_good": ("plate",),
    "belt_anchors": ("lap", "shoulder"),
    "lap_belt_anchors": ("lap",),
    "belt_anchors_un": ("lap", "shoulder"),
    "belt_tab": ("belt",),
    "belt_tab_two": ("belts",),
    "head_restraint": ("head",),
}
"""The words of the shipped table of load cases, and the parts of each."""
