"""Lengths in millimetres whose point was probably meant to part the thousands: `2.400 mm`."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from buildspec.diagnostics import Diagnostic, Place, quoted
from buildspec.quantities import Quantity

_GROUPED = re.compile(r"[+\-−]?[1-9]\.\d{3}(?:\s*mm)?", re.ASCII)


def thousands(values: Iterable[tuple[Quantity, Place]]) -> Iterator[Diagnostic]:
    """A warning for each coordinate below 10 mm that is written to a micrometre.

    Nobody measures a wheel, a joint or a part so; where a point parts thousands, it is metres that were meant.
    """
    for value, place in values:
        written = value.written.strip()
        if value.unit == "mm" and _GROUPED.fullmatch(written):
            number = written.removesuffix("mm").strip()
            yield Diagnostic(
                "quantity.thousands",
                f"{quoted(number)} mm is read as {float(number.replace('−', '-')):g} mm",
                value.place or place,
                f"if thousands are meant, write `{number.replace('.', '')}` without a point; "
                "if not, write fewer decimals",
                severity="warning",
            )
