"""What a reader sees of egress: charts with their findings, and the page."""

from __future__ import annotations

import datetime
import json
import re
from xml.etree import ElementTree as Tree

import jsonschema
import markdown
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildspec.build import Build
from buildspec.sections.egress import Scenario
from generator.charts.chart import Chart
from generator.charts.egress import charts
from generator.compose import compose
from generator.results import as_data, as_text, schema
from generator.subjects.egress import SUBJECT
from tests.generator.subjects.egress_builds import (
    CHAIN,
    FORK,
    UPRIGHT,
    act,
    build,
    change,
    drill,
    evaluated,
    limits,
)

LIMITS = limits("20", "18", ("1", "1.25"))
HOSTILE = "<script>alert(1)</script> | $x^2$ & [a](javascript:b) `c` {{ d }}"


def drawn(made: Build) -> dict[str, Chart]:
    return {c.id: c for c in charts(evaluated(made).outcomes["egress"], made)}


def words_of(chart: Chart) -> list[str]:
    """Every piece of text in the drawing, its title and description left out."""
    texts = Tree.fromstring(chart.svg).iter("{http://www.w3.org/2000/svg}text")
    return ["".join(t.itertext()).strip() for t in texts]


def page(made: Build) -> str:
    composed = compose(evaluated(made), subjects=(SUBJECT,))
    assert composed.problems == ()
    return composed.files["docs/egress.md"].decode()


# ---------------------------------------------------------------------------------- charts


def test_every_scenario_has_a_plan_and_a_distribution() -> None:
    two = (UPRIGHT, Scenario(id="on_side", title="On its side"))
    assert list(drawn(build(*CHAIN, scenarios=two))) == [
        "egress.upright.plan",
        "egress.upright.times",
        "egress.on_side.plan",
        "egress.on_side.times",
    ]


def test_findings_state_what_the_charts_show() -> None:
    """Durations without spread, so that every figure is known: 2 + 3 + 4 s."""
    made = build(
        act("stop", "2"),
        act("belts", "3", "stop"),
        act("out", "4", "belts"),
        limits=limits("8", "12.5", ("1", "1.25")),
        drills=(drill(1, "9.5"), drill(2, "11")),
    )
    found = drawn(made)
    assert found["egress.upright.plan"].finding == (
        "At likely durations the exit takes 9.00 s; without slack are “Stop”, “Belts”, “Out”. It is "
        "finished within 9.00 s in 95 % of samples, beyond the required time (8.00 s) and within "
        "the protective time over its factor (10.0 s)."
    )
    assert found["egress.upright.times"].finding == (
        "Half of the sampled exits take at most 9.00 s and 95 % at most 9.00 s, beyond the "
        "required time (8.00 s) and within the protective time over its factor (10.0 s). The 2 "
        "drills took 9.50 s to 11.0 s; 2 took longer than that 95th percentile."
    )


@pytest.mark.parametrize(("limit", "word"), [("9", "within"), ("8.99", "beyond")])
def test_an_exit_of_just_the_limit_is_within_it(limit: str, word: str) -> None:
    made = build(act("stop", "2"), act("out", "7", "stop"), limits=limits(limit))
    assert (
        f"in 95 % of samples, {word} the required time"
        in drawn(made)["egress.upright.plan"].finding
    )


def test_the_bound_is_in_the_finding_when_drills_decide() -> None:
    made = build(*CHAIN, limits=LIMITS, drills=tuple(drill(n, str(13 + n)) for n in (1, 2, 3)))
    times = drawn(made)["egress.upright.times"]
    assert "The upper bound of the next drill is 18.4 s, within the required time" in times.finding
    assert "Square: the upper bound" in times.caption


def test_without_limits_and_drills_the_findings_say_so() -> None:
    times = drawn(build(*CHAIN))["egress.upright.times"]
    assert "no limit is stated" in times.finding
    assert "No drill is timed." in times.finding
    assert "Triangles" not in times.caption


