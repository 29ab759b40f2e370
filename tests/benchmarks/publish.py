"""How the time of one publishing grows with what is issued already. Run by hand:

    python -m tests.benchmarks.publish

Prints ratios of one run: the time to add one revision to 100 issued ones against adding one to none.
The sites are stand-ins of the size of a real one; making a real one takes seconds besides.
"""

from __future__ import annotations

import datetime
import tempfile
import time
from pathlib import Path

from buildspec.build import Build
from generator.revisions.history import find_repository, revisions
from generator.revisions.publish import Order, Task, Wrong, publish
from tests.generator.revisions.repositories import commit, edit, start, tag

FILES, SIZE, ISSUED = 80, 18_000, 100


def _site(build: Build, folder: Path, target: Path, task: Task) -> Wrong:
    (target / "assets").mkdir(parents=True)
    for number in range(FILES):
        name = f"page{number}.html" if number < 30 else f"assets/{number}.bin"
        (target / name).write_bytes(f"{task.edition.revision} {number}".encode() * (SIZE // 8))
    (target / "results.json").write_text('{"checks": [], "requirements": []}', "utf-8")
    return Wrong()


def main() -> None:
    """Measure, and print."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = start(Path(scratch) / "team")
        for number in range(1, ISSUED + 1):
            _issue(folder, number)
        public = Path(scratch) / "many"
        publish(Order(folder, public, datetime.date(2026, 12, 1), all=True), make=_site)
        _issue(folder, ISSUED + 1)
        first = _time(folder, Path(scratch) / "one", f"rev-{ISSUED + 1}")
        last = _time(folder, public, f"rev-{ISSUED + 1}")
        begun = time.perf_counter()
        listed = len(revisions(find_repository(folder)).revisions)
        listing = time.perf_counter() - begun
    print(f"added to none: {first:.2f} s; to {ISSUED}: {last:.2f} s, {last / first:.1f} times")
    print(f"listing {listed} revisions: {listing / first:.2f} of the first")


def _issue(folder: Path, number: int) -> None:
    edit(folder, f"{399 + number} lb", f"{400 + number} lb")
    when = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC) + datetime.timedelta(number)
    commit(folder, f"Change {number}", when.isoformat())
    tag(folder, f"rev-{number}", f"Change {number}", when.isoformat())


def _time(folder: Path, public: Path, name: str) -> float:
    begun = time.perf_counter()
    publish(Order(folder, public, datetime.date(2026, 12, 1), revision=name), make=_site)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
