"""Heights become levels: places of tank and sump, lips of drains, rough offsets and picks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from hydro.description.build import Build, Drain, GivenWater, Height, Item, Pump, Sump, Vessel
from hydro.description.heights import CircularHeights, WaterUnknown, place_level, resolve, vessel_height
from hydro.errors import InputError
from hydro.quantities.uncertain import Uncertain


def at(value: float, place: str, name: str = "") -> Height:
    """Return an exact height."""
    return Height(Uncertain.exact(value, name), place)


def box(height: float, name: str) -> Item:
    """Return a box 1 m by 1 m."""
    return Item(
        "inside", {"length": Uncertain.exact(1.0), "width": Uncertain.exact(1.0), "height": Uncertain.exact(height, name)}
    )


def drain(name: str, lip: Height) -> Drain:
    """Return a drain of which only the lip counts."""
    return Drain(name, Item("standpipe", {"lip": lip}), (), "sump", at(0.1, "sump bottom"))


BUILD = Build("by hand", (Vessel("tank", box(0.65, "tank: height"), at(0.92, "ground", "tank: bottom")),),
              (Sump(Vessel("sump", box(0.46, "sump: height"), at(-0.90, "tank bottom", "sump: bottom")), ()),),
              (drain("left", at(-0.10, "tank rim", "drain left: lip")), drain("right", at(0.008, "lip of left"))), (),
              (Pump("pump", "sump", at(0.05, "sump bottom")),), GivenWater("line", at(0.2, "sump bottom")), file="my.yaml")


@pytest.mark.parametrize(("place", "level"), [
    ("ground", 0.0), ("tank bottom", 0.92), ("tank rim", 0.92 + 0.65), ("sump bottom", 0.92 - 0.90),
    ("sump rim", 0.92 - 0.90 + 0.46), ("lip of left", 0.92 + 0.65 - 0.10), ("lip of right", 0.92 + 0.65 - 0.10 + 0.008),
    ("tank water", 1.495)])
def test_places(place: str, level: float) -> None:
    """Every place has its level, also along a chain of heights (sums of the tape's figures)."""
    assert place_level(place, BUILD, {}, tank_water={"tank": 1.495}) == pytest.approx(level, abs=1e-12)
    assert resolve(at(-0.03, place), BUILD, {}, tank_water={"tank": 1.495}) == pytest.approx(level - 0.03, abs=1e-12)


def test_picks_move_what_hangs_on_them() -> None:
    """A pick of the tank's height moves its rim and the lips measured from it, not its bottom."""
    sample = {"tank: height": 0.70}
    assert place_level("lip of right", BUILD, sample) == pytest.approx(0.92 + 0.70 - 0.10 + 0.008, abs=1e-12)
    assert place_level("tank bottom", BUILD, sample) == 0.92
    uncertain = Height(Uncertain(-0.11, -0.10, -0.09, "lip"), "tank rim")
    assert resolve(uncertain, BUILD, {"lip": "high"}) - resolve(uncertain, BUILD, {"lip": "low"}) == pytest.approx(0.02)


def test_picks_may_be_arrays() -> None:
    """A pick that is an array of designs gives an array of levels."""
    numpy = pytest.importorskip("numpy")
    levels = resolve(at(0.0, "tank rim"), BUILD, {"tank: height": numpy.array([0.5, 0.6])})
    assert levels == pytest.approx([0.92 + 0.5, 0.92 + 0.6])


def test_tank_water_has_to_be_given() -> None:
    """A height from the tank's running level cannot be had before that level is known."""
    with pytest.raises(WaterUnknown):
        resolve(at(-0.03, "tank water"), BUILD, {})


def test_circle() -> None:
    """Lips that hang on each other are refused with the way round."""
    lips = at(0.01, "lip of right", "drain left: lip"), at(0.0, "lip of left", "drain right: lip")
    around = replace(BUILD, drains=(drain("left", lips[0]), drain("right", lips[1])))
    with pytest.raises(CircularHeights, match="lip of left -> lip of right -> lip of left") as caught:
        place_level("lip of left", around, {})
    assert caught.value.complaints[0].key == "drain right: lip"
    assert caught.value.places == {"lip of left", "lip of right"}


@pytest.mark.parametrize("place", ["lip of nobody", "attic", "tank lid"])
def test_unknown_place(place: str) -> None:
    """A place that the build does not have is refused."""
    with pytest.raises(InputError, match=place):
        resolve(at(0.0, place), BUILD, {})


def test_height_of_a_table_of_fills() -> None:
    """A vessel known by bucket fills reaches to its last fill, or to the height written beside them."""
    rows = tuple((Uncertain.exact(volume), Uncertain.exact(height)) for volume, height in ((0.01, 0.047), (0.078, 0.33)))
    tub = Vessel("sump", Item("bucket fill", {"table": rows}), at(0.0, "ground"))
    assert vessel_height(tub, {}) == 0.33
    taller = replace(tub, shape=Item("bucket fill", {"table": rows, "height": Uncertain.exact(0.36)}))
    assert vessel_height(taller, {}) == 0.36
