"""The power cut: where the tank ends, what comes down, where the sump ends. By conservation and closed forms."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import inf, pi

import pytest
from builds import (
    above,
    band,
    box,
    bucket,
    chamber,
    drain,
    found,
    loop,
    mat,
    plate,
    pump,
    slot,
    stated,
    taper,
    three_chambers,
    way,
    worked,
)

from hydro.errors import InputError
from hydro.network import Closing
from hydro.regimes import run
from hydro.scenarios import place, running
from hydro.stopped import (
    chamber_levels,
    crests_held,
    holds_back,
    level_for,
    open_holes,
    room_at_rest,
    siphon_paths,
    still_volume,
    stop,
    sump_volume,
    tank_stop,
)

CASES = tuple(product((True, False), repeat=2))
AREA = 2.06 * 0.78
BUCKET = bucket("sump", (0.03, 0.10), (0.08, 0.22), (0.20, 0.46))
TUB = taper("sump", (1.02, 0.50), (0.86, 0.38), 0.46, corners=0.03)
TWO = (chamber("inflow", 0.62, plate(0.29)), chamber("pump"))
SHARES = (chamber("inflow", share=0.6, end=replace(slot(0.03), values={**slot(0.03).values, **mat(0.3).values,
                                                                        "width": slot(0.5).values["gap"]})), chamber("pump"))
"""A slot with a width of its own: the width of a sump known by bucket fills is not known."""
GEAR = (chamber("inflow", 0.62, plate(0.29), gear=0.008, gear_top=0.15), chamber("pump", gear=0.004))
VESSELS = {"box": {}, "taper": {"sump": TUB}, "bucket": {"sump": BUCKET, "chambers": SHARES}, "gear": {"chambers": GEAR},
           "three": {"chambers": three_chambers()},
           "pump first": {"chambers": (chamber("pump", 0.4, plate(0.29)), chamber("inflow"))},
           "pump between": {"chambers": (chamber("inflow", 0.4, plate(0.29)), chamber("pump", 0.3, plate(0.27)),
                                         chamber("beyond"))},
           "one": {"chambers": (chamber("inflow"),), "driven_by": pump(into="inflow")}}


def sump_of(network, levels):
    """Return the water in the sump's chambers at given levels, asked of the bodies themselves."""
    return sum(float(network.waters[k].body.stored(level)[0]) for k, level in zip(network.chambers, levels, strict=True))


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("vessel", VESSELS)
def test_what_comes_down_is_what_the_sump_gains(vessel, case):
    """For every shape of sump and all four cases the sump gains just what comes down, to a hundredth of a millilitre."""
    state = found(loop(**VESSELS[vessel])).state
    network = state.network
    end = stop(state, *case)
    before = sump_of(network, [float(state.levels[k]) for k in network.chambers])
    assert sump_of(network, end.chambers) - before == pytest.approx(end.comes_down, abs=1e-8)
    fall = AREA * (float(state.tank_level) - end.tank_level)
    assert end.items["tank"] == pytest.approx(fall, rel=1e-9)
    assert end.comes_down == pytest.approx(sum(end.items.values()), rel=1e-12)


@pytest.mark.parametrize("case", CASES)
def test_all_the_water_is_kept(case):
    """Tank, sump and what stays in the lines hold at rest what the loop held while running."""
    for build in (worked(), loop(driven_by=pump(valve=True)), loop(returns=(way("a", valve=True), way("b", valve=True)))):
        state = found(build).state
        network, end = state.network, stop(state, *case)
        stays = float(network.full) - end.items["returns"]
        rest = float(network.waters[0].body.stored(end.tank_level)[0]) + sump_of(network, end.chambers) + stays
        assert rest == pytest.approx(float(state.total), abs=1e-8)


def test_the_worked_loop_stopped():
    """40.62 L from the tank, 1.04 from drains, 2.21 from returns end at 0.3498 m, 56.23 L to spare; plugged 79.22 and 20.88 L.

    Figures of the physics notes, section 6, computed there with coefficients as given.
    """
    state = found(worked()).state
    works, plugged = stop(state, True, False), stop(state, False, False)
    litres = {name: 1e3 * volume for name, volume in works.items.items()}
    assert litres == {"tank": pytest.approx(40.62, abs=0.01), "drains": pytest.approx(1.04, abs=0.01),
                      "returns": pytest.approx(2.21, abs=0.01)}
    assert works.sump_level == pytest.approx(0.3498, abs=1e-4)
    assert 1e3 * works.spare == pytest.approx(56.23, abs=0.02)
    assert plugged.tank_level == pytest.approx(1.448, abs=1e-9)
    assert 1e3 * plugged.comes_down == pytest.approx(79.22, abs=0.02)
    assert 1e3 * plugged.spare == pytest.approx(20.88, abs=0.02)
    holding = stop(found(worked(driven_by=pump(valve=True))).state, True, True)
    assert holding.items["returns"] == 0.0


