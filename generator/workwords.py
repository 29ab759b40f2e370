"""Filters for work: hours, days of the week, and a bar that shows a share on screen and paper."""

from __future__ import annotations

import datetime
import math

from generator.markup import Markup, escape
from generator.planning.progress import Progress

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def hours(amount: float | None) -> str:
    """`3 h`, `2.5 h`; of what is not stated that it is not."""
    return "not stated" if amount is None else f"{round(amount, 1):g} h"


def day(date: datetime.date | None) -> Markup:
    """`Sat 2026-11-28`, never broken; of what is not known that it is not."""
    if date is None:
        return Markup('<span class="mb-absent">not known</span>')
    said = f"{WEEKDAYS[date.weekday()]} {date.isoformat()}"
    return Markup('<span class="mb-q">%s</span>') % said


def percent(share: float) -> str:
    """A share in whole per cent; only a whole one is 100 %, and only nothing is 0 %."""
    whole = math.floor(100.0 * share + 1e-9)
    return f"{max(whole, 1) if share > 0.0 else 0} %"


def days(amount: float) -> str:
    """Days in whole numbers, down: `3 days`, `1 day`."""
    whole = math.floor(abs(amount) + 1e-9)
    return f"{whole} {'day' if whole == 1 else 'days'}"


def size(amount: int) -> str:
    """Bytes in words: `812 bytes`, `34 kB`, `2.1 MB`."""
    if amount < 1000:
        return f"{amount} bytes"
    return f"{amount / 1000:.0f} kB" if amount < 1_000_000 else f"{amount / 1e6:.1f} MB"


def bar(share: float) -> Markup:
    """A bar of that length. It says nothing by itself: words stand beside it."""
    return (
        Markup('<span class="mb-gauge" aria-hidden="true"><span style="width:%s%%"></span></span>')
        % f"{100.0 * min(max(share, 0.0), 1.0):.0f}"
    )


def fraction(progress: Progress) -> Markup:
    """`3 of 4 steps, 75 %` with its bar; what proof is missing is said."""
    if not progress.steps and not progress.evidence_missing:
        return Markup('<span class="mb-absent">no steps</span>')
    ready = progress.steps - len(progress.steps_open)
    steps = f"{ready} of {progress.steps} {'step' if progress.steps == 1 else 'steps'}, "
    missing = len(progress.evidence_missing)
    proof = (
        ""
        if not missing
        else "; 1 proof missing"
        if missing == 1
        else f"; {missing} proofs missing"
    )
    said = escape(f"{steps if progress.steps else ''}{percent(progress.done)}{proof}")
    return Markup('%s <span class="mb-fraction">%s</span>') % (bar(progress.done), said)
