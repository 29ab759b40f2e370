"""One line of a sheet → its state of conformance, with the reason. The margin has no part in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from buildspec.sections.rules import Line, Sheet, key_of
from generator.rules.comparing import compare
from generator.rules.conditions import applies
from generator.rules.proofs import attested, demonstrated, documented, followed, waiver_fault
from generator.rules.world import Told, World
from generator.vocabulary import Requirement

WORD = "rules"


class Done(Protocol):
    """How far the work on a line is, as the subject `plan` counts it."""

    @property
    def done(self) -> float:
        """The part of the work that is done, 0 to 1."""

    @property
    def steps_open(self) -> tuple[str, ...]:
        """The steps that are not done."""

    @property
    def evidence_missing(self) -> tuple[str, ...]:
        """The files that are named as proof, and prove nothing yet."""

    @property
    def evidence_changed(self) -> tuple[str, ...]:
        """Those among them whose file is there, with another content than was attested."""


def requirement_id(sheet: Sheet, line: Line) -> str:
    """The id of a line's conformance: `rules.requirement.starter.belt_angle`."""
    return f"{WORD}.requirement.{key_of(sheet, line)}"


def judge(sheet: Sheet, line: Line, world: World, progress: Mapping[str, Done]) -> Requirement:
    """The conformance of one line.

    First whether it applies, then its proof, then whether its work and its files are complete,
    then whether an authority waives it.
    """
    told = _told(sheet, line, world, progress)
    people = {p.id: p.name for p in world.section.people}
    return Requirement(
        requirement_id(sheet, line),
        WORD,
        line.title or line.statement,
        told.prescribed,
        told.found,
        told.state,
        told.reason,
        source_of(sheet, line),
        tuple(dict.fromkeys(told.refs)),
        owner=people.get(line.owner, ""),
        due=line.due,
        ours=line.ours,
        closes=told.closes,
    )


def source_of(sheet: Sheet, line: Line) -> str:
    """The sheet, and where the line stands in the rulebook, as far as the team has looked it up."""
    edition = line.edition or sheet.edition
    clause = f"clause {line.clause}" if line.clause else ""
    said = (sheet.title, clause, f"edition {edition}" if edition else "")
    return "; ".join(s for s in said if s)


def _told(sheet: Sheet, line: Line, world: World, progress: Mapping[str, Done]) -> Told:
    if line.not_applicable:
        return Told("not applicable", line.not_applicable)
    known = applies(line, world)
    if known.holds is False:
        return Told("not applicable", known.reason)
    told = _proved(line, world)
    if told.state == "not applicable":
        return told
    if known.holds is None:
        told = told.now(
            "open",
            f"whether it applies is open: {known.reason}; {told.reason}",
            f"settle whether it applies: {known.reason}",
        )
    return _waived(line, _finished(told, progress.get(key_of(sheet, line))), world)


def _proved(line: Line, world: World) -> Told:
    """By the one proof that the line asks for."""
    if line.compare is not None:
        return compare(line.compare, world)
    if line.attest is not None:
        return attested(line, line.attest, world)
    if line.demonstrate is not None:
        return demonstrated(line, line.demonstrate, world)
    if line.document is not None:
        return documented(line, line.document, world)
    return followed(line.follows, world)


def _finished(told: Told, work: Done | None) -> Told:
    """Nothing conforms while a step is open or a file is missing."""
    if told.state != "conforms" or work is None:
        return told
    said = (
        _lacking(work.steps_open, "step is open", "steps are open"),
        _lacking(
            tuple(e for e in work.evidence_missing if e not in work.evidence_changed),
            "file is missing or cannot be read",
            "files are missing or cannot be read",
        ),
        _lacking(
            work.evidence_changed,
            "file has changed since it was attested",
            "files have changed since they were attested",
        ),
    )
    left = "; ".join(s for s in said if s)
    return (
        told.now("open", f"{left}; otherwise {told.reason}", f"finish the work: {left}")
        if left
        else told
    )


def _lacking(names: tuple[str, ...], one: str, several: str) -> str:
    return f"{len(names)} {one if len(names) == 1 else several}" if names else ""


def _waived(line: Line, told: Told, world: World) -> Told:
    """An authority's leave to depart, where there is one that counts."""
    waiver = line.waiver
    if waiver is None:
        return told
    if fault := waiver_fault(waiver, world):
        return told.now(told.state, f"{told.reason}; the waiver does not count: {fault}")
    until = f", to {waiver.until}" if waiver.until else ""
    said = f"by {waiver.authority}, {waiver.reference}, {waiver.date}{until}, for: {waiver.scope}"
    return told.now("waived", f"{said}. Without it: {told.state}, {told.reason}")
