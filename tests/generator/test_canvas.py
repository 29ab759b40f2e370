"""Charts as inline SVG: the site's colours, names of their own, harmless text, the same bytes."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree as Tree

import pytest

from generator.charts import canvas
from generator.charts.chart import Chart

SVG = "{http://www.w3.org/2000/svg}"


def _drawn(text: str = "a", chart_id: str = "scene.line", finding: str = "It rises.") -> Chart:
    fig = canvas.figure(4.0, 2.0)
    axes = canvas.axes(fig)
    axes.plot([0, 1], [0, 1], color=canvas.SERIES[0], marker=canvas.MARKERS[0])
    axes.bar([0, 1], [1, 1], color=canvas.HOLDS, hatch=canvas.HATCHES[1])
    axes.axhline(0.5, color=canvas.SHORT)
    axes.text(0, 0, text)
    return canvas.finish(fig, chart_id, f"Line {text}", finding, "How to read it.")


def test_every_colour_is_a_variable_of_the_page() -> None:
    svg = _drawn().svg
    assert not re.search(r"#[0-9a-f]{6}\b", svg, re.IGNORECASE)
    assert {"--mb-series-1", "--mb-holds", "--mb-short", "--mb-ink"} <= set(
        re.findall(r"--mb-[a-z0-9-]+", svg)
    )


@pytest.mark.parametrize(("high", "tall"), [(3.0, False), (4.0, False), (6.0, True)])
def test_a_drawing_higher_than_wide_is_marked_for_paper(high: float, tall: bool) -> None:
    fig = canvas.figure(4.0, high)
    canvas.axes(fig).plot([0, 1], [0, 1])
    assert ("mb-tall" in canvas.finish(fig, "scene.line", "Line", "It rises.").svg) is tall


def test_the_variables_are_those_of_the_style_sheet() -> None:
    from generator.templates import asset

    known = set(re.findall(r"(--mb-[a-z0-9-]+):", asset("marginbook.css").decode()))
    assert {f"--mb-{v}" for v in canvas._VARIABLES.values()} | {"--mb-chart-font"} <= known


def test_a_reader_who_cannot_see_it_is_told_what_it_shows() -> None:
    root = Tree.fromstring(_drawn(finding='Mass "A" < B.').svg)
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'Line a. Mass "A" < B.'
    assert root.findtext(f"{SVG}desc") == 'Mass "A" < B.'


def test_two_charts_share_no_id_and_style_nothing_else() -> None:
    first, second = (_drawn(chart_id=name).svg for name in ("scene.one", "scene.two"))
    ids = [set(re.findall(r'\bid="([^"]+)"', svg)) for svg in (first, second)]
    assert ids[0]
    assert not ids[0] & ids[1]
    for svg, own in zip((first, second), ids, strict=True):
        assert set(re.findall(r"(?:url\(|href=\")#([^)\"]+)", svg)) <= own
        assert "<style" not in svg


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>",
        "</text></svg><script>x</script>",
        "$x_1$",
        "&amp; <b>",
        "]]>",
        "a\x07b\x00",
        "#010203",
        "'DejaVu Sans'",
    ],
)
def test_text_in_a_chart_is_text(text: str) -> None:
    chart = _drawn(text)
    root = Tree.fromstring(chart.svg)
    shown = ["".join(node.itertext()) for node in root.iter(f"{SVG}text")]
    assert "script" not in {node.tag.removeprefix(SVG) for node in root.iter()}
    assert root.findtext(f"{SVG}title") == f"Line {text}".translate(canvas._CONTROLS)
    assert text.translate(canvas._CONTROLS) in shown


def test_the_same_drawing_gives_the_same_bytes() -> None:
    assert _drawn().svg == _drawn().svg
    assert "date" not in _drawn().svg


def test_an_axis_has_its_unit_in_brackets_after_the_words() -> None:
    assert canvas.labelled("x, aft of the origin", "in") == "x, aft of the origin (in)"
    assert canvas.labelled("load over limit", "") == "load over limit"


@pytest.mark.parametrize("word", ["[", ', s"', ', %"', ", {unit}"])
def test_no_chart_writes_the_unit_of_an_axis_by_itself(word: str) -> None:
    folder = Path(canvas.__file__).parent
    lines = [n for f in sorted(folder.glob("*.py")) for n in f.read_text().splitlines()]
    axes = [n for n in lines if re.search(r"set_[xy]label\(", n)]
    assert len(axes) > 20
    assert not [n for n in axes if "labelled(" not in n and word in n]


def test_thousands_beside_an_axis_are_parted_and_smaller_numbers_stay() -> None:
    fig = canvas.figure()
    axes = canvas.axes(fig)
    axes.plot([-2000.0, 4000.0], [0.0, 0.4])
    said = re.findall(r">([^<>]+)</text>", canvas.finish(fig, "x.y", "T", "F").svg)
    assert {"−2,000", "0", "4,000", "0.10"} <= {"".join(w.split()) for w in said}
    assert "2000" not in "".join(said)
