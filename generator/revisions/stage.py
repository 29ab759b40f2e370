"""A whole new content for a folder, made beside it and put in its place in one step.

Whoever looks, or whatever is killed, finds the old content or the new. A lock keeps two writers
apart; the system lets go of it when its holder ends, however it ends.
"""

from __future__ import annotations

import ctypes
import errno
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from generator.revisions.git import HistoryError

_LINUX_EXCHANGE, _MAC_EXCHANGE, _AT_CWD = 2, 2, -100


class PublishError(HistoryError):
    """Nothing was published, and the public folder is as it was; the message says why."""


# ----------------------------------------------------------------------------------- lock


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Keep other writers of `folder` away. PublishError where one is at work.

    A lock file that its writer left behind when it was killed is nobody's, and is taken over.
    """
    path = folder.parent / f".{folder.name}.marginbook-lock"
    handle = _take(path, folder)
    try:
        handle.seek(0)
        handle.truncate()
        handle.write(f"process {os.getpid()}\n".encode())
        handle.flush()
        yield
    finally:
        with suppress(PermissionError):  # some systems keep an open file; it is then left behind
            path.unlink(missing_ok=True)
        handle.close()


def _take(path: Path, folder: Path) -> IO[bytes]:
    while True:
        handle = path.open("a+b")
        if not _lock(handle):
            handle.seek(0)
            who = handle.read(80).decode("utf-8", "replace").strip()
            handle.close()
            raise PublishError(
                f"{folder} is being written by another marginbook{f' ({who})' if who else ''}; "
                "wait until it has ended"
            )
        if _same(handle, path):
            return handle
        handle.close()  # its holder ended, and took the file away between our two steps


def _same(handle: IO[bytes], path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle.fileno()), path.stat())
    except FileNotFoundError:
        return False


if sys.platform == "win32":
    import msvcrt

    def _lock(handle: IO[bytes]) -> bool:
        try:
            handle.seek(1 << 20)  # a byte beyond the words, which others may read
            msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _lock(handle: IO[bytes]) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


# ---------------------------------------------------------------------------------- stage


@contextmanager
def staged(folder: Path) -> Iterator[Path]:
    """An empty folder beside `folder`, on the same disk; taken away at the end with its content."""
    with tempfile.TemporaryDirectory(
        prefix=_prefix(folder), dir=folder.parent, ignore_cleanup_errors=True
    ) as scratch:
        fresh = Path(scratch) / "fresh"
        fresh.mkdir()
        yield fresh


def _prefix(folder: Path) -> str:
    return f".{folder.name}.marginbook-stage-"


def tidy(folder: Path) -> None:
    """Clear what a killed writer of `folder` left beside it; its old content comes back first."""
    for left in sorted(folder.parent.glob(f"{_glob(_prefix(folder))}*")):
        old = left / "old"
        if old.is_dir() and not folder.exists():
            old.rename(folder)
        shutil.rmtree(left, ignore_errors=True)


def _glob(text: str) -> str:
    return "".join(f"[{c}]" if c in "*?[" else c for c in text)


def put_in_place(fresh: Path, folder: Path) -> None:
    """Make the content of `fresh` that of `folder`, in one step where the system has such a step.

    Afterwards `fresh`, or `old` beside it, holds the old content, if there was any.
    """
    if not folder.exists():
        fresh.rename(folder)
    elif not exchange(fresh, folder):
        old = fresh.parent / "old"
        folder.rename(old)  # between this and the next line there is no folder; `tidy` mends that
        fresh.rename(folder)


def exchange(one: Path, other: Path) -> bool:
    """Let two folders change places in one step; False where the system has no such step."""
    library = ctypes.CDLL(None, use_errno=True) if sys.platform != "win32" else None
    first, second = os.fsencode(one), os.fsencode(other)
    if library is None:
        return False
    if hasattr(library, "renameat2"):
        failed = library.renameat2(_AT_CWD, first, _AT_CWD, second, _LINUX_EXCHANGE)
    elif hasattr(library, "renamex_np"):
        failed = library.renamex_np(first, second, _MAC_EXCHANGE)
    else:
        return False
    if not failed:
        return True
    number = ctypes.get_errno()
    if number in {errno.EINVAL, errno.ENOSYS, errno.ENOTSUP}:
        return False  # this disk's file system does not know it
    raise OSError(number, os.strerror(number), str(other))


# ------------------------------------------------------------------------------- carrying


def carry(source: Path, target: Path) -> None:
    """Make `target` hold what `source` holds: the same files where the disk allows, or copies."""
    if source.is_symlink():
        target.symlink_to(source.readlink())
    elif source.is_dir():
        target.mkdir()
        for entry in sorted(source.iterdir()):
            carry(entry, target / entry.name)
        shutil.copystat(source, target)
    else:
        _carry_file(source, target)


def _carry_file(source: Path, target: Path) -> None:
    try:
        os.link(source, target)
    except OSError as error:
        if error.errno in {errno.ENOSPC, errno.EDQUOT}:
            raise
        shutil.copy2(source, target)
