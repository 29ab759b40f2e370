"""Reading a 3,000-line description, against PyYAML and jsonschema alone. Run by hand:

    python tests/benchmarks/reading.py

The bar is 2: reading, with places, units, references and records, may take twice as long as
PyYAML's compose and load of the same text together with jsonschema's validation of it. Both run
in one process, and the least of several runs counts, so that the ratio holds on any machine.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import referencing
import yaml
from jsonschema import Draft202012Validator
from referencing.jsonschema import DRAFT202012

from buildspec.quantities import read
from buildspec.read import read_folder
from buildspec.schema import load, top, words

ITEMS = 375
RUNS = 5


def description() -> str:
    """A description of some 3,000 lines, all of it sound."""
    item = """    - id: part_{n}
      name: Part number {n}
      group: group {g}
      mass: {{value: {m:.2f} lb, plus_minus: 2 %, basis: measured, source: scale}}
      x: {x:.1f} in
      y: {y:.2f} in
      z: 1{d} 5/8 in
      count: 2
"""
    items = "".join(
        item.format(n=n, g=n % 7, m=1 + n * 0.37, x=n * 0.4, y=n % 40 - 20, d=n % 9)
        for n in range(ITEMS)
    )
    return (
        "format: 1\nvehicle: {name: Wren}\nmass:\n  items:\n"
        + items
        + "  conditions: [{id: start_line}]\n  design_condition: start_line\n"
    )


def plain(text: str, validator: Any, loader: Any) -> None:
    """PyYAML's compose, and jsonschema's validation of what it holds."""
    yaml.compose(text, Loader=loader)
    data = yaml.load(text, Loader=loader)
    assert not list(validator.iter_errors(data))


def validator_alone() -> Any:
    """jsonschema with our schemas and none of our keywords."""
    resources = [
        (f"{w}.schema.json", DRAFT202012.create_resource(dict(load(w))))
        for w in (*words(), "quantities")
    ]
    registry: Any = referencing.Registry().with_resources(resources)
    return Draft202012Validator(dict(top()), registry=registry)


def least(work: Callable[[], object]) -> float:
    """Seconds of the quickest of several runs."""
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> int:
    text = description()
    validator = validator_alone()
    quick = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "build.yaml").write_text(text, "utf-8")
        assert read_folder(folder).problems == ()

        def ours() -> None:
            read.cache_clear()  # a process reads a description once
            read_folder(folder)

        mine = least(ours)
    print(f"{text.count(chr(10))} lines; reading takes {mine:.3f} s")
    for loader in (yaml.SafeLoader, quick):
        theirs = least(lambda loader=loader: plain(text, validator, loader))  # type: ignore[misc]
        print(
            f"{loader.__name__} and jsonschema: {theirs:.3f} s; ratio {mine / theirs:.2f} (bar 2)"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
