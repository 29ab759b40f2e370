"""Files that the description names as proof: what can be said of each without showing it.

The schema marks such a name with `x-file`. A file that is not there is no mistake of the
description, since proof often comes last; one outside the build folder is.
"""

from __future__ import annotations

import functools
import hashlib
import json
import warnings
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path as File
from typing import Any, Literal

from buildspec.diagnostics import Diagnostic, Place
from buildspec.documents import Document, Path
from buildspec.files import locate, unreadable
from buildspec.schema import Schema, load, resolved, words

Kind = Literal["jpeg", "png", "webp", "gif", "heic", "tiff", "pdf", "csv", "text", "other", ""]

MOST_BYTES = 64 * 1024 * 1024
"""Size a file may have that serves as proof."""
MOST_PIXELS = 50_000_000
"""Pixels a picture may have: unpacked, each takes three bytes or four."""
MOST_FILES = 2000
PICTURES: tuple[Kind, ...] = ("jpeg", "png", "webp", "gif")
"""Kinds that are shown as pictures."""

_HEAD = 1024
_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")
_BEGINNINGS: tuple[tuple[bytes, Kind], ...] = (
    (b"\xff\xd8\xff", "jpeg"),
    (b"\x89PNG\r\n\x1a\n", "png"),
    (b"GIF8", "gif"),
    (b"II*\x00", "tiff"),
    (b"MM\x00*", "tiff"),
)


@dataclass(frozen=True, slots=True)
class FileFact:
    """What is known of one file. `name` is as the description writes it; `sha256` is in hex.

    `kind` comes from the file's first bytes, not from its name; it is "" where there is no file.
    `pixels` are width and height of a picture. `fault` says why it proves nothing, "" where it may.
    """

    name: str
    exists: bool
    size: int = 0
    sha256: str = ""
    kind: Kind = ""
    pixels: tuple[int, int] | None = None
    fault: str = ""


@dataclass(frozen=True)
class Gathered:
    """The facts by the name of the file, what is wrong with a name, and every name."""

    facts: Mapping[str, FileFact]
    problems: tuple[Diagnostic, ...]
    names: frozenset[str]


def gather(folder: File, document: Document) -> Gathered:
    """What is known of every file that the description names as proof."""
    facts: dict[str, FileFact] = {}
    problems: list[Diagnostic] = []
    named = named_files(document)
    for name, path in named.items():
        place = document.place(path)
        if len(facts) == MOST_FILES:
            problems.append(_too_many(place))
            break
        found = look(folder, name, place)
        if isinstance(found, Diagnostic):
            problems.append(found)
        else:
            facts[name] = found
    return Gathered(facts, tuple(problems), frozenset(named))


def _too_many(place: Place) -> Diagnostic:
    return Diagnostic(
        "file.number",
        f"more than {MOST_FILES:,} files are named as proof",
        place,
        "put several into one PDF",
    )


def named_files(document: Document) -> dict[str, Path]:
    """Every file that the description names as proof, with the first place that names it."""
    found: dict[str, Path] = {}
    data = document.data if isinstance(document.data, Mapping) else {}
    for word in words():
        if word in data and _names_files(word):
            for path, name in _marked(load(word), data[word], (word,)):
                found.setdefault(name, path)
    return found


@functools.cache
def _names_files(word: str) -> bool:
    return '"x-file"' in json.dumps(load(word))


def _marked(schema: Schema, data: object, path: Path) -> Iterator[tuple[Path, str]]:
    here = resolved(schema)
    if here.get("x-file") and isinstance(data, str):
        yield path, data
    elif isinstance(data, list):
        for number, entry in enumerate(data):
            yield from _marked(here.get("items", {}), entry, (*path, number))
    elif isinstance(data, Mapping):
        for key, value in data.items():
            below: Any = here.get("properties", {}).get(key) or here.get("additionalProperties")
            if isinstance(below, Mapping):
                yield from _marked(below, value, (*path, key))


