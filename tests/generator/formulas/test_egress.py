"""Network passes, critical paths, sampling and quantiles: properties, and libraries beside them."""

from __future__ import annotations

import itertools
import math
from graphlib import CycleError

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import linprog
from uncertainties import ufloat, umath

from generator.formulas import egress as f
from generator.formulas.student import t_quantile

Waits = dict[str, tuple[str, ...]]
UNHURRIED = settings(deadline=None)
"""No test here is about time, and the machine may be busy."""


@st.composite
def networks(draw: st.DrawFn, most: int = 8) -> tuple[Waits, list[float]]:
    """A network without circles, in a mixed order, and durations in quarters (sums are exact)."""
    n = draw(st.integers(1, most))
    names = [f"a{i}" for i in range(n)]
    waits = {
        name: tuple(draw(st.sets(st.sampled_from(names[:i])))) if i else ()
        for i, name in enumerate(names)
    }
    order = draw(st.permutations(names))
    durations = draw(st.lists(st.integers(0, 40).map(lambda k: k / 4), min_size=n, max_size=n))
    return {name: waits[name] for name in order}, durations


def every_path(waits: Waits) -> list[tuple[str, ...]]:
    """Every chain from an activity that waits for nothing to one that nothing waits for."""
    last = set(waits) - {w for after in waits.values() for w in after}

    def back(name: str) -> list[tuple[str, ...]]:
        return [(*path, name) for w in waits[name] for path in back(w)] or [(name,)]

    return [path for name in sorted(last) for path in back(name)]


def finish(waits: Waits, durations: list[float]) -> float:
    return float(f.passes(f.network(waits), np.array(durations)).total)


# ---------------------------------------------------------------------------------- passes


@UNHURRIED
@given(networks())
def test_the_finish_is_the_longest_of_all_paths(case: tuple[Waits, list[float]]) -> None:
    waits, durations = case
    length = dict(zip(waits, durations, strict=True))
    longest = max(sum(length[name] for name in path) for path in every_path(waits))
    assert finish(waits, durations) == longest


@settings(max_examples=40, deadline=None)
@given(networks(6))
def test_finish_and_latest_starts_are_those_of_a_linear_programme(
    case: tuple[Waits, list[float]],
) -> None:
    """scipy's HiGHS: least finish subject to the waits; then each start as late as that allows."""
    waits, durations = case
    names, n = list(waits), len(waits)
    rows, limits = [], []
    for i, name in enumerate(names):  # start_i + d_i ≤ finish, start_w + d_w ≤ start_i
        rows.append([float(j == i) for j in range(n)] + [-1.0])
        limits.append(-durations[i])
        for w in waits[name]:
            k = names.index(w)
            rows.append([float(j == k) - float(j == i) for j in range(n)] + [0.0])
            limits.append(-durations[k])
    least = linprog([0.0] * n + [1.0], rows, limits, bounds=[(0, None)] * (n + 1)).fun
    times = f.passes(f.network(waits), np.array(durations))
    assert float(times.total) == pytest.approx(least, abs=1e-7)
    for i in range(n):
        late = linprog(
            [-float(j == i) for j in range(n + 1)],
            rows,
            limits,
            bounds=[(0, None)] * n + [(least, least)],
        ).fun
        assert float(times.latest_start[i]) == pytest.approx(-late, abs=1e-7)


@UNHURRIED
@given(networks(), st.data())
def test_one_more_thing_to_wait_for_never_shortens(
    case: tuple[Waits, list[float]], data: st.DataObject
) -> None:
    waits, durations = case
    a, b = (data.draw(st.sampled_from(sorted(waits))) for _ in range(2))
    first, second = sorted((a, b), key=lambda name: int(name[1:]))
    if first == second:
        return
    more = {**waits, second: (*waits[second], first)}
    assert finish(more, durations) >= finish(waits, durations)


@UNHURRIED
@given(networks(), st.randoms(use_true_random=False))
def test_the_order_in_which_activities_are_written_changes_nothing(
    case: tuple[Waits, list[float]], random: object
) -> None:
    waits, durations = case
    mixed = list(zip(waits.items(), durations, strict=True))
    random.shuffle(mixed)  # type: ignore[attr-defined]
    again = f.passes(f.network(dict(w for w, _ in mixed)), np.array([d for _, d in mixed]))
    once = f.passes(f.network(waits), np.array(durations))
    names = [w[0] for w, _ in mixed]
    order = [names.index(name) for name in waits]
    assert once.start.tolist() == again.start[order].tolist()
    assert once.slack.tolist() == again.slack[order].tolist()


