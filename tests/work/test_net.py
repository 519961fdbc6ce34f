"""The net of a session's tasks against networkx: longest ways, and circles that cannot be."""

from __future__ import annotations

from random import Random

import networkx as nx
import numpy as np
import pytest

from drybuild.work.schedule.conditions import HERE, Link
from drybuild.work.schedule.laid import Laid, Task
from drybuild.work.schedule.listed import LINKED, Net

END = 40


def laid_out(lengths: list[int], links: tuple[Link, ...]) -> Laid:
    tasks = tuple(Task(f"job:{n}", w, 1, (), (), 0, END) for n, w in enumerate(lengths))
    return Laid(tasks, {}, links, (), (), {}, ())


def graph_of(lengths: list[int], links: tuple[Link, ...]) -> nx.DiGraph:
    """The same as a graph whose ways are the shorter, the later a task has to be."""
    graph = nx.DiGraph()
    here = len(lengths)
    graph.add_nodes_from(range(here + 1))
    own = [(here, n, 0) for n in range(here)] + [(n, here, w - END) for n, w in enumerate(lengths)]
    for a, b, w in (*own, *((here if a == HERE else a, b, w) for a, b, w in links)):
        b = here if b == HERE else b
        if not graph.has_edge(a, b) or graph[a][b]["weight"] > -w:
            graph.add_edge(a, b, weight=-w)
    return graph


def some(chance: Random) -> tuple[list[int], tuple[Link, ...]]:
    count = chance.randint(2, 9)
    lengths = [chance.randint(0, 6) for _ in range(count)]
    found = []
    for _ in range(chance.randint(1, 2 * count)):
        a, b = chance.sample([HERE, *range(count)], 2)
        found.append((a, b, chance.randint(-8, 8)))
    return lengths, tuple(found)


@pytest.mark.parametrize("seed", range(60))
def test_a_net_is_the_longest_ways_of_its_links(seed):
    lengths, links = some(Random(seed))
    graph = graph_of(lengths, links)
    net = Net.of(laid_out(lengths, links))
    one_by_one = Net.of(laid_out(lengths, ()))
    assert one_by_one is not None
    if nx.negative_edge_cycle(graph):
        assert net is None
        assert not one_by_one.add(links)
        return
    assert net is not None
    assert one_by_one.add(links)
    ways = -np.asarray(nx.floyd_warshall_numpy(graph, nodelist=range(len(lengths) + 1)))
    for far in (net.far, one_by_one.far):
        assert np.array_equal(np.where(far > LINKED, far, -np.inf), ways)


def test_both_kinds_of_net_are_among_those_looked_at():
    found = [Net.of(laid_out(*some(Random(seed)))) is None for seed in range(60)]
    assert 10 < sum(found) < 50


def test_a_copy_is_of_its_own():
    net = Net.of(laid_out([4, 4], ()))
    assert net is not None
    tried = net.copy()
    assert tried.add(((0, 1, 30),))
    assert (net.far[0, 1], len(net.links)) == (4 - END, len(tried.links) - 1)
