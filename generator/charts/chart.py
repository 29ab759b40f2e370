"""What a chart is once drawn: an inline SVG with the words that say the same."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Chart:
    """`svg` is safe to place in a page as it is. `finding` states what the chart shows, for whoever
    cannot see it; `caption` stands below it and may add how to read it.
    """

    id: str
    title: str
    svg: str
    finding: str
    caption: str = ""
