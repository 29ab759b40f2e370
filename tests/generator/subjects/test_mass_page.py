"""The charts and the page of mass: what they show, and that nothing of the description breaks
them.
"""

from __future__ import annotations

import dataclasses
import html
import itertools
import re
from typing import Any

import jsonschema
import markdown
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildspec.kinds import System
from generator.charts import mass as drawn
from generator.charts.chart import Chart
from generator.compose import compose
from generator.results import as_data, as_text, schema
from generator.subjects.mass import SUBJECT
from tests.generator.subjects.mass_builds import build, four, item, simple
from tests.generator.subjects.test_mass import (
    ALL,
    EVERY_LIMIT,
    TWO,
    evaluated,
    limits,
    window,
)
from tests.generator.subjects.test_mass_ballast import place
from tests.generator.subjects.test_mass_weighing import FRONT, lift, session, shown

SECTION = simple(
    *ALL,
    conditions=TWO,
    limits=EVERY_LIMIT,
    weighings=(session(lifts=(lift("up", FRONT, "30 in", shown(15.0, 30)),)),),
)


def charts(mass: Any, wheels: Any = None, **sections: object) -> dict[str, Chart]:
    found = evaluated(mass, four() if wheels is None else wheels, **sections)
    return {c.id: c for c in drawn.charts(found.outcomes["mass"], found.build)}


def page(mass: Any, wheels: Any = None, **sections: object) -> str:
    found = evaluated(mass, four() if wheels is None else wheels, **sections)
    return compose(found, subjects=(SUBJECT,)).files["docs/mass.md"].decode()


# ------------------------------------------------------------------------------------- charts


@pytest.mark.parametrize("place", [("0 in", "0 in", "10 in"), ("90 in", "12 in", "300 in")])
def test_the_views_of_one_item_are_drawn_without_a_word_of_the_drawing_library(
    place: tuple[str, str, str],
    caplog: pytest.LogCaptureFixture,
    recwarn: pytest.WarningsRecorder,
) -> None:
    found = charts(simple(item("frame", "380 lb", place)))
    assert "mass.chart.side" in found
    assert not caplog.records
    assert not list(recwarn)


@pytest.mark.parametrize("shape", [0.2, 1.0, 3.0])
@pytest.mark.parametrize("up", [(0.0, 0.5), (0.0, 40.0)])
def test_both_ways_have_one_scale_and_hold_all_that_they_held(
    up: tuple[float, float], shape: float
) -> None:
    wide, tall = drawn._widened((-1.0, 9.0), up, shape)
    assert (tall[1] - tall[0]) / (wide[1] - wide[0]) == pytest.approx(shape, rel=1e-12)
    assert wide[0] <= -1.0
    assert wide[1] >= 9.0
    assert tall[0] <= up[0]
    assert tall[1] >= up[1]


def test_there_are_four_charts_and_each_states_its_finding() -> None:
    found = charts(SECTION, units=System.US)
    assert list(found) == [
        "mass.chart.side",
        "mass.chart.plan",
        "mass.chart.cg",
        "mass.chart.groups",
    ]
    assert "below the limit of 18.0 in" in found["mass.chart.side"].finding
    assert "inside its window" in found["mass.chart.side"].finding
    assert "to the driver's right" in found["mass.chart.plan"].finding
    assert "Every condition is inside the window" in found["mass.chart.cg"].finding
    assert "The heaviest group is other" in found["mass.chart.groups"].finding


def test_a_finding_says_when_it_is_outside() -> None:
    narrow = limits(cg_x=window("cg_x", "length", "80 in", "85 in"))
    found = charts(dataclasses.replace(SECTION, limits=narrow), units=System.US)
    assert "aft of its window along x" in found["mass.chart.side"].finding
    assert "Outside the window: Start line, Empty" in found["mass.chart.cg"].finding
    ahead = charts(
        dataclasses.replace(SECTION, limits=limits(cg_x=window("cg_x", "length", "99 in")))
    )
    assert "ahead of its window along x" in ahead["mass.chart.side"].finding


def test_axes_are_in_the_units_of_the_build() -> None:
    assert "aft of the origin (mm)" in charts(SECTION, units=System.SI)["mass.chart.side"].svg
    assert "aft of the origin (in)" in charts(SECTION, units=System.US)["mass.chart.side"].svg


def test_the_same_build_draws_the_same_bytes() -> None:
    assert charts(SECTION) == charts(SECTION)


def test_of_many_items_the_ten_heaviest_are_numbered_and_long_names_are_cut() -> None:
    many = [
        item(
            f"i{n}",
            f"{10 + n} lb",
            (f"{2 * n} in", f"{n % 7 - 3} in", f"{10 + n % 5} in"),
            name=f"A part with a name that is much too long for any key {n}",
        )
        for n in range(61)
    ]
    svg = charts(simple(*many))["mass.chart.side"].svg
    names = re.findall(r"A part with[^<]*", svg)
    assert len(names) == 10
    assert all("…" in name and len(name) < 70 for name in names)
    assert svg.count("<text") < 60


def test_thousands_of_items_do_not_make_thousands_of_discs() -> None:
    many = [item(f"i{n}", "1 lb", (f"{n % 170} in", "0 in", "10 in")) for n in range(1500)]
    found = charts(simple(*many))
    assert len(found["mass.chart.side"].svg) < 500_000
    assert "the 400 heaviest of 1500 items" in found["mass.chart.side"].caption


