"""The demonstration and the good specs: what they hold, and what must come out of them.

Sums are worked here again, from the files themselves and in pounds and inches, without any of the
program's own code.
"""

from __future__ import annotations

import csv
import datetime
import json
import math
from collections.abc import Callable, Iterator
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import yaml

from buildspec.build import Build
from buildspec.read import read_folder
from buildspec.schema import assembled
from buildspec.sections.egress import Egress
from buildspec.sections.mass import Mass
from generator.cli import main
from generator.compose import compose
from generator.evaluation import Evaluation, evaluate
from generator.results import schema

ROOT = Path(__file__).parents[1]
EXAMPLE = ROOT / "example_build"
STARTER = ROOT / "generator" / "starter"
GOOD = sorted(p for p in (ROOT / "tests" / "specs" / "good").iterdir() if p.is_dir())
DAY = datetime.date(2026, 11, 25)
LB, INCH, LBF = 0.45359237, 0.0254, 4.4482216152605  # exact: NIST SP 811, appendix B.8


def read(folder: Path) -> Build:
    reading = read_folder(folder)
    assert reading.problems == ()
    assert reading.build is not None
    return reading.build


@pytest.fixture(scope="module")
def example() -> Evaluation:
    return evaluate(read(EXAMPLE), as_of=DAY)


def value(evaluation: Evaluation, name: str) -> float:
    found = evaluation.outcomes[name.split(".", 1)[0]].by_id[name].value
    assert found is not None
    return found


# ------------------------------------------------------------------------------- content


def test_it_is_rich_enough_to_show_every_feature() -> None:
    build = read(EXAMPLE)
    mass, egress = build.section(Mass), build.section(Egress)
    assert mass is not None
    assert egress is not None
    assert len(mass.items) >= 60
    assert {i.basis for i in mass.items} >= {"measured", "calculated", "estimated", None}
    assert {i.mass.basis for i in mass.items} == {
        "measured",
        "rated",
        "calculated",
        "estimated",
        "assumed",
    }
    assert len(mass.conditions) == 3
    assert len(mass.weighings) == 1
    assert mass.weighings[0].lifts
    assert mass.ballast
    assert 10 <= len(egress.activities) <= 14
    assert len(egress.scenarios) == 3
    assert len(egress.drills) == 6


def test_nobody_is_late_for_the_event() -> None:
    event = yaml.safe_load((EXAMPLE / "build.yaml").read_text("utf-8"))["event"]
    assert event["date"] > DAY


@pytest.mark.parametrize("folder", [EXAMPLE, STARTER, *GOOD], ids=lambda p: p.name)
def test_good_folders_read_without_a_warning_and_compute(folder: Path) -> None:
    found = evaluate(read(folder), as_of=DAY)
    assert found.build.sections
    assert compose(found).problems == ()


def test_the_starter_claims_to_know_nothing_of_a_vehicle_it_never_saw() -> None:
    entries = yaml.safe_load((STARTER / "build.yaml").read_text("utf-8"))
    wheels, items = entries["wheels"]["positions"], entries["mass"]["items"]
    nested = [v for e in (*wheels, *items) for v in e.values() if isinstance(v, dict)]
    assert not any({"basis", "source", "rated_load"} & e.keys() for e in (*wheels, *items, *nested))
    assert [c for c in evaluate(read(STARTER), as_of=DAY).checks if c.verdict == "short"] == []


@pytest.mark.parametrize("folder", [EXAMPLE, STARTER], ids=lambda p: p.name)
def test_every_file_tells_an_editor_its_schema(folder: Path) -> None:
    names = assembled()
    for path in folder.glob("*.yaml"):
        first = path.read_text("utf-8").splitlines()[0]
        assert first == f"# yaml-language-server: $schema=./.schema/{path.stem}.schema.json"
        assert f"{path.stem}.schema.json" in names


# ------------------------------------------------------------- the sums, worked once more


