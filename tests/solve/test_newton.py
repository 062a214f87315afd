"""The solver on systems whose answer is known: it knows numbers, so the laws here are made up."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.solve import System, solve

calm = settings(max_examples=40, derandomize=True, deadline=None, database=None)


def straight(resistance):
    """Return a link of constant resistance, s/m2."""
    def law(q, up, down):
        return up - down - resistance * q, -resistance + 0.0 * q, 1.0 + 0.0 * q, -1.0 + 0.0 * q
    return law


def square(coefficient):
    """Return a link that loses coefficient q |q|, with a little slope at rest."""
    def law(q, up, down):
        return (up - down - coefficient * q * abs(q) - 1e-3 * q, -2.0 * coefficient * abs(q) - 1e-3, 1.0 + 0.0 * q,
                -1.0 + 0.0 * q)
    return law


def lift(head, slope):
    """Return a pump with a straight curve."""
    def law(q, up, down):
        return up - down + head - slope * q, -slope + 0.0 * q, 1.0 + 0.0 * q, -1.0 + 0.0 * q
    return law


def upright(area, bottom=0.0):
    """Return the storage of a vessel with upright walls."""
    return lambda level: (area * (level - bottom), area + 0.0 * level)


def loop(total, level=None, held=None):
    """Return two vessels joined by a pump and a return, closed by their total volume or by the level of the lower one."""
    return System(((lift(3.0, 400.0), 0, 1), (square(2e5), 1, 0)), (upright(0.2), upright(1.5, 1.0)), (None, held), {}, 0,
                  total, level)


@calm
@given(st.integers(3, 9), st.integers(0, 10_000))
def test_any_net_of_constant_resistances_is_an_electric_one(size, seed):
    """The heads of a random net of constant resistances are those of its conductance matrix solved by numpy."""
    rng = np.random.default_rng(seed)
    ends = [(k, k + 1) for k in range(size - 1)] + [tuple(map(int, rng.choice(size, 2, replace=False))) for _ in range(size)]
    resistances = [float(r) for r in rng.uniform(50.0, 5e3, len(ends))]
    system = System(tuple((straight(r), i, j) for r, (i, j) in zip(resistances, ends, strict=True)), (None,) * size,
                    (None,) * len(ends), {0: 2.5, size - 1: 0.5}, None)
    found = solve(system, [2.5, *[1.0] * (size - 2), 0.5], [0.0] * len(ends))
    matrix, right = np.zeros((size, size)), np.zeros(size)
    for r, (i, j) in zip(resistances, ends, strict=True):
        for a, b in ((i, j), (j, i)):
            matrix[a, a] += 1.0 / r
            matrix[a, b] -= 1.0 / r
    for node, head in ((0, 2.5), (size - 1, 0.5)):
        matrix[node] = 0.0
        matrix[node, node], right[node] = 1.0, head
    assert found.solved
    assert found.heads == pytest.approx(np.linalg.solve(matrix, right), abs=1e-9)


def test_straight_links_are_solved_at_once():
    """Constant resistances between given heads share the head like resistors in a row, in two steps."""
    system = System(((straight(1e3), 0, 1), (straight(3e3), 1, 2)), (None,) * 3, (None,) * 2, {0: 2.0, 2: 0.0}, None)
    found = solve(system, [2.0, 1.9, 0.0], [0.0, 0.0])
    assert found.solved
    assert found.steps <= 3
    assert found.heads[1] == pytest.approx(1.5)
    assert found.flows == pytest.approx((5e-4, 5e-4))


def test_a_closed_loop_keeps_its_water():
    """In a closed loop the volume is the one given and the flow the closed form of pump against resistance."""
    found = solve(loop(0.4), [0.5, 1.2], [1e-3, 1e-3])
    flow = (-400.001 + math.sqrt(400.001**2 + 4.0 * 2e5 * 3.0)) / (2.0 * 2e5)  # the positive root of 2e5 q^2 + 400.001 q = 3
    assert found.solved
    assert found.flows == pytest.approx((flow, flow), rel=1e-9)
    assert 0.2 * found.heads[0] + 1.5 * (found.heads[1] - 1.0) == pytest.approx(0.4, abs=1e-12)


def test_water_in_the_links_counts():
    """What a running link holds is part of the total, so that the vessels hold that much less."""
    found = solve(loop(0.4, held=lambda q: (2.0 * q, 2.0 + 0.0 * q)), [0.5, 1.2], [1e-3, 1e-3])
    vessels = 0.2 * found.heads[0] + 1.5 * (found.heads[1] - 1.0)
    assert found.solved
    assert vessels + 2.0 * found.flows[1] == pytest.approx(0.4, abs=1e-12)
    assert loop(0.4, held=lambda q: (2.0 * q, 2.0)).volume(found.heads, found.flows) == pytest.approx(0.4, abs=1e-12)


def test_a_level_may_close_instead():
    """Where a level is given the loop stands at it, and the total volume comes out."""
    found = solve(loop(0.0, level=0.31), [0.5, 1.2], [1e-3, 1e-3])
    assert found.solved
    assert found.heads[0] == pytest.approx(0.31, abs=1e-12)


def test_which_balance_gives_way_does_not_matter():
    """Closing at the other vessel gives the same heads and flows: one balance of a closed loop is redundant."""
    one, other = (solve(replace(loop(0.4), closing=node), [0.5, 1.2], [1e-3, 1e-3]) for node in (0, 1))
    assert one.heads == pytest.approx(other.heads, abs=1e-9)
    assert one.flows == pytest.approx(other.flows, abs=1e-12)


@calm
@given(st.lists(st.floats(10.0, 1e6), min_size=5, max_size=5), st.floats(0.1, 30.0))
def test_flows_balance_and_heads_add_up(coefficients, head):
    """In any bridge of square resistances each junction balances and each link loses just the head between its ends."""
    ends = ((0, 1), (0, 2), (1, 2), (1, 3), (2, 3))
    system = System(tuple((square(c), i, j) for c, (i, j) in zip(coefficients, ends, strict=True)), (None,) * 4,
                    (None,) * 5, {0: head, 3: 0.0}, None)
    found = solve(system, [head, 0.6 * head, 0.4 * head, 0.0], [1e-3] * 5, most=400)
    assert found.solved
    for node in (1, 2):
        into = [q for q, (_, j) in zip(found.flows, ends, strict=True) if j == node]
        out = [q for q, (i, _) in zip(found.flows, ends, strict=True) if i == node]
        assert sum(into) == pytest.approx(sum(out), abs=1e-10)
    for c, q, (i, j) in zip(coefficients, found.flows, ends, strict=True):
        assert c * q * abs(q) + 1e-3 * q == pytest.approx(found.heads[i] - found.heads[j], abs=1e-7)


def test_many_designs_are_each_solved_as_alone():
    """A batch of totals and levels gives for each design what it gives alone, though they need different numbers of steps."""
    totals = np.array([0.05, 0.4, 2.5])
    batch = solve(loop(totals), [np.full(3, 0.5), np.full(3, 1.2)], [np.full(3, 1e-3)] * 2)
    assert batch.solved.all()
    for k, total in enumerate(totals.tolist()):
        alone = solve(loop(total), [0.5, 1.2], [1e-3, 1e-3])
        assert [float(h[k]) for h in batch.heads] == pytest.approx(alone.heads, abs=1e-9)
        assert [float(q[k]) for q in batch.flows] == pytest.approx(alone.flows, abs=1e-11)


def test_what_has_not_converged_says_so():
    """Given too few steps the answer is marked as no solution, in a batch for just the design that needed more."""
    there = solve(loop(0.4), [0.5, 1.2], [1e-3, 1e-3])
    assert not solve(loop(0.4), [5.0, 9.0], [1e-3, 1e-3], most=2).solved
    found = solve(loop(np.full(2, 0.4)), [np.array([h, far]) for h, far in zip(there.heads, (5.0, 9.0), strict=True)],
                  [np.array([q, 1e-3]) for q in there.flows], most=2)
    assert found.solved.tolist() == [True, False]
    assert found.merit[1] > found.merit[0]


def test_the_worst_link_is_named():
    """The link that fits worst is the one with the largest residual."""
    system = System(((straight(1e3), 0, 1), (straight(1e3), 1, 2)), (None,) * 3, (None,) * 2, {0: 2.0, 2: 0.0}, None)
    assert system.worst([2.0, 1.9, 0.0], [0.0, 0.0]) == 1
    assert system.worst([2.0, 0.1, 0.0], [0.0, 0.0]) == 0


def test_the_closing_node_comes_last():
    """Unknown heads come in the order of the nodes with the closing one last; given heads are no unknowns."""
    assert loop(0.4).order() == [1, 0]
    assert System((), (None,) * 3, (), {1: 0.0}, None).order() == [0, 2]


def test_a_float_run_stays_in_floats():
    """A system of floats is solved in floats: no numpy scalar slows the loop."""
    found = solve(loop(0.4), [0.5, 1.2], [1e-3, 1e-3])
    assert {type(x) for x in (*found.heads, *found.flows, found.merit)} == {float}
    assert type(found.solved) is bool
