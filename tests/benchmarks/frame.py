"""The frame engine against PyNiteFEA on the same towers: ratios within one run, and how time grows.

Run by hand: `python tests/benchmarks/frame.py`. Eight load cases. Both programs take turns, so that
whatever else the machine does falls on both; the least of a few runs counts, and their answers are
compared. The matrix library has one thread: with more, small matrices wait for busy cores.
"""

from __future__ import annotations

import dataclasses
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import numpy as np
from Pynite import FEModel3D

sys.path.insert(0, str(Path(__file__).parents[2]))

from generator.frame.buckling import critical_loads
from generator.frame.model import Frame, Loads, Refusal, no_loads
from generator.frame.plan import plan_of
from generator.frame.recover import peak_stress, section_forces, stations
from generator.frame.second_order import second_order
from generator.frame.solve import Solution, solve, solve_many
from generator.frame.subdivide import split
from tests.generator.frame.frames import tower

CASES = 8
BAYS = {64: 5, 124: 10, 496: 41, 1996: 166}
"""Members, and the bays of the tower that has them."""


def least(run: Callable[[], object], times: int) -> float:
    """Least wall time of a few runs, in ms."""
    found = []
    for _ in range(times):
        begun = time.perf_counter()
        run()
        found.append(time.perf_counter() - begun)
    return min(found) * 1e3


def problem(bays: int) -> tuple[Frame, Loads]:
    """A tower, forces at three of its joints in each case; without shear strain, like theirs."""
    frame = tower(bays)
    none = np.full(len(frame.ends), np.inf)
    frame = dataclasses.replace(frame, shear_y=none, shear_z=none)
    loads, rng = no_loads(frame, CASES), np.random.default_rng(1)
    for case in range(CASES):
        loads.nodal[case, rng.integers(4, len(frame.nodes), 3), :3] = (
            rng.normal(size=(3, 3)) * 300.0
        )
    return frame, loads


def theirs(frame: Frame, loads: Loads) -> FEModel3D:
    """The same frame and cases for PyNite."""
    model = FEModel3D()
    model.add_material("steel", frame.modulus[0], frame.shear_modulus[0], 0.3, 1.0)
    model.add_section("tube", frame.area[0], frame.second_y[0], frame.second_z[0], frame.torsion[0])
    for i, at in enumerate(frame.nodes):
        model.add_node(f"N{i}", *map(float, at))
        model.def_support(f"N{i}", *map(bool, frame.held[i]))
    for i, (a, b) in enumerate(frame.ends):
        model.add_member(f"M{i}", f"N{a}", f"N{b}", "steel", "tube")
    for case in range(CASES):
        model.add_load_combo(f"C{case}", {f"case {case}": 1.0})
        for node, axis in zip(*np.nonzero(loads.nodal[case]), strict=True):
            force = float(loads.nodal[case, node, axis])
            model.add_node_load(f"N{node}", ("FX", "FY", "FZ")[axis], force, f"case {case}")
    return model


def their_answer(frame: Frame, loads: Loads) -> tuple[float, float, FEModel3D]:
    """Their time to solve, their time for all end forces besides, in ms, and the model."""
    model = theirs(frame, loads)
    begun = time.perf_counter()
    model.analyze_linear(check_stability=False)
    solved = time.perf_counter()
    for member in model.members.values():
        for part in member.sub_members.values():
            for case in range(CASES):
                part.f(f"C{case}")
    return (solved - begun) * 1e3, (time.perf_counter() - solved) * 1e3, model


def difference(frame: Frame, found: Solution, model: FEModel3D) -> float:
    """Largest difference of displacements, over the largest."""
    axes = ("DX", "DY", "DZ", "RX", "RY", "RZ")
    nodes = [model.nodes[f"N{i}"] for i in range(len(frame.nodes))]
    printed = np.array(
        [[[getattr(n, d)[f"C{c}"] for d in axes] for n in nodes] for c in range(CASES)]
    )
    return float(np.abs(found.displacement - printed).max() / np.abs(printed).max())


def compare(members: int) -> None:
    """One line: ours, theirs, the ratio, the difference."""
    frame, loads = problem(BAYS[members])
    found = solve(frame, loads)
    assert isinstance(found, Solution)
    ours, their_solve, their_forces = [], [], []
    for _ in range(3 if members < 1000 else 1):
        ours.append(least(lambda: solve(frame, loads), 5))
        a, b, model = their_answer(frame, loads)
        their_solve.append(a)
        their_forces.append(b)
    ratio = (min(their_solve) + min(their_forces)) / min(ours)
    print(
        f"{members:5d} members: ours {min(ours):7.2f} ms, theirs {min(their_solve):7.0f} ms and "
        f"{min(their_forces):6.0f} ms for end forces: ratio {ratio:5.0f}; "
        f"they differ by {difference(frame, found, model):.0e}"
    )


def own_work(members: int) -> None:
    """One line: what else the engine does, all in ms."""
    frame, loads = problem(BAYS[members])
    found, plan = solve(frame, loads), plan_of(frame)
    assert isinstance(found, Solution)
    at, outer = stations(loads.points, members), np.full(members, 0.04445)
    inner, parts = outer - 2 * 0.002413, split(frame, loads)
    times = 3
    refused = sum(isinstance(r, Refusal) for r in second_order(parts))
    work = {
        "numbering": least(lambda: plan_of(frame), 5),
        "solve": least(lambda: solve(frame, loads, plan), 5),
        "stress at 21 stations": least(
            lambda: peak_stress(section_forces(frame, loads, found, at), outer, inner), 5
        ),
        f"second order ({refused} of {CASES} refused)": least(lambda: second_order(parts), times),
        "critical loads": least(lambda: critical_loads(parts), times),
    }
    said = ", ".join(f"{name} {spent:.2f}" for name, spent in work.items())
    print(f"{members:5d} members: {said}")


def again(members: int, count: int) -> None:
    """One line: re-solving variations of the sections."""
    frame, loads = problem(BAYS[members])
    varied = [dataclasses.replace(frame, area=frame.area * (1 + 1e-4 * i)) for i in range(count)]
    spent = least(lambda: list(solve_many(varied, loads)), 3)
    print(f"{members:5d} members: {count} variations {spent:.0f} ms")


def main() -> None:
    """Print the three tables."""
    print("linear statics, eight cases, against PyNiteFEA")
    for members in (64, 496, 1996):
        compare(members)
    print("the engine's own work, eight cases, four pieces a member, ms")
    for members in (64, 124, 496):
        own_work(members)
    print("variations")
    again(124, 100)


if __name__ == "__main__":
    main()
