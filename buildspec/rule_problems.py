"""What a schema cannot say about the lines of rule sheets: proofs, conditions, bounds, waivers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from buildspec.build import Build
    from buildspec.diagnostics import Diagnostic
    from buildspec.sections.rules import Rules


def look(section: Rules, build: Build) -> Iterator[Diagnostic]:
    """Every mistake in the lines of the section."""
    yield from ()
