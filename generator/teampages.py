"""The team's own Markdown pages: read with raw HTML as text, results embedded by exact names.

A page is turned into HTML once, with an allow-list of elements and links, and goes into the tree
as headings in Markdown and everything between them as HTML. Nothing in it is evaluated.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

import markdown

from buildspec.build import Page
from buildspec.diagnostics import Diagnostic
from generator.charts.chart import Chart
from generator.embedding import (
    Trouble,
    call,
    embeddings,
    in_the_middle,
    lines,
    problem,
    unknown,
    wrong_form,
)
from generator.markup import Markup, escape
from generator.pagelinks import Ways, address, looked, picture_name, places
from generator.templates import Words, drawing, margin
from generator.vocabulary import Check, Result

_VOID = frozenset({"br", "hr", "img"})
_TAGS = _VOID | frozenset(
    {
        "p",
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "ul",
        "ol",
        "li",
        "strong",
        "em",
        "code",
        "pre",
        "blockquote",
        "a",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
    }
)
_HEADING = re.compile(r"<h(?P<level>[1-6])>(?P<text>.*?)</h\1>", re.DOTALL)
_HELD = re.compile("\ue000(\\d+)\ue001")


Address = Callable[[str], str | Trouble]
"""What a link's target says on the site, or what is wrong with it."""


@dataclass(frozen=True)
class Embeds:
    """What a page may embed: values of the description and results, checks, charts."""

    words: Words
    results: Mapping[str, Result]
    checks: Mapping[str, Check]
    charts: Mapping[str, Chart]


@dataclass(frozen=True)
class TeamPage:
    """One page as it goes into the tree."""

    path: str
    title: str
    text: str
    pictures: Mapping[str, bytes] = field(default_factory=dict)
    problems: tuple[Diagnostic, ...] = ()


@dataclass(frozen=True, slots=True)
class _Held:
    """A piece of ready HTML, and whether it is a block of its own."""

    text: Markup
    block: bool = False


def team_pages(
    pages: tuple[Page, ...], embeds: Embeds, folder: Path | None, known: Ways
) -> tuple[TeamPage, ...]:
    """Every page of the team's, in order, each under a name that is safe as a file name."""
    return tuple(_team_page(page, path, embeds, folder, known) for page, path in places(pages))


def _team_page(page: Page, path: str, embeds: Embeds, folder: Path | None, known: Ways) -> TeamPage:
    problems: list[Diagnostic] = []
    held: list[_Held] = []
    text = page.text.replace("\ue000", "\ufffd").replace("\ue001", "\ufffd")
    ready = [
        line
        if code
        else _embedded(line, number, page=page, embeds=embeds, held=held, problems=problems)
        for number, line, code in lines(text)
    ]
    seen = looked(page, folder, known)
    body = _html(
        "\n".join(ready), frozenset(seen.pictures), lambda href: address(href, page, known)
    )
    named = {f"team/files/{name}": data for name, data in seen.pictures.items()}
    whole = (*problems, *seen.problems)
    return TeamPage(path, page.title, _markdown(body, page.title, held), named, whole)


# ----------------------------------------------------------------------------- embedding


def _embedded(
    line: str,
    number: int,
    *,
    page: Page,
    embeds: Embeds,
    held: list[_Held],
    problems: list[Diagnostic],
) -> str:
    """The line with a held place for each embedded result, outside of code."""
    out, at = "", 0
    for match in embeddings(line):
        found = _found(match, embeds, line)
        if isinstance(found, _Held):
            out += f"{line[at : match.start()]}\ue000{len(held)}\ue001"
            held.append(found)
            at = match.end()
        else:
            problems.append(problem(page, number, match, found))
    return out + line[at:]


def _found(match: re.Match[str], embeds: Embeds, line: str) -> _Held | Trouble:
    """What an embedding stands for, or what is wrong with it and what to do."""
    named = call(match)
    if named is None:
        return wrong_form(match)
    name, dotted = named
    if name == "chart":
        return _chart(dotted, embeds, in_the_middle(match, line))
    return _check(dotted, embeds) if name == "check" else _value(dotted, embeds)


def _value(dotted: str, embeds: Embeds) -> _Held | Trouble:
    quantity = embeds.words.build.quantities.get(dotted)
    if quantity is not None:
        return _Held(embeds.words.qty(quantity))
    result = embeds.results.get(dotted)
    if result is None:
        return unknown("value", dotted, [*embeds.words.build.quantities, *embeds.results])
    number = embeds.words.num(result.value, result.kind, result.standard_uncertainty)
    return _Held(embeds.words.link(dotted, number))


def _check(dotted: str, embeds: Embeds) -> _Held | Trouble:
    check = embeds.checks.get(dotted)
    if check is None:
        return unknown("check", dotted, embeds.checks)
    verdict = f'<span class="mb-verdict mb-verdict-{check.verdict}">{check.verdict}</span>'
    shown = Markup("%s %s") % (embeds.words.link(check.id), Markup(verdict))
    return _Held(
        shown if check.margin is None else Markup("%s, margin %s") % (shown, margin(check))
    )


