"""The sizes of loads on a cage that are multiples of something else."""

from __future__ import annotations

from generator.formulas.formula import Symbol, formula

FACTOR = Symbol("n", "ratio", "multiple that the load case states", least=0.0)


@formula(
    equation=r"F = n m g",
    result=Symbol("F", "force", "force on the frame"),
    source="Newton's second law; common practice",
    factor=FACTOR,
    mass=Symbol("m", "mass", "mass that is carried", least=0.0),
    gravity=Symbol("g", "acceleration", "standard gravity", least=0.0),
)
def multiple_of_weight(*, factor: float, mass: float, gravity: float) -> float:
    """A multiple of the weight of a mass, in N."""
    return factor * mass * gravity


@formula(
    equation=r"F = n F_{0}",
    result=Symbol("F", "force", "force on the frame"),
    source="definition of the load case",
    factor=FACTOR,
    force=Symbol("F_{0}", "force", "force that another page computes", least=0.0),
)
def multiple_of_force(*, factor: float, force: float) -> float:
    """A multiple of a force, in N."""
    return factor * force
