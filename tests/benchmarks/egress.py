"""Sampling the exit: 20 activities, against drawing the same numbers and doing nothing with them.

Run by hand: `python tests/benchmarks/egress.py`. Both are timed alternately in one run, so that
whatever else the machine does falls on both; the ratio of the medians counts (bar: 2).
"""

from __future__ import annotations

import functools
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from generator.formulas import egress as f

TIMES = 11
SPREAD = f.Duration("beta", 2.0, 1.0, 6.0)


def network() -> f.Network:
    """Twenty activities: five stages of three branches that meet, and five that join them."""
    waits: dict[str, tuple[str, ...]] = {}
    last: tuple[str, ...] = ()
    for stage in range(5):
        branches = tuple(f"branch_{stage}_{n}" for n in range(3))
        waits |= dict.fromkeys(branches, last) | {f"join_{stage}": branches}
        last = (f"join_{stage}",)
    return f.network(waits)


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one call."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def drawn(samples: int) -> None:
    """Only the beta numbers, in one go."""
    np.random.Generator(np.random.PCG64(1)).beta(1.8, 4.2, (20, samples))


def main() -> None:
    """Print both medians and their ratio, for each number of samples."""
    net = network()
    plan = f.Plan(net, tuple(SPREAD for _ in net.ids))
    for samples in (10_000, 100_000):
        bare, whole = [], []
        for _ in range(TIMES):
            bare.append(seconds(functools.partial(drawn, samples)))
            run = functools.partial(f.sample, [plan], seed=1, samples=samples)
            whole.append(seconds(run))
        low, high = statistics.median(bare), statistics.median(whole)
        p95 = f.percentile(f.sample([plan], seed=1, samples=samples)[0].finish, 0.95)
        print(
            f"{samples:,} samples of {len(net.ids)} activities: drawing {1000 * low:.1f} ms, "
            f"sampling {1000 * high:.1f} ms, ratio {high / low:.2f} (bar 2); "
            f"P95 {p95.value:.3f} ± {p95.deviation:.3f} s"
        )


if __name__ == "__main__":
    main()
