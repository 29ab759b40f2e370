"""Calendar arithmetic for lives and intervals that are counted in months and years."""

from __future__ import annotations

import calendar
import datetime
from typing import Literal

Ends = Literal["day", "month", "year"]


def add_months(day: datetime.date, months: int) -> datetime.date:
    """The same day of the month `months` later, or that month's last day where it is shorter.

    29 February 2024 + 24 months is 28 February 2026: the earlier of the two readings. `months` ≥ 0;
    OverflowError
    past the year 9999.
    """
    index = day.year * 12 + day.month - 1 + months
    year, month = divmod(index, 12)
    if year > datetime.MAXYEAR:
        raise OverflowError(f"the year {year} is past the calendar")
    return datetime.date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def last_day(day: datetime.date, months: int, ends: Ends) -> datetime.date:
    """The last day on which something lives that counts `months` from `day`.

    `ends` says whether a life runs out on that day, with its month, or with its year (31 December).
    """
    reached = add_months(day, months)
    if ends == "year":
        return datetime.date(reached.year, 12, 31)
    if ends == "month":
        return reached.replace(day=calendar.monthrange(reached.year, reached.month)[1])
    return reached
