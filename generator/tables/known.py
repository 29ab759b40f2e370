"""One value of a shipped table: what it is, from where, and whether it was read there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from buildspec.quantities import Misread, Quantity, read

Status = Literal["read", "from memory"]


@dataclass(frozen=True, slots=True)
class Known:
    """A value of a table, in SI: how it is written there, its kind, its source, and whether it was
    read.
    """

    si: float
    kind: str
    written: str
    source: str
    status: Status

    @property
    def decides(self) -> bool:
        """Whether a verdict may rest on it: what is known from memory may not carry one."""
        return self.status == "read"

    def quantity(self, dotted: str) -> Quantity:
        """The value as a quantity that the program supplied, under that dotted id."""
        number, _, unit = self.written.partition(" ")
        return Quantity(
            id=dotted,
            si=self.si,
            kind=self.kind,
            written=number,
            unit=unit,
            basis="assumed",
            source=self.source,
            default=True,
        )


def known(row: Mapping[str, str], kind: str) -> Known:
    """One value of a table; ValueError where the table is wrong, which is a fault of the program."""
    reading = read(row["value"], kind)
    if isinstance(reading, Misread):
        raise ValueError(f"{row['value']!r}: {reading.message}")
    status: Status = "read" if row["status"] == "read" else "from memory"
    return Known(reading.si, kind, row["value"], row["source"], status)
