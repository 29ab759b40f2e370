"""The driver's minute: what passes from the first flame until the driver is clear."""

from __future__ import annotations

from generator.formulas.formula import Symbol, formula


@formula(
    equation=r"t = t_{d} + t_{s} + t_{r} + t_{x}",
    result=Symbol("t", "time", "time from the first flame until the driver is clear"),
    source="sum of the parts; the longest of the others with the exit's 95th percentile are never "
    "below the 95th percentile of the sum",
    detection=Symbol("t_{d}", "time", "time until somebody notices", least=0.0),
    stopping=Symbol("t_{s}", "time", "time until the vehicle stands", least=0.0),
    reaction=Symbol("t_{r}", "time", "time until the exit begins", least=0.0),
    egress=Symbol("t_{x}", "time", "time of the exit", least=0.0),
)
def exposure_time(*, detection: float, stopping: float, reaction: float, egress: float) -> float:
    """Time of exposure in s, from four times in s."""
    return detection + stopping + reaction + egress


@formula(
    equation=r"t_{a} = t_{p} + t_{c}",
    result=Symbol("t_{a}", "time", "time available"),
    source="sum of the parts",
    protective=Symbol("t_{p}", "time", "protective time of the weakest place", least=0.0),
    credit=Symbol("t_{c}", "time", "time credited to the fire system", least=0.0),
)
def available_time(*, protective: float, credit: float) -> float:
    """Time available in s: the clothing's, and what is credited to the fire system."""
    return protective + credit
