"""Which values of a description move which checks: by trying. Run by hand for every kind of value:

    python -m tests.generator.influence

The demonstration is evaluated once for each kind of value, moved by 0.3 %. What moved and does not name
the value among its inputs is printed; nothing is printed where all is well. It takes some minutes.
"""

from __future__ import annotations

import datetime
import functools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

from buildspec.build import Build
from buildspec.quantities import Quantity
from buildspec.read import read_folder
from generator.evaluation import Evaluation, evaluate
from generator.subjects.subject import Subject
from generator.vocabulary import Check, Result

DAY = datetime.date(2026, 11, 25)
SHARE, DEGREES, NOUGHT = 0.003, 0.3, 0.001
"""What is added: to a value, to a temperature in K, and to a value that is nought, in SI."""


@functools.cache
def example() -> Build:
    """The demonstration as it stands."""
    build = read_folder(Path("example_build")).build
    assert build is not None
    return build


def moved(build: Build, name: str) -> Build:
    """The build with one value moved a little, past any rule of the reader."""

    def nudged(q: Quantity) -> Quantity:
        if q.kind == "temperature":
            return replace(q, si=q.si + DEGREES)
        return replace(q, si=q.si * (1.0 + SHARE) if q.si else NOUGHT)

    def within(value: Any) -> Any:
        if isinstance(value, Quantity):
            return nudged(value) if value.id == name else value
        if isinstance(value, tuple):
            return tuple(map(within, value))
        if isinstance(value, Mapping):
            return {k: within(v) for k, v in value.items()}
        if is_dataclass(value) and not isinstance(value, type):
            inner = {f.name: within(getattr(value, f.name)) for f in fields(value) if f.init}
            return replace(value, **inner)
        return value

    word = name.split(".", 1)[0]
    sections = {w: within(s) if w == word else s for w, s in build.sections.items()}
    quantities = {**build.quantities, name: nudged(build.quantities[name])}
    return replace(build, sections=sections, quantities=quantities)


def kinds(build: Build) -> Mapping[str, str]:
    """One id of each kind of value: its place in the schema, with the first entry of every list."""
    found: dict[str, str] = {}
    for word, section in build.sections.items():
        for shape, name in _walked(section, word):
            if name in build.quantities:
                found.setdefault(shape, name)
    return found


def _walked(value: Any, shape: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, Quantity):
        yield shape, value.id
    elif isinstance(value, tuple):
        for entry in value:
            yield from _walked(entry, f"{shape}.*")
    elif isinstance(value, Mapping):
        for entry in value.values():
            yield from _walked(entry, f"{shape}.*")
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from _walked(getattr(value, field.name), f"{shape}.{field.name}")


def unnamed(before: Evaluation, name: str, subjects: tuple[Subject, ...]) -> Sequence[str]:
    """Ids of the checks and results that a value moves and that do not name it among their inputs."""
    after = evaluate(moved(before.build, name), as_of=before.as_of, subjects=subjects)
    old = {c.id: c for c in before.checks}
    checks = [
        c.id
        for c in after.checks
        if c.id in old and _differs(old[c.id], c) and name not in {*old[c.id].inputs, *c.inputs}
    ]
    known = {r.id: r for o in before.outcomes.values() for r in o.results}
    results = [
        r.id
        for o in after.outcomes.values()
        for r in o.results
        if r.id in known and _moved(known[r.id], r) and name not in {*known[r.id].inputs, *r.inputs}
    ]
    return (*checks, *results)


def _differs(one: Check, other: Check) -> bool:
    pairs = ((one.demand, other.demand), (one.capacity, other.capacity))
    turned = (one.verdict, one.factor) != (other.verdict, other.factor)
    return turned or any(_moved(a, b) for a, b in pairs)


def _moved(one: Result, other: Result) -> bool:
    """Whether a value differs by more than what an integration with error control leaves."""
    if one.value is None or other.value is None:
        return one.value is not other.value
    return not math.isclose(one.value, other.value, rel_tol=1e-8, abs_tol=1e-14)


def main() -> None:
    """Print every gap of the demonstration."""
    from generator.evaluation import load_subjects

    build, subjects = example(), load_subjects()
    before = evaluate(build, as_of=DAY)
    for shape, name in kinds(build).items():
        for gap in unnamed(before, name, subjects):
            print(f"{shape}: {name} moves {gap}")


if __name__ == "__main__":
    main()
