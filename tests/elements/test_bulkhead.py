"""The tank connector."""

import pytest

from hydro.description.build import Item
from hydro.elements.line import read_line
from hydro.elements.registry import Making, Reader, load_all
from hydro.quantities.uncertain import Rough


def making():
    """Return what parts are made with."""
    return Making({}, {}, lambda height: 0.0, 1e-6)


def test_a_bulkhead_is_a_short_pipe_of_its_own_bore():
    """It loses the friction of a pipe of its bore and length, 80 mm where none is given (common practice, no source)."""
    kinds = load_all()
    size, length = Rough.exact(0.030), Rough.exact(0.080)
    bulkhead = kinds["bulkhead"].make(Reader(Item("tank connector", {"size": size}), making()))[0]
    pipe = kinds["pipe"].make(Reader(Item("pipe", {"size": size, "length": length}), making()))[0]
    assert bulkhead.loss(1e-3) == pytest.approx(pipe.loss(1e-3))


def test_a_narrow_bulkhead_costs_a_change_of_bore():
    """Narrower than its pipe, it costs the line a sudden widening behind it."""
    load_all()
    items = [Item("bulkhead", {"size": Rough.exact(0.030)}, label="bulkhead"),
             Item("pipe", {"size": Rough.exact(0.0452), "length": Rough.exact(1.0)}, label="pipe")]
    losses = {part.label: part.k for part in read_line(items, making()).parts if hasattr(part, "k")}
    assert losses["pipe: change of bore"] == pytest.approx((1.0 - (0.030 / 0.0452) ** 2) ** 2)
