"""What a description and its pages name in vain, as far as it takes an evaluation to see it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from pathlib import Path

from buildspec.diagnostics import Diagnostic
from buildspec.sections.notes import Notes, lost
from generator.embedding import stray_embeddings
from generator.evaluation import Evaluation
from generator.labels import labels
from generator.pagelinks import looked, ways


def strays(evaluation: Evaluation, folder: Path) -> tuple[Diagnostic, ...]:
    """All that keeps the site from being written, without drawing or rendering anything."""
    pages = evaluation.build.pages
    known = ways(pages, evaluation.outcomes)
    return (
        *stray_remarks(evaluation),
        *stray_embeddings(evaluation),
        *(problem for page in pages for problem in looked(page, folder, known).problems),
    )


def stray_remarks(evaluation: Evaluation) -> Iterator[Diagnostic]:
    """Every remark about something that neither the description has nor the results."""
    build = evaluation.build
    notes = build.section(Notes)
    for entry in notes.entries if notes else ():
        gone = lost(entry.about, build) if entry.about else None
        if gone is None:
            continue
        known = labels(build, evaluation.outcomes)
        if entry.about not in known:
            near = _meant(entry.about, known, gone.help)
            place = build.where(f"notes.entries.{entry.id}.about")
            help_ = f"did you mean `{near}`?" if near else gone.help
            said = f"`{entry.about}` leads nowhere" if near else gone.message
            yield Diagnostic("reference.missing", said, place, help_)


def _meant(about: str, known: Iterable[str], help_: str) -> str | None:
    """The id that was probably meant, where the description itself has nothing to suggest."""
    near = difflib.get_close_matches(about, list(known), n=1, cutoff=0.8)
    return near[0] if near and not help_.startswith("did you mean") else None
