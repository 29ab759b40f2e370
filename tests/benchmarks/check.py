"""Whole process: `marginbook check` on the demonstration against a process that only imports what it must.

Run by hand: `python tests/benchmarks/check.py`. All are started alternately, and the processor's
time is counted, so that whatever else the machine does falls out; the ratio of the medians counts (bar: 1.5).
The demonstration is checked as it stands here; as `new --example` makes it, with its sign-offs; and
without all but its mass and its exit, which tells what every build pays from what the other subjects cost.
Every process finds its modules compiled, as a program that was installed or has run once does.
"""

from __future__ import annotations

import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
BARE = "import yaml, jsonschema, numpy, pint; pint.UnitRegistry()"
PROGRAM = (sys.executable, "-m", "generator")
SPINE = ("build.yaml", "wheels.yaml", "mass.yaml", "mass-items.csv", "egress.yaml", "notes.yaml")
TIMES = 5


def seconds(compiled: Path, *command: str) -> float:
    """Processor time of one process; its output is thrown away and its exit code may be 1 (short)."""
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(compiled)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    begun = _used()
    subprocess.run(command, cwd=ROOT, env=environment, check=False, stdout=subprocess.DEVNULL)
    return _used() - begun


def _used() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _spine(scratch: Path) -> Path:
    """The demonstration with vehicle, event, venue, datum, wheels, mass, exit and notes only."""
    folder = scratch / "spine"
    folder.mkdir()
    for name in SPINE:
        shutil.copyfile(ROOT / "example_build" / name, folder / name)
    return folder


def main() -> None:
    """Print the medians and their ratios."""
    with tempfile.TemporaryDirectory() as scratch:
        compiled, signed = Path(scratch, "compiled"), Path(scratch, "signed")
        making = seconds(compiled, *PROGRAM, "new", "--example", str(signed))
        commands = {
            "imports only": (sys.executable, "-c", BARE),
            "check": (*PROGRAM, "check", "example_build"),
            "check, signed": (*PROGRAM, "check", str(signed)),
            "check, mass and exit only": (*PROGRAM, "check", str(_spine(Path(scratch)))),
        }
        rounds = [
            {words: seconds(compiled, *command) for words, command in commands.items()}
            for _ in range(1 + TIMES)  # the first compiles
        ]
    middle = {words: statistics.median(r[words] for r in rounds[1:]) for words in commands}
    bare = middle["imports only"]
    for words, one in middle.items():
        print(f"{words}: {one:.3f} s, ratio {one / bare:.2f} (bar 1.5)")
    print(f"new --example, compiling: {making:.3f} s, ratio {making / bare:.2f}")


if __name__ == "__main__":
    main()
