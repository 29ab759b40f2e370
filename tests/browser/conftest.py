"""One headless Chromium and one rendered scene for all browser tests."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from buildspec.build import Page
from buildspec.diagnostics import Place
from generator.charts import canvas
from generator.charts.chart import Chart
from generator.compose import compose, write
from generator.render import render
from tests.generator import scene

TEXT = """# Why so

It weighs {{ value("scene.total") }}, and `code` stays.

## A table

| part | state |
|---|---|
| wing | none |
"""
LONG = "Fuel pump bracket, the second one, long of name, andnospacesinthisverylongwordatallreally"
HOSTILE = (
    "<script>window.hurt = 1</script><img src=x onerror='window.hurt = 1'> "
    "[x](javascript:window.hurt=1) **b**"
)


def _chart(*_: Any) -> tuple[Chart, ...]:
    fig = canvas.figure(5.0, 2.5)
    axes = canvas.axes(fig)
    axes.plot([0, 1, 2], [2, 1, 3], color=canvas.SERIES[0], marker="o")
    axes.set_xlabel("x (in)")
    axes.set_title(HOSTILE)
    return (canvas.finish(fig, "scene.line", "Line", "It rises from 2 to 3 after a dip to 1."),)


def _site(folder: Path, monkeypatch: pytest.MonkeyPatch, **given: Any) -> Path:
    monkeypatch.setattr("generator.gathered.drawn", _chart)
    page = Page("why", "Why so", TEXT, Place("pages/why.md"))
    files = compose(
        scene.evaluation(scene.build(pages=(page,), **given)), subjects=scene.SUBJECTS
    ).files
    write(files, folder / "tree")
    render(folder / "tree", folder / "site")
    return folder / "site"


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scene with long names."""
    with pytest.MonkeyPatch.context() as patch:
        return _site(tmp_path_factory.mktemp("long"), patch, item=LONG)


@pytest.fixture(scope="session")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scene with hostile text wherever text may stand."""
    with pytest.MonkeyPatch.context() as patch:
        return _site(
            tmp_path_factory.mktemp("hostile"), patch, name=HOSTILE, item=HOSTILE, hostile=HOSTILE
        )


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Debian's Chromium, headless. Its absence is a failure: nothing else proves the same."""
    from playwright.sync_api import sync_playwright

    found = (
        shutil.which("chromium")
        or shutil.which("chromium-browser")
        or shutil.which("google-chrome")
    )
    assert found, "no Chromium; apt-get install chromium, or deselect with -m 'not browser'"
    with sync_playwright() as play:
        made = play.chromium.launch(executable_path=found, args=["--no-sandbox", "--disable-gpu"])
        yield made
        made.close()


def drawn(page: Any) -> None:
    """Wait until a page that was loaded is drawn: its letters are there, and a frame with them."""
    page.evaluate(
        """document.fonts.ready.then(() => new Promise(done =>
        requestAnimationFrame(() => requestAnimationFrame(done))))"""
    )


def settled(page: Any) -> None:
    """Wait until nothing loads any more; a page of files is loaded, even if that is never said."""
    from playwright.sync_api import TimeoutError as Late

    try:
        page.wait_for_load_state("networkidle", timeout=5_000)
    except Late:
        page.wait_for_load_state("load")
