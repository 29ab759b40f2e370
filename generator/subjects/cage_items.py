"""Items of the mass table that loads, masses and the cage itself are made of."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from buildspec.sections.mass import Item
from generator.vocabulary import Result


def sum_of_items(items: Iterable[Item], names: Iterable[str]) -> Result:
    """The mass of several of `items`, all of each aboard."""
    known = {item.id: item for item in items}
    chosen = [known[name] for name in names if name in known]
    title = ", ".join(i.name for i in chosen)
    if not chosen:
        return Result(
            "mass.items", "items", None, "mass", absent="none of the items is in the mass table"
        )
    spread = float(np.sqrt(sum((i.count * i.mass.standard_uncertainty) ** 2 for i in chosen)))
    return Result(
        f"mass.items.{chosen[0].id}" if len(chosen) == 1 else "mass.items",
        title,
        sum(i.count * i.mass.si for i in chosen),
        "mass",
        spread,
        inputs=tuple(i.mass.id for i in chosen),
    )