@UNHURRIED
@given(networks(), st.sampled_from([0.125, 2.0, 64.0]))
def test_times_scale_with_the_durations(case: tuple[Waits, list[float]], scale: float) -> None:
    waits, durations = case
    net, times = f.network(waits), np.array(durations)
    one, other = f.passes(net, times), f.passes(net, scale * times)
    for word in ("start", "finish", "latest_start", "latest_finish", "total", "slack"):
        assert (scale * getattr(one, word)).tolist() == getattr(other, word).tolist()


@UNHURRIED
@given(networks())
def test_slack_is_how_much_an_activity_may_slip(case: tuple[Waits, list[float]]) -> None:
    waits, durations = case
    times = f.passes(f.network(waits), np.array(durations))
    for i, name in enumerate(waits):
        slipped = list(durations)
        slipped[i] += float(times.slack[i])
        assert finish(waits, slipped) == times.total, name
        slipped[i] += 0.25
        assert finish(waits, slipped) == float(times.total) + 0.25, name


@UNHURRIED
@given(networks())
def test_critical_paths_are_all_the_longest_paths(case: tuple[Waits, list[float]]) -> None:
    waits, durations = case
    net = f.network(waits)
    times = f.passes(net, np.array([d + 0.25 for d in durations]))
    length = dict(zip(waits, (d + 0.25 for d in durations), strict=True))
    wanted = {p for p in every_path(waits) if sum(length[a] for a in p) == times.total}
    found = f.critical_paths(net, times, most=10_000)
    assert {tuple(net.ids[i] for i in p) for p in found.shown} >= wanted
    assert all(
        math.isclose(sum(length[net.ids[i]] for i in p), float(times.total)) for p in found.shown
    )
    assert found.count == len(found.shown)


def test_very_many_critical_paths_are_counted_without_listing_them() -> None:
    """Sixty pairs of equal branches one after another: 2⁶⁰ paths."""
    waits: Waits = {"begin": ()}
    last = "begin"
    for k in range(60):
        waits |= {f"x{k}": (last,), f"y{k}": (last,), f"join{k}": (f"x{k}", f"y{k}")}
        last = f"join{k}"
    net = f.network(waits)
    found = f.critical_paths(net, f.passes(net, np.ones(len(waits))), most=5)
    assert (len(found.shown), len(set(found.shown)), found.count) == (5, 5, 2**60)


def test_nothing_to_do_in_no_time_is_still_a_path() -> None:
    net = f.network({"a": (), "b": ("a",)})
    found = f.critical_paths(net, f.passes(net, np.zeros(2)))
    assert (found.shown, found.count) == (((0, 1),), 1)


def test_a_circle_is_refused() -> None:
    with pytest.raises(CycleError):
        f.network({"a": ("b",), "b": ("a",)})


def test_many_samples_at_once_are_many_single_passes() -> None:
    net = f.network({"a": (), "b": (), "c": ("a", "b"), "d": ("a",)})
    many = np.random.default_rng(3).uniform(0.0, 4.0, (4, 50))
    at_once = f.passes(net, many)
    for k in range(50):
        single = f.passes(net, many[:, k])
        assert at_once.slack[:, k].tolist() == single.slack.tolist()
        assert at_once.critical[:, k].tolist() == single.critical.tolist()


# -------------------------------------------------------------------------------- drawing

SPREADS = {
    "beta": f.Duration("beta", 2.0, 1.0, 9.0),
    "beta at its end": f.Duration("beta", 1.0, 1.0, 4.0),
    "rectangular": f.Duration("rectangular", 3.0, 1.0, 5.0, 4 / math.sqrt(12)),
    "rectangular cut": f.Duration("rectangular", 1.0, -2.0, 4.0, 6 / math.sqrt(12)),
    "triangular": f.Duration("triangular", 3.0, 1.0, 5.0, 2 / math.sqrt(6)),
    "triangular cut": f.Duration("triangular", 1.0, -2.0, 4.0, 3 / math.sqrt(6)),
    "triangular at zero": f.Duration("triangular", 0.0, -2.0, 2.0, 2 / math.sqrt(6)),
    "normal": f.Duration("normal", 10.0, 6.0, 14.0, 2.0),
    "normal cut": f.Duration("normal", 1.0, -3.0, 5.0, 2.0),
}
REFERENCE = {
    "beta": stats.beta(1.5, 4.5, loc=1.0, scale=8.0),
    "beta at its end": stats.beta(1.0, 5.0, loc=1.0, scale=3.0),
    "rectangular": stats.uniform(1.0, 4.0),
    "rectangular cut": stats.uniform(0.0, 4.0),
    "triangular": stats.triang(0.5, loc=1.0, scale=4.0),
    "normal": stats.norm(10.0, 2.0),
    "normal cut": stats.truncnorm(-0.5, math.inf, loc=1.0, scale=2.0),
}


