"""The subject speed: against the closed form end to end, and what it says when a run does not succeed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from generator.charts.speed import charts
from generator.formulas import motion
from generator.subjects.speed import Detail

from . import scenes
from .run_scene import BASE, scene

WORDS = ("mass", "air", "speed")
FREE = (
    scene(rolling="{coefficient: 0}", friction="{value: 1.5, source: made up}", power="300 kW")
    .replace("drive: {", "drive: {start_speed: 60 m/s, ")
    .replace("z: 0.4 m, basis", "z: 0.001 m, basis")
    .replace("radius: 0.3 m, steered: true", "radius: 0.3 m, steered: true, driven: true")
)


def test_a_run_at_constant_power_is_the_closed_form(tmp_path: Path) -> None:
    """Reader, air, mass and integration together: the average follows from the closed form's two times."""
    found = scenes.evaluated(tmp_path, FREE, *WORDS)
    density, detail = scenes.value(found, "air.density"), found.outcomes["speed"].detail
    assert isinstance(detail, Detail)
    first, last = detail.out.crossings
    given = {"mass": 920.0, "density": density, "drag_area": 0.36, "power": 300e3, "first": 60.0}
    for crossing in (first, last):
        assert crossing.speed is not None
        assert motion.constant_power_distance(**given, last=crossing.speed) == pytest.approx(
            crossing.mark, rel=1e-6
        )
        assert motion.constant_power_time(**given, last=crossing.speed) == pytest.approx(
            crossing.time, rel=1e-6
        )
    assert last.time is not None
    assert first.time is not None
    assert scenes.value(found, "speed.average.km.out") == pytest.approx(
        1000.0 / (last.time - first.time), rel=1e-12
    )


def test_target_and_record_are_checked_against_the_better_average(tmp_path: Path) -> None:
    text = (
        "format: 1\nunits: si\nvehicle: {name: Wren, target_speed: 300 km/h, class_record: 250 km/h}\n"
        + BASE
    )
    found = scenes.evaluated(tmp_path, text, *WORDS)
    counted = scenes.value(found, "speed.average.km.out")
    target, record = (
        scenes.check(found, "speed.check.target"),
        scenes.check(found, "speed.check.record"),
    )
    assert target.margin == pytest.approx(counted / (300 / 3.6) - 1.0)
    assert record.margin == pytest.approx(counted / (250 / 3.6) - 1.0)


def test_two_ways_give_the_harmonic_mean_and_turn_wind_and_grade(tmp_path: Path) -> None:
    text = scene().replace(
        "  shut_down: 4 km\n",
        "  shut_down: 3 km\n  two_way: true\n  head_wind: 5 m/s\n  grade: 0.1 %\n",
    )
    found = scenes.evaluated(tmp_path, text, *WORDS)
    out, back, both = (
        scenes.value(found, f"speed.average.km.{w}") for w in ("out", "back", "both")
    )
    assert out < back  # out against the wind and uphill
    assert both == pytest.approx(2.0 / (1.0 / out + 1.0 / back), rel=1e-12)
    assert both < 0.5 * (out + back)


def test_a_run_that_never_gets_there_is_open_and_says_how_far(tmp_path: Path) -> None:
    text = "format: 1\nunits: si\nvehicle: {name: Wren, target_speed: 300 km/h}\n" + scene(
        power="1 kW"
    )
    found = scenes.evaluated(tmp_path, text, *WORDS)
    target = scenes.check(found, "speed.check.target")
    assert target.verdict == "open"
    assert "600 s" in target.reason
    (item,) = (i for i in found.open_items if i.id == "speed.stalled.out")
    assert "m far" in item.text


def test_what_is_missing_is_named(tmp_path: Path) -> None:
    without_air = scene().replace(
        "venue: {pressure: 100 kPa, temperature: 20 °C, humidity: 0 %}\n", ""
    )
    assert (
        "venue"
        in scenes.check(
            scenes.evaluated(tmp_path, without_air, *WORDS), "speed.check.target"
        ).reason
    )
    third = scene().replace("x: 4 m, y: 0.6 m", "x: 2 m, y: 0.6 m")
    assert (
        "two axles"
        in scenes.check(scenes.evaluated(tmp_path, third, *WORDS), "speed.check.target").reason
    )


