"""Which revision undid a sign-off. It is found in the history, and kept as figures of trends are."""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Callable
from pathlib import Path

from buildspec.sections.signoffs import Record, Signoffs
from generator.evaluation import Evaluation, evaluate, needed
from generator.revisions import cache
from generator.revisions.archive import known_of, reading_of
from generator.revisions.git import HistoryError
from generator.revisions.history import (
    Repository,
    Revision,
    find_repository,
    revisions,
    state,
)
from generator.signoffs.standing import is_undone

LOOKED_BACK = 20
"""Revisions that are looked through for the one that undid a word."""
Since = Callable[[Record], str]


def since(repository: Repository, until: tuple[Revision, ...], *, draft: bool) -> Since:
    """Says of a record that does not stand in the last of these revisions, or in the draft after them, which
    of them undid it.
    """
    return lambda record: _first(record, repository, until) or ("this draft" if draft else "")


def since_of(folder: Path) -> Since:
    """The same for a folder as it is; the history is looked at once it is first asked. Where there is none,
    nothing is said.
    """

    @functools.cache
    def known() -> Since:
        try:
            repository = find_repository(folder)
            listing = revisions(repository)
            now = state(repository, listing).revision
        except HistoryError:
            return lambda _: ""
        if not listing.revisions:
            return lambda _: ""
        return since(repository, listing.until(now), draft=now is None)

    def said(record: Record) -> str:
        return known()(record)

    return said


def _first(record: Record, repository: Repository, until: tuple[Revision, ...]) -> str:
    """The first revision in which the word does not stand, as far as it can be told."""
    names = [r.name for r in until]
    start = names.index(record.revision) + 1 if record.revision in names else 0
    later = [r for r in until[start:] if r.date >= record.date or start]
    for revision in later[-LOOKED_BACK:]:
        if _undone_in(record, revision, repository):
            first = revision is later[-LOOKED_BACK:][0] and len(later) > LOOKED_BACK
            return f"{revision.name} or before" if first else revision.name
    return ""


def _undone_in(record: Record, revision: Revision, repository: Repository) -> bool:
    """Whether the word does not stand in a revision; one that cannot be read says nothing."""
    key = f"{revision.tree} {hashlib.sha256(repr(record).encode()).hexdigest()}"
    kept = cache.load(key, revision.date)
    if isinstance(kept, bool):
        return kept
    try:
        evaluation = _of_scope(record, revision, repository)
    except HistoryError:
        return False
    answer = evaluation is not None and is_undone(record, evaluation)
    cache.store(key, revision.date, answer)
    return answer


def _of_scope(record: Record, revision: Revision, repository: Repository) -> Evaluation | None:
    """What a revision finds of the subjects that a word is about; None where it cannot be read."""
    known = known_of(repository, revision)
    build = reading_of(repository, revision.tree).build
    if known is not None or build is None:
        return known
    section = build.section(Signoffs)
    groups = {g.id: g.scopes for g in (section.groups if section else ())}
    parts = groups.get(record.scope, (record.scope,))
    subjects = needed(part.split(".", 1)[0] for part in parts)
    return evaluate(build, as_of=revision.date, subjects=subjects)