def look(folder: File, name: str, asked: Place) -> FileFact | Diagnostic:
    """What is known of the file `name` of `folder`, or why the description may not name it.

    A file that is absent or may not be read is a fact with a fault, not a problem.
    """
    try:
        path = locate(folder, name, asked)
        if isinstance(path, Diagnostic):
            kind = path.code == "file.kind"
            return replace(path, help="give the name of one file") if kind else path
        if path.stat().st_size > MOST_BYTES:
            limit = f"larger than {MOST_BYTES // 1024**2} MiB"
            return FileFact(name, True, path.stat().st_size, fault=limit)
        return fact(name, path.read_bytes())
    except (OSError, RuntimeError, ValueError) as error:
        problem = unreadable(folder, name, asked, error)
        missing = problem.code == "file.missing"
        return FileFact(name, not missing, fault=problem.message.split("` ", 1)[-1])


def fact(name: str, data: bytes) -> FileFact:
    """What is known of a file with this content."""
    kind = kind_of(name, data)
    pixels, fault = _picture(data, kind) if kind in PICTURES else (None, _fault(kind, data))
    digest = hashlib.sha256(data).hexdigest()
    return FileFact(name, True, len(data), digest, kind, pixels, fault)


def kind_of(name: str, data: bytes) -> Kind:
    """What a file is by its first bytes; text is CSV where its name says so."""
    begin = next((kind for mark, kind in _BEGINNINGS if data.startswith(mark)), None)
    if begin:
        return begin
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "webp"
    if data[4:8] == b"ftyp" and data[8:12] in _BRANDS:
        return "heic"
    if b"%PDF-" in data[:_HEAD]:
        return "pdf"
    if b"\0" in data or not _is_text(data):
        return "other"
    return "csv" if name.lower().endswith(".csv") else "text"


def _is_text(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _fault(kind: Kind, data: bytes) -> str:
    """Why a file that is no picture proves nothing, or ""."""
    if not data:
        return "empty"
    said: Mapping[str, str] = {
        "heic": "a HEIC or AVIF picture, which is not read here; save it as JPEG",
        "tiff": "a TIFF picture, which is not read here; save it as JPEG or PNG",
        "other": "neither a picture, nor PDF, nor text",
    }
    if kind == "pdf" and b"%%EOF" not in data[-2048:]:
        return "a PDF without its end; copy it again"
    return said.get(kind, "")


def _picture(data: bytes, kind: Kind) -> tuple[tuple[int, int] | None, str]:
    """Width and height of a picture, and why it proves nothing or "". Nothing is unpacked."""
    from PIL import Image  # noqa: PLC0415  (only where there are pictures)

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(BytesIO(data), formats=[kind.upper()]) as picture:
                size, read = picture.size, picture.fp.tell() if picture.fp else 0
    except Image.DecompressionBombError:
        return (
            None,
            f"a picture of more than {MOST_PIXELS // 1_000_000} megapixels; make it smaller",
        )
    except Exception:  # whatever a decoder raises on bytes from anywhere
        return None, "a picture that cannot be read; copy it again"
    if size[0] * size[1] > MOST_PIXELS:
        mega = f"{size[0] * size[1] / 1e6:.0f}"
        return (
            size,
            f"a picture of {mega} megapixels, more than {MOST_PIXELS // 1_000_000}; make it smaller",
        )
    return size, "" if _complete(data, kind, read) else "a picture without its end; copy it again"


def _complete(data: bytes, kind: Kind, read: int) -> bool:
    """Whether the mark that ends a picture stands behind its head; cameras may add more after it."""
    if kind == "jpeg":
        return b"\xff\xd9" in data[read:]
    if kind == "png":
        return b"IEND" in data[read:]
    if kind == "webp":
        return len(data) >= 8 + int.from_bytes(data[4:8], "little")
    return b"\x3b" in data[-64:]
