"""Text from the description on its way into Markdown and HTML: data, never markup.

One escape serves both: every character that could begin something becomes a numeric character
reference, which Markdown leaves alone and HTML reads as the character.
"""

from __future__ import annotations

import functools
import re
import unicodedata
from typing import Any, Self

import markupsafe
from jinja2 import Undefined

_PLAIN = frozenset(",;%-.")
_ESCAPES = {n: f"&#{n};" for n in range(33, 127) if not chr(n).isalnum() and chr(n) not in _PLAIN}
_SPACE = re.compile(r"\s+")
_BIDI = frozenset(
    "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200b\ufeff"
)
_WITHIN = re.compile(r"(?<=[A-Za-z0-9])&#95;(?=[A-Za-z0-9])")
"""An underscore within a word begins nothing in any Markdown; ids are full of them."""
_LEAD = re.compile(r"^(?P<space> ?)(?:(?P<sign>[-.])|(?P<number>\d+)\.(?=\s|$))")


class Markup(markupsafe.Markup):
    """Text that is safe in a page. Adding, joining or formatting escapes what is not."""

    @classmethod
    def escape(cls, s: Any, /) -> Self:
        """`s` as safe text; `Markup` stays as it is."""
        return cls(s.__html__()) if hasattr(s, "__html__") else cls(_escaped(str(s)))


def escape(value: object) -> Markup:
    """`value` as text that means nothing but itself in Markdown, HTML and its attributes."""
    return Markup.escape(value)


def plain(text: str) -> str:
    """`text` on one line, with control and direction characters made visible as U+FFFD."""
    return _lined(text).strip()


def _lined(text: str) -> str:
    if text.isascii() and text.isprintable():  # nearly all text: nothing in it can hide
        return re.sub("  +", " ", text)
    return "".join(_visible(c) for c in _SPACE.sub(" ", text))


def finalize(value: object) -> object:
    """What the templates print: text is escaped, and only text can be printed.

    A float has no unit and a None no meaning, so that printing one is an error of the template.
    """
    if isinstance(value, Undefined) or hasattr(value, "__html__"):
        return value
    if isinstance(value, bool | float) or value is None:
        raise TypeError(f"a template prints {value!r}: give it words, or a number its kind")
    return escape(value)


@functools.lru_cache(maxsize=16384)
def _escaped(text: str) -> str:
    lined = _lined(text).translate(_ESCAPES)
    lined = _WITHIN.sub("_", lined)
    lined = re.sub(r"(?<=-)-", "&#45;", lined)
    lined = re.sub(r"www\.", "www&#46;", lined, flags=re.IGNORECASE)
    return _LEAD.sub(_lead, lined)


def _lead(match: re.Match[str]) -> str:
    """A mark that would begin a list when it stands first, as a character reference."""
    if match["sign"]:
        return f"{match['space']}&#{ord(match['sign'])};"
    return f"{match['space']}{match['number']}&#46;"


def _visible(character: str) -> str:
    hidden = character in _BIDI or unicodedata.category(character) in {"Cc", "Cs", "Cn", "Co"}
    return "\ufffd" if hidden else character
