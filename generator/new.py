"""`new`: a build folder to begin with, or the demonstration with its history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from buildspec.schema import assembled
from generator.revisions.example import make_repository, present
from generator.revisions.git import HistoryError

SCHEMA_FOLDER = ".schema"


@dataclass(frozen=True, slots=True)
class MadeFolder:
    """The files written, in order; the revisions made; and what else is to be said."""

    files: tuple[str, ...]
    revisions: tuple[str, ...] = ()
    note: str = ""


def make_folder(folder: Path, *, example: bool = False) -> MadeFolder:
    """Write a new build folder with its schema; the demonstration as a git repository.

    Raises FileExistsError where `folder` is a file or already holds something, OSError where it
    cannot be written.
    """
    if folder.is_file() or (folder.is_dir() and any(folder.iterdir())):
        raise FileExistsError(f"{folder} already holds something; name a new folder")
    schemas = {f"{SCHEMA_FOLDER}/{n}": text.encode() for n, text in sorted(assembled().items())}
    folder.mkdir(parents=True, exist_ok=True)
    if example:
        return _example(folder, schemas)
    return MadeFolder(_written(folder, present(files("generator").joinpath("starter")), schemas))


def _example(folder: Path, schemas: Mapping[str, bytes]) -> MadeFolder:
    """The demonstration; without its history where there is no git to keep it."""
    from generator.revisions.example_words import record_words  # noqa: PLC0415  (evaluates)

    try:
        history = make_repository(folder, schemas, record_words)
    except HistoryError as error:
        names = _written(folder, present(), schemas)
        return MadeFolder(names, note=f"the files are there without their history: {error}")
    every = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    own = tuple(name for name in every if not name.startswith(".git/"))
    return MadeFolder(own, tuple(step.tag for step in history))


def _written(folder: Path, *parts: Mapping[str, bytes]) -> tuple[str, ...]:
    every = {name: content for part in parts for name, content in part.items()}
    for name, content in every.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return tuple(every)
