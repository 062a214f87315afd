"""The power cut: what walls hold back, what sumps hold, and the room that is left in them."""

from __future__ import annotations

from math import inf

import pytest
from builds import bucket, chamber, found, height, item, loop, mat, plate, slot, three_chambers, uncertain, way

from hydro.errors import InputError
from hydro.scenarios.placed_build import place
from hydro.shutdown import chamber_levels, crests_held, level_for, room_at_rest, shut_down, sump_volume

BUCKET = bucket("sump", (0.03, 0.10), (0.08, 0.22), (0.20, 0.46))


@pytest.mark.parametrize(("walls", "held"), [
    ((plate(0.29), plate(0.25)), (0.29, 0.25, -inf)), ((plate(0.25), plate(0.29)), (0.29, 0.29, -inf)),
    ((slot(0.03), plate(0.25)), (0.25, 0.25, -inf)), ((plate(0.29), slot(0.03)), (0.29, -inf, -inf)),
    ((mat(0.30), mat(0.30)), (-inf, -inf, -inf)), ((mat(0.30), plate(0.25)), (0.25, 0.25, -inf)),
])
def test_what_walls_hold_back(walls, held):
    """Plates hold back to their crest, slots and mats nothing; a low plate before a high one holds what the high one does."""
    network = found(loop(chambers=(chamber("inflow", 0.42, walls[0]), chamber("media", 0.32, walls[1]), chamber("pump")))).network
    assert crests_held(network) == [pytest.approx(level) for level in held]


@pytest.mark.parametrize(("order", "held"), [
    (("pump", "media", "inflow"), (-inf, 0.29, 0.29)), (("inflow", "pump", "beyond"), (0.29, -inf, 0.25)),
])
def test_walls_face_the_pump_wherever_it_stands(order, held):
    """The water runs towards the pump's chamber, wherever it stands: walls hold back on the side away from it."""
    lengths = (0.42, 0.32, None)
    walls = (plate(0.29), plate(0.25), None)
    chambers = tuple(chamber(name, length, wall) for name, length, wall in zip(order, lengths, walls, strict=True))
    results = found(loop(chambers=chambers))
    assert crests_held(results.network) == [pytest.approx(level) for level in held]
    for k in results.network.drains:
        assert results.network.waters[results.network.links[k].down].name == "inflow"


def test_levels_at_rest():
    """Open water stands level; a chamber behind a wall keeps its crest, and one that never was that full what it had."""
    network = found(loop(chambers=three_chambers(0.29, 0.25))).network
    full, low = [0.30, 0.26, 0.2], [0.21, 0.26, 0.2]
    assert chamber_levels(network, 0.20, full) == [pytest.approx(0.29), pytest.approx(0.25), 0.20]
    assert chamber_levels(network, 0.27, full) == [pytest.approx(0.29), 0.27, 0.27]
    assert chamber_levels(network, 0.35, full) == [0.35, 0.35, 0.35]
    assert chamber_levels(network, 0.27, low) == [0.21, 0.27, 0.27]
    assert chamber_levels(network, 0.30, low) == [0.30, 0.30, 0.30]
    crest = crests_held(network)[0]
    assert chamber_levels(network, crest, low) == [0.21, crest, crest]


def test_a_level_by_hand():
    """50 L in 0.31 m2 behind a plate at 0.29 and 0.20 m2 before the pump: below the crest the pump's chamber takes the rest."""
    network = found(loop()).network
    behind = 0.31 * 0.29
    was = [0.30, 0.2]
    assert level_for(network, behind + 0.2 * 0.15, was) == pytest.approx(0.15, abs=2e-9)
    assert level_for(network, 0.51 * 0.35, was) == pytest.approx(0.35, abs=2e-9)
    assert level_for(network, 0.51 * 9.0, was) == pytest.approx(9.0, abs=2e-9)
    assert sump_volume(network, [0.3, 0.1]) == pytest.approx(0.31 * 0.3 + 0.20 * 0.1, rel=1e-12)


