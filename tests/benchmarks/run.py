"""The run: both directions and every stop; what a what-if costs; how exact the steppers are. Run by hand."""

from __future__ import annotations

import datetime
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from buildspec.read import read_folder
from generator.evaluation import evaluate, load_subjects
from generator.run.stop import LOOSE, TOLERANCE
from generator.subjects import speed_runs, stopping_cases

WORDS = ("mass", "air", "speed", "parachutes", "stopping", "stability")
TIMES = 15


def median(function: Callable[[], object]) -> float:
    """Median wall time of a call, s."""
    taken = []
    for _ in range(TIMES):
        begun = time.perf_counter()
        function()
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken)


def main() -> None:
    """Print the times side by side, as ratios to one stepped run out."""
    build = read_folder(Path(__file__).parents[2] / "example_build").build
    if build is None:
        raise SystemExit("the demonstration does not read")
    found = evaluate(
        build, as_of=datetime.date(2026, 11, 25), subjects=load_subjects(WORDS)
    ).outcomes
    of, setting = found["speed"].detail.of, found["stopping"].detail.setting  # type: ignore[attr-defined]
    cases = stopping_cases.cases(setting.section, setting.canopies)
    here, back = (stopping_cases.scene(replace(setting, back=way)) for way in (False, True))
    out = median(lambda: speed_runs.run(of))
    rows = {
        "one run out, stepped": out,
        "both runs and every stop": median(
            lambda: (
                speed_runs.run(of),
                speed_runs.run(of, back=True),
                stopping_cases.stopped([(here, c) for c in cases]),
                stopping_cases.stopped([(back, c) for c in cases]),
            )
        ),
        "one what-if of both runs, by quadrature": median(lambda: speed_runs.averages(of)),
        "600 what-ifs of one stop": median(
            lambda: stopping_cases.stopped([(here, cases[0])] * 600)
        ),
        "all subjects of the run, spread included": median(
            lambda: evaluate(
                build, as_of=datetime.date(2026, 11, 25), subjects=load_subjects(WORDS)
            )
        ),
    }
    for words, seconds in rows.items():
        print(f"{words}: {1000.0 * seconds:.1f} ms, {seconds / out:.2f} of one run out")
    for case in cases:
        fine, usual, loose = (
            stopping_cases.stopped([(here, case)], t)[0] for t in (1e-11, TOLERANCE, LOOSE)
        )
        print(
            f"{case.title}: error {usual.distance / fine.distance - 1.0:+.1e} at the usual tolerance, "
            f"{loose.distance / fine.distance - 1.0:+.1e} in searches"
        )


if __name__ == "__main__":
    main()
