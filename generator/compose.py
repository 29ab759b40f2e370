"""Evaluation → Markdown tree in memory: every page, assets, `mkdocs.yml`. Computes nothing."""

from __future__ import annotations

import html
import importlib
import importlib.util
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import yaml
from jinja2 import Environment

from buildspec.build import Build
from buildspec.diagnostics import Diagnostic
from buildspec.quantities import Quantity
from buildspec.sections.datum import Datum
from buildspec.sections.notes import Notes
from buildspec.sections.vehicle import Vehicle
from generator.binder import NAME, binder
from generator.charts.chart import Chart
from generator.downloads.attached import Attached
from generator.edition import Edition
from generator.evaluation import Evaluation, load_subjects
from generator.folders import write
from generator.labels import labels, section_title
from generator.markup import Markup, plain
from generator.openitems import CSV_NAME, JSON_NAME, NOBODY, as_csv, as_json, by_owner
from generator.overview import Overview, overview
from generator.pagetext import tidy
from generator.results import program_version
from generator.subjects.subject import Subject
from generator.teampages import Embeds, TeamPage, team_pages
from generator.templates import FOLDER, Words, asset, counted, environment
from generator.vocabulary import Assumption, Outcome

__all__ = ["Composed", "compose", "write"]

STATEMENT = (
    "This supports people's judgement. It replaces neither the rulebook in force, nor inspection, "
    "nor a licensed engineer."
)
ASSETS = (
    "mathfont.css",
    "marginbook.css",
    "cage.css",
    "print.css",
    "filter.js",
    "iframe-worker.js",
    "turning.js",
    "licences.txt",
    "mark.svg",
)
TITLES = {
    "index": "Summary",
    "open-items": "Open items",
    "assumptions": "Assumptions",
    "inputs": "Inputs",
    "sources": "Sources",
    "about": "About and cautions",
}
OPEN_KINDS = {
    "short": "falls short",
    "departs": "departs from what is prescribed",
    "open": "cannot be decided",
    "missing": "a value is missing",
    "assumed": "still assumed",
    "range": "outside the valid range",
    "measurement": "a measurement is missing",
    "disagreement": "prediction and measurement disagree",
    "work": "work to do",
    "evidence": "proof is missing",
    "date": "a date is not kept",
    "other": "other",
}


@dataclass(frozen=True)
class Composed:
    """The tree by path, and what is wrong with the team's own pages."""

    files: Mapping[str, bytes]
    problems: tuple[Diagnostic, ...] = ()


@dataclass(frozen=True)
class ExtraPage:
    """A page about more than this evaluation: `view` goes into the template `pages/<name>.md.j2`."""

    name: str
    title: str
    view: Mapping[str, Any]


@dataclass(frozen=True)
class _Site:
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


@dataclass(frozen=True, slots=True)
class _Record:
    """Inputs that belong together under one heading."""

    id: str
    title: str
    quantities: tuple[Quantity, ...]


@dataclass(frozen=True, slots=True)
class _Group:
    """One section's inputs or assumptions."""

    title: str
    caption: str
    records: tuple[_Record, ...] = ()
    assumptions: tuple[Assumption, ...] = field(default=())
    anchor: str = ""


def compose(
    evaluation: Evaluation,
    *,
    edition: Edition | None = None,
    folder: Path | None = None,
    subjects: tuple[Subject, ...] | None = None,
    extra: Sequence[ExtraPage] = (),
) -> Composed:
    """Write every page of the evaluation. `folder` is the build's, for the team's own pictures.

    `extra` pages stand behind the summary.

    The same evaluation gives the same bytes. A page of the team's that asks for something unknown
    ends in `problems`; the other pages are written all the same.
    """
    site = replace(_site(evaluation, edition or Edition(), subjects, folder), extra=tuple(extra))
    embeds = Embeds(
        replace(site.words, up="../"),
        {r.id: r for o in evaluation.outcomes.values() for r in o.results},
        {c.id: c for c in evaluation.checks},
        {c.id: c for cs in site.charts.values() for c in cs},
    )
    team = team_pages(site.build.pages, embeds, folder)
    texts = _pages(site) | {
        f"docs/{p.path}": _closed(_bar(site, p.path) + p.text, p.title) for p in team
    }
    files = {name: text.encode() for name, text in texts.items()}
    files |= {f"docs/assets/{name}": asset(name) for name in (*ASSETS, *_scripts(site))}
    files |= {f"docs/{name}": data for p in team for name, data in p.pictures.items()}
    files |= {
        f"docs/{name}": data
        for subject in site.subjects
        for name, data in (
            *_downloads(site, subject.word).items(),
            *site.attached[subject.word].files.items(),
        )
    }
    items, kinds = site.evaluation, OPEN_KINDS
    files[f"docs/{CSV_NAME}"] = as_csv(items, kinds, site.words.open_text)
    files[f"docs/{JSON_NAME}"] = as_json(items)
    files["docs/assets/edition.css"] = _page_margins(site).encode()
    files["mkdocs.yml"] = _config(site, team).encode()
    files[f"docs/{NAME}"] = binder(files)
    return Composed(dict(sorted(files.items())), tuple(d for p in team for d in p.problems))


