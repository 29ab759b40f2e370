"""Pictures and copies of the subject `evidence`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from buildspec.diagnostics import Diagnostic, Place
from buildspec.evidence import PICTURES
from buildspec.files import locate
from generator.downloads.attached import Attached
from generator.pictures import PictureError, small
from generator.subjects.evidence import Detail, EvidenceState
from generator.vocabulary import Outcome

COPIED: Mapping[str, str] = {"pdf": "pdf", "csv": "csv", "text": "txt"}
"""Kinds that are copied as they are, with the ending they get; what a name says is not trusted."""
MOST_COPIED = 10_000_000
"""Bytes of a file that is copied."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What the page shows of one file: a `picture` with its size, a `copy`, or `why` neither."""

    picture: str = ""
    width: int = 0
    height: int = 0
    copy: str = ""
    why: str = ""


def attached(outcome: Outcome, folder: Path | None) -> Attached:
    """A small picture of every photo, and a copy of every PDF, CSV and text file that is not large."""
    detail = outcome.detail
    assert isinstance(detail, Detail)
    files: dict[str, bytes] = {}
    shown = {name: _shown(state, folder, files) for name, state in detail.states.items()}
    return Attached(files, {"pictures": shown})


def _shown(state: EvidenceState, folder: Path | None, files: dict[str, bytes]) -> Shown:
    fact = state.fact
    if not fact.exists or fact.fault:
        return Shown(why=f"the file {fact.fault}" if not fact.exists else fact.fault)
    data = _read(state.file, folder)
    if data is None:
        return Shown(why="the file could not be read when the site was built")
    stem = f"evidence/{state.id}-{fact.sha256[:8]}"
    if fact.kind in PICTURES:
        return _picture(data, f"{stem}.jpg", files)
    return _copy(data, fact.kind, stem, files)


def _read(name: str, folder: Path | None) -> bytes | None:
    try:
        path = locate(folder, name, Place(name)) if folder else None
        return path.read_bytes() if path and not isinstance(path, Diagnostic) else None
    except (OSError, RuntimeError, ValueError):
        return None


def _picture(data: bytes, name: str, files: dict[str, bytes]) -> Shown:
    try:
        made = small(data)
    except PictureError as error:
        return Shown(why=str(error))
    files[name] = made.data
    return Shown(name, made.width, made.height)


def _copy(data: bytes, kind: str, stem: str, files: dict[str, bytes]) -> Shown:
    if kind not in COPIED:
        return Shown(why="it is neither a picture, nor PDF, nor text")
    if len(data) > MOST_COPIED:
        return Shown(
            why=f"it is larger than {MOST_COPIED // 1_000_000} MB; it is in the build folder"
        )
    name = f"{stem}.{COPIED[kind]}"
    files[name] = data
    return Shown(copy=name)
