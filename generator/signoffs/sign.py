"""Giving a word on a scope: the record is made from what is computed, and appended to the folder."""

from __future__ import annotations

import datetime
import os
import re
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from buildspec.diagnostics import closest, harmless, quoted
from buildspec.documents import read_yaml
from buildspec.files import UNPRINTABLE
from buildspec.sections.signoffs import ACCEPTED, Seen, Signoffs, seal, together
from buildspec.validate import validate
from generator.evaluation import Evaluation
from generator.results import program_version
from generator.signoffs.scope import scope_of
from generator.signoffs.seen import seen_of
from generator.signoffs.writing import AppendError, appended

FILE = "signoffs.yaml"


class SignError(Exception):
    """The word cannot be recorded; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Looked:
    """Which state of the design was looked at."""

    revision: str = ""
    commit: str = ""
    uncommitted: bool = False


@dataclass(frozen=True, slots=True)
class Said:
    """One person's word: on what, who, in what role, which word, and a note."""

    scope: str
    by: str
    role: str
    says: str
    note: str = ""


def sign(folder: Path, said: Said, evaluation: Evaluation, looked: Looked) -> dict[str, Any]:
    """Append the record of a word to `folder` and return it.

    `evaluation` is of the state that was looked at; its day is the record's date. ScopeError where
    that has no such scope, SignError where the word is not complete or cannot be written.
    """
    _complete(said)
    record = record_of(said, evaluation, looked, _ids(folder))
    append(folder, "records", record)
    return record


def record_of(
    said: Said, evaluation: Evaluation, looked: Looked, taken: Iterable[str] = ()
) -> dict[str, Any]:
    """The record as plain data, as it will stand in the file."""
    scope = scope_of(evaluation, said.scope)
    seen = seen_of(scope, evaluation)
    return {
        "id": _free_id(said.scope, set(taken)),
        "scope": said.scope,
        "by": said.by,
        "as": said.role,
        "says": said.says,
        **({"note": said.note} if said.note else {}),
        "date": evaluation.as_of.isoformat(),
        **({"revision": looked.revision} if looked.revision else {}),
        **({"commit": looked.commit} if looked.commit else {}),
        **({"uncommitted": True} if looked.uncommitted else {}),
        "program": program_version(),
        "fingerprint": seal(said.scope, seen),
        "seen": _plain(seen),
    }


def answer(folder: Path, day: datetime.date, to: str, by: str, text: str) -> dict[str, Any]:
    """Append the team's answer to the comment of a record, and return it."""
    known = _ids(folder)
    if to not in known:
        near = closest(to, known)
        hint = f"did you mean {quoted(near)}? " if near else ""
        raise SignError(
            f"there is no record {quoted(to)}; {hint}there are: {', '.join(known) or 'none'}"
        )
    _usable("--by", by)
    _usable("--note", text)
    entry = {"to": to, "by": by, "date": day.isoformat(), "text": text}
    append(folder, "answers", entry)
    return entry


def own_file(folder: Path, evaluation: Evaluation) -> None:
    """SignError where the section stands in `build.yaml`: it would then stand in two files.

    `evaluation` is of the folder as it is.
    """
    if evaluation.build.section(Signoffs) is not None and not (folder / FILE).exists():
        raise SignError(
            f"the section `signoffs` stands in build.yaml; move it into a file of its own, {FILE}"
        )


def _complete(said: Said) -> None:
    for option, text in (("--scope", said.scope), ("--by", said.by), ("--as", said.role)):
        _usable(option, text)
    if said.says != ACCEPTED:
        if not said.note.strip():
            raise SignError(f"say with --note what {said.says} is about")
        _usable("--note", said.note)
    elif said.note:
        _usable("--note", said.note)


def _usable(option: str, text: str) -> None:
    if not text.strip():
        raise SignError(f"{option} is empty")
    if UNPRINTABLE.search(text) or "\n" in text:
        raise SignError(
            f"{option} holds characters that cannot be printed on a line: {harmless(text)}"
        )


def _ids(folder: Path) -> tuple[str, ...]:
    """The ids of the records that stand in the folder's file."""
    data = read_yaml(_text(folder), FILE).data
    records = data.get("records") if isinstance(data, dict) else None
    entries = records if isinstance(records, list) else []
    return tuple(str(e["id"]) for e in entries if isinstance(e, dict) and "id" in e)


def _free_id(scope: str, taken: set[str]) -> str:
    """`parachutes_1`: the scope in letters, and the first number that is free."""
    stem = re.sub(r"[^a-z0-9]+", "_", scope.lower()).strip("_")[:50] or "scope"
    stem = stem if stem[0].isalpha() else f"s_{stem}"
    number = 1
    while f"{stem}_{number}" in taken:
        number += 1
    return f"{stem}_{number}"


def _plain(seen: Seen) -> dict[str, dict[str, str]]:
    parts: Mapping[str, Mapping[str, str]] = {f.name: getattr(seen, f.name) for f in fields(seen)}
    return {name: together(entries) for name, entries in parts.items() if entries}


# ------------------------------------------------------------------------------------ files


def append(folder: Path, key: str, entry: Mapping[str, Any]) -> None:
    """Append an entry to the folder's file in one step: it is as before, or complete.

    SignError where it cannot be done.
    """
    try:
        new = appended(_text(folder), key, entry)
    except AppendError as error:
        raise SignError(str(error)) from None
    _allowed(new)
    path = _path(folder)
    try:
        _replace(path, new.encode("utf-8"))
    except OSError as error:
        raise SignError(
            f"nothing was recorded, and {path} is as it was: {error.strerror or error}"
        ) from error


def _allowed(text: str) -> None:
    """SignError where the file would hold what a description may not: the folder stays readable."""
    document = read_yaml(text, FILE, ("signoffs",))
    whole = replace(document, data={"signoffs": document.data})
    for path, problem in validate(whole):
        if path[:1] == ("signoffs",):
            where = str(path[-1]) if path else FILE
            raise SignError(f"nothing was written: `{where}`: {problem.message}; {problem.help}")


def _text(folder: Path) -> str:
    """The text of the file, "" where there is none yet."""
    path = _path(folder)
    try:
        return path.read_bytes().decode("utf-8") if path.exists() else ""
    except UnicodeDecodeError:
        raise SignError(f"{path} is no UTF-8 text; mend it first") from None


def _path(folder: Path) -> Path:
    """The file, which must lie inside the folder."""
    path = folder / FILE
    if path.is_symlink() and not path.resolve().is_relative_to(folder.resolve()):
        raise SignError(f"{path} is a link that leads out of the folder; put the file itself there")
    return path.resolve()


def _replace(path: Path, content: bytes) -> None:
    handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
    fresh = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        fresh.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
        fresh.replace(path)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
