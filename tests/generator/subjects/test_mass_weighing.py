"""Weighings: what the scales give, prediction against them, and what follows where they are
used.
"""

from __future__ import annotations

import dataclasses
import datetime
import math
from typing import Any

import numpy as np
import pytest

from buildspec.sections.mass import Condition, Lift, Scale, Weighing
from buildspec.sections.wheels import Wheel
from generator.subjects.mass_detail import Detail
from generator.subjects.mass_weighing import Weighed, excess, weigh
from generator.vocabulary import Check, Outcome
from tests.generator.subjects.mass_builds import (
    START,
    changed,
    fill,
    four,
    item,
    q,
    quantities,
    simple,
    wheel,
)
from tests.generator.subjects.test_mass import (
    ALL,
    DAY,
    EMPTY,
    EVERY_LIMIT,
    IN,
    LB,
    TWO,
    _inputs_are_those_that_matter,
    check,
    evaluated,
    outcome,
    value,
)

FRONT = ("front_left", "front_right")
CORNERS = ("front_left", "front_right", "rear_left", "rear_right")
READINGS = {
    "front_left": "298 lb",
    "front_right": "302 lb",
    "rear_left": "345 lb",
    "rear_right": "349 lb",
}


def scale(word: str, under: tuple[str, ...], reading: str, spread: str = "1") -> Scale:
    dotted = f"mass.weighings.spring.scales.{word}.reading"
    return Scale(id=word, under=under, reading=q(dotted, reading, "mass", spread, basis="measured"))


def lift(word: str, raised: tuple[str, ...], height: str, reading: str, spread: str = "1") -> Lift:
    dotted = f"mass.weighings.spring.lifts.{word}"
    return Lift(
        id=word,
        raised=raised,
        height=q(f"{dotted}.height", height, "length", "0.125" if spread else ""),
        reading=q(f"{dotted}.reading", reading, "mass", spread),
    )


def session(
    condition: str = "empty", lifts: tuple[Lift, ...] = (), spread: str = "1", **readings: str
) -> Weighing:
    scales = tuple(scale(w, (w,), r, spread) for w, r in (READINGS | readings).items())
    return Weighing(
        id="spring", date=datetime.date(2026, 5, 3), condition=condition, scales=scales, lifts=lifts
    )


def alone(weighing: Weighing, wheels: tuple[Wheel, ...] | None = None) -> Weighed:
    return weigh(weighing, "Empty", four() if wheels is None else wheels, None, None)


# ------------------------------------------------------------------------- what the scales give


def test_total_and_centre_from_four_scales() -> None:
    found = alone(session())
    assert found.total.value == pytest.approx(1294 * LB)
    assert found.x.value == pytest.approx((345 + 349) * 160 / 1294 * IN)
    assert found.y.value == pytest.approx((24 * (302 - 298) + 27 * (349 - 345)) / 1294 * IN)
    assert found.height.absent == "no axle was lifted"


def test_spread_of_what_the_scales_give() -> None:
    """Readings of ± 1 lb, rectangular, uncorrelated: u = 2·(1/√3) lb; x by the levers about the
    mean.
    """
    found, u = alone(session()), 1 / math.sqrt(3)
    assert found.total.standard_uncertainty == pytest.approx(2 * u * LB, rel=1e-6)
    x = 694 * 160 / 1294
    levers = [(p - x) / 1294 * u for p in (0, 0, 160, 160)]
    assert found.x.standard_uncertainty == pytest.approx(math.hypot(*levers) * IN, rel=1e-6)


def test_one_scale_under_each_axle_tells_x_and_not_y() -> None:
    pair = Weighing(
        id="spring",
        date=datetime.date(2026, 5, 3),
        condition="empty",
        scales=(
            scale("f", ("front_left", "front_right"), "600 lb"),
            scale("r", ("rear_left", "rear_right"), "694 lb"),
        ),
    )
    found = alone(pair)
    assert found.x.value == pytest.approx(694 * 160 / 1294 * IN)
    assert found.y.absent == "the scale f carried wheels of different y"


