"""Markdown tree → static site: MkDocs as a library, then what makes it work without network."""

from __future__ import annotations

import json
import logging
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from generator.folders import NotOursError, check, swap
from generator.pagetext import ROW
from generator.rawblocks import RawBlocks

_UNUSED = ("**/*.map", "404.html", "sitemap.xml", "sitemap.xml.gz", "assets/javascripts/lunr")
"""What the theme brings and this site has no use for; the site map also carries the day."""


_NAMELESS = b'data-md-component="search" role="dialog"'
"""The theme's search box: a dialog without a name, which a screen reader announces as nothing."""


class RenderError(OSError):
    """The site cannot be written; the message says why in plain words."""


def render(markdown_dir: Path, site_dir: Path) -> None:
    """Render the tree in `markdown_dir` (with its `mkdocs.yml`) as the whole of `site_dir`.

    The same tree gives the same bytes. RenderError where MkDocs refuses or the folder is not ours.
    """
    try:
        check(site_dir)
    except NotOursError as refusal:
        raise RenderError(refusal.errno, refusal.strerror, refusal.filename) from None
    site_dir.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".marginbook-", dir=site_dir.parent) as scratch:
        fresh = Path(scratch).absolute() / "fresh"  # MkDocs takes a relative one from its own file
        warnings = _built(markdown_dir / "mkdocs.yml", fresh)
        if warnings:
            raise RenderError("; ".join(warnings))
        _drop(fresh)
        _name_the_search(fresh)
        _part_the_rows(fresh)
        swap(fresh, site_dir)


def _built(config_file: Path, site_dir: Path) -> tuple[str, ...]:
    """Build with MkDocs, and what it warned of."""
    os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")  # the theme's notice about another product
    from mkdocs.commands.build import build  # noqa: PLC0415  (a tenth of a second)
    from mkdocs.config import load_config  # noqa: PLC0415
    from mkdocs.exceptions import MkDocsException  # noqa: PLC0415

    with _heard() as warnings:
        try:
            config = load_config(str(config_file), site_dir=str(site_dir))
            # the pages are the same without it, and come later
            config.markdown_extensions.append(RawBlocks())  # type: ignore[arg-type]
            config.plugins.on_startup(command="build", dirty=False)
            build(config)
        except MkDocsException as error:
            raise RenderError("; ".join((f"MkDocs: {error}", *warnings))) from error
        except SystemExit as error:
            raise RenderError(f"MkDocs stopped: {'; '.join(warnings) or error}") from error
    return tuple(warnings)


class _Ear(logging.Handler):
    """Keeps warnings instead of printing them."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep one."""
        self.heard.append(record.getMessage())


@contextmanager
def _heard() -> Iterator[list[str]]:
    """MkDocs' warnings while the block runs."""
    logger, ear = logging.getLogger("mkdocs"), _Ear()
    logger.addHandler(ear)
    before = logger.propagate, logger.level
    logger.propagate = False
    logger.setLevel(
        logging.WARNING
    )  # the preview asks for less, and must hear of a broken link too
    try:
        yield ear.heard
    finally:
        logger.removeHandler(ear)
        logger.propagate = before[0]
        logger.setLevel(before[1])


def _drop(site_dir: Path) -> None:
    for pattern in _UNUSED:
        for found in sorted(site_dir.glob(pattern)):
            shutil.rmtree(found) if found.is_dir() else found.unlink()


def _name_the_search(site_dir: Path) -> None:
    for page in site_dir.rglob("*.html"):
        text = page.read_bytes()
        page.write_bytes(text.replace(_NAMELESS, _NAMELESS + b' aria-label="Search"'))


_ROW = re.compile(rf"{ROW}([^{ROW}]*?)(?=<(?:p|ul|ol|pre)>|{ROW}|$)", re.DOTALL)


def _part_the_rows(site_dir: Path) -> None:
    """A paragraph for each row of a table: the search then shows the rows that match, not all."""
    for index in sorted((site_dir / "search").glob("search_index.js*")):
        before, brace, rest = index.read_text("utf-8").partition("{")
        data, end = json.JSONDecoder().raw_decode(brace + rest)
        for page in data["docs"]:
            page["text"] = _ROW.sub(lambda row: f"<p>{row[1].strip()}</p>", page["text"])
            page["text"] = page["text"].replace(ROW, "")
        packed = json.dumps(data, separators=(",", ":"))
        index.write_text(f"{before}{packed}{(brace + rest)[end:]}", "utf-8")