@pytest.mark.parametrize(("breaks", "holds", "level", "words"), [
    (True, True, 1.47, "lip of drain"), (False, True, 1.47, "lip of drain"), (True, False, 1.455, "siphon break of return"),
    (False, False, 1.40, "mouth of return"),
])
def test_four_answers(breaks, holds, level, words):
    """A valve that holds leaves the lip; one that is stuck the hole's lowest point, and with a plugged hole the mouth."""
    state = found(loop(driven_by=pump(valve=True), returns=(way(end=1.40, hole_at=1.46, hole=0.010),))).state
    end = stop(state, breaks, holds)
    assert (end.breaks, end.holds, end.ends_by) == (breaks, holds, words)
    assert end.tank_level == pytest.approx(level, abs=1e-12)
    assert (end.items["returns"] == 0.0) is holds


@pytest.mark.parametrize("returns", [(way(end=1.40),), (way("a", 1.40), way("b", 1.42))])
def test_a_valve_in_the_riser_bars_every_return(returns):
    """A check valve behind the pump that holds leaves no path, one that is stuck leaves them all."""
    network = found(loop(driven_by=pump(valve=True), returns=returns)).network
    assert siphon_paths(network, True) == []
    assert siphon_paths(network, False) == list(network.returns)


def test_a_valve_in_one_branch_bars_that_branch_only():
    """With a check valve in one of two branches the tank still siphons through the other, and all lines count as coming down."""
    state = found(loop(returns=(way("held", 1.40, valve=True), way("open", 1.45)))).state
    network = state.network
    assert siphon_paths(network, True) == [network.place("open")]
    end = stop(state, True, True)
    assert (end.tank_level, end.ends_by) == (pytest.approx(1.45), "mouth of open")
    assert end.items["returns"] == float(network.full)
    assert stop(state, True, False).tank_level == pytest.approx(1.40)


def test_valves_in_all_branches_bar_all():
    """With a check valve in each branch nothing runs back while both hold."""
    state = found(loop(returns=(way("a", 1.40, valve=True), way("b", 1.45, valve=True)))).state
    assert siphon_paths(state.network, True) == []
    assert stop(state, False, True).ends_by == "lip of drain"


def test_a_valve_stuck_open_holds_nothing():
    """A check valve whose resistance to reversed flow is gone is no check valve."""
    network = found(loop(driven_by=pump(valve=True))).network
    assert holds_back(network.links[network.pump])
    line = network.links[network.pump].element.line.with_check_valves(0.0)
    stuck = network.changed({network.pump: {"line": line}})
    assert siphon_paths(stuck, True) == list(stuck.returns)


def test_two_returns_on_one_header_end_at_the_lower_stop():
    """Of two returns the lower stop decides, break or mouth, whichever is asked for."""
    state = found(loop(returns=(way("a", 1.44, hole_at=1.465), way("b", 1.40, hole_at=1.46)))).state
    assert (stop(state, True, False).tank_level, stop(state, True, False).ends_by) == (1.46, "siphon break of b")
    assert (stop(state, False, False).tank_level, stop(state, False, False).ends_by) == (1.40, "mouth of b")
    state = found(loop(returns=(way("a", 1.40, hole_at=1.465), way("b", 1.45)))).state
    assert (stop(state, True, False).tank_level, stop(state, True, False).ends_by) == (1.45, "mouth of b")


@pytest.mark.parametrize(("at", "level", "words"), [(1.46, 1.46, "siphon break of return"), (1.48, 1.47, "lip of drain")])
def test_a_hole_below_or_above_the_lip(at, level, words):
    """A working hole below the lip decides; above the lip it lets air in before the tank has fallen below that."""
    end = stop(found(loop(returns=(way(end=1.40, hole_at=at),))).state, True, False)
    assert (end.tank_level, end.ends_by) == (pytest.approx(level), words)


def test_a_mouth_above_the_lip_siphons_nothing():
    """A mouth above the lip leaves the tank at the lip, and its line still runs empty."""
    state = found(loop(returns=(way(end=1.60, points="up"),))).state
    end = stop(state, False, False)
    assert (end.tank_level, end.ends_by) == (pytest.approx(1.47), "lip of drain")
    assert end.items["returns"] == float(state.network.full) > 0.0


