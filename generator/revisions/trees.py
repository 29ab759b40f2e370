"""The files of a revision, written into a folder of their own; the work tree is not touched.

The blobs are copied byte for byte: no filter, no line-end conversion and no `export-ignore` of
the repository's attributes applies, so that two clones on two machines give the same files.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO

from buildspec.diagnostics import harmless
from generator.revisions.git import HistoryError, conversation, git
from generator.revisions.history import Repository

_CHUNK = 1 << 20
_LONGEST_LINK = 4096
_OUTSIDE = "it is a link that leads out of the build folder"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An entry of the tree that was not written, and why."""

    name: str
    reason: str


@dataclass(frozen=True, slots=True)
class _Entry:
    mode: str
    object_id: str
    name: str

    @property
    def is_link(self) -> bool:
        """Whether it is a symbolic link."""
        return self.mode == "120000"


@contextmanager
def checked_out(repository: Repository, tree: str) -> Iterator[tuple[Path, tuple[LeftOut, ...]]]:
    """A temporary folder with the files of `tree`, and what was left out of it."""
    with tempfile.TemporaryDirectory(prefix="marginbook-") as scratch:
        target = Path(scratch).resolve() / "build"
        yield target, materialise(repository, tree, target)


def materialise(repository: Repository, tree: str, target: Path) -> tuple[LeftOut, ...]:
    """Write the files of the tree with id `tree` into `target`, which must not exist yet.

    Links that stay inside are made last; those that lead out, and parts that are repositories of
    their own, are left out and named. HistoryError where a name could write outside `target`, or
    where the clone lacks a file; OSError where it cannot be written.
    """
    entries = _entries(repository, tree)
    target.mkdir(parents=True)
    files = [e for e in entries if e.mode.startswith("100")]
    links = [e for e in entries if e.is_link]
    with conversation(repository.root, "cat-file", "--batch") as (asked, answered):
        for entry in files:
            _copy(asked, answered, entry, target)
        left = [out for e in links if (out := _link(asked, answered, e, target))]
    left += [LeftOut(e.name, _OUTSIDE) for e in links if _strayed(target / e.name, target)]
    others = [e for e in entries if not e.is_link and not e.mode.startswith("100")]
    return (*left, *(LeftOut(e.name, "it is a repository of its own") for e in others))


def _entries(repository: Repository, tree: str) -> list[_Entry]:
    listed = git(repository.root, "ls-tree", "-r", "-z", "--full-tree", tree)
    entries = []
    for line in listed.split(b"\0"):
        if line:
            about, _, name = line.decode("utf-8", "surrogateescape").partition("\t")
            mode, _, object_id = about.split(" ")
            entries.append(_Entry(mode, object_id, _safe(name)))
    return entries


def _safe(name: str) -> str:
    """The name, or HistoryError where it could lead out of the folder on any machine."""
    parts = name.split("/")
    bad = any(p in {"", ".", ".."} or p.lower() == ".git" for p in parts)
    if bad or "\\" in name or (os.name == "nt" and ":" in name):
        raise HistoryError(
            f"the revision holds a file named `{harmless(name)}`, which could be written outside "
            "its folder; it is not read"
        )
    return name


def _copy(asked: IO[bytes], answered: IO[bytes], entry: _Entry, target: Path) -> None:
    size = _ask(asked, answered, entry)
    path = target / entry.name
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as handle:
        while size > 0:
            chunk = answered.read(min(size, _CHUNK))
            if not chunk:
                raise HistoryError(f"git broke off while reading `{harmless(entry.name)}`")
            handle.write(chunk)
            size -= len(chunk)
    answered.read(1)


def _ask(asked: IO[bytes], answered: IO[bytes], entry: _Entry) -> int:
    """Ask for a blob; its size, with its content next to be read."""
    asked.write(f"{entry.object_id}\n".encode())
    asked.flush()
    answer = answered.readline().split()
    if len(answer) != 3 or answer[1] != b"blob":
        raise HistoryError(
            f"the clone does not hold `{harmless(entry.name)}` of this revision; it is a partial "
            "clone. Clone it whole, without a filter"
        )
    return int(answer[2])


def _link(asked: IO[bytes], answered: IO[bytes], entry: _Entry, target: Path) -> LeftOut | None:
    """Make a link that stays inside; say why another is left out."""
    size = _ask(asked, answered, entry)
    content = answered.read(size)
    answered.read(1)
    leads = content.decode("utf-8", "surrogateescape")
    path = target / entry.name
    if size > _LONGEST_LINK or not _inside(entry.name, leads):
        return LeftOut(entry.name, _OUTSIDE)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.symlink_to(leads)
    return None


def _inside(name: str, leads: str) -> bool:
    """Whether a relative link at `name` stays inside, taken step by step."""
    if not leads or "\0" in leads or "\\" in leads or PurePosixPath(leads).is_absolute():
        return False
    depth = len(PurePosixPath(name).parts) - 1
    for part in PurePosixPath(leads).parts:
        depth += -1 if part == ".." else 1
        if depth < 0:
            return False
    return True


def _strayed(path: Path, target: Path) -> bool:
    """Whether a link leads out by way of other links; such a one is taken away."""
    try:
        if not path.is_symlink() or path.resolve().is_relative_to(target.resolve()):
            return False
    except (OSError, RuntimeError):  # it leads back to itself; the reader says so
        return False
    path.unlink()
    return True
