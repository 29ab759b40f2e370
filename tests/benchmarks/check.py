"""Whole process: `marginbook check` on the demonstration against a process that only imports what it must.

Run by hand: `python tests/benchmarks/check.py`. Both are started alternately, and the processor's
time is counted, so that whatever else the machine does falls out; the ratio of the medians counts (bar: 1.5).
The demonstration is checked as it stands here, and as `new --example` makes it, with its sign-offs.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
BARE = "import yaml, jsonschema, numpy, pint; pint.UnitRegistry()"
TIMES = 9


def seconds(*command: str) -> float:
    """Processor time of one process; its output is thrown away and its exit code may be 1 (short)."""
    begun = _used()
    subprocess.run(command, cwd=ROOT, check=False, stdout=subprocess.DEVNULL)
    return _used() - begun


def _used() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main() -> None:
    """Print the medians and their ratios."""
    program = (sys.executable, "-m", "generator")
    with tempfile.TemporaryDirectory() as scratch:
        signed = f"{scratch}/demo"
        making = seconds(*program, "new", "--example", signed)
        rows: dict[str, list[float]] = {"imports only": [], "check": [], "check, signed": []}
        for _ in range(TIMES):
            rows["imports only"].append(seconds(sys.executable, "-c", BARE))
            rows["check"].append(seconds(*program, "check", "example_build"))
            rows["check, signed"].append(seconds(*program, "check", signed))
    bare = statistics.median(rows["imports only"])
    for words, taken in rows.items():
        one = statistics.median(taken)
        print(f"{words}: {one:.3f} s, ratio {one / bare:.2f} (bar 1.5)")
    print(f"new --example: {making:.3f} s, ratio {making / bare:.2f}")


if __name__ == "__main__":
    main()
