"""Circles among things that wait for one another, judged by the standard library."""

from __future__ import annotations

from graphlib import CycleError, TopologicalSorter

from hypothesis import given
from hypothesis import strategies as st

from buildspec.graphs import find_circle

graphs = st.dictionaries(
    st.sampled_from("abcdefg"), st.lists(st.sampled_from("abcdefgz"), max_size=4), max_size=7
)


@given(graphs)
def test_a_circle_is_found_just_where_there_is_one(graph: dict[str, list[str]]) -> None:
    """graphlib, of the standard library, is the independent judge."""
    circle = find_circle(graph)
    try:
        TopologicalSorter(graph).prepare()
        assert circle == []
    except CycleError:
        assert circle
        for one, other in zip(circle, [*circle[1:], circle[0]], strict=True):
            assert other in graph[one]
        assert len(set(circle)) == len(circle)
        order = list(graph)
        assert min(order.index(node) for node in circle) == order.index(circle[0])


def test_long_chains_are_no_deeper_than_short_ones() -> None:
    chain = {f"n{i}": [f"n{i + 1}"] for i in range(50_000)}
    assert find_circle(chain) == []
    chain["n50000"] = ["n49999"]
    assert find_circle(chain) == ["n49999", "n50000"]


def test_many_ways_to_one_end_are_walked_once() -> None:
    """A ladder of 60 rungs has 2⁶⁰ ways; a walk that forgets would not come back."""
    ladder = {}
    for i in range(60):
        ladder[f"a{i}"] = [f"a{i + 1}", f"b{i + 1}"]
        ladder[f"b{i}"] = [f"a{i + 1}", f"b{i + 1}"]
    assert find_circle(ladder) == []
