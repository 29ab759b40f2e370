"""Writing a whole folder so that nobody sees half of it, and never over somebody else's."""

from __future__ import annotations

import errno
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

MARKER = ".made-by-marginbook"
_SAID = (
    b"Everything in this folder was written by marginbook, and is replaced when it writes again.\n"
)


ISSUED = "revisions.json"
"""What tells a folder of published revisions, which only `publish` may change."""


class NotOursError(OSError):
    """The folder to be replaced holds something that this program did not write."""


def write(files: Mapping[str, bytes], folder: Path) -> None:
    """Write `files` as the whole content of `folder`.

    They are written beside it and swapped in, so that a reader finds the old content or the new.
    NotOursError where the folder holds files and lacks our marker; OSError as usual.
    """
    check(folder)
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".marginbook-", dir=folder.parent) as scratch:
        fresh = Path(scratch) / "fresh"
        for name, content in {**files, MARKER: _SAID}.items():
            target = fresh / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
        swap(fresh, folder)


def check(folder: Path) -> None:
    """NotOursError unless `folder` is absent, empty or written by this program to be replaced."""
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise NotOursError(
            errno.ENOTDIR, "this is no folder; name one that may be written", str(folder)
        )
    if folder.is_dir() and any(folder.iterdir()) and not (folder / MARKER).is_file():
        raise NotOursError(
            errno.EEXIST,
            "this folder holds files that marginbook did not write; name "
            "another, or empty it yourself",
            str(folder),
        )
    if (folder / ISSUED).is_file():
        raise NotOursError(
            errno.EEXIST,
            "this folder holds published revisions, which stay as they were issued; name another",
            str(folder),
        )


def swap(fresh: Path, folder: Path) -> None:
    """Put `fresh` in the place of `folder`, on the same disk; the old content goes only then."""
    check(folder)
    (fresh / MARKER).write_bytes(_SAID)
    old = fresh.parent / "old"
    if folder.exists():
        folder.rename(old)
    try:
        fresh.rename(folder)
    except OSError:
        if old.exists():
            old.rename(folder)
        raise
    shutil.rmtree(old, ignore_errors=True)
