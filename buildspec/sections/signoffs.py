"""The section `signoffs`: what reviewers said of parts of the design, and what they saw."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic

ACCEPTED, COMMENTED, REFUSED = "accepted", "accepted-with-comment", "not-accepted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What the scope's result depended on when it was signed, each entry as text by its id.

    `values` are quantities of the description; `beside` its words and counts next to them and what
    other subjects found, which undo nothing by themselves but help to say what changed; `checks`,
    `rules` and `results` what was computed, and `formulas` digests of the program's equations.

    In the file, entries of one record may stand in a line, `together`; here each has its own id.
    """

    values: Mapping[str, str] = field(default_factory=dict)
    beside: Mapping[str, str] = field(default_factory=dict)
    checks: Mapping[str, str] = field(default_factory=dict)
    rules: Mapping[str, str] = field(default_factory=dict)
    results: Mapping[str, str] = field(default_factory=dict)
    formulas: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for part in fields(self):
            object.__setattr__(self, part.name, apart(getattr(self, part.name)))


EACH, BETWEEN = ".*", " | "


def together(entries: Mapping[str, str]) -> dict[str, str]:
    """Entries of one record in a line: `mass.items.seat.*: mass 12 lb; stated | x 80 in; stated`.

    What holds a bar itself, or is the only one of its record, stays as it is.
    """
    groups: dict[str, dict[str, str]] = {}
    for name, text in entries.items():
        holder, _, own = name.rpartition(".")
        alone = not holder or "|" in text
        groups.setdefault(name if alone else holder + EACH, {})[own] = text
    made: dict[str, str] = {}
    for key, group in groups.items():
        if key.endswith(EACH) and len(group) > 1:
            made[key] = BETWEEN.join(f"{name} {text}" for name, text in group.items())
        else:
            (name, text), holder = *group.items(), key.removesuffix(EACH)
            made[f"{holder}.{name}" if key.endswith(EACH) else key] = text
    return made


def apart(entries: Mapping[str, str]) -> dict[str, str]:
    """The same with an id for each entry."""
    made: dict[str, str] = {}
    for key, text in entries.items():
        if not key.endswith(EACH):
            made[key] = text
            continue
        for own in text.split(BETWEEN):
            name, _, rest = own.partition(" ")
            made[f"{key.removesuffix(EACH)}.{name}"] = rest
    return made


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One person's word on one scope. `fingerprint` is that of scope and `seen`."""

    id: str
    scope: str
    by: str
    as_: str
    says: str
    date: datetime.date
    fingerprint: str
    seen: Seen
    note: str = ""
    revision: str = ""
    commit: str = ""
    uncommitted: bool = False
    program: str = ""

    @property
    def intact(self) -> bool:
        """Whether what it says was seen is what it was sealed with."""
        return self.fingerprint == seal(self.scope, self.seen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What the team answered to the comment of a record."""

    to: str
    by: str
    date: datetime.date
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Several scopes under one name."""

    id: str
    scopes: tuple[str, ...]
    title: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signoffs:
    """The records in the order they were made, the answers to them, and named groups of scopes."""

    records: tuple[Record, ...] = ()
    answers: tuple[Answer, ...] = ()
    groups: tuple[Group, ...] = ()


def subject_of(scope: str, section: Signoffs) -> str:
    """The word of the subject that a scope is about; of a group, that of its first scope."""
    group = next((g for g in section.groups if g.id == scope), None)
    return (group.scopes[0] if group else scope).split(".", 1)[0]


def seal(scope: str, seen: Seen) -> str:
    """Digest of what was seen of a scope: sixteen hexadecimal digits of SHA-256.

    It does not depend on the order in which things stand.
    """
    parts = {f.name: dict(getattr(seen, f.name)) for f in fields(seen)}
    text = json.dumps([scope, parts], sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def problems(section: Signoffs, build: Build) -> Iterator[Diagnostic]:
    """Records that were changed after they were made, and answers to nothing."""
    for record in section.records:
        here = f"signoffs.records.{record.id}"
        if not record.intact:
            yield Diagnostic(
                "signoff.edited",
                f"what `{record.id}` says was seen is not what its fingerprint stands for",
                build.where(f"{here}.fingerprint", here),
                "take the record back from your history, or take it out and sign again with "
                "`marginbook sign`; as it is, it counts for nothing",
                severity="warning",
            )
        if record.says in {COMMENTED, REFUSED} and not record.note:
            yield Diagnostic(
                "signoff.note",
                f"`{record.id}` says {record.says}, and no `note` says why",
                build.where(f"{here}.says", here),
                "add a `note` with the comment or the reason",
            )
