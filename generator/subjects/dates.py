"""Days on which something is said to have been done, held against the day of the evaluation."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from generator.vocabulary import OpenItem

Done = tuple[str, str, datetime.date | None]
"""The id of a date of the description, what was done then in words, and the day."""


def ahead(subject: str, done: Iterable[Done], as_of: datetime.date) -> Iterable[OpenItem]:
    """An open item for each day that lies after the day of the evaluation."""
    for ref, words, day in done:
        if day is not None and day > as_of:
            yield OpenItem(
                f"{subject}.ahead.{ref.split('.', 1)[1].replace('.', '_')}",
                subject,
                "disagreement",
                f"{words} on {day}, which lies ahead of {as_of}",
                "correct the date, or take it out until it is done",
                ref=ref,
            )
