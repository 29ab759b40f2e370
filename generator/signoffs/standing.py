"""Whether a word that was given still stands, and if not, what undid it."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from buildspec.quantities import digits
from buildspec.sections.signoffs import Record, Signoffs, subject_of
from generator.evaluation import Evaluation, on_day
from generator.labels import Labels, labels
from generator.signoffs.scope import Scope, ScopeError, formula_digest, scope_of, title_of
from generator.signoffs.seen import (
    beside,
    check_text,
    number_of,
    result_text,
    rule_text,
    same_text,
    value_as_seen,
    value_text,
    verdict_of,
)
from generator.vocabulary import Standing

SHORT = 7
"""Characters of a figure that is told as it was written down."""
At = Callable[[datetime.date, frozenset[str]], Evaluation]
"""The same build for another day, with at least the subjects named."""


def standings(evaluation: Evaluation) -> tuple[Standing, ...]:
    """Every record of the description, in the order they were made."""
    section = evaluation.build.section(Signoffs)
    if section is None:
        return ()
    reasons = stand(section.records, evaluation)
    last = {(r.scope, r.by): r.id for r in section.records}
    answers = {a.to: a for a in section.answers}
    return tuple(
        Standing(
            record,
            title_of(evaluation, record.scope),
            reasons[record.id],
            last[record.scope, record.by] != record.id,
            answers.get(record.id),
            subject_of(record.scope, section),
        )
        for record in section.records
    )


def stand(records: Iterable[Record], evaluation: Evaluation) -> Mapping[str, tuple[str, ...]]:
    """What undid each record, by its id, in a state that need not be the one that holds them."""
    at, words = _days(evaluation), labels(evaluation.build, evaluation.outcomes)
    return {r.id: tuple(undone(r, evaluation, at, words)) for r in records}


def is_undone(record: Record, evaluation: Evaluation) -> bool:
    """Whether a record does not stand in a state that need not be the one that holds it."""
    words = labels(evaluation.build, evaluation.outcomes)
    return next(undone(record, evaluation, _days(evaluation), words), None) is not None


def _days(evaluation: Evaluation) -> At:
    """The same build, evaluated for other days, as far as it was asked for and each once."""
    known: dict[datetime.date, Evaluation] = {evaluation.as_of: evaluation}

    def at(day: datetime.date, words: frozenset[str]) -> Evaluation:
        had = frozenset(known[day].outcomes) if day in known else frozenset[str]()
        if day not in known or not had.issuperset(words & evaluation.outcomes.keys()):
            known[day] = on_day(evaluation, day, words | had)
        return known[day]

    return at


def undone(record: Record, evaluation: Evaluation, at: At, words: Labels) -> Iterator[str]:
    """What undid a record, in words, what matters most first; nothing where it stands.

    The scope's values are compared by what they mean. What was computed is compared as it comes out
    for the day of the record, so that the passing of time alone undoes nothing until it turns a
    verdict or a prescription.
    """
    if not record.intact:
        yield "the record was edited after it was made"
        return
    try:
        scope = scope_of(evaluation, record.scope)
    except ScopeError:
        yield "the design has no such part any more"
        return
    found = [*_values(record, scope, evaluation, words), *_formulas(record)]
    yield from found  # before anything else is evaluated: who only asks whether, stops here
    moved = _truly(record, evaluation, at, scope)
    if found or any(not m.by_day for m in moved):
        yield from (m for m in _beside(record, evaluation, words) if moved)
    yield from (m.words for m in sorted(moved, key=lambda m: not m.turned))


# ----------------------------------------------------------------------------------- values


def _values(record: Record, scope: Scope, evaluation: Evaluation, words: Labels) -> Iterator[str]:
    """Values that changed, then those that came and went, each record of them once."""
    seen, present = record.seen.values, evaluation.build.quantities
    for name in scope.inputs:
        if name in seen:
            as_seen = value_as_seen(seen[name], present[name])
            if not same_text(seen[name], as_seen):
                yield f"{_label(name, words)} {_from_to(seen[name], as_seen)}"
    came = {n: number_of(value_text(present[n])) for n in scope.inputs if n not in seen}
    for name, said in _by_record(came, seen):
        yield f"{_label(name, words)} is new: {said}"
    gone = {n: number_of(text) for n, text in seen.items() if n not in present}
    for name, said in _by_record(gone, present):
        yield f"{_label(name, words)} is gone; it was {said}"


def _by_record(values: Mapping[str, str], others: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Values by the widest record that the others have nothing of; a single one under its own id."""
    known = {prefix for name in others for prefix in _holders(name)}
    groups: dict[str, list[str]] = {}
    for name in values:
        record = next((p for p in _holders(name) if p not in known), name)
        groups.setdefault(record, []).append(name)
    for record, names in groups.items():
        if len(names) == 1:
            yield names[0], values[names[0]]
        else:
            said = [f"{_spoken(n[len(record) + 1 :])} {values[n]}" for n in names[:2]]
            more = [f"and {len(names) - 2} more"] if len(names) > 2 else []
            yield record, ", ".join(said + more)


