"""The rendered pages in a browser: no network, accessible, fit for a phone and for paper."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from generator.equations import mathml
from generator.flowing import flowing
from generator.templates import FOLDER
from tests.browser.conftest import drawn, settled

pytestmark = pytest.mark.browser

PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
PAGES = ("index", "scene", "open-items", "assumptions", "inputs", "sources", "about", "team/why")


@pytest.fixture(
    params=[(PHONE, "light"), (DESK, "dark")],  # what depends on both size and scheme there is none
    ids=["phone-light", "desk-dark"],
)
def page(browser: Any, request: pytest.FixtureRequest) -> Iterator[Any]:
    """A page of the browser in one size and one colour scheme."""
    size, scheme = request.param
    context = browser.new_context(viewport=size, color_scheme=scheme)
    yield context.new_page()
    context.close()


@pytest.fixture
def desk(browser: Any) -> Iterator[Any]:
    """A page of the browser on a desk."""
    context = browser.new_context(viewport=DESK)
    yield context.new_page()
    context.close()


def _open(page: Any, site: Path, name: str, ready: Callable[[Any], None] = settled) -> list[str]:
    """Open a page from the disk; every address it asked for until then that is not on the disk."""
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url))
    page.goto(f"file://{site}/{name}.html")
    ready(page)
    return [url for url in asked if not url.startswith(("file:", "data:", "blob:"))]


@pytest.mark.parametrize("name", PAGES)
def test_nothing_serious_stands_in_anyones_way(page: Any, site: Path, name: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    _open(page, site, name, drawn)
    found = Axe().run(page).response["violations"]
    grave = [
        (v["id"], v["nodes"][0]["html"]) for v in found if v["impact"] in {"serious", "critical"}
    ]
    assert grave == []


@pytest.mark.parametrize("name", PAGES)
def test_no_page_is_wider_than_the_screen(page: Any, site: Path, name: str) -> None:
    _open(page, site, name, drawn)
    size = page.viewport_size["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= size
    # What is wider than the screen must lie in a box that scrolls by itself.
    stray = page.evaluate(
        """(w) => [...document.querySelectorAll('article *')].filter(e =>
        e.getBoundingClientRect().right > w + 1
        && !e.closest('.mb-table, .mb-equation, .mb-drawing'))
        .map(e => e.outerHTML.slice(0, 120))""",
        size,
    )
    assert stray == []


@pytest.mark.parametrize("name", PAGES)
def test_no_request_leaves_the_machine(desk: Any, site: Path, name: str) -> None:
    assert _open(desk, site, name) == []


def test_search_works_from_the_disk(desk: Any, site: Path) -> None:
    left = _open(desk, site, "index")
    desk.keyboard.press("/")
    desk.keyboard.type("Centre of gravity")
    desk.wait_for_selector(".md-search-result__item a", timeout=15000)
    assert "scene.html" in desk.get_attribute(".md-search-result__item a", "href")
    assert left == []


def test_the_scheme_can_be_switched_from_the_disk(desk: Any, site: Path) -> None:
    _open(desk, site, "index")
    before = desk.get_attribute("body", "data-md-color-scheme")
    desk.click("label[title='Switch to the dark scheme']")
    assert before == "default"
    assert desk.get_attribute("body", "data-md-color-scheme") == "slate"
    desk.reload()
    assert desk.get_attribute("body", "data-md-color-scheme") == "slate"


def test_everything_can_be_read_without_script(browser: Any, site: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"file://{site}/scene.html")
    words = page.inner_text("article")
    context.close()
    for said in (
        "short",
        "203.0 ± 2.2 lb",
        "It rises from 2 to 3",
        "Keep clear of a lifted axle",
        "rulebook in force",
    ):
        assert said in words


@pytest.mark.parametrize("name", PAGES)
def test_hostile_text_runs_nothing(desk: Any, hostile: Path, name: str) -> None:
    left = _open(desk, hostile, name)
    assert desk.evaluate("window.hurt") is None
    assert desk.locator("article img").count() == 0
    assert desk.locator("a[href^='javascript']").count() == 0
    assert left == []


def test_hostile_text_in_search_results_runs_nothing(desk: Any, hostile: Path) -> None:
    _open(desk, hostile, "index")
    desk.keyboard.press("/")
    desk.keyboard.type("target")  # stands beside the hostile words
    desk.wait_for_selector(".md-search-result__item a", timeout=15000)
    desk.wait_for_timeout(500)
    assert desk.evaluate("window.hurt") is None


def test_the_front_page_answers_on_one_screen_of_a_phone(browser: Any, site: Path) -> None:
    context = browser.new_context(viewport=PHONE)
    page = context.new_page()
    page.goto(f"file://{site}/index.html")
    for words in (
        "h1",
        ".mb-edition",
        ".mb-ready",
        ".mb-least .mb-verdict-short",
        ".mb-least .mb-verdict-open",
        "#biggest-unknowns",
    ):
        box = page.locator(words).first.bounding_box()
        assert box is not None, words
        assert box["y"] + box["height"] <= PHONE["height"], words
    context.close()


def test_the_keyboard_reaches_content_and_shows_where_it_is(desk: Any, site: Path) -> None:
    _open(desk, site, "scene")
    desk.keyboard.press("Tab")
    assert desk.evaluate("document.activeElement.className").startswith("md-skip")
    desk.focus(".mb-checks a.mb-permalink")
    desk.keyboard.press("Shift+Tab")
    desk.keyboard.press("Tab")
    assert desk.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"


def test_a_permalink_brings_its_check_into_view(desk: Any, site: Path) -> None:
    _open(desk, site, "index")
    desk.click(".mb-least tr:has(.mb-verdict-short) a")
    desk.wait_for_url(re.compile(r"scene\.html#scene\.check\.light$"))
    top = desk.evaluate("document.getElementById('scene.check.light').getBoundingClientRect().top")
    assert 48 <= top <= DESK["height"] - 40, "below the header, on the screen"


FOLDED = "mass.items.part_1.mass"


def test_an_address_opens_what_its_target_is_folded_into_without_script(
    browser: Any, site: Path
) -> None:
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"file://{site}/inputs.html#{FOLDED}")
    box = page.locator(f'[id="{FOLDED}"]').bounding_box()
    assert box is not None
    assert 0 <= box["y"] < PHONE["height"]
    page.goto(f"file://{site}/inputs.html")
    assert not page.locator(f'[id="{FOLDED}"]').is_visible()
    context.close()


def test_the_script_opens_it_where_the_browser_does_not(desk: Any, site: Path) -> None:
    _open(desk, site, "inputs", drawn)
    assert not desk.locator(f'[id="{FOLDED}"]').is_visible()
    # an address put in place so is no navigation: the browser itself opens nothing
    desk.evaluate(f"history.replaceState(null, '', '#{FOLDED}')")
    assert not desk.locator(f'[id="{FOLDED}"]').is_visible()
    desk.evaluate("dispatchEvent(new HashChangeEvent('hashchange'))")
    assert desk.locator(f'[id="{FOLDED}"]').is_visible()


def test_paper_has_what_is_folded(browser: Any, site: Path) -> None:
    context = browser.new_context(viewport=DESK)
    page = context.new_page()
    page.goto(f"file://{site}/inputs.html")
    row = page.locator(f'[id="{FOLDED}"]')
    assert not row.is_visible()
    page.emulate_media(media="print")
    assert row.is_visible()
    context.close()


PAPER = {"width": 718, "height": 1000}  # what A4 leaves between margins of 1 cm, 96 to the inch
LONG_SUM = r"y = \left(" + " + ".join(rf"(a_{{{n}}})(b_{{{n}}})" for n in range(40)) + r"\right)"
LONG_FRACTION = r"y = \frac{" + " + ".join(f"a_{{{n}}} b_{{{n}}}" for n in range(40)) + "}{c}"


LONG_NEST = r"y = " + r"\left(b + c \sqrt{" * 5 + LONG_FRACTION[4:] + r"}\right)" * 5
LONGEST = {"sum": LONG_SUM, "fraction": LONG_FRACTION, "nest": LONG_NEST}


@pytest.mark.parametrize("tex", LONGEST.values(), ids=LONGEST)
@pytest.mark.parametrize(("size", "media"), [(PAPER, "print"), (PHONE, "screen")])
def test_a_long_equation_is_no_wider_than_a_sheet_or_a_phone(
    browser: Any, tex: str, size: Any, media: str
) -> None:
    """A browser shrinks a whole page on paper to what sticks out of it."""
    sheets = ("mathfont", "marginbook", "print")
    styles = "".join((FOLDER / "assets" / f"{name}.css").read_text() for name in sheets)
    context = browser.new_context(viewport=size)
    page = context.new_page()
    page.emulate_media(media=media)
    for piece, wide in ((flowing(mathml(tex)), False), (mathml(tex), True)):
        page.set_content(
            f'<style>html {{ font-size: 125% }} {styles}</style><article class="md-typeset">'
            f'<div class="mb-equation">{piece}</div></article>'
        )
        across = page.evaluate("document.querySelector('.mb-equation').scrollWidth")
        assert (across > size["width"]) == wide
    context.close()


BLOCK = """<{h}>Heading{n}.</{h}>{between}<div class="mb-table"><table class="mb-inputs"><caption>Caption{n}.</caption>
<thead><tr><th>Head{n}.</th></tr></thead><tbody><tr><th>Row{n}.</th></tr><tr><th>Next{n}.</th></tr>
<tr class="mb-record"><th>Record{n}.</th></tr><tr><th>Value{n}.</th></tr><tr><th>Last{n}.</th></tr></tbody>
</table></div>"""
TOGETHER = (("Heading", "Row"), ("Caption", "Row"), ("Head", "Row"), ("Record", "Value"))


@pytest.mark.parametrize("heading", ["h2", "h3", "h4", "h5"])
def test_no_heading_stands_alone_at_the_foot_of_a_sheet(browser: Any, heading: str) -> None:
    """Sixty blocks, each a little further down its sheet than the one before; poppler reads them back."""
    sheets = ("mathfont", "marginbook", "print")
    styles = "".join((FOLDER / "assets" / f"{name}.css").read_text() for name in sheets)
    blocks = "".join(
        f'<div style="height: {5 * (n % 23)}px"></div>'
        + BLOCK.format(h=heading, n=n, between="<p>Words.</p>" if n % 2 else "")
        for n in range(60)
    )
    context = browser.new_context()
    page = context.new_page()
    page.set_content(f'<style>{styles}</style><article class="md-typeset">{blocks}</article>')
    told = subprocess.run(
        ["pdftotext", "-", "-"], input=page.pdf(format="A4"), capture_output=True, check=True
    ).stdout.decode()
    context.close()
    first: dict[str, int] = {}
    for number, sheet in enumerate(told.split("\f")):
        for word in sheet.split():
            first.setdefault(word, number)
    apart = [
        (one, n)
        for one, other in TOGETHER
        for n in range(60)
        if first[f"{one}{n}."] != first[f"{other}{n}."]
    ]
    assert apart == []
    assert max(first.values()) > 5


def test_the_charts_follow_the_scheme(browser: Any, site: Path) -> None:
    inks = []
    for scheme in ("light", "dark"):
        context = browser.new_context(color_scheme=scheme)
        page = context.new_page()
        page.goto(f"file://{site}/scene.html")
        inks.append(
            page.evaluate("getComputedStyle(document.querySelector('.mb-chart text')).fill")
        )
        context.close()
    assert inks[0] != inks[1]


def test_paper_is_white_whichever_scheme_the_screen_has(browser: Any, site: Path) -> None:
    context = browser.new_context(viewport=DESK, color_scheme="dark")
    page = context.new_page()
    page.goto(f"file://{site}/scene.html")
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert (
        page.evaluate("getComputedStyle(document.querySelector('.mb-chart text')).fill")
        == "rgb(0, 0, 0)"
    )
    assert page.locator(".md-header").is_hidden()
    assert page.locator(".mb-statement").is_visible()
    for size in ("A4", "Letter"):
        assert page.pdf(format=size).startswith(b"%PDF")
    context.close()
