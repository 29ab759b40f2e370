"""What all tests share: how many examples a property is tried on, and which files come first."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# As `generator` has it, but before any test imports numpy on its own: the matrices are small, and two
# processes whose threads wait for each other took ten times as long over the same frames.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# On a shared machine a third of hypothesis's usual hundred, so that all of it stays within minutes;
# whoever works on a property runs it in full. A test that states its own number keeps that. No test
# depends on a clock.
settings.register_profile("ci", max_examples=35, deadline=None)
settings.register_profile("by_hand", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "by_hand")

ROOT = Path(__file__).parent
LONG = ("test_project.py", "browser", "generator/revisions", "test_example.py", "test_manual.py")
"""Files and folders that take longest. They come first, so that no process works alone at the end: each
file is one process's, which makes once what its tests share (a site, an installation, an evaluation).
"""


def pytest_xdist_auto_num_workers() -> int:
    """One process more than processors: tests of a browser or of publishing wait for other programs."""
    return (os.cpu_count() or 1) + 1


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The long files first, everything else as it was found."""

    def rank(item: pytest.Item) -> int:
        path = item.path.relative_to(ROOT).as_posix()
        return next((n for n, name in enumerate(LONG) if path.startswith(name)), len(LONG))

    items.sort(key=rank)
