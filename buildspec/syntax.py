"""Our sentences for faults of YAML itself: the parser's own words never reach a user."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, NamedTuple

from buildspec.diagnostics import Diagnostic, Place, lines_of, quoted

MAX_DEPTH = 30
"""Levels of nesting a file may have; the format itself needs eight."""
KEY = "write `key: value`; put text that contains a colon in quotes"
_NO_YAML = "this is not readable as YAML"


class Fault(NamedTuple):
    """A fault as the parser has it: what it said, and the characters before and at its mark."""

    said: str
    before: str
    found: str


class Saying(NamedTuple):
    """When a sentence fits, and the sentence."""

    fits: Callable[[Fault], bool]
    code: str
    message: str
    help: str


def _words(pattern: str) -> Callable[[Fault], bool]:
    """Whether the parser's words hold a pattern."""
    return lambda fault: re.search(pattern, fault.said) is not None


def _bare_colon(fault: Fault) -> bool:
    return fault.found == ":" and not fault.before.strip() and "mapping" not in fault.said


def _behind_quote(fault: Fault) -> bool:
    return bool(
        re.search(r"expected key|<block end>", fault.said) and re.search(r"[\"']", fault.before)
    )


_CLOSE = (
    "separate entries by commas and close the bracket; text with commas or brackets goes in quotes"
)
_SAYINGS: tuple[Saying, ...] = (
    Saying(
        lambda fault: fault.found == "\t" or "found a tab" in fault.said,
        "yaml.tab",
        "a tab stands where spaces belong",
        "indent with spaces; YAML does not allow tabs there",
    ),
    Saying(
        _words("cannot start any token"),
        "yaml.content",
        "plain text cannot begin with {found}",
        "put the text in quotes",
    ),
    Saying(_bare_colon, "yaml.key", "a key is missing before the colon", KEY),
    Saying(
        _behind_quote,
        "yaml.quote",
        "text goes on behind the quote that closes it",
        "an apostrophe inside text needs double quotes around the whole",
    ),
    Saying(
        _words("unexpected end of stream"),
        "yaml.quote",
        "a quote is opened here and never closed",
        "close it; an apostrophe inside text needs double quotes around the whole",
    ),
    Saying(
        _words("mapping values are not allowed"),
        "yaml.colon",
        "a colon and a space stand inside the text",
        "put the text in quotes if the colon belongs to it; otherwise begin a new line",
    ),
    Saying(
        _words(r"expected ',' or '\]'"),
        "yaml.bracket",
        "a list opened with `[` is not closed properly",
        _CLOSE,
    ),
    Saying(
        _words(r"expected ',' or '\}'"),
        "yaml.bracket",
        "a group opened with `{{` is not closed properly",
        _CLOSE,
    ),
    Saying(
        _words("could not find expected ':'"),
        "yaml.colon",
        "a key without a colon, or text that runs over the line",
        "write `key: value`; put long text in quotes or behind `|`",
    ),
    Saying(
        _words("unknown escape|expected escape sequence|Unicode character escape"),
        "yaml.escape",
        "the backslash begins an unknown escape",
        "write `\\\\` for a backslash, or use single quotes",
    ),
    Saying(
        _words("<document start>|directive"),
        "yaml.directive",
        "the file goes on after its end, or begins with a directive",
        "take out lines that begin with `%` or `...`",
    ),
    Saying(
        _words("expected key|<block end>|'-' indicator"),
        "yaml.indent",
        "this line does not line up with those above it",
        "begin the keys of a group in the same column, and every entry of a list with `- `",
    ),
    Saying(
        _words("node content"),
        "yaml.content",
        "a value is expected here",
        "write the value, or put text that begins with a bracket, comma or other mark in quotes",
    ),
    Saying(
        _words("alphabetic or numeric"),
        "yaml.content",
        "plain text cannot begin with `*` or `&`",
        "put the text in quotes",
    ),
    Saying(
        _words("comment or line break|chomping or indentation"),
        "yaml.block",
        "`|` or `>` must end its line",
        "write the text on the lines below, indented; or put it in quotes",
    ),
    Saying(
        lambda fault: True,
        "yaml.syntax",
        _NO_YAML,
        "look for a missing quote, bracket or colon here or just above",
    ),
)


def too_deep(place: Place) -> Diagnostic:
    """The problem of a file that nests deeper than `MAX_DEPTH`."""
    return Diagnostic(
        "file.depth",
        f"the nesting is more than {MAX_DEPTH} levels deep",
        place,
        "nothing in a description needs that; look for a bracket too many",
    )


def syntax_problem(error: Any, text: str, file: str) -> Diagnostic:
    """The problem that a fault of YAML is to a user. `error` is the parser's, with its marks."""
    said = str(getattr(error, "problem", "") or "")
    mark = getattr(error, "problem_mark", None)
    if "end of stream" in said or "expected ',' or" in said:
        mark = getattr(error, "context_mark", None) or mark  # where it was opened tells more
    if mark is None:
        return Diagnostic("yaml.syntax", _NO_YAML, Place(file), "save it as plain text")
    lines = lines_of(text)
    line, column = _last_text(lines, mark.line, mark.column)
    fault = Fault(said, lines[line][:column], lines[line][column : column + 1])
    if "mapping values" in said and ":" not in fault.before and line:
        return _no_colon(lines, line, file)
    if "nesting depth" in said:  # libyaml looks ahead, and has a limit of its own
        return too_deep(Place(file, line + 1, column + 1))
    saying = next(s for s in _SAYINGS if s.fits(fault))
    message = saying.message.format(found=quoted(fault.found))
    return Diagnostic(saying.code, message, Place(file, line + 1, column + 1), saying.help)


def _last_text(lines: list[str], line: int, column: int) -> tuple[int, int]:
    """A place in the text; past its end, the last character that is not blank."""
    rest = [lines[line][column:], *lines[line + 1 :]] if line < len(lines) else []
    if any(text.strip() for text in rest):
        return line, column
    last = max((n for n, text in enumerate(lines[: line + 1]) if text.strip()), default=0)
    return last, max(len(lines[last].rstrip()) - 1, 0)


def _no_colon(lines: list[str], line: int, file: str) -> Diagnostic:
    """A line that cannot hold a colon because the one above it did not."""
    above = next((n for n in range(line - 1, -1, -1) if lines[n].strip()), 0)
    width = max(len(lines[above].strip()), 1)
    start = len(lines[above]) - len(lines[above].lstrip())
    return Diagnostic(
        "yaml.colon",
        "this line has no colon and space behind its key",
        Place(file, above + 1, start + 1, width),
        "write `key: value`",
    )