@pytest.mark.parametrize(
    ("scales", "words"),
    [
        ((scale("a", CORNERS[:3], "900 lb"),), "no scale stood under rear right"),
        (
            (scale("a", CORNERS, "900 lb"), scale("b", CORNERS[:1], "200 lb")),
            "more than one scale is listed under front_left",
        ),
    ],
)
def test_scales_that_leave_a_wheel_out_or_count_it_twice_give_nothing(
    scales: tuple[Scale, ...], words: str
) -> None:
    found = alone(dataclasses.replace(session(), scales=scales))
    assert found.total.value is None
    assert found.total.absent == words
    assert found.state is None


def test_scales_that_show_nothing_give_nothing() -> None:
    none = dict.fromkeys(CORNERS, "0 lb")
    found = alone(session(lifts=(lift("up", FRONT, "30 in", "750 lb"),), **none))
    assert [r.absent for r in found.results] == ["the scales showed nothing"] * 4
    assert found.lifts == ()


def test_radii_that_make_a_lift_impossible_are_told() -> None:
    odd = (
        *four()[:2],
        *(dataclasses.replace(w, radius=q("r", "130 in", "length")) for w in four()[2:]),
    )
    found = alone(session(lifts=(lift("up", FRONT, "30 in", "750 lb"),)), odd)
    assert "is higher than the wheelbase allows" in found.height.absent


# --------------------------------------------------------------------------------- axle lifts


def shown(height: float, rise: float) -> str:
    """What the rear scales show, lb, when the front axle goes up by `rise`: the forward problem,
    inches.
    """
    x, total, base, r = 694 * 160 / 1294, 1294.0, 160.0, 12.0
    angle = math.asin(rise / base)
    lever = x * math.cos(angle) + (height - r) * math.sin(angle)
    return f"{total * lever / (base * math.cos(angle)):.9f} lb"


def test_lifts_give_back_the_height_and_the_better_one_counts_more() -> None:
    low, high = (lift(f"up_{n}", FRONT, f"{n} in", shown(15.0, n)) for n in (12, 36))
    found = alone(session(lifts=(low, high)))
    assert found.height.value == pytest.approx(15 * IN, rel=1e-9)
    assert [x.height.value for x in found.lifts] == pytest.approx([15 * IN, 15 * IN], rel=1e-9)
    assert found.lifts[1].weight > 0.9
    assert sum(x.weight for x in found.lifts) == pytest.approx(1.0)


@pytest.mark.parametrize("rises", [(12, 36), (18, 27, 36), (20, 21), (36, 12, 24, 30)])
def test_the_mean_height_is_never_worse_than_its_best_lift(rises: tuple[int, ...]) -> None:
    """All lifts share the level weighing; weights by 1/u² alone would break this."""
    found = alone(
        session(lifts=tuple(lift(f"up_{n}", FRONT, f"{n} in", shown(15.0, n)) for n in rises))
    )
    assert sum(x.weight for x in found.lifts) == pytest.approx(1.0)
    assert min(x.weight for x in found.lifts) >= 0.0
    best = min(x.height.standard_uncertainty for x in found.lifts)
    assert 0.0 < found.height.standard_uncertainty <= best * (1 + 1e-6)


def test_spread_of_a_height_against_sampling() -> None:
    """JCGM 101: 200,000 drawings of every input through the axle-lift formula written out here."""
    weighing = session(lifts=(lift("up", FRONT, "30 in", shown(15.0, 30)),))
    drawn, count = np.random.default_rng(4), 200_000

    def one(center: float, half: float) -> Any:
        return drawn.uniform(center - half, center + half, count)

    pads = [one(float(r.split()[0]), 1.0) for r in READINGS.values()]
    raised = one(float(shown(15.0, 30).split()[0]), 1.0)
    total = sum(pads)
    x = (pads[2] + pads[3]) * 160 / total
    angle = np.arcsin(one(30.0, 0.125) / 160)
    heights = 12 + (raised * 160 / total - x) / np.tan(angle)
    # 200,000 drawings know a standard deviation to 0.2 %; the rest is for what first order leaves out
    nominal = alone(weighing).height
    assert np.std(heights) * IN == pytest.approx(nominal.standard_uncertainty, rel=0.01)
    assert np.mean(heights) * IN == pytest.approx(nominal.value, rel=0.01)


def test_lifts_without_spread_count_equally() -> None:
    pair = tuple(lift(f"up_{n}", FRONT, f"{n} in", shown(15.0, n), "") for n in (12, 36))
    assert [x.weight for x in alone(session(lifts=pair, spread="")).lifts] == [0.5, 0.5]


