"""What stands in a public folder besides the pages: record, digests, versions, front page, worker."""

from __future__ import annotations

import dataclasses
import datetime
import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from generator.edition import DRAFT
from generator.folders import MARKER
from generator.markup import plain
from generator.revisions.history import natural
from generator.revisions.stage import PublishError
from generator.templates import FOLDER

RECORD, DIGESTS, LATEST = "revisions.json", "digests.sha256", "latest"
FRONT = "index.html"
OWN = frozenset({RECORD, FRONT, "versions.json", "versions.js", "sw.js", LATEST, DRAFT, MARKER})
"""What every publishing writes anew."""
_FORMAT = 1
_WAYS = (
    ("since.html", "What changed"),
    ("signoffs.html", "Sign-offs"),
    ("trends.html", "Trends"),
    ("open-items.html", "Open items"),
)
"""Pages of the newest revision that the front page leads to, where it has them."""


@dataclass(frozen=True, slots=True)
class Counts:
    """How many checks and prescriptions there are, and how many of them are not well."""

    checks: int = 0
    short: int = 0
    open: int = 0
    prescriptions: int = 0
    departs: int = 0


@dataclass(frozen=True, slots=True)
class Issue:
    """One revision or the draft as it stands in the public folder.

    `digest` is the SHA-256 of its list of digests; `reissued` counts how often it was replaced.
    """

    version: str
    title: str
    vehicle: str
    date: str
    when: str
    tag: str
    commit: str
    tree: str
    program: str
    digest: str
    counts: Counts
    pages: tuple[str, ...]
    reissued: int = 0

    @property
    def said(self) -> str:
        """Name and title for the list of revisions."""
        return self.title if self.version == DRAFT else f"{self.version}: {self.title}"


@dataclass(frozen=True, slots=True)
class Missing:
    """A revision that could not be published, with the reason."""

    version: str
    title: str
    reason: str


@dataclass(frozen=True, slots=True)
class Record:
    """All that is in a public folder; `issues` newest first."""

    issues: tuple[Issue, ...] = ()
    draft: Issue | None = None
    missing: tuple[Missing, ...] = ()

    def issue(self, version: str) -> Issue | None:
        """The issue of this revision, if any."""
        return next((i for i in self.issues if i.version == version), None)


# ----------------------------------------------------------------------------- the record


def read_record(public: Path) -> Record:
    """What the folder says it holds; an empty record where it is not there yet.

    PublishError where its record cannot be read.
    """
    path = public / RECORD
    try:
        data = json.loads(path.read_text("utf-8"))
        if data["format"] > _FORMAT:
            raise PublishError(f"{path} was written by a newer marginbook; use that one")
        return Record(
            tuple(_issue(entry) for entry in data["revisions"]),
            _issue(data["draft"]) if data["draft"] else None,
            tuple(Missing(**entry) for entry in data["missing"]),
        )
    except FileNotFoundError:
        return Record()
    except (ValueError, KeyError, TypeError):
        raise PublishError(
            f"{path} is damaged, and nothing else says which revisions are issued; put it back "
            "from a copy of the folder"
        ) from None


def _issue(data: Mapping[str, Any]) -> Issue:
    given = dict(data)
    counts = Counts(**given.pop("counts"))
    return Issue(counts=counts, pages=tuple(given.pop("pages")), **given)


def record_text(record: Record) -> str:
    """The record as JSON text."""
    data = {
        "format": _FORMAT,
        "revisions": [dataclasses.asdict(i) for i in record.issues],
        "draft": dataclasses.asdict(record.draft) if record.draft else None,
        "missing": [dataclasses.asdict(m) for m in record.missing],
    }
    return json.dumps(data, indent=1, ensure_ascii=False) + "\n"


# ---------------------------------------------------------------------------- the digests


def digests(folder: Path) -> str:
    """The SHA-256 of every file below `folder`, as `sha256sum` prints and checks them."""
    names = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    return "".join(f"{_sha(folder / n)}  {n}\n" for n in names if n != DIGESTS)


def digest(folder: Path) -> str:
    """One digest for the whole folder: that of its list."""
    return _sha(folder / DIGESTS)


