"""The edition of a build folder: which revision or draft its site shows."""

from __future__ import annotations

from pathlib import Path

from generator.edition import Edition
from generator.revisions.git import HistoryError
from generator.revisions.history import (
    Listing,
    Revision,
    State,
    find_repository,
    revisions,
    state,
)


def edition_of(folder: Path) -> Edition:
    """What `folder` holds now. A folder under no git, or whose git cannot be asked, is a draft."""
    try:
        repository = find_repository(folder)
    except HistoryError:
        return Edition()
    try:
        listing = revisions(repository)
    except HistoryError:  # a shallow clone knows its commit all the same
        listing = Listing()
    try:
        return of_state(state(repository, listing))
    except HistoryError:
        return Edition()


def of_state(now: State) -> Edition:
    """The edition of the folder's state."""
    if now.revision is not None:
        return of_revision(now.revision)
    return Edition(commit=now.commit, changed=now.changed)


def of_revision(revision: Revision) -> Edition:
    """The edition of a revision."""
    return Edition(revision.name, revision.description, revision.commit, False, revision.date)
