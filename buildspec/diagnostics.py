"""One problem in a description: its code, its place, what was found, what is allowed, what to do.

A user's mistake is a value, never an exception, so that all of them can be collected and
shown at once. Nothing here prints; `render` returns the text.
"""

from __future__ import annotations

import difflib
import functools
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

Severity = Literal["error", "warning"]


class Place(NamedTuple):
    """Where something stands in the build folder.

    `file` is relative to the folder with forward slashes; `line` and `column` count from 1,
    and a `line` of 0 means the file as a whole. `width` is the number of characters to mark.
    """

    file: str
    line: int = 0
    column: int = 0
    width: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True, slots=True)
class Note:
    """A second place that belongs to a problem, such as the first use of a repeated id."""

    place: Place
    text: str


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One problem. `message` says what was found, `help` what is allowed and what to do."""

    code: str
    message: str
    place: Place
    help: str = ""
    notes: tuple[Note, ...] = field(default=())
    severity: Severity = "error"


MAX_MISTAKES = 1000
"""Mistakes looked for in one file; past them reading it ends, so that the time stays bounded."""


def too_many(place: Place) -> Diagnostic:
    """What is said where looking ended: nothing is left out in silence."""
    return Diagnostic(
        "file.mistakes",
        f"there are more than {MAX_MISTAKES:,} mistakes; those that follow were not looked for",
        place,
        "mend some of them, and check again",
    )


# ---------------------------------------------------------------------------- text of users

_HARMFUL = {"Cc", "Cs", "Zl", "Zp"}
_TURNING = re.compile("[\u061c\u200b\u200e\u200f\u202a-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb]")
QUOTED = 60
"""Characters of the user's own text that a sentence repeats."""


def harmless(text: str) -> str:
    """Text on one line that cannot steer a terminal: controls and turned writing become U+FFFD."""
    if text.isascii() and text.isprintable():
        return text
    kept = (c if unicodedata.category(c) not in _HARMFUL else "�" for c in text)
    return _TURNING.sub("�", "".join(kept))


def quoted(text: object) -> str:
    """The user's own words in a sentence: harmless, in backticks, and cut where they are long."""
    said = harmless(str(text)[: QUOTED + 1])
    return f"`{said[:QUOTED]}…`" if len(said) > QUOTED else f"`{said}`"


def listed(words: Iterable[object], most: int = 12) -> str:
    """Several words in a sentence: `a`, `b`, `c`; past `most` only their number."""
    every = [quoted(w) for w in words]
    rest = len(every) - most
    return ", ".join(every[:most]) + (f" and {rest} more" if rest > 0 else "")


CANDIDATES = 500
"""Words a misspelling is compared with at most, so that the time stays bounded."""


def closest(word: str, words: Sequence[str]) -> str | None:
    """The one of `words` that `word` was probably meant to be, or None."""
    return _closest(word[:QUOTED].casefold(), tuple(words[:CANDIDATES]))


@functools.lru_cache(maxsize=1024)
def _closest(word: str, words: tuple[str, ...]) -> str | None:
    by_folded = {w.casefold(): w for w in reversed(words)}
    found = difflib.get_close_matches(word, list(by_folded), n=1, cutoff=0.7)
    return by_folded[found[0]] if found else None


def position(before: str) -> tuple[int, int]:
    """Line and column, from 1, of what follows the text `before`."""
    lines = lines_of(before)
    return len(lines), len(lines[-1]) + 1


def lines_of(text: str) -> list[str]:
    """The lines of a text as YAML counts them."""
    return re.split(r"\r\n|\r|\n", text)


# -------------------------------------------------------------------------------- rendering

TAB = 4
WIDEST = 100
"""Columns of a line that are shown; a longer one is cut around the mark."""
MOST = 200
"""Problems printed; the closing line says how many there are."""
_BOLD, _RED, _YELLOW, _FAINT, _PLAIN = "\x1b[1m", "\x1b[31m", "\x1b[33m", "\x1b[2m", "\x1b[0m"