def _sha(path: Path) -> str:
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def changed(public: Path, issue: Issue) -> str:
    """The first file of an issued revision that is not as issued; "" where all are."""
    folder = public / issue.version
    listed = folder / DIGESTS
    if not listed.is_file() or digest(folder) != issue.digest:
        return f"{issue.version}/{DIGESTS}"
    then = set(listed.read_text("utf-8").splitlines())
    now = set(digests(folder).splitlines())
    names = sorted(line[66:] for line in then ^ now)
    return f"{issue.version}/{names[0]}" if names else ""


def pages_of(folder: Path) -> tuple[str, ...]:
    """The pages of a site, by their paths."""
    return tuple(sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*.html")))


def counts_of(results: Mapping[str, Any]) -> Counts:
    """The counts of a results.json."""
    verdicts = [check["verdict"] for check in results["checks"]]
    # as `once` counts them, from what is left of an evaluation in its file
    rules = results["requirements"]
    followed = {ref for rule in rules for ref in rule.get("refs", ())}
    states = [rule["state"] for rule in rules if rule["id"] not in followed]
    return Counts(
        len(verdicts),
        verdicts.count("short"),
        verdicts.count("open"),
        len([s for s in states if s != "not applicable"]),
        states.count("departs"),
    )


# -------------------------------------------------------------- what every publishing writes


def front_files(record: Record) -> dict[str, bytes]:
    """Everything beside the revisions' folders, by name."""
    return {
        RECORD: record_text(record).encode(),
        "versions.json": _versions(record).encode(),
        "versions.js": _script(record).encode(),
        "sw.js": _worker(record).encode(),
        FRONT: _front(record).encode(),
        MARKER: b"Everything here was written by `marginbook publish`. Issued revisions stay.\n",
    }


def _shown(record: Record) -> tuple[Issue, ...]:
    return (*((record.draft,) if record.draft else ()), *record.issues)


def _newest(record: Record) -> str:
    return record.issues[0].version if record.issues else ""


def _versions(record: Record) -> str:
    """The list in the form that documentation hosts read: version, title, aliases; newest first."""
    newest = _newest(record)
    listed = [
        {
            "version": issue.version,
            "title": issue.said,
            "aliases": [LATEST] if issue.version == newest else [],
        }
        for issue in _shown(record)
    ]
    return json.dumps(listed, indent=1, ensure_ascii=False) + "\n"


def _script(record: Record) -> str:
    """The same for pages opened from a disk, where a script may be loaded and a file may not."""
    listed = [
        {
            "version": issue.version,
            "title": issue.said,
            "date": issue.date,
            "draft": issue.version == DRAFT,
            "pages": list(issue.pages),
        }
        for issue in _shown(record)
    ]
    return f"window.marginbookVersions = {_in_script({'revisions': listed})};\n"


def _worker(record: Record) -> str:
    folders = {issue.version: issue.digest for issue in _shown(record)}
    if record.issues:
        folders[LATEST] = record.issues[0].digest
    text = (FOLDER / "public" / "sw.js").read_text("utf-8")
    return text.replace("const FOLDERS = {};", f"const FOLDERS = {_in_script(folders)};", 1)


def _in_script(data: object) -> str:
    """JSON that means the same inside a script, whatever the words in it."""
    text = json.dumps(data, ensure_ascii=True, sort_keys=True)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _front(record: Record) -> str:
    env = Environment(
        loader=FileSystemLoader(FOLDER / "public"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda value: plain(value) if type(value) is str else value,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    shown = _shown(record)
    newest = record.issues[0] if record.issues else None
    return env.get_template("index.html.j2").render(
        vehicle=shown[0].vehicle if shown else "Design review",
        newest=newest,
        ways=[(n, w) for n, w in _WAYS if newest and n in newest.pages],
        draft=record.draft,
        issues=record.issues,
        missing=record.missing,
        script=LATEST if record.issues else DRAFT,
    )


def newest_first(issues: Iterable[Issue]) -> tuple[Issue, ...]:
    """The issues by the time their tags were made; names decide between equals."""
    return tuple(sorted(issues, key=lambda i: (_instant(i.when), natural(i.version)), reverse=True))


def _instant(when: str) -> float:
    return datetime.datetime.fromisoformat(when).timestamp()
