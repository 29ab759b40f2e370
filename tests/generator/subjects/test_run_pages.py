"""The pages and charts of the run: they render in every state, and say what they show."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

from generator.compose import compose
from generator.evaluation import load_subjects

from . import scenes
from .run_scene import BASE, CHUTES, SHAPE, STOP, scene

WORDS = ("mass", "air", "speed", "parachutes", "stopping", "stability")
FULL = scene(BASE, CHUTES, STOP, SHAPE)
NO_COURSE = FULL[: FULL.index("course:")] + FULL[FULL.index("drive:") :]
STATES = {
    "everything": FULL,
    "nothing can be computed": NO_COURSE,
    "weak engine": FULL.replace("300 kW", "1 kW"),
    "two ways": FULL.replace(
        "shut_down: 4 km\n", "shut_down: 3 km\n  two_way: true\n  cross_wind: 4 m/s\n"
    ),
    "maker's drag area": FULL.replace(
        "type: conical_ribbon\n      diameter: 2 m",
        "drag_area: 1.5 m²\n      opening_coefficient: 1.2",
    ),
    "lift carries the front axle": FULL.replace(
        "drag_height: 0.4 m", "drag_height: 0.4 m, front_lift_area: 2 m²"
    ).replace("shut_down: 4 km\n", "shut_down: 4 km\n  cross_wind: 2 m/s\n"),
    "no brakes, no parachutes pulled": FULL[: FULL.index("stopping:")]
    + ("stopping: {throttle_delay: 0 s, factor: 1}\n" + SHAPE),
    "whole vehicle from a test": FULL.replace(
        "  steering_stop",
        "  whole: {slope: 3, x: 3.2 m, basis: measured, source: tunnel}\n  steering_stop",
    ),
}


@pytest.mark.parametrize("text", STATES.values(), ids=STATES.keys())
def test_every_page_composes_in_every_state(tmp_path: Path, text: str) -> None:
    found = scenes.evaluated(tmp_path, text, *WORDS)
    pages = compose(found, subjects=load_subjects(WORDS)).files
    for word in WORDS:
        page = pages[f"docs/{word}.md"].decode()
        assert "None" not in page.replace("None of", "")
        assert "nan" not in page.split()
        for check in found.outcomes[word].checks:
            assert f'id="{check.id}"' in page


@pytest.mark.parametrize("text", STATES.values(), ids=STATES.keys())
def test_every_chart_states_its_finding(tmp_path: Path, text: str) -> None:
    found = scenes.evaluated(tmp_path, text, *WORDS)
    for word in WORDS[1:]:
        for chart in importlib.import_module(f"generator.charts.{word}").charts(
            found.outcomes[word], found.build
        ):
            assert chart.id.startswith(f"{word}.")
            assert chart.finding.endswith(".")
            assert any(ch.isdigit() for ch in chart.finding) or "No " in chart.finding
            assert "nan" not in chart.svg


def test_ids_are_the_subjects_own_and_never_twice(tmp_path: Path) -> None:
    found = scenes.evaluated(tmp_path, FULL, *WORDS)
    for word in WORDS[1:]:
        outcome = found.outcomes[word]
        ids = [x.id for x in (*outcome.results, *outcome.steps, *outcome.checks)]
        assert all(name.startswith(f"{word}.") for name in ids)
        assert len(set(ids)) == len(ids)
        assert not set(ids) & set(found.build.quantities)


def test_inputs_of_every_check_exist(tmp_path: Path) -> None:
    found = scenes.evaluated(tmp_path, FULL, *WORDS)
    for check in found.checks:
        assert set(check.inputs) <= set(found.build.quantities), check.id
