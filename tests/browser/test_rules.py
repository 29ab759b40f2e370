"""The requirements in a browser, with and without a script, and the inspection sheet on paper."""

from __future__ import annotations

import re
import subprocess
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from generator.compose import compose, write
from generator.evaluation import evaluate, load_subjects
from generator.render import render
from tests.browser.conftest import settled
from tests.generator.subjects.scenes import DAY, read_text

pytestmark = pytest.mark.browser

STATES = ("departs", "conforms", "open", "not applicable", "waived")
SEEN = "attest: {by: Osei, date: 2026-11-01, found: %s}"
PROOFS = {
    "departs": SEEN % "departs",
    "conforms": SEEN % "conforms",
    "open": "attest: {}",
    "not applicable": "not_applicable: no boat, attest: {}",
    "waived": "attest: {}, waiver: {authority: R. Ekdahl, reference: '7', date: 2026-11-01, scope: all}",
}
GROUPS = ("fuel", "brakes", "steering", "body")
EACH = 6
"""Lines of each state in each group: 4 groups of 30 lines."""
PAPER = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height in millimetres: ISO 216, and 8.5 by 11 inches."""


def _text() -> str:
    lines = (
        f"        - {{id: {group}_{state.replace(' ', '_')}_{n}, group: {group}, "
        f"statement: The {group} line {n} is looked at., {PROOFS[state]}}}\n"
        for group in GROUPS
        for state in STATES
        for n in range(EACH)
    )
    groups = ", ".join(f"{{id: {g}, title: {g.title()}}}" for g in GROUPS)
    return f"""format: 1
vehicle: {{name: Wren, number: "41", class_record: 260 mph}}
rules:
  sheets:
    - id: own
      title: Own sheet
      groups: [{groups}]
      inspectors: [{{above: 0 mph, count: 1}}, {{above: 250 mph, count: 3}}]
      requirements:
{"".join(lines)}"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sheet of 120 lines as a site."""
    folder = tmp_path_factory.mktemp("rules")
    build, problems = read_text(folder, _text())
    assert problems == ()
    assert build is not None
    chosen = load_subjects(("rules", "inspection"))
    write(compose(evaluate(build, as_of=DAY, subjects=chosen), subjects=chosen).files, folder / "t")
    render(folder / "t", folder / "site")
    return folder / "site"


def _opened(browser: Any, address: str, **given: Any) -> Any:
    page = browser.new_context(**given).new_page()
    page.goto(address)
    settled(page)
    return page


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
@pytest.mark.parametrize(
    ("anchor", "shown"),
    [
        ("", (0, 4)),
        ("#own-all", (120, 4)),
        ("#own-departs", (24, 4)),
        ("#own-not-applicable", (24, 4)),
        ("#own.brakes", (30, 4)),
        ("#rules.requirement.own.fuel_open_0", (30, 4)),
    ],
)
def test_an_address_shows_a_part(
    browser: Any, site: Path, script: bool, anchor: str, shown: tuple[int, int]
) -> None:
    page = _opened(browser, f"file://{site}/rules.html{anchor}", java_script_enabled=script)
    counted = [page.locator(f"{what}:visible").count() for what in ("tr.mb-line", ".mb-lines")]
    assert tuple(counted) == shown  # lines, and groups with their counts
    assert page.locator("form.mb-filter:visible").count() == script
    page.context.close()


def test_the_form_shows_a_part(browser: Any, site: Path) -> None:
    page = _opened(browser, f"file://{site}/rules.html")
    page.select_option("form.mb-filter select[name=state]", "waived")
    page.select_option("form.mb-filter select[name=group]", "Body")
    assert page.locator("tr.mb-line:visible").count() == EACH
    assert page.locator(".mb-lines:visible").count() == 1
    page.click(".mb-filter button")
    page.wait_for_function(
        "document.querySelector('.mb-filter output').textContent.startsWith('all')"
    )
    assert page.locator(".mb-lines:visible").count() == len(GROUPS)
    page.context.close()


def test_paper_has_what_is_folded_away(browser: Any, site: Path) -> None:
    """Read back by poppler, which knows nothing of folds."""
    page = _opened(browser, f"file://{site}/rules.html")
    told = subprocess.run(
        ["pdftotext", "-", "-"], input=page.pdf(), capture_output=True, check=True
    ).stdout.decode()
    assert all(f"The {group} line 5 is looked at." in " ".join(told.split()) for group in GROUPS)
    page.context.close()


@pytest.mark.parametrize("name", ["rules", "inspection"])
@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1280, "dark")])  # as of all pages
def test_nothing_serious_stands_in_anyones_way(
    browser: Any, site: Path, name: str, scheme: str, width: int
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    size = {"width": width, "height": 844}
    page = _opened(browser, f"file://{site}/{name}.html", viewport=size, color_scheme=scheme)
    found = Axe().run(page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in {"serious", "critical"}] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.context.close()


def test_on_a_phone_a_line_is_a_card(browser: Any, site: Path) -> None:
    size = {"width": 390, "height": 844}
    page = _opened(browser, f"file://{site}/rules.html#own-all", viewport=size)
    line = page.locator("tr.mb-line").first
    boxes = [line.locator(cell).bounding_box() for cell in ("th", "td:nth-of-type(2)")]
    assert boxes[1]["y"] >= boxes[0]["y"] + boxes[0]["height"] - 1  # below, not beside
    page.context.close()


@pytest.mark.parametrize("paper", PAPER)
def test_the_inspection_sheet_prints_on_a_clipboards_paper(
    browser: Any, site: Path, paper: str
) -> None:
    """120 lines with 4 headings at some 35 a page need 4 pages, and with the head at most 6."""
    page = _opened(browser, f"file://{site}/inspection.html", color_scheme="dark")
    data = page.pdf(format=paper)
    assert 4 <= len(re.findall(rb"/Type\s*/Page\b(?!s)", data)) <= 6
    page.context.close()


@pytest.mark.parametrize("paper", PAPER)
def test_the_paper_needs_no_colour_and_a_box_holds_initials(
    browser: Any, site: Path, paper: str
) -> None:
    """As wide as the paper between margins of 14 mm; 96 CSS pixels are one inch of 25.4 mm."""
    millimetre = 96.0 / 25.4
    width = int((PAPER[paper][0] - 28.0) * millimetre)
    size = {"width": width, "height": 900}
    page = _opened(browser, f"file://{site}/inspection.html", viewport=size, color_scheme="dark")
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    edge = "document.querySelector('table.mb-inspection').getBoundingClientRect().right"
    assert page.evaluate(edge) <= width - 1  # a printer cuts a rule at the very edge
    cells = page.locator("tbody tr:not(.mb-group) td.mb-initial")
    assert cells.count() == (120 + 6) * 3  # three sign, and six lines are left blank
    box = cells.first.bounding_box()
    assert box["width"] >= 12 * millimetre  # two letters of handwriting
    assert box["height"] >= 6 * millimetre
    picture = Image.open(BytesIO(page.screenshot())).convert("RGB")
    spread = max(max(p) - min(p) for _, p in picture.getcolors(maxcolors=1 << 24) or [])
    assert spread == 0  # every pixel is grey
    assert max(picture.getcolors(maxcolors=1 << 24) or [])[1] == (255, 255, 255)
    page.context.close()