def test_a_mouth_at_the_lip_leaves_the_lip():
    """A mouth just as high as the lip takes nothing more: the lip is named."""
    assert stop(found(loop(returns=(way(end=1.47),))).state, False, False).ends_by == "lip of drain"


def test_the_lowest_lip_decides():
    """With several drains the tank falls to the lowest lip."""
    end = stop(found(loop(drains=(drain("high", 1.48), drain("low", 1.46)), returns=(way(end=1.50),))).state, False, False)
    assert (end.tank_level, end.ends_by) == (pytest.approx(1.46), "lip of low")


@pytest.mark.parametrize(("points", "bore", "below"), [("sideways", 0.0212, 0.0106), ("sideways", 0.032, 0.016),
                                                       ("down", 0.0212, 0.0), ("up", 0.0212, 0.0)])
def test_the_mouths_lowest_point(points, bore, below):
    """A mouth that looks sideways ends half its bore below its centre (10.6 mm for 21.2 mm), one that looks down or up at it."""
    end = stop(found(loop(returns=(way(end=1.44, bore=bore, points=points),))).state, False, False)
    assert end.tank_level == pytest.approx(1.44 - below, abs=1e-12)


def test_half_a_bore_on_a_wide_tank():
    """10.6 mm more on 1.607 m2 are 17.0 L more (derived: area times fall)."""
    low, high = (stop(found(loop(returns=(way(end=1.44, bore=0.0212, points=points),))).state, False, False)
                 for points in ("sideways", "down"))
    assert high.tank_level - low.tank_level == pytest.approx(0.0106, abs=1e-12)
    assert low.items["tank"] - high.items["tank"] == pytest.approx(0.0170, abs=2e-4)


@pytest.mark.parametrize(("hole", "stops"), [(None, 1.46), (0.008, 1.456), (0.012, 1.454)])
def test_the_holes_lowest_point(hole, stops):
    """A hole lets air in at its lowest point; where its bore is not given the height counts as that point."""
    for mark in (False, True):
        build = loop(returns=(way(end=1.40, hole_at=1.46, hole=hole, mark=mark and hole is not None),))
        end = stop(found(build).state, True, False)
        assert end.tank_level == pytest.approx(stops, abs=1e-12)
        assert end.ends_by.startswith("siphon break of")


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("mark", [False, True])
def test_a_hole_below_the_mouth_is_a_mouth(case, mark):
    """A hole below the mouth lets water in instead of air: the tank siphons down to it, whatever is counted on."""
    build = loop(returns=(way(end=1.46, hole_at=1.42, hole=0.01, mark=mark),))
    end = stop(found(build).state, *case)
    assert end.tank_level == pytest.approx(1.415, abs=1e-12)
    assert end.ends_by.startswith("siphon break of")


def test_a_hole_before_its_check_valve_leaks_back():
    """A check valve between hole and mouth holds the mouth but not the hole: the tank runs back through the hole."""
    state = found(loop(returns=(way(end=1.40, hole_at=1.45, hole=0.01, mark=True, valve_last=True),))).state
    assert len(open_holes(state.network, True)) == 1
    for breaks in (True, False):
        end = stop(state, breaks, True)
        assert (end.tank_level, end.ends_by) == (pytest.approx(1.445), "siphon break of return")
        assert end.items["returns"] == float(state.network.full)
    assert stop(state, False, False).tank_level == pytest.approx(1.40)


def test_a_hole_behind_its_check_valve_is_held():
    """A check valve before the hole bars both."""
    state = found(loop(returns=(way(end=1.40, hole_at=1.45, hole=0.01, mark=True, valve=True),))).state
    assert open_holes(state.network, True) == siphon_paths(state.network, True) == []
    assert stop(state, False, True).ends_by == "lip of drain"
    assert len(open_holes(state.network, False)) == 1


def test_a_tank_below_its_lip_does_not_rise():
    """A tank that stands below every stop stays where it is."""
    state = stated(found(loop()).state, tank=1.40)
    assert stop(state, False, False).tank_level == 1.40
    assert stop(state, False, False).items["tank"] == 0.0
    assert tank_stop(state.network, False, False)[0] == pytest.approx(1.455)


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
    findings = found(loop(chambers=chambers))
    assert crests_held(findings.network) == [pytest.approx(level) for level in held]
    for k in findings.network.drains:
        assert findings.network.waters[findings.network.links[k].down].name == "inflow"


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
    end = stop(found(loop(returns=(way(end=1.40),), sump_opening=opening)).state, False, False)
    brim = opening or 0.46
    assert end.sump_level > brim
    assert end.spare == pytest.approx(-0.51 * (end.sump_level - brim), abs=1e-8)


