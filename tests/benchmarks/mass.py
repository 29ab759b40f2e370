"""How long ten thousand items take, as a ratio: run by hand, `python -m tests.benchmarks.mass`.

Compared, in one run, with the bare numpy sums of one condition that nobody can do without, and with
making the arrays from the description's records.
"""

from __future__ import annotations

import datetime
import time
from collections.abc import Callable

import numpy as np

from buildspec.sections.mass import Condition, Mass
from generator.evaluation import evaluate
from generator.subjects.mass import SUBJECT
from generator.subjects.mass_loading import combine, load, table
from tests.generator.subjects.mass_builds import build, four, item

ITEMS = 10_000


def described(count: int = ITEMS) -> Mass:
    """`count` items in three conditions."""
    draw = np.random.default_rng(1)
    places = draw.uniform((0, -20, 4), (170, 20, 40), (count, 3))
    items = tuple(
        item(
            f"i{n}",
            f"{0.05 + n % 7 * 0.1:.2f} lb",
            (f"{x:.2f} in", f"{y:.2f} in", f"{z:.2f} in"),
            "0.02",
            "0.5",
        )
        for n, (x, y, z) in enumerate(places)
    )
    conditions = (
        Condition(id="start"),
        Condition(id="end", without=("i1",)),
        Condition(id="empty", without=("i2",)),
    )
    return Mass(items=items, conditions=conditions, design_condition="start")


def best(work: Callable[[], object], times: int = 5) -> float:
    """The least time of some, in seconds."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def main() -> None:
    """Print the times and their ratios."""
    section = described()
    whole = build(section, four())
    arrays = best(lambda: table(section.items))
    of = table(section.items)
    sums = best(lambda: combine(of, load(of, section.conditions[0])))
    everything = best(lambda: evaluate(whole, as_of=datetime.date(2026, 1, 1), subjects=(SUBJECT,)))
    print(f"{ITEMS} items, three conditions")
    print(f"  records to arrays        {1e3 * arrays:8.1f} ms")
    print(f"  one condition with its u {1e3 * sums:8.1f} ms  {sums / arrays:6.2f} × the arrays")
    print(
        f"  the whole evaluation     {1e3 * everything:8.1f} ms  {everything / arrays:6.2f} × the "
        "arrays"
    )


if __name__ == "__main__":
    main()
