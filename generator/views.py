"""What each page is filled with: an evaluation as the templates want it. Computes nothing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import chain
from typing import Any

from buildspec.quantities import Quantity
from buildspec.sections.datum import Datum
from buildspec.sections.notes import Notes
from buildspec.sections.vehicle import Vehicle
from generator.gathered import Site
from generator.labels import section_title
from generator.mkdocs_config import parts
from generator.openitems import NOBODY, by_owner, grouped
from generator.overview import Overview, overview
from generator.results import program_version
from generator.subjects.subject import Subject
from generator.templates import counted
from generator.vocabulary import Assumption

OPEN_KINDS = {
    "short": "falls short",
    "departs": "departs from what is prescribed",
    "open": "cannot be decided",
    "missing": "a value is missing",
    "assumed": "still assumed",
    "range": "outside the valid range",
    "measurement": "a measurement is missing",
    "disagreement": "prediction and measurement disagree",
    "work": "work to do",
    "evidence": "proof is missing",
    "date": "a date is not kept",
    "review": "a reviewer's word is missing",
    "other": "other",
}


NAMED = 3


@dataclass(frozen=True, slots=True)
class _Record:
    """Inputs that belong together under one heading."""

    id: str
    title: str
    quantities: tuple[Quantity, ...]


@dataclass(frozen=True, slots=True)
class _Group:
    """One section's inputs or assumptions. `names` say what is folded away, `others` how much more."""

    title: str
    caption: str
    records: tuple[_Record, ...] = ()
    assumptions: tuple[Assumption, ...] = field(default=())
    anchor: str = ""
    values: int = 0

    names: tuple[str, ...] = ()
    others: int = 0


def views(site: Site) -> dict[str, dict[str, Any]]:
    """The pages that every site has, by name."""
    return {
        "index": _front(site),
        "assumptions": _assumption_groups(site),
        "inputs": _inputs(site),
        "open-items": _open(site),
        "sources": _sources(site),
        "about": _about(site),
    }


def shared(site: Site) -> dict[str, Any]:
    """What every page may say."""
    evaluation = site.evaluation
    return {
        "build": site.build,
        "evaluation": evaluation,
        "edition": site.edition,
        "as_of": evaluation.as_of.isoformat(),
        "fingerprint": site.build.fingerprint[:8],
        "version": program_version(),
        "titles": {s.word: s.title for s in site.subjects},
        "origin": datum.origin if (datum := site.build.section(Datum)) else "",
        "parts": parts(site),
        "open_items": evaluation.open_items,
        "assumptions": evaluation.assumptions,
    }


def _open(site: Site) -> dict[str, Any]:
    items = site.evaluation.open_items
    return {
        "kinds": OPEN_KINDS,
        "groups": grouped(items, site.evaluation.as_of),
        "owners": by_owner(items),
        "nobody": NOBODY,
        "choices": {
            "owner": _distinct(o.name for o in by_owner(items)),
            "subject": _distinct(_subject_title(site, item.subject) for item in items),
        },
        "subjects": {item.subject: _subject_title(site, item.subject) for item in items},
    }


@dataclass(frozen=True, slots=True)
class _Own:
    """What one subject contributes to a page about all."""

    title: str
    members: tuple[Any, ...]


def _by_subject(site: Site, members: Iterable[Any]) -> tuple[_Own, ...]:
    """Cautions or assumptions under the title of their subject, in the order they come in."""
    found: dict[str, list[Any]] = {}
    for each in members:
        found.setdefault(_subject_title(site, each.subject), []).append(each)
    return tuple(_Own(title, tuple(own)) for title, own in found.items())


def _subject_title(site: Site, word: str) -> str:
    return next((s.title for s in site.subjects if s.word == word), word)


def _front(site: Site) -> dict[str, Any]:
    over = overview(site.evaluation, {s.word: s.title for s in site.known})
    notes = site.build.section(Notes)
    return {
        "over": over,
        "vehicle": site.build.section(Vehicle),
        "facts": _facts(site),
        "readiness": _readiness(over, len(site.evaluation.open_items)),
        "notes": notes.entries if notes else (),
    }


def _facts(site: Site) -> tuple[str, ...]:
    vehicle = site.build.section(Vehicle)
    if vehicle is None:
        return ("The description does not say what vehicle this is",)
    said = (vehicle.team, vehicle.category, vehicle.class_name)
    return tuple(fact for fact in said if fact)


