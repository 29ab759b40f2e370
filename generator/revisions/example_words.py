"""What reviewers say in the demonstration's history, recorded as `sign` records it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from buildspec.read import read_folder
from generator.evaluation import evaluate, needed
from generator.revisions.example import Step
from generator.revisions.git import git
from generator.signoffs.sign import Looked, Said, answer, sign


def record_words(folder: Path, step: Step) -> None:
    """Append every word and answer of the step to the folder, which holds the step's revision."""
    commit = git(folder, "rev-parse", "HEAD").decode().strip()
    build = read_folder(folder).build
    assert build is not None, f"{step.tag} of the demonstration cannot be read"
    for word in step.sign:
        day = datetime.date.fromisoformat(word["day"])
        if "answers" in word:
            answer(folder, day, word["answers"], word["by"], word["note"])
        else:
            looked = Looked(step.tag, commit)
            subjects = needed([word["scope"]])  # the record holds nothing of any other
            sign(folder, _said(word), evaluate(build, as_of=day, subjects=subjects), looked)


def _said(word: Mapping[str, Any]) -> Said:
    return Said(word["scope"], word["by"], word["as"], word["says"], word.get("note", ""))
