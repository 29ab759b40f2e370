"""Build → Evaluation: runs the subjects in the order of their needs. No clock, no disk, no global."""

from __future__ import annotations

import datetime
import importlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from graphlib import TopologicalSorter
from itertools import chain

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from buildspec.quantities import Quantity
from generator.fingerprints import Meanings, fingerprint, formulas_of, joining, meanings
from generator.mending import mending
from generator.signoffs.comments import comments
from generator.subjects import SUBJECTS, described
from generator.subjects.subject import Given, Subject
from generator.vocabulary import (
    Assumption,
    Caution,
    Check,
    OpenItem,
    Outcome,
    Requirement,
    Standing,
)


@dataclass(frozen=True)
class Evaluation:
    """Everything computed of one build, as of one day.

    `outcomes` has an entry for every subject that the description describes, in the order of
    the list of subjects; the tuples gather what all of them found. `open_items` come sorted by
    what blocks most. `problems` are mistakes of the description that only an evaluation can see.
    `given` is what each subject was given.
    `signoffs` are there once `generator.signoffs.reviewed` has looked at them.
    """

    build: Build
    as_of: datetime.date
    outcomes: Mapping[str, Outcome]
    checks: tuple[Check, ...]
    open_items: tuple[OpenItem, ...]
    assumptions: tuple[Assumption, ...]
    cautions: tuple[Caution, ...]
    requirements: tuple[Requirement, ...] = ()
    problems: tuple[Diagnostic, ...] = ()
    given: Mapping[str, Given] = field(default_factory=dict, repr=False, compare=False)
    signoffs: tuple[Standing, ...] = ()


def load_subjects(words: Iterable[str] = SUBJECTS) -> tuple[Subject, ...]:
    """The subjects by their words, from the modules of that name."""
    found = (importlib.import_module(f"generator.subjects.{word}").SUBJECT for word in words)
    return tuple(found)


def evaluate(
    build: Build, *, as_of: datetime.date, subjects: tuple[Subject, ...] | None = None
) -> Evaluation:
    """Evaluate every subject the build describes. The same build and day give the same answer."""
    chosen = load_subjects(described(build.sections)) if subjects is None else subjects
    return _evaluated(build, as_of, chosen, None)


def on_day(evaluation: Evaluation, day: datetime.date, words: Iterable[str]) -> Evaluation:
    """Some subjects, and those they need, of the same build for another day; what comes out the same
    is not computed again.
    """
    return _evaluated(evaluation.build, day, needed(words), evaluation)


def needed(words: Iterable[str]) -> tuple[Subject, ...]:
    """The subjects of these words, with those they need, in the order of the list of subjects."""
    known = {s.word: s for s in load_subjects()}
    wanted, found = list(words), set[str]()
    while wanted:
        word = wanted.pop()
        if word in known and word not in found:
            found.add(word)
            wanted += known[word].needs
    return tuple(s for word, s in known.items() if word in found)


def _evaluated(
    build: Build, as_of: datetime.date, chosen: tuple[Subject, ...], before: Evaluation | None
) -> Evaluation:
    """Evaluate what `before`, an evaluation of the same build, cannot answer for."""
    done: dict[str, Outcome] = {}
    every: dict[str, Given] = {}
    known = meanings(build)
    for subject in _in_order(chosen):
        given = Given(as_of, {word: done[word] for word in subject.needs if word in done})
        kept = _kept(before, subject.word, given, as_of) if before else None
        outcome = kept or subject.evaluate(build, given)
        if outcome is not None:
            done[subject.word] = outcome if kept else _marked(outcome, known)
            every[subject.word] = before.given[subject.word] if before and kept else given
    outcomes = {s.word: done[s.word] for s in chosen if s.word in done}
    checks = tuple(c for o in outcomes.values() for c in o.checks)
    return Evaluation(
        build=build,
        as_of=as_of,
        outcomes=outcomes,
        checks=checks,
        open_items=_open_items(build, outcomes, checks, as_of),
        assumptions=_assumptions(build, outcomes),
        cautions=tuple(c for o in outcomes.values() for c in o.cautions),
        requirements=tuple(r for o in outcomes.values() for r in o.requirements),
        problems=tuple(p for o in outcomes.values() for p in o.problems),
        given=every,
    )


