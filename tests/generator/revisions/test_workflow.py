"""The workflow of the manual: its commands are run here, against a host that is a folder."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from tests.generator.revisions.repositories import commit, edit, issue, run_git, start
from tests.generator.revisions.test_publish import content

ROOT = Path(__file__).parents[3]
FILE = ROOT / "docs" / "how-to" / "publish-workflow.yml"


@pytest.fixture(scope="module")
def workflow() -> dict[Any, Any]:
    """The workflow as a host reads it."""
    read: dict[Any, Any] = yaml.safe_load(FILE.read_text("utf-8"))
    return read


def test_the_manual_shows_the_file_itself() -> None:
    page = (ROOT / "docs" / "how-to" / "publish.md").read_text("utf-8")
    assert f"```yaml\n{FILE.read_text('utf-8').rstrip()}\n```" in page


def test_it_starts_on_revisions_and_may_do_no_more_than_it_needs(workflow: dict[Any, Any]) -> None:
    assert workflow[True]["push"] == {"branches": ["main"], "tags": ["rev-*"]}  # YAML 1.1's `on`
    assert workflow["permissions"] == {"contents": "write"}
    (job,) = workflow["jobs"].values()
    checkout = next(s for s in job["steps"] if s.get("uses", "").startswith("actions/checkout@"))
    assert checkout["with"]["fetch-depth"] == 0  # else the clone is shallow
    assert "secrets" not in FILE.read_text("utf-8")


class Host:
    """What a host of repositories does on a push: a fresh clone, then the steps' commands."""

    def __init__(self, root: Path, workflow: dict[Any, Any]) -> None:
        self.root, self.workflow = root, workflow
        self.team = start(root / "team", ".")
        run_git(root, "init", "-q", "--bare", "-b", "main", "origin.git")
        run_git(self.team, "remote", "add", "origin", str(root / "origin.git"))
        tools = root / "tools"
        tools.mkdir()
        (tools / "marginbook").write_text(f'#!/bin/sh\nexec {sys.executable} -m generator "$@"\n')
        (tools / "marginbook").chmod(0o755)
        self.count = 0

    def push(self, tag: str = "") -> subprocess.CompletedProcess[str]:
        """Push, and run the workflow as for `tag`, which the checkout leaves without its message."""
        run_git(self.team, "push", "-q", "origin", "main", "--tags")
        self.count += 1
        work = self.root / f"run{self.count}" / "work"
        work.parent.mkdir()
        run_git(self.root, "clone", "-q", str(self.root / "origin.git"), str(work))
        if tag:  # actions/checkout does so: its issues 290 and 882
            run_git(work, "tag", "-f", tag, f"{tag}^{{commit}}")
        (job,) = self.workflow["jobs"].values()
        steps = [s["run"] for s in job["steps"] if "run" in s and "pip install" not in s["run"]]
        assert len(steps) == 4
        path = f"{self.root / 'tools'}{os.pathsep}{os.environ['PATH']}"
        given = os.environ | {"PATH": path, "PYTHONPATH": str(ROOT)} | self.workflow["env"]
        for step in steps:
            done = subprocess.run(
                ["bash", "-e", "-o", "pipefail", "-c", step],
                cwd=work,
                env=given,
                capture_output=True,
                text=True,
                check=False,
            )
            assert done.returncode == 0, f"{step}\n{done.stdout}\n{done.stderr}"
        return done

    def served(self, name: str) -> dict[str, bytes]:
        """What a visitor would get: the branch `public`."""
        target = self.root / name
        run_git(self.root, "clone", "-q", "-b", "public", str(self.root / "origin.git"), name)
        return {n: c for n, c in content(target).items() if not n.startswith(".git/")}


def test_its_commands_publish_every_revision_and_keep_what_was_issued(
    workflow: dict[Any, Any], tmp_path: Path
) -> None:
    host = Host(tmp_path, workflow)
    issue(host.team, 1, "400 lb", "410 lb")
    host.push("rev-1")
    first = host.served("first")
    assert {"rev-1/index.html", "latest/index.html", "versions.json", "sw.js"} <= first.keys()
    assert not [n for n in first if n.startswith("draft/")]

    edit(host.team, "410 lb", "420 lb")
    commit(host.team, "Work in progress")
    host.push()
    second = host.served("second")
    assert "draft/index.html" in second
    assert b"with uncommitted changes" not in second["draft/index.html"]

    issue(host.team, 2, "420 lb", "455 lb")
    host.push("rev-2")
    third = host.served("third")
    assert "rev-2/index.html" in third
    assert not [n for n in third if n.startswith("draft/")]
    issued = {n: c for n, c in first.items() if n.startswith("rev-1/")}
    assert {n: c for n, c in third.items() if n.startswith("rev-1/")} == issued
