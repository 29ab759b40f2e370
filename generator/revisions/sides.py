"""The two sides of a comparison from what a user names: a folder, a revision, or any commit."""

from __future__ import annotations

import datetime
import functools
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from buildspec.diagnostics import quoted
from buildspec.read import Reading, read_folder
from generator.evaluation import evaluate
from generator.revisions.compare import Side
from generator.revisions.git import HistoryError, attempt
from generator.revisions.history import (
    PATTERN,
    Listing,
    Repository,
    Revision,
    find_repository,
    revisions,
)
from generator.revisions.trees import checked_out


class UnreadableSideError(Exception):
    """A side whose description cannot be read; `reading` holds its problems."""

    def __init__(self, name: str, reading: Reading) -> None:
        super().__init__(f"{name}: its description cannot be read")
        self.name, self.reading = name, reading


@dataclass(frozen=True, slots=True)
class Named:
    """A state that git holds: what it is called, its tree, and its day."""

    name: str
    tree: str
    day: datetime.date


@dataclass(frozen=True)
class Finder:
    """Finds sides. `home` is the build folder whose repository holds the revisions.

    `today` is the day a folder is evaluated for; with `as_of` every side is evaluated for that.
    """

    home: Path
    today: datetime.date
    as_of: datetime.date | None = None
    pattern: str = PATTERN

    def side(self, word: str) -> Side:
        """The side that `word` names. UnreadableSideError or HistoryError where there is none."""
        if Path(word).is_dir():
            name = (
                word if Path(word).name else Path(word).resolve().name or word
            )  # `.` names nothing
            return read_side(name, read_folder(Path(word)), self.as_of or self.today)
        named = self.named(word)
        return tree_side(self.repository, named.tree, named.name, self.as_of or named.day)

    @contextmanager
    def folder(self, word: str) -> Iterator[Path]:
        """The files of a side: the folder itself, or a temporary one."""
        if Path(word).is_dir():
            yield Path(word)
            return
        with checked_out(self.repository, self.named(word).tree) as (folder, _):
            yield folder

    def named(self, word: str) -> Named:
        """A revision or any other commit. HistoryError where there is none."""
        listing: Listing = self.listing
        names = {*(r.name for r in listing.revisions), *(r.name for r in listing.refused)}
        if word in names:
            revision = listing.named(word)
            return Named(revision.name, revision.tree, revision.date)
        return self._commit(word)

    def _commit(self, word: str) -> Named:
        """A commit, by any name that git has for it."""
        commit = _one(self.repository, f"{word}^{{commit}}")
        if not commit:
            known = ", ".join(r.name for r in self.listing.revisions[-8:]) or "none yet"
            raise HistoryError(
                f"{quoted(word)} is no folder, no revision and no commit of the "
                f"repository of {quoted(self.home.resolve().name)}; its last revisions are: {known}"
            )
        inside = self.repository.prefix
        tree = _one(self.repository, f"{commit}:{inside}" if inside else f"{commit}^{{tree}}")
        if not tree:
            raise HistoryError(f"the folder {quoted(inside)} is not in {quoted(word)}")
        said = attempt(self.repository.root, "show", "-s", "--format=%cs", commit).stdout
        day = datetime.date.fromisoformat(said.decode("ascii", "replace").strip())
        return Named(f"{word} at {commit[:8]}", tree, day)

    @functools.cached_property
    def repository(self) -> Repository:
        """The repository of the build folder."""
        return find_repository(self.home)

    @functools.cached_property
    def listing(self) -> Listing:
        """Its revisions."""
        return revisions(self.repository, self.pattern)


def _one(repository: Repository, name: str) -> str:
    """The id of an object by its name, or ""."""
    done = attempt(repository.root, "rev-parse", "--verify", "--quiet", "--end-of-options", name)
    return "" if done.returncode else done.stdout.decode("ascii", "replace").strip()


def revision_side(
    repository: Repository, revision: Revision, as_of: datetime.date | None = None
) -> Side:
    """A revision, evaluated for the day it was issued or for another one."""
    return tree_side(repository, revision.tree, revision.name, as_of or revision.date)


def tree_side(repository: Repository, tree: str, name: str, as_of: datetime.date) -> Side:
    """The description in a tree of the repository."""
    with checked_out(repository, tree) as (folder, _):
        return read_side(name, read_folder(folder), as_of)


def read_side(name: str, reading: Reading, as_of: datetime.date) -> Side:
    """A description that was read, evaluated."""
    if reading.build is None:
        raise UnreadableSideError(name, reading)
    return Side(name, reading.data, evaluate(reading.build, as_of=as_of))
