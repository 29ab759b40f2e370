"""Repositories for the tests, made with git itself."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

DESCRIPTION = """format: 1
vehicle: {name: Brass Heron, target_speed: 150 mph}
mass:
  items:
    - {id: frame, name: Frame, mass: 400 lb, x: 60 in, z: 15 in, basis: measured, source: scale}
  conditions:
    - {id: start_line, title: Start line}
  design_condition: start_line
  limits: {total: 900 lb}
"""
_WHO = {
    "GIT_AUTHOR_NAME": "A. Tester",
    "GIT_AUTHOR_EMAIL": "tester@example.org",
    "GIT_COMMITTER_NAME": "A. Tester",
    "GIT_COMMITTER_EMAIL": "tester@example.org",
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_CONFIG_NOSYSTEM": "1",
}


def run_git(folder: Path, *arguments: str, when: str = "2026-09-01T12:00:00+0200") -> str:
    """Git run in `folder` at a time of our choice; what it printed."""
    day = {"GIT_AUTHOR_DATE": when, "GIT_COMMITTER_DATE": when}
    done = subprocess.run(
        ["git", "-c", "protocol.file.allow=always", *arguments],
        cwd=folder,
        env=os.environ | _WHO | day,
        capture_output=True,
        check=True,
    )
    return done.stdout.decode("utf-8", "replace").strip()


def start(root: Path, inside: str = "car") -> Path:
    """A new repository with one committed build folder; that folder."""
    folder = root / inside
    folder.mkdir(parents=True, exist_ok=True)
    run_git(root, "init", "-q", "-b", "main")
    (folder / "build.yaml").write_text(DESCRIPTION, "utf-8")
    commit(root, "Begin")
    return folder


def commit(root: Path, message: str, when: str = "2026-09-01T12:00:00+0200") -> str:
    """Commit everything, and return the commit's id."""
    run_git(root, "add", "-A", when=when)
    run_git(root, "commit", "-q", "--allow-empty", "-m", message, when=when)
    return run_git(root, "rev-parse", "HEAD")


def tag(root: Path, name: str, message: str, when: str = "2026-09-01T12:30:00+0200") -> None:
    """An annotated tag on the last commit."""
    run_git(root, "tag", "-a", name, "--cleanup=verbatim", "-m", message, when=when)


def edit(folder: Path, old: str, new: str, name: str = "build.yaml") -> None:
    """Change one place of a file."""
    text = (folder / name).read_text("utf-8")
    assert text.count(old) == 1
    (folder / name).write_text(text.replace(old, new), "utf-8")


def issue(folder: Path, number: int, old: str, new: str) -> None:
    """Edit, commit and tag as `rev-<number>`, a day later each."""
    when = f"2026-09-{number + 1:02d}T12:00:00+0200"
    edit(folder, old, new)
    commit(folder, f"Change {number}", when)
    tag(folder, f"rev-{number}", f"Revision {number}\n\n{old} became {new}.", when)
