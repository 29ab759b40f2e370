"""The public folder in a browser: from a disk, over http, and without network after one visit."""

from __future__ import annotations

import datetime
import functools
import http.server
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from generator.revisions.publish import Order, publish
from tests.generator.revisions.repositories import commit, edit, issue, start, tag

pytestmark = pytest.mark.browser
TODAY = datetime.date(2026, 11, 25)
HOSTILE = "<img src=x onerror=document.title=1> \"'&</script>"


@pytest.fixture(scope="module")
def public(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three revisions and a draft; the first has no page of the team's own."""
    root = tmp_path_factory.mktemp("public")
    folder = start(root / "team")
    issue(folder, 1, "400 lb", "410 lb")
    (folder / "pages").mkdir()
    (folder / "pages" / "why so.md").write_text("# Why so\n\nBecause.\n", "utf-8")
    issue(folder, 2, "410 lb", "420 lb")
    edit(folder, "420 lb", "430 lb")
    commit(folder, "More")
    tag(folder, "rev-3", HOSTILE, when="2026-10-01T12:00:00+0200")
    publish(Order(folder, root / "public", TODAY, all=True))
    edit(folder, "430 lb", "440 lb")
    publish(Order(folder, root / "public", TODAY))
    return root / "public"


class _Quiet(http.server.SimpleHTTPRequestHandler):
    """Serves files and says nothing."""

    def log_message(self, *_: object) -> None:
        """Nothing."""


Server = tuple[str, Callable[[], None]]


@pytest.fixture
def server(public: Path, tmp_path: Path) -> Iterator[Server]:
    """The folder below a path of a server, as hosts have it: its address, and what stops it."""
    shutil.copytree(public, tmp_path / "host" / "project")
    handler = functools.partial(_Quiet, directory=str(tmp_path / "host"))
    running = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
    threading.Thread(target=running.serve_forever, daemon=True).start()

    def stop() -> None:
        running.shutdown()
        running.server_close()

    yield f"http://127.0.0.1:{running.server_address[1]}/project", stop
    stop()


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    """A page of phone size that gathers what goes wrong on it."""
    context = browser.new_context(viewport={"width": 390, "height": 844}, service_workers="allow")
    made = context.new_page()
    made.wrong = []
    made.on("console", lambda m: made.wrong.append(m.text) if m.type == "error" else None)
    made.on("pageerror", lambda error: made.wrong.append(str(error)))
    yield made
    context.close()


def _superseded(page: Any) -> list[str]:
    return list(page.locator(".mb-superseded").all_inner_texts())


def _revisions(page: Any) -> list[str]:
    page.locator(".mb-rev summary").click()
    return list(page.locator(".mb-rev li").all_inner_texts())


def _look_around(page: Any, address: str) -> None:
    """What holds on a disk and over http alike."""
    page.goto(f"{address}/rev-1/mass.html")
    page.wait_for_selector(".mb-superseded")
    assert _superseded(page)[0].startswith("Superseded by rev-3, issued 2026-10-01.")
    assert [line.split(":")[0].split(" at ")[0] for line in _revisions(page)] == [
        "draft",
        "rev-3",
        "rev-2",
        "rev-1",
        "All revisions",
    ]
    page.locator(".mb-rev li a", has_text="rev-2").click()
    page.wait_for_selector(".mb-rev summary")
    assert page.url == f"{address}/rev-2/mass.html", "the same page of the other revision"
    page.locator(".mb-superseded a").click()
    page.wait_for_selector(".mb-rev summary")
    assert page.url == f"{address}/rev-3/mass.html"
    assert _superseded(page) == []
    assert page.locator(".mb-rev li a[aria-current]").all_text_contents()[0].startswith("rev-3")
    page.goto(f"{address}/rev-2/team/why-so.html")
    _revisions(page)
    page.locator(".mb-rev li a", has_text="rev-3").click()
    page.wait_for_selector(".mb-rev summary")
    assert page.url == f"{address}/rev-3/team/why-so.html"
    _revisions(page)
    page.locator(".mb-rev li a", has_text="rev-1").click()
    page.wait_for_selector(".mb-rev summary")
    assert page.url == f"{address}/rev-1/index.html", "a page that is not there is not linked"
    for other in ("draft", "latest"):
        page.goto(f"{address}/{other}/index.html")
        page.wait_for_selector(".mb-rev summary")
        assert _superseded(page) == []
    _revisions(page)
    page.locator(".mb-rev li a", has_text="All revisions").click()
    page.wait_for_selector("table")
    assert page.url == f"{address}/index.html"
    assert page.locator("tbody th").all_inner_texts() == ["rev-3", "rev-2", "rev-1"]
    assert HOSTILE in page.locator("tbody tr").first.inner_text().replace("\n", " ")
    assert page.title() == "Brass Heron: revisions"


def test_it_works_from_a_disk(public: Path, page: Any) -> None:
    _look_around(page, public.as_uri())
    assert page.wrong == []


def test_it_works_over_http(server: Server, page: Any) -> None:
    _look_around(page, server[0])
    assert page.wrong == []


def test_links_lead_on_without_script(public: Path, browser: Any) -> None:
    context = browser.new_context(java_script_enabled=False)
    plain = context.new_page()
    plain.goto(f"{public.as_uri()}/rev-2/team/why-so.html")
    plain.get_by_text("All revisions").click()
    assert plain.url == f"{public.as_uri()}/index.html"
    plain.locator("tbody a").last.click()
    assert plain.url == f"{public.as_uri()}/rev-1/index.html"
    context.close()


def test_a_revision_copied_away_alone_says_that_it_cannot_know(
    public: Path, page: Any, tmp_path: Path
) -> None:
    shutil.copytree(public / "rev-1", tmp_path / "stick" / "rev-1")
    page.goto(f"{(tmp_path / 'stick').as_uri()}/rev-1/index.html")
    page.wait_for_selector(".mb-rev-alone")
    assert "cannot be told whether it is superseded" in page.inner_text(".mb-rev")
    assert page.locator(".mb-rev-all").count() == 0


def _wait_for(page: Any, question: str, seconds: float = 30.0) -> None:
    """Wait until the answer to a question, which may come later, is yes."""
    until = time.monotonic() + seconds
    while not page.evaluate(question):
        assert time.monotonic() < until, question
        time.sleep(0.05)


def _kept(page: Any) -> None:
    page.wait_for_selector(".mb-kept", timeout=30_000)


def test_one_visit_is_enough_to_do_without_network(server: Server, page: Any) -> None:
    address, stop = server
    page.goto(f"{address}/latest/index.html")
    _kept(page)
    page.goto(f"{address}/rev-1/mass.html")
    _kept(page)
    stop()
    for name in ("latest/mass.html", "latest/", "rev-1/index.html", "rev-1/open-items.html"):
        answer = page.goto(f"{address}/{name}")
        assert answer.status == 200, name
        page.wait_for_selector(".mb-rev summary")
        page.wait_for_function("document.fonts.ready.then(() => true)")
        assert page.evaluate("getComputedStyle(document.querySelector('.mb-rev')).display") != ""
    page.goto(f"{address}/rev-1/index.html")
    page.wait_for_selector(".mb-superseded")
    page.goto(f"{address}/index.html")
    assert page.locator("tbody th").all_inner_texts() == ["rev-3", "rev-2", "rev-1"]
    assert page.wrong == [], "nothing is missing: styles, scripts, pictures"


def test_the_front_page_alone_keeps_the_newest_revision(server: Server, page: Any) -> None:
    address, stop = server
    page.goto(f"{address}/")
    _wait_for(
        page,
        "caches.keys().then(ks => Promise.all(ks.map(k => caches.open(k).then(c =>"
        " c.match(new URL('latest/digests.sha256', location)))))).then(f => f.some(Boolean))",
    )
    stop()
    assert page.goto(f"{address}/latest/mass.html").status == 200
    assert "rev-3" in page.inner_text(".mb-rev-state")


def test_a_new_revision_reaches_a_device_that_kept_the_old_one(
    server: Server, page: Any, tmp_path: Path, public: Path
) -> None:
    address, stop = server
    page.goto(f"{address}/latest/mass.html")
    _kept(page)
    host = tmp_path / "host" / "project"
    team = tmp_path / "team"
    shutil.copytree(public.parent / "team", team)
    edit(team / "car", "440 lb", "450 lb")
    commit(team, "Next")
    tag(team, "rev-4", "The next one", when="2026-10-09T12:00:00+0200")
    publish(Order(team / "car", host, TODAY))
    page.goto(f"{address}/latest/mass.html")
    assert "rev-4" in page.inner_text(".mb-rev-state"), "with a network, what is new comes first"
    page.goto(f"{address}/rev-3/mass.html")
    page.wait_for_selector(".mb-superseded")
    assert "Superseded by rev-4" in _superseded(page)[0]
    _wait_for(
        page,
        "caches.keys().then(ks => ks.filter(k => k.includes(' latest ')).length === 1)"
        ".then(async one => one && (await (await caches.match(new URL("
        "'../latest/index.html', location))).text()).includes('rev-4'))",
    )
    stop()
    page.goto(f"{address}/latest/index.html")
    assert "rev-4" in page.inner_text(".mb-rev-state"), "and stays without one"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_is_wider_than_the_screen_and_links_can_be_hit(
    public: Path, browser: Any, width: int, scheme: str
) -> None:
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
    page = context.new_page()
    links = {"index.html": ".now a, tbody th a", "rev-1/mass.html": ".mb-rev a"}
    for name, own in links.items():
        page.goto(f"{public.as_uri()}/{name}")
        if name != "index.html":
            _revisions(page)
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, name
        boxes = [a.bounding_box() for a in page.locator(own).all()]
        assert boxes
        assert min(box["height"] for box in boxes if box) >= 24  # WCAG 2.2, target size (minimum)
        assert max(box["x"] + box["width"] for box in boxes if box) <= width
    context.close()


def test_paper_says_which_state_it_shows_and_carries_no_list(public: Path, browser: Any) -> None:
    page = browser.new_page()
    page.goto(f"{public.as_uri()}/rev-1/mass.html")
    page.wait_for_selector(".mb-superseded")
    page.emulate_media(media="print")
    assert page.locator(".mb-rev-state").is_visible()
    assert page.locator(".mb-superseded").is_visible()
    assert not page.locator(".mb-rev details").is_visible()
    page.close()


@pytest.mark.parametrize("name", ["index.html", "rev-1/mass.html"])
def test_the_pages_have_no_fault_that_a_checker_of_accessibility_finds(
    public: Path, browser: Any, name: str
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = browser.new_page()
    page.goto(f"{public.as_uri()}/{name}")
    if name != "index.html":
        _revisions(page)
    found = Axe().run(page).response["violations"]
    assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == []
    page.close()


def test_a_page_that_was_not_kept_says_what_was(server: Server, page: Any) -> None:
    address, stop = server
    page.goto(f"{address}/rev-1/mass.html")
    _kept(page)
    stop()
    assert page.goto(f"{address}/rev-2/index.html").status == 503
    assert page.inner_text("h1") == "Not kept on this device"
    assert page.locator("li a").all_inner_texts() == ["rev-1"]
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    page.click("li a")
    page.wait_for_selector(".mb-superseded")
    page.goto(f"{address}/rev-2/index.html")
    page.click("text=All revisions")
    assert page.locator("tbody th").all_inner_texts() == ["rev-3", "rev-2", "rev-1"]
