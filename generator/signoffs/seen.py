"""What is written down of a scope when it is signed, and how that is compared with the present."""

from __future__ import annotations

import datetime
import enum
import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from buildspec.kinds import KINDS, System
from buildspec.quantities import Quantity, from_si, spread_from_si, unit_problem
from buildspec.sections.signoffs import Seen
from generator.evaluation import Evaluation
from generator.signoffs.scope import Scope
from generator.vocabulary import Check, Fact, Requirement, Result

SAME = 1e-8
"""Computed figures that differ relatively by less are the same: the last digits of another processor."""
_WORDS = frozenset({"id", "name", "title", "text", "note", "source", "basis", "remark", "summary"})


def seen_of(scope: Scope, evaluation: Evaluation) -> Seen:
    """All that the scope's result depends on, as text."""
    quantities = evaluation.build.quantities
    return Seen(
        values={name: value_text(quantities[name]) for name in scope.inputs},
        beside=dict(beside(evaluation, scope.inputs, scope.taken)),
        checks={c.id: check_text(c) for c in scope.checks},
        rules={r.id: rule_text(r) for r in scope.rules},
        results={r.id: result_text(r) for r in scope.results},
        formulas=dict(scope.formulas),
    )


# ----------------------------------------------------------------------------------- values


def value_text(quantity: Quantity, unit: str | None = None) -> str:
    """`12.1 ft²; ± 0.2 ft²; rated`: number, spread and basis to nine digits, in the author's unit
    or in `unit`.
    """
    chosen = quantity.unit if unit is None else unit
    parts = [_with(from_si(quantity.si, quantity.kind, chosen), chosen)]
    if quantity.half_width:
        half = spread_from_si(quantity.half_width, quantity.kind, chosen)
        shape = "" if quantity.distribution == "rectangular" else f" {quantity.distribution}"
        cover = f" k={quantity.coverage:.9g}" if quantity.distribution == "normal" else ""
        parts.append(f"± {_with(half, chosen)}{shape}{cover}")
    return "; ".join((*parts, "stated" if quantity.stated else quantity.basis))


def _with(number: float, unit: str) -> str:
    return f"{number:.9g} {unit}".rstrip()


def value_as_seen(seen: str, quantity: Quantity) -> str:
    """The present value, written in the unit it was seen in, where that still is a unit of it."""
    unit = seen.partition(";")[0].partition(" ")[2].strip()
    usable = unit_problem(unit, quantity.kind) is None
    return value_text(quantity, unit if usable else None)


def number_of(seen: str) -> str:
    """Number and unit of a value's text, without spread and basis."""
    return seen.partition(";")[0]


# ----------------------------------------------------------------------------------- beside


def beside(
    evaluation: Evaluation, inputs: Iterable[str], taken: Iterable[str]
) -> Iterator[tuple[str, str]]:
    """What helps to say what changed: words, counts and dates of the records that hold the inputs,
    and those values and results that are `taken`.
    """
    build = evaluation.build
    records = {name.rpartition(".")[0] for name in inputs}
    for word in sorted({name.split(".", 1)[0] for name in records if name}):
        yield from sorted(_choices(build.sections.get(word), word, records))
    known = {r.id: r for outcome in evaluation.outcomes.values() for r in outcome.results}
    for name in taken:
        if name in build.quantities:
            yield name, value_text(build.quantities[name])
        elif name in known:
            yield name, _result_said(known[name], build.system)


def _result_said(result: Result, system: System) -> str:
    if result.value is None:
        return "not known"
    unit = KINDS[result.kind].printed_unit(system)
    return _with(from_si(result.value, result.kind, unit), unit)


def _choices(value: Any, dotted: str, records: set[str]) -> Iterator[tuple[str, str]]:
    if isinstance(value, Quantity):
        return
    if is_dataclass(value):
        for field in fields(value):
            below = f"{dotted}.{field.name}"
            inner = getattr(value, field.name)
            if dotted in records and field.name not in _WORDS and _plain(inner):
                yield below, _said(inner)
            yield from _choices(inner, below, records)
    elif isinstance(value, tuple):
        for number, entry in enumerate(value):
            yield from _choices(entry, f"{dotted}.{getattr(entry, 'id', number)}", records)
    elif isinstance(value, Mapping):
        for key, entry in value.items():
            yield from _choices(entry, f"{dotted}.{key}", records)


def _plain(value: Any) -> bool:
    if isinstance(value, tuple):
        return bool(value) and all(isinstance(v, str) for v in value)
    return isinstance(value, str | int | enum.Enum | datetime.date) and value != ""


def _said(value: Any) -> str:
    if isinstance(value, tuple):
        return ", ".join(value)
    if isinstance(value, enum.Enum):
        return str(value.value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.isoformat() if isinstance(value, datetime.date) else str(value)


# --------------------------------------------------------------------------------- computed


def check_text(check: Check) -> str:
    """Demand, capacity and factor in SI, and the verdict."""
    figures = (_figure(check.demand.value), _figure(check.capacity.value), f"{check.factor:.9g}")
    return " ".join((*figures, check.verdict))


def result_text(result: Result) -> str:
    """The value in SI, or `-` where it is not known."""
    return _figure(result.value)


def rule_text(rule: Requirement) -> str:
    """State, what is prescribed, and what was found."""
    return " | ".join((rule.state, _fact(rule.prescribed), _fact(rule.found)))


def _figure(number: float | None) -> str:
    return "-" if number is None else f"{number:.6e}"


def _fact(fact: Fact) -> str:
    if isinstance(fact, Quantity):
        return value_text(fact)
    if isinstance(fact, Result):
        return f"{_figure(fact.value)} SI"
    return "" if fact is None else str(fact)


_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?", re.ASCII)


def same_text(one: str, other: str) -> bool:
    """Whether two texts agree in their words and, to eight digits, in their numbers."""
    if one == other:
        return True
    if _NUMBER.sub("#", one) != _NUMBER.sub("#", other):
        return False
    pairs = zip(_NUMBER.findall(one), _NUMBER.findall(other), strict=True)
    return all(math.isclose(float(a), float(b), rel_tol=SAME, abs_tol=1e-300) for a, b in pairs)


def verdict_of(check_text_: str) -> str:
    """The verdict in a check's text."""
    return check_text_.rpartition(" ")[2]