def _spoken(name: str) -> str:
    return name.replace("_", " ").replace(".", " ")


def _holders(name: str) -> Iterator[str]:
    """The records that hold a value, the widest first, but for the section itself."""
    steps = name.split(".")
    return (".".join(steps[:n]) for n in range(2, len(steps)))


def _from_to(seen: str, now: str) -> str:
    """`12.1 → 13.4 ft²`; where number and unit are the same, what else is told of the value."""
    one, other = number_of(seen), number_of(now)
    if same_text(one, other):
        return f"{one}: {seen.partition('; ')[2]} → {now.partition('; ')[2]}"
    number, _, unit = one.partition(" ")
    return f"{number} → {other}" if other.partition(" ")[2] == unit else f"{one} → {other}"


def _label(name: str, words: Labels) -> str:
    label = words.get(name)
    return label.whole if label else name


def _formulas(record: Record) -> Iterator[str]:
    for name, digest in record.seen.formulas.items():
        if formula_digest(name) != digest:
            yield f"the program's formula {name} is another one"


# --------------------------------------------------------------------------------- computed


@dataclass(frozen=True)
class _Moved:
    """A computed text that is another; `turned` says that verdict or state is, `by_day` that only
    the day did it.
    """

    words: str
    turned: bool
    by_day: bool = False


def _computed(record: Record, scope: Scope) -> Iterator[_Moved]:
    """What was computed otherwise than it was seen; a check or prescription that came or went too."""
    seen = record.seen
    checks = {c.id: (c.title, check_text(c)) for c in scope.checks}
    rules = {r.id: (r.title, rule_text(r)) for r in scope.rules}
    results = {r.id: (r.title, result_text(r)) for r in scope.results}
    yield from _texts(seen.checks, checks, _check_moved)
    yield from _texts(seen.rules, rules, _rule_moved)
    yield from _texts(seen.results, results, lambda one, other: (_moved(one, other), False))


def _texts(
    seen: Mapping[str, str],
    now: Mapping[str, tuple[str, str]],
    said: Callable[[str, str], tuple[str, bool]],
) -> Iterator[_Moved]:
    for name, (title, text) in now.items():
        if name not in seen:
            yield _Moved(f"{title} is new", turned=True)
        elif not same_text(seen[name], text):
            words, turned = said(seen[name], text)
            yield _Moved(f"{title} {words}", turned)
    for name in seen:
        if name not in now:
            yield _Moved(f"{name} is gone", turned=True)


def _check_moved(seen: str, now: str) -> tuple[str, bool]:
    one, other = verdict_of(seen), verdict_of(now)
    if one != other:
        return f"{one} → {other}", True
    margins = _margin(seen), _margin(now)
    if margins[0] != margins[1]:
        return f"margin {margins[0]} → {margins[1]}", False
    named = zip(("demand", "capacity", "factor"), seen.split(" "), now.split(" "), strict=False)
    return ", ".join(f"{what} {_moved(a, b)}" for what, a, b in named if a != b), False


