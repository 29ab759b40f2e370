"""Revisions read and evaluated, each once in a process."""

from __future__ import annotations

import datetime
import functools

from buildspec.diagnostics import harmless
from buildspec.read import Reading, read_folder
from generator.revisions.compare import Side
from generator.revisions.history import Repository, Revision
from generator.revisions.sides import UnreadableSideError, read_side
from generator.revisions.trees import checked_out

KEPT = 12
"""Evaluations kept in memory: those that pages of neighbouring revisions ask for again."""


def side_of(repository: Repository, revision: Revision) -> Side:
    """The revision, evaluated for its own day. UnreadableSideError where it cannot be read."""
    return _side(repository, revision.tree, revision.name, revision.date)


@functools.lru_cache(maxsize=KEPT)
def _side(repository: Repository, tree: str, name: str, day: datetime.date) -> Side:
    return read_side(name, reading_of(repository, tree), day)


@functools.lru_cache(maxsize=KEPT)
def reading_of(repository: Repository, tree: str) -> Reading:
    """The description in a tree, read and not evaluated."""
    with checked_out(repository, tree) as (folder, _):
        return read_folder(folder)


def why_unreadable(error: UnreadableSideError) -> str:
    """The first error of a description in a line."""
    errors = [p for p in error.reading.problems if p.severity == "error"]
    if not errors:
        return "its description cannot be read"
    more = f", and {len(errors) - 1} more" if len(errors) > 1 else ""
    return harmless(f"{errors[0].place}: {errors[0].message}{more}")
