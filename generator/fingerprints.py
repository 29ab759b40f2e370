"""A digest of all that a check's result depends on, so that a later change can be told."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache

from buildspec.build import Build
from buildspec.quantities import Quantity
from generator.vocabulary import Check, Outcome

Meanings = Mapping[str, str]
Joined = Callable[[frozenset[str]], str]


def meanings(build: Build) -> Meanings:
    """What each quantity of the build means, as JSON text: number, spread and basis, not its wording."""
    return {q.id: json.dumps(f"{q.id}={_meaning(q)}") for q in build.quantities.values()}


def formulas_of(outcome: Outcome) -> list[str]:
    """The formulas that an outcome worked with."""
    return sorted({f"{s.formula.name}: {s.formula.equation}" for s in outcome.steps})


def joining(known: Meanings) -> Joined:
    """What inputs mean, as JSON text: many checks rest on the same ones, and each such text is long."""

    @lru_cache(maxsize=16)
    def joined(inputs: frozenset[str]) -> str:
        return ", ".join(known.get(n) or json.dumps(f"{n}=None") for n in sorted(inputs))

    return joined


def fingerprint(check: Check, formulas: Sequence[str], joined: Joined) -> str:
    """Digest of a check's inputs with their spread and basis, its factor, and its formulas.

    Comments, formatting and values that cannot reach the check leave it as it is. Sixteen
    hexadecimal digits of SHA-256.
    """
    meaning = {
        "id": check.id,
        "factor": float(check.factor).hex(),
        "demand": _number(check.demand.value),
        "capacity": _number(check.capacity.value),
        "formulas": list(formulas),
    }
    inputs = joined(frozenset(check.inputs))
    text = f'{json.dumps(meaning, sort_keys=True)[:-1]}, "inputs": [{inputs}]}}'
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _meaning(q: Quantity) -> str:
    numbers = (q.si, q.half_width, q.coverage)
    return " ".join((*(float(n).hex() for n in numbers), q.distribution, q.basis))


def _number(number: float | None) -> str | None:
    """Seven digits: enough to see any change, and blind to where an iteration ends on another processor."""
    return None if number is None else f"{number:.6e}"
