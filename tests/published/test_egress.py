"""Published and derived values for the exit's time: PERT, critical paths, sampling, drills.

Where a figure was read in someone's transcription of a book, the book is cited as that
transcription gives it. Derived figures follow exactly from stated assumptions and are worked in the
column beside.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from generator.formulas import egress as f
from generator.formulas.student import t_quantile
from tests.published.row import Row, Status, disagreements

Cited = tuple[str, Status]

TAYLOR = (
    "Taylor, Introduction to Management Science, chapter 8, example problem, as transcribed at "
    "flylib.com/books/en/3.287.1.117"
)
TAYLOR_CPM = (
    "Taylor, Introduction to Management Science, solutions to chapter 8, as transcribed at "
    "scribd.com/doc/47113515"
)
COURSE = (
    "course problem with three estimates and 14 activities, as transcribed at "
    "wizedu.com/questions/717873"
)
HANDOUT = "example 1 of a network handout, as transcribed at studylib.net/doc/8378728"
TIES = "example problem with durations in days, as transcribed at scribd.com/document/783336345"
SOONG = (
    "Soong, Fundamentals of Probability and Statistics for Engineers, table A.4, as transcribed at "
    "digilib.universitaspertamina.ac.id (the same figures as in the NIST/SEMATECH e-Handbook, as "
    "transcribed at pdfcoffee.com)"
)
MONTGOMERY = (
    "Montgomery and Runger, Applied Statistics and Probability for Engineers, example 8-8, as "
    "transcribed at issuhub.com (id 5218)"
)
TIRES = (
    "Montgomery and Runger, Applied Statistics and Probability for Engineers, exercise 8-73, as "
    "worked at questionai.com"
)
HOGG = (
    "Hogg, McKean and Craig, Introduction to Mathematical Statistics, problem 4.23 (PERT with "
    "three uniform times), distribution functions as transcribed at vaia.com"
)
CLARK = "Clark, The greatest of a finite set of random variables, Operations Research 9 (1961)"

SAMPLES = 400_000
LAST_DIGIT = "half a unit of the last printed digit"
CHANCE = "five standard errors of the sampling, which is seeded"


# ----------------------------------------------------------------------------- networks


def by_arrows(arrows: Mapping[str, float]) -> tuple[f.Network, np.ndarray]:
    """A network whose activities are named `tail-head` after the events that they join."""
    ends = {name: name.split("-") for name in arrows}
    waits = {name: [k for k in arrows if ends[k][1] == tail] for name, (tail, _) in ends.items()}
    return f.network(waits), np.array(list(arrows.values()), dtype=float)


# Durations, then earliest start, earliest finish, latest start, latest finish and slack as printed.
TAYLOR_TABLE: Mapping[str, tuple[float, ...]] = {
    "1-2": (8, 0, 8, 1, 9, 1),
    "1-3": (10, 0, 10, 0, 10, 0),
    "1-4": (9, 0, 9, 6, 15, 6),
    "2-5": (6, 8, 14, 9, 15, 1),
    "2-6": (4, 8, 12, 16, 20, 8),
    "3-5": (5, 10, 15, 10, 15, 0),
    "4-5": (0, 9, 9, 15, 15, 6),
    "4-7": (7, 9, 16, 20, 27, 11),
    "5-7": (12, 15, 27, 15, 27, 0),
    "5-8": (15, 15, 30, 16, 31, 1),
    "6-9": (18, 12, 30, 20, 38, 8),
    "7-8": (4, 27, 31, 27, 31, 0),
    "8-9": (7, 31, 38, 31, 38, 0),
}
# What each waits for, its duration, then the same five columns.
HANDOUT_TABLE: Mapping[str, tuple[str, tuple[float, ...]]] = {
    "A": ("", (6, 0, 6, 0, 6, 0)),
    "B": ("A", (2, 6, 8, 6, 8, 0)),
    "C": ("A", (2, 6, 8, 7, 9, 1)),
    "D": ("B", (3, 8, 11, 8, 11, 0)),
    "E": ("DF", (4, 11, 15, 11, 15, 0)),
    "F": ("C", (2, 8, 10, 9, 11, 1)),
    "G": ("E", (1, 15, 16, 15, 16, 0)),
}
# What each waits for, and its three durations.
COURSE_TABLE: Mapping[str, tuple[str, tuple[float, float, float]]] = {
    "A": ("", (5, 5, 7)),
    "B": ("", (1, 2, 5)),
    "C": ("A", (5, 5, 5)),
    "D": ("A", (4, 8, 13)),
    "E": ("BC", (1, 10, 17)),
    "F": ("D", (1, 5, 7)),
    "G": ("D", (2, 6, 9)),
    "H": ("EF", (4, 4, 6)),
    "I": ("GH", (2, 7, 10)),
    "J": ("I", (2, 4, 7)),
    "K": ("I", (6, 10, 13)),
    "L": ("J", (2, 6, 6)),
    "M": ("K", (2, 2, 3)),
    "N": ("LM", (7, 7, 12)),
}
COURSE_PRINTED: Mapping[str, tuple[float, ...]] = {
    "A": (0.00, 5.33, 0.00, 5.33, 0.00),
    "B": (0.00, 2.33, 8.00, 10.33, 8.00),
    "C": (5.33, 10.33, 5.33, 10.33, 0.00),
    "D": (5.33, 13.50, 7.17, 15.33, 1.83),
    "E": (10.33, 20.00, 10.33, 20.00, 0.00),
    "F": (13.50, 18.17, 15.33, 20.00, 1.83),
}


def columns(times: f.Passes) -> np.ndarray:
    """Earliest start and finish, latest start and finish, slack: one row an activity."""
    found = (times.start, times.finish, times.latest_start, times.latest_finish, times.slack)
    return np.array(found).T


def taylor() -> tuple[f.Network, f.Passes]:
    net, durations = by_arrows({name: row[0] for name, row in TAYLOR_TABLE.items()})
    return net, f.passes(net, durations)


def handout() -> f.Passes:
    net = f.network({name: waits for name, (waits, _) in HANDOUT_TABLE.items()})
    return f.passes(net, np.array([row[0] for _, row in HANDOUT_TABLE.values()], dtype=float))


def course() -> tuple[f.Network, f.Passes]:
    net = f.network({name: waits for name, (waits, _) in COURSE_TABLE.items()})
    means = [f.pert_mean(a=a, m=m, b=b) for _, (a, m, b) in COURSE_TABLE.values()]
    return net, f.passes(net, np.array(means))


def ties() -> tuple[f.Network, f.Passes]:
    waits = {"A": "", "B": "A", "C": "A", "D": "B", "E": "CD", "F": "E"}
    net = f.network(waits)
    return net, f.passes(net, np.array([4.0, 3.0, 5.0, 2.0, 6.0, 4.0]))


def test_the_whole_table_of_a_printed_network() -> None:
    _, times = taylor()
    assert columns(times).tolist() == [list(row[1:]) for row in TAYLOR_TABLE.values()]


def test_its_critical_path_is_the_printed_one() -> None:
    net, times = taylor()
    paths = f.critical_paths(net, times)
    assert [[net.ids[i] for i in p] for p in paths.shown] == [["1-3", "3-5", "5-7", "7-8", "8-9"]]


def test_the_whole_table_of_the_handout() -> None:
    assert columns(handout()).tolist() == [list(row[1:]) for _, row in HANDOUT_TABLE.values()]


@pytest.mark.parametrize("name", COURSE_PRINTED)
def test_the_printed_part_of_a_network_with_three_estimates(name: str) -> None:
    net, times = course()
    found = columns(times)[net.ids.index(name)]
    assert found == pytest.approx(COURSE_PRINTED[name], abs=0.0051)  # printed with two decimals


def test_two_critical_paths_of_one_length() -> None:
    """The source names the first; by its own table every activity is without slack."""
    net, times = ties()
    paths = f.critical_paths(net, times)
    assert {"".join(net.ids[i] for i in p) for p in paths.shown} == {"ABDEF", "ACEF"}
    assert (paths.count, times.slack.tolist()) == (2, [0.0] * 6)


# ------------------------------------------------------------------------------- sampling


def sampled(waits: Mapping[str, str], duration: f.Duration, samples: int = SAMPLES) -> np.ndarray:
    """Sorted finishes of a network whose activities all have the same spread."""
    plan = f.Plan(f.network(waits), tuple(duration for _ in waits))
    return f.sample([plan], seed=20261125, samples=samples)[0].finish


UNIFORM = f.Duration("rectangular", 0.5, 0.0, 1.0)
NORMAL = f.Duration("normal", 10.0, 8.0, 12.0, 1.0)
BETA = f.Duration("beta", 2.0, 1.0, 9.0)
SERIES, PARALLEL = {"x": "", "y": "x", "z": "y"}, {"x": "", "y": "", "z": ""}


def quantile_error(samples: int, share: float, density: float) -> float:
    """Standard error of a sampled quantile where the density is known."""
    return math.sqrt(share * (1.0 - share) / samples) / density


def sampled_row(case: str, source: Cited, exact: float, ours: float, error: float) -> Row:
    """A row for a sampled figure, whose exact value is known in closed form."""
    return Row(
        case=case,
        source=source[0],
        status=source[1],
        printed=None,
        closed_form=exact,
        ours=ours,
        tolerance=5.0 * error,
        reason=CHANCE,
        exactness=5.0 * error / exact,
    )


def sampled_rows() -> tuple[Row, ...]:
    """Figures of the sampling beside closed forms."""
    merged = sampled({"x": "", "y": ""}, NORMAL)
    series, parallel = sampled(SERIES, UNIFORM), sampled(PARALLEL, UNIFORM)
    beta = sampled({"x": ""}, BETA)
    root = math.sqrt(SAMPLES)
    maximum = math.sqrt(1.0 - 1.0 / math.pi)
    sum95, max95 = 3.0 - 0.3 ** (1 / 3), 0.95 ** (1 / 3)
    drawn = math.sqrt(1.5 * 4.5 * 64 / (36 * 7))
    return (
        sampled_row(
            "greater of two N(10, 1): mean",
            (CLARK, "from memory"),
            10.0 + 1.0 / math.sqrt(math.pi),
            float(merged.mean()),
            maximum / root,
        ),
        sampled_row(
            "greater of two N(10, 1): standard deviation",
            (CLARK, "from memory"),
            maximum,
            float(merged.std()),
            maximum / math.sqrt(2.0) / root,
        ),
        sampled_row(
            "three uniform times in series: mean",
            (HOGG, "read in a transcription"),
            1.5,
            float(series.mean()),
            0.5 / root,
        ),
        sampled_row(
            "three uniform times in series: P95",
            (HOGG, "read in a transcription"),
            sum95,
            f.percentile(series, 0.95).value,
            quantile_error(SAMPLES, 0.95, (3.0 - sum95) ** 2 / 2.0),
        ),
        sampled_row(
            "three uniform times in parallel: mean",
            (HOGG, "read in a transcription"),
            0.75,
            float(parallel.mean()),
            math.sqrt(3.0 / 80.0) / root,
        ),
        sampled_row(
            "three uniform times in parallel: P95",
            (HOGG, "read in a transcription"),
            max95,
            f.percentile(parallel, 0.95).value,
            quantile_error(SAMPLES, 0.95, 3.0 * max95**2),
        ),
        sampled_row(
            "drawn duration 1, 2, 9: mean",
            ("mean of the scaled beta", "derived"),
            3.0,
            float(beta.mean()),
            drawn / root,
        ),
        sampled_row(
            "drawn duration 1, 2, 9: standard deviation",
            ("variance of the scaled beta", "derived"),
            drawn,
            float(beta.std()),
            drawn / root,
        ),
    )


# ----------------------------------------------------------------------------------- rows


def phi(z: float) -> float:
    """The normal distribution by the complementary error function, not by the program's."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def row(case: str, source: str, printed: float, closed: float, ours: float, **more: Any) -> Row:
    """A printed figure, read in a transcription; without a tolerance it must agree exactly."""
    said: dict[str, Any] = {
        "status": "read in a transcription",
        "tolerance": 0.0,
        "reason": LAST_DIGIT if "tolerance" in more else "exact",
        **more,
    }
    return Row(case=case, source=source, printed=printed, closed_form=closed, ours=ours, **said)


