"""Numbers instead of names in a crowded drawing, with their key below it."""

from __future__ import annotations

import textwrap

from matplotlib.figure import Figure

ROW = 0.17
"""Height of a row of the key, inches."""


def key(names: tuple[str, ...], most: int = 64) -> tuple[str, ...]:
    """The numbers from 1 with their names, in rows of at most so many characters; no name is broken."""
    rows = [""]
    for number, name in enumerate(names, 1):
        said = f"{number} {textwrap.shorten(name, 40, placeholder='…')}"
        if rows[-1] and len(rows[-1]) + len(said) + 3 > most:
            rows.append("")
        rows[-1] = f"{rows[-1]} · {said}" if rows[-1] else said
    return tuple(rows)


def write_key(fig: Figure, rows: tuple[str, ...], left: float) -> None:
    """The rows at the foot of a figure, from `left`, a share of its width."""
    tall = float(fig.get_size_inches()[1])
    for n, row in enumerate(rows):
        fig.text(left, (ROW * (len(rows) - n) - 0.05) / tall, row, fontsize=8.0)
