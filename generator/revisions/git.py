"""The git command, run so that nothing of the user's own settings can steer it, and only to read.

No hook, alias, pager, editor, replacement object or network is reached. Three settings of the
user's say how files look on this machine and whose repositories are trusted; those are kept.
"""

from __future__ import annotations

import functools
import os
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from buildspec.diagnostics import harmless

SECONDS = 120
"""After this long git is taken to hang."""
_KEPT_ENVIRONMENT = (
    "PATH",
    "HOME",
    "XDG_CONFIG_HOME",
    "USERPROFILE",
    "SYSTEMROOT",
    "TMPDIR",
    "TEMP",
    "TMP",
)
_ENVIRONMENT = {
    "GIT_ATTR_NOSYSTEM": "1",
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_CONFIG_NOSYSTEM": "1",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_TERMINAL_PROMPT": "0",
    "LC_ALL": "C",
}
_SETTINGS = {
    "core.attributesFile": os.devnull,
    "core.fsmonitor": "false",
    "core.hooksPath": os.devnull,
    "core.quotePath": "false",
    "i18n.logOutputEncoding": "UTF-8",
    "log.showSignature": "false",
    "protocol.allow": "never",
    "status.showUntrackedFiles": "all",
    "submodule.recurse": "false",
}
_USERS = r"^(core\.(autocrlf|eol|excludesfile)|safe\.directory)$"


class HistoryError(Exception):
    """The history cannot be read as asked; the message says why and what to do."""


def git(folder: Path, *arguments: str, given: bytes = b"") -> bytes:
    """What git prints, run in `folder` with `given` as its input. HistoryError where it fails."""
    done = attempt(folder, *arguments, given=given)
    if done.returncode:
        raise HistoryError(_said(folder, done.stderr))
    return done.stdout


def attempt(
    folder: Path, *arguments: str, given: bytes = b""
) -> subprocess.CompletedProcess[bytes]:
    """As `git`, but a failure is handed back. HistoryError where git cannot be run at all."""
    try:
        return subprocess.run(
            _command(folder, arguments),
            input=given,
            capture_output=True,
            env=environment(),
            timeout=SECONDS,
            check=False,
        )
    except FileNotFoundError:
        raise HistoryError(_NO_GIT) from None
    except subprocess.TimeoutExpired:
        raise HistoryError(f"git did not answer within {SECONDS} s in {folder}") from None


_NO_GIT = "the command `git` is not on this machine; revisions are kept by it (https://git-scm.com)"


@contextmanager
def conversation(folder: Path, *arguments: str) -> Iterator[tuple[IO[bytes], IO[bytes]]]:
    """A running git: what it reads and what it prints. It ends with the block."""
    try:
        process = subprocess.Popen(
            _command(folder, arguments),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment(),
        )
    except FileNotFoundError:
        raise HistoryError(_NO_GIT) from None
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        yield process.stdin, process.stdout
    finally:
        process.kill()
        process.stdin.close()
        process.stdout.close()
        process.wait()


def environment() -> dict[str, str]:
    """The environment git gets: no `GIT_*` of the caller's, no configuration of user or machine."""
    kept = {name: os.environ[name] for name in _KEPT_ENVIRONMENT if name in os.environ}
    return kept | _ENVIRONMENT


def _command(folder: Path, arguments: Sequence[str]) -> list[str]:
    settings = [*_SETTINGS.items(), *_users_settings()]
    flags = [flag for name, value in settings for flag in ("-c", f"{name}={value}")]
    return ["git", "--no-pager", "-C", str(folder), *flags, *arguments]


@functools.cache
def _users_settings() -> tuple[tuple[str, str], ...]:
    """How files look on this machine (line ends, what is ignored), and whom its user trusts."""
    own = {n: v for n, v in os.environ.items() if not n.startswith("GIT_")}
    command = ["git", "-C", str(Path(os.sep).resolve()), "config", "-z", "--get-regexp", _USERS]
    try:
        done = subprocess.run(command, capture_output=True, env=own, timeout=SECONDS, check=False)
    except (FileNotFoundError, subprocess.TimeoutExpired):
        return ()
    lines = done.stdout.decode("utf-8", "replace").split("\0")
    return tuple((n, v) for n, _, v in (line.partition("\n") for line in lines if line))


def _said(folder: Path, stderr: bytes) -> str:
    """Git's complaint in our words where it is a known one, otherwise its first line."""
    text = stderr.decode("utf-8", "replace")
    if "dubious ownership" in text:
        return (
            f"the repository of {folder} belongs to another user of this machine, and git does "
            "not trust it; if you do, run `git config --global --add safe.directory` with its path"
        )
    if "not a git repository" in text or "must be run in a work tree" in text:
        return (
            f"{folder} is in no git repository with a work tree; revisions are tags of one. "
            "Begin with `git init`, commit the folder, and `git tag -a rev-1`"
        )
    first = next((line for line in text.splitlines() if line.strip()), "no reason given")
    return f"git cannot do it in {folder}: {harmless(first.removeprefix('fatal: '))}"