def test_tires_without_a_letter_stay_open_and_road_tires_are_too_slow(tmp_path: Path) -> None:
    tires = """, tires: [{id: front, wheels: [front_left, front_right]},
  {id: rear, wheels: [rear_left, rear_right], speed_symbol: V, load_index: 91}]}"""
    text = (
        "format: 1\nunits: si\nvehicle: {name: Wren, target_speed: 320 km/h}\n"
        + scene().replace("300 kW}", "300 kW" + tires)
    )
    found = scenes.evaluated(tmp_path, text, *WORDS)
    assert scenes.check(found, "speed.check.tires.front.speed").verdict == "open"
    rear = scenes.check(found, "speed.check.tires.rear.speed")
    assert rear.verdict == "short"
    assert rear.capacity.value == pytest.approx(240.0 / 3.6)
    assert (
        scenes.check(found, "speed.check.tires.rear.load").verdict == "open"
    )  # V says nothing above 240 km/h


def test_more_power_is_never_slower_and_more_drag_never_faster(tmp_path: Path) -> None:
    speeds = [
        scenes.value(scenes.evaluated(tmp_path, text, *WORDS), "speed.average.km.out")
        for text in (scene(drag_area="0.5 m²"), scene(), scene(power="400 kW"))
    ]
    assert speeds == sorted(speeds)
    assert speeds[0] < speeds[2]


def test_what_moves_it_has_the_right_signs(tmp_path: Path) -> None:
    detail = scenes.evaluated(tmp_path, BASE, *WORDS).outcomes["speed"].detail
    assert isinstance(detail, Detail)
    changes = {m.words.split(",")[0]: m.change for m in detail.moved}
    assert changes["1 % more drag area"] < 0.0  # type: ignore[operator]
    assert changes["1 % less power"] < 0.0  # type: ignore[operator]
    assert changes["10 °F (5.6 K) warmer"] > 0.0  # type: ignore[operator]


def test_spread_is_that_of_repeated_runs(tmp_path: Path) -> None:
    """The stated first-order spread against brute force: the power at its ± one standard uncertainty."""
    text = scene(power="{value: 300 kW, plus_minus: 30 kW, distribution: normal, coverage: 2}")
    found = scenes.evaluated(tmp_path, text, *WORDS)
    ends = [
        scenes.value(scenes.evaluated(tmp_path, scene(power=power), *WORDS), "speed.average.km.out")
        for power in ("285 kW", "315 kW")
    ]
    spread = found.outcomes["speed"].by_id["speed.average.km.out"].standard_uncertainty
    assert spread == pytest.approx(0.5 * (ends[1] - ends[0]), rel=0.01)


MACH = "  drag_over_mach: [{mach: 0, factor: 1}, {mach: 0.2, factor: 1}, {mach: 0.4, factor: 1.2, basis: measured}]\n"


def mached(text: str) -> str:
    """The scene with a table of drag over Mach number."""
    begin = "aero: {drag_area: 0.36 m², drag_height: 0.4 m, basis: measured}\n"
    assert begin in text
    rows = "aero:\n  drag_area: 0.36 m²\n  drag_height: 0.4 m\n  basis: measured\n" + MACH
    return text.replace(begin, rows)


def test_drag_that_grows_with_mach_costs_speed_and_shows_in_the_step(tmp_path: Path) -> None:
    """At 20 °C sound travels at 343.2 m/s; the factor at the end of the run is linear between the rows."""
    plain = scenes.evaluated(tmp_path, scene(BASE), *WORDS)
    grown = scenes.evaluated(tmp_path, mached(scene(BASE)), *WORDS)
    out = grown.outcomes["speed"]
    speed = scenes.value(grown, "speed.exit")
    assert speed < scenes.value(plain, "speed.exit")
    step = next(s for s in out.steps if s.id == "speed.step.drag")
    area = next(a.values[0] for a in step.arguments if a.name == "drag_area")
    mach = speed / scenes.value(grown, "air.sound_speed")
    assert 0.2 < mach < 0.4
    assert area == pytest.approx(0.36 * (1.0 + 0.2 * (mach - 0.2) / 0.2), rel=1e-6)


