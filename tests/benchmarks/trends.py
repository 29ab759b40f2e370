"""What the trends over 200 revisions cost. Run by hand:

    python -m tests.benchmarks.trends
    python -m tests.benchmarks.trends --example 200

Prints ratios of one run: all revisions anew, once more from what is kept, and with one revision more,
against reading a single one; and how many processes took part, with the processor time of all of them. With
`--example` every revision is of the size of the demonstration, and changes one thing in turn: an item's
mass, a drill, a step of the plan, the target speed. The first time then takes minutes.
"""

from __future__ import annotations

import argparse
import os
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from generator.revisions import archive
from generator.revisions.crew import processors
from generator.revisions.history import Repository, find_repository, revisions
from generator.revisions.overlays import with_value
from generator.revisions.trends import points
from tests.generator.revisions.repositories import commit, edit, run_git, start, tag

MANY = 200


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--example", type=int, default=0, metavar="NUMBER")
    example: int = parser.parse_args().example
    many, issue = (example, _issue_example) if example else (MANY, _issue)
    print(f"{processors()} processes")
    with tempfile.TemporaryDirectory() as scratch:
        os.environ["XDG_CACHE_HOME"] = f"{scratch}/cache"
        folder = start(Path(scratch) / "team")
        if example:
            shutil.copytree("example_build", folder, dirs_exist_ok=True)
        for number in range(1, many + 1):
            issue(folder, number)
        repository = find_repository(folder)
        one = _timed(
            lambda: archive.reading_of(repository, revisions(repository).revisions[0].tree)
        )
        listing = _timed(lambda: revisions(repository))
        cold, warm = (_timed(lambda: _all(repository)) for _ in range(2))
        issue(folder, many + 1)
        more = _timed(lambda: _all(repository))
        print(f"{many} revisions; reading a single one takes {1000 * one:.0f} ms")
        for words, taken in (
            ("listing them", listing),
            ("all anew", cold),
            ("all from what is kept", warm),
            ("one more", more),
        ):
            print(f"{words}: {taken / one:.1f} times that, {1000 * taken:.0f} ms")
        print(f"processor time of it all, with what the other processes took: {_spent():.0f} s")


def _all(repository: Repository) -> int:
    return len(points(repository, revisions(repository).revisions))


def _timed(what: Callable[[], object]) -> float:
    begun = time.perf_counter()
    what()
    return time.perf_counter() - begun


def _spent() -> float:
    """User and system time of this process and of those that have ended, s."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def _issue(folder: Path, number: int) -> None:
    root = folder.parent
    edit(folder, f"mass: {399 + number} lb", f"mass: {400 + number} lb")
    run_git(root, "add", "-A")
    commit(root, f"Change {number}")
    tag(root, f"rev-{number}", f"Change {number}")


def _issue_example(folder: Path, number: int) -> None:
    """One thing changes with each revision, as it would: each of these in turn."""
    name, place, value = _CHANGES[number % len(_CHANGES)]
    files = {p.name: p.read_bytes() for p in folder.iterdir() if p.suffix in {".yaml", ".csv"}}
    written = with_value(files, place, value % (number // len(_CHANGES)))
    (folder / name).write_bytes(written[name])
    commit(folder.parent, f"Change {number}")
    tag(folder.parent, f"rev-{number}", f"Change {number}")


_CHANGES = (
    ("mass-items.csv", "mass.items.seat.mass", "17.%02d"),
    ("egress.yaml", "egress.drills.drill_3.total", "{value: 16.%02d s, plus_minus: 0.2 s}"),
    ("build.yaml", "vehicle.target_speed", "230.%02d mph"),
    ("notes.yaml", "notes.entries.front_tires.text", "Asked the maker again, %d times by now."),
)


if __name__ == "__main__":
    main()
