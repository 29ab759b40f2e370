"""`mkdocs.yml`, the menu, and what stands at the foot of every sheet of paper."""

from __future__ import annotations

import html
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import yaml

from generator.gathered import Site
from generator.markup import plain
from generator.subjects.subject import GROUPS
from generator.teampages import TeamPage

ASSETS = (
    "mathfont.css",
    "marginbook.css",
    "phone.css",
    "record.css",
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


def scripts(site: Site) -> tuple[str, ...]:
    """The scripts of every page beside the theme's; every page is right without them."""
    return ("folds.js", *(("revisions.js",) if site.edition.public else ()))


def config(site: Site, team: Sequence[TeamPage]) -> str:
    """`mkdocs.yml`: only the plugins `search` and `offline`, no theme files of our own."""
    made = {
        "site_name": title_of(site.title),
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
        "extra_javascript": [f"assets/{n}" for n in scripts(site)],
        "extra": {"generator": False, "polyfills": ["assets/iframe-worker.js"]},
        "nav": _nav(site, team),
    }
    return yaml.safe_dump(made, sort_keys=False, allow_unicode=True, width=1000)


def page_margins(site: Site) -> str:
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


def _nav(site: Site, team: Sequence[TeamPage]) -> list[dict[str, Any]]:
    """The menu, grouped by what a reader has in mind; a group without pages is left out."""
    left, *others = GROUPS
    groups: dict[str, list[dict[str, Any]]] = {
        left: [_fixed("open-items"), *_own(site, left)],
        **{group: _own(site, group) for group in others},
        "What it rests on": [_fixed(n) for n in ("assumptions", "inputs", "sources")],
        "Then and now": [{title_of(p.title): f"{p.name}.md"} for p in site.extra],
        "Team pages": [{title_of(p.title): p.path} for p in team],
    }
    parts: list[dict[str, Any]] = [{title: pages} for title, pages in groups.items() if pages]
    return [_fixed("index"), *parts, _fixed("about")]


def in_order(menu: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, str]]:
    """Title and path of every page of a menu, groups opened, in the order of the dossier's parts."""
    for entry in menu:
        for title, what in entry.items():
            if isinstance(what, str):
                yield title, what
            else:
                yield from in_order(what)


def parts(site: Site) -> Mapping[str, int]:
    """The number of each page of the program's own in the dossier, by the page's name."""
    pages = in_order(_nav(site, ()))
    return {path.removesuffix(".md"): number for number, (_, path) in enumerate(pages, 1)}


def _own(site: Site, group: str) -> list[dict[str, Any]]:
    return [{title_of(s.title): f"{s.word}.md"} for s in site.subjects if s.group == group]


def _fixed(name: str) -> dict[str, Any]:
    return {TITLES[name]: f"{name}.md"}


def title_of(text: str) -> str:
    """Text as MkDocs wants it in titles: escaped already, since the theme prints it raw."""
    return html.escape(plain(text), quote=True) or "Untitled"
