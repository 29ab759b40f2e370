"""The site: whole, offline, the same bytes every time."""

from __future__ import annotations

import json
import logging
import os
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest

from buildspec.build import Page
from buildspec.diagnostics import Place
from generator.compose import compose, write
from generator.folders import MARKER
from generator.pagetext import ROW
from generator.render import RenderError, render
from tests.generator import scene

TITLE = "</title><script>alert(1)</script>"
PAGE = Page(
    "why",
    TITLE,
    f'# {TITLE}\n\n## Next\n\n{{{{ value("scene.total") }}}}\n\n- one\n- two\n',
    Place("pages/why.md"),
)


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scene rendered once; its tree stands beside it."""
    folder = tmp_path_factory.mktemp("made")
    write(
        compose(scene.evaluation(scene.build(pages=(PAGE,))), subjects=scene.SUBJECTS).files,
        folder / "tree",
    )
    render(folder / "tree", folder / "site")
    return folder / "site"


class _Reader(HTMLParser):
    """Everything a page loads or links to, its ids and its headings."""

    def __init__(self) -> None:
        super().__init__()
        self.loads: list[str] = []
        self.links: list[str] = []
        self.ids: list[str] = []
        self.levels: list[int] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {k: v or "" for k, v in attrs}
        self.ids += [given["id"]] if "id" in given else []
        self.levels += [int(tag[1])] if re.fullmatch("h[1-6]", tag) else []
        if tag in {"script", "img", "iframe", "source"} and "src" in given:
            self.loads.append(given["src"])
        elif tag == "link" and given.get("rel") in {"stylesheet", "icon", "preload", "preconnect"}:
            self.loads.append(given["href"])
        elif tag == "a" and "href" in given:
            self.links.append(given["href"])


def _pages(site: Path) -> dict[Path, _Reader]:
    found = {}
    for path in sorted(site.rglob("*.html")):
        found[path] = reader = _Reader()
        reader.feed(path.read_text("utf-8"))
    return found


def test_every_page_is_made(site: Path) -> None:
    assert {str(p.relative_to(site)) for p in site.rglob("*.html")} == {
        "index.html",
        "scene.html",
        "open-items.html",
        "assumptions.html",
        "inputs.html",
        "sources.html",
        "about.html",
        "binder.html",
        "team/why.html",
    }


def test_nothing_is_loaded_from_elsewhere(site: Path) -> None:
    for path, reader in _pages(site).items():
        for address in reader.loads:
            assert not re.match(r"(?:[a-z]+:)?//", address), f"{path.name} loads {address}"
            assert (path.parent / unquote(address)).is_file(), f"{path.name} loads {address}"
    for css in site.glob("assets/*.css"):
        assert not re.search(r"url\((?!data:)|@import", css.read_text("utf-8")), css.name


def test_every_link_leads_somewhere(site: Path) -> None:
    pages = _pages(site)
    for path, reader in pages.items():
        for link in reader.links:
            if re.match(r"https?:|mailto:|data:", link):
                continue
            name, _, anchor = link.partition("#")
            target = (path.parent / unquote(name)).resolve() if name else path
            target = target / "index.html" if target.is_dir() else target
            assert target.is_file(), f"{path.name}: {link}"
            if anchor:
                assert unquote(anchor) in pages[target].ids, f"{path.name}: {link}"


def test_no_id_stands_twice_on_a_page(site: Path) -> None:
    for path, reader in _pages(site).items():
        twice = {i for i in reader.ids if reader.ids.count(i) > 1}
        assert not twice, path.name


def test_headings_go_down_one_level_at_a_time(site: Path) -> None:
    for path, reader in _pages(site).items():
        assert reader.levels[0] == 1, path.name
        assert reader.levels.count(1) == 1, path.name
        assert all(b - a <= 1 for a, b in zip(reader.levels, reader.levels[1:], strict=False)), (
            path.name
        )


def test_what_the_site_does_not_need_is_left_out(site: Path) -> None:
    assert not list(site.rglob("*.map"))
    assert not list(site.glob("sitemap*"))
    assert (site / "search" / "search_index.json").is_file()
    assert (site / "assets" / "licences.txt").is_file()
    assert sum(p.stat().st_size for p in site.rglob("*") if p.is_file()) < 1_500_000


def test_titles_are_escaped_once(site: Path) -> None:
    text = (site / "team" / "why.html").read_text("utf-8")
    assert (
        "<title>&lt;/title&gt;&lt;script&gt;alert(1)&lt;/script&gt; - Brass Heron 27</title>"
        in text
    )
    assert "<script>alert" not in text


def test_the_search_box_has_a_name(site: Path) -> None:
    for path in (p for p in site.rglob("*.html") if p.name != "binder.html"):
        assert path.read_text("utf-8").count('role="dialog" aria-label="Search"') == 1, path.name


def test_equations_are_no_search_words_and_pages_are(site: Path) -> None:
    index = (site / "search" / "search_index.json").read_text("utf-8")
    assert "mspace" not in index
    assert "Engine, dressed" in index


_ONE_BUILD = """
import sys
from pathlib import Path
from generator.compose import compose, write
from generator.pagetext import ROW
from generator.render import render
from tests.generator import scene
target = Path(sys.argv[1])
write(compose(scene.evaluation(), subjects=scene.SUBJECTS).files, target / "tree")
render(target / "tree", target / "site")
"""


def test_two_processes_with_other_hashes_and_days_write_the_same_bytes(tmp_path: Path) -> None:
    made = []
    for name, seed, day in (("a", "1", "1000000000"), ("deeper/b", "2", "1700000000")):
        environment = os.environ | {"PYTHONHASHSEED": seed, "SOURCE_DATE_EPOCH": day}
        subprocess.run(
            [sys.executable, "-c", _ONE_BUILD, str(tmp_path / name)], check=True, env=environment
        )
        root = tmp_path / name
        made.append(
            {
                str(p.relative_to(root)): p.read_bytes()
                for p in sorted(root.rglob("*"))
                if p.is_file()
            }
        )
    assert made[0].keys() == made[1].keys()
    assert [n for n in made[0] if made[0][n] != made[1][n]] == []


def test_a_folder_with_other_files_is_refused_and_kept(site: Path, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(RenderError, match="did not write"):
        render(site.parent / "tree", tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_a_site_is_replaced_and_nothing_old_stays(site: Path, tmp_path: Path) -> None:
    target = tmp_path / "site"
    render(site.parent / "tree", target)
    (target / "old.html").write_text("old")
    render(site.parent / "tree", target)
    assert not (target / "old.html").exists()
    assert (target / MARKER).is_file()


def test_a_tree_that_mkdocs_refuses_is_said_in_words(tmp_path: Path) -> None:
    (tmp_path / "mkdocs.yml").write_text("site_name: x\nplugins: [nothing-of-that-name]\n")
    (tmp_path / "docs").mkdir()
    with pytest.raises(RenderError, match="nothing-of-that-name"):
        render(tmp_path, tmp_path / "site")
    assert not (tmp_path / "site").exists()


@pytest.mark.parametrize("level", [logging.ERROR, logging.WARNING])
def test_a_broken_link_in_the_tree_is_a_fault_and_not_a_broken_site(
    level: int, tmp_path: Path
) -> None:
    """Also where somebody has asked MkDocs to be quiet, as the preview does."""
    logging.getLogger("mkdocs").setLevel(level)
    tree = tmp_path / "tree"
    files = dict(compose(scene.evaluation(), subjects=scene.SUBJECTS).files)
    files["docs/about.md"] += b"\n[gone](gone.md)\n"
    write(files, tree)
    with pytest.raises(RenderError, match=r"gone\.md"):
        render(tree, tmp_path / "site")


def test_a_row_is_a_paragraph_of_the_search_and_its_mark_is_not_seen(site: Path) -> None:
    index = json.loads((site / "search" / "search_index.json").read_text("utf-8"))
    script = (site / "search" / "search_index.js").read_text("utf-8")
    texts = {page["location"]: page["text"] for page in index["docs"]}
    assert json.loads(script.partition("=")[2].strip().rstrip(";")) == index
    assert ROW not in script
    rows = re.findall("<p>(.*?)</p>", texts["scene.html#checks"])
    assert [r for r in rows if r.startswith("Wheel load")] == [r for r in rows if "no rating" in r]
    assert any(r.startswith("Total, light limit") and "short" in r for r in rows)
    assert not any("Verdict" in t for t in texts.values()), "heads of tables are not sought"
    shown = (site / "scene.html").read_text("utf-8")
    assert shown.count(ROW) == shown.count(f"<span hidden>{ROW}</span>") > 3
