"""The pages beside those of the folder itself, for a folder that may or may not have a history."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from generator.compose import ExtraPage
from generator.evaluation import Evaluation
from generator.revisions.git import HistoryError
from generator.revisions.history import find_repository, revisions, state
from generator.revisions.pages import Context, extra_pages, pages_alone


def pages_around(folder: Path) -> Callable[[Evaluation], Sequence[ExtraPage]]:
    """Makes the pages of a folder: with its history where it has one that can be read."""
    try:
        repository = find_repository(folder)
        listing = revisions(repository)
        now = state(repository, listing)
    except HistoryError:
        return pages_alone
    if not listing.revisions:
        return pages_alone
    previous = listing.before(now.revision.name if now.revision else "")
    context = Context(repository, listing, now.revision, previous)
    return lambda evaluation: extra_pages(evaluation, context)
