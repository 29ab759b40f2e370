"""The pages beside those of the folder itself, for a folder that may or may not have a history."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from generator.compose import ExtraPage
from generator.evaluation import Evaluation
from generator.revisions.git import HistoryError
from generator.revisions.history import find_repository, revisions, state
from generator.revisions.pages import Context, extra_pages, pages_alone
from generator.revisions.signed import since_in
from generator.signoffs.reviewed import Since


@dataclass(frozen=True)
class Around:
    """What a history adds to a site: pages, and since when a sign-off does not stand."""

    extra: Callable[[Evaluation], Sequence[ExtraPage]] = pages_alone
    since: Since = lambda _: ""


def around(folder: Path) -> Around:
    """What stands around a folder: with its history where it has one that can be read."""
    try:
        repository = find_repository(folder)
        listing = revisions(repository)
        now = state(repository, listing)
    except HistoryError:
        return Around()
    if not listing.revisions:
        return Around()
    previous = listing.before(now.revision.name if now.revision else "")
    context = Context(repository, listing, now.revision, previous)
    return Around(lambda evaluation: extra_pages(evaluation, context), since_in(context))
