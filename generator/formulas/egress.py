"""Times of a network of activities: the classical estimate, the sampled one, and drills.

The functions with an equation are what the page shows; the network passes, the sampling and the
quantiles are algorithms and are proven by the tests. Times are in seconds throughout.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from graphlib import TopologicalSorter
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from generator.formulas.formula import Symbol, formula

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

MALCOLM = (
    "Malcolm, Roseboom, Clark and Fazar, Operations Research 7 (1959), from memory; the same "
    "equations as in Taylor, Introduction to Management Science, chapter 8"
)
BETA = (
    "common practice: a beta distribution scaled to the range from optimistic to pessimistic, with "
    "the shape that gives the classical mean"
)
PREDICTION = (
    "common practice: one-sided prediction bound of one further observation from a normal "
    "population (Hahn and Meeker, Statistical Intervals, from memory)"
)

_A = Symbol("a", "time", "optimistic duration", least=0.0)
_M = Symbol("m", "time", "likely duration", least=0.0)
_B = Symbol("b", "time", "pessimistic duration", least=0.0)


# ------------------------------------------------------------------ the classical estimate


@formula(
    equation=r"t_{e} = \frac{a + 4 m + b}{6}",
    result=Symbol("t_{e}", "time", "expected duration"),
    source=MALCOLM,
    a=_A,
    m=_M,
    b=_B,
)
def pert_mean(*, a: float, m: float, b: float) -> float:
    """Expected duration of an activity from three durations, s.

    Valid for 0 ≤ a ≤ m ≤ b. It is also the exact mean of the beta distribution that is drawn.
    Example: 5, 8 and 17 give 9.
    """
    return (a + 4.0 * m + b) / 6.0


@formula(
    equation=r"v_{e} = \left(\frac{b - a}{6}\right)^{2}",
    result=Symbol("v_{e}", "variance", "classical variance of the duration"),
    source=MALCOLM,
    a=_A,
    b=_B,
)
def pert_variance(*, a: float, b: float) -> float:
    """Classical variance of an activity's duration, s²: a sixth of the range taken as deviation.

    Valid for 0 ≤ a ≤ b. It is not the variance of the beta distribution that is drawn.
    Example: 5 and 17 give 4.
    """
    return ((b - a) / 6.0) ** 2


@formula(
    equation=r"T_{e} = \sum_{i}{t_i}",
    result=Symbol("T_{e}", "time", "expected time along the critical path"),
    source=MALCOLM,
    t=Symbol("t_i", "time", "expected durations along the path", least=0.0, each=True),
)
def path_mean(*, t: Array) -> float:
    """Expected time along a path, s: the sum of the expected durations (n,) in s."""
    return t.sum()  # type: ignore[no-any-return]


@formula(
    equation=r"V_{p} = \sum_{i}{v_i}",
    result=Symbol("V_{p}", "variance", "variance of the time along the critical path"),
    source=MALCOLM,
    v=Symbol("v_i", "variance", "variances of the durations along the path", least=0.0, each=True),
)
def path_variance(*, v: Array) -> float:
    """Variance of the time along a path, s²: the sum of independent durations' variances (n,)."""
    return v.sum()  # type: ignore[no-any-return]


@formula(
    equation=r"\sigma_{p} = \sqrt{V_{p}}",
    result=Symbol(r"\sigma_{p}", "time", "standard deviation of the time along the critical path"),
    source=MALCOLM,
    variance=Symbol("V_{p}", "variance", "variance along the path", least=0.0),
)
def path_deviation(*, variance: float) -> float:
    """Standard deviation of the time along a path, s, from its variance in s² (≥ 0)."""
    return np.sqrt(variance)  # type: ignore[no-any-return]


@formula(
    equation=r"z = \frac{T_{L} - T_{e}}{\sigma_{p}}",
    result=Symbol("z", "ratio", "standardised distance from the expected time to the limit"),
    source=MALCOLM,
    limit=Symbol("T_{L}", "time", "time limit", least=0.0),
    mean=Symbol("T_{e}", "time", "expected time along the critical path", least=0.0),
    deviation=Symbol(r"\sigma_{p}", "time", "standard deviation along the path", least=1e-9),
)
def standard_score(*, limit: float, mean: float, deviation: float) -> float:
    """Distance from the expected time to a limit in standard deviations; deviation > 0 s."""
    return (limit - mean) / deviation


