"""The table of body sizes, for a driver who has not been measured yet. Lengths in m."""

from __future__ import annotations

import functools
from collections.abc import Mapping

from generator.tables import rows_of
from generator.tables.known import Known, known


@functools.cache
def bodies() -> Mapping[str, Mapping[str, Known]]:
    """Every row by its name: `reach`, `breadth` and `clothing`, as far as they could be read."""
    return {
        name: {word: known(value, "length") for word, value in row.items()}
        for name, row in rows_of("bodies.yaml").items()
    }
