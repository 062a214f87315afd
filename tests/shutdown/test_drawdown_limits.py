"""The power cut: where the tank ends, by lips, mouths, siphon breaks and check valves."""

from __future__ import annotations

from itertools import product

import pytest
from builds import drain, found, loop, pump, stated, way

from hydro.shutdown import holds_back, open_holes, shut_down, siphon_paths, tank_stop

CASES = tuple(product((True, False), repeat=2))


@pytest.mark.parametrize(("breaks", "holds", "level", "words"), [
    (True, True, 1.47, "lip of drain"), (False, True, 1.47, "lip of drain"), (True, False, 1.455, "siphon break of return"),
    (False, False, 1.40, "mouth of return"),
])
def test_four_answers(breaks, holds, level, words):
    """A valve that holds leaves the lip; one that is stuck the hole's lowest point, and with a plugged hole the mouth."""
    state = found(loop(driven_by=pump(valve=True), returns=(way(end=1.40, hole_at=1.46, hole=0.010),))).state
    end = shut_down(state, breaks, holds)
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
    end = shut_down(state, True, True)
    assert (end.tank_level, end.ends_by) == (pytest.approx(1.45), "mouth of open")
    assert end.items["returns"] == float(network.full)
    assert shut_down(state, True, False).tank_level == pytest.approx(1.40)


def test_valves_in_all_branches_bar_all():
    """With a check valve in each branch nothing runs back while both hold."""
    state = found(loop(returns=(way("a", 1.40, valve=True), way("b", 1.45, valve=True)))).state
    assert siphon_paths(state.network, True) == []
    assert shut_down(state, False, True).ends_by == "lip of drain"


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
    assert (shut_down(state, True, False).tank_level, shut_down(state, True, False).ends_by) == (1.46, "siphon break of b")
    assert (shut_down(state, False, False).tank_level, shut_down(state, False, False).ends_by) == (1.40, "mouth of b")
    state = found(loop(returns=(way("a", 1.40, hole_at=1.465), way("b", 1.45)))).state
    assert (shut_down(state, True, False).tank_level, shut_down(state, True, False).ends_by) == (1.45, "mouth of b")


@pytest.mark.parametrize(("at", "level", "words"), [(1.46, 1.46, "siphon break of return"), (1.48, 1.47, "lip of drain")])
def test_a_hole_below_or_above_the_lip(at, level, words):
    """A working hole below the lip decides; above the lip it lets air in before the tank has fallen below that."""
    end = shut_down(found(loop(returns=(way(end=1.40, hole_at=at),))).state, True, False)
    assert (end.tank_level, end.ends_by) == (pytest.approx(level), words)


def test_a_mouth_above_the_lip_siphons_nothing():
    """A mouth above the lip leaves the tank at the lip, and its line still runs empty."""
    state = found(loop(returns=(way(end=1.60, points="up"),))).state
    end = shut_down(state, False, False)
    assert (end.tank_level, end.ends_by) == (pytest.approx(1.47), "lip of drain")
    assert end.items["returns"] == float(state.network.full) > 0.0


def test_a_mouth_at_the_lip_leaves_the_lip():
    """A mouth just as high as the lip takes nothing more: the lip is named."""
    assert shut_down(found(loop(returns=(way(end=1.47),))).state, False, False).ends_by == "lip of drain"


def test_the_lowest_lip_decides():
    """With several drains the tank falls to the lowest lip."""
    end = shut_down(found(loop(drains=(drain("high", 1.48), drain("low", 1.46)), returns=(way(end=1.50),))).state, False, False)
    assert (end.tank_level, end.ends_by) == (pytest.approx(1.46), "lip of low")


@pytest.mark.parametrize(("points", "bore", "below"), [("sideways", 0.0212, 0.0106), ("sideways", 0.032, 0.016),
                                                       ("down", 0.0212, 0.0), ("up", 0.0212, 0.0)])
def test_the_mouths_lowest_point(points, bore, below):
    """A mouth that looks sideways ends half its bore below its centre (10.6 mm for 21.2 mm), one that looks down or up at it."""
    end = shut_down(found(loop(returns=(way(end=1.44, bore=bore, points=points),))).state, False, False)
    assert end.tank_level == pytest.approx(1.44 - below, abs=1e-12)


def test_half_a_bore_on_a_wide_tank():
    """10.6 mm more on 1.607 m2 are 17.0 L more (derived: area times fall)."""
    low, high = (shut_down(found(loop(returns=(way(end=1.44, bore=0.0212, points=points),))).state, False, False)
                 for points in ("sideways", "down"))
    assert high.tank_level - low.tank_level == pytest.approx(0.0106, abs=1e-12)
    assert low.items["tank"] - high.items["tank"] == pytest.approx(0.0170, abs=2e-4)


@pytest.mark.parametrize(("hole", "stops"), [(None, 1.46), (0.008, 1.456), (0.012, 1.454)])
def test_the_holes_lowest_point(hole, stops):
    """A hole lets air in at its lowest point; where its bore is not given the height counts as that point."""
    for mark in (False, True):
        build = loop(returns=(way(end=1.40, hole_at=1.46, hole=hole, mark=mark and hole is not None),))
        end = shut_down(found(build).state, True, False)
        assert end.tank_level == pytest.approx(stops, abs=1e-12)
        assert end.ends_by.startswith("siphon break of")


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("mark", [False, True])
def test_a_hole_below_the_mouth_is_a_mouth(case, mark):
    """A hole below the mouth lets water in instead of air: the tank siphons down to it, whatever is counted on."""
    build = loop(returns=(way(end=1.46, hole_at=1.42, hole=0.01, mark=mark),))
    end = shut_down(found(build).state, *case)
    assert end.tank_level == pytest.approx(1.415, abs=1e-12)
    assert end.ends_by.startswith("siphon break of")


def test_a_hole_before_its_check_valve_leaks_back():
    """A check valve between hole and mouth holds the mouth but not the hole: the tank runs back through the hole."""
    state = found(loop(returns=(way(end=1.40, hole_at=1.45, hole=0.01, mark=True, valve_last=True),))).state
    assert len(open_holes(state.network, True)) == 1
    for breaks in (True, False):
        end = shut_down(state, breaks, True)
        assert (end.tank_level, end.ends_by) == (pytest.approx(1.445), "siphon break of return")
        assert end.items["returns"] == float(state.network.full)
    assert shut_down(state, False, False).tank_level == pytest.approx(1.40)


def test_a_hole_behind_its_check_valve_is_held():
    """A check valve before the hole bars both."""
    state = found(loop(returns=(way(end=1.40, hole_at=1.45, hole=0.01, mark=True, valve=True),))).state
    assert open_holes(state.network, True) == siphon_paths(state.network, True) == []
    assert shut_down(state, False, True).ends_by == "lip of drain"
    assert len(open_holes(state.network, False)) == 1


def test_a_tank_below_its_lip_does_not_rise():
    """A tank that stands below every stop stays where it is."""
    state = stated(found(loop()).state, tank=1.40)
    assert shut_down(state, False, False).tank_level == 1.40
    assert shut_down(state, False, False).items["tank"] == 0.0
    assert tank_stop(state.network, False, False)[0] == pytest.approx(1.455)
