"""Pages of a published revision that are about more than itself."""

from __future__ import annotations

from dataclasses import dataclass

from generator.compose import ExtraPage
from generator.evaluation import Evaluation
from generator.revisions.history import Listing, Repository, Revision


@dataclass(frozen=True)
class Context:
    """What stands around the evaluation: `revision` is None for a draft."""

    repository: Repository
    listing: Listing
    revision: Revision | None
    previous: Revision | None


def extra_pages(evaluation: Evaluation, context: Context) -> tuple[ExtraPage, ...]:
    """The pages, in the order of the navigation."""
    return ()
