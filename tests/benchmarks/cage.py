"""How long a cage takes: the example stage by stage, growth, threads, and PyNiteFEA beside it.

Run by hand: `python tests/benchmarks/cage.py`. Processor time of one thread is printed, the least of a
few runs, so that other work on the machine counts little; ratios are of one run.
"""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = os.environ.get("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[2]))

from buildspec.build import Build
from buildspec.read import read_folder
from buildspec.sections.cage import Cage
from generator.evaluation import evaluate, load_subjects
from generator.subjects import (
    cage_members,
    cage_model,
    cage_outcome,
    cage_remedies,
    cage_rooms,
)
from generator.subjects.subject import Given
from tests.benchmarks.frame import compare
from tests.generator.subjects.cage_builds import cage
from tests.generator.subjects.scenes import DAY, HEAD

ROOT = Path(__file__).parents[2]
CASES = 8
ALONE = load_subjects(("cage",))
BAYS = {60: 5, 500: 41, 2000: 166}
"""Members, about, and the bays of the tower that has them: twelve to a bay."""


def least(run: Callable[[], object], times: int = 3) -> float:
    """Least processor time of a few runs, in ms."""
    found = []
    for _ in range(times):
        begun = time.process_time()
        run()
        found.append(time.process_time() - begun)
    return min(found) * 1e3


def described(folder: Path) -> Build:
    """The build of a folder without mistakes."""
    reading = read_folder(folder)
    assert reading.build is not None, reading.problems
    return reading.build


def example() -> None:
    """One line a stage of the example's cage."""
    build = described(ROOT / "example_build")
    section = build.section(Cage)
    assert section is not None
    given = Given(DAY, evaluate(build, as_of=DAY).outcomes)
    model = cage_model.model_of(section, build, given)
    found = cage_model.solved(model)
    k = cage_outcome.known(section, build, given)
    short = tuple(n for n, w in enumerate(k.worsts) if w and w.utilisation > 1.0)
    stages: dict[str, Callable[[], object]] = {
        "description to frame": lambda: cage_model.model_of(section, build, given),
        "first order, second order, critical loads": lambda: cage_model.solved(model),
        "stresses and AISC 360 at every station": lambda: cage_members.strengths(model, found),
        "clearances": lambda: cage_rooms.shown(k),
        f"other tubes for {len(short)} that are short": lambda: cage_remedies.remedies(k, short),
        "whole outcome": lambda: cage_outcome.outcome(section, build, given),
    }
    g = model.geometry
    print(f"example: {len(g.lines)} tubes, {len(g.ends)} pieces, {len(model.cases)} load cases")
    for name, run in stages.items():
        print(f"  {name:45s} {least(run):8.1f} ms")


def tower(bays: int) -> str:
    """A square tower of stout tubes as a description, with forces at its top from eight sides."""
    nodes, members = {}, []
    corners = ((0.0, 0.0), (0.4, 0.0), (0.4, 0.4), (0.0, 0.4))
    for level in range(bays + 1):
        for c, (x, y) in enumerate(corners):
            nodes[f"n{level}_{c}"] = f"{x} m, {y} m, {0.4 * level:.3f} m"
            if level == 0:
                continue
            after = (c + 1) % 4
            for kind, a, b in (
                ("leg", f"n{level - 1}_{c}", f"n{level}_{c}"),
                ("rung", f"n{level}_{c}", f"n{level}_{after}"),
                ("brace", f"n{level - 1}_{c}", f"n{level}_{after}"),
            ):
                members.append(f"{{id: {kind}{level}_{c}, from: {a}, to: {b}, tube: t}}")
    way = ("x: 1", "x: -1", "y: 1", "y: -1", "z: -1", "x: 1, y: 1", "x: 1, y: -1", "x: -1, z: -1")
    force = 2000.0 / bays**2
    cases = [
        f"{{id: c{n}, loads: [{{at: [n{bays}_0], force: {force!r} N, direction: {{{w}}}}}]}}"
        for n, w in enumerate(way[:CASES])
    ]
    return cage(nodes, members, cases, supports=("{nodes: [n0_0, n0_1, n0_2, n0_3]}",))


def growth() -> None:
    """Reading and evaluating towers, eight cases each."""
    for members, bays in BAYS.items():
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            (folder / "build.yaml").write_text(HEAD + tower(bays), "utf-8")
            times = 3 if members < 1000 else 1
            read = least(lambda f=folder: read_folder(f), times)  # type: ignore[misc]
            build = described(folder)
            spent = least(lambda b=build: evaluate(b, as_of=DAY, subjects=ALONE), times)  # type: ignore[misc]
        print(f"  {12 * bays:5d} tubes: read {read:8.0f} ms, evaluate {spent:8.0f} ms")


def threads() -> None:
    """Wall time of the example's cage with one and with two threads, taking turns."""
    code = (
        "import sys; sys.path.insert(0, '.')\n"
        "from tests.benchmarks.cage import described, ROOT, DAY\n"
        "from generator.evaluation import evaluate\n"
        "import time\n"
        "b = described(ROOT / 'example_build'); evaluate(b, as_of=DAY)\n"
        "t = time.perf_counter(); evaluate(b, as_of=DAY); print(time.perf_counter() - t)"
    )
    for _ in range(3):
        spent = []
        for count in ("1", "2"):
            env = {**os.environ, "OPENBLAS_NUM_THREADS": count}
            done = subprocess.run(
                [sys.executable, "-c", code],
                cwd=ROOT,
                env=env,
                capture_output=True,
                text=True,
                check=True,
            )
            spent.append(1e3 * float(done.stdout))
        print(
            f"  whole example, one thread {spent[0]:6.0f} ms, two {spent[1]:6.0f} ms, ratio {spent[1] / spent[0]:.1f}"
        )


def main() -> None:
    """Print everything."""
    gc.disable()  # as the program does for the time of a command
    example()
    print("linear statics against PyNiteFEA, wall time")
    for members in (64, 496, 1996):
        compare(members)
    print("growth")
    growth()
    print("threads of the matrix library, wall time")
    threads()


if __name__ == "__main__":
    main()
