"""An evaluation with its sign-offs: which of them stand, and those that a change undid as open items."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from buildspec.sections.signoffs import REFUSED, Record, Signoffs
from generator.evaluation import Evaluation, by_urgency
from generator.signoffs.standing import is_undone, standings
from generator.vocabulary import OpenItem, Standing

Since = Callable[[Record], str]
"""The first revision in which a record does not stand; "" where that is not known."""


def reviewed(evaluation: Evaluation, since: Since = lambda _: "") -> Evaluation:
    """The evaluation with what became of each sign-off, and an open item for each one undone.

    It is apart from `evaluate`, since what a sign-off saw may have to be evaluated for its own day.
    An evaluation that was looked at already stays as it is.
    """
    if evaluation.signoffs:
        return evaluation
    found = tuple(
        replace(s, since=since(s.record)) if s.state == "undone" else s
        for s in standings(evaluation)
    )
    items = by_urgency((*evaluation.open_items, *undone(found)), evaluation.as_of)
    return replace(evaluation, signoffs=found, open_items=items)


def still_open(evaluation: Evaluation) -> int:
    """How many open items there are once the sign-offs are looked at, without the words of each."""
    if evaluation.signoffs:
        return len(evaluation.open_items)
    section = evaluation.build.section(Signoffs)
    last = {(r.scope, r.by): r for r in (section.records if section else ())}
    words = [r for r in last.values() if r.says != REFUSED]
    return len(evaluation.open_items) + sum(is_undone(r, evaluation) for r in words)


def undone(found: tuple[Standing, ...]) -> Iterator[OpenItem]:
    """One item for each last word that a change undid; a refusal is an open item of its own."""
    for standing in found:
        if standing.state == "undone" and standing.record.says != REFUSED:
            yield _item(standing)


def _item(standing: Standing) -> OpenItem:
    record, (first, *more) = standing.record, standing.reasons
    since = f" since {standing.since}" if standing.since else ""
    others = f", and {len(more)} more" if more else ""
    return OpenItem(
        f"signoffs.records.{record.id}.undone",
        standing.subject,
        "review",
        f"The word of {record.by} ({record.as_}) on {record.scope} is undone{since}: {first}{others}",
        f"show {record.by} what changed; whoever still accepts it says so with `marginbook sign "
        f"FOLDER --scope {record.scope}`",
        ref=f"signoffs.records.{record.id}",
        owner=record.by,
    )