def test_lifts_that_disagree_are_pointed_out() -> None:
    pair = (
        lift("good", FRONT, "30 in", shown(15.0, 30)),
        lift("dragging", FRONT, "36 in", shown(25.0, 36)),
    )
    found = outcome(simple(*ALL, conditions=TWO, weighings=(session(lifts=pair),)), four())
    assert any(c.id == "mass.caution.lift.spring.dragging" for c in found.cautions)


def test_lifts_that_contradict_one_another_widen_the_height_and_leave_it_open() -> None:
    """Mandel and Paule for two: what the difference d shows beyond its own variance is τ² = (d² −
    u²(d))/2, so that the mean of two like lifts is known to d/2 and no better.
    """
    apart = 8.0
    pair = tuple(
        lift(f"up_{n}", FRONT, "30 in", shown(height, 30))
        for n, height in enumerate((15.0, 15.0 + apart))
    )
    session_ = session(lifts=pair)
    found = alone(session_)
    assert found.height.value == pytest.approx((15.0 + apart / 2) * IN, rel=1e-4)
    # the shared level weighing adds a little to d/2: its own variance is not in the difference
    assert found.height.standard_uncertainty == pytest.approx(apart / 2 * IN, rel=0.05)
    evaluation = evaluated(simple(*ALL, weighings=(session_,), **WEIGHED), four())
    item_ = next(i for i in evaluation.open_items if i.id == "mass.open.lifts.spring")
    assert "mass.check.cg_height" in item_.blocks


def test_the_sharpest_lift_does_not_outvote_two_that_agree() -> None:
    """Three heights far more apart than their spreads: each counts a third, with s/√3."""
    heights, spreads = np.array([0.7, 0.7, 0.3]), np.diag([0.054, 0.027, 0.017]) ** 2
    variance = np.var(heights, ddof=1)  # 0.0533 m²
    assert excess(heights, np.zeros((3, 3)), variance) == pytest.approx(0.0, abs=1e-9)
    assert excess(heights, spreads, 1e-9) > 100.0
    trio = tuple(
        lift(f"up_{n}", FRONT, f"{n} in", shown(h, n))
        for n, h in ((20, 27.6), (28, 27.6), (36, 11.8))
    )
    found = alone(session(lifts=trio))
    assert [x.weight for x in found.lifts] == pytest.approx([1 / 3] * 3, abs=0.06)
    assert found.height.value == pytest.approx((27.6 + 27.6 + 11.8) / 3 * IN, rel=0.06)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"raised": ("front_left",)}, "did not raise the wheels of one axle"),
        ({"height": q("h", "150 in", "length")}, "is higher than the wheelbase allows"),
    ],
)
def test_a_lift_that_cannot_be_worked_says_why(change: dict[str, Any], words: str) -> None:
    one = dataclasses.replace(lift("up", FRONT, "30 in", "750 lb"), **change)
    assert words in alone(session(lifts=(one,))).height.absent


def test_a_lift_needs_loaded_radii_and_two_axles() -> None:
    one = (lift("up", FRONT, "30 in", "750 lb"),)
    bare = alone(session(lifts=one), four(radius=""))
    assert bare.height.absent.startswith("the loaded radius of front left")
    three = (*four(), wheel("tag", "80 in", "0 in", radius="12 in"))
    extra = dataclasses.replace(
        session(lifts=one), scales=(*session().scales, scale("tag", ("tag",), "10 lb"))
    )
    assert "here are 3" in alone(extra, three).height.absent


# ------------------------------------------------------------------- prediction against scales


def test_normalised_error_by_hand() -> None:
    section = simple(*ALL, conditions=TWO, weighings=(session(),))
    found = outcome(section, four())
    predicted = found.by_id["mass.condition.empty.total"]
    measured = found.by_id["mass.weighing.spring.total"]
    spread = math.hypot(2 * predicted.standard_uncertainty, 2 * measured.standard_uncertainty)
    assert predicted.value is not None
    assert value(found, "mass.weighing.spring.error_total") == pytest.approx(
        (predicted.value - 1294 * LB) / spread
    )


