"""Revisions read and evaluated, each once in a process."""

from __future__ import annotations

import datetime
import functools

from buildspec.diagnostics import harmless
from buildspec.read import Reading, read_folder
from generator.evaluation import Evaluation
from generator.revisions.compare import Side
from generator.revisions.history import Repository, Revision
from generator.revisions.sides import UnreadableSideError, read_side
from generator.revisions.trees import checked_out

KEPT = 12
"""Evaluations kept in memory: those that pages of neighbouring revisions ask for again."""


_Key = tuple[Repository, str, str, datetime.date]
_SIDES: dict[_Key, Side] = {}
"""The sides known by now, the one asked for longest ago first."""


def side_of(repository: Repository, revision: Revision) -> Side:
    """The revision, evaluated for its own day. UnreadableSideError where it cannot be read."""
    key = (repository, revision.tree, revision.name, revision.date)
    side = _SIDES.pop(key, None)
    if side is None:
        side = read_side(revision.name, reading_of(repository, revision.tree), revision.date)
    return _keep(key, side)


def known_of(repository: Repository, revision: Revision) -> Evaluation | None:
    """The evaluation of the revision for its own day, where there is one by now."""
    side = _SIDES.get((repository, revision.tree, revision.name, revision.date))
    return side.evaluation if side else None


def know(repository: Repository, revision: Revision, evaluation: Evaluation) -> None:
    """Keep an evaluation of the revision that was made for its page, if it is for the revision's own day."""
    if evaluation.as_of == revision.date:
        key = (repository, revision.tree, revision.name, revision.date)
        data = reading_of(repository, revision.tree).data
        _keep(key, Side(revision.name, data, evaluation))


def _keep(key: _Key, side: Side) -> Side:
    _SIDES[key] = side
    while len(_SIDES) > KEPT:
        del _SIDES[next(iter(_SIDES))]
    return side


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
