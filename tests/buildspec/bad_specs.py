"""The folders of `tests/specs/bad/`, and the one command that writes what is expected of them.

`python -m tests.buildspec.bad_specs NAME ...` rewrites the `expected.txt` of the folders named, and
without names of all. Read each change as a racer would before keeping it: is the mark at the
right place, and does the sentence say what to do?
"""

from __future__ import annotations

import sys
from pathlib import Path

from buildspec.diagnostics import render
from buildspec.read import read_folder

BAD = Path(__file__).parents[1] / "specs" / "bad"
EXPECTED = "expected.txt"


def folders() -> list[Path]:
    """Every bad description, sorted by name."""
    return sorted(path for path in BAD.iterdir() if path.is_dir())


def rendered(folder: Path) -> str:
    """What a user sees of a bad description."""
    reading = read_folder(folder)
    return render(reading.problems, reading.texts)


if __name__ == "__main__":
    for each in folders():
        if each.name in sys.argv[1:] or not sys.argv[1:]:
            (each / EXPECTED).write_text(rendered(each), "utf-8")
