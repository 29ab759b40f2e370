"""The whole dossier in one file: every page behind a table of contents, nothing to load from anywhere.

It is made from the Markdown tree that the site is made from. A phone's file manager hands a browser
one file alone, and a clipboard takes one print; both are served by this.
"""

from __future__ import annotations

import base64
import html
import posixpath
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import unquote, urlsplit

import markdown
import yaml

from generator.mkdocs_config import in_order
from generator.rawblocks import RawBlocks
from generator.templates import asset

NAME = "binder.html"
MOST_EMBEDDED = 1_000_000
"""Bytes a file beside the pages may have to be put into the binder."""

_TYPES: Mapping[str, str] = {
    ".jpg": "image/jpeg",
    ".png": "image/png",
    ".webp": "image/webp",
    ".gif": "image/gif",
    ".svg": "image/svg+xml",
    ".pdf": "application/pdf",
    ".csv": "text/csv",
    ".json": "application/json",
    ".ics": "text/calendar",
    ".txt": "text/plain",
}
_REFERENCES = ("for", "aria-labelledby", "aria-describedby", "aria-controls", "headers", "data-for")
_LEFT_OUT = frozenset({"script", "link", "meta", "iframe", "object", "form"})
"""What a dossier has no use for; the pages are right without it."""
_VOID = frozenset({"link", "meta"})
_BAR = re.compile(r'<section class="mb-rev".*?</section>\n*', re.DOTALL)
_HEADING = re.compile(r"h([1-5])")
_URL = re.compile(r"url\(#([^)]+)\)")
_DARK = re.compile(r'\[data-md-color-scheme="slate"\]\s*\{([^}]*)\}')


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page of the site: its path in the tree, its title, and its number from 1."""

    path: str
    title: str
    number: int

    @property
    def prefix(self) -> str:
        """What its anchors begin with."""
        return self.path.removeprefix("docs/").removesuffix(".md").replace("/", "-")


@dataclass(frozen=True)
class _Body:
    """A page's HTML with its anchors made its own, and its second-level headings with theirs."""

    html: str
    headings: tuple[tuple[str, str], ...]


def binder(files: Mapping[str, bytes]) -> bytes:
    """The tree (`docs/…`, `mkdocs.yml`) as one HTML file. The same tree gives the same bytes."""
    config: dict[str, Any] = yaml.safe_load(files["mkdocs.yml"])
    title = str(config["site_name"])
    sheets = tuple(_sheets(config["nav"]))
    bodies = {sheet: _body(sheet, sheets, files) for sheet in sheets}
    return (
        "<!doctype html>\n"
        '<html lang="en"><head><meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}: the whole dossier</title>\n<style>\n{_styles(config['extra_css'], files)}</style></head>\n"
        '<body data-md-color-scheme="default">\n<main class="mb-binder md-typeset">\n'
        f"<h1>{title}</h1>\n{_contents(bodies)}\n"
        + "\n".join(
            f'<section class="mb-sheet" id="{sheet.prefix}">\n{body.html}\n</section>'
            for sheet, body in bodies.items()
        )
        + "\n</main>\n</body></html>\n"
    ).encode()


def _sheets(nav: list[dict[str, Any]]) -> Iterator[Sheet]:
    """The pages in the order of the navigation, groups opened."""
    for number, (title, path) in enumerate(in_order(nav), 1):
        yield Sheet(f"docs/{path}", title, number)


def _contents(bodies: Mapping[Sheet, _Body]) -> str:
    """The table of contents: pages, and below each its headings. Titles are escaped already."""
    items = "\n".join(
        f'<li><a href="#{sheet.prefix}">{sheet.title}</a>'
        + "".join(f' <a class="mb-part" href="#{a}">{words}</a>' for a, words in body.headings)
        + "</li>"
        for sheet, body in bodies.items()
    )
    return f'<nav class="mb-contents" aria-label="Contents">\n<ol>\n{items}\n</ol>\n</nav>'


def _styles(names: list[str], files: Mapping[str, bytes]) -> str:
    """The site's own styles, with the dark scheme where the reader's device asks for it."""
    texts = [asset("binder.css").decode(), *(files[f"docs/{name}"].decode() for name in names)]
    dark = "".join(
        f'[data-md-color-scheme="default"] {{{d}}}' for t in texts for d in _DARK.findall(t)
    )
    last = f"@media screen and (prefers-color-scheme: dark) {{ {dark} }}\n" if dark else ""
    return "".join(texts) + last


# ----------------------------------------------------------------------------- one page


def _body(sheet: Sheet, sheets: tuple[Sheet, ...], files: Mapping[str, bytes]) -> _Body:
    text = re.sub(r"\A---\n.*?\n---\n", "", files[sheet.path].decode(), flags=re.DOTALL)
    if sheet.number > 1:  # the dossier says it once, at its front
        text = _BAR.sub("", text)
    reader = markdown.Markdown(
        extensions=["tables", "attr_list", "toc", RawBlocks()],
        extension_configs={"toc": {"toc_depth": "2-3"}},
    )
    rewriter = _Rewriter(sheet, {s.path: s.prefix for s in sheets}, files)
    rewriter.feed(reader.convert(text))
    rewriter.close()
    return _Body("".join(rewriter.out), tuple(rewriter.headings))


