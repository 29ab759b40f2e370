"""`new`: a build folder to begin with, or a copy of the demonstration."""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from buildspec.schema import assembled

SCHEMA_FOLDER = ".schema"


def make_folder(folder: Path, *, example: bool = False) -> list[str]:
    """Write a new build folder with its schema, and return the files written, in order.

    Raises FileExistsError where `folder` is a file or already holds something, OSError where it
    cannot be written.
    """
    if folder.is_file() or (folder.is_dir() and any(folder.iterdir())):
        raise FileExistsError(f"{folder} already holds something; name a new folder")
    source = files("example_build") if example else files("generator").joinpath("starter")
    written = _copy(source, folder, "")
    for name, text in sorted(assembled().items()):
        path = folder / SCHEMA_FOLDER / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
        written.append(f"{SCHEMA_FOLDER}/{name}")
    return written


def _copy(source: Traversable, target: Path, inside: str) -> list[str]:
    """Copy a packaged folder, sorted, without what Python or an editor leaves behind."""
    target.mkdir(parents=True, exist_ok=True)
    written: list[str] = []
    for entry in sorted(source.iterdir(), key=lambda e: e.name):
        if entry.name.startswith((".", "__")):
            continue
        if entry.is_dir():
            written += _copy(entry, target / entry.name, f"{inside}{entry.name}/")
        else:
            (target / entry.name).write_bytes(entry.read_bytes())
            written.append(inside + entry.name)
    return written