def _site(
    evaluation: Evaluation,
    edition: Edition,
    subjects: tuple[Subject, ...] | None,
    folder: Path | None,
) -> _Site:
    known = load_subjects() if subjects is None else subjects
    done = tuple(s for s in known if s.word in evaluation.outcomes)
    drawn = {s.word: _drawn(s.word, evaluation.outcomes[s.word], evaluation.build) for s in done}
    words = Words(evaluation.build, labels(evaluation.build, evaluation.outcomes))
    attached = {s.word: _attached(s.word, evaluation, folder) for s in done}
    return _Site(evaluation, edition, done, drawn, words, attached, known=known)


def _drawn(word: str, outcome: Outcome, build: Build) -> tuple[Chart, ...]:
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


def _downloads(site: _Site, word: str) -> Mapping[str, bytes]:
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


# ----------------------------------------------------------------------------- pages


def _pages(site: _Site) -> dict[str, str]:
    """The pages that every site has, and one for each subject."""
    env = environment(site.words)
    shared = _shared(site)
    views = {
        "index": _front(site),
        "assumptions": _assumption_groups(site),
        "inputs": _inputs(site),
        "open-items": _open(site),
        "sources": _sources(site),
        "about": _about(site),
    }
    made: list[tuple[str, str, Mapping[str, Any]]] = [
        *((name, TITLES[name], view) for name, view in views.items()),
        *((s.word, s.title, _subject(site, s)) for s in site.subjects),
        *((p.name, p.title, p.view) for p in site.extra),
    ]
    bar = _bar(site, "index.md")
    return {
        f"docs/{name}.md": _closed(bar + _rendered(env, name, {**shared, **view}), title)
        for name, title, view in made
    }


def _bar(site: _Site, path: str) -> str:
    """What stands above every page: which state of the design it shows."""
    up = "../" * (path.count("/") + 1)
    bar = environment(site.words).get_template("parts/bar.md.j2")
    return f"{bar.render(edition=site.edition, public=Markup(up)).strip()}\n\n"


def _scripts(site: _Site) -> tuple[str, ...]:
    return ("revisions.js",) if site.edition.public else ()


_CELLS = re.compile(r"(</t[hd]>|</caption>)(<t[hd]\b)|(?<=\S)(?=<span class=\"mb-small\">)")
"""Where one cell, or a small print, follows straight on: the search would run their words together."""


def _rendered(env: Environment, name: str, view: Mapping[str, Any]) -> str:
    """A page from the template of its name, or from the one that serves every subject."""
    own = f"pages/{name}.md.j2"
    page = env.get_template(own if (FOLDER / own).is_file() else "parts/subject.md.j2").render(view)
    return _CELLS.sub(lambda m: f"{m[1] or ''} {m[2] or ''}", page)


def _closed(text: str, title: str) -> str:
    """The page with its title in front, and at its end what it is no substitute for.

    The theme unescapes a title it takes from the navigation, and prints this one as it is.
    """
    front = yaml.safe_dump({"title": _title(title)}, allow_unicode=True, width=1000)
    last = f'<p class="mb-statement">{html.escape(STATEMENT, quote=False)}</p>'
    return f"---\n{front}---\n\n{tidy(text)}\n{last}\n"


def _shared(site: _Site) -> dict[str, Any]:
    evaluation = site.evaluation
    return {
        "build": site.build,
        "evaluation": evaluation,
        "edition": site.edition,
        "as_of": evaluation.as_of.isoformat(),
        "fingerprint": site.build.fingerprint[:8],
        "version": program_version(),
        "titles": {s.word: s.title for s in site.subjects},
        "open_items": evaluation.open_items,
        "assumptions": evaluation.assumptions,
    }


def _open(site: _Site) -> dict[str, Any]:
    items = site.evaluation.open_items
    used = {item.kind for item in items}
    return {
        "kinds": OPEN_KINDS,
        "owners": by_owner(items),
        "nobody": NOBODY,
        "choices": {
            "owner": _distinct(o.name for o in by_owner(items)),
            "kind": tuple(words for kind, words in OPEN_KINDS.items() if kind in used),
            "subject": _distinct(_subject_title(site, item.subject) for item in items),
        },
        "subjects": {item.subject: _subject_title(site, item.subject) for item in items},
    }


