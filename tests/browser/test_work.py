"""The pages of plan, evidence and open items, and the dossier in one file, in a browser."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from generator.compose import compose, write
from generator.evaluation import load_subjects
from generator.pdf import print_pdf
from generator.render import render
from tests.browser.conftest import drawn, settled
from tests.generator.subjects.work_builds import SUBJECTS, evaluated

pytestmark = pytest.mark.browser

PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
PAGES = ("plan", "evidence", "open-items", "binder")


@pytest.fixture(scope="module")
def work(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small build with work, as a site."""
    folder = tmp_path_factory.mktemp("work")
    found = evaluated(folder / "car")
    files = compose(found, folder=folder / "car", subjects=load_subjects(SUBJECTS)).files
    write(files, folder / "tree")
    render(folder / "tree", folder / "site")
    return folder / "site"


@pytest.fixture(params=[(PHONE, "light"), (DESK, "dark")], ids=["phone-light", "desk-dark"])
def page(browser: Any, request: pytest.FixtureRequest) -> Iterator[Any]:
    size, scheme = request.param
    context = browser.new_context(viewport=size, color_scheme=scheme)
    yield context.new_page()
    context.close()


def opened(page: Any, site: Path, name: str, ready: Callable[[Any], None] = settled) -> list[str]:
    """Open a page from the disk; every address it asked for until then that is not on the disk."""
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url))
    page.goto(f"file://{site}/{name}.html")
    ready(page)
    return [url for url in asked if not url.startswith(("file:", "data:", "blob:"))]


@pytest.mark.parametrize("name", PAGES)
def test_nothing_serious_stands_in_anyones_way(page: Any, work: Path, name: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    assert opened(page, work, name) == []
    found = Axe().run(page).response["violations"]
    grave = [
        (v["id"], v["nodes"][0]["html"]) for v in found if v["impact"] in {"serious", "critical"}
    ]
    assert grave == []


@pytest.mark.parametrize("name", PAGES)
def test_no_page_is_wider_than_the_screen(page: Any, work: Path, name: str) -> None:
    opened(page, work, name, drawn)
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
    stray = page.evaluate(
        """(w) => [...document.querySelectorAll('article *, main *')].filter(e =>
        e.getBoundingClientRect().right > w + 1
        && !e.closest('.mb-table, .mb-equation, .mb-drawing'))
        .map(e => e.outerHTML.slice(0, 120))""",
        page.viewport_size["width"],
    )
    assert stray == []


def test_the_dossier_asks_for_nothing_but_itself(page: Any, work: Path, tmp_path: Path) -> None:
    alone = tmp_path / "binder.html"
    alone.write_bytes((work / "binder.html").read_bytes())
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url))
    page.goto(f"file://{alone}")
    settled(page)
    assert [url for url in asked if not url.startswith("data:")] == [f"file://{alone}"]
    dead = page.evaluate(
        """[...document.querySelectorAll('a[href^="#"]')].map(a => a.getAttribute('href').slice(1))
        .filter(id => !document.getElementById(decodeURIComponent(id)))"""
    )
    assert dead == []
    sizes = page.evaluate("[...document.images].map(i => i.naturalWidth)")
    assert sizes == [64], "the photo is in it, and can be seen"


def test_rows_can_be_chosen_by_owner_and_all_come_back(page: Any, work: Path) -> None:
    opened(page, work, "open-items")
    rows = page.locator("#open-items-table tbody tr")
    every = rows.count()
    page.select_option("select[name=owner]", "Lee Byrne")
    shown = page.locator("#open-items-table tbody tr:visible")
    assert 0 < shown.count() < every
    assert {shown.nth(n).get_attribute("data-owner") for n in range(shown.count())} == {"Lee Byrne"}
    assert page.inner_text(".mb-filter output") == f"{shown.count()} of {every} rows"
    groups = page.locator("#open-items-table details")
    assert page.locator("#open-items-table details:visible").count() < groups.count()
    page.click("text=Show all")
    page.wait_for_function(
        "document.querySelector('.mb-filter output').textContent.startsWith('all')"
    )
    assert page.locator("#open-items-table tbody tr[hidden]").count() == 0
    assert page.locator("#open-items-table details:visible").count() == groups.count()


def test_a_link_to_a_row_that_is_not_chosen_brings_it_back(page: Any, work: Path) -> None:
    opened(page, work, "open-items")
    page.select_option("select[name=owner]", "Kit Ostrander")
    page.evaluate("location.hash = '#plan.step.wire.open'")
    page.wait_for_function("!document.getElementById('plan.step.wire.open').hidden")
    assert page.locator("[id='plan.step.wire.open']").is_visible()


def test_without_script_every_row_and_every_owner_is_there(browser: Any, work: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"file://{work}/open-items.html")
    assert not page.locator(".mb-filter").is_visible()
    for fold in page.locator("article summary").all():
        if fold.is_visible() and not fold.evaluate("s => s.parentElement.open"):
            fold.click()
    words = page.inner_text("article")
    context.close()
    for said in ("Wire the switch", "By owner", "Kit Ostrander", "Lee Byrne", "Tires"):
        assert said in words


def test_the_dossier_prints_with_its_words_and_pictures(work: Path, tmp_path: Path) -> None:
    """Read back by poppler, which knows nothing of browsers."""
    print_pdf(work / "binder.html", tmp_path / "binder.pdf")

    def poppler(*command: str) -> str:
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout

    words = poppler("pdftotext", "-layout", str(tmp_path / "binder.pdf"), "-")
    for said in (
        "Work that is left",
        "Weld the tabs",
        "Sat 2026-12-05",
        "page 1 of",
        "The tabs are welded",
    ):
        assert said in words, said
    assert b"/Outlines" in (tmp_path / "binder.pdf").read_bytes(), "the headings are its bookmarks"
    pictures = poppler("pdfimages", "-list", str(tmp_path / "binder.pdf"))
    assert "64" in pictures.split()


def test_of_what_an_item_holds_up_paper_takes_the_number(page: Any, work: Path) -> None:
    """The theme opens every fold before it prints; a hundred links in a narrow column filled nine sheets."""
    opened(page, work, "open-items")
    page.evaluate("document.querySelector('#open-items-table details').open = true")
    high = """() => {
      const cell = document.querySelector("table.mb-open tbody td:last-child");
      cell.classList.remove("mb-told");
      cell.innerHTML = '<details class="mb-blocks" open><summary>99 lines</summary></details>';
      cell.firstChild.append("a line; ".repeat(500));
      return cell.firstChild.getBoundingClientRect().height;
    }"""
    assert page.evaluate(high) > 500
    page.emulate_media(media="print")
    fold = page.locator("table.mb-open details.mb-blocks[open]")
    assert fold.bounding_box()["height"] < 60
    assert fold.locator("summary").is_visible()
