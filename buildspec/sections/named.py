"""What has an id and, where someone gave one, a title."""

from __future__ import annotations

from buildspec.plain import spoken


class Named:
    """A record with `id` and `title`, "" where none was given."""

    __slots__ = ()
    id: str
    title: str

    @property
    def name(self) -> str:
        """What it is called on the pages: its title, or else its id in words."""
        return self.title or spoken(self.id)