def rows() -> Iterator[dict[str, str]]:
    lines = (EXAMPLE / "mass-items.csv").read_text("utf-8").splitlines()
    return csv.DictReader(line for line in lines if not line.startswith("#"))


Part = tuple[float, float, float, float]


def aboard(fill: dict[str, float], without: tuple[str, ...]) -> list[Part]:
    """Mass, x, y and z of every row that is aboard, in pounds and inches."""
    return [
        (
            float(r["mass [lb]"]) * int(r["count"] or 1) * fill.get(r["id"], 1.0),
            float(r["x [in]"]),
            float(r["y [in]"] or 0.0),
            float(r["z [in]"]),
        )
        for r in rows()
        if r["id"] not in without
    ]


CONDITIONS = {
    "start_line": ({}, ()),
    "end_of_run": ({"fuel": 0.3, "ice_water": 0.7}, ()),
    "empty": ({"fuel": 0.0, "ice_water": 0.0}, ("driver",)),
}


@pytest.mark.parametrize("name", list(CONDITIONS))
def test_mass_and_centre_of_gravity_by_hand(name: str, example: Evaluation) -> None:
    parts = aboard(*CONDITIONS[name])
    total = math.fsum(p[0] for p in parts)
    # the same sums in other units and another order: agreement to rounding of doubles
    assert value(example, f"mass.condition.{name}.total") == pytest.approx(total * LB, rel=1e-12)
    for axis, word in enumerate(("cg_x", "cg_y", "cg_height"), start=1):
        where = math.fsum(p[0] * p[axis] for p in parts) / total * INCH
        found = value(example, f"mass.condition.{name}.{word}")
        assert found == pytest.approx(where, rel=1e-11, abs=1e-12)


def test_it_weighs_what_such_a_car_weighs(example: Evaluation) -> None:
    assert 1900 <= value(example, "mass.condition.start_line.total") / LB <= 2100


