"""The section `aero`: drag and lift, each as an area on which the dynamic pressure acts."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, Place
from buildspec.quantities import Basis, Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class MachRow:
    """Drag at one Mach number, over that of the stated coefficient or area."""

    mach: Quantity
    factor: Quantity
    basis: Basis | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Aero:
    """Drag as coefficient × frontal area, or as one drag area; lift areas act at the axles, up positive."""

    frontal_area: Quantity | None = None
    drag_coefficient: Quantity | None = None
    drag_area: Quantity | None = None
    drag_over_mach: tuple[MachRow, ...] = ()
    drag_height: Quantity | None = None
    front_lift_area: Quantity
    rear_lift_area: Quantity
    basis: Basis | None = None
    source: str = ""


def problems(section: Aero, build: Build) -> Iterable[Diagnostic]:
    """Drag is given one way, and in full."""
    place = build.place("aero") or Place("build.yaml")
    if section.drag_area and section.drag_coefficient:
        yield Diagnostic(
            "aero.drag-twice",
            "the drag is given twice: as `drag_area` and as `drag_coefficient`",
            section.drag_area.place or place,
            "keep one of the two",
        )
    if not section.drag_area and not (section.drag_coefficient and section.frontal_area):
        yield Diagnostic(
            "aero.drag-missing",
            "no drag is given",
            place,
            "give `drag_area`, or `drag_coefficient` with the `frontal_area` it is based on",
        )
    for before, row in itertools.pairwise(section.drag_over_mach):
        if row.mach.si <= before.mach.si:
            yield Diagnostic(
                "aero.mach-order",
                f"the Mach number {row.mach.written} follows {before.mach.written}",
                row.mach.place or place,
                "write the rows by rising Mach number, each one once",
            )
