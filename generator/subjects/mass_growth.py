"""Allowance for the growth of masses whose design is not finished, by category and maturity."""

from __future__ import annotations

from collections.abc import Mapping

from buildspec.sections.mass import Item

SOURCE = (
    "Values read in a public program's table whose codes match the classes of ANSI/AIAA "
    "S-120-2006; the standard itself was not read, and that the values are its own is from memory."
)
_MATURITIES = ("estimated", "layout", "pre-released", "released", "existing", "actual")
_POUND = 0.45359237

#: Allowance as a share of the mass known today, in the order of _MATURITIES. The 19 % for
#: pre-released crew items is more than the same row gives an earlier design, and is probably a slip
#: there; it errs to the heavy side.
_ALLOWANCE: Mapping[str, tuple[float, ...]] = {
    "structure": (0.18, 0.15, 0.08, 0.04, 0.02, 0.0),
    "propulsion": (0.18, 0.15, 0.08, 0.04, 0.02, 0.0),
    "battery": (0.20, 0.15, 0.10, 0.05, 0.03, 0.0),
    "wiring": (0.50, 0.30, 0.25, 0.05, 0.03, 0.0),
    "electronics below 10 lb": (0.30, 0.25, 0.20, 0.10, 0.03, 0.0),
    "electronics of 10 lb to 30 lb": (0.20, 0.20, 0.15, 0.05, 0.03, 0.0),
    "electronics above 30 lb": (0.15, 0.15, 0.10, 0.05, 0.03, 0.0),
    "crew": (0.23, 0.18, 0.19, 0.09, 0.04, 0.0),
    "composite": (0.24, 0.19, 0.13, 0.06, 0.03, 0.0),
}


def row(item: Item) -> str:
    """The row of the table that an item belongs to; `other` counts as structure."""
    if item.category == "electronics":
        pounds = item.mass.si / _POUND
        return (
            "electronics below 10 lb"
            if pounds < 10.0
            else ("electronics of 10 lb to 30 lb" if pounds <= 30.0 else "electronics above 30 lb")
        )
    return "structure" if item.category == "other" else item.category


def maturity(item: Item) -> str:
    """The item's maturity; where none is stated, `actual` for a measured mass and `estimated`
    for any other.
    """
    if item.maturity:
        return item.maturity
    return "actual" if item.mass.basis == "measured" else "estimated"


def allowance(item: Item) -> float:
    """The allowance as a share of the item's mass, 0 to 0.5."""
    return _ALLOWANCE[row(item)][_MATURITIES.index(maturity(item))]


def classes(items: tuple[Item, ...]) -> tuple[tuple[str, str, float, int], ...]:
    """The classes that occur: row, maturity, allowance and number of items, in the table's
    order.
    """
    counted: dict[tuple[str, str], int] = {}
    for item in items:
        key = (row(item), maturity(item))
        counted[key] = counted.get(key, 0) + 1
    order = sorted(counted, key=lambda k: (list(_ALLOWANCE).index(k[0]), _MATURITIES.index(k[1])))
    return tuple((r, m, _ALLOWANCE[r][_MATURITIES.index(m)], counted[r, m]) for r, m in order)