def test_agreement_leaves_no_open_item_and_disagreement_does() -> None:
    good = evaluated(simple(*ALL, conditions=TWO, weighings=(session(),)), four())
    assert not [i for i in good.open_items if i.id.startswith("mass.open.unexplained")]
    heavy = session(rear_left="420 lb", rear_right="424 lb")
    bad = evaluated(simple(*ALL, conditions=TWO, weighings=(heavy,), limits=EVERY_LIMIT), four())
    unexplained = next(i for i in bad.open_items if i.id == "mass.open.unexplained.spring")
    assert "161 lb" in unexplained.text
    assert "more than the items add up to" in unexplained.text
    assert unexplained.kind == "disagreement"
    assert set(unexplained.blocks) == {c.id for c in bad.checks}
    assert any(i.id == "mass.open.disagreement.spring.cg_x" for i in bad.open_items)


def test_what_holds_by_the_list_and_falls_short_on_the_scales_is_open() -> None:
    """1505 lb of items ready to run; empty, the scales show 150 lb more than is listed: 1655 lb
    against 1600 lb. The other way round a shortfall by the list stays one.
    """
    heavy, light = (
        session(rear_left=f"{345 + by} lb", rear_right=f"{349 + by} lb") for by in (75, -150)
    )

    def total(weighing: Weighing, most: str, use: str = "predicted") -> Check:
        limits_ = dataclasses.replace(EVERY_LIMIT, total=q("mass.limits.total", most, "mass"))
        section = simple(*ALL, conditions=TWO, weighings=(weighing,), limits=limits_, use=use)
        return check(outcome(section, four()), "total")

    assert total(session(), "1600 lb").verdict == "holds"
    assert total(heavy, "1700 lb").verdict == "holds"
    assert total(heavy, "1600 lb", "weighed").verdict == "short"
    found = total(heavy, "1600 lb")
    assert (found.verdict, found.margin, found.probability_short) == ("open", None, None)
    assert found.reason.endswith("falls short by the weighing of 2026-05-03")
    assert "mass.weighings.spring.scales.rear_left.reading" in found.inputs
    assert total(light, "1400 lb").verdict == "short"


def test_without_a_stated_spread_there_is_no_normalised_error() -> None:
    silent = outcome(simple(*ALL, conditions=TWO, weighings=(session(spread=""),)), four())
    assert (
        silent.by_id["mass.weighing.spring.error_total"].absent
        == "no spread is stated for the weighing"
    )
    exact = tuple(
        dataclasses.replace(i, mass=dataclasses.replace(i.mass, half_width=0.0)) for i in ALL
    )
    both = outcome(simple(*exact, conditions=TWO, weighings=(session(spread=""),)), four())
    assert both.by_id["mass.weighing.spring.error_total"].absent == (
        "no spread is stated for the prediction nor for the weighing"
    )


def test_the_scales_are_compared_with_masses_that_carry_no_allowance() -> None:
    section = simple(*ALL, conditions=TWO, weighings=(session(),))
    grown = dataclasses.replace(section, growth_allowance=True)
    word = "mass.weighing.spring.error_total"
    assert value(outcome(grown, four()), word) == value(outcome(section, four()), word)


def test_never_weighed_is_an_open_item() -> None:
    found = evaluated(simple(*ALL, limits=EVERY_LIMIT), four())
    item_ = next(i for i in found.open_items if i.id == "mass.open.unweighed")
    assert item_.kind == "measurement"
    assert set(item_.blocks) == {c.id for c in found.checks}


def test_the_latest_session_counts() -> None:
    old = dataclasses.replace(session(rear_left="420 lb"), id="old", date=datetime.date(2025, 5, 3))
    found = outcome(simple(*ALL, conditions=TWO, weighings=(session(), old), use="weighed"), four())
    assert value(found, "mass.condition.empty.total") == pytest.approx(1294 * LB)


@pytest.mark.parametrize(("days", "counts"), [(0, True), (1, False)])
def test_a_weighing_that_is_yet_to_come_does_not_decide(days: int, counts: bool) -> None:
    """The scales of 3 May add up to 1294 lb; the ones of the day after today to 1369 lb, unread."""
    day = DAY + datetime.timedelta(days=days)
    planned = dataclasses.replace(session(rear_left="420 lb"), id="planned", date=day)
    mass = simple(*ALL, conditions=TWO, weighings=(planned, session()), use="weighed")
    found = evaluated(mass, four())
    assert value(found.outcomes["mass"], "mass.condition.empty.total") == pytest.approx(
        (1369 if counts else 1294) * LB
    )
    said = [
        i for i in found.open_items if i.ref == "mass.weighings.planned" and "not used" in i.text
    ]
    assert bool(said) is not counts


