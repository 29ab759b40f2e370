"""Conformance of a value with what is prescribed: an assumed value may depart, but never conform."""

from __future__ import annotations

from collections.abc import Iterable

from buildspec.quantities import Quantity
from generator.vocabulary import Conformance

NAMED = 3
"""Values that a reason names; a tube through many joints rests on dozens."""


def proven(
    fulfilled: bool, reason: str, found: Iterable[Quantity | None]
) -> tuple[Conformance, str]:
    """State and reason; `found` are the values of the description that fulfil it.

    What is fulfilled by a value that nobody measured, rated, calculated or estimated is open. What
    is not fulfilled departs, whatever the value rests on.
    """
    if not fulfilled:
        return "departs", reason
    values = (q for q in found if q is not None)
    assumed = [q.id for q in values if q.basis == "assumed" and not q.stated]
    if not assumed:
        return "conforms", reason
    named = [*assumed[:NAMED], f"{len(assumed) - NAMED} more"] if assumed[NAMED:] else assumed
    are = f"{', '.join(named)} {'is' if len(assumed) == 1 else 'are'} assumed"
    return (
        "open",
        f"as stated it would conform, but {are}: measure, or state where the value comes from",
    )
