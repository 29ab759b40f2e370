"""What `publish` is asked to do, what it makes on the way, and what it says it did."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic, to_json
from generator.edition import Edition
from generator.revisions.history import PATTERN, Listing, Repository, Revision
from generator.revisions.public import Issue

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Order:
    """What is to be published: the folder as it is, one revision, or all of them."""

    folder: Path
    public: Path
    today: datetime.date
    revision: str = ""
    all: bool = False
    reissue: bool = False
    strict: bool = False
    pattern: str = PATTERN


@dataclass(frozen=True)
class Unreadable:
    """A state whose description cannot be read: nothing can be computed of it."""

    version: str
    problems: tuple[Diagnostic, ...]
    texts: Mapping[str, str]


@dataclass(frozen=True)
class Published:
    """What was done: `issued` anew, `kept` as they were; `unreadable` and `notes` are to be said.

    Where `written` is False the public folder is as it was.
    """

    public: Path
    written: bool
    issued: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    unreadable: tuple[Unreadable, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def failed(self) -> bool:
        """Whether nothing was written because a description cannot be read."""
        return bool(self.unreadable) and not self.written

    @property
    def said(self) -> str:
        """What was done, in a line."""
        if self.failed:
            return f"nothing was published; {self.public} is as it was"
        if not self.written and not self.kept:
            return "nothing to publish: there is no revision yet; make one with `git tag -a rev-1`"
        if not self.written:
            return f"nothing to publish: {self.public} holds all of it already, as it was issued"
        left = f"; kept {', '.join(self.kept)}" if self.kept else ""
        return f"wrote {self.public / 'index.html'}: {', '.join(self.issued) or 'no site'}{left}"

    def as_data(self) -> dict[str, object]:
        """The same as plain data."""
        return {
            "public": str(self.public),
            "written": self.written,
            "issued": list(self.issued),
            "kept": list(self.kept),
            "unreadable": {u.version: to_json(u.problems) for u in self.unreadable},
            "notes": list(self.notes),
        }


@dataclass(frozen=True)
class Task:
    """One site to be made: of `revision`, or of the folder as it is where that is None."""

    repository: Repository
    listing: Listing
    edition: Edition
    revision: Revision | None
    as_of: datetime.date
    replaces: Issue | None = None


@dataclass(frozen=True)
class Wrong:
    """What kept a site from being made; no problems where it was made. `warnings` kept nothing."""

    problems: tuple[Diagnostic, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[Diagnostic, ...] = ()


Builder = Callable[[Build, Path, Path, Task], Wrong]
