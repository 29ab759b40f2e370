"""The site on this machine while the description is edited; problems show in its place."""

from __future__ import annotations

import datetime
import errno
import html
import ipaddress
import logging
import os
import shutil
import tempfile
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any

from mkdocs.livereload import LiveReloadServer
from watchdog.events import FileSystemEvent, FileSystemEventHandler

from buildspec.diagnostics import Diagnostic, render
from buildspec.read import read_folder
from generator.revisions.edition import edition_of
from generator.revisions.pages import pages_alone
from generator.site import build_site

_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width,initial-scale=1">
<title>{title}</title>
<style>:root{{color-scheme:light dark}}
body{{font:1rem/1.5 system-ui,sans-serif;margin:2rem auto;max-width:60rem;padding:0 1rem}}
h1{{font-size:1.4rem}}pre{{border-left:.3rem solid;overflow-x:auto;padding:.5rem 1rem}}
</style></head>
<body><main><h1>{title}</h1><p>{advice}</p>
<pre tabindex="0">{text}</pre></main></body></html>
"""
_MENDED = (
    "This page reloads by itself when the files change; the site returns once they are mended."
)


def problem_page(title: str, text: str) -> bytes:
    """A page that shows `text` as it stands."""
    shown = html.escape(text.strip())
    return _PAGE.format(title=html.escape(title), advice=_MENDED, text=shown).encode(
        "utf-8", "replace"
    )


class Preview:
    """The last good site and, while the description is broken, a page of its problems instead.

    `rebuild` never raises. `root` is the folder to be served now.
    """

    def __init__(self, folder: Path, scratch: Path, today: Callable[[], datetime.date]) -> None:
        self.folder, self.today = folder, today
        self.site, self.broken = scratch / "site", scratch / "broken"
        self.root = self.broken

    def rebuild(self) -> None:
        """Read, evaluate and write again; on any failure show why."""
        try:
            failure = self._build()
        except Exception as error:  # a fault of ours must not stop the preview
            failure = problem_page(
                "A fault of the program, not of your description",
                f"{type(error).__name__}: {error}\n\nRun `marginbook --trace build` "
                "and report what it prints.",
            )
        if failure is None:
            self.root = self.site
        else:
            self._show(failure)

    def _build(self) -> bytes | None:
        """Build the site, or give the page that says why it cannot be built."""
        reading = read_folder(self.folder)
        if reading.build is None:
            return _problems(reading.problems, reading.texts)
        edition = edition_of(self.folder)
        made = build_site(
            reading.build,
            self.folder,
            self.site,
            as_of=self.today(),
            edition=edition,
            extra=pages_alone,
        )
        texts = {**reading.texts, **made.texts}
        return _problems(made.problems, texts) if made.problems else None

    def _show(self, page: bytes) -> None:
        """Put the page in the place of every page of the last good site, so that none is lost."""
        known = {p.relative_to(self.site) for p in self.site.rglob("*.html")} | {Path("index.html")}
        shutil.rmtree(self.broken, ignore_errors=True)
        for name in known:
            target = self.broken / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(page)
        self.root = self.broken


def _problems(problems: tuple[Diagnostic, ...], texts: Any) -> bytes:
    return problem_page("The description cannot be read", render(problems, texts))


class _Server(LiveReloadServer):
    """MkDocs' server, answering only who asks for this machine by a name of its own."""

    def serve_request(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        """Refuse other host names, which a hostile page could have pointed at this machine."""
        host = environ.get("HTTP_HOST", "").rsplit(":", 1)[0]
        if host not in {"localhost", "127.0.0.1", "[::1]"}:
            start_response("403 Forbidden", [("Content-Type", "text/plain")])
            return [b"only for this machine\n"]
        answer: Iterable[bytes] = super().serve_request(environ, start_response)
        return answer


def serve(
    folder: Path,
    host: str = "127.0.0.1",
    port: int = 8000,
    *,
    ready: Callable[[LiveReloadServer], None] = lambda _: None,
) -> None:
    """Serve the site of `folder` until interrupted, and build it again on every change.

    Only loopback addresses are served: ValueError otherwise. OSError where the port is taken.
    `ready` is called with the server before it begins to answer.
    """
    if not _is_loopback(host):
        raise ValueError(f"{host} is not an address of this machine alone; use 127.0.0.1")
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    with tempfile.TemporaryDirectory(prefix="marginbook-serve-") as scratch:
        preview = Preview(
            folder, Path(scratch), lambda: datetime.datetime.now().astimezone().date()
        )
        preview.rebuild()
        server = _server(preview, host, port)
        _watch(server, folder, Path(scratch) / "noticed")
        ready(server)
        print(f"serving {server.url}; press Ctrl-C to stop", flush=True)
        try:
            server.serve()  # type: ignore[no-untyped-call]
        finally:
            server.shutdown(wait=False)


class _Whereabouts(FileSystemEventHandler):
    """Sees the folder itself come and go, which a watch of what is in it does not."""

    def __init__(self, folder: Path, moved: Callable[[], None]) -> None:
        self.folder, self.moved = os.fspath(folder), moved

    def on_any_event(self, event: FileSystemEvent) -> None:
        """Tell when the folder gets its name or loses it."""
        if event.event_type != "modified" and self.folder in {event.src_path, event.dest_path}:
            self.moved()


def _watch(server: LiveReloadServer, folder: Path, noticed: Path) -> None:
    """Build again when something in the folder changes, or when the folder itself moves.

    Then a file in `noticed`, which the server watches too, is written: that is its way to be told.
    """
    folder = folder.resolve()

    def begin() -> None:
        if folder.is_dir():
            server.watch(os.fspath(folder))

    def moved() -> None:
        with suppress(KeyError):  # none while the folder is away
            server.unwatch(os.fspath(folder))  # the old watch ended with the old folder
        begin()
        (noticed / "moved").write_text(str(time.monotonic_ns()), "utf-8")

    noticed.mkdir()
    server.watch(os.fspath(noticed))
    begin()
    if folder.parent.is_dir():
        handler = _Whereabouts(folder, moved)
        server.observer.schedule(handler, os.fspath(folder.parent), recursive=False)


def _server(preview: Preview, host: str, port: int) -> LiveReloadServer:
    def rebuild() -> None:
        preview.rebuild()
        server.root = os.fspath(preview.root)

    _try_port(host, port)
    server = _Server(rebuild, host, port, os.fspath(preview.root))
    server.error_handler = lambda code: (
        (preview.broken / "index.html").read_bytes() if (preview.root == preview.broken) else None
    )
    return server


def _try_port(host: str, port: int) -> None:
    """OSError in plain words where nothing can listen there."""
    import socket  # noqa: PLC0415

    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            words = (
                "this port is taken; choose another with --port"
                if error.errno == errno.EADDRINUSE
                else (error.strerror or "nothing can listen here")
            )
            raise OSError(error.errno, words, f"{host}:{port}") from None


def _is_loopback(host: str) -> bool:
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