def _readiness(over: Overview, open_items: int) -> str:
    total = over.total
    if over.ready:
        return (
            f"{'The check holds' if total.total == 1 else f'All {total.total} checks hold'} and "
            "nothing is open in this description. That is no judgement of the vehicle itself."
        )
    margins = (
        f"Of {counted(total.total, 'check')}, {_fall(total.short)} short "
        f"and {_are(total.open)} open"
    )
    rules = (
        f"of {counted(total.prescriptions, 'prescription')}, {total.departs} "
        f"{'departs' if total.departs == 1 else 'depart'} and {_are(total.undecided)} open"
    )
    own = (
        f"of {counted(over.own.prescriptions, 'line')} the team adds, {over.own.departs} "
        f"{'departs' if over.own.departs == 1 else 'depart'}"
    )
    said = (
        margins if total.total else "No checks yet",
        rules if total.prescriptions else "",
        own if over.own.prescriptions else "",
        f"{counted(open_items, 'open item')} in all",
    )
    return f"{'; '.join(s for s in said if s)}."


def _fall(number: int) -> str:
    return f"{number} {'falls' if number == 1 else 'fall'}"


def _are(number: int) -> str:
    return f"{number} {'is' if number == 1 else 'are'}"


def subject_view(site: Site, subject: Subject) -> dict[str, Any]:
    """The page of one subject."""
    outcome = site.evaluation.outcomes[subject.word]
    used = {i for c in outcome.checks for i in c.inputs} | {
        a.ref for s in outcome.steps for a in s.arguments
    }
    quantities = site.build.quantities.values()
    return {
        **site.attached[subject.word].view,
        "subject": subject,
        "outcome": outcome,
        "charts": {c.id: c for c in site.charts[subject.word]},
        "inputs": tuple(q for q in quantities if _of(q.id, subject.word) or q.id in used),
        "assumptions": tuple(
            a for a in site.evaluation.assumptions if a.subject == subject.word or a.id in used
        ),
        "sources": _distinct(
            (
                *(s.formula.source for s in outcome.steps),
                *(s for c in outcome.checks for s in c.sources),
            )
        ),
    }


def _of(dotted: str, word: str) -> bool:
    return dotted.split(".", 1)[0] == word


def _assumption_groups(site: Site) -> dict[str, Any]:
    every = site.evaluation.assumptions
    sections = _distinct(a.id.split(".", 1)[0] for a in every if a.quantity)
    groups = tuple(
        _Group(
            section_title(word),
            f"Assumed values: {section_title(word)}",
            assumptions=tuple(a for a in every if a.quantity and _of(a.id, word)),
        )
        for word in sections
    )
    said = tuple(a for a in every if a.quantity is None)
    return {"statements": _by_subject(site, said), "value_groups": groups}


def _inputs(site: Site) -> dict[str, Any]:
    by_section: dict[str, dict[str, list[Quantity]]] = {}
    for dotted, quantity in site.build.quantities.items():
        section, record = dotted.split(".", 1)[0], dotted.rpartition(".")[0]
        by_section.setdefault(section, {}).setdefault(record, []).append(quantity)
    return {
        "sections": tuple(_input_group(site, word, records) for word, records in by_section.items())
    }


def _input_group(site: Site, word: str, records: Mapping[str, list[Quantity]]) -> _Group:
    title = section_title(word)
    number = sum(len(qs) for qs in records.values())
    made = tuple(_Record(r, _record_title(site, r), tuple(qs)) for r, qs in records.items())
    caption = f"{title}: {counted(number, 'value')}"
    names = tuple(chain.from_iterable(_names(site, word, r) for r in made))
    return _Group(
        title,
        caption,
        made,
        anchor=f"inputs-{word}",
        values=number,
        names=names[:NAMED],
        others=max(len(names) - NAMED, 0),
    )


def _names(site: Site, word: str, record: _Record) -> tuple[str, ...]:
    """What is folded away: the values of the section itself, else the record."""
    if record.id != word:
        return (record.title,)
    labels = site.words.labels
    return tuple(labels[q.id].own or labels[q.id].record for q in record.quantities)


def _record_title(site: Site, record: str) -> str:
    label = site.words.labels.get(record)
    return (label.whole if label else "") or section_title(record)


def _sources(site: Site) -> dict[str, Any]:
    methods: dict[str, dict[str, str]] = {}
    for word, outcome in site.evaluation.outcomes.items():
        for source in (
            *(s.formula.source for s in outcome.steps),
            *(s for c in outcome.checks for s in c.sources),
        ):
            if source:
                methods.setdefault(source, {})[word] = _subject_title(site, word)
    by_source: dict[str, list[Quantity]] = {}
    known = [q for q in site.build.quantities.values() if not q.default]
    for quantity in known:
        by_source.setdefault(quantity.source, []).append(quantity)
    rows = [
        {"source": s, "count": len(qs), "first": qs[0].id}
        for s, qs in sorted(by_source.items())
        if s
    ]
    return {
        "method_sources": methods,
        "value_sources": rows,
        "unsourced": len(by_source.get("", ())),
    }


def _about(site: Site) -> dict[str, Any]:
    cautions = site.evaluation.cautions
    return {
        "hazards": _by_subject(site, (c for c in cautions if c.hazard)),
        "others": _by_subject(site, (c for c in cautions if not c.hazard)),
    }


def _distinct(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(t for t in texts if t))
