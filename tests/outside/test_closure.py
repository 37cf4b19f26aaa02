"""Closure against networkx on random graphs (networkx.algorithms.dag, descendants)."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.planning.access import StepNode, closure, find_ring, in_order

PAIRS = st.lists(st.tuples(st.integers(0, 14), st.integers(0, 14)), max_size=40)


def graph_of(pairs: list[tuple[int, int]]) -> nx.DiGraph:
    graph = nx.DiGraph()
    graph.add_nodes_from(range(15))
    graph.add_edges_from(pairs)
    return graph


def steps_of(graph: nx.DiGraph) -> dict[int, StepNode]:
    return {n: StepNode(n, f"S{n}", 100, tuple(sorted(graph.successors(n)))) for n in graph}


@given(PAIRS, st.sets(st.integers(0, 14), min_size=1))
def test_closure_equals_the_descendants_that_networkx_finds(
    pairs: list[tuple[int, int]], wanted: set[int]
) -> None:
    graph = graph_of(pairs)
    expected = set(wanted).union(*(nx.descendants(graph, n) for n in wanted))
    assert closure(steps_of(graph), wanted) == expected


@given(PAIRS)
def test_the_order_is_a_topological_one_that_networkx_would_accept(
    pairs: list[tuple[int, int]],
) -> None:
    graph = graph_of([(max(a, b), min(a, b)) for a, b in pairs if a != b])
    order = in_order(steps_of(graph), range(15))
    place = {n: i for i, n in enumerate(order)}
    assert sorted(order) == list(range(15))
    assert all(place[need] < place[step] for step, need in graph.edges)


@given(PAIRS)
def test_a_ring_is_found_exactly_when_networkx_finds_one(pairs: list[tuple[int, int]]) -> None:
    graph = graph_of(pairs)
    ring = find_ring({n: list(graph.successors(n)) for n in graph})
    assert bool(ring) == (not nx.is_directed_acyclic_graph(graph))
    assert all(graph.has_edge(a, b) for a, b in pairwise(ring))
    assert not ring or ring[0] == ring[-1]