def test_room_at_rest_stops_at_the_opening():
    """Room counts to the lowest opening; a chamber behind a wall higher than that takes no more than it had."""
    network = found(loop(sump_opening=0.40)).network
    assert room_at_rest(network, [0.3, 0.2]) == pytest.approx(0.51 * 0.40, rel=1e-12)
    low = found(loop(sump_opening=0.25)).network
    assert room_at_rest(low, [0.20, 0.2]) == pytest.approx(0.31 * 0.20 + 0.20 * 0.25, rel=1e-12)
    assert room_at_rest(low, [0.30, 0.2]) == pytest.approx(0.51 * 0.25, rel=1e-12)
    level = found(loop(sump_opening=0.29)).network
    assert room_at_rest(level, [0.20, 0.2]) == pytest.approx(0.31 * 0.20 + 0.20 * 0.29, rel=1e-12)


@pytest.mark.parametrize("opening", [None, 0.40, 0.35])
def test_an_overtopped_sump_counts_the_litres_over(opening):
    """Where too much comes down the spare room is minus the litres that stand above the opening (area times height)."""
    end = shut_down(found(loop(returns=(way(end=1.40),), sump_opening=opening)).state, False, False)
    brim = opening or 0.46
    assert end.sump_level > brim
    assert end.spare == pytest.approx(-0.51 * (end.sump_level - brim), abs=1e-8)


def test_a_sump_with_room_counts_the_litres_left():
    """Where it fits the spare room is what stands between the level at rest and the opening."""
    end = shut_down(found(loop(returns=(way(end=1.47),))).state, False, False)
    assert end.sump_level < 0.46
    assert end.spare == pytest.approx(0.51 * (0.46 - end.sump_level), abs=1e-8)


def test_the_sump_level_is_the_highest_chamber():
    """Where a plate stays above the water the level at rest is that of the chamber behind it."""
    end = shut_down(found(loop(chambers=(chamber("inflow", 0.2, plate(0.40)), chamber("pump")), line=0.1,
                          returns=(way(end=1.47),))).state, False, False)
    assert end.sump_level == end.chambers[0] == pytest.approx(0.40, abs=1e-9)
    assert end.chambers[1] < 0.40


def test_a_bucket_sump_without_width_is_asked_for_it():
    """A plate in a sump known by bucket fills alone needs its width: the answer is a complaint, not a crash."""
    shares = (chamber("inflow", share=0.6, end=plate(0.29)), chamber("pump"))
    with pytest.raises(InputError, match="width"):
        place(loop(sump=BUCKET, chambers=shares))


def test_gear_has_to_fit_at_every_height():
    """Up to 149 mm a tub holds 40 L, a tenth of them 4 L in the last chamber, but the first 10 L fill 100 mm of it: 1 L in that
    chamber, where 3 L of gear spread over the height are 2.01 L. It is refused; half a litre, 0.34 L there, fits.
    """
    tub = bucket("sump", (0.010, 0.100), (0.040, 0.149), (0.080, 0.30))

    def asked(gear):
        wall = item("plate", "plate", top=height(0.20, ""), width=uncertain(0.4, ""))
        chambers = [chamber("inflow", share=0.9, end=wall), chamber("pump", gear=gear, gear_top=0.149)]
        return loop(sump=tub, chambers=chambers, line=0.15)

    with pytest.raises(InputError, match="to that height, or lower"):
        place(asked(0.003))
    assert place(asked(0.0005)).network() is not None


@pytest.mark.parametrize(("gear", "top", "fits"), [(0.0399, 0.2, True), (0.0401, 0.2, False), (0.091, None, True),
                                                  (0.093, None, False)])
def test_gear_has_to_fit_into_its_chamber(gear, top, fits):
    """Gear that takes more than the chamber holds up to its top (0.20 m2 times the height, by default to the rim) is refused."""
    build = loop(chambers=(chamber("inflow", 0.62, plate(0.29)), chamber("pump", gear=gear, gear_top=top)))
    if fits:
        assert place(build).network() is not None
    else:
        with pytest.raises(InputError, match="more than the chamber holds"):
            place(build)
