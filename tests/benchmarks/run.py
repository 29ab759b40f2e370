"""The run: both directions and every stop; what a what-if costs; how exact the steppers are. Run by hand."""

from __future__ import annotations

import datetime
import math
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from buildspec.read import read_folder
from generator.evaluation import evaluate, load_subjects
from generator.run.speed import TOLERANCE as RUN_TOLERANCE
from generator.run.stop import LOOSE, TOLERANCE
from generator.spread import NOWHERE
from generator.subjects import speed_runs, stopping_cases

WORDS = ("mass", "air", "speed", "parachutes", "stopping", "stability")
TIMES = 15


def median(function: Callable[[], object]) -> float:
    """Median time of the processor for a call, s: other work beside it does not count."""
    taken = []
    for _ in range(TIMES):
        begun = time.process_time()
        function()
        taken.append(time.process_time() - begun)
    return statistics.median(taken)


def off(found: float | None, exact: float | None) -> float:
    """How far off a figure is, as a share; not a number where the run does not get there."""
    return found / exact - 1.0 if found and exact else math.nan


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
    quick = replace(here, brief=True)
    out = median(lambda: speed_runs.run(of))
    rows = {
        "one run out, stepped": out,
        "both runs and every stop": median(
            lambda: (
                speed_runs.run(of),
                speed_runs.run(of, back=True),
                stopping_cases.stopped([(way, c) for way in (here, back) for c in cases]),
            )
        ),
        "1,000 what-ifs of both runs, by quadrature": median(
            lambda: speed_runs.averages(of, [NOWHERE] * 1000)
        ),
        "1,000 what-ifs of one stop": median(
            lambda: stopping_cases.stopped([(quick, cases[0])] * 1000)
        ),
        "all subjects of the run, spread included": median(
            lambda: evaluate(
                build, as_of=datetime.date(2026, 11, 25), subjects=load_subjects(WORDS)
            )
        ),
    }
    for words, seconds in rows.items():
        print(f"{words}: {1000.0 * seconds:.1f} ms, {seconds / out:.2f} of one run out")
    for way in (False, True):
        exact, near = (
            speed_runs.run(of, back=way, tolerance=t).crossings[-1] for t in (1e-13, RUN_TOLERANCE)
        )
        print(
            f"run {'back' if way else 'out'}: error {off(near.time, exact.time):+.1e} in time and "
            f"{off(near.speed, exact.speed):+.1e} in speed at the usual tolerance"
        )
    for case in cases:
        fine, usual, loose = (
            stopping_cases.stopped([(here, case)], t)[0] for t in (1e-11, TOLERANCE, LOOSE)
        )
        print(
            f"{case.title}: error {off(usual.distance, fine.distance):+.1e} at the usual tolerance, "
            f"{off(loose.distance, fine.distance):+.1e} in searches"
        )


if __name__ == "__main__":
    main()