def _subject_title(site: _Site, word: str) -> str:
    return next((s.title for s in site.subjects if s.word == word), word)


def _front(site: _Site) -> dict[str, Any]:
    over = overview(site.evaluation, {s.word: s.title for s in site.known})
    notes = site.build.section(Notes)
    return {
        "over": over,
        "vehicle": site.build.section(Vehicle),
        "facts": _facts(site),
        "readiness": _readiness(over, len(site.evaluation.open_items)),
        "notes": notes.entries if notes else (),
    }


def _facts(site: _Site) -> tuple[str, ...]:
    vehicle = site.build.section(Vehicle)
    if vehicle is None:
        return ("The description does not say what vehicle this is",)
    said = (vehicle.team, vehicle.category, vehicle.class_name)
    return tuple(fact for fact in said if fact)


def _readiness(over: Overview, open_items: int) -> str:
    total = over.total
    if over.ready:
        return (
            f"{'The check holds' if total.total == 1 else f'All {total.total} checks hold'} and "
            "nothing is open in this description. That is no judgement of the vehicle itself."
        )
    margins = (
        f"Of {counted(total.total, 'check')}, {_fall(total.short)} short "
        f"and {_are(total.open)} open"
    )
    rules = (
        f"of {counted(total.prescriptions, 'prescription')}, {total.departs} "
        f"{'departs' if total.departs == 1 else 'depart'} and {_are(total.undecided)} open"
    )
    own = (
        f"of {counted(over.own.prescriptions, 'line')} the team adds, {over.own.departs} "
        f"{'departs' if over.own.departs == 1 else 'depart'}"
    )
    said = (
        margins if total.total else "No checks yet",
        rules if total.prescriptions else "",
        own if over.own.prescriptions else "",
        f"{counted(open_items, 'open item')} in all",
    )
    return f"{'; '.join(s for s in said if s)}."


def _fall(number: int) -> str:
    return f"{number} {'falls' if number == 1 else 'fall'}"


def _are(number: int) -> str:
    return f"{number} {'is' if number == 1 else 'are'}"


def _subject(site: _Site, subject: Subject) -> dict[str, Any]:
    outcome = site.evaluation.outcomes[subject.word]
    used = {i for c in outcome.checks for i in c.inputs} | {
        a.ref for s in outcome.steps for a in s.arguments
    }
    quantities = site.build.quantities.values()
    return {
        **site.attached[subject.word].view,
        "subject": subject,
        "outcome": outcome,
        "charts": {c.id: c for c in site.charts[subject.word]},
        "inputs": tuple(q for q in quantities if _of(q.id, subject.word) or q.id in used),
        "assumptions": tuple(
            a for a in site.evaluation.assumptions if a.subject == subject.word or a.id in used
        ),
        "sources": _distinct(
            (
                *(s.formula.source for s in outcome.steps),
                *(s for c in outcome.checks for s in c.sources),
            )
        ),
    }


def _of(dotted: str, word: str) -> bool:
    return dotted.split(".", 1)[0] == word


def _assumption_groups(site: _Site) -> dict[str, Any]:
    every = site.evaluation.assumptions
    sections = _distinct(a.id.split(".", 1)[0] for a in every if a.quantity)
    groups = tuple(
        _Group(
            section_title(word),
            f"Assumed values: {section_title(word)}",
            assumptions=tuple(a for a in every if a.quantity and _of(a.id, word)),
        )
        for word in sections
    )
    return {"statements": tuple(a for a in every if a.quantity is None), "value_groups": groups}


def _inputs(site: _Site) -> dict[str, Any]:
    by_section: dict[str, dict[str, list[Quantity]]] = {}
    for dotted, quantity in site.build.quantities.items():
        section, record = dotted.split(".", 1)[0], dotted.rpartition(".")[0]
        by_section.setdefault(section, {}).setdefault(record, []).append(quantity)
    return {
        "sections": tuple(_input_group(site, word, records) for word, records in by_section.items())
    }


def _input_group(site: _Site, word: str, records: Mapping[str, list[Quantity]]) -> _Group:
    title = section_title(word)
    number = sum(len(qs) for qs in records.values())
    made = tuple(_Record(r, _record_title(site, r), tuple(qs)) for r, qs in records.items())
    caption = f"{title}: {counted(number, 'value')}"
    return _Group(title, caption, made, anchor=f"inputs-{word}")


