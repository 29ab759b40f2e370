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
from dataclasses import dataclass
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
_LEFT_OUT = re.compile(
    r"<!--.*?-->|<(script|iframe|object|form)\b.*?</\1\s*>|<(?:link|meta)\b[^>]*>",
    re.DOTALL | re.IGNORECASE,
)
"""What a dossier has no use for; the pages are right without it."""
_REST = r"((?:[^\"'>]++|\"[^\"]*+\"|'[^']*+')*+)"
_TAG = re.compile(rf"<(/?)([A-Za-z][\w:.-]*){_REST}>")
_ATTRIBUTE = re.compile(r'(\s)([\w:.-]+)="([^"]*)"')
_SAVED = re.compile(r'\sdownload(?:="[^"]*")?(?=[\s/]|$)')
_SECOND = re.compile(rf"<h3\b{_REST}>(.*?)</h3>", re.DOTALL)
_ID = re.compile(r'\sid="([^"]*)"')
_HREF = re.compile(r'\shref="([^"]*)"')
_DATA = re.compile(r'\shref="data:')
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
    return rewriter.rewritten(reader.convert(text))


class _Rewriter:
    """Passes a page on with its ids and addresses changed; all else stays as it was written.

    It reads tags only, by the shape that templates and Markdown give them (quoted attributes, no
    comment inside a tag): the standard library's parser takes four times as long.
    """

    def __init__(self, sheet: Sheet, pages: Mapping[str, str], files: Mapping[str, bytes]) -> None:
        self.sheet, self.pages, self.files = sheet, pages, files
        self.changes: Mapping[str, Callable[[str], str]] = {
            "id": self.anchor,
            "href": self.address,
            "src": self.source,
            **dict.fromkeys(_REFERENCES, self.several),
        }

    def rewritten(self, page: str) -> _Body:
        """The page for the dossier: a heading goes one level down, below the dossier's own title."""
        text = _TAG.sub(self._tag, _LEFT_OUT.sub("", page))
        return _Body(text, tuple(self._headings(text)))

    def _headings(self, text: str) -> Iterator[tuple[str, str]]:
        for tag, words in _SECOND.findall(text):
            found = _ID.search(tag)
            yield found[1] if found else self.sheet.prefix, _TAG.sub("", words).strip()

    def _tag(self, found: re.Match[str]) -> str:
        """An opening or closing tag with its name and attributes changed."""
        start, name, rest = found.groups()
        level = _HEADING.fullmatch(name)
        if level:
            name = f"h{int(level[1]) + 1}"
        changed = _ATTRIBUTE.sub(self._attribute, rest) if rest else ""
        if name == "a" and changed != rest and _DATA.search(changed):
            said = _escaped(posixpath.basename(html.unescape(_HREF.findall(rest)[0])))
            # browsers follow such an address only to save it
            changed = f'{_SAVED.sub("", changed)} download="{said}"'
        return f"<{start}{name}{changed}>"

    def _attribute(self, found: re.Match[str]) -> str:
        before, name, quoted = found.groups()
        value = html.unescape(quoted)
        changed = self.changes.get(name.lower(), self.painted)(value)
        return found[0] if changed == value else f'{before}{name}="{_escaped(changed)}"'

    def painted(self, value: str) -> str:
        """A value that may name a gradient or a clip of the same drawing."""
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


def _escaped(value: str) -> str:
    return html.escape(value, quote=True)
