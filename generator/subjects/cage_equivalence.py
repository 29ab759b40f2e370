"""How the sizes of tube compare with a baseline: for information, and for nothing else.

Being stronger or stiffer than what is prescribed does not make a tube conform.
"""

from __future__ import annotations

from dataclasses import dataclass

from buildspec.sections.cage import Cage, Tube
from generator.formulas import tube as t
from generator.subjects.cage_stock import Stock
from generator.vocabulary import Result

SAID = (
    "For information only. A tube that is stiffer or stronger than the baseline does not conform "
    "for that: what is prescribed is diameter, wall and material, and only the rule sheet's owner can "
    "accept another."
)


Five = tuple[Result, Result, Result, Result, Result]


@dataclass(frozen=True, slots=True)
class Row:
    """One size: bending stiffness E·I, yield moment S·F_y, breaking moment S·F_u, wall, mass per
    length; each beside its ratio to the baseline's, 1 for the baseline itself.
    """

    tube: Tube
    material: str
    baseline: bool
    stiffness: Result
    yield_moment: Result
    ultimate_moment: Result
    wall: Result
    line_mass: Result
    ratios: Five


def rows(cage: Cage, stock: Stock) -> tuple[Row, ...]:
    """Every listed size against `baseline`; empty where none is named."""
    base = stock.tubes.get(cage.baseline)
    if base is None:
        return ()
    of_base = _figures(stock, base)
    return tuple(_row(stock, tube, of_base, tube is base) for tube in cage.tubes)


def _figures(stock: Stock, tube: Tube) -> Five:
    """Stiffness, both moments, wall and mass per length of a size, with its nominal wall."""
    stuff = stock.stuff[tube.material]
    outer, inner = tube.outer.si, t.inner_diameter(outer=tube.outer.si, wall=tube.wall.si)
    second = float(t.second_moment(outer=outer, inner=inner))
    section = float(t.elastic_modulus(outer=outer, inner=inner))
    each = float(t.line_mass(outer=outer, inner=inner, density=stuff.density.si))
    name = f"cage.equivalence.{tube.id}"
    return (
        Result(
            f"{name}.stiffness", "Bending stiffness", stuff.modulus.si * second, "bending stiffness"
        ),
        Result(
            f"{name}.yield", "Bending moment at yield", stuff.yield_strength.si * section, "torque"
        ),
        Result(
            f"{name}.ultimate",
            "Bending moment at break",
            stuff.ultimate_strength.si * section,
            "torque",
        ),
        Result(f"{name}.wall", "Wall", tube.wall.si, "length"),
        Result(f"{name}.mass", "Mass per length", each, "mass per length"),
    )


def _row(stock: Stock, tube: Tube, base: Five, is_base: bool) -> Row:
    own = _figures(stock, tube)
    a, b, c, d, e = (_ratio(x, y) for x, y in zip(own, base, strict=True))
    stiff, bends, breaks, wall, each = own
    title = stock.stuff[tube.material].title
    return Row(tube, title, is_base, stiff, bends, breaks, wall, each, (a, b, c, d, e))


def _ratio(own: Result, base: Result) -> Result:
    """A figure over the baseline's."""
    assert own.value is not None
    assert base.value is not None
    return Result(
        f"{own.id}_ratio", f"{own.title}, over the baseline's", own.value / base.value, "ratio"
    )