def cut_triangle(mid: float, half: float, x: np.ndarray) -> np.ndarray:
    """Distribution function of a triangle that is cut off at 0, from scipy's whole one."""
    whole = stats.triang(0.5, loc=mid - half, scale=2.0 * half)
    return (whole.cdf(x) - whole.cdf(0.0)) / (1.0 - whole.cdf(0.0))


@pytest.mark.parametrize("word", SPREADS)
def test_durations_are_drawn_from_the_distribution_that_is_stated(word: str) -> None:
    """Kolmogorov and Smirnov's distance to scipy's distribution, at the 1e-4 level; seeded."""
    spread = SPREADS[word]
    drawn = f.draw(spread, f.stream(7, word), 40_000)
    if word in REFERENCE:
        distribution = REFERENCE[word].cdf
    else:

        def distribution(x: np.ndarray) -> np.ndarray:
            return cut_triangle(spread.mid, spread.high - spread.mid, x)

    assert stats.kstest(drawn, distribution).pvalue > 1e-4
    assert drawn.min() >= max(spread.low, 0.0) if spread.shape != "normal" else drawn.min() >= 0.0


def test_a_duration_without_spread_stays() -> None:
    spread = f.Duration("constant", 2.5, 2.5, 2.5)
    assert f.draw(spread, f.stream(1, "a"), 4).tolist() == [2.5] * 4


def test_the_mean_of_the_drawn_beta_is_the_classical_mean() -> None:
    for a, m, b in ((1.0, 2.0, 9.0), (0.0, 3.0, 3.0), (2.0, 2.0, 5.0)):
        shapes = f.first_shape(a=a, m=m, b=b), f.second_shape(a=a, m=m, b=b)
        exact = stats.beta(*shapes, loc=a, scale=b - a).mean()
        assert exact == pytest.approx(f.pert_mean(a=a, m=m, b=b), rel=1e-12)


def plan(waits: Waits, spread: f.Duration) -> f.Plan:
    return f.Plan(f.network(waits), tuple(spread for _ in waits))


CHAIN: Waits = {"a": (), "b": ("a",), "c": ("b",)}
FORK: Waits = {"a": (), "b": ("a",), "c": ("a",), "d": ("b", "c")}


def test_the_same_seed_gives_the_same_samples_and_another_one_others() -> None:
    one, same, other = (
        f.sample([plan(FORK, SPREADS["beta"])], seed=s, samples=2000)[0] for s in (5, 5, 6)
    )
    assert one.finish.tolist() == same.finish.tolist()
    assert one.finish.tolist() != other.finish.tolist()


def test_one_more_activity_does_not_reshuffle_the_others() -> None:
    """With an activity of no duration added and another order, every sample stays as it is."""
    spread = SPREADS["beta"]
    before = f.sample([plan(FORK, spread)], seed=5, samples=2000)[0]
    idle = f.Duration("constant", 0.0, 0.0, 0.0)
    more = f.Plan(f.network({"zero": (), **dict(reversed(FORK.items()))}), (idle, *[spread] * 4))
    after = f.sample([more], seed=5, samples=2000)[0]
    assert before.finish.tolist() == after.finish.tolist()


def test_an_activity_draws_the_same_in_every_scenario() -> None:
    spread = SPREADS["beta"]
    short, long = f.sample(
        [plan(CHAIN, spread), plan({**CHAIN, "d": ("c",)}, spread)], seed=5, samples=500
    )
    alone = f.sample([plan(CHAIN, spread)], seed=5, samples=500)[0]
    assert short.finish.tolist() == alone.finish.tolist()
    assert (long.finish >= short.finish).all()


def test_two_activities_do_not_draw_alike() -> None:
    a, b = (f.draw(SPREADS["beta"], f.stream(1, name), 20_000) for name in "ab")
    assert abs(np.corrcoef(a, b)[0, 1]) < 5 / math.sqrt(20_000)