def test_wheel_loads_balance_weight_and_moments(example: Evaluation) -> None:
    parts = aboard({}, ())
    weight = math.fsum(p[0] for p in parts)
    loads = {
        n: value(example, f"mass.condition.start_line.wheel.{n}") / LBF
        for n in ("front_left", "front_right", "rear_left", "rear_right")
    }
    # a pound of mass weighs a pound-force in standard gravity, exactly
    assert sum(loads.values()) == pytest.approx(weight, rel=1e-9)
    rear = loads["rear_left"] + loads["rear_right"]
    assert rear * 170.0 == pytest.approx(math.fsum(p[0] * p[1] for p in parts), rel=1e-9)
    sideways = 21 * (loads["front_right"] - loads["front_left"]) + 22 * (
        loads["rear_right"] - loads["rear_left"]
    )
    assert sideways == pytest.approx(math.fsum(p[0] * p[2] for p in parts), rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("word", ["mass", "egress"])
def test_what_has_no_name_is_called_by_its_id_in_words(word: str, example: Evaluation) -> None:
    told = example.outcomes[word]
    titled = (*told.results, *told.checks, *told.steps)
    assert [each.id for each in titled if "_" in each.title] == []
    assert any("front 18in" in each.title for each in titled) == (word == "mass")


def test_the_scales_disagree_a_little_and_it_is_said(example: Evaluation) -> None:
    scales = 345.5 + 341.5 + 534.5 + 527.5
    predicted = math.fsum(p[0] for p in aboard(*CONDITIONS["empty"]))
    spread = [
        float(r["mass.plus_minus [lb]"] or 0) * int(r["count"] or 1)
        for r in rows()
        if r["id"] not in ("driver", "fuel", "ice_water")
    ]
    # E_n with U = 2u (ISO/IEC 17043, from memory); u = a/√3 for a half-width a (GUM 4.3.7)
    # the pads' common error of 0.1 % adds to the total as a whole (GUM 5.2.2)
    common = 0.001 * scales
    expanded = 2 * math.sqrt((sum(s * s for s in spread) + 4 * 2.0**2 + common**2) / 3)
    e_n = (scales - predicted) / expanded
    assert 1.0 < abs(e_n) < 2.0
    found = value(example, "mass.weighing.first_weighing.error_total")
    assert abs(found) == pytest.approx(abs(e_n), rel=1e-9)
    assert any(i.kind == "disagreement" for i in example.open_items)


def rear_reading(height: float, lift: float) -> float:
    """What the rear pads show with the front axle raised, in pounds, from a height in inches.

    Forward statics of a rigid body on two axle centres: the tilt is found by bisection, and the
    moments about the front axle's centre give the rear load. Nothing is inverted in closed form.
    """
    total, base, front, rear = 1749.0, 170.0, 12.3, 13.6
    x = (534.5 + 527.5) / total * base
    low, high = 0.0, 0.5
    for _ in range(80):
        tilt = (low + high) / 2
        level = (rear - front) * math.cos(tilt) - base * math.sin(tilt) > rear - front - lift
        low, high = (tilt, high) if level else (low, tilt)
    across, up = math.cos(low), math.sin(low)
    return total * (x * across + (height - front) * up) / (base * across + (rear - front) * up)


@pytest.mark.parametrize(
    ("lift", "raised", "reading"),
    [("front_18in", 18.0, 1063.5), ("front_27in", 27.0, 1064.5), ("front_36in", 36.0, 1065.0)],
)
def test_the_lifts_height_gives_the_reading_back(
    lift: str, raised: float, reading: float, example: Evaluation
) -> None:
    height = value(example, f"mass.weighing.first_weighing.lift.{lift}") / INCH
    # a pound of reading is some 0.8 to 1.6 in of height, so 1e-6 lb holds the height to 2e-6 in
    assert rear_reading(height, raised) == pytest.approx(reading, abs=1e-6)


def test_four_upright_drills_decide(example: Evaluation) -> None:
    times = [17.6, 16.1, 16.7, 15.4]
    mean = sum(times) / 4
    deviation = math.sqrt(sum((t - mean) ** 2 for t in times) / 3)
    # t for 3 degrees of freedom, one-sided 95 %: 2.353 in handbooks (from memory), hence 3e-4
    bound = mean + 2.353 * deviation * math.sqrt(1 + 1 / 4)
    check = next(c for c in example.checks if c.id == "egress.check.upright.required_time")
    assert check.demand.value == pytest.approx(bound, rel=3e-4)


# ------------------------------------------------------------------------------- outcome


def seconds(text: str) -> float:
    return float(text.removesuffix(" s"))


def sampled(scenario: str, size: int = 200_000) -> np.ndarray:
    """Exit times of a scenario, sampled here: longest path by recursion, PERT-beta durations."""
    data = yaml.safe_load((EXAMPLE / "egress.yaml").read_text("utf-8"))
    chosen = next(s for s in data["scenarios"] if s["id"] == scenario)
    todo = {a["id"]: dict(a) for a in (*data["activities"], *chosen.get("add", ()))}
    for change in chosen.get("change", ()):
        todo[change["activity"]].update(change)
    rng, ends = np.random.default_rng(20261125), {}

    def end(name: str) -> np.ndarray:
        if name not in ends:
            one = todo[name]
            before = [end(n) for n in one.get("after", ())]
            start = np.max(before, axis=0) if before else np.zeros(size)
            a, m, b = (seconds(one[k]) for k in ("optimistic", "likely", "pessimistic"))
            drawn = rng.beta(1 + 4 * (m - a) / (b - a), 1 + 4 * (b - m) / (b - a), size)
            taken = 0.0 if name in chosen.get("drop", ()) else a + (b - a) * drawn
            ends[name] = start + taken
        return ends[name]

    return np.max([end(name) for name in todo], axis=0)


@pytest.mark.parametrize("scenario", ["upright", "on_its_side", "hatch_jammed"])
def test_exit_times_sampled_once_more(scenario: str, example: Evaluation) -> None:
    """Another generator, another walk of the network, and another number of samples."""
    times = sampled(scenario)
    # P95 of 10,000 samples scatters by 0.03 to 0.06 s here, the mean by 0.03 s: five of each
    p95 = value(example, f"egress.scenario.{scenario}.p95")
    assert p95 == pytest.approx(float(np.percentile(times, 95)), abs=0.3)
    mean = value(example, f"egress.scenario.{scenario}.sampled_mean")
    assert mean == pytest.approx(float(np.mean(times)), abs=0.15)


def test_it_is_a_dossier_in_mid_project(example: Evaluation) -> None:
    """Short and open where the files say so on purpose. Other subjects may add their own."""
    ours = {c.id: c.verdict for c in example.checks if c.subject in ("mass", "egress")}
    assert {i for i, v in ours.items() if v == "short"} == {
        "mass.check.cg_share",
        "egress.check.on_its_side.required_time",
        "egress.check.on_its_side.protective_time",
        "egress.check.hatch_jammed.protective_time",
    }
    assert {i for i, v in ours.items() if v == "open"} == {
        "mass.check.wheel.front_left",
        "mass.check.wheel.front_right",
    }
    assert sum(v == "holds" for v in ours.values()) >= 5


def test_ballast_in_the_nose_would_bring_it_into_its_window(example: Evaluation) -> None:
    """57 % of 170 in is 96.9 in; moments about that point give the least mass at 8 in."""
    parts = aboard({}, ())
    least = math.fsum(p[0] * (p[1] - 96.9) for p in parts) / (96.9 - 8.0)
    assert 0 < least < 60
    assert value(example, "mass.ballast.nose_tray") / LB == pytest.approx(least, rel=1e-6)


def test_units_change_what_is_printed_and_no_number(tmp_path: Path, example: Evaluation) -> None:
    for path in EXAMPLE.iterdir():
        if path.is_file():
            (tmp_path / path.name).write_bytes(path.read_bytes())
    text = (tmp_path / "build.yaml").read_text("utf-8")
    (tmp_path / "build.yaml").write_text(text.replace("units: us", "units: si", 1), "utf-8")
    metric = evaluate(read(tmp_path), as_of=DAY)
    assert [(c.id, c.margin) for c in metric.checks] == [(c.id, c.margin) for c in example.checks]


def test_check_prints_results_that_keep_their_schema(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["check", str(EXAMPLE), "--json", "--as-of", "2026-11-25"]) == 1
    data = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator(schema()).validate(data)
    assert data["problems"] == []


@pytest.mark.parametrize(("options", "code"), [([], 0), (["--strict"], 0)], ids=["plain", "strict"])
def test_a_build_without_checks_holds(
    options: list[str], code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    minimal = next(f for f in GOOD if f.name == "minimal")
    assert main(["check", str(minimal), *options]) == code
    assert "nothing to check yet" in capsys.readouterr().out


Edit = Callable[[str], str]


@pytest.mark.parametrize(
    ("file", "edit", "check"),
    [
        ("mass-items.csv", lambda t: t.replace(",178,1.5,", ",378,1.5,"), "mass.check.total"),
        (
            "egress.yaml",
            lambda t: t.replace("required_time: 26 s", "required_time: 12 s"),
            "egress.check.upright.required_time",
        ),
    ],
    ids=["a heavier engine", "a shorter time"],
)
def test_a_change_of_the_description_reaches_the_verdict(
    file: str, edit: Edit, check: str, tmp_path: Path, example: Evaluation
) -> None:
    for path in EXAMPLE.iterdir():
        if path.is_file():
            (tmp_path / path.name).write_bytes(path.read_bytes())
    before = (tmp_path / file).read_text("utf-8")
    assert edit(before) != before
    (tmp_path / file).write_text(edit(before), "utf-8")
    changed = {c.id: c.verdict for c in evaluate(read(tmp_path), as_of=DAY).checks}
    assert {c.id: c.verdict for c in example.checks}[check] == "holds"
    assert changed[check] == "short"
