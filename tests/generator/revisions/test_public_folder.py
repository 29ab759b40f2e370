"""The demonstration published whole: every link leads somewhere, and every clone gives the same."""

from __future__ import annotations

import datetime
import os
import re
import subprocess
import sys
from collections.abc import Mapping
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest

from generator.new import make_folder
from generator.revisions.example import steps
from generator.revisions.publish import Order, publish
from tests.generator.revisions.repositories import edit, issue, run_git, start

ROOT = Path(__file__).parents[3]
LAST = steps()[-1]
TODAY = datetime.date(2026, 11, 25)
HELD = {"demonstration": ("latest", LAST.tag), "drafted": ("draft", "latest", "rev-1")}
"""What each public folder holds: every page there is, and every state that a page can be in."""


@pytest.fixture(scope="module")
def demonstration(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The last revision of the demonstration."""
    root = tmp_path_factory.mktemp("demo")
    make_folder(root / "demo", example=True)
    order = Order(root / "demo", root / "public", TODAY, revision=LAST.tag)
    assert publish(order).unreadable == ()
    return root / "public"


@pytest.fixture(scope="module")
def drafted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A revision of a small build, and a draft after it."""
    root = tmp_path_factory.mktemp("drafted")
    folder = start(root / "team")
    issue(folder, 1, "400 lb", "410 lb")
    publish(Order(folder, root / "public", TODAY, all=True))
    edit(folder, "410 lb", "420 lb")
    publish(Order(folder, root / "public", TODAY))
    return root / "public"


@pytest.fixture(scope="module", params=list(HELD))
def public(request: pytest.FixtureRequest) -> Path:
    """Each of the two."""
    found: Path = request.getfixturevalue(request.param)
    return found


@pytest.fixture(scope="module")
def held(public: Path, demonstration: Path) -> tuple[str, ...]:
    """The names of the folders in it that hold a site."""
    return HELD["demonstration" if public == demonstration else "drafted"]


class _Reader(HTMLParser):
    """What a page links to and loads, and its anchors."""

    def __init__(self) -> None:
        super().__init__()
        self.links: list[str] = []
        self.loads: list[str] = []
        self.anchors: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        self.anchors |= {given[key] for key in ("id", "name") if key in given}
        if tag in {"a", "area"} and "href" in given:
            self.links.append(given["href"])
        self.loads += [given["src"]] if "src" in given else []
        if tag == "link" and given.get("rel") in {"stylesheet", "icon", "preload"}:
            self.loads.append(given["href"])


@pytest.fixture(scope="module")
def pages(public: Path) -> Mapping[Path, _Reader]:
    """Every page below the public folder, read once."""
    read = {}
    for path in sorted(public.rglob("*.html")):
        read[path.resolve()] = reader = _Reader()
        reader.feed(path.read_text("utf-8"))
    return read


def test_every_revision_is_there(
    public: Path, held: tuple[str, ...], pages: Mapping[Path, _Reader]
) -> None:
    for name in held:
        assert (public / name / "index.html").is_file(), name
        assert len([p for p in pages if p.is_relative_to((public / name).resolve())]) >= 8


def test_the_demonstration_has_a_page_for_every_subject(demonstration: Path) -> None:
    assert len(list((demonstration / LAST.tag).rglob("*.html"))) > 25


def test_every_link_of_every_page_leads_to_a_page_and_a_place_on_it(
    public: Path, pages: Mapping[Path, _Reader]
) -> None:
    broken = []
    for path, reader in pages.items():
        for link in reader.links:
            if re.match(r"https?:|mailto:|data:", link):
                continue
            name, _, anchor = link.partition("#")
            target = (path.parent / unquote(name.partition("?")[0])).resolve() if name else path
            target = target / "index.html" if target.is_dir() else target
            there = target.is_file() and target.is_relative_to(public.resolve())
            at = target in pages and unquote(anchor) in pages[target].anchors
            if not there or (anchor and not at):
                broken.append(f"{path.relative_to(public.resolve())}: {link}")
    assert broken == []


def test_every_page_loads_what_it_loads_from_this_folder(
    public: Path, pages: Mapping[Path, _Reader]
) -> None:
    for path, reader in pages.items():
        for address in reader.loads:
            if address.startswith("data:"):
                continue
            assert not re.match(r"(?:[a-z]+:)?//", address), f"{path}: {address}"
            found = (path.parent / unquote(address.partition("?")[0])).resolve()
            assert found.is_file(), f"{path}: {address}"
            assert found.is_relative_to(public.resolve())


def test_every_page_says_its_revision_and_what_changed(demonstration: Path) -> None:
    title = LAST.message.split("\n", 1)[0]
    for page in (demonstration / LAST.tag).rglob("*.html"):
        text = page.read_text("utf-8").replace("&#39;", "'")
        assert f"<strong>{LAST.tag}</strong>, issued {LAST.when.date()}: {title}" in text
        if page.name != "binder.html":  # the dossier leads nowhere: it is passed on alone
            assert re.search(r'<a href="(\.\./)+index\.html">All revisions</a>', text)


def test_every_digest_stands(public: Path, held: tuple[str, ...]) -> None:
    for name in held:
        done = subprocess.run(
            ["sha256sum", "-c", "--strict", "--quiet", "digests.sha256"],
            cwd=public / name,
            capture_output=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout


def test_two_clones_on_other_clocks_give_identical_bytes(tmp_path: Path) -> None:
    """Other place, hash seed, time zone, language and day, several processes or one: the public folders
    are the same.
    """
    folder = start(tmp_path / "team")
    issue(folder, 1, "400 lb", "410 lb")
    issue(folder, 2, "410 lb", "455 lb")
    run_git(tmp_path, "clone", "-q", str(tmp_path / "team"), "some/where/else")
    found = []
    for number, clone in enumerate(("team", "some/where/else")):
        other = {
            "PYTHONHASHSEED": str(number + 1),
            "TZ": ("Pacific/Auckland", "America/Los_Angeles")[number],
            "LC_ALL": ("C.UTF-8", "C")[number],
            "SOURCE_DATE_EPOCH": str(1_000_000_000 + number * 700_000_000),
            "PYTHONPATH": str(ROOT),
        }
        target = tmp_path / f"public{number}"
        subprocess.run(
            [
                sys.executable,
                "-m",
                "generator",
                "publish",
                str(tmp_path / clone / "car"),
                "--to",
                str(target),
                "--all",
                "--as-of",
                f"2027-0{number + 1}-01",
            ],
            check=True,
            env=os.environ | other,
            cwd=tmp_path,
            capture_output=True,
            preexec_fn=_on_one_processor if number else None,
        )
        found.append(
            {p.relative_to(target): p.read_bytes() for p in target.rglob("*") if p.is_file()}
        )
    assert found[0].keys() == found[1].keys()
    assert [n for n in found[0] if found[0][n] != found[1][n]] == []


def _on_one_processor() -> None:
    """Let the process that is about to begin use one processor alone."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