def derived(case: str, source: str, closed: float, ours: float) -> Row:
    """A figure that follows exactly from the stated assumptions and is printed nowhere."""
    return Row(
        case=case,
        source=source,
        status="derived",
        printed=None,
        closed_form=closed,
        ours=ours,
        tolerance=0.0,
        reason="exact",
    )


def classical(limit: float, mean: float, variance: float) -> float:
    """Probability by the chain of formulas that the page shows."""
    deviation = f.path_deviation(variance=variance)
    return f.normal_probability(z=f.standard_score(limit=limit, mean=mean, deviation=deviation))


PATH = ((5, 8, 17), (3, 5, 7), (4, 6, 8), (3, 4, 5))
"""The durations of the activities 1, 3, 5 and 7 of Taylor's example, its critical path."""


def pert_rows() -> tuple[Row, ...]:
    """The classical method."""
    means = np.array([f.pert_mean(a=a, m=m, b=b) for a, m, b in PATH])
    variances = np.array([f.pert_variance(a=a, b=b) for a, _, b in PATH])
    mean, variance = f.path_mean(t=means), f.path_variance(v=variances)
    exact = phi(4.0 / math.sqrt(5.0))
    table = "the source looks up z rounded to 1.79 in a table of four digits"
    halves = "the normal distribution at half multiples of its deviation; mean 21, variance 4"
    return (
        row(
            "four activities in a row: expected time",
            TAYLOR,
            24.0,
            9 + 5 + 6 + 4,
            mean,
            unit="weeks",
        ),
        derived("four activities in a row: variance", TAYLOR, 4 + 4 / 9 + 4 / 9 + 1 / 9, variance),
        row(
            "four activities in a row: P(T ≤ 28)",
            TAYLOR,
            0.9633,
            exact,
            classical(28.0, mean, variance),
            tolerance=2e-4,
            reason=table,
        ),
        *(
            derived(
                f"T = 21, variance 4: P(T ≤ {limit})",
                halves,
                phi((limit - 21) / 2),
                classical(float(limit), 21.0, 4.0),
            )
            for limit in (17, 20, 23, 25)
        ),
        row(
            "activity 1, 10, 17: standard deviation",
            COURSE,
            2.67,
            16 / 6,
            math.sqrt(f.pert_variance(a=1.0, b=17.0)),
            tolerance=0.005,
            unit="days",
        ),
    )


