"""The subject `parachutes`: what the program took from its table of types, as assumptions."""

from __future__ import annotations

from collections.abc import Iterable

from buildspec.sections.parachutes import Canopy
from generator.tables.canopies import CanopyRow, canopies, canopy_source
from generator.vocabulary import Assumption

WORD = "parachutes"


def table_assumptions(canopy: Canopy) -> Iterable[Assumption]:
    """What the program took from its tables for this canopy."""
    row = canopies()[canopy.type] if canopy.type else None
    if row is None:
        return
    if taken := list(_taken(canopy, row)):
        yield Assumption(
            f"parachutes.{canopy.id}.assumption.table",
            f"{canopy.name} ({row.title.lower()}): {'; '.join(taken)}.",
            WORD,
            canopy_source(),
        )
    if row.projected is None:
        yield Assumption(
            f"parachutes.{canopy.id}.assumption.projected",
            f"{canopy.name}: the open canopy is taken as wide as its nominal diameter, which "
            "overstates the pull of each line.",
            WORD,
            "conservative",
        )


def _taken(canopy: Canopy, row: CanopyRow) -> Iterable[str]:
    """The figures of the table that nothing of the description replaces."""
    if not canopy.drag_area and not canopy.drag_coefficient:
        yield f"drag coefficient {row.drag[0]:.2f} to {row.drag[1]:.2f} on the nominal area"
    if not canopy.opening_coefficient:
        low, high = row.opening
        ends = f"{high:g}" if low == high else f"{low:g} to {high:g}"
        yield f"opening-force coefficient {ends}"
    if not canopy.fill_constant and row.fill:
        yield f"fill constant {row.fill:g}"
    if not canopy.growth_exponent:
        printed = f"growth exponent {row.exponent:g}" if row.exponent else ""
        yield printed or "no growth exponent is printed: 1 and 2 are shown"