def _moved(seen: str, now: str) -> str:
    """How a computed figure moved, in per cent where that means something."""
    if "-" in (seen, now):
        return "is known now" if seen == "-" else "is not known any more"
    if not float(seen):
        return "is no longer 0"
    share = 100.0 * (float(now) / float(seen) - 1.0)
    said = digits(float(f"{share:.6g}"), figures=2)  # 24.9999999 is 25
    return f"{said if said.startswith('−') else f'+{said}'} %"


def _margin(text: str) -> str:
    """The margin that demand, capacity and factor of a check's text have, in per cent."""
    demand, capacity, factor, _ = text.split(" ")
    if "-" in (demand, capacity) or float(demand) <= 0.0:
        return "none"
    margin = float(capacity) / (float(factor) * float(demand)) - 1.0
    return f"{digits(100.0 * margin, figures=3)} %"


def _rule_moved(seen: str, now: str) -> tuple[str, bool]:
    (one, *before), (other, *after) = seen.split(" | "), now.split(" | ")
    if one != other:
        return f"{one} → {other}", True
    return f"{' | '.join(before)} → {' | '.join(after)}", False


def _truly(record: Record, evaluation: Evaluation, at: At, scope: Scope) -> list[_Moved]:
    """What moved for another reason than that days went by; of what time moved, what it turned."""
    moved = [*_computed(record, scope)]
    if not moved or record.date == evaluation.as_of:
        return moved
    before = _on_its_day(record, at, _holding(scope, evaluation))
    if before is None:
        return moved
    truly = {m.words: m for m in before}
    said = f"as the day is {evaluation.as_of}"
    late = [
        _Moved(f"{m.words}, {said}", turned=True, by_day=True)
        for m in moved
        if m.turned and m.words not in truly
    ]
    return [*truly.values(), *late]


def _holding(scope: Scope, evaluation: Evaluation) -> frozenset[str]:
    """The subjects that anything of a scope was computed by."""
    names = {c.id for c in scope.checks} | {r.id for r in scope.rules}
    names |= {r.id for r in scope.results}
    found = {
        word: {c.id for c in o.checks} | {r.id for r in o.requirements} | {r.id for r in o.results}
        for word, o in evaluation.outcomes.items()
    }
    return frozenset(word for word, ids in found.items() if not ids.isdisjoint(names))


def _on_its_day(record: Record, at: At, words: frozenset[str]) -> list[_Moved] | None:
    """What comes out otherwise for the day of the record itself; None where it has no such scope."""
    try:
        return [*_computed(record, scope_of(at(record.date, words), record.scope))]
    except ScopeError:
        return None


def _beside(record: Record, evaluation: Evaluation, words: Labels) -> Iterator[str]:
    """What stands beside the values and is another: it did not undo the word, but explains it."""
    seen = record.seen
    now = dict(beside(evaluation, seen.values, seen.beside))
    quantities = evaluation.build.quantities
    now |= {n: value_as_seen(t, quantities[n]) for n, t in seen.beside.items() if n in quantities}
    for name, text in seen.beside.items():
        if not same_text(now.get(name, ""), text):
            other = now.get(name) or "nothing"
            yield f"{_label_beside(name, words)} {_short(text)} → {_short(other)}"


def _label_beside(name: str, words: Labels) -> str:
    if name in words:
        return _label(name, words)
    holder, _, own = name.rpartition(".")
    return f"{_label(holder, words)}: {own.rstrip('_').replace('_', ' ')}"


def _short(text: str) -> str:
    """A figure with no more digits than a reader wants."""
    number, _, unit = number_of(text).partition(" ")
    if len(number) <= SHORT:
        return number_of(text)
    try:
        return f"{digits(float(number), figures=5)} {unit}".rstrip()
    except ValueError:
        return number_of(text)