def test_a_single_weighing_that_is_yet_to_come_leaves_the_vehicle_unweighed() -> None:
    planned = dataclasses.replace(session(), date=DAY + datetime.timedelta(days=1))
    found = evaluated(simple(*ALL, conditions=TWO, weighings=(planned,), use="weighed"), four())
    assert found.outcomes["mass"].detail.in_force == "predicted"  # type: ignore[attr-defined]
    assert {"mass.open.unweighed", "mass.ahead.weighings_spring"} <= {
        i.id for i in found.open_items
    }


# -------------------------------------------------------------------------- the weighed in use

WEIGHED = {"conditions": TWO, "use": "weighed", "limits": EVERY_LIMIT}


def test_the_weighed_condition_is_what_the_scales_said() -> None:
    lifts = (lift("up", FRONT, "30 in", shown(15.0, 30)),)
    found = outcome(simple(*ALL, weighings=(session(lifts=lifts),), **WEIGHED), four())
    assert value(found, "mass.condition.empty.total") == pytest.approx(1294 * LB)
    assert value(found, "mass.condition.empty.cg_height") == pytest.approx(15 * IN, rel=1e-9)
    for word, reading in READINGS.items():
        load = value(found, f"mass.condition.empty.wheel.{word}") / (9.80665 * LB)
        assert load == pytest.approx(
            float(reading.split()[0]), abs=0.6
        )  # equal stiffness: 0.5 lb is left


def test_the_design_condition_adds_what_is_predicted_to_differ() -> None:
    """Weighed empty; the driver and nine tenths of the fuel come aboard."""
    found = outcome(simple(*ALL, weighings=(session(),), **WEIGHED), four())
    total = 1294 + 195 + 27
    x = (694 * 160 + 195 * 66 + 27 * 92) / total
    assert value(found, "mass.design.total") == pytest.approx(total * LB)
    assert value(found, "mass.design.cg_x") == pytest.approx(x * IN)
    detail = found.detail
    assert isinstance(detail, Detail)
    assert detail.in_force.split(",")[0] == "weighed 2026-05-03"
    assert any(c.name == "The weighing" for c in detail.contributions)
    assert sum(c.share for c in detail.contributions) == pytest.approx(1.0)


def test_what_was_weighed_need_not_be_known_any_more() -> None:
    """A frame known only to ± 40 lb no longer matters to the total once the whole is weighed."""
    by = {
        use: outcome(simple(*ALL, weighings=(session(),), conditions=TWO, use=use), four())  # type: ignore[arg-type]
        for use in ("predicted", "weighed")
    }
    spread = {use: o.by_id["mass.design.total"].standard_uncertainty for use, o in by.items()}
    assert spread["weighed"] < 0.1 * spread["predicted"]


def test_spread_of_the_weighed_vehicle_against_finite_differences() -> None:
    """Each reading, wheel and item moved by a little; no derivative or covariance of ours in it."""
    section: Any = (simple(*ALL, weighings=(session(),), conditions=TWO, use="weighed"), four())
    words = ("mass.design.total", "mass.design.cg_x", "mass.design.cg_y")
    squares = np.zeros(3)
    for one in quantities(section):
        if one.half_width > 0.0:
            h = 1e-5 * max(abs(one.si), 1.0)
            moved = [outcome(*changed(section, one.id, side)) for side in (h, -h)]
            slope = [(value(moved[0], w) - value(moved[1], w)) / (2 * h) for w in words]
            squares += np.square(np.array(slope) * one.standard_uncertainty)
    ours = [outcome(*section).by_id[w].standard_uncertainty for w in words]
    assert ours == pytest.approx(np.sqrt(squares), rel=1e-5)


def test_steps_lead_from_the_scales_to_the_design_condition() -> None:
    found = outcome(simple(*ALL, weighings=(session(),), **WEIGHED), four())
    steps = {s.id: s for s in found.steps}
    assert steps["mass.step.carried_total"].value == value(found, "mass.design.total")
    assert steps["mass.step.carried_cg_x"].value == value(found, "mass.design.cg_x")
    assert steps["mass.step.carried_total"].note.endswith("driver, fuel.")


