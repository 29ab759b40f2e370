"""Evaluation → Markdown tree in memory: every page, assets, `mkdocs.yml`. Computes nothing."""

from __future__ import annotations

import html
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import yaml
from jinja2 import Environment

from buildspec.diagnostics import Diagnostic
from generator.binder import NAME, binder
from generator.edition import Edition
from generator.evaluation import Evaluation
from generator.folders import write
from generator.gathered import ExtraPage, Site, downloads, gather
from generator.markup import Markup
from generator.mkdocs_config import ASSETS, TITLES, config, page_margins, scripts, title_of
from generator.openitems import CSV_NAME, JSON_NAME, as_csv, as_json
from generator.pagelinks import ways
from generator.pagetext import ROW, tidy
from generator.subjects.subject import Subject
from generator.teampages import Embeds, team_pages
from generator.templates import FOLDER, asset, environment
from generator.views import OPEN_KINDS, shared, subject_view, views

__all__ = ["OPEN_KINDS", "Composed", "ExtraPage", "compose", "write"]

STATEMENT = (
    "This supports people's judgement. It replaces neither the rulebook in force, nor inspection, "
    "nor a licensed engineer."
)


@dataclass(frozen=True)
class Composed:
    """The tree by path, and what is wrong with the team's own pages."""

    files: Mapping[str, bytes]
    problems: tuple[Diagnostic, ...] = ()


def compose(
    evaluation: Evaluation,
    *,
    edition: Edition | None = None,
    folder: Path | None = None,
    subjects: tuple[Subject, ...] | None = None,
    extra: Sequence[ExtraPage] = (),
) -> Composed:
    """Write every page of the evaluation. `folder` is the build's, for the team's own pictures.

    `extra` pages stand in a part of the menu of their own.

    The same evaluation gives the same bytes. A page of the team's that asks for something unknown
    ends in `problems`; the other pages are written all the same.
    """
    site = replace(gather(evaluation, edition or Edition(), subjects, folder), extra=tuple(extra))
    embeds = Embeds(
        replace(site.words, up="../"),
        {r.id: r for o in evaluation.outcomes.values() for r in o.results},
        {c.id: c for c in evaluation.checks},
        {c.id: c for cs in site.charts.values() for c in cs},
    )
    beside = _beside(site)
    known = ways(site.build.pages, evaluation.outcomes, (n.removeprefix("docs/") for n in beside))
    team = team_pages(site.build.pages, embeds, folder, known)
    texts = _pages(site) | {
        f"docs/{p.path}": _closed(_bar(site, p.path) + p.text, p.title) for p in team
    }
    files = {name: text.encode() for name, text in texts.items()} | beside
    files |= {f"docs/{name}": data for p in team for name, data in p.pictures.items()}
    files["mkdocs.yml"] = config(site, team).encode()
    files[f"docs/{NAME}"] = binder(files)
    return Composed(dict(sorted(files.items())), tuple(d for p in team for d in p.problems))


def _beside(site: Site) -> dict[str, bytes]:
    """What stands beside the pages: assets, the open items as data, what subjects offer."""
    files = {f"docs/assets/{name}": asset(name) for name in (*ASSETS, *scripts(site))}
    for subject in site.subjects:
        own = {**downloads(site, subject.word), **site.attached[subject.word].files}
        files |= {f"docs/{name}": data for name, data in own.items()}
    items = site.evaluation
    files[f"docs/{CSV_NAME}"] = as_csv(items, OPEN_KINDS, site.words.open_text)
    files[f"docs/{JSON_NAME}"] = as_json(items)
    files["docs/assets/edition.css"] = page_margins(site).encode()
    return files


def _pages(site: Site) -> dict[str, str]:
    """The pages that every site has, and one for each subject."""
    env = environment(site.words)
    common = shared(site)
    made: list[tuple[str, str, Mapping[str, Any]]] = [
        *((name, TITLES[name], view) for name, view in views(site).items()),
        *((s.word, s.title, subject_view(site, s)) for s in site.subjects),
        *((p.name, p.title, p.view) for p in site.extra),
    ]
    bar = _bar(site, "index.md")
    signed = {s.word: _signed(site, env, s) for s in site.subjects}
    return {
        f"docs/{name}.md": _closed(
            bar + _behind_purpose(_rendered(env, name, {**common, **view}), signed.get(name, "")),
            title,
        )
        for name, title, view in made
    }


SAYS = {
    "accepted": "Accepted",
    "accepted-with-comment": "Accepted with a comment",
    "not-accepted": "Not accepted",
}
_PURPOSE = re.compile(r'<p class="mb-purpose.*?</p>\n', re.DOTALL)


def _signed(site: Site, env: Environment, subject: Subject) -> str:
    """Who said what of this subject, and whether it stands."""
    said = [
        s for s in site.evaluation.signoffs if s.subject == subject.word and s.state != "replaced"
    ]
    paged = any(page.name == "signoffs" for page in site.extra)
    view = {"signed": said, "subject": subject, "says": SAYS, "paged": paged}
    return env.get_template("parts/signed.md.j2").render(view).strip()


def _behind_purpose(page: str, part: str) -> str:
    """The page with a part right behind the sentence that says what it is for."""
    return _PURPOSE.sub(lambda m: f"{m[0]}\n{part}\n", page, count=1) if part else page


def _bar(site: Site, path: str) -> str:
    """What stands above every page: which state of the design it shows."""
    up = "../" * (path.count("/") + 1)
    bar = environment(site.words).get_template("parts/bar.md.j2")
    return f"{bar.render(edition=site.edition, public=Markup(up)).strip()}\n\n"


_CELLS = re.compile(r"(</t[hd]>|</caption>)(<t[hd]\b)|(?<=\S)(?=<span class=\"mb-small\">)")
"""Where one cell, or a small print, follows straight on: the search would run their words together."""
_ROWS = re.compile(r"(<tr\b[^>]*>\s*<t[hd]\b(?![^>]*scope=\"col\")[^>]*>)(?!<math)")
"""Where a row of things begins; `render` makes a paragraph of each in the index of the search."""
_UNSOUGHT = re.compile(r"<(thead|form class=\"mb-filter\"|span class=\"mb-absent\")")


def _rendered(env: Environment, name: str, view: Mapping[str, Any]) -> str:
    """A page from the template of its name, or from the one that serves every subject."""
    own = f"pages/{name}.md.j2"
    page = env.get_template(own if (FOLDER / own).is_file() else "parts/subject.md.j2").render(view)
    page = _CELLS.sub(lambda m: f"{m[1] or ''} {m[2] or ''}", page)
    page = _ROWS.sub(rf"\1<span hidden>{ROW}</span>", page)
    return _UNSOUGHT.sub(r"<\1 data-search-exclude", page)


def _closed(text: str, title: str) -> str:
    """The page with its title in front, and at its end what it is no substitute for.

    The theme unescapes a title it takes from the navigation, and prints this one as it is.
    """
    front = yaml.safe_dump({"title": title_of(title)}, allow_unicode=True, width=1000)
    last = f'<p class="mb-statement">{html.escape(STATEMENT, quote=False)}</p>'
    return f"---\n{front}---\n\n{tidy(text)}\n{last}\n"