def test_the_caution_of_fast_air_stays_until_a_table_covers_it(tmp_path: Path) -> None:
    fast = scene(BASE, power="2500 kW", friction="{value: 1.5, source: made up}")
    short = mached(fast)
    covered = short.replace("mach: 0.4", "mach: 0.9")
    said = {}
    for name, text in (("none", fast), ("short", short), ("covered", covered)):
        found = scenes.evaluated(tmp_path, text, *WORDS)
        said[name] = next((c.text for c in found.cautions if c.id == "speed.caution.mach"), "")
    assert "no longer hold without proof" in said["none"]
    assert "ends at 0.4" in said["short"]
    assert said["covered"] == ""


def test_a_stated_fuel_flow_is_taken_off_and_said(tmp_path: Path) -> None:
    """0.2 kg/s over the time of the run."""
    text = scene(BASE).replace(
        "drive: {power: 300 kW}", "drive: {power: 300 kW, fuel_flow: 0.2 kg/s}"
    )
    found = scenes.evaluated(tmp_path, text, *WORDS)
    want = 0.2 * scenes.value(found, "speed.time.out")
    assert scenes.value(found, "speed.burned") == pytest.approx(want, rel=1e-9)
    said = next(a.text for a in found.assumptions if a.id == "speed.assumption.mass")
    assert "0.2 kg/s" in said
    plain = scenes.evaluated(tmp_path, scene(BASE), *WORDS)
    assert scenes.value(found, "speed.exit") > scenes.value(plain, "speed.exit")


def test_fuel_that_does_not_last_leaves_the_target_open(tmp_path: Path) -> None:
    """20 kg of fluid aboard at 0.5 kg/s are gone after 40 s, by hand, and the run takes longer."""
    text = scene(BASE).replace(
        "drive: {power: 300 kW}", "drive: {power: 300 kW, fuel_flow: 0.5 kg/s}"
    )
    text = "format: 1\nunits: si\nvehicle: {name: Wren, target_speed: 60 m/s}\n" + text
    found = scenes.evaluated(tmp_path, text, *WORDS)
    assert scenes.value(found, "speed.time.out") > 40.0
    assert scenes.value(found, "speed.burned") == pytest.approx(20.0, rel=1e-12)
    target = scenes.check(found, "speed.check.target")
    assert target.verdict == "open"
    assert "burned" in target.capacity.absent
    (said,) = (c.text for c in found.cautions if c.id == "speed.caution.dry")
    assert "40" in said
    slow = scenes.evaluated(tmp_path, text.replace("0.5 kg/s", "0.3 kg/s"), *WORDS)
    assert scenes.check(slow, "speed.check.target").verdict == "holds"


def test_the_table_over_friction_is_the_run_on_that_surface(tmp_path: Path) -> None:
    """Against the description with that friction; the table's quadrature is right to 1e-4."""
    found = scenes.evaluated(tmp_path, scene(BASE), *WORDS)
    told = {f: scenes.value(found, f"speed.friction.0_{round(10 * f)}") for f in (0.3, 0.4, 0.6)}
    assert told[0.6] == pytest.approx(scenes.value(found, "speed.average.km.out"), rel=1e-12)
    for friction in (0.3, 0.4):
        text = scene(BASE, friction=f"{{value: {friction}, source: made up}}")
        there = scenes.evaluated(tmp_path, text, *WORDS)
        assert told[friction] == pytest.approx(
            scenes.value(there, "speed.average.km.out"), rel=3e-4
        )


def test_downforce_at_speed_loads_the_tires(tmp_path: Path) -> None:
    """At rest 920 g at 0.6 of the wheelbase on two wheels; 1 m² of downforce behind adds q/2 a wheel at the greatest
    speed. What drag and thrust add at a height of 0.4 m in 4 m is positive and less than a quarter.
    """
    tires = "\n  tires: [{id: rear, wheels: [rear_left, rear_right], rated_load: 5 kN, rated_speed: 200 m/s}]\n"
    text = scene(BASE).replace("drive: {power: 300 kW}", "drive:\n  power: 300 kW" + tires)
    plain, pressed = (
        scenes.evaluated(
            tmp_path, text.replace("drag_height: 0.4 m", f"drag_height: 0.4 m{more}"), *WORDS
        )
        for more in ("", ", rear_lift_area: -1 m²")
    )
    fastest = scenes.check(pressed, "speed.check.tires.rear.speed").demand.value
    loads = [scenes.check(f, "speed.check.tires.rear.load").demand.value for f in (plain, pressed)]
    assert None not in (fastest, *loads)
    q = 0.5 * scenes.value(pressed, "air.density") * fastest**2
    at_rest = 920.0 * 9.80665 * 0.6 / 2.0
    assert loads[1] > at_rest + 0.5 * q
    assert loads[1] < at_rest + 0.5 * q * 1.25
    assert loads[0] < at_rest * 1.25