@formula(
    equation=r"P = \frac{1}{2} \left(1 + \operatorname{erf}\left(\frac{z}{\sqrt{2}}\right)\right)",
    result=Symbol("P", "share", "probability of meeting the limit, classical method"),
    source="distribution function of the standard normal distribution",
    z=Symbol("z", "ratio", "standardised distance to the limit"),
)
def normal_probability(*, z: float) -> float:
    """Probability that a standard normal variable is at most z.

    The classical method applies it to the critical path alone, which leaves out every other
    path and is therefore too hopeful where branches run side by side.
    """
    return 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))


# ----------------------------------------------------------------------- what is sampled


@formula(
    equation=r"\alpha = 1 + 4 \frac{m - a}{b - a}",
    result=Symbol(r"\alpha", "ratio", "first shape of the beta distribution"),
    source=BETA,
    a=_A,
    m=_M,
    b=_B,
)
def first_shape(*, a: float, m: float, b: float) -> float:
    """First shape of the beta distribution drawn for a ≤ m ≤ b with a < b (s); from 1 to 5."""
    return 1.0 + 4.0 * (m - a) / (b - a)


@formula(
    equation=r"\beta = 1 + 4 \frac{b - m}{b - a}",
    result=Symbol(r"\beta", "ratio", "second shape of the beta distribution"),
    source=BETA,
    a=_A,
    m=_M,
    b=_B,
)
def second_shape(*, a: float, m: float, b: float) -> float:
    """Second shape of the beta distribution drawn for a ≤ m ≤ b with a < b (s); from 1 to 5."""
    return 1.0 + 4.0 * (b - m) / (b - a)


@formula(
    equation=r"v_{d} = \frac{\alpha \beta \left(b - a\right)^{2}}"
    r"{\left(\alpha + \beta\right)^{2} \left(\alpha + \beta + 1\right)}",
    result=Symbol("v_{d}", "variance", "variance of the drawn duration"),
    source="variance of the beta distribution, scaled to the range from a to b",
    alpha=Symbol(r"\alpha", "ratio", "first shape", least=1.0, most=5.0),
    beta=Symbol(r"\beta", "ratio", "second shape", least=1.0, most=5.0),
    a=_A,
    b=_B,
)
def drawn_variance(*, alpha: float, beta: float, a: float, b: float) -> float:
    """Variance of the beta distribution that is drawn, s².

    Example: 1, 2 and 9 (shapes 1.5 and 4.5) give 1.714, where the classical variance is 1.778.
    """
    return alpha * beta * (b - a) ** 2 / ((alpha + beta) ** 2 * (alpha + beta + 1.0))


@formula(
    equation=r"\Delta_{m} = T_{s} - T_{e}",
    result=Symbol(r"\Delta_{m}", "time", "what the critical path alone leaves out"),
    source="definition; called merge bias (MacCrimmon and Ryavec, Operations Research 12 (1964), "
    "from memory)",
    sampled=Symbol("T_{s}", "time", "mean of the sampled time", least=0.0),
    path=Symbol("T_{e}", "time", "expected time along the critical path", least=0.0),
)
def merge_bias(*, sampled: float, path: float) -> float:
    """How much longer the sampled exit takes on average than its critical path alone, s.

    Zero in a single chain, positive where branches meet.
    """
    return sampled - path


# ---------------------------------------------------------------------------------- drills


@formula(
    equation=r"x_{m} = \frac{1}{n} \sum_{i}{x_i}",
    result=Symbol("x_{m}", "time", "mean of the drills"),
    source="definition of the arithmetic mean",
    x=Symbol("x_i", "time", "times of the drills", least=0.0, each=True),
    n=Symbol("n", "ratio", "number of drills", least=1.0),
)
def drill_mean(*, x: Array, n: float) -> float:
    """Mean of the drills' times (n,), s."""
    return x.sum() / n  # type: ignore[no-any-return]


@formula(
    equation=r"s = \sqrt{\frac{1}{n - 1} \sum_{i}{\left(x_i - x_{m}\right)^{2}}}",
    result=Symbol("s", "time", "standard deviation of the drills"),
    source="definition of the sample standard deviation",
    x=Symbol("x_i", "time", "times of the drills", least=0.0, each=True),
    mean=Symbol("x_{m}", "time", "mean of the drills", least=0.0),
    n=Symbol("n", "ratio", "number of drills", least=2.0),
)
def drill_deviation(*, x: Array, mean: float, n: float) -> float:
    """Sample standard deviation of two or more drills' times (n,), s."""
    return np.sqrt(((x - mean) ** 2).sum() / (n - 1.0))  # type: ignore[no-any-return]


