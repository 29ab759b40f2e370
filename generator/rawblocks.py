"""A quick way through Python-Markdown for blocks of HTML, which are most of a page.

Its own way feeds every tag to a parser in Python, only to find where a block ends; that was half of
the time a page takes. The blocks found here are put away as it would put them away, so that the result is the
same; whatever is not plainly such a block is left to it.
"""

from __future__ import annotations

import functools
import re

from markdown import Markdown
from markdown.extensions import Extension
from markdown.preprocessors import Preprocessor

_BEFORE_HTML_BLOCK = 25
_BEGINS = re.compile(r"^ {0,3}<([A-Za-z][^\s>/]*|[!?])", re.MULTILINE)
_BLANK_LINE = re.compile(r" *\n *\n")
_OTHER = frozenset({"!", "?", "hr", "script", "style", "pre", "textarea"})
"""What has no end of its own, or holds text that a count of tags could misread."""


class RawBlocks(Extension):
    """Puts blocks of HTML away before Markdown looks for them tag by tag."""

    def extendMarkdown(self, md: Markdown) -> None:  # noqa: N802  (the library's name)
        """Come before the library's own search for such blocks."""
        md.preprocessors.register(_RawBlocks(md), "raw_blocks", _BEFORE_HTML_BLOCK)


class _RawBlocks(Preprocessor):
    def run(self, lines: list[str]) -> list[str]:
        """The lines with a mark in the place of each block, up to the first that is not plain."""
        text, out, done = "\n".join(lines), list[str](), 0
        for found in _BEGINS.finditer(text):
            start, tag = found.start(), found[1]
            if start < done or not (self.md.is_block_level(tag.lower()) or tag in "!?"):
                continue
            end = None if text[start] == " " or tag in _OTHER else _element_end(text, start, tag)
            if end is None or text[end : end + 1] not in {"\n", ""}:
                break
            behind = "\n" if _BLANK_LINE.match(text, end) else ""
            mark = self.md.htmlStash.store(text[start:end] + behind)
            out += [text[done:start], "\n", mark, "\n\n"]
            done = end
        return "".join([*out, text[done:]]).split("\n")


def _element_end(text: str, start: int, tag: str) -> int | None:
    """Where the element `tag` that begins at `start` ends; None where it never does."""
    depth = 0
    for found in _tags(tag).finditer(text, start):
        depth += -1 if found[0].startswith("</") else 1
        if depth == 0:
            return found.end()
    return None


@functools.cache
def _tags(tag: str) -> re.Pattern[str]:
    return re.compile(rf"<{tag}(?=[\s>])|</{tag}>")
