"""From hours of work to days of a calendar, and back.

A plan's time line begins with the day it is made, at 0.0; day n lasts from n to n + 1. Somebody with
h hours a week works h / 7 of them on every day: which evenings those are is nobody's to plan.
"""

from __future__ import annotations

import datetime
import math

WEEK = 7.0
_NEAR = 1e-6


def days_of(hours: float, hours_a_week: float) -> float:
    """Days that `hours` of work take somebody with `hours_a_week` (> 0)."""
    return hours / hours_a_week * WEEK


def first_day(offset: float, begin: datetime.date) -> datetime.date:
    """The day in which work begins that starts at `offset`."""
    return begin + datetime.timedelta(days=math.floor(offset + _NEAR))


def last_day(offset: float, begin: datetime.date) -> datetime.date:
    """The day in which work ends that finishes at `offset`; `begin` where there is none."""
    return begin + datetime.timedelta(days=max(math.ceil(offset - _NEAR) - 1, 0))


def after(day: datetime.date, begin: datetime.date) -> float:
    """The offset at which `day` is over; 0 for days before the plan."""
    return max(float((day - begin).days) + 1.0, 0.0)


def before(day: datetime.date, begin: datetime.date) -> float:
    """The offset at which `day` begins."""
    return float((day - begin).days)


def overlap(start: float, finish: float, begin: float, end: float) -> float:
    """How many of the days from `start` to `finish` lie between `begin` and `end`."""
    return max(min(finish, end) - max(start, begin), 0.0)
