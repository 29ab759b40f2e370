"""The preview: a broken description shows its problems, and the last good site comes back."""

from __future__ import annotations

import datetime
import socket
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from generator import serve as module
from generator.serve import Preview, problem_page, serve

GOOD = "format: 1\nunits: us\nvehicle:\n  name: Slate Kestrel\n"
TODAY = datetime.date(2026, 3, 14)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A build folder with the least that builds."""
    build = tmp_path / "build"
    build.mkdir()
    (build / "build.yaml").write_text(GOOD)
    return build


def _preview(folder: Path) -> Preview:
    scratch = folder.parent / "scratch"
    scratch.mkdir()
    return Preview(folder, scratch, lambda: TODAY)


def _front(preview: Preview) -> str:
    return (preview.root / "index.html").read_text("utf-8")


def test_problems_show_while_broken_and_the_site_returns_when_mended(folder: Path) -> None:
    preview = _preview(folder)
    preview.rebuild()
    assert "Slate Kestrel" in _front(preview)
    (folder / "build.yaml").write_text(GOOD.replace("name:", "nme:"))
    preview.rebuild()
    assert "build.yaml:4:3" in _front(preview)
    assert "did you mean" in _front(preview)
    assert (preview.root / "inputs.html").read_text("utf-8") == _front(preview), (
        "every page shows them"
    )
    (folder / "build.yaml").write_text(GOOD.replace("Slate", "Umber"))
    preview.rebuild()
    assert "Umber Kestrel" in _front(preview)


def test_a_folder_that_was_never_good_shows_its_problems(folder: Path) -> None:
    (folder / "build.yaml").unlink()
    preview = _preview(folder)
    preview.rebuild()
    assert "build.yaml" in _front(preview)


def test_text_of_the_description_is_escaped_in_the_problems(folder: Path) -> None:
    (folder / "build.yaml").write_text(
        "format: 1\nvehicle:\n  name: x\n  <script>alert(1)</script>: 1\n"
    )
    preview = _preview(folder)
    preview.rebuild()
    assert "<script>alert" not in _front(preview)
    assert "&lt;script&gt;" in _front(preview)


def test_a_fault_of_ours_does_not_stop_the_preview(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: Any, **__: Any) -> None:
        raise RuntimeError("<broken>")

    preview = _preview(folder)
    monkeypatch.setattr(module, "build_site", fail)
    preview.rebuild()
    assert "A fault of the program" in _front(preview)
    assert "RuntimeError: &lt;broken&gt;" in _front(preview)
    assert "Traceback" not in _front(preview)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.1", "example.org", ""])
def test_only_this_machine_is_served(folder: Path, host: str) -> None:
    with pytest.raises(ValueError, match="not an address of this machine alone"):
        serve(folder, host=host)


def test_a_taken_port_is_said_in_words(folder: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(OSError, match="this port is taken; choose another"):
            serve(folder, port=taken.getsockname()[1])


def test_a_problem_page_holds_text_that_is_no_text() -> None:
    assert b"&lt;\xef\xbf\xbd" in problem_page("t", "<\ufffd") or b"&lt;?" in problem_page(
        "t", "<\udcff"
    )


@pytest.fixture
def served(folder: Path) -> Iterator[Callable[..., str]]:
    """A running preview; the value gets a page of it."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    started: list[Any] = []
    thread = threading.Thread(
        target=serve, args=(folder,), kwargs={"port": port, "ready": started.append}, daemon=True
    )
    thread.start()

    def get(page: str = "", **headers: str) -> str:
        request = urllib.request.Request(f"http://127.0.0.1:{port}/{page}", headers=headers)
        with urllib.request.urlopen(request, timeout=20) as answer:
            return str(answer.read().decode())

    _until(lambda: "Slate Kestrel" in get())
    yield get
    started[0].shutdown()
    thread.join(10)
    assert not thread.is_alive()


def _until(holds: Callable[[], bool], seconds: float = 30.0) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        try:
            if holds():
                return
        except (urllib.error.URLError, ConnectionError):
            pass
        time.sleep(0.1)
    pytest.fail("it did not come about in time")


def test_a_folder_that_loses_its_name_is_missed_and_seen_again(
    folder: Path, served: Callable[..., str]
) -> None:
    folder.rename(folder.with_name("elsewhere"))
    _until(lambda: "cannot be read" in served())
    folder.with_name("elsewhere").rename(folder)
    _until(lambda: "Slate Kestrel" in served())
    (folder / "build.yaml").write_text(GOOD.replace("Slate", "Ochre"))
    _until(lambda: "Ochre Kestrel" in served())


def test_a_change_is_seen_and_a_stranger_is_refused(
    folder: Path, served: Callable[..., str]
) -> None:
    assert "livereload" in served("inputs.html")
    (folder / "build.yaml").write_text("format: 1\nvehicle: {}\n")
    _until(lambda: "cannot be read" in served("inputs.html"))
    (folder / "build.yaml").write_text(GOOD.replace("Slate", "Ochre"))
    _until(lambda: "Ochre Kestrel" in served())
    with pytest.raises(urllib.error.HTTPError, match="403"):
        served(Host="attacker.example")
