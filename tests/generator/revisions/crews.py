"""Work for several processes, which each of them imports: as little as can be."""

from __future__ import annotations

import os
import time
from pathlib import Path


def slow_first(number: int) -> tuple[int, int]:
    """Its number and process; the first takes longest."""
    time.sleep(0.3 if number == 0 else 0.0)
    return number, os.getpid()


def failing(number: int) -> int:
    """The second finds the disk full."""
    if number == 1:
        raise OSError(28, "No space left on device", "somewhere")
    return number


def ended(number: int) -> None:
    """End the process at once."""
    os._exit(number)


def writing(path: str) -> None:
    """Write without end."""
    with Path(path).open("w", encoding="utf-8") as out:
        for number in range(3000):
            out.write(f"{number}\n")
            out.flush()
            time.sleep(0.02)