def in_order(diagnostics: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Sorted by file and line, each problem once."""
    unique = dict.fromkeys(diagnostics)
    return tuple(
        sorted(
            unique, key=lambda d: (d.place.file, d.place.line, d.place.column, d.code, d.message)
        )
    )


def render(
    diagnostics: Iterable[Diagnostic], texts: Mapping[str, str], colour: bool = False
) -> str:
    """The problems for a person: place, code, what was found, the line with a mark, what to do.

    `texts` holds the files by name. Ends in a line that counts. "" where there is no problem.
    """
    ordered = in_order(diagnostics)
    if not ordered:
        return ""
    lines = {name: lines_of(text) for name, text in texts.items()}
    blocks = [_block(d, lines, colour) for d in ordered[:MOST]]
    return "\n\n".join([*blocks, _count(ordered)]) + "\n"


def _block(diagnostic: Diagnostic, lines: Mapping[str, list[str]], colour: bool) -> str:
    paint = _RED if diagnostic.severity == "error" else _YELLOW
    head = (
        f"{_painted(harmless(str(diagnostic.place)), _BOLD, colour)}  "
        f"{_painted(diagnostic.severity, paint, colour)}[{diagnostic.code}]"
    )
    parts = [head, f"  {harmless(diagnostic.message)}"]
    parts += _snippet(diagnostic.place, lines, paint, colour)
    if diagnostic.help:
        parts.append(f"  {harmless(diagnostic.help)}")
    for note in diagnostic.notes:
        parts.append(f"  {harmless(str(note.place))}: {harmless(note.text)}")
        parts += _snippet(note.place, lines, _FAINT, colour)
    return "\n".join(parts)


def _painted(text: str, paint: str, colour: bool) -> str:
    return f"{paint}{text}{_PLAIN}" if colour else text


def _snippet(place: Place, lines: Mapping[str, list[str]], paint: str, colour: bool) -> list[str]:
    """The line with a mark under the place, or nothing where there is no such line."""
    known = lines.get(place.file, [])
    if not 0 < place.line <= len(known):
        return []
    shown, start, width = _window(known[place.line - 1], place.column - 1, place.width)
    number = f"{place.line:6}"
    mark = _painted("^" * width, paint, colour)
    return [f"{number} | {shown}".rstrip(), f"{'':6} | {' ' * start}{mark}"]


def _window(line: str, start: int, width: int) -> tuple[str, int, int]:
    """The part of a line to show, and in it the mark's first column and its width."""
    start = min(max(start, 0), len(line))
    before, marked, after = line[:start], line[start : start + width], line[start + width :]
    marked = _cut(_columns(marked), WIDEST - 20)
    room = WIDEST - _width(marked)
    before = _cut(_columns(before)[::-1], room // 2)[::-1]
    after = _cut(_columns(after), room - _width(before))
    return before + marked + after, _width(before), max(_width(marked), 1)


def _columns(text: str) -> str:
    return harmless(text.replace("\t", " " * TAB))


def _cut(text: str, most: int) -> str:
    """As much of a text as fits into `most` columns, with `…` where something is left out."""
    if _width(text[: most + 1]) <= most:
        return text
    kept = text[:most]
    while _width(kept) >= most:
        kept = kept[:-1]
    return kept + "…"


def _width(text: str) -> int:
    """Columns a text takes on a terminal: two for wide characters, none for combining ones."""
    if text.isascii():
        return len(text)
    return sum(_cell(c) for c in text)


def _cell(character: str) -> int:
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def _count(ordered: tuple[Diagnostic, ...]) -> str:
    errors = sum(d.severity == "error" for d in ordered)
    warnings = len(ordered) - errors
    said = [_counted(n, word) for n, word in ((errors, "error"), (warnings, "warning")) if n]
    files = _counted(len({d.place.file for d in ordered}), "file")
    rest = f"; the first {MOST} are shown" if len(ordered) > MOST else ""
    return f"{' and '.join(said)} in {files}{rest}"


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def render_concise(diagnostics: Iterable[Diagnostic]) -> str:
    """One line a problem: `file:line:col: error[code]: message`. "" where there is none."""
    return "".join(
        f"{harmless(str(d.place))}: {d.severity}[{d.code}]: {harmless(d.message)}\n"
        for d in in_order(diagnostics)
    )


def to_json(diagnostics: Iterable[Diagnostic]) -> list[dict[str, Any]]:
    """The problems as plain data: code, severity, message, help, place, notes. Lines from 1."""
    return [
        {
            "code": d.code,
            "severity": d.severity,
            "message": d.message,
            "help": d.help,
            "place": _place_json(d.place),
            "notes": [{"text": n.text, "place": _place_json(n.place)} for n in d.notes],
        }
        for d in in_order(diagnostics)
    ]


def _place_json(place: Place) -> dict[str, Any]:
    return {"file": place.file, "line": place.line, "column": place.column, "width": place.width}