def test_samples_come_in_blocks_that_leave_no_seam() -> None:
    """More samples than a block: the first ones are those of a smaller run, and none repeats."""
    spread = SPREADS["rectangular"]
    many = f.sample([plan({"a": ()}, spread)], seed=5, samples=2 * f.BLOCK + 100)[0].finish
    rng = f.stream(5, "a")
    drawn = np.sort(f.draw(spread, rng, 2 * f.BLOCK + 100))
    assert many.tolist() == drawn.tolist()
    assert len(np.unique(many)) == len(many)


@settings(max_examples=25, deadline=None)
@given(networks(5))
def test_no_sample_ends_before_any_of_its_paths(case: tuple[Waits, list[float]]) -> None:
    waits, durations = case
    net, spreads = f.network(waits), [f.Duration("beta", d, d / 2, d + 1.0) for d in durations]
    drawn = {
        name: f.draw(spread, f.stream(5, name), 200)
        for name, spread in zip(waits, spreads, strict=True)
    }
    total = f.passes(net, np.array(list(drawn.values()))).total
    for path in every_path(waits):
        assert (total >= sum(drawn[name] for name in path) - 1e-12).all()
    found = f.sample([f.Plan(net, tuple(spreads))], seed=5, samples=200)[0]
    assert np.sort(total).tolist() == found.finish.tolist()


@settings(max_examples=25, deadline=None)
@given(networks(5), st.data())
def test_no_sample_is_shortened_by_one_more_thing_to_wait_for(
    case: tuple[Waits, list[float]], data: st.DataObject
) -> None:
    waits, durations = case
    names = sorted(waits, key=lambda name: int(name[1:]))
    if len(names) < 2:
        return
    k = data.draw(st.integers(1, len(names) - 1))
    more = {**waits, names[k]: (*waits[names[k]], names[k - 1])}
    spreads = tuple(f.Duration("beta", d, d / 2, d + 1.0) for d in durations)
    one, other = f.sample(
        [f.Plan(f.network(w), spreads) for w in (waits, more)], seed=5, samples=200
    )
    assert (other.finish >= one.finish).all()


def test_shares_of_the_critical_path() -> None:
    """A chain is critical always; of two equal branches each is in half of the samples."""
    chain = f.sample([plan(CHAIN, SPREADS["beta"])], seed=5, samples=1000)[0]
    assert chain.critical.tolist() == [1.0, 1.0, 1.0]
    fork = f.sample([plan(FORK, SPREADS["beta"])], seed=5, samples=40_000)[0]
    a, b, c, d = fork.critical
    assert (a, d) == (1.0, 1.0)
    assert b + c == pytest.approx(1.0, abs=1e-12)
    assert b == pytest.approx(0.5, abs=5 * 0.5 / math.sqrt(40_000))


def test_percentiles_of_single_activities() -> None:
    found = f.sample([plan(CHAIN, SPREADS["rectangular"])], seed=5, samples=f.BLOCK)[0]
    error = 5 * math.sqrt(0.95 * 0.05 / f.BLOCK) * 4.0  # the density is 1/4
    assert found.duration_p95 == pytest.approx([4.8] * 3, abs=error)
    assert found.finish_p95[0] == pytest.approx(4.8, abs=error)
    assert found.finish_p95[2] == pytest.approx(f.percentile(found.finish, 0.95).value, abs=0.01)


# ------------------------------------------------------------------------------- quantiles


@UNHURRIED
@given(st.lists(st.floats(0.0, 100.0), min_size=1, max_size=60), st.data())
def test_percentiles_are_in_order_and_inside_their_intervals(
    values: list[float], data: st.DataObject
) -> None:
    ordered = np.sort(values)
    found = [f.percentile(ordered, share) for share in (0.5, 0.9, 0.95)]
    assert found[0].value <= found[1].value <= found[2].value
    for one in found:
        assert one.low <= one.value <= one.high
        assert one.deviation >= 0.0
    share = data.draw(st.floats(0.02, 0.98))
    assert f.percentile(ordered, share).value == ordered[math.ceil(len(ordered) * share) - 1]


@pytest.mark.parametrize(("share", "n"), [(0.5, 1000), (0.9, 1000), (0.95, 1000), (0.95, 9999)])
def test_the_interval_of_a_percentile_covers_as_it_says(share: float, n: int) -> None:
    """Exact coverage from scipy's binomial distribution of the samples below the percentile."""
    found = f.percentile(np.arange(1, n + 1, dtype=float), share)  # the values are the ranks
    below = stats.binom(n, share)
    coverage = below.cdf(found.high - 1) - below.cdf(found.low - 1)
    assert 0.945 <= coverage <= 0.975
    assert found.deviation == pytest.approx(below.std(), abs=1.0)


