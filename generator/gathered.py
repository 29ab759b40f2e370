"""All that the pages are written from: the evaluation with its charts, words and files."""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from buildspec.build import Build
from buildspec.sections.vehicle import Vehicle
from generator.charts.chart import Chart
from generator.downloads.attached import Attached
from generator.edition import Edition
from generator.evaluation import Evaluation, load_subjects
from generator.labels import labels
from generator.subjects.subject import Subject
from generator.templates import Words
from generator.vocabulary import Outcome


@dataclass(frozen=True)
class ExtraPage:
    """A page about more than this evaluation: `view` goes into the template `pages/<name>.md.j2`."""

    name: str
    title: str
    view: Mapping[str, Any]


@dataclass(frozen=True)
class Site:
    """All that the pages are written from; `known` are the subjects the program could evaluate."""

    evaluation: Evaluation
    edition: Edition
    subjects: tuple[Subject, ...]
    charts: Mapping[str, tuple[Chart, ...]]
    words: Words
    attached: Mapping[str, Attached] = field(default_factory=dict)
    extra: tuple[ExtraPage, ...] = ()
    known: tuple[Subject, ...] = ()

    @property
    def build(self) -> Build:
        """The description."""
        return self.evaluation.build

    @property
    def title(self) -> str:
        """The vehicle's name, and its number where it has one."""
        vehicle = self.build.section(Vehicle)
        return vehicle.called if vehicle else "Design review"


def gather(
    evaluation: Evaluation,
    edition: Edition,
    subjects: tuple[Subject, ...] | None,
    folder: Path | None,
) -> Site:
    known = load_subjects() if subjects is None else subjects
    done = tuple(s for s in known if s.word in evaluation.outcomes)
    charts = {s.word: drawn(s.word, evaluation.outcomes[s.word], evaluation.build) for s in done}
    words = Words(evaluation.build, labels(evaluation.build, evaluation.outcomes))
    attached = {s.word: _attached(s.word, evaluation, folder) for s in done}
    return Site(evaluation, edition, done, charts, words, attached, known=known)


def drawn(word: str, outcome: Outcome, build: Build) -> tuple[Chart, ...]:
    """The charts of a subject, from the module of that name, if any."""
    name = f"generator.charts.{word}"
    if importlib.util.find_spec(name) is None:
        return ()
    charts: tuple[Chart, ...] = importlib.import_module(name).charts(outcome, build)
    return charts


def _attached(word: str, evaluation: Evaluation, folder: Path | None) -> Attached:
    """What a subject shows of the build folder's files, from the module of that name, if any."""
    name = f"generator.downloads.{word}"
    found = importlib.util.find_spec(name) and importlib.import_module(name)
    if not found or not hasattr(found, "attached"):
        return Attached()
    made: Attached = found.attached(evaluation.outcomes[word], folder)
    return made


def downloads(site: Site, word: str) -> Mapping[str, bytes]:
    """The files that a subject offers beside its page, from the module of that name, if any."""
    name = f"generator.downloads.{word}"
    found = importlib.util.find_spec(name) and importlib.import_module(name)
    if not found or not hasattr(found, "downloads"):
        return {}
    evaluation = site.evaluation
    made: Mapping[str, bytes] = found.downloads(
        evaluation.outcomes[word], site.build, evaluation.as_of
    )
    return made
