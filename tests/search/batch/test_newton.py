"""Newton for many designs takes each design where it goes alone; taking designs out again and again is taking them once."""

from __future__ import annotations

import numpy as np
import pytest
from batches import BATCHES, COUNT, batch
from builds import loop

from hydro.elements.drain import WITH_AIR
from hydro.quantities.arrays import take
from hydro.scenarios.placed_build import closing_of, place
from hydro.search.batch.newton import solve_all
from hydro.search.batch.subset import subset
from hydro.solve import solve
from hydro.steady.initial_guess import initial_guesses
from hydro.steady.state import QUICK


@pytest.mark.parametrize("name", BATCHES)
def test_each_design_goes_where_it_goes_alone(name):
    """From one start the same designs are solved, and their levels and flows are those of the float solver within a nanometre."""
    fixed, sample = batch(name)
    network = fixed.network(sample)
    network = network.in_modes(dict.fromkeys(network.drains, WITH_AIR))
    closing = closing_of(fixed, network, sample)
    levels, flows = next(initial_guesses(network, closing))
    h, q, solved = solve_all(network, closing, levels, flows, COUNT, QUICK)
    for n in range(COUNT):
        one, shut = take(network, n), take(closing, n)
        begun = [[float(x) for x in take(list(values), n)] for values in (levels, flows)]
        alone = solve(one.system(shut), *begun, QUICK)
        assert bool(alone.solved) == bool(solved[n])
        if solved[n]:
            assert h[:, n] == pytest.approx(alone.heads, abs=1e-9)
            assert q[:, n] == pytest.approx(alone.flows, abs=1e-9)
    assert solved.sum() > COUNT // 2


def test_designs_that_are_not_solved_are_no_numbers():
    """With too few steps nothing is solved, and levels and flows are not numbers rather than half a way to somewhere."""
    fixed, sample = batch("three drains")
    network = fixed.network(sample)
    closing = closing_of(fixed, network, sample)
    levels, flows = next(initial_guesses(network, closing))
    h, q, solved = solve_all(network, closing, levels, flows, COUNT, 1)
    assert not solved.any()
    assert np.isnan(h).all()
    assert np.isnan(q).all()


@pytest.mark.parametrize("chosen", [0, 17, np.array([3, 1, 40]), np.arange(COUNT) % 7 == 0])
def test_taking_again_and_again_is_taking_once(chosen):
    """What a taker gives is what `take` gives, for one design, for some by place, and for some by yes and no."""
    fixed, sample = batch("valves")
    network = fixed.network(sample)
    one, other = subset(network)(chosen), take(network, chosen)

    def same(a, b):
        assert type(a) is type(b)
        if hasattr(a, "shape"):
            np.testing.assert_array_equal(a, b)
        elif isinstance(a, (tuple, list)):
            assert len(a) == len(b)
            for x, y in zip(a, b, strict=True):
                same(x, y)
        elif hasattr(a, "__dataclass_fields__"):
            for name in a.__dataclass_fields__:
                same(getattr(a, name), getattr(b, name))
        elif isinstance(a, dict):
            assert a.keys() == b.keys()
        elif not callable(a):
            assert a == b or a != a
    same(one, other)


def test_what_holds_no_array_is_shared():
    """A network of plain numbers comes back as it is, and in one with arrays the parts without any are not copied."""
    plain = place(loop()).network()
    assert subset(plain)(0) is plain
    fixed, sample = batch("valves")
    network = fixed.network(sample)
    taken = subset(network)(5)
    assert any(new is old for new, old in zip(taken.waters, network.waters, strict=True))