# --------------------------------------------------------------------- axles that lift, by hand

LIFTING = "aero: {drag_area: 0.36 m², drag_height: 0.4 m, front_lift_area: 0.9 m², basis: measured}"
AERO = "aero: {drag_area: 0.36 m², drag_height: 0.4 m, basis: measured}"


def test_a_car_that_its_own_lift_takes_off_the_ground_reaches_nothing(tmp_path: Path) -> None:
    """At the greatest speed, full throttle at the tires' grip or the engine's power, by statics."""
    head = "format: 1\nunits: si\nvehicle: {name: Wren, target_speed: 60 m/s}\n"
    found = scenes.evaluated(tmp_path, head + scene(BASE).replace(AERO, LIFTING), *WORDS)
    front = scenes.check(found, "speed.check.axle.front")
    assert front.verdict == "short"
    target = scenes.check(found, "speed.check.target")
    assert target.verdict == "open"
    assert "front axle is off the ground" in target.capacity.absent
    speed, rho = scenes.value(found, "speed.peak.out"), scenes.value(found, "air.density")
    # the condition with 4 kg of fuel left is the lighter one
    weight, arm, height = 904.0 * 9.80665, (900.0 * 2.4 + 4.0 * 2.0) / 904.0, 361.2 / 904.0
    pressure = 0.5 * rho * speed**2
    drag, lift = 0.36 * pressure, 0.9 * pressure
    # the rear axle alone drives; its grip is beyond the engine's 300 kW at this speed
    thrust, rolling = 300e3 / speed, 0.02 * (weight - lift)
    taken = lift + drag * 0.4 / 4.0 + (thrust - drag - rolling) * height / 4.0
    assert front.demand.value == pytest.approx(taken, rel=1e-3)
    assert front.capacity.value == pytest.approx(weight * (4.0 - arm) / 4.0, rel=1e-9)


def test_both_axles_of_an_ordinary_car_stay_down(tmp_path: Path) -> None:
    """Their spread: 0.2 m² of lift, known to half of that, at the greatest speed."""
    some = AERO.replace(
        "basis", "front_lift_area: {value: 0.2 m², plus_minus: 0.1 m²}, rear_lift_area: 0 m², basis"
    )
    found = scenes.evaluated(tmp_path, scene(BASE).replace(AERO, some), *WORDS)
    front, rear = (scenes.check(found, f"speed.check.axle.{axle}") for axle in ("front", "rear"))
    assert front.verdict == rear.verdict == "holds"
    speed = scenes.value(found, "speed.peak.out")
    pressure = 0.5 * scenes.value(found, "air.density") * speed**2
    want = (
        pressure * 0.1 / 3.0**0.5
    )  # ± is a rectangular half-width; rolling resistance takes a little of it
    assert front.demand.standard_uncertainty == pytest.approx(want, rel=0.01)
    assert front.probability_short is not None


def test_an_axle_whose_lift_nobody_states_is_not_said_to_stay_down(tmp_path: Path) -> None:
    """No lift stated is not no lift: what the program takes instead is an open item that names its checks."""
    found = scenes.evaluated(
        tmp_path,
        scene(BASE).replace(AERO, AERO.replace("basis", "front_lift_area: 0 m², basis")),
        *WORDS,
    )
    front, rear = (scenes.check(found, f"speed.check.axle.{axle}") for axle in ("front", "rear"))
    assert (front.verdict, rear.verdict) == ("holds", "open")
    assert "aero.rear_lift_area" in rear.reason
    item = next(i for i in found.open_items if i.id == "aero.assumed")
    assert "rear_lift_area" in item.text
    assert "front_lift_area" not in item.text
    assert "speed.check.axle.rear" in item.blocks


# ----------------------------------------------------- what a wind does to each run, and to both


def windy(value: float, two_way: str = "true") -> str:
    """The run in a head wind in m/s, ± 5 m/s."""
    line = "  friction: {value: 0.6, source: made up}"
    assert line in BASE
    wind = f"head_wind: {{value: {value:.6f} m/s, plus_minus: 5 m/s}}"
    return BASE.replace(line, f"{line}\n  {wind}\n  two_way: {two_way}")