def network_rows() -> tuple[Row, ...]:
    """Lengths and slacks of printed networks."""
    net, times = taylor()
    names, slack = ("2-6", "4-7", "5-8"), (20 - 12, 27 - 16, 31 - 30)
    course_net, course_times = course()
    return (
        row("13 activities: length", TAYLOR_CPM, 38.0, 10 + 5 + 12 + 4 + 7, float(times.total)),
        *(
            row(
                f"13 activities: slack of {name}",
                TAYLOR_CPM,
                TAYLOR_TABLE[name][5],
                by_hand,
                float(times.slack[net.ids.index(name)]),
            )
            for name, by_hand in zip(names, slack, strict=True)
        ),
        row(
            "7 activities: length",
            HANDOUT,
            16.0,
            6 + 2 + 3 + 4 + 1,
            float(handout().total),
            unit="h",
        ),
        row(
            "6 activities with two critical paths: length",
            TIES,
            19.0,
            4 + 5 + 6 + 4,
            float(ties()[1].total),
            unit="days",
        ),
        row(
            "14 activities, three estimates: slack of D",
            COURSE,
            1.83,
            46 / 3 - 13.5,
            float(course_times.slack[course_net.ids.index("D")]),
            tolerance=0.005,
            unit="days",
        ),
    )