def _chart(dotted: str, embeds: Embeds, misplaced: Trouble | None) -> _Held | Trouble:
    chart = embeds.charts.get(dotted)
    if chart is None:
        return unknown("chart", dotted, embeds.charts)
    if misplaced:
        return misplaced
    drawn = Markup('<div class="mb-drawing" tabindex="0">%s</div>') % drawing(chart)
    said = Markup("<strong>%s.</strong> %s %s") % (chart.title, chart.finding, chart.caption)
    figure = Markup('<figure class="mb-figure">%s\n<figcaption>%s</figcaption></figure>')
    return _Held(figure % (drawn, said), block=True)


# ----------------------------------------------------------------------------- HTML


def _html(text: str, pictures: frozenset[str], address_of: Address) -> str:
    """Markdown as HTML of the allow-list; raw HTML in it is text."""
    reader = markdown.Markdown(
        extensions=["tables", "fenced_code", "sane_lists"], output_format="html"
    )
    reader.preprocessors.deregister("html_block")
    reader.inlinePatterns.deregister("html")
    reader.inlinePatterns.deregister("entity")
    sieve = _Sieve(pictures, address_of)
    sieve.feed(reader.convert(text))
    sieve.close()
    return "".join(sieve.out)


class _Sieve(HTMLParser):
    """Passes the elements of the allow-list on, and everything else as text."""

    def __init__(self, pictures: frozenset[str], address_of: Address) -> None:
        super().__init__(convert_charrefs=True)
        self.pictures, self.address_of = pictures, address_of
        self.out: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An opening tag with what may stay of its attributes."""
        if tag == "img" and picture_name(dict(attrs).get("src") or "") not in self.pictures:
            self.out.append(_text(dict(attrs).get("alt") or ""))
        elif tag in _TAGS:
            self.out.append(f"<{tag}{self._kept(tag, dict(attrs))}>")

    def handle_endtag(self, tag: str) -> None:
        """A closing tag."""
        if tag in _TAGS - _VOID:
            self.out.append(f"</{tag}>")

    def handle_data(self, data: str) -> None:
        """Text, with line breaks kept for blocks of code."""
        self.out.append("\n".join(_text(line) for line in data.split("\n")))

    def _kept(self, tag: str, attrs: dict[str, str | None]) -> str:
        if tag == "a" and isinstance(href := self.address_of(attrs.get("href") or ""), str):
            return f' href="{escape(href)}"'
        name = picture_name(attrs.get("src") or "")
        if tag == "img" and name in self.pictures:
            return f' src="files/{name}" alt="{escape(attrs.get("alt") or "")}"'
        if tag == "th":
            return ' scope="col"'
        return ""


def _text(line: str) -> str:
    """Escaped text that keeps its spaces and its held places."""
    lead, trail = line[: len(line) - len(line.lstrip())], line[len(line.rstrip()) :]
    parts = _HELD.split(line.strip())
    said = "".join(f"\ue000{p}\ue001" if n % 2 else _kept_spaces(p) for n, p in enumerate(parts))
    return f"{lead}{said}{trail}" if line.strip() else line


def _kept_spaces(text: str) -> str:
    return "".join(p if p.isspace() else str(escape(p)) for p in re.split(r"(\s+)", text) if p)


def _markdown(body: str, title: str, held: list[_Held]) -> str:
    """Headings as Markdown, everything else as blocks of HTML without blank lines."""
    pieces = [f"# {escape(title)}"]
    at = 0
    for match in _HEADING.finditer(body):
        pieces.append(_block(body[at : match.start()], held))
        pieces.append(_heading(match, title))
        at = match.end()
    pieces.append(_block(body[at:], held))
    return "\n\n".join(p for p in pieces if p) + "\n"


def _heading(match: re.Match[str], title: str) -> str:
    """A heading one level below the page's title at least; the title itself is there already."""
    words = re.sub(r"<[^>]*>", "", match["text"]).strip()
    if match["level"] == "1" and words == str(escape(title)):
        return ""
    return f"{'#' * max(int(match['level']), 2)} {words}"


def _block(body: str, held: list[_Held]) -> str:
    text = re.sub(
        r"<p>\s*\ue000(\d+)\ue001\s*</p>",
        lambda m: str(held[int(m[1])].text) if held[int(m[1])].block else m[0],
        body.strip(),
    )
    text = _HELD.sub(lambda m: str(held[int(m[1])].text), text)
    text = text.replace("<table>", '<div class="mb-table" tabindex="0"><table>').replace(
        "</table>", "</table></div>"
    )
    return f'<div class="mb-team">\n{_unbroken(text)}\n</div>' if text else ""


def _unbroken(text: str) -> str:
    """No blank line: inside a block of code it becomes a reference to a line break."""
    return (
        re.sub(r"\n(?=[ \t]*\n)", "&#10;", text)
        if "<pre>" in text
        else re.sub(r"\n\s*\n", "\n", text)
    )