def test_the_wind_is_spared_to_the_average_of_both_runs_alone(tmp_path: Path) -> None:
    """Each run meets it alone. Half the difference of whole runs in ±u of wind, u = 5/√3 of a rectangle."""
    u = 5.0 / 3.0**0.5
    both, one = (scenes.evaluated(tmp_path, windy(0.0, way), *WORDS) for way in ("true", "false"))
    more, less = (scenes.evaluated(tmp_path, windy(w, "false"), *WORDS) for w in (u, -u))
    # the way back has the longer run-up here, and ends faster: the exit is compared on the one-way course
    for found, name in (
        (one, "speed.exit"),
        (one, "speed.average.km.out"),
        (both, "speed.average.km.out"),
    ):
        want = 0.5 * (scenes.value(less, name) - scenes.value(more, name))
        u_found = found.outcomes["speed"].by_id[name].standard_uncertainty
        assert u_found == pytest.approx(want, rel=2e-3)
    by = both.outcomes["speed"].by_id
    exit_ = by["speed.exit"].standard_uncertainty
    assert exit_ > 1.5  # as the exit's on the one-way course, by the longer run-up a little more
    assert by["speed.average.km.back"].standard_uncertainty > 0.5 * exit_
    assert by["speed.average.km.both"].standard_uncertainty < 0.05 * exit_


# ------------------------------------------------------------- wheels that no tires are named for


def test_a_wheels_rating_is_held_against_its_load_at_speed(tmp_path: Path) -> None:
    """0.5 m² of down-force at the rear and full throttle, by statics, against 2.8 kN that hold it at rest."""
    rated = re.sub(r"(radius: 0.3 m)", r"\1, rated_load: 2.8 kN", BASE)
    pressed = AERO.replace("basis", "rear_lift_area: -0.5 m², basis")
    found = scenes.evaluated(tmp_path, rated.replace(AERO, pressed), *WORDS)
    assert scenes.check(found, "mass.check.wheel.rear_left").verdict == "holds"
    check = scenes.check(found, "speed.check.tires.wheels.rear.load")
    assert check.verdict == "short"
    assert check.capacity.value == pytest.approx(2800.0)
    speed, rho = scenes.value(found, "speed.peak.out"), scenes.value(found, "air.density")
    pressure, mass = 0.5 * rho * speed**2, 920.0
    rest = mass * 9.80665 * (900.0 * 2.4 + 20.0 * 2.0) / mass / 4.0
    rolling = 0.02 * (mass * 9.80665 + 0.5 * pressure)
    push = (300e3 / speed - 0.36 * pressure - rolling) * (366.0 / mass) / 4.0
    load = rest + 0.5 * pressure + 0.36 * pressure * 0.4 / 4.0 + push
    assert check.demand.value == pytest.approx(load / 2.0, rel=1e-3)
    fast = scenes.check(found, "speed.check.tires.wheels.rear.speed")
    assert fast.verdict == "open"
    assert "drive.tires" in fast.capacity.absent


def test_the_less_of_a_tires_and_its_wheels_rating_counts(tmp_path: Path) -> None:
    rated = re.sub(r"(radius: 0.3 m, driven: true)", r"\1, rated_load: 3 kN", BASE)
    tires = (
        "drive: {power: 300 kW, tires: [{id: rear, wheels: [rear_left, rear_right], "
        "rated_speed: 120 m/s, rated_load: L, source: letter}]}"
    )
    for load, least in (("2.9 kN", 2900.0), ("4 kN", 3000.0)):
        text = rated.replace("drive: {power: 300 kW}", tires.replace("L,", f"{load},"))
        found = scenes.evaluated(tmp_path, text, *WORDS)
        check = scenes.check(found, "speed.check.tires.rear.load")
        assert check.capacity.value == pytest.approx(least)
    unnamed = scenes.check(found, "speed.check.tires.wheels.front.speed")
    assert unnamed.verdict == "open"