def test_what_the_scales_do_not_tell_is_borrowed_and_said() -> None:
    pair = Weighing(
        id="spring",
        date=datetime.date(2026, 5, 3),
        condition="empty",
        scales=(scale("f", FRONT, "600 lb"), scale("r", ("rear_left", "rear_right"), "694 lb")),
    )
    found = outcome(simple(*ALL, weighings=(pair,), **WEIGHED), four())
    predicted = outcome(simple(*ALL, conditions=TWO), four())
    assert value(found, "mass.condition.empty.cg_y") == value(
        predicted, "mass.condition.empty.cg_y"
    )
    assert {"mass.assumed.borrowed_y", "mass.assumed.borrowed_z"} <= {
        a.id for a in found.assumptions
    }


def test_a_height_once_measured_stays_when_the_vehicle_is_weighed_again() -> None:
    """An axle lift in spring, corner weights in autumn with driver and fuel: the height is that of
    the lift, with what came aboard by the list, and the disagreement it showed stays open.
    """
    raised = session(lifts=(lift("up", FRONT, "30 in", shown(25.0, 30)),))
    later = dataclasses.replace(
        session("start_line", rear_left="420 lb", rear_right="424 lb"),
        id="autumn",
        date=datetime.date(2026, 9, 3),
    )
    found = evaluated(simple(*ALL, weighings=(later, raised), **WEIGHED), four())
    carried = outcome(simple(*ALL, weighings=(raised,), **WEIGHED), four())
    result = found.outcomes["mass"]
    aboard = value(carried, "mass.condition.start_line.cg_height")
    assert value(result, "mass.condition.start_line.cg_height") == pytest.approx(aboard, rel=1e-12)
    assert value(result, "mass.condition.start_line.total") == pytest.approx(1444 * LB)
    said = {a.id: a.text for a in result.assumptions}
    assert "that of the weighing spring" in said["mass.assumed.carried_z"]
    assert any(i.id == "mass.open.disagreement.spring.cg_height" for i in found.open_items)


def test_a_check_on_the_weighed_vehicle_says_that_the_list_disagrees() -> None:
    heavy = session(rear_left="420 lb", rear_right="424 lb")
    limits_ = outcome(simple(*ALL, weighings=(heavy,), **WEIGHED), four())
    said = next(c.basis_of_verdict for c in limits_.checks if c.id == "mass.check.total")
    assert "the list of items disagrees (Total" in said


def test_a_carried_height_names_exactly_its_inputs() -> None:
    raised = session(lifts=(lift("up", FRONT, "30 in", shown(25.0, 30)),))
    later = dataclasses.replace(session("start_line"), id="autumn", date=datetime.date(2026, 9, 3))
    scales = tuple(
        dataclasses.replace(
            s, reading=dataclasses.replace(s.reading, id=s.reading.id.replace("spring", "autumn"))
        )
        for s in later.scales
    )
    both = (raised, dataclasses.replace(later, scales=scales))
    _inputs_are_those_that_matter(simple(*ALL, weighings=both, **WEIGHED), four())


def test_a_weighing_that_gives_nothing_leaves_the_prediction_and_says_so() -> None:
    short = dataclasses.replace(session(), scales=session().scales[:3])
    found = evaluated(simple(*ALL, weighings=(short,), **WEIGHED), four())
    result = found.outcomes["mass"]
    assert value(result, "mass.design.total") == pytest.approx(1505 * LB)
    assert any(i.id == "mass.open.weighing" and "rear right" in i.text for i in found.open_items)
    assert any(c.id == "mass.caution.not_weighed" for c in result.cautions)


@pytest.mark.parametrize("lifts", [(), (lift("up", FRONT, "30 in", "750 lb"),)])
def test_every_check_on_the_weighed_vehicle_names_exactly_its_inputs(
    lifts: tuple[Lift, ...],
) -> None:
    section = simple(*ALL, weighings=(session(lifts=lifts),), **WEIGHED)
    _inputs_are_those_that_matter(section, four())


CROSSED = {
    "front_left": "600 lb",
    "front_right": "400 lb",
    "rear_left": "400 lb",
    "rear_right": "600 lb",
}


def crossed() -> Outcome:
    shown = session("start_line", **CROSSED)
    section = simple(*ALL, weighings=(shown,), **WEIGHED)
    return outcome(section, four("550 lbf"))


