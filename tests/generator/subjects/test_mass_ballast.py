"""Least ballast: against hand sums, against a search over every combination, and where none
helps.
"""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from buildspec.sections.mass import Ballast, BallastPlace
from generator.subjects.mass_ballast import Bound, Problem, least_ballast
from generator.subjects.mass_detail import Ballasted, Detail
from tests.generator.subjects.mass_builds import four, item, q, simple
from tests.generator.subjects.test_mass import IN, LB, limit, limits, outcome, value, window

WINDOW = (Bound("front", 0, -1, 1.9), Bound("rear", 0, 1, 2.1))


def problem(x: float = 2.3, total: float = 900.0, **more: object) -> Problem:
    given_: dict[str, object] = {
        "places": np.array([[0.2, 0.0, 0.3], [1.2, 0.0, 0.2]]),
        "most": np.array([60.0, 200.0]),
        "bounds": WINDOW,
    }
    return Problem(total=total, cg=np.array([x, 0.0, 0.4]), **(given_ | more))  # type: ignore[arg-type]


def test_inside_needs_none() -> None:
    answer = least_ballast(problem(x=2.0))
    assert not answer.needed
    assert answer.masses.tolist() == [0.0, 0.0]
    assert answer.reached


def test_the_farther_place_is_filled_first() -> None:
    """By moments about the rear limit: 900·0.2 = 180 kg·m; 60 kg at 1.9 m give 114, 66/0.9 kg
    the rest.
    """
    answer = least_ballast(problem())
    assert answer.masses == pytest.approx([60.0, 66.0 / 0.9])
    assert answer.cg[0] == pytest.approx(2.1)
    assert answer.reached


def test_where_none_is_enough_it_goes_as_far_as_it_can() -> None:
    answer = least_ballast(problem(x=3.0))
    assert not answer.reached
    assert answer.masses == pytest.approx([60.0, 200.0])
    assert answer.excess == pytest.approx((900 * 3.0 + 60 * 0.2 + 200 * 1.2) / 1160 - 2.1)
    assert answer.worst == "rear"


def test_the_greatest_total_bounds_the_ballast() -> None:
    answer = least_ballast(problem(most_total=950.0))
    assert np.sum(answer.masses) == pytest.approx(50.0)
    assert answer.masses[0] == pytest.approx(50.0)
    assert not answer.reached


def test_a_vehicle_that_is_too_heavy_already_stays_so() -> None:
    inside = least_ballast(problem(x=2.0, most_total=880.0))
    assert (inside.over, inside.reached) == (pytest.approx(20.0), False)
    outside = least_ballast(problem(most_total=880.0))
    assert outside.excess <= 1e-6
    assert not outside.reached


def test_a_height_limit_may_forbid_what_x_asks_for() -> None:
    high = problem(
        places=np.array([[0.2, 0.0, 1.5]]),
        most=np.array([300.0]),
        bounds=(*WINDOW, Bound("height", 2, 1, 0.42)),
    )
    answer = least_ballast(high)
    assert not answer.reached
    rear, up = (b.excess(answer.cg) for b in (WINDOW[1], Bound("height", 2, 1, 0.42)))
    assert rear == pytest.approx(up)  # the greatest excess is least where both are alike


@settings(max_examples=40, deadline=None)
@given(
    x=st.floats(1.5, 3.5),
    near=st.floats(0.0, 1.8),
    far=st.floats(2.2, 4.0),
    cap=st.floats(1.0, 300.0),
)
def test_no_combination_of_a_fine_grid_beats_the_answer(
    x: float, near: float, far: float, cap: float
) -> None:
    one = problem(x=x, places=np.array([[near, 0, 0.3], [far, 0, 0.3]]), most=np.array([cap, cap]))
    answer = least_ballast(one)
    after = one.total + np.sum(answer.masses)
    assert answer.cg[0] == pytest.approx((one.total * x + answer.masses @ one.places[:, 0]) / after)
    for masses in itertools.product(np.linspace(0, cap, 25), repeat=2):
        cg = (one.total * one.cg + np.array(masses) @ one.places) / (one.total + sum(masses))
        excess = max(b.excess(cg) for b in one.bounds)
        if answer.reached:
            assert excess > 1e-9 or sum(masses) >= np.sum(answer.masses) - 1e-6
        else:
            assert excess >= answer.excess - 1e-7


def test_ballast_beyond_all_measure_leaves_numbers() -> None:
    """A gram, and places that take what a description may state at most: all of it is ballast in the end, 0.1 m
    behind the limit.
    """
    answer = least_ballast(
        problem(
            x=3.0,
            total=1e-3,
            places=np.array([[2.2, 0.0, 0.3], [2.2, 0.0, 0.3]]),
            most=np.array([1e15, 1e15]),
        )
    )
    assert np.all(np.isfinite(answer.masses))
    assert not answer.reached
    assert answer.excess == pytest.approx(0.1, abs=1e-9)


