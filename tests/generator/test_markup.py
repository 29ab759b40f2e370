"""Text of the description stays text, wherever a template puts it."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import markdown
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import Environment, StrictUndefined, nodes
from jinja2.exceptions import UndefinedError

from generator.compose import compose
from generator.labels import labels
from generator.markup import Markup, escape, finalize, plain
from generator.templates import FOLDER, Words, environment
from tests.generator import scene

PAYLOADS = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    '"><svg onload=alert(1)>',
    "'>\"><b>",
    "[x](javascript:alert(1))",
    "![x](http://example.org/p.png)",
    "<http://example.org>",
    "http://example.org",
    "www.example.org",
    "a@example.org",
    "**bold** _it_ a_b_c __x__ `code` ~~s~~",
    "# heading",
    "- item",
    "+ item",
    "* item",
    "1. item",
    "12) item",
    "> quote",
    "| a | b |",
    "---",
    "===",
    "```\ncode\n```",
    "    indented",
    "a\n\n# b",
    "{: onclick=alert(1) }",
    "{{ 7 * 7 }}",
    "{% raw %}",
    "[^1]: note",
    "[ref]: javascript:alert(1)",
    "&lt;script&gt;",
    "&#60;b&#62;",
    "$x^2$",
    "\\(x\\)",
    "\\*",
    ":smile:",
    "<!-- c -->",
    "]]>",
    "<?php ?>",
    "</td></tr></table>",
    "--x",
    "- - -",
    "...",
    "a\u202eb",
    "a\x00b",
    "a\x1b[31mb",
    "\ufeffx",
    "=cmd()",
    "-1",
    ".5 in",
    "1.",
    "é ± 3 %",
    "日本",
    "a\u2028b",
    "\ue0001\ue001",
    "[[0]]",
)
PLACES = (
    "{}\n",
    "text {} text\n",
    "# {}\n",
    "- {}\n",
    "<p>{}</p>\n",
    "<table><tr><td>{}</td></tr></table>\n",
    '<p title="{}">x</p>\n',
    "| a |\n|---|\n| {} |\n",
)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.text = ""
        self.titles: list[str | None] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.titles += [v for k, v in attrs if k == "title"]
        assert {k for k, _ in attrs} <= {"title", "id"}, attrs

    def handle_data(self, data: str) -> None:
        self.text += data


def _read(template: str, text: str) -> _Reader:
    page = template.replace("{}", str(escape(text)))
    reader = _Reader()
    reader.feed(markdown.markdown(page, extensions=["tables", "attr_list", "toc"]))
    return reader


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("text", PAYLOADS)
def test_text_makes_no_element_and_is_read_as_it_stands(text: str, place: str) -> None:
    seen, innocent = _read(place, text), _read(place, "innocent")
    assert seen.tags == innocent.tags
    if seen.titles:
        assert [t and t.strip() for t in seen.titles] == [plain(text)]
    else:
        assert plain(text) in seen.text


@given(st.text(max_size=60), st.sampled_from(PLACES))
def test_any_text_makes_no_element(text: str, place: str) -> None:
    if not plain(text):  # nothing to show: an empty paragraph is left out by Markdown
        return
    seen, innocent = _read(place, text), _read(place, "innocent")
    assert seen.tags == innocent.tags
    shown = seen.titles[0] if seen.titles else seen.text
    assert plain(text) in (shown or "")


def test_plain_makes_hidden_characters_visible() -> None:
    assert plain("a\u202eb\x00 \t\n c\u200b") == "a\ufffdb\ufffd c\ufffd"


def test_adding_and_formatting_escapes() -> None:
    assert str(Markup("<b>%s</b>") % "*x*") == "<b>&#42;x&#42;</b>"
    assert str(Markup(", ").join(["<a>", Markup("<i>")])) == "&#60;a&#62;, <i>"
    assert str(Markup("<b>") + "|") == "<b>&#124;"
    assert str(escape(Markup("<b>"))) == "<b>"


@pytest.mark.parametrize("value", [1.5, None, True, float("nan")])
def test_a_template_cannot_print_a_number_without_its_kind(value: object) -> None:
    with pytest.raises(TypeError, match="a template prints"):
        finalize(value)


def test_an_unknown_name_is_an_error_and_not_an_empty_place() -> None:
    env = Environment(autoescape=True, undefined=StrictUndefined, finalize=finalize)
    with pytest.raises(UndefinedError):
        env.from_string("{{ nothing }}").render()


def _templates() -> list[str]:
    return sorted(str(p.relative_to(FOLDER)) for p in FOLDER.rglob("*.j2"))


@pytest.mark.parametrize("name", _templates())
def test_templates_do_not_compute_and_have_no_way_round_the_escape(name: str) -> None:
    build = scene.build()
    env = environment(Words(build, labels(build, {})))
    tree = env.parse((FOLDER / name).read_text("utf-8"))
    arithmetic = (nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.FloorDiv, nodes.Mod, nodes.Pow)
    assert not list(tree.find_all(arithmetic))
    for joined in tree.find_all(nodes.Concat):  # beside safe text it would escape for HTML alone
        assert not list(joined.find_all((nodes.Filter, nodes.Call)))
    assert {f.name for f in tree.find_all(nodes.Filter)} <= set(env.filters)
    assert not {"safe", "replace", "format", "e", "escape", "tojson", "xmlattr"} & set(env.filters)


def test_macros_write_no_blank_line_inside_a_block() -> None:
    for name, data in compose(scene.evaluation(), subjects=scene.SUBJECTS).files.items():
        if name.endswith(".md"):
            for block in re.findall(
                r"^<(table|section|figure|div|ul)\b.*?^</\1>", data.decode(), re.M | re.S
            ):
                assert "\n\n" not in block, name