def test_the_error_of_a_percentile_is_the_scatter_of_many_runs() -> None:
    rng = np.random.default_rng(11)
    runs = [f.percentile(np.sort(rng.normal(10.0, 1.0, 2000)), 0.95) for _ in range(400)]
    scatter = float(np.std([r.value for r in runs]))
    assert float(np.mean([r.deviation for r in runs])) == pytest.approx(scatter, rel=0.15)


@pytest.mark.parametrize(("limit", "share"), [(0.5, 0.0), (1.0, 0.25), (3.5, 0.75), (9.0, 1.0)])
def test_the_share_within_a_limit_counts_the_limit_in(limit: float, share: float) -> None:
    found, error = f.share_within(np.array([1.0, 2.0, 3.0, 4.0]), limit)
    assert found == share
    assert error > 0.0


def test_the_error_of_a_share_is_that_of_the_rule_of_succession() -> None:
    for hits, n in ((0, 10), (3, 10), (10, 10), (9500, 10_000)):
        assert f.share_error(hits / n, n) == pytest.approx(stats.beta(hits + 1, n - hits + 1).std())


@UNHURRIED
@given(st.integers(0, 12), st.integers(1, 12), st.sampled_from([0.05, 0.5, 0.3]))
def test_the_binomial_tail_is_that_of_scipy(least: int, trials: int, share: float) -> None:
    expected = stats.binom(trials, share).sf(least - 1)
    assert f.binomial_tail(least, trials, share) == pytest.approx(expected, abs=1e-12)


# ---------------------------------------------------------------------------------- drills


@pytest.mark.parametrize("n", [3, 5, 10])
def test_the_bound_of_the_next_drill_holds_as_often_as_it_says(n: int) -> None:
    """Simulated: 20,000 teams make n drills and then one more; 95 % stay below their bound."""
    rng, teams = np.random.default_rng(n), 20_000
    times = rng.normal(15.0, 1.2, (teams, n + 1))
    past, following = times[:, :n], times[:, n]
    t = t_quantile(0.95, n - 1)
    bounds = [
        f.prediction_bound(mean=m, t=t, s=s, n=float(n))
        for m, s in zip(past.mean(axis=1), past.std(axis=1, ddof=1), strict=True)
    ]
    held = float(np.mean(following <= np.array(bounds)))
    assert held == pytest.approx(0.95, abs=5 * math.sqrt(0.95 * 0.05 / teams))


def test_mean_and_deviation_are_numpys() -> None:
    x = np.array([14.2, 15.1, 13.4, 14.8])
    mean = f.drill_mean(x=x, n=4.0)
    assert mean == pytest.approx(np.mean(x), rel=1e-15)
    assert f.drill_deviation(x=x, mean=mean, n=4.0) == pytest.approx(np.std(x, ddof=1), rel=1e-13)


def test_the_bounds_uncertainty_is_that_of_an_independent_library() -> None:
    """The package `uncertainties`, first order by automatic derivatives."""
    values, readings, t = (14.2, 15.1, 13.4, 14.8), (0.1, 0.2, 0.05, 0.1), 2.353
    x = [ufloat(v, u) for v, u in zip(values, readings, strict=True)]
    mean = sum(x) / 4
    s = umath.sqrt(sum((v - mean) ** 2 for v in x) / 3)
    expected = (mean + t * s * math.sqrt(1.25)).std_dev
    found = f.bound_uncertainty(np.array(values), np.array(readings), t)
    assert found == pytest.approx(expected, rel=1e-10)


def test_equal_drills_have_a_bound_all_the_same() -> None:
    times = np.array([15.0, 15.0, 15.0])
    assert f.bound_uncertainty(times, np.full(3, 0.3), 2.92) == pytest.approx(0.3 / math.sqrt(3))
    assert f.prediction_bound(mean=15.0, t=2.92, s=0.0, n=3.0) == 15.0


def test_pairs_of_words_have_streams_of_their_own() -> None:
    firsts = {
        float(f.stream(seed, name).random())
        for seed, name in itertools.product((0, 1, 2**32 - 1), ("a", "b", "ab", "belts"))
    }
    assert len(firsts) == 12