@formula(
    equation=r"s = \sqrt{\frac{1}{n} \sum_{i}{u_i^{2}}}",
    result=Symbol("s", "time", "deviation that the readings alone leave"),
    source="root mean square of the readings' standard uncertainties (JCGM 100:2008, 4.3; of a "
    "reading without a stated spread, 0.29 of its last digit, F.2.2.1)",
    u=Symbol("u_i", "time", "standard uncertainty of each reading", least=0.0, each=True),
    n=Symbol("n", "ratio", "number of drills", least=1.0),
)
def reading_deviation(*, u: Array, n: float) -> float:
    """Least standard deviation that n readings with standard uncertainties u (n,) can show, s."""
    return np.sqrt((u**2).sum() / n)  # type: ignore[no-any-return]


@formula(
    equation=r"x_{u} = x_{m} + t s \sqrt{1 + \frac{1}{n}}",
    result=Symbol("x_{u}", "time", "upper bound of the next drill"),
    source=PREDICTION,
    mean=Symbol("x_{m}", "time", "mean of the drills", least=0.0),
    t=Symbol("t", "ratio", "Student's t, n − 1 degrees of freedom", least=0.0),
    s=Symbol("s", "time", "standard deviation of the drills", least=0.0),
    n=Symbol("n", "ratio", "number of drills", least=3.0),
)
def prediction_bound(*, mean: float, t: float, s: float, n: float) -> float:
    """Upper bound that the next drill stays below with the confidence of t, s.

    Valid where the drills, past and next, come from one normal population and do not influence
    each other.
    """
    return mean + t * s * np.sqrt(1.0 + 1.0 / n)  # type: ignore[no-any-return]


def binomial_tail(least: int, trials: int, share: float) -> float:
    """Probability of `least` or more successes in `trials`, each of probability `share`."""
    terms = (
        math.comb(trials, k) * share**k * (1.0 - share) ** (trials - k)
        for k in range(least, trials + 1)
    )
    return min(1.0, sum(terms))


def bound_uncertainty(times: Array, readings: Array, t: float) -> float:
    """Standard uncertainty of the prediction bound from that of the drills' readings, s.

    First order (JCGM 100:2008, 5.1.2), readings uncorrelated: `times` and their standard
    uncertainties `readings` are (n,) in s. With s = 0 only the mean's part is left.
    """
    n = len(times)
    mean = times.mean()
    s = math.sqrt(float(((times - mean) ** 2).sum()) / (n - 1))
    by_spread = (times - mean) / ((n - 1) * s) if s > 0.0 else np.zeros(n)
    slopes = 1.0 / n + t * math.sqrt(1.0 + 1.0 / n) * by_spread
    return float(np.hypot.reduce(slopes * readings))


# --------------------------------------------------------------------------------- network


@dataclass(frozen=True, slots=True)
class Network:
    """Activities by index, what each waits for (`before`) and what waits for it (`behind`).

    `order` has every activity behind those it waits for.
    """

    ids: tuple[str, ...]
    before: tuple[tuple[int, ...], ...]
    behind: tuple[tuple[int, ...], ...]
    order: tuple[int, ...]


def network(waits: Mapping[str, Iterable[str]]) -> Network:
    """The network of `{activity: those it waits for}`; raises graphlib.CycleError for a cycle."""
    ids = tuple(waits)
    index = {name: i for i, name in enumerate(ids)}
    before = tuple(tuple(dict.fromkeys(index[w] for w in waits[name])) for name in ids)
    behind: list[list[int]] = [[] for _ in ids]
    for i, waited in enumerate(before):
        for w in waited:
            behind[w].append(i)
    order = tuple(TopologicalSorter(dict(enumerate(before))).static_order())
    return Network(ids, before, tuple(map(tuple, behind)), order)


@dataclass(frozen=True)
class Passes:
    """Earliest and latest times of each activity, (n,) or (n, samples), and the whole finish; s."""

    start: Array
    finish: Array
    latest_start: Array
    latest_finish: Array
    total: Array

    @property
    def slack(self) -> Array:
        """How long each activity may slip before the whole does, s."""
        return self.latest_start - self.start

    @property
    def critical(self) -> Flags:
        """Which activities have no slack, but for rounding."""
        return self.slack <= 1e-9 * self.total


def forward(net: Network, durations: Array) -> tuple[Array, Array]:
    """Earliest start and finish of each activity; durations (n,) or (n, samples) in s, ≥ 0."""
    start = np.zeros_like(durations)
    finish = np.empty_like(durations)
    for i in net.order:
        for w in net.before[i]:
            np.maximum(start[i], finish[w], out=start[i, ...])
        finish[i] = start[i] + durations[i]
    return start, finish


