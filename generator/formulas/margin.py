"""The margin of safety as a formula that can be shown; every check's margin is computed by it."""

from __future__ import annotations

from generator.formulas.formula import Symbol, formula


@formula(
    equation=r"m = \frac{C}{f D} - 1",
    result=Symbol("m", "ratio", "margin"),
    source="margin of safety as NASA-STD-5001B writes it, for allowable and limit load",
    capacity=Symbol("C", "length", "capacity"),
    factor=Symbol("f", "ratio", "required factor", least=0.0),
    demand=Symbol("D", "length", "demand", least=0.0),
)
def margin_of_safety(*, capacity: float, factor: float, demand: float) -> float:
    """Margin of safety; 0 is just enough. Capacity and demand of one kind, factor and demand >
    0.
    """
    return capacity / (factor * demand) - 1.0
