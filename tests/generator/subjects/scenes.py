"""A build written as text, read and evaluated: what a team would write is what the tests write."""

from __future__ import annotations

import datetime
from pathlib import Path

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from buildspec.read import read_folder
from generator.evaluation import Evaluation, evaluate, load_subjects
from generator.vocabulary import Check, Requirement

DAY = datetime.date(2026, 11, 25)
HEAD = "format: 1\nunits: si\nvehicle: {name: Wren}\n"


def read_text(folder: Path, text: str) -> tuple[Build | None, tuple[Diagnostic, ...]]:
    """The build that `text` describes, and its problems."""
    (folder / "build.yaml").write_text(text if "format:" in text else HEAD + text, "utf-8")
    reading = read_folder(folder)
    return reading.build, reading.problems


def evaluated(folder: Path, text: str, *words: str, day: datetime.date = DAY) -> Evaluation:
    """The evaluation of a description without mistakes, by the subjects named."""
    build, problems = read_text(folder, text)
    assert [p for p in problems if p.severity == "error"] == []
    assert build is not None
    return evaluate(build, as_of=day, subjects=load_subjects(words))


def value(found: Evaluation, name: str) -> float:
    """A result's value, which must be there."""
    number = found.outcomes[name.split(".", 1)[0]].by_id[name].value
    assert number is not None
    return number


def check(found: Evaluation, name: str) -> Check:
    """The check of that id."""
    return next(c for c in found.checks if c.id == name)


def rule(found: Evaluation, name: str) -> Requirement:
    """The requirement of that id."""
    return next(r for r in found.requirements if r.id == name)
