"""The whole dossier in one file: nothing lost, nothing loaded, every link leads somewhere."""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping
from html.parser import HTMLParser
from pathlib import Path

import pytest

from buildspec.build import Page
from buildspec.diagnostics import Place
from generator import pdf
from generator.binder import MOST_EMBEDDED, binder
from generator.compose import compose
from generator.pdf import PdfError, print_pdf
from generator.templates import asset
from tests.generator import scene

HOSTILE = "<script>alert(1)</script> & [x](javascript:alert(1)) \" ' `c`"


def tree(text: str = "Why.", **given: object) -> dict[str, bytes]:
    page = Page("why", "Why so", text, Place("pages/why.md"))
    build = scene.build(pages=(page,), **given)  # type: ignore[arg-type]
    files = dict(compose(scene.evaluation(build), subjects=scene.SUBJECTS).files)
    assert files.pop("docs/binder.html")
    return files


class Reader(HTMLParser):
    """The words, ids and addresses of a page, read by the standard library's own parser.

    A form is no part of a dossier: it only hides rows.
    """

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.ids: list[str] = []
        self.attrs: list[tuple[str, str, str]] = []
        self.open: list[str] = []
        self.form = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)
        self.form = self.form or tag == "form"
        self.attrs += [(tag, name, value or "") for name, value in attrs]
        self.ids += [value or "" for name, value in attrs if name == "id"]

    def handle_endtag(self, tag: str) -> None:
        self.form = self.form and tag != "form"

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style" and not self.form:
            self.words.append(data)


def read(files: Mapping[str, bytes]) -> Reader:
    reader = Reader()
    reader.feed(binder(files).decode())
    return reader


def values(reader: Reader, name: str) -> list[str]:
    return [value for _, attribute, value in reader.attrs if attribute == name]


def test_every_link_leads_to_a_place_in_the_file() -> None:
    reader = read(tree())
    leads = [href for href in values(reader, "href") if href.startswith("#")]
    assert len(leads) > 50
    assert {href[1:] for href in leads} <= set(reader.ids)
    assert len(reader.ids) == len(set(reader.ids)), "an id stands once"


def test_values_left_off_the_paper_stand_in_the_part_of_all_values() -> None:
    """A printed part says where its inputs stand instead of printing them: each must stand there."""
    css = asset("binder.css").decode()
    assert ".mb-table:has(> table.mb-known) { display: none; }" in css
    build = scene.build()
    given = {i for c in scene.evaluation(build).checks for i in c.inputs}
    assert len(given) > 3
    assert {f"inputs--{name}" for name in given} <= set(read(tree()).ids)


def test_a_link_leads_to_the_same_thing_as_on_the_site() -> None:
    text = binder(tree()).decode()
    # on the site: href="inputs.html#vehicle.target_speed" on the front page
    assert 'href="#inputs--vehicle.target_speed"' in text
    assert 'id="inputs--vehicle.target_speed"' in text
    assert "<a" in text
    assert re.search(r'id="scene--scene\.check\.light"', text)


def test_nothing_is_loaded_from_anywhere() -> None:
    reader = read(tree())
    text = binder(tree()).decode()
    assert {tag for tag, _, _ in reader.attrs} & {"script", "link", "iframe", "object"} == set()
    assert all(src.startswith("data:") for src in values(reader, "src"))
    assert "@import" not in text
    assert set(re.findall(r"url\(\"?'?(\w+:|#)", text)) <= {"data:", "#"}


def test_no_word_of_a_page_is_lost() -> None:
    """Numbers, titles and the closing statement of every page, as the tree holds them."""
    files = tree()
    said = " ".join(" ".join(read(files).words).split())
    for name in (n for n in files if n.endswith(".md")):
        page = Reader()
        page.feed(files[name].decode().split("---\n", 2)[2])
        own = [" ".join(w.split()) for w in page.words]
        assert len(own) > 3, name
        missing = [w for w in own if w and "#" not in w and w not in said and "**" not in w]
        assert missing == [], name


def test_headings_stand_below_the_title_of_the_dossier() -> None:
    tags = read(tree()).open
    assert tags.count("h1") == 1
    assert tags.count("h2") == 8  # seven fixed pages and subjects, and the team's own


def test_hostile_text_stays_text() -> None:
    files = tree(HOSTILE, name=HOSTILE, item=HOSTILE, hostile=HOSTILE)
    reader = read(files)
    assert "script" not in reader.open
    assert not [href for href in values(reader, "href") if href.startswith("javascript")]
    assert "<script>alert(1)</script>" in " ".join(reader.words)


def test_a_picture_and_a_file_are_put_into_it_and_a_large_one_is_not() -> None:
    files = tree()
    files["docs/evidence/a.jpg"] = b"\xff\xd8\xff picture"
    files["docs/evidence/a.csv"] = b"run,s\n1,4\n"
    files["docs/evidence/large.pdf"] = bytes(MOST_EMBEDDED + 1)
    files["docs/scene.md"] += (
        b'\n<p><img src="evidence/a.jpg" alt="belt"> <a href="evidence/a.csv" download>times</a> '
        b'<a href="evidence/large.pdf">report</a> <a href="https://example.org/x">out</a></p>\n'
    )
    reader = read(files)
    held = [v.partition("base64,")[2] for v in values(reader, "src") + values(reader, "href")]
    found = {base64.b64decode(h) for h in held if h}
    assert {b"\xff\xd8\xff picture", b"run,s\n1,4\n"} <= found
    assert max(map(len, found)) <= MOST_EMBEDDED
    assert "a.csv" in values(reader, "download"), "browsers follow such an address only to save it"
    assert "#scene" in values(reader, "href"), "what is too large leads to its page"
    assert "https://example.org/x" in values(reader, "href"), "a link is no request"


def test_the_same_tree_gives_the_same_bytes() -> None:
    assert binder(tree()) == binder(tree())


def test_a_pdf_without_a_browser_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(PdfError, match=r"no Chromium is installed here.*any browser prints it"):
        print_pdf(tmp_path / "binder.html", tmp_path / "binder.pdf")
    assert not (tmp_path / "binder.pdf").exists()


@pytest.mark.parametrize(("script", "said"), [("exit 3", "ended with 3"), ("sleep 9", "took over")])
def test_a_browser_that_fails_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str, said: str
) -> None:
    browser = tmp_path / "chromium"
    browser.write_text(f"#!/bin/sh\n{script}\n")
    browser.chmod(0o755)
    monkeypatch.setattr(pdf, "find_browser", lambda: str(browser))
    monkeypatch.setattr(pdf, "SECONDS", 0.2)
    with pytest.raises(PdfError, match=said):
        print_pdf(tmp_path / "binder.html", tmp_path / "binder.pdf")
