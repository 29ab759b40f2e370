"""What a scope is, and all that its result depends on. Pure; knows no engineering."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from buildspec.diagnostics import closest, quoted
from buildspec.plain import called
from buildspec.sections.signoffs import Signoffs
from generator.evaluation import Evaluation, load_subjects
from generator.formulas.formula import REGISTRY
from generator.vocabulary import Check, Requirement, Result


class ScopeError(Exception):
    """A scope that the design does not have; the message says what it has."""


@dataclass(frozen=True)
class Scope:
    """A part of the design with what was computed of it.

    `inputs` are ids of the quantities of the description that its results depend on, sorted;
    `taken` are ids of the results of other subjects that its worked steps take in, and of the
    values of its own sections that its checks do not name, sorted;
    `formulas` are digests of the equations used, by name.
    """

    name: str
    title: str
    checks: tuple[Check, ...]
    rules: tuple[Requirement, ...]
    results: tuple[Result, ...]
    inputs: tuple[str, ...]
    taken: tuple[str, ...]
    formulas: Mapping[str, str]


def scope_of(evaluation: Evaluation, name: str) -> Scope:
    """The scope called `name`: a subject, a check, a prescription, a group, or the common
    beginning of several ids. ScopeError where there is none.
    """
    group = _groups(evaluation).get(name)
    parts = group if group is not None else (name,)
    checks = tuple(c for c in evaluation.checks if _in_any(c.id, parts))
    rules = tuple(r for r in evaluation.requirements if _in_any(r.id, parts))
    subjects = tuple(w for w in evaluation.outcomes if w in parts)
    results = tuple(r for w in subjects for r in _bare_results(evaluation, w))
    if not (checks or rules or results):
        raise ScopeError(_no_scope(evaluation, name))
    inputs = {*_of_checks(checks, rules, results), *_of_subjects(evaluation, subjects)}
    words = {*subjects, *(c.subject for c in checks), *(r.subject for r in rules)}
    return Scope(
        name,
        title_of(evaluation, name),
        checks,
        rules,
        results,
        tuple(sorted(i for i in inputs if i in evaluation.build.quantities)),
        tuple(sorted(_taken(evaluation, words) | _unnamed(evaluation, words, inputs))),
        dict(sorted(_formulas(evaluation, words))),
    )


def title_of(evaluation: Evaluation, name: str) -> str:
    """What a scope is called: the title of its subject, check, prescription or group."""
    titles = {
        **{s.word: s.title for s in load_subjects()},
        **{c.id: c.title for c in evaluation.checks},
        **{r.id: r.title for r in evaluation.requirements},
    }
    section = evaluation.build.section(Signoffs)
    groups = {g.id: called(g) for g in (section.groups if section else ())}
    return groups.get(name) or titles.get(name, name)


def _groups(evaluation: Evaluation) -> Mapping[str, tuple[str, ...]]:
    section = evaluation.build.section(Signoffs)
    return {g.id: g.scopes for g in section.groups} if section else {}


def _in_any(dotted: str, parts: Iterable[str]) -> bool:
    return any(dotted == part or dotted.startswith(f"{part}.") for part in parts)


def _bare_results(evaluation: Evaluation, word: str) -> tuple[Result, ...]:
    """The results of a subject that has nothing else to judge it by."""
    outcome = evaluation.outcomes[word]
    return () if outcome.checks or outcome.requirements else outcome.results


def _of_checks(
    checks: Iterable[Check], rules: Iterable[Requirement], results: Iterable[Result]
) -> Iterator[str]:
    for check in checks:
        yield from check.inputs
    for rule in rules:
        yield from rule.refs
    for result in results:
        yield from result.inputs


def _of_subjects(evaluation: Evaluation, words: Iterable[str]) -> Iterator[str]:
    """What the worked steps and results of whole subjects take in."""
    for word in words:
        outcome = evaluation.outcomes[word]
        for step in outcome.steps:
            yield from (argument.ref for argument in step.arguments)
        for result in outcome.results:
            yield from result.inputs


def _taken(evaluation: Evaluation, words: set[str]) -> set[str]:
    """Results of other subjects that the worked steps of these take in."""
    steps = (s for word in words for s in evaluation.outcomes[word].steps)
    refs = {argument.ref for step in steps for argument in step.arguments}
    others = (o for word, o in evaluation.outcomes.items() if word not in words)
    return {r.id for outcome in others for r in outcome.results} & refs


def _unnamed(evaluation: Evaluation, words: set[str], inputs: set[str]) -> set[str]:
    """Values of these subjects' own sections that none of their checks names as an input."""
    known = evaluation.build.quantities
    return {name for name in known if name.split(".", 1)[0] in words} - inputs


def _formulas(evaluation: Evaluation, words: Iterable[str]) -> Iterator[tuple[str, str]]:
    for word in words:
        for step in evaluation.outcomes[word].steps:
            yield step.formula.name, formula_digest(step.formula.name)


def formula_digest(name: str) -> str:
    """Eight digits that change with a formula's equation, symbols or ranges; "" where it is gone."""
    formula = REGISTRY.get(name)
    if formula is None:
        return ""
    symbols = [
        f"{n} {s.tex} {s.kind} {s.least} {s.most} {s.each}" for n, s in formula.symbols.items()
    ]
    text = "\n".join([formula.equation, formula.result.tex, *symbols])
    return hashlib.sha256(text.encode()).hexdigest()[:8]


def _no_scope(evaluation: Evaluation, name: str) -> str:
    words = tuple(evaluation.outcomes)
    known = (*words, *_groups(evaluation), *(c.id for c in evaluation.checks))
    known += tuple(r.id for r in evaluation.requirements)
    near = closest(name, known)
    hint = f"did you mean {quoted(near)}? " if near else ""
    return (
        f"this design has no scope {quoted(name)}; {hint}it has the subjects "
        f"{', '.join(words)}, and the ids of their checks and prescriptions"
    )