TABLE_T: Mapping[int, float] = {
    1: 6.314,
    2: 2.920,
    3: 2.353,
    4: 2.132,
    5: 2.015,
    6: 1.943,
    9: 1.833,
    14: 1.761,
    20: 1.725,
}


T_975_15, T_975_21 = 2.131449545559323, 2.0796138447276626
"""Student's t at 97.5 % to more digits than a table prints, from memory; a test proves them."""


def by_density(t: float, freedom: int) -> float:
    """P(T ≤ t) by adding up the density of Student's t, without any library of distributions."""
    ratio = math.gamma((freedom + 1) / 2) / math.gamma(freedom / 2)
    constant = ratio / math.sqrt(freedom * math.pi)
    x, step = np.linspace(0.0, t, 200_001, retstep=True)
    y = constant * (1.0 + x**2 / freedom) ** (-(freedom + 1) / 2)
    return 0.5 + float((y[0] + y[-1] + 4.0 * y[1:-1:2].sum() + 2.0 * y[2:-1:2].sum()) * step / 3.0)


def drill_rows() -> tuple[Row, ...]:
    """Student's t and prediction bounds."""
    tires = f.prediction_bound(mean=60139.7, t=t_quantile(0.975, 15), s=3645.94, n=16)
    alloy = f.prediction_bound(mean=13.71, t=t_quantile(0.975, 21), s=3.55, n=22)
    rounded = "the source takes t from a table of three decimals"
    return (
        row(
            "t, 1 degree of freedom, 95 %",
            SOONG,
            6.314,
            math.tan(0.45 * math.pi),
            t_quantile(0.95, 1),
            tolerance=5e-4,
        ),
        row(
            "t, 2 degrees of freedom, 95 %",
            SOONG,
            2.920,
            0.9 * math.sqrt(2 / (1 - 0.81)),
            t_quantile(0.95, 2),
            tolerance=5e-4,
        ),
        row(
            "t, 4 degrees of freedom, 95 %",
            SOONG,
            2.132,
            _t_four(0.95),
            t_quantile(0.95, 4),
            tolerance=5e-4,
        ),
        row(
            "load of the next of 22 specimens: upper bound",
            MONTGOMERY,
            21.26,
            13.71 + T_975_21 * 3.55 * math.sqrt(23 / 22),
            alloy,
            tolerance=0.005,
        ),
        row(
            "life of the next of 16 tires: upper bound",
            TIRES,
            68148.31,
            60139.7 + T_975_15 * 3645.94 * math.sqrt(17 / 16),
            tires,
            tolerance=2.0,
            reason=rounded,
        ),
    )


