"""Figures of revisions, kept between runs in the user's cache folder. It may be deleted any time.

An entry is named by the id of the tree, the day, and a digest of the program's own files, so that
another description or another program never meets it. What cannot be read or written is done
without.
"""

from __future__ import annotations

import datetime
import functools
import hashlib
import json
import os
import tempfile
from pathlib import Path
from typing import Any

_ENDINGS = (".py", ".json", ".yaml", ".txt", ".csv")


def cache_folder() -> Path:
    """Where entries of this program stand: below `$XDG_CACHE_HOME`, or `~/.cache`."""
    base = os.environ.get("XDG_CACHE_HOME", "")
    root = Path(base) if base and Path(base).is_absolute() else Path.home() / ".cache"
    return root / "marginbook" / "trends" / program_digest()[:16]


@functools.cache
def program_digest() -> str:
    """SHA-256 over the files that decide what is computed."""
    digest = hashlib.sha256()
    root = Path(__file__).resolve().parents[2]
    for package in ("buildspec", "generator"):
        for path in sorted((root / package).rglob("*")):
            if path.suffix in _ENDINGS and path.is_file():
                digest.update(path.relative_to(root).as_posix().encode())
                digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def load(tree: str, day: datetime.date) -> Any:
    """The entry as plain data, or None."""
    try:
        return json.loads(_path(tree, day).read_text("utf-8"))
    except (OSError, ValueError, RuntimeError):  # RuntimeError: there is no home
        return None


def store(tree: str, day: datetime.date, data: Any) -> None:
    """Keep the entry, in one step; nothing happens where that cannot be done."""
    try:
        path = _path(tree, day)
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".new-")
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            json.dump(data, out, allow_nan=False)
        Path(name).replace(path)
    except (OSError, RuntimeError):
        return


def _path(tree: str, day: datetime.date) -> Path:
    name = hashlib.sha256(f"{tree} {day.isoformat()}".encode()).hexdigest()[:40]
    return cache_folder() / f"{name}.json"
