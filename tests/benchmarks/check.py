"""Whole process: `marginbook check` on the demonstration against a process that only imports what it must.

Run by hand: `python tests/benchmarks/check.py`. Both are started alternately, so that whatever
else the machine does falls on both; the ratio of the medians counts (bar: 1.5).
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
BARE = "import yaml, jsonschema, numpy, pint; pint.UnitRegistry()"
TIMES = 15


def seconds(*command: str) -> float:
    """Wall time of one process; its output is thrown away and its exit code may be 1 (short)."""
    begun = time.perf_counter()
    subprocess.run(command, cwd=ROOT, check=False, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begun


def main() -> None:
    """Print both medians and their ratio."""
    bare, check = [], []
    for _ in range(TIMES):
        bare.append(seconds(sys.executable, "-c", BARE))
        check.append(seconds(sys.executable, "-m", "generator", "check", "example_build"))
    low, high = statistics.median(bare), statistics.median(check)
    print(f"imports only {low:.3f} s, check {high:.3f} s, ratio {high / low:.2f} (bar 1.5)")


if __name__ == "__main__":
    main()
