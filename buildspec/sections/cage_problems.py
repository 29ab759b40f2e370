"""What is wrong with a cage that its schema cannot say."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic

if TYPE_CHECKING:
    from buildspec.sections.cage import Cage


def look(section: Cage, build: Build) -> Iterator[Diagnostic]:
    """Every problem of the frame, each at its line."""
    yield from ()
