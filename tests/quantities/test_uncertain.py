"""Rough numbers, and the choice of their ends by name."""

import numpy as np
import pytest

from hydro.quantities.uncertain import STATED, Uncertain

HOSE = Uncertain(1.5, 1.6, 1.8, "hose: length")


def test_an_exact_number_has_no_band():
    """An exact number is its own low, middle and high, and counts as stated."""
    uncertain = Uncertain.exact(0.3, "lip")
    assert (uncertain.low, uncertain.middle, uncertain.high, uncertain.name, uncertain.source) == (0.3, 0.3, 0.3, "lip", STATED)
    assert uncertain.is_exact
    assert not HOSE.is_exact


@pytest.mark.parametrize(("sample", "value"), [
    ({}, 1.6), ({"hose: length": "low"}, 1.5), ({"hose: length": "high"}, 1.8), ({"hose: length": 1.7}, 1.7),
    ({"hose: bore": "low"}, 1.6)])
def test_picks_choose_by_name(sample, value):
    """A pick under the number's own name chooses an end or the value given; everything else stands in its middle."""
    assert HOSE.at(sample) == value


def test_a_pick_may_be_an_array_of_designs():
    """An array given as a pick comes back as it is, one entry a design."""
    designs = np.linspace(1.0, 2.0, 5)
    assert HOSE.at({"hose: length": designs}) is designs


def test_a_number_without_a_name_is_never_picked():
    """A number without a name stays in its middle even where a pick has the empty name."""
    assert Uncertain(1.0, 2.0, 3.0).at({"": "low"}) == 2.0


def test_widening_and_turning_keep_the_band_in_order():
    """Widening moves both ends outward, turning the sign swaps them, and neither touches name or source."""
    wide = HOSE.widened(0.1)
    assert (wide.low, wide.middle, wide.high) == (1.4, 1.6, pytest.approx(1.9))
    turned = HOSE.negative()
    assert (turned.low, turned.middle, turned.high) == (-1.8, -1.6, -1.5)
    assert (wide.name, turned.source) == ("hose: length", STATED)


def test_renaming_leaves_the_first_number_alone():
    """A number under another name keeps its band, and the first one its name."""
    other = HOSE.named("return: length")
    assert (other.low, other.middle, other.high, other.name) == (1.5, 1.6, 1.8, "return: length")
    assert HOSE.name == "hose: length"
