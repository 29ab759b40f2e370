"""The page of the sign-offs: what was said of each part, and whether it still stands."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from buildspec.sections.signoffs import Answer, Record, Signoffs
from generator.compose import ExtraPage
from generator.evaluation import Evaluation, load_subjects
from generator.revisions.signatures import (
    commit_signature,
    recording_commit,
    signature,
    signers_of,
)
from generator.revisions.undoing import since
from generator.revisions.wording import SAYS
from generator.vocabulary import Standing

if TYPE_CHECKING:
    from generator.revisions.pages import Context

REASONS = 5
"""Reasons that are listed of a word that was undone."""


@dataclass(frozen=True)
class Row:
    """One record in words. `state` is `stands`, `undone` or `replaced`."""

    id: str
    scope: str
    title: str
    says: str
    by: str
    role: str
    date: str
    seen_in: str
    state: str
    since: str
    reasons: tuple[str, ...]
    more: int
    note: str
    answer: Answer | None
    page: str
    committed: str


def signoffs_page(evaluation: Evaluation, context: Context | None) -> ExtraPage | None:
    """The page, where the description has the section."""
    if evaluation.build.section(Signoffs) is None:
        return None
    committed = _committed(context)
    rows = tuple(_row(s, evaluation, committed) for s in evaluation.signoffs)
    view = {
        "rows": tuple(r for r in reversed(rows) if r.state != "replaced"),
        "replaced": tuple(r for r in reversed(rows) if r.state == "replaced"),
        "unsigned": _unsigned(evaluation, rows),
        "signatures": tuple(_signatures(context)) if context else (),
    }
    return ExtraPage("signoffs", "Sign-offs", view)


def _row(standing: Standing, evaluation: Evaluation, committed: Callable[[str], str]) -> Row:
    record = standing.record
    shown = _shown(standing.reasons)
    return Row(
        record.id,
        record.scope,
        standing.title,
        SAYS[record.says],
        record.by,
        record.as_,
        record.date.isoformat(),
        _seen_in(record),
        standing.state,
        standing.since,
        shown,
        len(standing.reasons) - len(shown),
        record.note,
        standing.answer,
        f"{record.scope}.html" if record.scope in evaluation.outcomes else "",
        committed(record.id),
    )


def _shown(reasons: tuple[str, ...]) -> tuple[str, ...]:
    return reasons[:REASONS] if len(reasons) > REASONS + 1 else reasons


def _seen_in(record: Record) -> str:
    if record.revision:
        return record.revision
    if not record.commit:
        return "a folder under no git"
    more = " with uncommitted changes" if record.uncommitted else ""
    return f"a draft at {record.commit[:8]}{more}"


def since_in(context: Context) -> Callable[[Record], str]:
    """Says of a record that does not stand which revision undid it."""
    return since(context.repository, context.until, draft=context.revision is None)


def _unsigned(evaluation: Evaluation, rows: tuple[Row, ...]) -> tuple[tuple[str, str], ...]:
    """Subjects of which no word stands: page and title."""
    signed = {r.scope.split(".", 1)[0] for r in rows if r.state == "stands"}
    section = evaluation.build.section(Signoffs)
    for group in section.groups if section else ():
        if group.id in signed:
            signed |= {s.split(".", 1)[0] for s in group.scopes}
    titles = {s.word: s.title for s in load_subjects()}
    return tuple((f"{w}.html", titles[w]) for w in evaluation.outcomes if w not in signed)


def _committed(context: Context | None) -> Callable[[str], str]:
    """Says of a record how the commit that holds it is signed, where that can be checked."""
    signers = signers_of(context.repository, _tree(context)) if context else None
    if context is None or signers is None:
        return lambda _: ""
    until = context.revision.commit if context.revision else ""

    def said(record: str) -> str:
        commit = recording_commit(context.repository, record, until)
        return commit_signature(context.repository, commit, signers) if commit else ""

    return said


def _tree(context: Context) -> str:
    return context.revision.tree if context.revision else ""


def _signatures(context: Context) -> Iterator[tuple[str, str]]:
    signers = signers_of(context.repository, _tree(context))
    for revision in context.until:
        if said := signature(context.repository, revision, signers):
            yield revision.name, said
