"""Heights and the places they are measured from."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builds import above, band, bucket, drain, height, loop, taper

from hydro.description.build import Item
from hydro.description.heights import CircularHeights, WaterUnknown, place_level, places_of, resolve, vessel_height
from hydro.errors import InputError

BUILD = loop(tank_bottom=0.92, sump_bottom=0.04, drains=(drain("left", 1.47), drain("right", above("lip of left", -0.03))))


@pytest.mark.parametrize(("place", "level"), [("ground", 0.0), ("tank bottom", 0.92), ("tank rim", 1.57), ("tank water", 1.49),
                                              ("sump bottom", 0.04), ("sump rim", 0.50), ("lip of left", 1.47),
                                              ("lip of right", 1.44)])
def test_every_place_has_its_level(place, level):
    """Bottoms as described, rims a vessel's height above them, lips by the drain's name, water as it was found."""
    assert place_level(place, BUILD, {}, {"tank": 1.49}) == pytest.approx(level, abs=1e-12)


@pytest.mark.parametrize("place", places_of(BUILD))
@pytest.mark.parametrize("offset", [0.1, -0.1])
def test_a_height_is_an_offset_from_its_place(place, offset):
    """Above counts up and below counts down from every place."""
    level = place_level(place, BUILD, {}, {"tank": 1.49})
    assert resolve(above(place, offset), BUILD, {}, {"tank": 1.49}) == pytest.approx(level + offset, abs=1e-12)


def test_heights_hang_on_one_another():
    """A sump below the tank's bottom moves with the tank, and what is measured from it does too."""
    hung = loop(tank_bottom=1.1, sump_bottom=above("tank bottom", -0.9))
    assert resolve(above("sump rim", -0.06), hung, {}) == pytest.approx(1.1 - 0.9 + 0.46 - 0.06, abs=1e-12)


def test_picks_move_every_link_of_the_chain():
    """An end picked for the tank's bottom, its height or the offset itself moves the level by just that."""
    hung = loop(tank_bottom=band(0.90, 0.92, 0.95))
    lip = height(band(-0.11, -0.10, -0.08), "lip", "tank rim")
    assert resolve(lip, hung, {}) == pytest.approx(1.47)
    assert resolve(lip, hung, {"tank: bottom": "high"}) == pytest.approx(1.50)
    assert resolve(lip, hung, {"lip": "low"}) == pytest.approx(1.46)
    assert resolve(lip, hung, {"lip": "high", "tank: bottom": "low"}) == pytest.approx(1.47)
    assert resolve(lip, hung, {"tank: height": 0.70}) == pytest.approx(1.52)


def test_an_array_of_designs_comes_back():
    """A pick that is an array gives an array of levels, one a design."""
    levels = resolve(above("tank rim", -0.1), BUILD, {"tank: bottom": np.array([0.9, 1.0])})
    assert levels == pytest.approx([1.45, 1.55])


def test_water_has_to_be_known():
    """A height from the tank's water needs its level; every other height does without."""
    with pytest.raises(WaterUnknown):
        resolve(above("tank water", -0.03), BUILD, {})
    assert resolve(above("tank water", -0.03), BUILD, {}, {"tank": 0.0}) == -0.03
    assert resolve(above("tank rim", 0.0), BUILD, {}) == pytest.approx(1.57)


@pytest.mark.parametrize(("build", "place", "circle"), [
    (loop(tank_bottom=above("sump rim", 0.5), sump_bottom=above("tank bottom", -0.9)), "tank rim", {"sump rim", "tank bottom"}),
    (loop(tank_bottom=above("tank rim", -0.5)), "tank bottom", {"tank rim"}),
    (loop(drains=(drain("a", above("lip of b", 0.1)), drain("b", above("lip of a", 0.1)))), "lip of a", {"lip of b"}),
])
def test_circles_are_found(build, place, circle):
    """Heights that hang on each other in a circle are an error that names the places it leads through."""
    with pytest.raises(CircularHeights) as caught:
        place_level(place, build, {})
    assert caught.value.places >= circle
    assert "->" in str(caught.value)


@pytest.mark.parametrize("place", ["ceiling", "tank", "tank lid", "sump middle", "lip of middle", "lip of "])
def test_unknown_places_are_refused(place):
    """A place that the build does not have is a complaint, not a level."""
    with pytest.raises(InputError, match="expected"):
        place_level(place, BUILD, {})


def test_a_drain_without_a_lip_has_no_place():
    """A drain whose inlet has no lip cannot be measured from."""
    bare = loop(drains=(replace(drain("left"), inlet=Item("hole", {})),))
    with pytest.raises(InputError, match="a drain whose inlet has a lip"):
        place_level("lip of left", bare, {})


def test_the_height_of_each_shape():
    """A box and a tub have a height, a table of fills ends at its last fill unless its rim is given."""
    fills = ((0.01, 0.1), (0.02, 0.25))
    for shape, high in ((taper("s", (1.0, 0.5), (0.9, 0.4), 0.4), 0.4), (bucket("s", *fills), 0.25),
                        (bucket("s", *fills, high=0.31), 0.31)):
        assert vessel_height(loop(sump=shape).sump, {}) == high
    assert vessel_height(loop(sump=bucket("s", *fills)).sump, {"s: fill 2 height": 0.3}) == 0.3
    with pytest.raises(TypeError, match="is not a number"):
        vessel_height(replace(loop().sump, shape=Item("inside", {"height": "tall"})), {})
    with pytest.raises(TypeError, match="is not a number"):
        vessel_height(replace(loop().sump, shape=Item("bucket fill", {"table": "none"})), {})