@pytest.mark.parametrize("wheels", [(), four(radius="")])
def test_charts_need_neither_wheels_nor_radii(wheels: tuple[Any, ...]) -> None:
    assert len(charts(simple(*ALL), wheels)) == 4


def test_one_item_at_the_origin_is_drawn() -> None:
    assert len(charts(simple(item("all", "10 lb", ("0 in", "0 in", "0 in"))), ())) == 4


def test_no_chart_where_nothing_is_aboard() -> None:
    bare = dataclasses.replace(
        SECTION,
        conditions=(dataclasses.replace(TWO[0], without=tuple(i.id for i in ALL)),),
        weighings=(),
    )
    assert charts(bare) == {}


@given(st.lists(st.floats(-50, 250), min_size=1, max_size=10))
def test_numbers_above_a_drawing_never_collide_and_stay_on_the_paper(wanted: list[float]) -> None:
    placed = drawn.spaced(sorted(wanted), 10.0, (-20.0, 220.0))
    assert all(b - a >= 10.0 - 1e-9 for a, b in itertools.pairwise(placed))
    assert min(placed) >= -20.0 - 1e-9
    assert max(placed) <= 220.0 + 1e-9


def test_numbers_with_room_stay_where_they_belong() -> None:
    assert drawn.spaced([0.0, 50.0, 90.0], 10.0, (-20.0, 220.0)) == [0.0, 50.0, 90.0]


# --------------------------------------------------------------------------------------- page


def test_the_page_carries_what_a_reviewer_needs() -> None:
    text = page(SECTION)
    for heading in (
        "At a glance",
        "Charts",
        "Conditions",
        "Axle and wheel loads",
        "On the scales",
        "How well it is known",
        "Inertia",
        "Worked steps",
        "Assumptions",
        "Inputs",
        "Sources",
    ):
        assert f"## {heading}" in text
    for dotted in (
        "mass.check.total",
        "mass.step.cg_x",
        "mass.condition.empty.wheel.rear_left",
        "mass.weighing.spring.cg_height",
        "mass.weighing.spring.lift.up",
        "mass.chart.cg",
    ):
        assert f'id="{dotted}"' in text
    assert "nan" not in text.lower().replace("finance", "")


def test_no_verdict_no_caution_and_no_disagreement_is_folded_away() -> None:
    made = page(SECTION)
    folded = re.findall(r"<details.*?</details>", made, re.DOTALL)
    assert any("4 scales, each as read" in part for part in folded)
    assert any("1 axle lift" in part for part in folded)
    assert "Prediction against weighing" in re.sub(r"<details.*?</details>", "", made, flags=re.S)
    for part in folded:
        assert not re.search(r"mb-verdict-(short|open)|mb-caution|agrees", part)


def test_no_anchor_stands_twice() -> None:
    from buildspec.sections.mass import Ballast

    full = dataclasses.replace(
        SECTION,
        growth_allowance=True,
        use="weighed",
        ballast=Ballast(places=(place("nose", "0 in", "200 lb"),)),
    )
    ids = re.findall(r'\bid="([^"]+)"', page(full))
    assert sorted({i for i in ids if ids.count(i) > 1}) == []


@pytest.mark.parametrize(
    "change",
    [
        {"weighings": ()},
        {"limits": None},
        {"use": "weighed"},
        {"growth_allowance": True},
        {"weighings": (session(spread=""),)},
        {
            "conditions": (dataclasses.replace(TWO[0], without=tuple(i.id for i in ALL)),),
            "weighings": (),
        },
    ],
)
@pytest.mark.parametrize("wheels", [(), four()])
def test_every_kind_of_build_makes_a_page(change: dict[str, Any], wheels: tuple[Any, ...]) -> None:
    section = dataclasses.replace(SECTION, **change)
    if not wheels:
        section = dataclasses.replace(section, weighings=())
    assert "# Mass and centre of gravity" in page(section, wheels)
    data = as_data(evaluated(section, wheels))
    jsonschema.Draft202012Validator(schema()).validate(data)
    as_text(data)  # refuses what JSON does not have


def test_text_of_the_description_reaches_page_and_charts_as_text() -> None:
    evil = "<script>alert(1)</script> {{ 7*7 }} [x](javascript:x) $m$"
    hostile = [
        item(f"i{n}", f"{20 + n} lb", (f"{9 * n} in", "0 in", "10 in"), name=evil, group=evil)
        for n in range(12)
    ]
    shown_ = markdown.markdown(page(simple(*hostile)), extensions=["tables", "attr_list"])
    assert "alert" in shown_
    assert "<script" not in shown_
    assert 'href="javascript' not in shown_
    assert "7*7" in shown_.replace("&#42;", "*")


def test_the_page_of_the_weighed_vehicle_says_so() -> None:
    text = html.unescape(page(dataclasses.replace(SECTION, use="weighed")))
    assert "The figures in force are **weighed 2026-05-03" in text
    assert "The figures in force are **predicted**" in html.unescape(page(SECTION))


def test_a_build_is_not_changed_by_being_drawn() -> None:
    made = build(SECTION, four())
    before = dict(made.quantities)
    charts(SECTION)
    assert dict(made.quantities) == before
    assert np.isfinite([x.si for x in before.values()]).all()
