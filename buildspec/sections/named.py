"""What has an id and, where someone gave one, a title."""

from __future__ import annotations


class Named:
    """A record with `id` and `title`, "" where none was given."""

    __slots__ = ()
    id: str
    title: str

    @property
    def name(self) -> str:
        """What it is called on the pages."""
        return self.title or self.id
