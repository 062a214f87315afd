"""Halving of an interval, and what can be reached along a graph."""

import networkx
import numpy as np
import pytest

from hydro.quantities.bisection import halved
from hydro.quantities.reaching import reached


@pytest.mark.parametrize("wanted", [0.01, 0.7, 3.0])
def test_halving_ends_on_both_sides_of_the_root(wanted):
    """The square root of a number lies between the two ends, which are as far apart as so many halvings leave them."""
    low, high = halved(0.0, 4.0, lambda x: x * x < wanted, 20)
    assert low <= wanted**0.5 <= high
    assert high - low == pytest.approx(4.0 / 2**20)


def test_halving_stops_where_it_is_close():
    """With a width to reach, the interval ends no wider than it and no narrower than half of it."""
    low, high = halved(0.0, 1.0, lambda x: x < 0.3, close=1e-3)
    assert 0.5e-3 < high - low <= 1e-3


def test_arrays_are_halved_as_each_number_alone():
    """Many intervals at once end where each of them ends by itself."""
    wanted = np.array([0.01, 0.7, 3.0])
    together = halved(np.zeros(3), np.full(3, 4.0), lambda x: x * x < wanted)
    for n, one in enumerate(wanted.tolist()):
        assert (together[0][n], together[1][n]) == halved(0.0, 4.0, lambda x, one=one: x * x < one)


@pytest.mark.parametrize("seed", range(20))
def test_what_is_reached_is_what_networkx_reaches(seed):
    """On random graphs of thirty places the same places are reached as by networkx, the starts among them."""
    graph = networkx.gnp_random_graph(30, 0.06, seed=seed, directed=True)
    starts = {0, 1}
    assert reached(starts, graph.successors) == starts.union(*(networkx.descendants(graph, start) for start in starts))