def _kept(before: Evaluation, word: str, given: Given, as_of: datetime.date) -> Outcome | None:
    """The earlier outcome of a subject that was given the very same, and whose questions about the day
    have the same answers.
    """
    then = before.given.get(word)
    if then is None or not then.same_on(as_of) or then.outcomes.keys() != given.outcomes.keys():
        return None
    same = all(then.outcomes[w] is outcome for w, outcome in given.outcomes.items())
    return before.outcomes[word] if same else None


def _in_order(subjects: tuple[Subject, ...]) -> tuple[Subject, ...]:
    """The subjects with every one behind those it needs."""
    by_word = {s.word: s for s in subjects}
    order = TopologicalSorter(
        {s.word: [n for n in s.needs if n in by_word] for s in subjects}
    ).static_order()
    return tuple(by_word[word] for word in order)


def _marked(outcome: Outcome, known: Meanings) -> Outcome:
    """The outcome with each check's fingerprint, and a caution for each step out of range."""
    formulas, joined = formulas_of(outcome), joining(known)
    checks = tuple(replace(c, fingerprint=fingerprint(c, formulas, joined)) for c in outcome.checks)
    left = tuple(
        _out_of_range(outcome.subject, step_id, names)
        for step_id, names in ((s.id, s.outside) for s in outcome.steps if s.outside)
    )
    return replace(outcome, checks=checks, cautions=outcome.cautions + left)


def _out_of_range(subject: str, step_id: str, names: tuple[str, ...]) -> Caution:
    said = ", ".join(names)
    return Caution(
        f"{step_id}.range",
        f"{said}: outside the range the formula is valid in; its "
        "result stands as computed and needs another method.",
        subject,
        ref=step_id,
    )


# ----------------------------------------------------------------------------- open items

_ORDER = (
    "short",
    "departs",
    "open",
    "missing",
    "date",
    "review",
    "evidence",
    "disagreement",
    "range",
    "measurement",
    "work",
    "assumed",
    "other",
)


def _open_items(
    build: Build,
    outcomes: Mapping[str, Outcome],
    checks: tuple[Check, ...],
    as_of: datetime.date,
) -> tuple[OpenItem, ...]:
    """Every open item: what is overdue, then what falls short, departs or cannot be decided, then
    those that block most; within these by kind, day and id.
    """
    own = tuple(item for o in outcomes.values() for item in o.open_items)
    told = frozenset(ref for item in own if item.kind == "open" for ref in item.blocks)
    rules = (r for o in outcomes.values() for r in o.requirements)
    found = (
        *own,
        *_of_checks(build, checks, told),
        *_of_requirements(rules),
        *_of_assumed(build, checks),
        *comments(build),
    )
    return by_urgency(found, as_of)


def by_urgency(items: Iterable[OpenItem], as_of: datetime.date) -> tuple[OpenItem, ...]:
    """Open items in the order in which they press."""
    return tuple(sorted(items, key=lambda item: _urgency(item, as_of)))


def _urgency(item: OpenItem, as_of: datetime.date) -> tuple[object, ...]:
    kind, due = _ORDER.index(item.kind), item.due or datetime.date.max
    held_up = len(item.blocks) if kind > 2 else 0  # a shortfall is no less for being one check's
    return (due >= as_of, kind > 2, -held_up, kind, due, item.id)