def test_a_sump_with_room_counts_the_litres_left():
    """Where it fits the spare room is what stands between the level at rest and the opening."""
    end = stop(found(loop(returns=(way(end=1.47),))).state, False, False)
    assert end.sump_level < 0.46
    assert end.spare == pytest.approx(0.51 * (0.46 - end.sump_level), abs=1e-8)


def test_the_sump_level_is_the_highest_chamber():
    """Where a plate stays above the water the level at rest is that of the chamber behind it."""
    end = stop(found(loop(chambers=(chamber("inflow", 0.2, plate(0.40)), chamber("pump")), line=0.1,
                          returns=(way(end=1.47),))).state, False, False)
    assert end.sump_level == end.chambers[0] == pytest.approx(0.40, abs=1e-9)
    assert end.chambers[1] < 0.40


INCH = 0.0254


def stopped_by_hand(below):
    """Return a cut with the figures of a 72 x 24 in display over a sump of 48 x 18 x 16 in, 3.3 L in the lines.

    While running a film of 12.6 mm stands over the lip and the pump chamber at 250 mm; the mouth lies so far below the lip.
    """
    bore = 0.04
    build = loop(tank=box("tank", 72 * INCH, 24 * INCH, 24 * INCH), sump=box("sump", 48 * INCH, 18 * INCH, 16 * INCH),
                 chambers=(chamber("inflow"),), tank_bottom=1.0, drains=(drain(lip=1.5, length=0.0, end=0.42),),
                 returns=(way(end=1.5 - below, bore=bore, length=3.3e-3 / (pi / 4.0 * bore * bore)),),
                 driven_by=pump(into="inflow", riser=False), line=0.25)
    return stop(stated(found(build).state, tank=1.5126, chambers=(0.25,)), False, False)


def test_a_small_case_that_fits_by_arithmetic():
    """14.0 L of film, 55.7 L by a mouth 50 mm under the lip and 3.3 L of lines are 73.0 L: up 131 mm, 25 mm below the rim.

    Derived on invented sizes (areas 1.1148 and 0.5574 m2); the rounding of the trade notes' case A is 1 mm.
    """
    end = stopped_by_hand(0.050)
    assert 1e3 * end.comes_down == pytest.approx(73.0, abs=0.1)
    assert end.sump_level - 0.25 == pytest.approx(0.131, abs=5e-4)
    assert 16 * INCH - end.sump_level == pytest.approx(0.025, abs=1e-3)


def test_a_small_case_that_floods_by_arithmetic():
    """The same with the mouth 300 mm under the lip: 351.8 L want to raise the sump by 632 mm. Derived, as above (case B)."""
    end = stopped_by_hand(0.300)
    assert 1e3 * end.comes_down == pytest.approx(351.8, abs=0.2)
    assert end.sump_level - 0.25 == pytest.approx(0.632, abs=1e-3)
    assert end.spare == pytest.approx(0.5574 * (16 * INCH - 0.25) - 0.3518, abs=3e-4)


STILL = {**VESSELS, "valve": {"driven_by": pump(valve=True)},
         "hole": {"returns": (way(end=1.40, hole_at=1.46, hole=0.01, mark=True),)},
         "one valve": {"returns": (way("a", 1.45, valve=True), way("b", 1.45))},
         "two valves": {"returns": (way("a", 1.45, valve=True), way("b", 1.45, valve=True))},
         "siphon": {"drains": (drain("siphon", 1.44, bore=0.0284, length=1.3, k=14.0), drain("rest", 1.47, bore=0.0452)),
                    "driven_by": pump(curve=((0.0, 4.0), (0.75e-3, 2.5), (0.975e-3, 0.0))), "returns": (way(end=1.44),)},
         "slot": {"chambers": (chamber("inflow", 0.62, slot(0.03)), chamber("pump"))},
         "mat": {"chambers": (chamber("inflow", 0.62, mat(0.30)), chamber("pump"))},
         "into the pump's chamber": {"drains": (drain(into="pump"),)},
         "mouth in the air": {"returns": (way(end=1.6, points="up"),)},
         "two lips": {"drains": (drain("a"), drain("b", 1.50))}}


@pytest.mark.parametrize("level", [0.22, 0.37])
@pytest.mark.parametrize("name", STILL)
def test_water_at_rest_comes_back_to_rest(name, level):
    """The level at rest that says how much water there is comes back when the pump stops again, breaks and valves working."""
    loop_ = place(loop(still=level, **STILL[name]))
    network = loop_.network()
    answer = running(loop_, network)
    assert answer.state is not None
    end = stop(answer.state, True, True)
    assert end.chambers[network.chambers.index(network.pump_chamber)] == pytest.approx(level, abs=3e-4)


