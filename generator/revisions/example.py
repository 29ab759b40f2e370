"""The demonstration with its history: a git repository whose last revision is `example_build`.

The history stands in `example_build/history/history.yaml`. Each revision is the next one with a few
places taken out or written otherwise, so that only the present is written in full.
"""

from __future__ import annotations

import datetime
import subprocess
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

import yaml

from generator.revisions.git import SECONDS, HistoryError, environment
from generator.revisions.overlays import with_value, without

HISTORY = "history"
State = Mapping[str, bytes]


@dataclass(frozen=True, slots=True)
class Step:
    """One revision: its tag, who made it when, what changed, and how the one before it differed."""

    tag: str
    when: datetime.datetime
    name: str
    email: str
    message: str
    drop: tuple[str, ...] = ()
    set: tuple[tuple[str, str], ...] = ()
    sign: tuple[Mapping[str, Any], ...] = ()


Signer = Callable[[Path, Step], None]
"""Appends the sign-offs of a step to the folder, once the step's revision is tagged."""


def steps(source: Traversable | None = None) -> tuple[Step, ...]:
    """The history, oldest first."""
    folder = source if source is not None else files("example_build")
    text = folder.joinpath(HISTORY).joinpath("history.yaml").read_text("utf-8")
    return tuple(_step(entry) for entry in yaml.safe_load(text)["revisions"])


def _step(entry: Mapping[str, Any]) -> Step:
    name, _, email = entry["by"].rstrip(">").partition(" <")
    return Step(
        entry["tag"],
        datetime.datetime.fromisoformat(entry["when"]),
        name,
        email,
        entry["message"].strip(),
        tuple(entry.get("drop", ())),
        tuple((k, str(v)) for k, v in entry.get("set", {}).items()),
        tuple(entry.get("sign", ())),
    )


def present(source: Traversable | None = None) -> dict[str, bytes]:
    """The files of the demonstration as it is now, by their paths, sorted."""
    folder = source if source is not None else files("example_build")
    return dict(sorted(_walk(folder, "")))


def _walk(folder: Traversable, inside: str) -> Iterator[tuple[str, bytes]]:
    """What a team would have: nothing that Python or an editor leaves behind, and no history."""
    for entry in folder.iterdir():
        name = entry.name
        if name.startswith((".", "__")) or (not inside and name == HISTORY):
            continue
        if entry.is_dir():
            yield from _walk(entry, f"{inside}{name}/")
        else:
            yield inside + name, entry.read_bytes()


def states(now: State, history: tuple[Step, ...]) -> tuple[dict[str, bytes], ...]:
    """The files at each step, oldest first; the last are `now`. OverlayError where one is lost."""
    found = [dict(now)]
    for step in reversed(history[:-1]):
        earlier = found[0]
        for dotted in step.drop:
            earlier = without(earlier, dotted)
        for dotted, written in step.set:
            earlier = with_value(earlier, dotted, written)
        found.insert(0, earlier)
    return tuple(found)


def make_repository(folder: Path, extra: State, signer: Signer | None = None) -> tuple[Step, ...]:
    """Make `folder` a repository with the history; `extra` files stand in every revision.

    `folder` must exist and be empty. HistoryError where git cannot be run.
    """
    history = steps()
    _git(folder, history[0], "init", "-q", "--initial-branch=main", "--template=")
    before: State = {}
    for step, state in zip(history, states(present(), history), strict=True):
        _write(folder, before, state | dict(extra))
        before = state
        _commit(folder, step, step.message)
        _git(folder, step, "tag", "-a", "--cleanup=whitespace", "-m", step.message, step.tag)
        if signer is not None and step.sign:
            signer(folder, step)
            last = max(datetime.date.fromisoformat(word["day"]) for word in step.sign)
            evening = datetime.datetime.combine(last, datetime.time(22), step.when.tzinfo)
            _commit(folder, replace(step, when=evening), f"Record what was said of {step.tag}")
    return history


def _write(folder: Path, before: State, after: State) -> None:
    for name in before:
        if name not in after:
            (folder / name).unlink()
    for name, content in after.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)


def _commit(folder: Path, step: Step, message: str) -> None:
    _git(folder, step, "add", "-A")
    _git(folder, step, "commit", "-q", "-m", message)


def _git(folder: Path, step: Step, *arguments: str) -> None:
    """Git as the author of the step, at its time, and with nothing of the user's settings."""
    who = {
        f"GIT_{role}_{what}": said
        for role in ("AUTHOR", "COMMITTER")
        for what, said in (
            ("NAME", step.name),
            ("EMAIL", step.email),
            ("DATE", step.when.isoformat()),
        )
    }
    command = ["git", "-c", "core.autocrlf=false", "-c", "gc.auto=0", "-C", str(folder)]
    try:
        done = subprocess.run(
            [*command, *arguments],
            env=environment() | who,
            capture_output=True,
            timeout=SECONDS,
            check=False,
        )
    except FileNotFoundError:
        raise HistoryError("the command `git` is not on this machine") from None
    if done.returncode:
        raise HistoryError(f"git: {done.stderr.decode('utf-8', 'replace').strip()}")