def passes(net: Network, durations: Array) -> Passes:
    """Both passes of the critical path method; durations (n,) or (n, samples) in s, ≥ 0."""
    start, finish = forward(net, durations)
    total = finish.max(axis=0)
    latest_finish = np.empty_like(durations)
    latest_finish[:] = total
    for i in reversed(net.order):
        for b in net.behind[i]:
            np.minimum(latest_finish[i], latest_finish[b] - durations[b], out=latest_finish[i, ...])
    return Passes(start, finish, latest_finish - durations, latest_finish, np.asarray(total))


@dataclass(frozen=True, slots=True)
class Paths:
    """Critical paths by index, at most as many as were asked for, and how many there are in all."""

    shown: tuple[tuple[int, ...], ...]
    count: int


def critical_paths(net: Network, times: Passes, most: int = 12) -> Paths:
    """Every chain of activities without slack from begin to finish, at most `most` listed."""
    critical = times.critical
    near = 1e-9 * float(times.total)
    links = {
        i: tuple(
            b for b in net.behind[i] if critical[b] and times.start[b] - times.finish[i] <= near
        )
        for i in range(len(net.ids))
        if critical[i]
    }
    ends = {i for i in links if float(times.total) - times.finish[i] <= near and not links[i]}
    begins = [i for i in links if times.start[i] <= near and not any(i in links[w] for w in links)]
    ways = _ways(net, links, ends)
    found = _chains(begins, links)
    return Paths(
        tuple(chain for chain, _ in zip(found, range(most), strict=False)),
        sum(ways[i] for i in begins),
    )


def _ways(net: Network, links: Mapping[int, tuple[int, ...]], ends: set[int]) -> dict[int, int]:
    """The number of chains from each critical activity to the finish."""
    ways: dict[int, int] = {}
    for i in reversed(net.order):
        if i in links:
            ways[i] = 1 if i in ends else sum(ways[b] for b in links[i])
    return ways


def _chains(
    begins: Sequence[int], links: Mapping[int, tuple[int, ...]]
) -> Iterator[tuple[int, ...]]:
    """Every chain along `links`, one after another, without recursion."""
    stack: list[tuple[int, ...]] = [(i,) for i in reversed(begins)]
    while stack:
        chain = stack.pop()
        following = links[chain[-1]]
        if not following:
            yield chain
        stack.extend((*chain, b) for b in reversed(following))


# -------------------------------------------------------------------------------- sampling

Shape = Literal["constant", "beta", "rectangular", "triangular", "normal"]
BLOCK = 16384
"""Samples drawn at a time, so that memory stays small however many are asked for."""


@dataclass(frozen=True, slots=True)
class Duration:
    """How one activity's duration is spread, s: `low` ≤ `mid` ≤ `high`, none drawn below 0.

    `beta` takes mid as the likely value; `rectangular` and `triangular` are even about mid, and
    `normal` has `deviation`; all three are cut off at 0.
    """

    shape: Shape
    mid: float
    low: float
    high: float
    deviation: float = 0.0


def stream(seed: int, name: str) -> np.random.Generator:
    """The random numbers of one activity: the same whatever other activities there are."""
    words = np.frombuffer(hashlib.sha256(name.encode()).digest()[:16], dtype="<u4")
    entropy = [seed, *(int(w) for w in words)]
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence(entropy)))


def draw(duration: Duration, rng: np.random.Generator, size: int) -> Array:
    """`size` durations in s, all ≥ 0."""
    low, mid, high = duration.low, duration.mid, duration.high
    if duration.shape == "beta":
        alpha, beta = first_shape(a=low, m=mid, b=high), second_shape(a=low, m=mid, b=high)
        return low + (high - low) * rng.beta(alpha, beta, size)
    if duration.shape == "rectangular":
        return rng.uniform(max(low, 0.0), high, size)
    if duration.shape == "triangular":
        return _triangular(mid, high - mid, rng.random(size))
    if duration.shape == "normal":
        return _normal(mid, duration.deviation, rng, size)
    return np.full(size, mid)


def _triangular(mid: float, half: float, chance: Array) -> Array:
    """Even triangular durations cut off at 0, by the inverse of their distribution function."""
    cut = 0.5 * max(0.0, 1.0 - mid / half) ** 2
    share = cut + (1.0 - cut) * chance
    rising = np.sqrt(2.0 * share) - 1.0
    falling = 1.0 - np.sqrt(2.0 * (1.0 - share))
    return np.maximum(mid + half * np.where(share < 0.5, rising, falling), 0.0)


def _normal(mid: float, deviation: float, rng: np.random.Generator, size: int) -> Array:
    """Normal durations cut off at 0: what falls below is drawn again."""
    times = rng.normal(mid, deviation, size)
    while (below := times < 0.0).any():
        times[below] = rng.normal(mid, deviation, int(below.sum()))
    return times