def test_weight_across_the_diagonals_stays_where_the_scales_showed_it() -> None:
    """Pads of 600, 400, 400 and 600 lb: total and CG alone would say 500 lb each, inside 550."""
    found = crossed()
    loads = {n: value(found, f"mass.condition.start_line.wheel.{n}") for n in CORNERS}
    assert loads == {n: pytest.approx(float(CROSSED[n].split()[0]) * LB * 9.80665) for n in CORNERS}
    verdicts = {n: next(c for c in found.checks if c.id.endswith(n)).verdict for n in CORNERS}
    assert verdicts == {
        "front_left": "short",
        "front_right": "holds",
        "rear_left": "holds",
        "rear_right": "short",
    }
    left = found.by_id["mass.condition.start_line.wheel.front_left"]
    assert left.standard_uncertainty == pytest.approx(1 * LB * 9.80665 / math.sqrt(3))


def test_what_is_taken_out_since_moves_the_loads_by_statics_and_leaves_the_diagonal() -> None:
    """The empty condition: sums and moments of the four loads are those of the vehicle (statics)."""
    found = crossed()
    word, wheels = "mass.condition.empty", four()
    loads = np.array([value(found, f"{word}.wheel.{n}") for n in CORNERS])
    total = value(found, f"{word}.total") * 9.80665
    assert loads.sum() == pytest.approx(total, rel=1e-12)
    for axis in "xy":
        at = np.array([getattr(w, axis).si for w in wheels])
        assert loads @ at == pytest.approx(total * value(found, f"{word}.cg_{axis}"), abs=1e-6)
    # A twist of these wheels is what no total, no moment along x and none along y notices.
    twist = np.array([27.0, -27.0, -24.0, 24.0])
    shown = np.array([float(r.split()[0]) for r in CROSSED.values()]) * LB * 9.80665
    assert loads @ twist == pytest.approx(shown @ twist, rel=1e-9)


def test_one_scale_under_an_axle_tells_nothing_of_its_two_wheels() -> None:
    pads = (scale("front", FRONT, "1000 lb"), scale("rear", ("rear_left", "rear_right"), "1000 lb"))
    whole = dataclasses.replace(session(), scales=pads)
    assert alone(whole).on_scales is None


def test_a_common_error_of_the_scales_adds_up_in_the_total_and_leaves_the_place() -> None:
    """Four pads of 500 kg, all off together by up to 1 %: u = 2000 kg·0.01/√3 (GUM 4.3.7, 5.2.2)."""
    equal = dict.fromkeys(CORNERS, "500 kg")
    common = q("mass.weighings.spring.common_error", "1 %", "share")
    whole = dataclasses.replace(session(spread="", **equal), common_error=common)
    found = alone(whole, four())
    assert found.total.standard_uncertainty == pytest.approx(20.0 / math.sqrt(3), rel=1e-6)
    assert found.x.standard_uncertainty == pytest.approx(0.0, abs=1e-9)
    assert found.on_scales is not None
    expected = (500 * 9.80665 * 0.01) ** 2 / 3
    assert np.allclose(found.on_scales.covariance, expected, rtol=1e-9)
    assert common.id in found.total.inputs


def test_a_weighing_in_the_design_condition_needs_no_item_at_all() -> None:
    section = simple(
        *ALL,
        conditions=(START, EMPTY),
        weighings=(session("start_line"),),
        use="weighed",
        limits=dataclasses.replace(EVERY_LIMIT, cg_height=None, wheel_load=False),
    )
    found = outcome(section, four())
    assert not [i for c in found.checks for i in c.inputs if i.startswith("mass.items")]


def test_two_conditions_with_one_fill_each() -> None:
    half = Condition(id="half", fill=fill("half", fuel="50 %"))
    empty = Condition(id="empty", fill=fill("empty", fuel="0 %"))
    only = item("fuel", "40 lb", ("92 in", "0 in", "14 in"))
    body = item("body", "1254 lb", ("80 in", "0 in", "14 in"))
    found = outcome(
        simple(
            body,
            only,
            conditions=(half, empty),
            design_condition="half",
            weighings=(session(),),
            use="weighed",
        ),
        four(),
    )
    assert value(found, "mass.design.total") == pytest.approx((1294 + 20) * LB)
