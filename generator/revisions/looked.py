"""Which state of the design a reviewer has before them: sign-offs themselves are no part of it."""

from __future__ import annotations

from pathlib import Path

from generator.revisions.git import HistoryError, attempt
from generator.revisions.history import Listing, Repository, find_repository, revisions, state
from generator.signoffs.sign import FILE, Looked

_APART = (".", f":(exclude){FILE}")


def looked_at(folder: Path) -> Looked:
    """The revision or commit that `folder` holds, but for the file of the sign-offs.

    A folder under no git has neither.
    """
    try:
        repository = find_repository(folder)
        now = state(repository, Listing())
        changed = _changed(repository, now.commit) if now.commit else True
        try:
            known = revisions(repository).revisions
        except HistoryError:  # a shallow clone knows its commit all the same
            known = ()
    except HistoryError:
        return Looked()
    if not changed:
        for revision in reversed(known[-1:]):
            if not _changed(repository, revision.tag):
                return Looked(revision.name, revision.commit)
    return Looked("", now.commit, changed)


def _changed(repository: Repository, commit: str) -> bool:
    """Whether the folder differs from what it is in a commit."""
    differs = attempt(repository.folder, "diff", "--quiet", commit, "--", *_APART).returncode
    new = attempt(
        repository.folder, "ls-files", "--others", "--exclude-standard", "--", *_APART
    ).stdout.strip()
    return bool(differs or new)