def _record_title(site: _Site, record: str) -> str:
    label = site.words.labels.get(record)
    return (label.whole if label else "") or section_title(record)


def _sources(site: _Site) -> dict[str, Any]:
    outcomes = site.evaluation.outcomes.values()
    methods = _distinct(
        (
            *(s.formula.source for o in outcomes for s in o.steps),
            *(s for c in site.evaluation.checks for s in c.sources),
        )
    )
    by_source: dict[str, list[Quantity]] = {}
    known = [q for q in site.build.quantities.values() if not q.default]
    for quantity in known:
        by_source.setdefault(quantity.source, []).append(quantity)
    rows = [
        {"source": s, "count": len(qs), "first": qs[0].id}
        for s, qs in sorted(by_source.items())
        if s
    ]
    return {
        "method_sources": methods,
        "value_sources": rows,
        "unsourced": len(by_source.get("", ())),
    }


def _about(site: _Site) -> dict[str, Any]:
    datum = site.build.section(Datum)
    cautions = site.evaluation.cautions
    return {
        "hazards": tuple(c for c in cautions if c.hazard),
        "others": tuple(c for c in cautions if not c.hazard),
        "origin": datum.origin if datum else "",
    }


def _distinct(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(t for t in texts if t))


# ----------------------------------------------------------------------------- mkdocs.yml


def _config(site: _Site, team: Sequence[TeamPage]) -> str:
    """`mkdocs.yml`: only the plugins `search` and `offline`, no theme files of our own."""
    scripts = _scripts(site)
    config = {
        "site_name": _title(site.title),
        "docs_dir": "docs",
        "use_directory_urls": False,
        "theme": _theme(),
        "plugins": ["search", "offline"],
        "markdown_extensions": [
            "tables",
            "attr_list",
            {"toc": {"permalink": False, "toc_depth": "2-3"}},
        ],
        "extra_css": [f"assets/{n}" for n in (*ASSETS, "edition.css") if n.endswith(".css")],
        **({"extra_javascript": [f"assets/{n}" for n in scripts]} if scripts else {}),
        "extra": {"generator": False, "polyfills": ["assets/iframe-worker.js"]},
        "nav": _nav(site, team),
    }
    return yaml.safe_dump(config, sort_keys=False, allow_unicode=True, width=1000)


def _page_margins(site: _Site) -> str:
    """CSS that prints at the foot of every sheet what it is, which state, and page N of M."""
    state = f"{site.edition.short}, {site.build.fingerprint[:8]}, {site.evaluation.as_of}"
    what = f"{site.title}, {state}"
    text = "".join(f"\\{ord(c):06x} " for c in plain(what))
    font = "font:7.5pt sans-serif;color:#333"
    return (
        "@page{margin:15mm 14mm 18mm;"
        f'@bottom-left{{content:"{text}";{font}}}'
        f'@bottom-right{{content:"page " counter(page) " of " counter(pages);{font}}}}}\n'
    )


def _theme() -> dict[str, Any]:
    def scheme(name: str, prefers: str, icon: str, words: str) -> dict[str, Any]:
        return {
            "media": f"(prefers-color-scheme: {prefers})",
            "scheme": name,
            "primary": "custom",
            "accent": "custom",
            "toggle": {"icon": icon, "name": words},
        }

    return {
        "name": "material",
        "language": "en",
        "font": False,
        "logo": "assets/mark.svg",
        "favicon": "assets/mark.svg",
        "features": ["navigation.sections", "navigation.footer", "toc.integrate"],
        "palette": [
            scheme("default", "light", "material/weather-night", "Switch to the dark scheme"),
            scheme("slate", "dark", "material/weather-sunny", "Switch to the light scheme"),
        ],
    }


def _nav(site: _Site, team: Sequence[TeamPage]) -> list[dict[str, Any]]:
    own: list[dict[str, Any]] = [{_title(s.title): f"{s.word}.md"} for s in site.subjects]
    pages: list[dict[str, Any]] = [{_title(p.title): p.path} for p in team]

    def fixed(name: str) -> dict[str, Any]:
        return {TITLES[name]: f"{name}.md"}

    return [
        fixed("index"),
        *({_title(p.title): f"{p.name}.md"} for p in site.extra),
        *own,
        *(fixed(n) for n in ("open-items", "assumptions", "inputs", "sources")),
        *([{"Team pages": pages}] if pages else []),
        fixed("about"),
    ]


def _title(text: str) -> str:
    """Text as MkDocs wants it in titles: escaped already, since the theme prints it raw."""
    return html.escape(plain(text), quote=True) or "Untitled"