@dataclass(frozen=True)
class Plan:
    """A network with the spread of each activity's duration."""

    net: Network
    durations: tuple[Duration, ...]


@dataclass(frozen=True)
class Sampled:
    """What sampling found of one plan, in s.

    `finish` (samples,) is sorted. `critical` (n,) is the share of samples in which each activity
    had no slack. `finish_p95` and `duration_p95` (n,) are of each activity's finish and duration,
    from the first `BLOCK` samples.
    """

    finish: Array
    critical: Array
    finish_p95: Array
    duration_p95: Array


@dataclass
class _Tally:
    """What grows from block to block."""

    finish: list[Array] = field(default_factory=list)
    critical: list[Array] = field(default_factory=list)
    first: tuple[Array, Array] | None = None


def sample(plans: Sequence[Plan], *, seed: int, samples: int) -> tuple[Sampled, ...]:
    """Sample every plan `samples` times.

    An activity with the same id and spread takes the same durations in every plan, so that
    the difference between two plans is the difference of their networks and not of chance.
    """
    streams = {key: stream(seed, key[0]) for key in _keys(plans)}
    tallies = [_Tally() for _ in plans]
    for begin in range(0, samples, BLOCK):
        size = min(BLOCK, samples - begin)
        drawn = {key: draw(key[1], rng, size) for key, rng in streams.items()}
        for plan, tally in zip(plans, tallies, strict=True):
            _add(plan, tally, np.array([drawn[key] for key in _keys([plan])]))
    return tuple(_sum(tally, samples) for tally in tallies)


def _keys(plans: Iterable[Plan]) -> tuple[tuple[str, Duration], ...]:
    return tuple(
        dict.fromkeys(
            key for plan in plans for key in zip(plan.net.ids, plan.durations, strict=True)
        )
    )


def _add(plan: Plan, tally: _Tally, durations: Array) -> None:
    times = passes(plan.net, durations)
    tally.finish.append(times.total)
    tally.critical.append(times.critical.sum(axis=1, dtype=np.float64))
    if tally.first is None:
        tally.first = (
            np.quantile(times.finish, 0.95, axis=1),
            np.quantile(durations, 0.95, axis=1),
        )


def _sum(tally: _Tally, samples: int) -> Sampled:
    finish = np.sort(np.concatenate(tally.finish))
    critical = np.sum(tally.critical, axis=0) / samples
    assert tally.first is not None  # samples ≥ 1
    return Sampled(finish, critical, *tally.first)


@dataclass(frozen=True, slots=True)
class Percentile:
    """A sampled percentile with the sampling error of having so many samples and no more, s.

    `low` to `high` holds the true percentile with at least about 95 % confidence, whatever
    the distribution; `deviation` is the standard error.
    """

    value: float
    low: float
    high: float
    deviation: float


def percentile(ordered: Array, share: float) -> Percentile:
    """The percentile `share` (0 < share < 1) of sorted samples (n,), by order statistics.

    Value: the ⌈n·share⌉-th smallest. Interval: the ranks that the binomial distribution of the
    number of samples below the true percentile leaves in 95 % of cases (its normal
    approximation, good for n·share·(1 − share) ≥ 10). Source: common practice; Conover,
    Practical Nonparametric Statistics, from memory.
    """
    n = len(ordered)
    spread = math.sqrt(n * share * (1.0 - share))

    def rank(place: float) -> float:
        return float(ordered[min(max(math.ceil(place), 1), n) - 1])

    one_low, one_high = rank(n * share - spread), rank(n * share + spread)
    low, high = rank(n * share - 1.96 * spread), rank(n * share + 1.96 * spread + 1.0)
    return Percentile(rank(n * share), low, high, 0.5 * (one_high - one_low))


def share_within(ordered: Array, limit: float) -> tuple[float, float]:
    """Share of sorted samples (n,) that are at most `limit`, and its standard error.

    The error is never zero, since so many samples within do not prove that all would be.
    """
    n = len(ordered)
    share = float(np.searchsorted(ordered, limit, side="right")) / n
    return share, share_error(share, n)


def share_error(share: float, samples: int) -> float:
    """Standard error of a share found in so many samples (≥ 1).

    Standard deviation of the beta distribution that the rule of succession gives, so that it stays
    above zero where the share is 0 or 1. Source: Laplace's rule of succession, common practice.
    """
    hits = share * samples
    middle = (hits + 1.0) / (samples + 2.0)
    return math.sqrt(middle * (1.0 - middle) / (samples + 3.0))
