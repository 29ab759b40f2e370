"""The subject `evidence`: which files prove what, and which are missing or have changed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from buildspec.build import Build
from buildspec.evidence import FileFact
from buildspec.sections.rules import Evidence, Rules, lines
from generator.subjects.subject import Given, Subject
from generator.vocabulary import Assumption, OpenItem, Outcome

WORD = "evidence"
Standing = Literal["there", "changed", "missing", "not usable"]


@dataclass(frozen=True, slots=True)
class EvidenceState:
    """One file: `standing`, why in words, and what it is used for (titles of lines and steps).

    `attested` is whether somebody said of this very content that it proves what it should.
    """

    id: str
    file: str
    proves: str
    standing: Standing
    reason: str
    attested: bool
    entry: Evidence
    fact: FileFact
    used_by: tuple[str, ...] = ()

    @property
    def proved(self) -> bool:
        """Whether it counts as proof today."""
        return self.standing == "there"


@dataclass(frozen=True)
class Detail:
    """Every file by the id of its entry, in the order of the description."""

    states: Mapping[str, EvidenceState]


def evaluate(build: Build, given: Given) -> Outcome | None:
    """The standing of every file; None where the description names none as evidence."""
    section = build.section(Rules)
    if section is None or not section.evidence:
        return None
    states = standings(section, build.files)
    return Outcome(
        WORD,
        assumptions=_assumptions(),
        open_items=tuple(_open_items(states.values())),
        detail=Detail(states),
        shown={f"{WORD}.file.{name}": state.file for name, state in states.items()},
    )


def standings(section: Rules, files: Mapping[str, FileFact]) -> Mapping[str, EvidenceState]:
    """The standing of every entry; `files` are the facts by name."""
    used = _used(section)
    return {
        entry.id: _state(entry, files.get(entry.file), used.get(entry.id, ()))
        for entry in section.evidence
    }


def _state(entry: Evidence, known: FileFact | None, used: tuple[str, ...]) -> EvidenceState:
    fact = known or FileFact(entry.file, False, fault="is not in the build folder")
    standing, reason = _standing(entry, fact)
    attested = standing == "there" and bool(entry.sha256 and entry.attested_by)
    return EvidenceState(
        entry.id, entry.file, entry.proves, standing, reason, attested, entry, fact, used
    )


def _standing(entry: Evidence, fact: FileFact) -> tuple[Standing, str]:
    if not fact.exists:
        return "missing", f"the file {fact.fault}"
    if fact.fault:
        return "not usable", fact.fault
    if entry.sha256 and entry.sha256 != fact.sha256:
        when = f" on {entry.attested}" if entry.attested else ""
        who = entry.attested_by or "somebody"
        return "changed", f"its content is not the one that {who} attested{when}"
    if not entry.sha256:
        return "there", "nobody attested this content"
    return "there", ""


def _used(section: Rules) -> Mapping[str, tuple[str, ...]]:
    """What each entry is used for: titles of lines, and of steps."""
    found: dict[str, list[str]] = {}
    for _, line in lines(section):
        title = line.title or line.statement
        for name in line.evidence:
            found.setdefault(name, []).append(title)
        for step in line.steps:
            for name in step.evidence:
                found.setdefault(name, []).append(f"{title}: {step.title}")
    return {name: tuple(dict.fromkeys(titles)) for name, titles in found.items()}


_CLOSES: Mapping[Standing, str] = {
    "missing": "put it there, or correct its name",
    "changed": "look at it again; then state its new digest and the day, or bring the old file back",
    "not usable": "bring a file that can be opened and shown",
}


def _open_items(states: Iterable[EvidenceState]) -> Iterator[OpenItem]:
    for state in states:
        if state.standing in _CLOSES:
            yield OpenItem(
                f"{WORD}.file.{state.id}",
                WORD,
                "evidence",
                f"{state.file}, which should prove: {state.proves.rstrip('.')}",
                f"{_CLOSES[state.standing]}: {state.reason}",
                ref=f"{WORD}.file.{state.id}",
                owner=state.entry.attested_by,
            )


def _assumptions() -> tuple[Assumption, ...]:
    texts = (
        (
            "digest",
            "A file whose SHA-256 is the attested one is taken to be the file that was looked at.",
            "FIPS 180-4",
        ),
        (
            "looked",
            "What a file shows is what its entry says: the program looks at bytes, not at parts.",
            "people look at photos; no program stands in for them",
        ),
    )
    return tuple(Assumption(f"{WORD}.assumption.{k}", t, WORD, s) for k, t, s in texts)


SUBJECT = Subject(
    word=WORD,
    title="Evidence",
    purpose="Which files of the build folder prove what, whether they are there, whole and still "
    "the ones that were attested.",
    group="Inspection",
    evaluate=evaluate,
)
