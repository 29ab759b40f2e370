"""Where the links and pictures of the team's own pages lead, and whether there is anything.

Light on purpose, as `embedding` is: `check` looks at the pages too.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import unquote, urlsplit

from buildspec.build import Page
from buildspec.diagnostics import Diagnostic, Place, closest
from generator.embedding import CODE, Trouble, lines

_LINK = re.compile(
    r"(?P<image>!?)\[(?:[^\[\]\\]|\\.)*\]\(\s*<?(?P<target>[^\s)>]*)"
    r"|^ {0,3}\[[^\[\]]+\]:\s*<?(?P<defined>[^\s>]+)"
)
_SCHEMES = frozenset({"", "http", "https", "mailto"})
_PICTURES = frozenset({".png", ".jpg", ".jpeg", ".gif", ".webp"})
MAX_PICTURE = 20_000_000
"""Bytes a picture may have."""

FIXED = ("index", "open-items", "assumptions", "inputs", "sources", "about")
"""Pages that every site has."""
SOMETIMES = ("since", "trends", "signoffs")
"""Pages that a site has once there is a history to tell of; a link to one is no mistake before."""
BESIDE = ("binder.html", "results.json", "open-items.csv", "open-items.json")
"""What stands beside the pages of every site."""
FOLDER = "team"
"""The folder of the site that the team's pages lie in."""


@dataclass(frozen=True)
class Ways:
    """All that a page may lead to: `pages` are the team's, from source to place on the site; `site`
    the program's own, by place. `beside` is what else the site holds, or None where that is not
    known: then nothing is said of it.
    """

    pages: Mapping[str, str]
    site: frozenset[str]
    beside: frozenset[str] | None = field(default=None)


def ways(
    pages: Iterable[Page], subjects: Iterable[str], beside: Iterable[str] | None = None
) -> Ways:
    """The ways of a site with these pages of the team's and these subjects."""
    pages = tuple(pages)
    own = {p.place.file: f"{n.removesuffix('.md')}.html" for p, n in places(pages)}
    named = (*FIXED, *SOMETIMES, *subjects)
    site = frozenset((*own.values(), *(f"{name}.html" for name in named), *BESIDE))
    return Ways(own, site, None if beside is None else frozenset(beside))


def places(pages: Iterable[Page]) -> Iterator[tuple[Page, str]]:
    """Every page of the team's with its place in the tree, a name that is safe as a file name."""
    taken: set[str] = set()
    for page in pages:
        stem = re.sub(r"[^A-Za-z0-9_-]+", "-", page.name).strip("-").lower() or "page"
        tries = (stem if n == 1 else f"{stem}-{n}" for n in range(1, len(taken) + 2))
        free = next(name for name in tries if name not in taken)
        taken.add(free)
        yield page, f"{FOLDER}/{free}.md"


# ----------------------------------------------------------------------------- links


def address(target: str, page: Page, known: Ways) -> str | Trouble:
    """What a link says on the site, or what is wrong with it and what to do.

    A page of the team's goes by its file in the build folder, a page of the program's by its place
    as seen from the folder of the team's pages; either may end in `.md` or `.html`.
    """
    if not allowed(target):
        return (
            f"`{target}` is not a link that may be followed",
            "use http, https, mailto or a relative address",
        )
    path, mark, anchor = target.partition("#")
    if urlsplit(target).scheme or not path:
        return target
    named = unquote(path)
    source = posixpath.normpath(posixpath.join(posixpath.dirname(page.place.file), named))
    if source in known.pages:
        return f"{_from_team(known.pages[source])}{mark}{anchor}"
    place = posixpath.normpath(posixpath.join(FOLDER, _as_html(named)))
    if place in known.site or place in (known.beside or ()):
        return f"{_as_html(path)}{mark}{anchor}"
    if known.beside is None and not named.endswith((".md", ".html")):
        return target
    return _nowhere(target, named, page, known)


def _nowhere(target: str, named: str, page: Page, known: Ways) -> Trouble:
    at_home = posixpath.dirname(page.place.file)
    sources = [posixpath.relpath(source, at_home) for source in known.pages]
    near = closest(named, sources) or closest(_as_html(named), sorted(map(_from_team, known.site)))
    help_ = (
        f"did you mean `{near}`?"
        if near
        else "name another page of yours by its file, or a page of the site as `../mass.html`"
    )
    return f"`{target}` leads nowhere: the site has no such page", help_


def _from_team(place: str) -> str:
    return posixpath.relpath(place, FOLDER)


def _as_html(path: str) -> str:
    return f"{path[:-3]}.html" if path.endswith(".md") else path


def allowed(target: str) -> bool:
    """Whether a link may be followed at all, wherever it leads."""
    try:
        parts = urlsplit(target.strip())
    except ValueError:
        return False
    clean = not re.search(r"[\x00-\x20\x7f\\]", target) and not target.startswith("//")
    return (
        clean
        and parts.scheme.lower() in _SCHEMES
        and (bool(parts.scheme) or ":" not in target.split("/", maxsplit=1)[0])
    )


# ----------------------------------------------------------------------------- pictures


def picture(target: str, page: Page, folder: Path | None) -> bytes | Trouble:
    """A picture's bytes, or what is wrong with it and what to do."""
    if Path(target).suffix.lower() not in _PICTURES or urlsplit(target).scheme:
        return (
            f"`{target}` is no picture of the build folder",
            f"name a file that ends in {', '.join(sorted(_PICTURES))}",
        )
    if folder is None:
        return f"`{target}` cannot be read without the build folder", "build from the folder"
    path = (folder / page.place.file).parent / unquote(target)
    try:
        real = path.resolve(strict=True)
        inside = real.is_relative_to(folder.resolve())
        if inside and real.is_file() and real.stat().st_size <= MAX_PICTURE:
            return real.read_bytes()
    except (OSError, ValueError):
        return f"there is no picture `{target}`", "put it beside the page, inside the build folder"
    return (
        f"`{target}` is not a picture inside the build folder",
        f"use a file of at most {MAX_PICTURE:,} bytes in it",
    )


def picture_name(target: str) -> str:
    """One flat, safe name; `/` becomes `--`, so that two folders do not collide."""
    return re.sub(
        r"[^A-Za-z0-9._-]+", "_", unquote(target).replace("../", "up--").replace("/", "--")
    )


# ----------------------------------------------------------------------------- a whole page


@dataclass(frozen=True)
class Looked:
    """The pictures a page shows, by the name they get, and what is wrong with it."""

    pictures: Mapping[str, bytes]
    problems: tuple[Diagnostic, ...]


def looked(page: Page, folder: Path | None, known: Ways) -> Looked:
    """Every link and picture of a page, outside of code."""
    pictures: dict[str, bytes] = {}
    problems: list[Diagnostic] = []
    for number, line, code in lines(page.text):
        plain = CODE.sub(lambda m: " " * len(m[0]), line)
        for match in () if code else _LINK.finditer(plain):
            group = "defined" if match["defined"] else "target"
            target = match[group]
            place = Place(page.place.file, number, match.start(group) + 1, max(len(target), 1))
            if match["image"]:
                found = picture(target, page, folder)
                if isinstance(found, bytes):
                    pictures[picture_name(target)] = found
                else:
                    problems.append(Diagnostic("page.picture", found[0], place, found[1]))
            elif isinstance(lost := address(target, page, known), tuple):
                problems.append(Diagnostic("page.link", lost[0], place, lost[1]))
    return Looked(pictures, tuple(problems))
