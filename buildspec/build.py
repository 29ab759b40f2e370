"""The build as read: every later stage takes this and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from buildspec.diagnostics import Place
from buildspec.evidence import FileFact
from buildspec.kinds import System
from buildspec.quantities import Quantity

S = TypeVar("S")


@dataclass(frozen=True, slots=True)
class Page:
    """A Markdown page the team wrote itself, from `pages/`; `name` is the file's stem."""

    name: str
    title: str
    text: str
    place: Place


@dataclass(frozen=True)
class Build:
    """One vehicle's description.

    `sections` holds one frozen record a section word; `quantities` every quantity by its dotted
    id, in the order of the description; `places` the place of every id (records included);
    `fingerprint` a digest of the meaning, so that a comment or a reformatting changes nothing;
    `files` what is known of each file that is named as proof, by its name as written.
    """

    sections: Mapping[str, object]
    quantities: Mapping[str, Quantity]
    places: Mapping[str, Place]
    fingerprint: str
    pages: tuple[Page, ...] = field(default=())
    files: Mapping[str, FileFact] = field(default_factory=dict)

    def section(self, kind: type[S]) -> S | None:
        """The section filled into the record `kind`, or None where the description has none."""
        return next((s for s in self.sections.values() if isinstance(s, kind)), None)

    @property
    def system(self) -> System:
        """The unit system that is printed first."""
        return self.section(System) or System.US

    def place(self, dotted: str) -> Place | None:
        """Where the value or record with this dotted id stands, or None."""
        return self.places.get(dotted)

    def where(self, *dotted: str) -> Place:
        """The place of the first of several ids that the description has, or of what holds it."""
        found = next((self.places[name] for name in dotted if name in self.places), None)
        holder = dotted[0].rpartition(".")[0]
        if found is None:
            return self.where(holder) if holder else Place("build.yaml")
        return found
