"""The quick way through HTML blocks gives what Python-Markdown gives without it."""

from __future__ import annotations

import markdown
import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.rawblocks import RawBlocks

PIECES = (
    "# A heading {#its-own}",
    "words *and* `<div>` more\nand a second line",
    '<div class="a" markdown="0">\n\n<p>in *it*</p>\n\n<div>deeper</div>\n</div>',
    "<table><tr><td>1 < 2 | 3</td></tr></table>",
    "<details open>\n<summary>more</summary>\n<div>\n\ntext\n\n</div></details>",
    "<p>one</p> a tail behind it",
    "<p>one</p>\nnext line at once",
    '<figure><svg viewBox="0 0 1 1"><title>a</title><path d="M0 0"/></svg></figure>',
    "<p>an amp &amp; and <math><mi>x</mi></math></p>",
    "    <div>code, indented</div>",
    "- item\n\n    <div>in an item</div>",
    "<pre><code><div> no markup\n\n</code></pre>",
    "<script>if (a < b) { '</div>' }</script>",
    "<div>never closed",
    "</div>",
    "<hr>",
    "<hr />",
    "<span>inline</span> words",
    "<DIV>upper</DIV>",
    "<!-- a comment\n\nwith <div> in it -->",
    "<divider>no block</divider>",
    "| a | b |\n|---|---|\n| <b>1</b> | 2 |",
    "<ul>\n<li><p>one</p></li>\n</ul>",
    "> <div>quoted</div>",
    "```\n<div>\n```",
)


def both(text: str) -> tuple[str, str]:
    plain, quick = (
        markdown.Markdown(extensions=["tables", "attr_list", "toc", *more])
        for more in ([], [RawBlocks()])
    )
    return plain.convert(text), quick.convert(text)


@pytest.mark.parametrize("piece", PIECES)
def test_every_piece_alone_and_between_words(piece: str) -> None:
    for text in (piece, f"{piece}\n", f"before\n\n{piece}\n\nafter", f"before\n{piece}\nafter"):
        plain, quick = both(text)
        assert quick == plain


@given(st.lists(st.sampled_from(PIECES), max_size=6), st.sampled_from(("\n", "\n\n", "\n\n\n")))
def test_pieces_in_any_order(pieces: list[str], between: str) -> None:
    plain, quick = both(between.join(pieces))
    assert quick == plain


def test_blocks_are_put_away_at_once() -> None:
    """The library's own search is left with the marks alone."""
    reader = markdown.Markdown(extensions=[RawBlocks()])
    text = "a\n\n<div><div>b</div>\n\n</div>\n\n<p>c</p>\n"
    left = reader.preprocessors["raw_blocks"].run(text.split("\n"))
    assert "<" not in "\n".join(left)
    assert len(reader.htmlStash.rawHtmlBlocks) == 2
