"""Build → site: evaluation, Markdown tree, rendering, and results.json beside the pages."""

from __future__ import annotations

import datetime
import shutil
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from generator.binder import NAME
from generator.compose import ExtraPage, compose, write
from generator.edition import Edition
from generator.evaluation import Evaluation, evaluate
from generator.render import render
from generator.results import as_data, as_text
from generator.signoffs.reviewed import Since, reviewed
from generator.strays import stray_remarks


@dataclass(frozen=True)
class Made:
    """Where the site is, or why it was not made: then `problems` is not empty. `warnings` are mistakes
    of the description that only an evaluation can see, and that do not keep the site from being made.
    """

    front: Path
    results: Path
    binder: Path
    problems: tuple[Diagnostic, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[Diagnostic, ...] = ()


def build_site(
    build: Build,
    folder: Path,
    target: Path,
    *,
    as_of: datetime.date,
    edition: Edition | None = None,
    keep: Path | None = None,
    progress: Callable[[str], None] = lambda _: None,
    extra: Callable[[Evaluation], Sequence[ExtraPage]] = lambda _: (),
    since: Since = lambda _: "",
) -> Made:
    """Evaluate `build` (read from `folder`) and write its site to `target`.

    `keep` names a folder that the Markdown tree is left in; `extra` makes pages that compare this
    evaluation with others; `since` names the revision that undid a sign-off. OSError where something cannot be
    written; what names something unknown ends in `Made.problems`.
    """
    progress("computing")
    evaluation = reviewed(evaluate(build, as_of=as_of), since)
    front, results, whole = (target / name for name in ("index.html", "results.json", NAME))
    made = Made(front, results, whole, warnings=evaluation.problems)
    chosen = edition or Edition()
    progress("drawing charts and writing pages")
    composed = compose(evaluation, edition=chosen, folder=folder, extra=extra(evaluation))
    problems = (*stray_remarks(evaluation), *composed.problems)
    if problems:
        texts = {page.place.file: page.text for page in build.pages}
        return replace(made, problems=problems, texts=texts)
    progress("rendering the site")
    with tempfile.TemporaryDirectory(prefix="marginbook-") as scratch:
        markdown = Path(scratch) / "markdown"
        write(composed.files, markdown)
        render(markdown, target)
        if keep is not None:
            shutil.copytree(markdown, keep, dirs_exist_ok=True)
    made.results.write_text(as_text(as_data(evaluation, chosen)), "utf-8")
    return made