def _theirs(one: Problem, outside: float) -> float | None:
    """Least ballast by scipy's HiGHS with every limit moved out by `outside`; None where none does."""
    rows = [b.sign * (one.places[:, b.axis] - b.limit) - outside for b in one.bounds]
    right = [-one.total * (b.excess(one.cg) - outside) for b in one.bounds]
    if one.room is not None:
        rows, right = [*rows, np.ones(len(one.most))], [*right, one.room]
    most = [(0.0, float(m)) for m in one.most]
    found = linprog(np.ones(len(most)), A_ub=np.array(rows), b_ub=right, bounds=most)
    return float(found.fun) if found.success else None


def _closest_of_theirs(one: Problem) -> float:
    """The least distance outside at which scipy finds ballast, by halving."""
    low, high = 0.0, 10.0
    while high - low > 1e-7:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if _theirs(one, middle) is not None else (middle, high)
    return high


def test_many_vehicles_get_the_ballast_that_scipy_finds() -> None:
    """Up to six places, limits along every axis, with and without a greatest total; seeded.

    1e-5 kg and m: HiGHS meets rows to within 1e-7, here of some hundred kg·m; and the halving.
    """
    rng = np.random.default_rng(4)
    reached = [_like_theirs(rng, count=1 + trial % 6) for trial in range(60)]
    assert 10 < sum(reached) < 50


def _like_theirs(rng: np.random.Generator, count: int) -> bool:
    one = problem(
        x=float(rng.uniform(1.5, 2.5)),
        places=rng.uniform((0, -0.5, 0.1), (4, 0.5, 1.0), (count, 3)),
        most=rng.uniform(0, 150, count),
        bounds=(*WINDOW, Bound("side", 1, 1, 0.02), Bound("height", 2, 1, 0.405)),
        most_total=None if rng.uniform() < 0.5 else float(rng.uniform(890.0, 1000.0)),
    )
    answer, theirs = least_ballast(one), _theirs(one, 0.0)
    if answer.excess <= 1e-6:
        assert theirs == pytest.approx(np.sum(answer.masses), abs=1e-5)
    else:
        assert theirs is None
        assert answer.excess == pytest.approx(_closest_of_theirs(one), abs=1e-5)
    assert np.all(answer.masses <= one.most)
    assert one.room is None or np.sum(answer.masses) <= one.room + 1e-9
    return answer.excess <= 1e-6


# ------------------------------------------------------------------------- through the subject


def place(word: str, x: str, most: str) -> BallastPlace:
    base = f"mass.ballast.places.{word}"
    return BallastPlace(
        id=word,
        x=q(f"{base}.x", x, "length"),
        y=q(f"{base}.y", "0 in", "length"),
        z=q(f"{base}.z", "8 in", "length"),
        most=q(f"{base}.most", most, "mass", stated=True),
    )


BODY = item("body", "1500 lb", ("100 in", "0 in", "15 in"))
LIMITS = limits(cg_x=window("cg_x", "length", "80 in", "95 in"))


def ballasted(**more: object) -> Ballasted:
    section = simple(
        BODY,
        **{"limits": LIMITS, "ballast": Ballast(places=(place("nose", "0 in", "200 lb"),)), **more},
    )
    detail = outcome(section, four()).detail
    assert isinstance(detail, Detail)
    assert detail.ballast is not None
    return detail.ballast


def test_the_subject_reports_the_least_ballast() -> None:
    """1500 lb at 100 in to 95 in with ballast at 0: 1500·5/95 lb."""
    found = ballasted()
    assert found.words == "reached"
    assert found.total.value == pytest.approx(1500 * 5 / 95 * LB)
    assert found.cg_x.value == pytest.approx(95 * IN)
    assert found.after.value == pytest.approx((1500 + 1500 * 5 / 95) * LB)


def test_with_the_ballast_aboard_the_check_is_just_enough() -> None:
    pounds = 1500 * 5 / 95
    nose = item("nose", f"{pounds:.12f} lb", ("0 in", "0 in", "8 in"))
    found = outcome(simple(BODY, nose, limits=LIMITS), four())
    check = next(c for c in found.checks if c.id == "mass.check.cg_x")
    assert check.margin == pytest.approx(0.0, abs=1e-9)


def test_a_required_factor_narrows_what_ballast_must_reach() -> None:
    """Half width 7.5 in over a factor of 1.5: 92.5 in at most."""
    found = ballasted(limits=dataclasses.replace(LIMITS, factor=limit("factor", "1.5", "ratio")))
    assert found.cg_x.value == pytest.approx(92.5 * IN)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"limits": limits(cg_x=window("cg_x", "length", "80 in", "105 in"))}, "inside"),
        ({"limits": limits(cg_x=window("cg_x", "length", "80 in", "85 in"))}, "short"),
        ({"limits": limits(total=limit("total", "1400 lb", "mass"))}, "over"),
        ({"limits": None}, "inside"),
    ],
)
def test_the_answer_is_told_in_plain_words(more: dict[str, object], words: str) -> None:
    assert ballasted(**more).words == words


def test_ballast_is_bolted_and_that_is_said() -> None:
    section = simple(
        BODY, limits=LIMITS, ballast=Ballast(places=(place("nose", "0 in", "200 lb"),))
    )
    found = outcome(section, four())
    assert any(c.id == "mass.caution.ballast" and c.hazard for c in found.cautions)
    assert value(found, "mass.ballast.nose") == pytest.approx(1500 * 5 / 95 * LB)
