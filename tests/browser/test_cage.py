"""The cage's page in a browser: it turns, says what is picked, folds, and prints from the first side."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from buildspec.read import read_folder
from generator.compose import compose, write
from generator.evaluation import evaluate, load_subjects
from generator.render import render
from tests.browser.conftest import settled
from tests.generator.subjects.scenes import DAY

pytestmark = pytest.mark.browser

SIZES = {"phone": {"width": 390, "height": 844}, "desk": {"width": 1280, "height": 900}}
FIRST = "document.querySelector('.mb-turning .mb-tube').getAttribute('points')"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example's cage and what it needs, rendered."""
    reading = read_folder(Path(__file__).parents[2] / "example_build")
    assert reading.build is not None
    subjects = load_subjects(("mass", "air", "speed", "parachutes", "cage"))
    folder = tmp_path_factory.mktemp("cage")
    found = evaluate(reading.build, as_of=DAY, subjects=subjects)
    write(compose(found, subjects=subjects).files, folder / "tree")
    render(folder / "tree", folder / "site")
    return folder / "site"


@pytest.fixture(params=["phone-light", "desk-dark"])
def page(browser: Any, built: Path, request: pytest.FixtureRequest) -> Iterator[Any]:
    """The page from the disk, in one size and scheme, touched on the phone."""
    size, scheme = request.param.split("-")
    touch = size == "phone"
    context = browser.new_context(viewport=SIZES[size], color_scheme=scheme, has_touch=touch)
    made = context.new_page()
    made.errors = []
    made.on("pageerror", lambda error: made.errors.append(str(error)))
    made.goto(f"file://{built}/cage.html")
    settled(made)
    yield made
    assert made.errors == []
    context.close()


def drawn(page: Any) -> str:
    """The first tube as it is drawn once the next picture has been."""
    page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return str(page.evaluate(FIRST))


def test_nothing_serious_stands_in_anyones_way(page: Any) -> None:
    from axe_playwright_python.sync_playwright import Axe

    for folded in page.query_selector_all("details"):
        folded.evaluate("d => { d.open = true; }")
    only: dict[str, Any] = {"resultTypes": ["violations"]}
    if page.viewport_size == SIZES["desk"]:  # of 16,000 elements: what scheme and size can change
        only["runOnly"] = ["color-contrast", "target-size", "scrollable-region-focusable"]
    found = Axe().run(page, options=only).response["violations"]
    grave = [
        (v["id"], v["nodes"][0]["html"]) for v in found if v["impact"] in {"serious", "critical"}
    ]
    assert grave == []


def test_the_page_is_no_wider_than_the_screen(page: Any) -> None:
    for folded in page.query_selector_all("details"):
        folded.evaluate("d => { d.open = true; }")
    width = page.viewport_size["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    view = page.locator(".mb-turning").bounding_box()
    assert view["x"] >= 0
    assert view["x"] + view["width"] <= width


def test_keys_and_buttons_turn_it_and_home_brings_it_back(page: Any) -> None:
    first = drawn(page)
    page.locator(".mb-turning").focus()
    page.keyboard.press("ArrowLeft")
    assert drawn(page) != first
    page.keyboard.press("Home")
    assert drawn(page) == first
    for button in page.locator(".mb-turn-bar button").all():
        box = button.bounding_box()
        assert box["height"] >= 44
        assert box["width"] >= 44
    page.get_by_role("button", name="From above").click()
    assert drawn(page) != first
    page.get_by_role("button", name="First view").click()
    assert drawn(page) == first


def test_a_picked_tube_says_its_name_and_leads_to_its_row(page: Any) -> None:
    page.locator(".mb-turning").scroll_into_view_if_needed()
    x, y, name = page.evaluate(
        """() => { const line = document.querySelector('.mb-turning .mb-short'), p = line.points;
        const at = document.querySelector('.mb-turning').getScreenCTM();
        const [a, b] = [p.getItem(0), p.getItem(1)].map(q => q.matrixTransform(at));
        return [(a.x + b.x) / 2, (a.y + b.y) / 2, line.querySelector('title').textContent]; }"""
    )
    if page.viewport_size["width"] < 500:
        page.touchscreen.tap(x, y)
    else:
        page.mouse.click(x, y)
    said = page.locator(".mb-turn-says")
    assert said.get_attribute("role") == "status"
    assert said.inner_text() == name
    said.locator("a").click()
    assert page.evaluate(
        "document.querySelector(location.hash.replaceAll('.', '\\\\.')).checkVisibility()"
    )


def test_a_link_opens_what_is_folded(page: Any) -> None:
    ref = page.evaluate("document.querySelector('details tr[id^=\"cage.check.member\"]').id")
    shows = f"document.getElementById({ref!r}).checkVisibility()"
    assert not page.evaluate(shows)
    page.evaluate(f"location.hash = {ref!r}")
    page.wait_for_function(shows)


def test_paper_shows_the_first_view(page: Any) -> None:
    first = drawn(page)
    page.get_by_role("button", name="From the left").click()
    assert drawn(page) != first
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert drawn(page) == first
    page.emulate_media(media="print")
    assert not page.locator(".mb-turn-bar").is_visible()


def test_without_script_the_view_stands(browser: Any, built: Path) -> None:
    context = browser.new_context(java_script_enabled=False, viewport=SIZES["phone"])
    page = context.new_page()
    page.goto(f"file://{built}/cage.html")
    assert page.locator(".mb-turning .mb-tube").count() >= 60
    assert page.locator(".mb-turn-bar").count() == 0
    context.close()


def test_paper_takes_no_more_sheets_than_a_reviewer_reads(browser: Any, built: Path) -> None:
    """13 on Letter when this was written; with all that is folded it would be 45."""
    page = browser.new_page()
    page.goto(f"file://{built}/cage.html")
    sheets = re.findall(rb"/Type\s*/Page\b", page.pdf(format="A4"))
    assert 8 <= len(sheets) <= 17
    page.close()
