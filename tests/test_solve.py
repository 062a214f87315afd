"""The solver on systems whose answer is known: it knows numbers, so the laws here are made up."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.solve import System, solve
from hydro.solve.dense import eliminate

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
@given(st.integers(1, 7), st.integers(0, 10_000))
def test_elimination_solves_m_matrices(size, seed):
    """Without pivots the answer for a matrix with the solver's signs is that of numpy.linalg.solve."""
    rng = np.random.default_rng(seed)
    matrix = -rng.uniform(0.0, 1.0, (size, size))
    matrix[np.diag_indices(size)] = -matrix.sum(axis=1) + matrix.diagonal() + rng.uniform(0.1, 1.0, size)
    right = rng.normal(size=size)
    rows = [[*map(float, row), float(b)] for row, b in zip(matrix, right, strict=True)]
    found = eliminate(rows)
    assert found == pytest.approx(np.linalg.solve(matrix, right), rel=1e-9, abs=1e-12)
    assert all(type(x) is float for x in found)


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


def test_no_solution_is_said_not_raised():
    """Where no flow satisfies a link the answer says so, for a float and for the one design of a batch that has none."""
    def never(depth):
        def law(q, up, down):
            return up - down - 1.0 - depth - q * q, -2.0 * abs(q) - 1e-3, 1.0 + 0.0 * q, -1.0 + 0.0 * q
        return law
    def system(depth):
        return System(((never(depth), 0, 1),), (None, None), (None,), {0: 1.5, 1: 0.0}, None)
    assert not solve(system(2.0), [1.5, 0.0], [0.3]).solved
    found = solve(system(np.array([2.0, 0.1])), [np.full(2, 1.5), np.zeros(2)], [np.full(2, 0.3)])
    assert found.solved.tolist() == [False, True]


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
