"""The last touch to a page's text: ids stay unique, and blank lines are few."""

from __future__ import annotations

import re

ROW = "\u241e"
"""Stands hidden at the beginning of a table's row: the symbol for a record separator."""

_ID = re.compile(r' id="([^"]*)"')


def tidy(text: str) -> str:
    """The text with every id given once, and no more than one blank line in a row."""
    seen: set[str] = set()

    def once(match: re.Match[str]) -> str:
        if match[1] in seen:
            return ""
        seen.add(match[1])
        return match[0]

    return re.sub(r"\n{3,}", "\n\n", _ID.sub(once, text)).strip("\n") + "\n"
