"""Pages of a site that are about more than one state: since the last revision, trends, sign-offs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from buildspec.kinds import System
from buildspec.quantities import show
from buildspec.read import Reading, read_folder
from generator.charts.trends import charts
from generator.compose import ExtraPage
from generator.edition import DRAFT
from generator.evaluation import Evaluation, load_subjects
from generator.revisions.archive import know, reading_of, side_of, why_unreadable
from generator.revisions.causes import Causes, causes
from generator.revisions.compare import SMALL, Comparison, Side, compare
from generator.revisions.git import HistoryError
from generator.revisions.history import Listing, Repository, Revision
from generator.revisions.sides import UnreadableSideError
from generator.revisions.signed import signoffs_page
from generator.revisions.trends import Figures, Least, Point, figures_of, least_margins, points
from generator.revisions.wording import Words, percent, words_of
from generator.revisions.wording import points as points_of

FOREMOST = 20
"""Checks that stand in the first table of what moved; the others can be unfolded."""

RECENT = 8
"""Revisions that stand in the tables of the trends; the older ones can be unfolded."""


@dataclass(frozen=True)
class Context:
    """What stands around the evaluation: `revision` is None for a draft."""

    repository: Repository
    listing: Listing
    revision: Revision | None
    previous: Revision | None

    @property
    def name(self) -> str:
        """The revision's name, or that it is a draft."""
        return self.revision.name if self.revision else DRAFT

    @property
    def until(self) -> tuple[Revision, ...]:
        """The revisions up to this state, oldest first; a later one never shows on an earlier page."""
        return self.listing.until(self.revision)


def extra_pages(evaluation: Evaluation, context: Context) -> tuple[ExtraPage, ...]:
    """The pages, in the order of the navigation."""
    if context.revision is not None:
        know(context.repository, context.revision, evaluation)
    made = (
        _since(evaluation, context),
        signoffs_page(evaluation, context),
        _trends(evaluation, context),
    )
    return tuple(page for page in made if page is not None)


def pages_alone(evaluation: Evaluation) -> tuple[ExtraPage, ...]:
    """The pages of a folder without any history."""
    page = signoffs_page(evaluation, None)
    return (page,) if page is not None else ()


# -------------------------------------------------------------------------------- since


def compared_page(comparison: Comparison, found: Causes) -> ExtraPage:
    """The page of a comparison that was asked for."""
    view = {"previous": comparison.earlier, "foremost": FOREMOST, "reason": ""}
    said = words_of(comparison, found)
    return ExtraPage("since", f"Since {comparison.earlier.name}", {**view, "said": said})


def _since(evaluation: Evaluation, context: Context) -> ExtraPage | None:
    """What changed since the revision before."""
    previous = context.previous
    if previous is None:
        return None
    title = f"Since {previous.name}"
    shared = {"previous": previous, "foremost": FOREMOST}
    try:
        said = _compared(evaluation, context, previous)
    except UnreadableSideError as error:
        return ExtraPage("since", title, {**shared, "said": None, "reason": why_unreadable(error)})
    except HistoryError as error:
        return ExtraPage("since", title, {**shared, "said": None, "reason": str(error)})
    return ExtraPage("since", title, {**shared, "said": said, "reason": ""})


def _compared(evaluation: Evaluation, context: Context, previous: Revision) -> Words:
    earlier = side_of(context.repository, previous)
    later = Side(context.name, _reading(context).data, evaluation)
    comparison = compare(earlier, later)
    return words_of(comparison, causes(comparison))


def _reading(context: Context) -> Reading:
    if context.revision is None:
        return read_folder(context.repository.folder)
    return reading_of(context.repository, context.revision.tree)


# ------------------------------------------------------------------------------- trends


def _trends(evaluation: Evaluation, context: Context) -> ExtraPage | None:
    """Every revision up to this state, and this state itself."""
    found = points(context.repository, context.until)
    if context.revision is None:
        found += (Point(DRAFT, "", evaluation.as_of, figures_of(evaluation)),)
    if len(found) < 2:
        return None
    system = evaluation.build.system
    titles = {s.word: s.title for s in load_subjects()}
    words = _subjects_of(found)
    view = {
        "charts": charts(found, system, titles),
        "rows": tuple(_row(p, system) for p in reversed(found)),
        "recent": RECENT,
        "last": found[-1].name,
        "before": found[-2].name,
        "least": tuple(_least(row, titles) for row in least_margins(found, words)),
        "subjects": tuple(titles.get(w, w) for w in words),
        "margins": tuple(_margins(p, words) for p in reversed(found)),
        "unread": tuple(p for p in found if p.figures is None),
    }
    return ExtraPage("trends", "Trends", view)


def _least(row: Least, titles: Mapping[str, str]) -> Mapping[str, Any]:
    """One line of the table of least margins, in words."""
    return {
        "page": f"{row.subject}.html",
        "title": titles.get(row.subject, row.subject),
        "short": row.now is not None and row.now < 0.0,
        "now": percent(row.now),
        "since": _since_before(row),
        "worst": f"{percent(row.worst)} in {row.worst_in}",
    }


def _since_before(row: Least) -> str:
    """How a least margin came from the state before."""
    if row.moved is None:
        return "none before" if row.before is None else f"{percent(row.before)} before"
    if abs(row.moved) < SMALL:
        return "as before"
    return f"{points_of(row.moved)} points, from {percent(row.before)}"


def _subjects_of(found: tuple[Point, ...]) -> tuple[str, ...]:
    words = {word for p in found if p.figures for word in p.figures.margins}
    return tuple(s.word for s in load_subjects() if s.word in words)


def _row(point: Point, system: System) -> Mapping[str, Any]:
    """One line of the table, in words."""
    figures = point.figures
    shared = {"name": point.name, "title": point.title, "day": point.day.isoformat()}
    if figures is None:
        return {**shared, "cells": (), "reason": point.reason}
    return {**shared, "cells": tuple(_cells(figures, system)), "reason": ""}


_COLUMNS = (("mass", "mass"), ("cg_x", "length"), ("cg_share", "share"), ("cg_height", "length"))


def _cells(figures: Figures, system: System) -> Iterator[str]:
    for name, kind in _COLUMNS:
        value = figures.values.get(name)
        yield "" if value is None else str(show(value, kind, system))
    hours = figures.values.get("hours_left")
    yield "" if hours is None else str(show(hours, "time", system, unit="h", figures=3))
    yield f"{figures.holds} of {figures.checks}"
    yield f"{figures.departs} of {figures.rules}"
    yield str(figures.open_items)
    share = figures.measured_share
    yield "" if share is None else f"{100.0 * share:.0f} %"


def _margins(point: Point, words: tuple[str, ...]) -> Mapping[str, Any]:
    margins = point.figures.margins if point.figures else {}
    cells = tuple(
        (percent(margins[w]) if w in margins else "", margins.get(w, 0.0) < 0.0) for w in words
    )
    return {"name": point.name, "cells": cells, "reason": point.reason}
