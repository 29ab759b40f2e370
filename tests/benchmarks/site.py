"""How long a whole build takes beside MkDocs alone on the very Markdown it wrote. Run by hand:

    python -m tests.benchmarks.site [FOLDER]

Ratios of one run on one machine: building without charts at most 1.5, with charts at most 3.
"""

from __future__ import annotations

import datetime
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from buildspec.build import Build
from buildspec.read import read_folder
from generator import gathered
from generator.compose import compose, write
from generator.evaluation import evaluate
from generator.render import render

DAY = datetime.date(2026, 1, 2)
ROUNDS = 3


def _seconds(do: Callable[[], object]) -> float:
    """The best of some rounds: the machine's other work only ever adds."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        do()
        times.append(time.process_time() - start)
    return min(times)


def _whole(build: Build, folder: Path, target: Path) -> None:
    write(compose(evaluate(build, as_of=DAY), folder=folder).files, target / "tree")
    render(target / "tree", target / "site")


def _plain(target: Path) -> float:
    """MkDocs alone, in process, on the tree that is there."""
    from mkdocs.commands.build import build
    from mkdocs.config import load_config

    def once() -> None:
        config = load_config(str(target / "tree" / "mkdocs.yml"), site_dir=str(target / "plain"))
        config.plugins.on_startup(command="build", dirty=False)
        build(config)

    return _seconds(once)


def main(folder: Path) -> int:
    """Print the two ratios; 1 where one is above its bound."""
    build = read_folder(folder).build
    if build is None:
        print(f"{folder} cannot be read")
        return 2
    with tempfile.TemporaryDirectory() as scratch:
        target = Path(scratch)
        with_charts = _seconds(lambda: _whole(build, folder, target))
        plain = _plain(target)
        ready = {
            w: gathered.drawn(w, o, build) for w, o in evaluate(build, as_of=DAY).outcomes.items()
        }
        draw, gathered.drawn = gathered.drawn, lambda word, *_: ready[word]
        try:
            without_drawing = _seconds(lambda: _whole(build, folder, target))
        finally:
            gathered.drawn = draw
    print(
        f"plain MkDocs {plain:.2f} s; drawing left out {without_drawing / plain:.2f} times, "
        f"all {with_charts / plain:.2f} times that"
    )
    return int(without_drawing > 1.5 * plain or with_charts > 3.0 * plain)


if __name__ == "__main__":
    example = Path(__file__).parents[2] / "example_build"
    sys.exit(main(Path(sys.argv[1]) if len(sys.argv) > 1 else example))
