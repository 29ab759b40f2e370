"""The subject parachutes: loads worked by hand, what holds them, where they pull."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np
import pytest

from buildspec.sections.parachutes import WEBBINGS, CanopyType
from generator.run.car import GRAVITY, Car, Course
from generator.subjects.parachutes import Detail
from generator.subjects.parachutes_tires import axle_loads, lowest, worst_on_rim
from generator.subjects.pulls import Pull, over_the_rim
from generator.subjects.stability_wind import Footing
from generator.tables.canopies import LBF, canopies, webbings

from . import scenes
from .run_scene import BASE, CHUTES, scene

WORDS = ("mass", "air", "speed", "parachutes")
FULL = scene(BASE, CHUTES)


def test_the_design_load_takes_the_high_ends_and_no_credit(tmp_path: Path) -> None:
    """q S₀ C_D C_x with C_D 0.55 and C_x 1.30, the high ends printed for a conical ribbon canopy."""
    found = scenes.evaluated(tmp_path, FULL, *WORDS)
    q = 0.5 * scenes.value(found, "air.density") * 90.0**2
    assert scenes.value(found, "parachutes.main.design_load") == pytest.approx(
        q * math.pi * 0.55 * 1.30, rel=1e-12
    )
    assert scenes.value(found, "parachutes.main.steady_drag") == pytest.approx(
        q * math.pi * 0.55, rel=1e-12
    )
    assert scenes.value(found, "parachutes.main.expected_1") < scenes.value(
        found, "parachutes.main.design_load"
    )


def test_integration_stays_below_the_closed_form_which_knows_no_other_drag(tmp_path: Path) -> None:
    found = scenes.evaluated(tmp_path, FULL, *WORDS)
    closed, integrated = (
        scenes.value(found, f"parachutes.main.{w}_1") for w in ("expected", "integrated")
    )
    assert 0.95 * closed < integrated < closed
    detail = found.outcomes["parachutes"].detail
    assert isinstance(detail, Detail)
    assert all(c.same for c in detail.chutes[0].loads.credits)


def test_a_type_without_a_printed_exponent_shows_one_and_two(tmp_path: Path) -> None:
    found = scenes.evaluated(tmp_path, FULL.replace("conical_ribbon", "cross"), *WORDS)
    ids = found.outcomes["parachutes"].by_id
    assert {"parachutes.main.expected_1", "parachutes.main.expected_2"} <= ids.keys()
    assert any("1 and 2 are shown" in a.text for a in found.assumptions)


def test_strength_of_the_riser_is_the_webbing_less_its_losses(tmp_path: Path) -> None:
    """15,000 lbf × 0.80 × 0.95 × 0.95, and the factor of 2 against the design load."""
    found = scenes.evaluated(tmp_path, FULL, *WORDS)
    check = scenes.check(found, "parachutes.check.main.riser")
    assert check.capacity.value == pytest.approx(15000 * LBF * 0.80 * 0.95 * 0.95)
    load = scenes.value(found, "parachutes.main.design_load")
    assert check.margin == pytest.approx(check.capacity.value / (2.0 * load) - 1.0)


UNCAUGHT = FULL.replace("      snatch_load: 1 kN\n", "")
CAUGHT = UNCAUGHT.replace("strength: 9 kN}", "strength: 9 kN, stretch: 20 %}").replace(
    "type XXVI}", "type XXVI, stretch: 20 %}\n      mass: 5 kg\n      pilot_drag_area: 0.2 m²"
)


def test_what_is_not_stated_stays_open(tmp_path: Path) -> None:
    found = scenes.evaluated(tmp_path, UNCAUGHT, *WORDS)
    assert scenes.check(found, "parachutes.check.main.mount").verdict == "open"
    assert found.outcomes["parachutes"].by_id["parachutes.main.snatch_load"].value is None
    assert "parachutes.main.snatch" in {i.id for i in found.open_items}


def test_a_snatch_load_that_is_not_known_leaves_strength_open_and_what_is_short_short(
    tmp_path: Path,
) -> None:
    """Against the design load alone the shackle holds and a weak one does not; neither knows the snatch load."""
    open_, weak, stated = (
        scenes.evaluated(tmp_path, text, *WORDS)
        for text in (UNCAUGHT, UNCAUGHT.replace("shackle: 120 kN", "shackle: 10 kN"), FULL)
    )
    checks = [scenes.check(f, "parachutes.check.main.shackle") for f in (open_, weak, stated)]
    assert [c.verdict for c in checks] == ["open", "short", "holds"]
    assert "snatch load is not known" in checks[0].reason
    item = next(i for i in open_.open_items if i.id == "parachutes.main.snatch")
    assert {"parachutes.check.main.shackle", "parachutes.check.main.riser"} <= set(item.blocks)


def test_a_snatch_load_is_as_uncertain_as_what_it_is_made_of(tmp_path: Path) -> None:
    """√(2 q A L/m_c) · √(k m m_c/(m + m_c)): the pack's own mass nearly falls out, and the pilot chute's area counts by
    half of its share, the lines' stretch by half of the share that their spring has of both.
    """
    text = CAUGHT.replace(
        "pilot_drag_area: 0.2 m²", "pilot_drag_area: {value: 0.2 m², plus_minus: 30 %}"
    )
    snatch = (
        scenes.evaluated(tmp_path, text, *WORDS)
        .outcomes["parachutes"]
        .by_id["parachutes.main.snatch_load"]
    )
    assert snatch.standard_uncertainty / snatch.value == pytest.approx(
        0.5 * 0.3 / math.sqrt(3.0), rel=0.01
    )  # the root's second order
    soft = CAUGHT.replace("9 kN, stretch: 20 %", "9 kN, stretch: {value: 20 %, plus_minus: 2 %}")
    snatch = (
        scenes.evaluated(tmp_path, soft, *WORDS)
        .outcomes["parachutes"]
        .by_id["parachutes.main.snatch_load"]
    )
    lines, riser = 16 * 9e3 / (0.2 * 2.0), 15000 * LBF / (0.2 * 10.0)
    want = 0.5 * (0.1 / math.sqrt(3.0)) * (1.0 / lines) / (1.0 / lines + 1.0 / riser)
    assert snatch.standard_uncertainty / snatch.value == pytest.approx(want, rel=0.01)


def test_a_snatch_load_above_the_design_load_governs(tmp_path: Path) -> None:
    text = CAUGHT
    found = scenes.evaluated(tmp_path, text, *WORDS)
    snatch = scenes.value(found, "parachutes.main.snatch_load")
    assert snatch > scenes.value(found, "parachutes.main.design_load")
    check = scenes.check(found, "parachutes.check.main.shackle")
    assert check.demand.value == pytest.approx(snatch)
    assert "snatch" in check.basis_of_verdict
    assert scenes.value(found, "parachutes.main.governing_load") == pytest.approx(snatch)
    plain = scenes.evaluated(tmp_path, FULL, *WORDS)
    assert scenes.value(plain, "parachutes.main.governing_load") == scenes.value(
        plain, "parachutes.main.design_load"
    )


@pytest.mark.parametrize("cone", [5.0, 15.0])
def test_a_pull_to_the_side_and_up_takes_the_grip_that_holds_it(
    tmp_path: Path, cone: float
) -> None:
    """Statics: 1 m behind the rear axle, 5/4 of the pull's side and of its lift act on that axle. Round the rim
    of the cone the share of the grip used is greatest at D/(μ √(N² − U²)), from differentiating by the angle.

    Looked for in whole degrees, which misses the greatest by a part of 1e-4 at most.
    """
    found = scenes.evaluated(tmp_path, FULL.replace("cone: 5°", f"cone: {cone}°"), *WORDS)
    load = scenes.check(found, "parachutes.check.main.rear").capacity.value
    edge = scenes.value(found, "parachutes.main.design_load") * math.sin(math.radians(cone)) * 5 / 4
    side = scenes.check(found, "parachutes.check.main.rear_side")
    assert load is not None
    assert edge < load
    assert side.margin == pytest.approx(0.6 * math.sqrt(load**2 - edge**2) / edge - 1.0, rel=2e-3)


@pytest.mark.parametrize("y", ["0.3 m", "-0.3 m"])
def test_the_pull_may_swing_to_the_side_that_adds_to_its_offset(tmp_path: Path, y: str) -> None:
    """Attached 1 m ahead of the rear axle and 0.3 m off: 1/4 of the side reaches the front axle, and so does
    P cos 5° · 0.3/4; at worst both act one way. The up and down of the cone moves the grip by little there.
    """
    text = FULL.replace("attach: {x: 5 m, z: 0.4 m}", f"attach: {{x: 3 m, y: {y}, z: 0.4 m}}")
    found = scenes.evaluated(tmp_path, text, *WORDS)
    pull = scenes.value(found, "parachutes.main.design_load")
    cone = math.radians(5.0)
    want = pull * math.sin(cone) / 4.0 + pull * math.cos(cone) * 0.3 / 4.0
    side = scenes.check(found, "parachutes.check.main.front_side")
    assert side.demand.value == pytest.approx(want, rel=0.02)


@pytest.mark.parametrize(
    ("old", "new", "u"),
    [
        ("diameter: 2 m", "diameter: {value: 2 m, plus_minus: 0.1 m}", 2.0 * 0.05),
        ("friction:", "head_wind: {value: 10 m/s, plus_minus: 3 m/s}\n  friction:", 2.0 * 3 / 100),
        ("friction:", "head_wind: {value: -10 m/s, plus_minus: 3 m/s}\n  friction:", 0.0),
    ],
)
def test_the_load_is_as_uncertain_as_the_cloth_and_the_wind(
    tmp_path: Path, old: str, new: str, u: float
) -> None:
    """The load goes as D² and as the square of the 90 m/s and the wind met: twice the relative half-width, over √3.
    A tail wind is not taken off, nor is its ±.
    """
    found = scenes.evaluated(tmp_path, FULL.replace(old, new), *WORDS)
    load = found.outcomes["parachutes"].by_id["parachutes.main.design_load"]
    assert load.value is not None
    assert load.standard_uncertainty / load.value == pytest.approx(u / math.sqrt(3.0), abs=1e-9)


def test_the_makers_own_figures_replace_the_table(tmp_path: Path) -> None:
    text = FULL.replace(
        "type: conical_ribbon\n      diameter: 2 m",
        "drag_area: {value: 1.5 m², plus_minus: 0.1 m²}\n      opening_coefficient: 1.2",
    )
    found = scenes.evaluated(tmp_path, text, *WORDS)
    q = 0.5 * scenes.value(found, "air.density") * 90.0**2
    assert scenes.value(found, "parachutes.main.design_load") == pytest.approx(q * 1.6 * 1.2)
    assert (
        scenes.check(found, "parachutes.check.main.lines").verdict == "open"
    )  # no nominal diameter: lines not known


def test_pull_on_the_line_through_the_cg_moves_no_axle_load_but_its_drag() -> None:
    """A straight pull at the height of the CG is balanced by the deceleration: both axles keep their loads."""
    car = Car(900.0, 2.4, 0.4, 4.0, 0.36, 0.4, 0.0, 0.0, 0.0, math.inf, 0.6)
    still = axle_loads(
        car, Course(1.2), speed=80.0, aft=0.0, up=0.0, place=(5.0, 0.4), retarding=1382.4
    )
    pulled = axle_loads(
        car, Course(1.2), speed=80.0, aft=12000.0, up=0.0, place=(5.0, 0.4), retarding=13382.4
    )
    assert pulled == pytest.approx(still, rel=1e-12)


def test_a_high_pull_unloads_the_front_axle() -> None:
    """By statics ΔN_f = −P (h_P − h)/l."""
    car = Car(900.0, 2.4, 0.4, 4.0, 0.36, 0.4, 0.0, 0.0, 0.0, math.inf, 0.6)
    low, high = (
        axle_loads(
            car, Course(1.2), speed=80.0, aft=12000.0, up=0.0, place=(5.0, h), retarding=13382.4
        )
        for h in (0.4, 0.7)
    )
    assert high[0] - low[0] == pytest.approx(-12000.0 * 0.3 / 4.0)
    assert high[1] - low[1] == pytest.approx(12000.0 * 0.3 / 4.0)


def test_tables_say_where_they_were_read() -> None:
    assert all(w.source for w in webbings().values())
    for row in canopies().values():
        assert 0.2 < row.drag[0] <= row.drag[1] < 1.0 <= row.opening[0] <= row.opening[1]


def test_the_reader_knows_the_webbings_of_the_table() -> None:
    known = {
        f"{specification} type {word}"
        for specification, words in WEBBINGS.items()
        for word in words
    }
    assert known == set(webbings())


def test_the_reader_knows_the_canopies_of_the_table() -> None:
    assert set(get_args(CanopyType)) == set(canopies())


def test_type_vii_follows_its_revision() -> None:
    """6,000 lbf in revision K: 5,500 lbf is type XXIV there (a weaving mill's table and PIA-W-1100A)."""
    assert webbings()["MIL-W-4088K type VII"].strength == pytest.approx(6000 * LBF)
    assert webbings()["MIL-W-4088K type XXIV"].strength == pytest.approx(5500 * LBF)


def test_loads_below_the_runs_speed_are_open_while_no_stop_says_when_it_opens(
    tmp_path: Path,
) -> None:
    """90 m/s stated, and 300 kW reach more; with 120 m/s stated there is nothing left to say."""
    name = "parachutes.check.main.opening"
    slow = scenes.evaluated(tmp_path, FULL, *WORDS)
    assert scenes.value(slow, "speed.exit") > 90.0
    check = scenes.check(slow, name)
    assert check.verdict == "open"
    assert "stopping.deploy" in check.reason
    fast = scenes.evaluated(tmp_path, FULL.replace("speed: 90 m/s", "speed: 120 m/s"), *WORDS)
    assert name not in {c.id for c in fast.checks}


def test_drag_that_grows_with_mach_leaves_the_lift_alone() -> None:
    """q = ½ 1.2 90² = 4860 Pa; 0.5 m² of lift behind take 2430 N, at a drag factor of 1 and of 2. Drag acts on the
    ground and the CG is on it too, so nothing else reaches the axles: 900 kg at 2.4 of 4 m leave 5295.591 N behind.
    """
    for factor in (1.0, 2.0):
        car = Car(
            900.0, 2.4, 0.0, 4.0, 0.36, 0.0, 0.0, 0.5, 0.0, math.inf, 0.6,
            compressed=((0.0, 300.0), (factor, factor)),
        )  # fmt: skip
        front, rear = axle_loads(
            car, Course(1.2), speed=90.0, aft=0.0, up=0.0, place=(5.0, 0.0), retarding=0.0
        )
        assert rear == pytest.approx(900.0 * 9.80665 * 0.6 - 2430.0)
        assert front == pytest.approx(900.0 * 9.80665 * 0.4)


def test_the_makers_speed_is_held_against_the_speed_through_the_air(tmp_path: Path) -> None:
    """90 m/s over ground: 100 m/s through the air in 10 m/s of head wind, which on a two-way course a tail wind is
    once too.
    """
    for more, want in (
        ("head_wind: 10 m/s", 100.0),
        ("head_wind: -10 m/s", 90.0),
        ("head_wind: -10 m/s\n  two_way: true", 100.0),
    ):
        text = FULL.replace("  shut_down: 4 km\n", f"  shut_down: 4 km\n  {more}\n")
        found = scenes.evaluated(tmp_path, text.replace("120 m/s", "95 m/s"), *WORDS)
        check = scenes.check(found, "parachutes.check.main.speed")
        assert check.demand.value == pytest.approx(want)
        assert check.verdict == ("short" if want > 95.0 else "holds")


def test_tires_carry_the_opening(tmp_path: Path) -> None:
    """Statics by hand: the pull on the rim of its cone moves load aft, as do drag and the deceleration forward, and
    its roll lies on one axle alone. A newton down at 5 m behind an axle 4 m apart from the other puts 0.625 N on each
    rear wheel, one aside at 0.4 m on a track of 1.2 m 0.333 N: so it points down as far as 12 m of line reach the
    ground 0.4 m below, and aside for the rest of 5°. Without a peak load the rated one holds.
    """
    rated = (
        "drive:\n  tires: [{id: rear, wheels: [rear_left, rear_right], rated_load: 3 kN}]\n  power"
    )
    text = scene(BASE, CHUTES).replace("drive: {power", rated).replace("300 kW}", "300 kW")
    plain, moment = (
        scenes.check(scenes.evaluated(tmp_path, t, *WORDS), "parachutes.check.main.tires_rear")
        for t in (text, text.replace("3 kN", "3 kN, peak_load: 5 kN"))
    )
    found = scenes.evaluated(tmp_path, text, *WORDS)
    q = 0.5 * scenes.value(found, "air.density") * 90.0**2
    pull, angle, weight = q * 0.55 * math.pi * 1.30, math.radians(5.0), 920.0 * GRAVITY
    aft, drag, height = pull * math.cos(angle), q * 0.36, (900.0 * 0.4 + 20.0 * 0.3) / 920.0
    moved = (0.4 * (aft + drag) - height * (aft + drag + 0.02 * weight)) / 4.0
    at_rest = GRAVITY * (900.0 * 2.4 + 20.0 * 2.0) / 4.0
    down = pull * 0.4 / 12.0
    aside = math.sqrt((pull * math.sin(angle)) ** 2 - down**2)
    want = (at_rest + moved) / 2.0 + down * 5.0 / 4.0 / 2.0 + aside * 0.4 / 1.2
    for check, most in ((plain, 3000.0), (moment, 5000.0)):
        assert check.demand.value == pytest.approx(want, rel=1e-9)
        assert check.capacity.value == pytest.approx(most)


@pytest.mark.parametrize(
    ("each", "lowest", "down", "load"),
    [
        ((0.6, 0.8), 0.5, 60.0, 100.0),  # free: along the direction that loads most, 100 N · 1
        ((0.6, 0.8), math.asin(0.03), 30.0, 0.6 * 30.0 + 0.8 * math.sqrt(100**2 - 30**2)),
        ((0.5, 0.0), 0.5, 100.0, 50.0),  # one wheel on the axle takes no roll: straight down
        ((-0.6, 0.8), math.asin(0.03), -60.0, 100.0),  # the far axle: a pull up loads it
    ],
)
def test_the_worst_direction_on_the_rim_is_that_of_both_parts_together(
    each: tuple[float, float], lowest: float, down: float, load: float
) -> None:
    """1,000 N with 100 N across: a·cos φ + b·sin φ is greatest at tan φ = b/a, and then √(a² + b²) (trigonometry)."""
    found = worst_on_rim(1000.0, math.asin(0.1), lowest, each)
    assert found[0] == pytest.approx(down)
    assert each[0] * found[0] + each[1] * found[1] == pytest.approx(load)
    around = np.radians(np.arange(0.0, 180.0, 0.01))
    every = 100.0 * np.cos(around)
    allowed = every <= 1000.0 * math.sin(lowest) + 1e-9
    best = (each[0] * every + each[1] * 100.0 * np.sin(around))[allowed].max()
    assert load == pytest.approx(best, rel=1e-3)


@pytest.mark.parametrize(
    ("wheel", "tire", "most"),
    [
        ("rated_load: 4 kN", "rated_load: 3 kN, peak_load: 5 kN", 4000.0),
        ("rated_load: 4 kN, peak_load: 6 kN", "rated_load: 3 kN, peak_load: 5 kN", 5000.0),
        ("rated_load: 4 kN, peak_load: 4.5 kN", "rated_load: 3 kN, peak_load: 5 kN", 4500.0),
        ("rated_load: 2 kN", "rated_load: 3 kN", 2000.0),
        ("peak_load: 4 kN", "rated_load: 3 kN", 3000.0),
    ],
)
def test_a_tires_load_for_a_moment_is_no_more_than_its_wheels(
    tmp_path: Path, wheel: str, tire: str, most: float
) -> None:
    tires = f"drive:\n  tires: [{{id: rear, wheels: [rear_left, rear_right], {tire}}}]\n  power"
    text = scene(BASE, CHUTES).replace("drive: {power", tires).replace("300 kW}", "300 kW")
    text = text.replace("driven: true", f"driven: true, {wheel}")
    check = scenes.check(
        scenes.evaluated(tmp_path, text, *WORDS), "parachutes.check.main.tires_rear"
    )
    assert check.capacity.value == pytest.approx(most)


def test_a_pull_points_no_deeper_than_its_canopy_can_go(tmp_path: Path) -> None:
    """12 m of riser and lines from 0.4 m: asin(0.4/12) is 1.9°, less than a cone of 5°, and more than one of 1°."""
    found = scenes.evaluated(tmp_path, scene(BASE, CHUTES), *WORDS)
    detail = found.outcomes["parachutes"].detail
    assert isinstance(detail, Detail)
    canopy = detail.chutes[0].canopy
    assert lowest(canopy, math.radians(5.0), 0.4) == pytest.approx(math.asin(0.4 / 12.0))
    assert lowest(canopy, math.radians(1.0), 0.4) == pytest.approx(math.radians(1.0))
    assert lowest(replace(canopy, riser=None), 0.1, 0.4) == pytest.approx(0.1)


def test_the_lightest_condition_is_unloaded_most(tmp_path: Path) -> None:
    """The same pull takes the same off either: of the lighter vehicle that is the greater share."""
    text = scene(BASE, CHUTES).replace("mass: 20 kg, x: 2 m", "mass: 200 kg, x: 2.4 m")
    alone, both = (
        scenes.check(
            scenes.evaluated(
                tmp_path,
                text.replace("[{id: start}, {id: end, fill: {fuel: 20 %}}]", conditions),
                *WORDS,
            ),
            "parachutes.check.main.rear",
        )
        for conditions in (
            "[{id: start}]",
            "[{id: start}, {id: end, title: Nearly dry, fill: {fuel: 20 %}}]",
        )
    )
    assert both.margin is not None
    assert alone.margin is not None
    assert both.margin < alone.margin
    assert both.basis_of_verdict.endswith("Nearly dry")


def test_the_spread_of_a_computed_speed_reaches_the_loads(tmp_path: Path) -> None:
    """The pressure goes with the square: twice the speed's relative spread. A stated speed brings none."""
    text = scene(BASE, CHUTES, power="{value: 300 kW, plus_minus: 30 kW}")
    computed = text.replace(
        "      most_speed: 120 m/s\n  speed: 90 m/s", "      most_speed: 120 m/s"
    )
    for of, off in ((text, 0.0), (computed, 2.0)):
        found = scenes.evaluated(tmp_path, of, *WORDS)
        speed = found.outcomes["speed"].by_id["speed.exit"]
        load = found.outcomes["parachutes"].by_id["parachutes.main.design_load"]
        assert speed.value is not None
        assert load.value is not None
        assert speed.standard_uncertainty > 0.005 * speed.value
        assert load.standard_uncertainty / load.value == pytest.approx(
            off * speed.standard_uncertainty / speed.value, abs=1e-9
        )
        opens = scenes.check(found, "parachutes.check.main.speed").demand
        assert opens.standard_uncertainty == (speed.standard_uncertainty if off else 0.0)


def test_a_check_names_the_speed_and_the_vehicle_it_rests_on(tmp_path: Path) -> None:
    stated = scenes.evaluated(tmp_path, FULL, *WORDS)
    computed = scenes.evaluated(tmp_path, FULL.replace("  speed: 90 m/s\n", ""), *WORDS)
    for word in ("riser", "rear", "rear_side"):
        name = f"parachutes.check.main.{word}"
        assert "parachutes.speed" in scenes.check(stated, name).inputs
        assert {"drive.power", "aero.drag_area"} <= set(scenes.check(computed, name).inputs)
    assert "mass.items.all.mass" in scenes.check(stated, "parachutes.check.main.rear").inputs


def test_where_the_pull_acts_is_in_the_spread_of_what_it_takes_off_an_axle(tmp_path: Path) -> None:
    """Statics: a pull P at the height z takes P (z − h)/l off the front axle, so ± 0.3 m are ± P 0.3 m/(√3 l); a CG
    off by x along moves m g x/l of the load that is there. Each alone.
    """
    high = FULL.replace("z: 0.4 m}\n      cone: 5°", "z: 1.2 m}\n      cone: 0.01°")
    off = high.replace("z: 1.2 m}", "z: {value: 1.2 m, plus_minus: 0.3 m}}")
    check = scenes.check(scenes.evaluated(tmp_path, off, *WORDS), "parachutes.check.main.front")
    plain = scenes.evaluated(tmp_path, high, *WORDS)
    pull = scenes.value(plain, "parachutes.main.design_load")
    assert check.demand.standard_uncertainty == pytest.approx(
        pull * 0.3 / math.sqrt(3.0) / 4.0, rel=1e-4
    )
    assert scenes.check(plain, "parachutes.check.main.front").demand.standard_uncertainty == 0.0
    moved = high.replace("x: 2.4 m", "x: {value: 2.4 m, plus_minus: 0.2 m}")
    check = scenes.check(scenes.evaluated(tmp_path, moved, *WORDS), "parachutes.check.main.front")
    by_place = 900.0 * GRAVITY / 4.0 * 0.2 / math.sqrt(3.0)
    assert check.capacity.standard_uncertainty == pytest.approx(by_place, rel=1e-3)


def test_a_pull_to_the_side_from_high_up_lifts_the_inner_wheels(tmp_path: Path) -> None:
    """By hand: 19.3 kN at 8° are 2.69 kN across, at 0.9 m 2.42 kN·m about the outer wheels' line; 1,000 kg on a track
    of 0.44 m hold 2.16 kN·m. A pull up as well takes some of that.
    """
    on = Footing((-0.22, -0.22), (0.22, 0.22), 0.0)
    pull = Pull(19340.0, math.radians(8.0), 4.2, 0.9, 0.0)
    over, righting = over_the_rim([pull], (4903.3, 4903.3), 4.0, on)
    around = np.radians(np.arange(0.0, 180.0, 0.1))
    across = 19340.0 * math.sin(math.radians(8.0))
    held = (9806.6 - across * np.cos(around)) * 0.22
    want = (across * 0.9 * np.sin(around) / held).max()
    assert want > 2.42 / 2.16
    assert over / righting == pytest.approx(want, rel=1e-3)
    # the CG 50 mm to the right: that much less arm there
    off = Footing((-0.22, -0.22), (0.22, 0.22), 0.05)
    flat = Pull(19340.0, math.radians(8.0), 4.2, 0.9, -0.05)  # attached on the middle line still
    over, righting = over_the_rim([flat], (4903.3, 4903.3), 4.0, off)
    held = held - 9806.6 * 0.05
    assert over / righting == pytest.approx((across * 0.9 * np.sin(around) / held).max(), rel=1e-3)
    narrow = FULL.replace("y: -0.6 m", "y: -0.22 m").replace("y: 0.6 m", "y: 0.22 m")
    text = narrow.replace("z: 0.4 m}\n      cone: 5°", "z: 0.9 m}\n      cone: 8°")
    found = scenes.evaluated(tmp_path, text.replace("diameter: 2 m", "diameter: 3 m"), *WORDS)
    assert scenes.check(found, "parachutes.check.main.tipping").verdict == "short"
    low = scenes.evaluated(tmp_path, narrow, *WORDS)
    assert scenes.check(low, "parachutes.check.main.tipping").verdict == "holds"


def test_ballistic_parameter_and_axle_loads_at_each_speed_are_among_the_results(
    tmp_path: Path,
) -> None:
    """A = 2 m/(ρ CdS n D₀), with n = 14 for a ribbon canopy; what the check finds at its worst speed is the least of
    those shown.
    """
    found = scenes.evaluated(tmp_path, FULL, *WORDS)
    area, density = 0.55 * math.pi, scenes.value(found, "air.density")
    assert scenes.value(found, "parachutes.main.ballistic") == pytest.approx(
        2.0 * 920.0 / (density * area * 14.0 * 2.0)
    )
    assert scenes.value(found, "parachutes.main.filling_time") == pytest.approx(28.0 / 90.0)
    check = scenes.check(found, "parachutes.check.main.rear")
    left = [
        scenes.value(found, f"parachutes.main.axle.rear.least_{n}")
        / scenes.value(found, f"parachutes.main.axle.rear.coasting_{n}")
        for n in (100, 80, 60, 40)
    ]
    assert min(left) == pytest.approx(1.0 - check.demand.value / check.capacity.value, rel=0.02)