@dataclass
class _Found:
    """What stands in a heading while it is read."""

    anchor: str
    words: list[str] = field(default_factory=list)


class _Rewriter(HTMLParser):
    """Passes a page on with its ids and addresses changed; all else stays as it was written."""

    def __init__(self, sheet: Sheet, pages: Mapping[str, str], files: Mapping[str, bytes]) -> None:
        super().__init__(convert_charrefs=False)
        self.sheet, self.pages, self.files = sheet, pages, files
        self.out: list[str] = []
        self.headings: list[tuple[str, str]] = []
        self.heading: _Found | None = None
        self.inside = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An opening tag; a heading goes one level down, below the dossier's own title."""
        if tag in _LEFT_OUT or self.inside:
            self.inside += tag in _LEFT_OUT - _VOID
            return
        changed = [(name, self._changed(name, value)) for name, value in attrs]
        href = dict(changed).get("href") or ""
        if tag == "a" and href.startswith(
            "data:"
        ):  # browsers follow such an address only to save it
            name = posixpath.basename(dict(attrs)["href"] or "")
            changed = [(k, v) for k, v in changed if k != "download"] + [("download", name)]
        if tag == "h2":
            self.heading = _Found(dict(changed).get("id") or self.sheet.prefix)
        raw = self.get_starttag_text() or ""
        lower = _lower(tag)
        if changed != attrs or lower != tag:
            raw = _tag(raw, tag, lower, changed)
        self.out.append(raw)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A tag that closes itself, as SVG has them."""
        self.handle_starttag(tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        """A closing tag."""
        if tag in _LEFT_OUT or self.inside:
            self.inside -= tag in _LEFT_OUT
            return
        if tag == "h2" and self.heading:
            self.headings.append((self.heading.anchor, "".join(self.heading.words).strip()))
            self.heading = None
        self.out.append(f"</{_lower(tag)}>")

    def handle_data(self, data: str) -> None:
        """Text as it stands."""
        self._said(data)

    def handle_entityref(self, name: str) -> None:
        """A named character."""
        self._said(f"&{name};")

    def handle_charref(self, name: str) -> None:
        """A numbered character."""
        self._said(f"&#{name};")

    def handle_comment(self, data: str) -> None:
        """Comments are left out."""

    def _said(self, text: str) -> None:
        if self.inside:
            return
        self.out.append(text)
        if self.heading:
            self.heading.words.append(text)

    def _changed(self, name: str, value: str | None) -> str | None:
        if value is None:
            return None
        change: Callable[[str], str] | None = _CHANGES(self).get(name)
        if change:
            return change(value)
        return _URL.sub(lambda m: f"url(#{self.anchor(m[1])})", value)

    def anchor(self, name: str) -> str:
        """An id of this page as it is called in the binder."""
        return f"{self.sheet.prefix}--{name}"

    def several(self, names: str) -> str:
        """Ids with spaces between them."""
        return " ".join(self.anchor(name) for name in names.split())

    def address(self, href: str) -> str:
        """Where a link leads: within the binder, into a file put into it, or out into the world."""
        parts = urlsplit(href)
        if parts.scheme or parts.netloc:
            return href
        if not parts.path:
            return f"#{self.anchor(unquote(parts.fragment))}" if parts.fragment else href
        target = self._target(parts.path)
        page = self.pages.get(re.sub(r"\.html$", ".md", target))
        if page:
            return f"#{page}--{unquote(parts.fragment)}" if parts.fragment else f"#{page}"
        return self.embedded(target) or f"#{self.sheet.prefix}"

    def source(self, src: str) -> str:
        """A picture, put into the page itself."""
        return self.embedded(self._target(urlsplit(src).path))

    def embedded(self, target: str) -> str:
        """A file of the tree as a data address; "" where there is none or it is too large."""
        data = self.files.get(target, b"")
        kind = _TYPES.get(posixpath.splitext(target)[1].lower())
        if not data or not kind or len(data) > MOST_EMBEDDED:
            return ""
        return f"data:{kind};base64,{base64.b64encode(data).decode()}"

    def _target(self, path: str) -> str:
        return posixpath.normpath(posixpath.join(posixpath.dirname(self.sheet.path), unquote(path)))


def _CHANGES(page: _Rewriter) -> dict[str, Callable[[str], str]]:  # noqa: N802  (a table)
    return {
        "id": page.anchor,
        "href": page.address,
        "src": page.source,
        **dict.fromkeys(_REFERENCES, page.several),
    }


def _lower(tag: str) -> str:
    """`h1` → `h2` and so on; other tags stay."""
    level = _HEADING.fullmatch(tag)
    return f"h{int(level[1]) + 1}" if level else tag


def _tag(raw: str, tag: str, name: str, attrs: list[tuple[str, str | None]]) -> str:
    """An opening tag with these attributes; the case of SVG's own names is kept."""
    written = {found.lower(): found for found in re.findall(r"[\s/]([A-Za-z_:][\w:.-]*)", raw)}
    said = "".join(
        f" {written.get(key, key)}"
        + ("" if value is None else f'="{html.escape(value, quote=True)}"')
        for key, value in attrs
    )
    original = raw[1 : 1 + len(tag)]
    end = "/>" if raw.rstrip().endswith("/>") else ">"
    return f"<{original if name == tag else name}{said}{end}"