def test_still_water_by_hand():
    """At rest the tank stands at the hole, the sump at plate and level, and lines are full only behind a valve that holds."""
    for valve, full in ((False, 0.0), (True, pi / 4.0 * 0.0284 ** 2 * (1.70 + 0.65))):
        build = loop(driven_by=pump(valve=valve), returns=(way(end=1.40, hole_at=1.46),))
        rest = 1.47 if valve else 1.46
        by_hand = AREA * (rest - 0.92) + 0.31 * 0.29 + 0.20 * 0.2 + full
        assert still_volume(place(build).network(), 0.2) == pytest.approx(by_hand, rel=1e-9)
        assert still_volume(place(build).network(), 0.35) == pytest.approx(AREA * (rest - 0.92) + 0.51 * 0.35 + full, rel=1e-9)


def test_the_worst_way_to_run_is_stopped_from():
    """Of several ways to run the one that leaves the least room in the sump is stopped from, in each of the four cases."""
    findings = found(loop(drains=(drain(lip=1.47, bore=0.0362, length=1.3, k=2.6),)))
    assert len(findings.answer.states) == 2
    for case in CASES:
        assert findings.stopped[case].spare == min(stop(state, *case).spare for state in findings.answer.states)
    levels = {stop(state, True, True).sump_level for state in findings.answer.states}
    assert len(levels) == 2


def test_the_drains_water_comes_down():
    """What the drains hold while running comes down: all of a full siphon, the filling of one that runs with air."""
    state = found(loop(drains=(drain(bore=0.05, length=2.0),))).state
    k = state.network.drains[0]
    assert stop(state, True, True).items["drains"] == pytest.approx(float(state.network.links[k].element.held(state.flows[k])[0]))
    full = replace(state, network=state.network.in_modes({k: "as a siphon"}))
    assert stop(full, True, True).items["drains"] == pytest.approx(pi / 4.0 * 0.05 ** 2 * 2.0, rel=1e-9)


def test_a_bucket_sump_without_width_is_asked_for_it():
    """A plate in a sump known by bucket fills alone needs its width: the answer is a complaint, not a crash."""
    shares = (chamber("inflow", share=0.6, end=plate(0.29)), chamber("pump"))
    with pytest.raises(InputError, match="width"):
        place(loop(sump=BUCKET, chambers=shares))


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


def test_a_level_from_the_tank_bottom():
    """Heights hang on their places: a lip from the tank's rim moves with a tank that stands higher."""
    low = found(loop(drains=(drain(lip=above("tank rim", -0.1)),), returns=(way(end=above("tank rim", -0.115)),)))
    high = found(loop(drains=(drain(lip=above("tank rim", -0.1)),), returns=(way(end=above("tank rim", -0.115)),),
                      tank_bottom=band(0.9, 0.95, 1.0)))
    assert high.stopped[False, False].tank_level - low.stopped[False, False].tank_level == pytest.approx(0.03, abs=1e-12)


def test_the_amount_of_water_only_moves_the_sump():
    """More water in the system raises the sump at rest by its volume over the open area, nothing else."""
    network = found(loop()).network
    total = float(found(loop(line=0.25)).state.total)
    first, second = (run(network, Closing(network.pump_chamber, total=total + more)).state for more in (0.0, 0.004))
    ends = [stop(state, False, False) for state in (first, second)]
    assert ends[1].sump_level - ends[0].sump_level == pytest.approx(0.004 / 0.51, abs=1e-7)


def test_a_pump_that_lifts_nothing_stops_from_a_full_tank():
    """Too weak a pump holds no level in the tank: from its lip, where it was filled to, all down to the mouth may come down."""
    weak = pump(curve=((0.0, 0.9), (0.5e-3, 0.6), (1e-3, 0.0)))
    findings = found(loop(driven_by=weak, returns=[way(end=1.30)]))
    assert findings.answer.kind in ("runs backwards", "cannot lift that high")
    case = findings.stopped[False, False]
    mouth = float(findings.element(findings.network.returns[0]).end.lowest)
    assert mouth < 1.470
    assert case.items["tank"] == pytest.approx(2.06 * 0.78 * (1.470 - mouth), abs=1e-6)
    given = found(loop(driven_by=weak, returns=[way(end=1.30)], total=0.9))
    assert given.stopped[False, False].items["tank"] == pytest.approx(
        max(0.0, 2.06 * 0.78 * (float(given.state.tank_level) - mouth)), abs=1e-6)