def _of_checks(build: Build, checks: tuple[Check, ...], told: frozenset[str]) -> Iterable[OpenItem]:
    """One item for each check that falls short, and one for all of a subject that are open for one
    reason; those `told` have an item of their subject's already.
    """
    alike: dict[tuple[str, str, str], list[Check]] = {}
    for check in checks:
        if check.verdict == "short":
            yield OpenItem(
                f"{check.id}.short",
                check.subject,
                "short",
                f"{check.title}: falls short",
                check.closes or mending(check, build),
                (check.id,),
                check.id,
            )
        elif check.verdict == "open" and check.id not in told:
            alike.setdefault((check.subject, check.reason, check.closes), []).append(check)
    yield from map(_undecided, alike.values())


def _undecided(alike: Sequence[Check]) -> OpenItem:
    """Checks that are open for the same reason."""
    first, *others = alike
    more = f", and {len(others)} more" if others else ""
    return OpenItem(
        f"{first.id}.open",
        first.subject,
        "open",
        f"{first.title}{more}: cannot be decided",
        first.closes or f"settle what leaves it open: {first.reason}",
        tuple(check.id for check in alike),
        first.id,
    )


_TELLING = ("departs", "open", "waived")
"""States in which a line of a rule sheet tells what it follows: that is no item of its own then."""


def _of_requirements(requirements: Iterable[Requirement]) -> Iterable[OpenItem]:
    every = tuple(requirements)
    told = {ref for r in every if r.state in _TELLING for ref in r.refs}
    for rule in (r for r in every if r.id not in told):
        if rule.state == "departs":
            yield OpenItem(
                f"{rule.id}.departs",
                rule.subject,
                "departs",
                f"{rule.title}: departs from what is prescribed",
                f"make it conform, or obtain a waiver; no calculation excuses it: {rule.why}",
                ref=rule.id,
                owner=rule.owner,
                due=rule.due,
            )
        elif rule.state == "open":
            yield OpenItem(
                f"{rule.id}.open",
                rule.subject,
                "open",
                f"{rule.title}: conformance cannot be decided",
                rule.closes or f"settle what leaves it open: {rule.reason}",
                ref=rule.id,
                owner=rule.owner,
                due=rule.due,
            )


def _of_assumed(build: Build, checks: tuple[Check, ...]) -> Iterable[OpenItem]:
    """One item for each record whose values are assumed and that a check depends on."""
    every = dict.fromkeys(chain.from_iterable(check.inputs for check in checks))
    record_of = {q.id: q.id.rpartition(".")[0] for q in _assumed(build, every)}
    names: dict[str, list[str]] = {}
    for value, record in record_of.items():
        names.setdefault(record, []).append(value.rpartition(".")[2])
    users: dict[str, list[str]] = {record: [] for record in names}
    known: dict[frozenset[str], set[str]] = {}  # many checks rest on the same values
    for check in checks:
        inputs = frozenset(check.inputs)
        if inputs not in known:
            known[inputs] = {record_of[value] for value in inputs if value in record_of}
        for record in known[inputs]:
            users[record].append(check.id)
    for record, ids in users.items():
        said = ", ".join(names[record])
        subject = ids[0].split(".", 1)[0]
        yield OpenItem(
            f"{record}.assumed",
            subject,
            "assumed",
            f"{record}: {said} still assumed",
            "measure it, or state the rating, calculation or estimate it comes from",
            tuple(dict.fromkeys(ids)),
            record,
        )


def _assumed(build: Build, ids: Iterable[str]) -> Iterable[Quantity]:
    for name in ids:
        quantity = build.quantities.get(name)
        if quantity is None or quantity.basis != "assumed" or quantity.stated:
            continue
        if quantity.asks or not quantity.default:
            yield quantity  # any other that the schema supplies is on the assumptions page


def _assumptions(build: Build, outcomes: Mapping[str, Outcome]) -> tuple[Assumption, ...]:
    """The values nobody measured or rated, and what the calculations rest on."""
    values = tuple(
        Assumption(q.id, "", q.id.split(".", 1)[0], q.source, q)
        for q in build.quantities.values()
        if q.basis == "assumed" and not q.stated
    )
    return values + tuple(a for o in outcomes.values() for a in o.assumptions)