@pytest.mark.parametrize("text", [scene(friction="{value: 0.03, source: ice}"), scene(power="1 W")])
def test_a_car_that_cannot_start_is_open_and_no_crash(tmp_path: Path, text: str) -> None:
    """0.03 of half the weight is less than a rolling resistance of 0.02 of all of it; 1 W moves nothing."""
    soft = text.replace("coefficient: 0.02", "coefficient: 0.1")
    head = "format: 1\nunits: si\nvehicle: {name: Wren, target_speed: 60 m/s}\n"
    found = scenes.evaluated(tmp_path, head + soft, *WORDS)
    assert scenes.check(found, "speed.check.target").verdict == "open"
    charts(found.outcomes["speed"], found.build)


def test_a_spread_that_reaches_where_the_run_does_not_get_through_still_counts(
    tmp_path: Path,
) -> None:
    """Rear wheels bear about half: grip 0.15 of the weight at a friction of 0.3, and the car starts while rolling
    resistance is below that. By ± 0.06 it reaches 0.1446 of it and by ± 0.07 0.1504: then it stays on the line."""
    doubts = []
    for half in ("0.06", "0.07", "0.08"):
        text = scene(
            rolling=f"{{coefficient: {{value: 0.11, plus_minus: {half}}}}}",
            friction="{value: 0.3, source: made up}",
        )
        found = scenes.evaluated(tmp_path, text, *WORDS)
        doubts.append(found.outcomes["speed"].by_id["speed.average.km.out"].standard_uncertainty)
    assert 0.0 < doubts[0] < doubts[1] < doubts[2]


def test_no_target_near_the_speed_of_sound_holds_by_a_drag_that_nobody_states(
    tmp_path: Path,
) -> None:
    """At 20 °C Mach 0.8 is 274.6 m/s. 20 MW drive all wheels past it; what is short is short with any drag."""
    fast = scene(friction="{value: 1.5, source: made up}", power="20000 kW").replace(
        "radius: 0.3 m, steered: true", "radius: 0.3 m, steered: true, driven: true"
    )

    def verdict(target: str, table: str = "") -> tuple[str, str]:
        text = fast.replace(
            AERO,
            AERO.replace("basis", f"{table}front_lift_area: 0 m², rear_lift_area: 0 m², basis"),
        )
        text = text.replace("drag_area: 0.36 m²", "drag_area: 0.1 m²")
        head = f"format: 1\nunits: si\nvehicle: {{name: Wren, target_speed: {target}}}\n"
        found = scenes.evaluated(tmp_path, head + text, *WORDS)
        assert scenes.value(found, "speed.peak.out") > 290.0
        check = scenes.check(found, "speed.check.target")
        return check.verdict, check.reason

    assert verdict("270 m/s")[0] == "holds"
    assert verdict("280 m/s") == (
        "open",
        "how drag grows beyond Mach 0.8 is not stated: `aero.drag_over_mach`",
    )
    assert verdict("590 m/s")[0] == "short"
    rows = "drag_over_mach: [{mach: 0, factor: 1}, {mach: 0.95, factor: 1.1}], "
    assert verdict("280 m/s", rows)[0] == "holds"


def test_a_vehicle_without_a_shape_is_asked_whether_it_runs_straight(tmp_path: Path) -> None:
    found = scenes.evaluated(tmp_path, scene(BASE), *WORDS)
    assert "speed.shape" in {i.id for i in found.open_items}
    shaped = "shape: {reference_area: 1 m², whole: {slope: 4, x: 3 m, basis: measured, source: tunnel}}\n"
    stated = scenes.evaluated(tmp_path, scene(BASE) + shaped, *WORDS)
    assert "speed.shape" not in {i.id for i in stated.open_items}


def test_what_moves_the_speed_is_among_the_results(tmp_path: Path) -> None:
    """The average with 1 % less power and with 45.4 kg more, described so, less that as it is."""
    plain = scenes.evaluated(tmp_path, scene(BASE), *WORDS)
    for mark, old, new in (
        ("power", "300 kW", "297 kW"),
        ("mass", "mass: 900 kg", "mass: 945.359 kg"),
    ):
        moved = scenes.evaluated(tmp_path, scene(BASE).replace(old, new), *WORDS)
        want = scenes.value(moved, "speed.average.km.out") - scenes.value(
            plain, "speed.average.km.out"
        )
        # the mass's own place and the quadrature's 1e-4 of the speed are in the difference
        assert scenes.value(plain, f"speed.moved.{mark}") == pytest.approx(want, rel=0.05)