def _t_four(share: float) -> float:
    """The quantile of Student's t with 4 degrees of freedom, which has a closed form."""
    a = 4.0 * share * (1.0 - share)
    return 2.0 * math.sqrt(math.cos(math.acos(math.sqrt(a)) / 3.0) / math.sqrt(a) - 1.0)


ROWS: tuple[Row, ...] = (*pert_rows(), *network_rows(), *sampled_rows(), *drill_rows())


@pytest.mark.parametrize("one", ROWS, ids=lambda one: one.case)
def test_printed_closed_form_and_ours_agree(one: Row) -> None:
    assert disagreements(one) == ()


@pytest.mark.parametrize("freedom", TABLE_T)
def test_students_t_is_that_of_the_table_and_has_the_right_area(freedom: int) -> None:
    t = t_quantile(0.95, freedom)
    assert t == pytest.approx(TABLE_T[freedom], abs=5e-4)
    assert by_density(t, freedom) == pytest.approx(0.95, abs=1e-9)


@pytest.mark.parametrize(("t", "freedom"), [(T_975_15, 15), (T_975_21, 21)])
def test_the_remembered_quantiles_have_the_right_area(t: float, freedom: int) -> None:
    assert by_density(t, freedom) == pytest.approx(0.975, abs=1e-12)


def test_the_classical_variance_is_not_that_of_the_drawn_beta() -> None:
    """1, 2, 9: deviations 1.3333 and 1.3093, and the 95th percentile 5.503 of the beta drawn.

    Percentile by an independent library, scipy's distribution function.
    """
    from scipy.stats import beta

    assert math.sqrt(f.pert_variance(a=1.0, b=9.0)) == pytest.approx(4 / 3, rel=1e-12)
    drawn = f.drawn_variance(alpha=1.5, beta=4.5, a=1.0, b=9.0)
    assert drawn == pytest.approx(64 * beta(1.5, 4.5).var(), rel=1e-12)
    found = f.percentile(sampled({"x": ""}, BETA), 0.95)
    assert found.value == pytest.approx(1 + 8 * beta(1.5, 4.5).ppf(0.95), abs=5 * found.deviation)
    assert found.value == pytest.approx(5.503, abs=5 * found.deviation + 5e-4)


def test_summing_the_critical_path_alone_would_miss_the_merge() -> None:
    merged, single = sampled({"x": "", "y": ""}, NORMAL), sampled({"x": ""}, NORMAL)
    error = 5.0 / math.sqrt(SAMPLES)
    assert float(single.mean()) == pytest.approx(10.0, abs=error)
    assert float(merged.mean()) - float(single.mean()) == pytest.approx(
        1.0 / math.sqrt(math.pi), abs=2 * error
    )