def test_limits_are_named_in_the_drawings() -> None:
    for chart in drawn(build(*CHAIN, limits=LIMITS)).values():
        said = words_of(chart)
        assert "required time, 20.0 s" in said
        assert "protective time over its factor, 14.4 s" in said
        assert "time from the first activity (s)" in said


def test_what_is_critical_differs_by_more_than_colour() -> None:
    """Of the four bars the shorter branch alone is neither hatched nor marked nor outlined."""
    made = build(*FORK[:2], act("canopy", "1 1 1", "stop", by="crew"), FORK[3])
    all_critical = drawn(build(*CHAIN))["egress.upright.plan"].svg
    one_idle = drawn(made)["egress.upright.plan"].svg
    assert all_critical.count("fill: url(#") == 3
    assert one_idle.count("fill: url(#") == 3
    assert len(re.findall(r"stroke-width: 1\.5", one_idle)) >= 3


def test_long_texts_are_shortened_in_the_plan_and_whole_on_the_page() -> None:
    long = "Release the harness " + "with the cold hand " * 12
    made = build(act("stop", "1 2 3"), act("belts", "1 2 9", "stop", text=long))
    said = words_of(drawn(made)["egress.upright.plan"])
    assert max(len(line) for line in said) <= 40
    assert any(line.endswith("(driver)") for line in said)
    assert long.strip() in page(made)


def test_very_many_activities_are_not_all_drawn_and_the_finding_says_so() -> None:
    many = tuple(act(f"a{n}", "1", f"a{n - 1}" if n else "") for n in range(60))
    plan = drawn(build(*many))["egress.upright.plan"]
    assert "Shown are the first 40 of 60 activities." in plan.finding
    assert "and 52 more" in plan.finding


@pytest.mark.parametrize("scenario", [HOSTILE, "Ünïcode “quotes” 漢"])
def test_text_of_the_description_stays_text(scenario: str) -> None:
    made = build(
        act("stop", "1 2 3", text=HOSTILE, by=HOSTILE),
        scenarios=(Scenario(id="upright", title=scenario, text=HOSTILE),),
        limits=LIMITS,
        drills=(drill(1, "9", person=HOSTILE, conditions=(HOSTILE,), remark=HOSTILE),),
    )
    for chart in drawn(made).values():
        assert "<script" not in chart.svg
        Tree.fromstring(chart.svg)
    html = markdown.markdown(page(made), extensions=["tables", "attr_list", "toc"])
    assert "<script" not in html
    assert 'href="javascript' not in html
    # between backticks a sentence shows code, whoever wrote it, and nothing in it is markup
    assert all("<" not in code for code in re.findall(r"<code>(.*?)</code>", html))


def test_the_same_build_draws_the_same() -> None:
    one, two = (drawn(build(*FORK, limits=LIMITS, drills=(drill(1, "9"),))) for _ in range(2))
    assert one == two


# ------------------------------------------------------------------------------------ page


def full() -> Build:
    two = (
        Scenario(id="upright", title="Upright", text="On its wheels."),
        Scenario(id="on_side", title="On its side", change=(change("on_side", 0, "out", "3 5 9"),)),
    )
    return build(
        *FORK,
        scenarios=two,
        limits=LIMITS,
        drills=(
            drill(1, "9"),
            drill(2, "10", remark="glove caught"),
            drill(3, "11"),
            drill(4, scenario="on_side", times={"stop": "1"}),
        ),
    )


def test_the_page_holds_every_check_step_result_caution_and_chart() -> None:
    made = full()
    text, outcome = page(made), evaluated(made).outcomes["egress"]
    ids = set(re.findall(r'\bid="([^"]+)"', text))
    assert {c.id for c in outcome.checks} <= ids
    assert {s.id for s in outcome.steps} <= ids
    shown = {r.id for r in outcome.results} - {"egress.required_time", "egress.protective_time"}
    assert shown <= ids
    assert {c.id for c in outcome.cautions} <= ids
    assert set(drawn(made)) <= ids


