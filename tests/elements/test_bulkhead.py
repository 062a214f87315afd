"""The tank connector."""

import pytest

from hydro.description.build import Item
from hydro.elements.line import prepare_line
from hydro.elements.registry import PartContext, Reader, load_all
from hydro.quantities.uncertain import Uncertain


def context():
    """Return what parts are made with."""
    return PartContext({}, {}, lambda height: 0.0, 1e-6)


def test_a_bulkhead_is_a_short_pipe_of_its_own_bore():
    """It loses the friction of a pipe of its bore and length, 80 mm where none is given (common practice, no source)."""
    kinds = load_all()
    size, length = Uncertain.exact(0.030), Uncertain.exact(0.080)
    bulkhead = kinds["bulkhead"].make(Reader(Item("tank connector", {"size": size}), context()))[0]
    pipe = kinds["pipe"].make(Reader(Item("pipe", {"size": size, "length": length}), context()))[0]
    assert bulkhead.loss(1e-3) == pytest.approx(pipe.loss(1e-3))


def test_a_narrow_bulkhead_costs_a_change_of_bore():
    """Narrower than its pipe, it costs the line a sudden widening behind it."""
    load_all()
    items = [Item("bulkhead", {"size": Uncertain.exact(0.030)}, label="bulkhead"),
             Item("pipe", {"size": Uncertain.exact(0.0452), "length": Uncertain.exact(1.0)}, label="pipe")]
    losses = {part.label: part.k for part in prepare_line(items, context()).parts if hasattr(part, "k")}
    assert losses["pipe: change of bore"] == pytest.approx((1.0 - (0.030 / 0.0452) ** 2) ** 2)
