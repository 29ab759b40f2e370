"""What git holds of a build folder: its revisions, and in which state it is now. Only reads.

A revision is an annotated tag; its message is the revision's description. Nothing else stores
history. The build folder may be a subfolder of the repository.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

from buildspec.diagnostics import harmless, quoted
from buildspec.files import UNPRINTABLE
from generator.revisions.git import HistoryError, git

PATTERN = "rev-*"
RESERVED = frozenset({"assets", "draft", "latest", "search", "team"})
"""Names that the public folder and its pages use themselves."""
_SAFE = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9._-]{0,62}[A-Za-z0-9_-])?")
_DEVICES = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?", re.IGNORECASE)
MOST_WORDS = 4000
"""Characters of a description that are kept."""


@dataclass(frozen=True, slots=True)
class Revision:
    """One annotated tag. `tree` is the id of the build folder in it, which names its content.

    `title` is the first line of the message and `description` all of it, made harmless: data to be
    escaped where it is printed. `when` is the time the tag was made, where it was made.
    """

    name: str
    title: str
    description: str
    when: datetime.datetime
    tag: str
    commit: str
    tree: str
    signed: bool = False

    @property
    def date(self) -> datetime.date:
        """The day of issue, as the clock of who tagged it said."""
        return self.when.date()


@dataclass(frozen=True, slots=True)
class Refused:
    """A tag that its name makes a revision and that cannot be one, with the reason."""

    name: str
    reason: str


@dataclass(frozen=True, slots=True)
class Listing:
    """The revisions, oldest first, and the tags that cannot be one."""

    revisions: tuple[Revision, ...] = ()
    refused: tuple[Refused, ...] = ()

    def named(self, name: str) -> Revision:
        """The revision of this name. HistoryError with the reason where there is none."""
        for revision in self.revisions:
            if revision.name == name:
                return revision
        for tag in self.refused:
            if tag.name == name:
                raise HistoryError(f"{quoted(name)} is no revision: {tag.reason}")
        known = ", ".join(r.name for r in self.revisions[-8:]) or "none yet"
        raise HistoryError(f"there is no revision {quoted(name)}; the last ones are: {known}")

    def until(self, revision: Revision | None) -> tuple[Revision, ...]:
        """The revisions up to this one, oldest first; all of them where it is None, a draft."""
        return self.revisions[: self.revisions.index(revision) + 1] if revision else self.revisions

    def before(self, name: str) -> Revision | None:
        """The revision issued just before the one of this name, if any."""
        names = [r.name for r in self.revisions]
        at = names.index(name) if name in names else len(names)
        return self.revisions[at - 1] if at else None


@dataclass(frozen=True, slots=True)
class Repository:
    """A build folder in its repository: `prefix` is its path from `root`, "" for all of it."""

    folder: Path
    root: Path
    prefix: str


@dataclass(frozen=True, slots=True)
class State:
    """What the folder holds now: `revision` where that is one; otherwise it is a draft.

    `commit` is "" before the first commit; `changed` says that something is not committed.
    """

    commit: str
    tree: str
    changed: bool
    revision: Revision | None = None


# ------------------------------------------------------------------------- the repository


def find_repository(folder: Path) -> Repository:
    """The repository that `folder` stands in. HistoryError where there is none."""
    place = folder.resolve()
    if not place.is_dir():
        raise HistoryError(f"there is no folder {folder}")
    said = git(place, "rev-parse", "--show-toplevel", "--show-prefix", "--is-inside-work-tree")
    root, prefix, *_ = [*said.decode("utf-8", "surrogateescape").split("\n"), "", ""]
    if "\n" in str(place):
        raise HistoryError(f"the folder's name holds a line break: {harmless(str(place))}")
    return Repository(place, Path(root), prefix.rstrip("/"))


def _complete(repository: Repository) -> None:
    """HistoryError where the clone holds only the last commits: tags would be missing."""
    if git(repository.root, "rev-parse", "--is-shallow-repository").strip() == b"true":
        raise HistoryError(
            f"{repository.root} is a shallow clone: part of the history is not there. Fetch it "
            "with `git fetch --unshallow --tags`; in CI, ask for the whole depth"
        )


# -------------------------------------------------------------------------- the revisions

_FIELDS = (
    "refname:strip=2",
    "objecttype",
    "objectname",
    "taggerdate:iso8601-strict",
    "contents:subject",
    "contents:body",
    "contents:signature",
)


def revisions(repository: Repository, pattern: str = PATTERN) -> Listing:
    """The tags whose names match `pattern` (as a shell would), oldest first.

    The order is that of the days they were made, then of commits and names. HistoryError where the
    clone is shallow.
    """
    _complete(repository)
    form = "%00".join(f"%({name})" for name in _FIELDS) + "%00"
    fields = git(repository.root, "for-each-ref", f"--format={form}", "refs/tags").split(b"\0")
    size = len(_FIELDS)
    rows = [fields[n : n + size] for n in range(0, len(fields) - size, size)]
    tags = [[_text(field) for field in row] for row in rows]
    tags = [tag for tag in tags if fnmatchcase(tag[0].strip(), pattern)]
    ids = _ids(repository, [tag[0].strip() for tag in tags])
    found = _apart([_revision(repository, tag, ids) for tag in tags])
    listing = sorted((r for r in found if isinstance(r, Revision)), key=_age)
    return Listing(tuple(listing), tuple(r for r in found if isinstance(r, Refused)))


def _text(field: bytes) -> str:
    return field.decode("utf-8", "replace")


def _age(revision: Revision) -> tuple[datetime.datetime, tuple[object, ...]]:
    return revision.when, natural(revision.name)


def natural(name: str) -> tuple[tuple[str, int], ...]:
    """A key that sorts `rev-9` before `rev-10`."""
    return tuple((word, int(digits or 0)) for word, digits in re.findall(r"(\D*)(\d{0,18})", name))


def _ids(repository: Repository, names: Iterable[str]) -> Mapping[str, tuple[str, str]]:
    """The ids of commit and build folder by tag, "" for what a tag does not have."""
    inside = f":{repository.prefix}" if repository.prefix else "^{tree}"
    asked = [f"refs/tags/{name}^{{commit}}{part}" for name in names for part in ("", inside)]
    if not asked:
        return {}
    lines = git(
        repository.root,
        "cat-file",
        "--batch-check=%(objectname) %(objecttype)",
        given="".join(f"{line}\n" for line in asked).encode("utf-8", "surrogateescape"),
    )
    answers = [line.decode("utf-8", "replace").split(" ") for line in lines.split(b"\n")]
    known = iter(answers)
    return {name: (_if(next(known), "commit"), _if(next(known), "tree")) for name in names}


def _if(answer: list[str], kind: str) -> str:
    return answer[0] if len(answer) == 2 and answer[1] == kind else ""


def _revision(
    repository: Repository, tag: list[str], ids: Mapping[str, tuple[str, str]]
) -> Revision | Refused:
    name, kind, object_id, when, subject, body, signature = (part.strip() for part in tag)
    words = _harmless(f"{subject}\n\n{body}".strip())[:MOST_WORDS]
    title = words.split("\n", 1)[0].strip()
    made = datetime.datetime.fromisoformat(when) if when else _NEVER
    found = Revision(name, title, words, made, object_id, *ids[name], bool(signature))
    reason = _not_one(repository, kind, found) or unsafe(name)
    return Refused(harmless(name), reason) if reason else found


_NEVER = datetime.datetime.min.replace(tzinfo=datetime.UTC)


def _not_one(repository: Repository, kind: str, found: Revision) -> str:
    """Why a tag is no revision; "" where it is one."""
    if kind != "tag":
        return (
            "the tag has no message and no date of its own (it is a lightweight tag); make it again "
            "with `git tag -a`"
        )
    if not found.commit:
        return "the tag names something else than a commit"
    if not found.tree:
        where = f"`{harmless(repository.prefix)}`"
        return f"the folder {where} is not in it; the tag belongs to another folder"
    if not found.title:
        return "the tag has no message; make it again with `git tag -a`, and say what changed"
    return "the tag does not say when it was made" if found.when == _NEVER else ""


def unsafe(name: str) -> str:
    """Why `name` cannot be the name of a folder on every machine; "" where it can."""
    if not _SAFE.fullmatch(name) or _DEVICES.fullmatch(name):
        return (
            "its name cannot be a folder's name on every machine; use letters, digits, `-`, `_` and "
            "`.`, at most 64 of them"
        )
    return "the public folder uses this name itself" if name.lower() in RESERVED else ""


def _apart(found: list[Revision | Refused]) -> list[Revision | Refused]:
    """Of names that some machines cannot tell apart (`rev-a`, `rev-A`), only the oldest stands."""
    holders: dict[str, str] = {}
    for revision in sorted((r for r in found if isinstance(r, Revision)), key=_age):
        holders.setdefault(revision.name.lower(), revision.name)
    return [
        tag
        if isinstance(tag, Refused) or holders[tag.name.lower()] == tag.name
        else Refused(
            tag.name, f"only capitals tell it from {holders[tag.name.lower()]}, which is older"
        )
        for tag in found
    ]


def _harmless(text: str) -> str:
    """Words on their lines, without what steers a terminal or turns the direction of writing."""
    return UNPRINTABLE.sub("�", text.replace("\r\n", "\n").replace("\r", "\n").expandtabs(4))


# -------------------------------------------------------------------------- the state now


def state(repository: Repository, listing: Listing) -> State:
    """What the folder holds now. It is a revision where nothing is changed since one.

    That is: its commit carries the tag, or the folder is as in the newest revision and only
    other parts of the repository went on.
    """
    head, tree = _head(repository)
    changed = bool(
        git(repository.folder, "status", "--porcelain=v1", "-z", "--untracked-files=all", "--", ".")
    )
    newest = listing.revisions[-1:] if listing.revisions else ()
    here = [r for r in listing.revisions if r.commit == head] or [
        r for r in newest if r.tree == tree
    ]
    return State(head, tree, changed, here[-1] if here and not changed else None)


def _head(repository: Repository) -> tuple[str, str]:
    inside = f"HEAD:{repository.prefix}" if repository.prefix else "HEAD^{tree}"
    lines = git(
        repository.root,
        "cat-file",
        "--batch-check=%(objectname) %(objecttype)",
        given=f"HEAD^{{commit}}\n{inside}\n".encode("utf-8", "surrogateescape"),
    ).split(b"\n")
    commit, tree = ([*_text(line).split(" ")] for line in lines[:2])
    return _if(commit, "commit"), _if(tree, "tree")