def test_cautions_of_the_work_stand_before_the_first_scenario() -> None:
    text = page(full())
    assert 0 < text.index("Never practise alone") < text.index("## Upright")


def test_the_page_says_what_drills_were_and_which_do_not_count() -> None:
    text = page(full())
    assert "does not count" in text
    assert "no total, and no time of belts, canopy, out" in text
    assert "glove caught" in text
    assert "Of 3 drills that count, by 1 person, 3 took longer" in text
    assert datetime.date(2027, 2, 1).isoformat() in text


def test_a_page_without_drills_and_limits_says_so() -> None:
    text = page(build(*CHAIN))
    assert "No drill is timed in this scenario." in text
    assert "no required time is stated" in text


def test_the_critical_path_is_written_out_and_ties_are_counted() -> None:
    assert "<strong>stop → belts → out</strong>" in page(build(*CHAIN))
    waits, last = [act("a", "1")], "a"
    for k in range(6):
        waits += [act(f"x{k}", "1", last), act(f"y{k}", "1", last), act(f"z{k}", "1", f"x{k} y{k}")]
        last = f"z{k}"
    assert "These are the first of 64 paths of the same length." in page(build(*waits))


def test_the_template_does_no_arithmetic() -> None:
    from generator.templates import FOLDER

    source = (FOLDER / "pages" / "egress.md.j2").read_text("utf-8")
    inside = re.findall(r"{[{%](.*?)[%}]}", source, re.DOTALL)
    bare = [re.sub(r'"[^"]*"', "", part) for part in inside]
    assert [part for part in bare if re.search(r"[-+*/]|\bround\b|\bsum\b", part)] == []


# ------------------------------------------------------------------------- anything at all

TENTHS = st.integers(0, 99).map(lambda k: f"{k / 10:g}")


@st.composite
def durations(draw: st.DrawFn) -> str:
    """Three durations in order, one, or one with a spread; nothing may take no time at all."""
    kind = draw(st.sampled_from(["three", "one", "spread"]))
    if kind == "three":
        return " ".join(f"{k / 10:g}" for k in sorted(draw(st.tuples(*[st.integers(0, 99)] * 3))))
    shape = draw(st.sampled_from(["", " rectangular", " triangular", " normal"]))
    return draw(TENTHS) if kind == "one" else f"{draw(TENTHS)} ± {draw(TENTHS)}{shape}"


@st.composite
def builds(draw: st.DrawFn) -> Build:
    """Any small exit with any limits and drills."""
    n = draw(st.integers(1, 6))
    names = [f"a{i}" for i in range(n)]
    acts = [
        act(
            name,
            draw(durations()),
            " ".join(draw(st.sets(st.sampled_from(names[:i])))) if i else "",
            by=draw(st.sampled_from(["driver", "crew"])),
        )
        for i, name in enumerate(names)
    ]
    positive = st.integers(1, 300).map(lambda k: f"{k / 10:g}")
    stated = draw(
        st.none()
        | st.builds(
            limits, st.just("") | positive, st.just("") | positive, st.tuples(positive, positive)
        )
    )
    drills = [
        drill(
            k + 1,
            draw(st.just("") | positive),
            times={a: draw(TENTHS) for a in names[: k + 1]},
            conditions=draw(st.sampled_from([(), ("belted",), ("belted", "suited")])),
        )
        for k in range(draw(st.integers(0, 5)))
    ]
    return build(*acts, limits=stated, drills=tuple(drills), samples=1000)


@settings(max_examples=10, deadline=None)
@given(builds())
def test_any_exit_gives_results_charts_and_a_page(made: Build) -> None:
    data = as_data(evaluated(made))
    jsonschema.Draft202012Validator(schema()).validate(data)
    assert json.loads(as_text(data)) == data
    for chart in drawn(made).values():
        Tree.fromstring(chart.svg)
        assert chart.finding
        assert "nan" not in chart.svg.lower().replace("dominant", "")
    assert "nan" not in re.sub(r"<[^>]*>", "", page(made)).lower().replace("dominant", "")
