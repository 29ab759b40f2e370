"""Reading files of the build folder: inside it, of a sane size, and as text, or not at all."""

from __future__ import annotations

import errno
import os
import re
import stat
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from buildspec.diagnostics import Diagnostic, Place, position, quoted

MAX_BYTES = 2 * 1024 * 1024
"""Size a file may have: some 20,000 lines."""
MAX_SHOWN = 20
"""Problems of characters reported for one file; the rest are of the same kind."""

UNPRINTABLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069"
    "\ud800-\udfff\ufeff\ufff9-\ufffb\ufffd-\uffff]"
)
"""Characters that text may not hold: controls, those that turn the direction of writing or
cannot be seen, and U+FFFD, which stands for something lost."""

Opener = Callable[[Path, int], bytes]


def first_bytes(path: Path, most: int) -> bytes:
    """The first `most` bytes of a file. OSError where it cannot be read."""
    with path.open("rb") as handle:
        return handle.read(most)


@dataclass(frozen=True, slots=True)
class Source:
    """A file of the build folder as text, or None; `problems` may also go with a text."""

    text: str | None
    problems: tuple[Diagnostic, ...] = ()


def read_source(folder: Path, name: str, asked: Place, opener: Opener = first_bytes) -> Source:
    """Read the file `name` of `folder`. `asked` is the place that names it, for problems with it.

    What may not be opened is not opened at all; see `locate`.
    """
    try:
        path = locate(folder, name, asked)
        if isinstance(path, Diagnostic):
            return Source(None, (path,))
        data = opener(path, MAX_BYTES + 1)
    except (OSError, RuntimeError, ValueError) as error:
        return Source(None, (unreadable(folder, name, asked, error),))
    if len(data) > MAX_BYTES:
        return _refuse(
            "file.size",
            f"{quoted(name)} is larger than {MAX_BYTES // 1024**2} MiB",
            Place(name),
            "a description is text; split it over its sections, or take out what is not needed",
        )
    return decode(data, name)


def locate(folder: Path, name: str, asked: Place) -> Path | Diagnostic:
    """Where the file `name` of `folder` lies, or why it may not be opened.

    Links are followed, and must not lead out of the folder. What is no regular file is refused: a
    pipe would wait for ever. OSError, RuntimeError or ValueError as the system raises them.
    """
    path = (folder / name).resolve()
    if Path(name).is_absolute() or not path.is_relative_to(folder.resolve()):
        return Diagnostic(
            "file.outside",
            f"{quoted(name)} leads out of the build folder",
            asked,
            "copy the file into the build folder, and give its name there",
        )
    kind = path.stat().st_mode
    if stat.S_ISREG(kind):
        return path
    return Diagnostic(
        "file.kind",
        f"{quoted(name)} is {_kind(kind)}, not a file",
        asked,
        "put a text file there",
    )


def unreadable(folder: Path, name: str, asked: Place, error: Exception) -> Diagnostic:
    """The problem of a file that the system does not hand over."""
    code, message = _why(name, error, folder)
    return Diagnostic(code, message, asked, _advice(error))


def _refuse(code: str, message: str, place: Place, advice: str) -> Source:
    return Source(None, (Diagnostic(code, message, place, advice),))


def _kind(mode: int) -> str:
    if stat.S_ISDIR(mode):
        return "a folder"
    return "a pipe" if stat.S_ISFIFO(mode) else "a device"


def _why(name: str, error: Exception, folder: Path) -> tuple[str, str]:
    number = getattr(error, "errno", None)
    if number in {errno.ENOENT, errno.ENOTDIR}:
        broken = os.path.lexists(folder / name)
        said = "is a link that leads nowhere" if broken else "is not in the build folder"
        return "file.missing", f"{quoted(name)} {said}"
    if number in {errno.EACCES, errno.EPERM}:
        return "file.unreadable", f"{quoted(name)} may not be read"
    if number == errno.ELOOP or isinstance(error, RuntimeError):
        return "file.unreadable", f"{quoted(name)} is a link that leads back to itself"
    return "file.unreadable", f"{quoted(name)} cannot be read"


def _advice(error: Exception) -> str:
    number = getattr(error, "errno", None)
    if number in {errno.ENOENT, errno.ENOTDIR}:
        return "give the name of a file in the build folder, capitals as they are"
    if number in {errno.EACCES, errno.EPERM}:
        return "give yourself the right to read it"
    return "put a plain text file there"


def decode(data: bytes, name: str) -> Source:
    """Bytes as UTF-8 text, with or without a byte order mark, and the problems in it.

    What is no UTF-8 and what may not stand in text becomes U+FFFD, one for one, so that the
    rest of the file can still be read and every column stays.
    """
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return _refuse(
            "file.encoding", f"{quoted(name)} is UTF-16 text", Place(name), "save it as UTF-8"
        )
    body = data.removeprefix(b"\xef\xbb\xbf")
    problems = list(_undecodable(body, name))
    text = body.decode("utf-8", "replace")
    if not problems:
        problems = list(_unprintable(text, name))
    return Source(UNPRINTABLE.sub("�", text), tuple(problems))


def _undecodable(body: bytes, name: str) -> Iterator[Diagnostic]:
    start = 0
    for _ in range(MAX_SHOWN):
        try:
            body[start:].decode("utf-8")
            return
        except UnicodeDecodeError as error:
            before = body[: start + error.start].decode("utf-8", "replace")
            line, column = position(before)
            yield Diagnostic(
                "file.encoding",
                f"the byte 0x{body[start + error.start]:02X} is not UTF-8 text",
                Place(name, line, column),
                "save the file as UTF-8, and type the character again",
            )
            start += error.end


def _unprintable(text: str, name: str) -> Iterator[Diagnostic]:
    for number, match in enumerate(UNPRINTABLE.finditer(text)):
        if number == MAX_SHOWN:
            return
        line, column = position(text[: match.start()])
        yield Diagnostic(
            "text.control",
            f"{name_of(match.group())} stands here",
            Place(name, line, column),
            "take it out: it cannot be seen, and changes what a reader sees",
        )


def name_of(character: str) -> str:
    """What to call a character that cannot be shown: `U+202E right-to-left override`."""
    name = unicodedata.name(character, "a control character").lower()
    return f"U+{ord(character):04X} ({name})"
