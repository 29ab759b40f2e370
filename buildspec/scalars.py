"""What a plain scalar means: YAML 1.2 core, and a reason where other readers take it otherwise."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from buildspec.diagnostics import quoted

MAX_TEXT = 200
"""Characters past which a plain scalar is text, whatever it begins with."""
MAX_NUMBER = 40
"""Characters of a number; a longer one is a mistake."""


class Ambiguous(NamedTuple):
    """Why a plain scalar is refused."""

    code: str
    message: str
    help: str


_WORDS: Mapping[str, bool | None] = {
    "": None,
    "~": None,
    "null": None,
    "Null": None,
    "NULL": None,
    "true": True,
    "True": True,
    "TRUE": True,
    "false": False,
    "False": False,
    "FALSE": False,
}
_SWITCHES = {"yes": "true", "on": "true", "no": "false", "off": "false"}
_INTEGER = re.compile(r"[-+]?(?:0|[1-9][0-9]*)", re.ASCII)
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?", re.ASCII)
_PLAIN = "is not a plain decimal number"
_DECIMAL = "write decimal digits without separators, or put text in quotes"
_REFUSED: tuple[tuple[re.Pattern[str], str, str, str], ...] = (
    # what it looks like, code, what is said of it, what to do
    (
        re.compile(r"[-+]?0[0-9]+", re.ASCII),
        "yaml.ambiguous",
        "begins with a zero: some readers of YAML take that for an octal number",
        "write the number without the zero, or put a name or an entry number in quotes",
    ),
    (re.compile(r"[-+]?0[xob][0-9a-fA-F_]+", re.ASCII), "yaml.ambiguous", _PLAIN, _DECIMAL),
    (
        re.compile(r"[-+]?[0-9][0-9_]*_[0-9_]*(?:\.[0-9_]*)?", re.ASCII),
        "yaml.ambiguous",
        _PLAIN,
        _DECIMAL,
    ),
    (
        re.compile(r"[-+]?[0-9][0-9_]*(?::[0-5]?[0-9])+(?:\.[0-9_]*)?", re.ASCII),
        "yaml.ambiguous",
        "is a number in base 60 to some readers of YAML",
        "write a time with its unit, such as `90 s`, or put text in quotes",
    ),
    (
        re.compile(r"[-+]?\.(?:nan|inf)", re.ASCII | re.IGNORECASE),
        "yaml.no-number",
        "is no usable number",
        "write the number, or leave the line out where it is not known",
    ),
)


def resolve(text: str) -> object | Ambiguous:
    """What a plain scalar means: None, a boolean, a number or text; or why it is refused."""
    if text in _WORDS:
        return _WORDS[text]
    if text[0] in "+-.0123456789" and len(text) <= MAX_TEXT:
        return _numeric(text)
    if meant := _SWITCHES.get(text.lower()):
        return Ambiguous(
            "yaml.ambiguous",
            f"`{text}` means {meant} to some readers of YAML and text to others",
            f'write `{meant}`, or the text in quotes: `"{text}"`',
        )
    return text


def _numeric(text: str) -> object | Ambiguous:
    """What a scalar means that begins as a number does."""
    for pattern, code, said, advice in _REFUSED:
        if pattern.fullmatch(text):
            return Ambiguous(code, f"{quoted(text)} {said}", advice)
    return _number(text) if _FLOAT.fullmatch(text) else text


def _number(text: str) -> object | Ambiguous:
    number: int | float = 0
    if len(text) <= MAX_NUMBER:
        number = int(text) if _INTEGER.fullmatch(text) else float(text)
    if len(text) > MAX_NUMBER or abs(number) >= 1e300:
        return Ambiguous(
            "yaml.no-number",
            f"{quoted(text)} is no usable number",
            f"write a number of at most {MAX_NUMBER} characters, below 1e300",
        )
    return number
