"""Comments of reviewers that nobody answered yet, as open items."""

from __future__ import annotations

from collections.abc import Iterator

from buildspec.build import Build
from buildspec.sections.signoffs import ACCEPTED, REFUSED, Record, Signoffs, subject_of
from generator.vocabulary import OpenItem


def comments(build: Build) -> Iterator[OpenItem]:
    """One item for each comment without an answer, and for each refusal not withdrawn by the same
    person's later word on the same scope.
    """
    section = build.section(Signoffs)
    if section is None:
        return
    answered = {a.to for a in section.answers}
    last = {(r.scope, r.by): r.id for r in section.records}
    for record in section.records:
        if record.says == ACCEPTED or last[record.scope, record.by] != record.id:
            continue
        if record.says == REFUSED or record.id not in answered:
            subject = subject_of(record.scope, section)
            yield _item(record, subject, answered=record.id in answered)


def _item(record: Record, subject: str, *, answered: bool) -> OpenItem:
    refused = record.says == REFUSED
    closes = (
        f"answer it with `marginbook sign FOLDER --answers {record.id}`"
        if not answered
        else f"{record.by} has to look again: the comment is answered, the refusal stands"
    )
    return OpenItem(
        f"signoffs.records.{record.id}.comment",
        subject,
        "review",
        f"{record.by} ({record.as_}) {'does not accept' if refused else 'comments on'} "
        f"{record.scope}: {record.note}",
        closes,
        ref=f"signoffs.records.{record.id}",
    )
