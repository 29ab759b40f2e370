"""Which state of the design a site shows, and how that is said in words."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

DRAFT = "draft"


@dataclass(frozen=True, slots=True)
class Edition:
    """A revision by its name and description, or a draft.

    `commit` is the full id, "" where the folder is under no git or has no commit; `changed` says
    that something was not committed; `date` is the revision's day. `note` is said beside it, such
    as that the revision was issued again. `public` says that other revisions stand beside it.
    """

    revision: str = DRAFT
    description: str = ""
    commit: str = ""
    changed: bool = False
    date: datetime.date | None = None
    note: str = ""
    public: bool = False

    @property
    def is_draft(self) -> bool:
        """Whether nobody gave this state a name."""
        return self.revision == DRAFT

    @property
    def title(self) -> str:
        """The first line of the description."""
        return self.description.split("\n", 1)[0].strip()

    @property
    def short(self) -> str:
        """Name and state in a few words: `rev-3`, `draft at 1a2b3c4d with uncommitted changes`."""
        if not self.is_draft:
            return self.revision
        at = f" at {self.commit[:8]}" if self.commit else ""
        return f"{self.revision}{at}{' with uncommitted changes' if self.changed else ''}"

    @property
    def issued(self) -> str:
        """The day of a revision in words, or ""."""
        return f"issued {self.date.isoformat()}" if self.date and not self.is_draft else ""

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """The description, paragraph by paragraph."""
        return tuple(p.strip() for p in self.description.split("\n\n") if p.strip())
