"""The power cut with several tanks, boxes, sumps and pumps: each case derived in its test."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from types import SimpleNamespace

import pytest
from builds import found, height, item, pipe
from many_builds import (
    cascade,
    driven,
    fish_room,
    from_tank,
    into_tank,
    ring,
    run,
    several,
    standing,
    sump,
    tank,
    two_on_header,
    two_sumps,
    with_box,
)

from hydro.elements.down_turned import DownTurned
from hydro.elements.side_outlet import SideOutlet
from hydro.network.assembly import make_network
from hydro.shutdown import drain_stop, lowest_opening, open_holes, runs_back, shut_down, still_volume, tank_stop
from hydro.shutdown.settling import Settling

SUMP = {"inflow": 0.30, "pump": 0.20}
TWO = {"upper": 1.71, "lower": 1.21, **SUMP}
SIDES = {"left": 1.51, "right": 1.52, "left inflow": 0.30, "right inflow": 0.30, "left pump": 0.20, "right pump": 0.25}
BRANCH = pi / 4.0 * 0.0284 ** 2 * 0.65
"""Contents of one return of `builds.way`, m3."""
RISER = pi / 4.0 * 0.0284 ** 2 * 1.70
"""Contents of the riser of `builds.pump`, m3."""
FILM = 2e-6
"""What drains at rest are counted to hold, and more, m3."""


def level(stopped, state, name):
    """Return the final level of a tank or box by name."""
    return stopped.levels[state.network.water(name)]


def ended(stopped, state, name):
    """Return what ended the fall of a tank or box by name."""
    return stopped.ended[state.network.water(name)]


def gained(stopped, state):
    """Return the water that the sumps' chambers gained, m3."""
    waters = state.network.waters
    return sum(float(waters[k].body.stored(after)[0]) - float(waters[k].body.stored(state.levels[k])[0])
               for k, after in zip(state.network.chambers, stopped.chambers, strict=True))


def test_the_upper_tank_siphons_into_the_lower_one_though_the_valve_holds():
    """From 1.71 m the upper tank falls to its mouth at 1.60 (1.6 m2: 176 L), the lower to its lip (0.5 m2: 5 L): into the sump.

    The upper mouth then stands at the water's face and lets air in: the two branches run out as well; the riser is held.
    """
    state = standing(two_on_header(), TWO)
    end = shut_down(state, True, True)
    assert (level(end, state, "upper"), ended(end, state, "upper")) == (1.60, "mouth of to upper")
    assert (level(end, state, "lower"), ended(end, state, "lower")) == (1.20, "lip of lower drain")
    assert end.items == {"upper": pytest.approx(1.6 * 0.11), "lower": pytest.approx(0.5 * 0.01),
                         "drains": pytest.approx(0.0, abs=FILM), "returns": pytest.approx(2.0 * BRANCH)}
    assert gained(end, state) == pytest.approx(0.181 + 2.0 * BRANCH, abs=FILM)
    assert (end.floor, end.contested) == (0.0, False)


def test_a_working_siphon_break_ends_the_upper_tank_at_its_hole():
    """With a hole at 1.68 m in the upper return that works the tank falls to 1.68, with the hole plugged to its mouth at 1.60."""
    state = standing(two_on_header(hole_at=1.68), TWO)
    for breaks, rest, words in ((True, 1.68, "siphon break of to upper"), (False, 1.60, "mouth of to upper")):
        end = shut_down(state, breaks, True)
        assert (level(end, state, "upper"), ended(end, state, "upper")) == (rest, words)
        assert end.items["upper"] == pytest.approx(1.6 * (1.71 - rest))


def test_a_check_valve_in_the_upper_branch_keeps_its_tank():
    """A valve of its own in the upper tank's branch leaves that tank at its lip, and its water above the valve where it is."""
    state = standing(two_on_header(valve_last=True), TWO)
    end = shut_down(state, True, True)
    assert (level(end, state, "upper"), ended(end, state, "upper")) == (1.70, "lip of upper drain")
    assert end.items["returns"] == 0.0


def test_a_pump_without_a_valve_takes_both_tanks_to_their_mouths():
    """Without a check valve both tanks run back to their mouths, 1.60 and 1.15 m, and all lines run out."""
    state = standing(two_on_header(valve=False), TWO)
    end = shut_down(state, True, True)
    assert (level(end, state, "upper"), level(end, state, "lower")) == (1.60, 1.15)
    assert end.items["returns"] == float(state.network.full) == pytest.approx(2.0 * BRANCH + RISER)


def test_a_lower_tank_without_a_drain_runs_over_its_rim():
    """With the lower drain out, 176 L reach a tank with room for 95 L: the rest, and the branches, go on the floor."""
    state = standing(two_on_header(lower_drain=False), TWO)
    end = shut_down(state, True, True)
    assert level(end, state, "lower") == pytest.approx(1.40)
    assert end.floor == pytest.approx(1.6 * 0.11 - 0.5 * 0.19 + 2.0 * BRANCH, abs=1e-9)
    assert end.contested


def test_water_that_may_go_two_ways_is_judged_at_each_of_them():
    """The 16 L over the upper lip count in the sump, and on the floor too: no one knows which way they take."""
    state = standing(two_on_header(lower_drain=False), TWO)
    end = shut_down(state, True, True)
    assert gained(end, state) == pytest.approx(1.6 * 0.01, abs=FILM)


def test_the_floor_is_judged_by_the_tank_without_a_drain():
    """Of two lower tanks the one without a drain, behind a valve, may get all 176 L: what exceeds its 25 L goes on the floor.

    For the sump all of it counts as coming through the other one.
    """
    build = two_on_header()
    build = replace(build, tanks=(*build.tanks, tank("dead", (1.0, 0.5, 0.6), 0.9)),
                    returns=(*build.returns, into_tank("to dead", "dead", 1.30, "pump", valve_last=True)))
    state = standing(build, {**TWO, "dead": 1.45})
    end = shut_down(state, True, True)
    assert end.floor == pytest.approx(1.6 * 0.11 - 0.5 * 0.05 + 3.0 * BRANCH, abs=FILM)
    assert gained(end, state) == pytest.approx(1.6 * 0.11 + 0.5 * 0.01 + 3.0 * BRANCH, abs=FILM)


@pytest.mark.parametrize("blocked", [True, False])
def test_a_blocked_drain_takes_nothing(blocked):
    """A blocked drain is as good as none: what comes into its tank goes over the rim."""
    network = make_network(two_on_header())
    network = network.changed({network.place("lower drain"): {"blocked": float(blocked)}})
    assert (shut_down(standing(network, TWO), True, True).floor > 0.05) is blocked


def test_tanks_on_one_header_end_level_where_neither_draws_air():
    """Mouths deep down in two tanks without air leave both at one level: (1.6 x 1.70 + 0.5 x 1.21)/2.1 m.

    16 L over the upper lip go into the sump first, the safe side; full pipes stay full.
    """
    state = standing(two_on_header(lower_drain=False, lower_rim=2.0, upper_mouth=1.30), TWO)
    end = shut_down(state, True, True)
    both = (1.6 * 1.70 + 0.5 * 1.21) / 2.1
    assert level(end, state, "upper") == level(end, state, "lower") == pytest.approx(both, abs=1e-12)
    assert ended(end, state, "upper") == "level with lower"
    assert end.items["returns"] == 0.0


def test_tanks_on_a_ring_main_end_at_the_lowest_lip():
    """With the valve holding, every tank on a ring siphons into the one with the lowest lip: all end there."""
    state = standing(ring(4), {**{f"tank {n}": 1.51 for n in range(1, 5)}, **SUMP})
    end = shut_down(state, True, True)
    assert set(end.levels.values()) == {1.494}
    assert end.comes_down == pytest.approx(4.0 * 0.016, abs=FILM)
    assert ended(end, state, "tank 4") == "lip of drain 3"


@pytest.mark.parametrize("count", [1, 2, 5])
def test_a_cascade_falls_tank_by_tank(count):
    """Each tank of a cascade falls to its own lip, 10 mm on 0.5 m2, or to its mouth; all of it reaches the sump."""
    build = cascade(count)
    lips = {f"tank {n + 1}": 0.6 + 0.3 * (count - n) + 0.5 for n in range(count)}
    state = standing(build, {**{name: lip + 0.01 for name, lip in lips.items()}, **SUMP})
    end = shut_down(state, True, True)
    assert {name: level(end, state, name) for name in lips} == {
        name: pytest.approx(lip - (0.05 if name == "tank 1" else 0.0)) for name, lip in lips.items()}
    assert gained(end, state) == pytest.approx(0.5 * 0.01 * count + 0.5 * 0.05 + BRANCH + RISER, abs=FILM)


def test_a_tank_in_a_cascade_that_stands_low_fills_first():
    """A middle tank 30 mm below its lip keeps 15 of the 25 L that come from above before it passes anything on."""
    state = standing(cascade(3, valve=True), {"tank 1": 2.05, "tank 2": 1.67, "tank 3": 1.41, **SUMP})
    end = shut_down(state, True, True)
    assert level(end, state, "tank 2") == pytest.approx(1.70)
    assert end.items["tank 2"] == pytest.approx(-0.5 * 0.03)
    assert gained(end, state) == pytest.approx(0.5 * (0.05 - 0.03 + 0.01), abs=FILM)


def test_water_that_may_run_back_through_the_pump_is_not_kept_by_a_lower_tank():
    """Without a valve the same 25 L, and 25 more down to the mouth, may run back through the pump: none counts as kept."""
    state = standing(cascade(3), {"tank 1": 2.05, "tank 2": 1.67, "tank 3": 1.41, **SUMP})
    end = shut_down(state, True, True)
    assert level(end, state, "tank 2") == pytest.approx(1.67, abs=1e-5)
    assert gained(end, state) == pytest.approx(0.5 * (0.10 + 0.01) + BRANCH + RISER, abs=FILM)


def test_a_box_falls_to_its_lowest_pipe():
    """A box of 0.06 m2 at 1.41 m falls to the lowest of three pipes, 1.38 m: 1.8 L; the tank to its edge, 10 mm on 1 m2."""
    state = standing(with_box(valve=True), {"tank": 1.48, "box": 1.41, **SUMP})
    end = shut_down(state, True, True)
    assert (level(end, state, "box"), ended(end, state, "box")) == (1.38, "lip of pipe 1")
    assert (end.tank_level, end.ends_by) == (1.47, "lip of edge: edge")
    assert end.items["box"] == pytest.approx(0.0018)
    assert gained(end, state) == pytest.approx(0.0118, abs=FILM)


def test_a_tank_with_a_box_falls_to_the_lower_of_edge_and_mouth():
    """Without a valve the tank falls on to its mouth 15 mm under the edge."""
    state = standing(with_box(), {"tank": 1.48, "box": 1.41, **SUMP})
    assert shut_down(state, True, True).tank_level == 1.455


def test_a_drowned_edge_leaves_box_and_tank_level():
    """A box whose lowest pipe stands over the edge holds the tank at that pipe."""
    state = standing(with_box((1.50, 1.52), valve=True), {"tank": 1.51, "box": 1.505, **SUMP})
    end = shut_down(state, True, True)
    assert end.tank_level == level(end, state, "box") == 1.50
    assert end.ends_by == "level with box"


def equalised(start_at, finish_at, lip=1.50):
    """Return two tanks of 1 m2 and 0.5 m2 with a pipe between, of which the larger one has the only drain."""
    return several([tank("large", (1.0, 1.0, 0.6), 1.0), tank("small", (1.0, 0.5, 0.6), 1.0)], [from_tank("drain", "large", lip)],
                   [into_tank("return", "small", 1.55)], [driven(valve=True)],
                   runs=[run("pipe", "small", "large", start_at=start_at, finish_at=finish_at)])


@pytest.mark.parametrize(("start", "finish", "small"), [(1.20, 1.20, 1.50), (1.20, 1.53, 1.51), (1.55, 1.20, 1.53)])
def test_a_pipe_between_two_tanks_levels_them_down_to_its_mouths(start, finish, small):
    """The tank without a drain falls to the other's lip, 1.50 m, but not below the bottom of the pipe's higher end, 20 mm under
    its middle."""
    state = standing(equalised(start, finish), {"small": 1.54, "large": 1.53, **SUMP})
    end = shut_down(state, True, True)
    assert level(end, state, "large") == 1.50
    assert level(end, state, "small") == pytest.approx(small)


def test_a_siphon_tube_with_air_passes_nothing():
    """A tube over a rim that has lost its prime leaves the tank behind it as it is."""
    network = make_network(equalised(1.20, 1.20))
    network = network.changed({network.place("pipe"): {"primed": 0.0}})
    state = standing(network, {"small": 1.54, "large": 1.53, **SUMP})
    assert level(shut_down(state, True, True), state, "small") == 1.54


def collected(valve=False):
    """Return two tanks whose drains share a header that a pipe takes down into the sump."""
    both = ("a", "b")
    return several([tank(name, (1.0, 1.0, 0.6), 1.0) for name in both],
                   [from_tank(f"drain {name}", name, 1.50, "collector", 0.6) for name in both],
                   [into_tank(f"to {name}", name, 1.52) for name in both], [driven(valve=True)],
                   runs=[replace(run("trunk", "collector", "inflow", 0.05, 2.0), finish_at=height(0.24, "trunk: end"))])


def test_a_shared_drain_pipe_brings_its_contents_down():
    """Drains into one collecting pipe take their tanks to their lips, and the pipe's contents come down behind them."""
    state = standing(collected(), {"a": 1.51, "b": 1.52, **SUMP})
    end = shut_down(state, True, True)
    assert set(end.levels.values()) == {1.50}
    assert end.items["returns"] == pytest.approx(pi / 4.0 * 0.05 ** 2 * 2.0)
    assert gained(end, state) == pytest.approx(0.03 + pi / 4.0 * 0.05 ** 2 * 2.0, abs=FILM)


def test_a_branch_held_by_its_valve_keeps_what_stands_above_it():
    """With a valve in one of two branches 0.40 m of pipe above it stay full; the stub below it and all else come down."""
    line = (*pipe("held", 0.0284, 0.25), item("check valve", "held", K=2.0, crack=0.0), *pipe("held (2)", 0.0284, 0.40))
    build = two_on_header(valve=False)
    build = replace(build, returns=(replace(build.returns[0], line=line), build.returns[1]))
    state = standing(build, TWO)
    end = shut_down(state, True, True)
    kept = pi / 4.0 * 0.0284 ** 2 * 0.40
    assert end.items["returns"] == pytest.approx(float(state.network.full) - kept)
    assert level(end, state, "upper") == 1.70
    assert shut_down(state, True, False).items["returns"] == float(state.network.full)


@pytest.mark.parametrize(("start", "finish", "upper"), [("high", "low", 1.60), ("low", "high", 1.70)])
def test_a_valve_between_two_headers_lets_water_go_with_the_flow(start, finish, upper):
    """Through a pipe with a check valve between two headers the upper tank siphons into the lower one only with the flow."""
    build = two_on_header()
    check = item("check valve", "link", K=2.0, crack=0.0)
    build = replace(build, returns=(replace(build.returns[0], source="high"), replace(build.returns[1], source="low")),
                    pumps=(driven("one", header="high", valve=True), driven("two", header="low", valve=True)),
                    runs=(replace(run("link", start, finish), line=(*pipe("link", 0.04, 0.5), check)),))
    state = standing(build, TWO)
    end = shut_down(state, True, True)
    assert level(end, state, "upper") == upper
    assert level(shut_down(state, True, False), state, "upper") == 1.60


def test_a_riser_over_its_valve_stays_full():
    """Of two pumps on a header the open one lets the header run empty; over the other's valve its riser stays full."""
    line = (item("pipe", "foot", size=0.0284, length=0.01), item("check valve", "held", K=2.0, crack=0.0),
            *pipe("held", 0.0284, 1.70))
    build = replace(two_on_header(), pumps=(replace(driven("held", header="main"), line=line), driven("open", header="main")))
    build = replace(build, returns=tuple(replace(one, source="main") for one in build.returns))
    state = standing(build, TWO)
    assert shut_down(state, True, True).items["returns"] == pytest.approx(2.0 * BRANCH + RISER)
    assert shut_down(state, True, False).items["returns"] == float(state.network.full)


def test_each_sump_takes_what_its_own_tank_gives():
    """Two loops side by side do not touch each other: each sump gains its tank's 60 and 70 L, its return and its riser."""
    state = standing(two_sumps(), SIDES)
    end = shut_down(state, True, True)
    for side, fallen, before in (("left", 0.06, 0.62 * 0.5 * 0.30 + 0.2 * 0.20), ("right", 0.07, 0.62 * 0.5 * 0.30 + 0.2 * 0.25)):
        places = state.network.sump_of(state.network.water(f"{side} pump"))
        after = before + fallen + BRANCH + RISER
        assert end.sump_level_of(places) == pytest.approx(after / 0.51, abs=FILM / 0.51)
        assert end.spare_of(places) == pytest.approx(0.51 * 0.46 - after, abs=FILM)
    assert end.spare == min(end.spares)
    assert not end.contested


def test_joined_sumps_share():
    """A pipe between two sumps leaves them at one level, with one room for both."""
    state = standing(two_sumps(joined=True), SIDES)
    end = shut_down(state, True, True)
    before = 2.0 * 0.31 * 0.30 + 0.2 * 0.45
    after = before + 0.13 + 2.0 * (BRANCH + RISER)
    assert end.chambers == (pytest.approx(after / 1.02, abs=FILM),) * 4
    assert end.spares == (pytest.approx(1.02 * 0.46 - after, abs=FILM),) * 2


def test_joined_sumps_spill_at_the_lower_opening():
    """Joined sumps have room up to the lower of their openings only, and both together."""
    build = two_sumps(joined=True)
    build = replace(build, sumps=(build.sumps[0], sump("right sump", "right ", opening=0.39)))
    end = shut_down(standing(build, SIDES), True, True)
    assert end.spares == (pytest.approx(-1.02 * (end.sump_level - 0.39)),) * 2
    assert end.sump_level > 0.39


def test_sumps_on_one_header_are_each_judged_with_all_the_water():
    """Where two pumps without valves share a header nobody knows which sump the water takes: each is judged with all of it.

    Each sump gains its own 10 or 20 L over the lip, then both tanks' 50 mm down to their mouths and all the lines, and what the
    other sump may lose to it besides.
    """
    state = standing(two_sumps(header=True), SIDES)
    end = shut_down(state, True, True)
    assert end.contested
    least = 2.0 * 0.05 + float(state.network.full)
    for side, over, before in (("left", 0.01, 0.093 + 0.04), ("right", 0.02, 0.093 + 0.05)):
        places = state.network.sump_of(state.network.water(f"{side} pump"))
        assert end.spare_of(places) <= 0.51 * 0.46 - (before + over + least) + 1e-12


def test_valves_that_hold_leave_the_tanks_joined():
    """With both check valves holding the tanks still join: either sump may get the 10 and 20 L over both lips, none gets more."""
    state = standing(two_sumps(header=True, valve=True), SIDES)
    end = shut_down(state, True, True)
    assert set(end.levels.values()) == {1.50}
    room = 0.51 * 0.46
    assert end.spares == (pytest.approx(room - 0.133 - 0.03, abs=FILM), pytest.approx(room - 0.143 - 0.03, abs=FILM))


def test_one_valve_stuck_sends_both_tanks_into_its_sump():
    """Of two pumps on one header only the one without a valve takes water back: both tanks fall to their mouths into its sump.

    The other sump may get what stands over both lips, the lines go to the first.
    """
    build = two_sumps(header=True, valve=True)
    build = replace(build, pumps=(build.pumps[0], driven("right lift", "right pump", header="ring")))
    state = standing(build, SIDES)
    end = shut_down(state, True, True)
    assert set(end.levels.values()) == {1.45}
    left, right = (end.spare_of(one) for one in state.network.sumps)
    assert left == pytest.approx(0.51 * 0.46 - 0.133 - 0.03, abs=FILM)
    assert right == pytest.approx(0.51 * 0.46 - 0.143 - 0.03 - 2.0 * 0.05 - 2.0 * BRANCH - RISER, abs=0.011)


def test_a_filter_over_the_sump_is_a_tank():
    """A filter that the pump feeds and that spills into the sump falls to its lip like any tank."""
    build = several([tank("tank", (1.0, 1.0, 0.6), 1.0), tank("filter", (0.3, 0.3, 0.4), 0.5)],
                    [from_tank("drain", "tank", 1.50), from_tank("spill", "filter", 0.80)],
                    [into_tank("return", "tank", 1.52, "pump"), into_tank("feed", "filter", 0.85, "pump")], [driven(valve=True)])
    state = standing(build, {"tank": 1.51, "filter": 0.82, **SUMP})
    end = shut_down(state, True, True)
    assert level(end, state, "filter") == 0.80
    assert end.items["filter"] == pytest.approx(0.09 * 0.02)


def test_only_answers_need_an_only_tank():
    """What is asked of 'the tank' where there are two is an error, not a guess."""
    state = standing(two_on_header(), TWO)
    end = shut_down(state, True, True)
    for asked in ("tank_level", "ends_by"):
        with pytest.raises(ValueError):
            getattr(end, asked)
    assert tank_stop(state.network, True, True, state.network.water("lower")) == (1.20, "lip of lower drain")


def test_each_sump_has_its_own_lowest_opening():
    """Asked of a sump the opening is that sump's, asked of none the lowest of all."""
    build = two_sumps()
    network = make_network(replace(build, sumps=(build.sumps[0], sump("right sump", "right ", opening=0.39))))
    assert [lowest_opening(network, one) for one in network.sumps] == [0.46, 0.39]
    assert lowest_opening(network) == 0.39


def test_where_a_drain_stops():
    """A drain is asked how far it draws its tank down; one that cannot say leaves it at its crest."""
    assert drain_stop(SimpleNamespace(inlet=SimpleNamespace(crest=1.4)), True) == 1.4
    asked = SimpleNamespace(inlet=SimpleNamespace(crest=1.4), stops_at=lambda vented: 1.4 if vented else 1.3)
    assert (drain_stop(asked, True), drain_stop(asked, False)) == (1.4, 1.3)


def test_a_down_turned_inlet_draws_its_tank_to_its_mouth():
    """An elbow turned down without a vent takes 1 m2 of tank 80 mm below its invert, with one too wide to plug to the invert."""
    network = make_network(with_box(edge=1.60, valve=True))
    network = make_network(several([tank("tank", (1.0, 1.0, 0.65), 0.92)], [from_tank("drain", "tank", 1.50)],
                                   [into_tank("return", "tank", 1.55)], [driven(valve=True)]))
    hole = SideOutlet.of(crest=1.50, bore=0.040, coefficient=0.60, orifice=0.606)
    for vent, rest, words in ((0.0, 1.42, "mouth of drain"), (0.03, 1.50, "lip of drain")):
        inlet = DownTurned.below(hole, mouth=1.42, opening=0.040, loss=1.2, vent=vent)
        state = standing(network.changed({network.drains[0]: {"inlet": inlet}}), {"tank": 1.51, **SUMP})
        end = shut_down(state, False, True)
        assert (end.tank_level, end.ends_by) == (pytest.approx(rest), words)


def test_water_runs_back_over_a_ring():
    """On a ring main every header lets water back to a pump without a valve, whichever way its pipes were drawn."""
    network = make_network(ring(4, valve=False))
    headers = [network.water(f"tee {n}") for n in range(4)]
    assert all(runs_back(network, node, True) for node in headers)
    held = make_network(ring(4))
    assert not any(runs_back(held, node, True) for node in headers)
    assert open_holes(network, True) == []


def test_a_chamber_that_no_water_reaches_stays_dry():
    """A drain straight into the pump's chamber leaves the chamber behind the wall as it was, until the wall goes under."""
    build = several([tank("tank", (1.0, 1.0, 0.6), 1.0)], [from_tank("drain", "tank", 1.50, "pump")],
                    [into_tank("return", "tank", 1.55)], [driven(valve=True)])
    for over, inflow in ((0.005, 0.10), (0.060, None)):
        state = standing(build, {"tank": 1.50 + over, "inflow": 0.10, "pump": 0.20})
        end = shut_down(state, True, True)
        assert gained(end, state) == pytest.approx(over, abs=FILM)
        spilled = 0.2 * 0.20 + over - 0.2 * 0.29
        assert end.chambers[0] == pytest.approx(inflow if inflow is not None else 0.10 + spilled / 0.31, abs=FILM / 0.31)


def test_a_pump_that_feeds_nothing_leaves_its_tank_at_the_lip():
    """Of two tanks only the one that gets no water counts as filled to its lip, where no more than a line is known."""
    levels = {"left": 1.30, "right": 1.30, **{name: at for name, at in SIDES.items() if " " in name}}
    state = standing(two_sumps(), levels, {"right lift": 1e-3}, total=False)
    end = shut_down(state, True, True)
    assert end.items["left"] == pytest.approx(0.05)
    assert end.items["right"] == 0.0
    assert shut_down(standing(two_sumps(), levels), True, True).items["left"] == 0.0


@pytest.mark.parametrize("kind", ["joined", "apart"])
def test_still_water_of_two_sumps(kind):
    """At rest both tanks stand at their mouths, lines are empty, and a second sump stands level where a pipe joins it.

    Apart, it is taken to stand as high over its own bottom.
    """
    build = two_sumps(joined=kind == "joined")
    lower = sump("right sump", "right ", bottom=-0.05, wall=None)
    network = make_network(replace(build, sumps=(build.sumps[0], lower),
                                   drains=(build.drains[0], replace(build.drains[1], into="right pump"))))
    kept = float(network.full) - 2.0 * (BRANCH + RISER)
    right = 0.51 * (0.25 if kind == "joined" else 0.20)
    assert still_volume(network, 0.20) == pytest.approx(0.90 + 0.31 * 0.29 + 0.2 * 0.20 + right + kept, rel=1e-7)


def test_still_water_of_a_box():
    """At rest a box stands at its lowest pipe and its tank at the edge where a valve keeps the mouth."""
    network = make_network(with_box(valve=True))
    by_hand = 0.55 + 0.06 * 0.28 + 0.31 * 0.29 + 0.2 * 0.2 + float(network.full)
    assert still_volume(network, 0.2) == pytest.approx(by_hand, rel=1e-7)


def test_a_solved_build_of_two_tanks_stops():
    """Stopped from a solved state, two tanks on one pump end at their mouths and keep all the water."""
    results = found(two_on_header(valve=False, upper_mouth=1.65))
    state = results.state
    end = shut_down(state, False, False)
    assert (level(end, state, "upper"), level(end, state, "lower")) == (1.65, 1.15)
    assert gained(end, state) == pytest.approx(end.comes_down, abs=1e-9)


@pytest.mark.parametrize("how", [{}, {"valve": True}, {"equalised": True}])
def test_the_work_grows_with_the_tanks(monkeypatch, how):
    """Twice the tanks are asked for their ways out less than three times as often: nothing is asked of every pair."""
    asked = []
    plain = Settling.ways
    monkeypatch.setattr(Settling, "ways", lambda self, water: asked.append(water) or plain(self, water))
    counts = []
    for count in (60, 120):
        network = make_network(fish_room(count, **how))
        levels = {water.name: float(water.body.bottom) + 0.31 for water in network.waters if water.kind == "tank"}
        asked.clear()
        shut_down(standing(network, {**levels, **SUMP}), True, True)
        counts.append(len(asked))
    assert counts[1] < 3.0 * counts[0]


def test_water_that_reaches_the_sump_goes_before_water_that_fills_a_tank():
    """What stands over a lip and may reach the sump over another tank's lip is not counted as filling a third that stands low.

    Three tanks on a held header: 10 L over the high lip run through the middle tank into the sump; only what stands under that
    lip, down to the mouth, fills the low one.
    """
    build = several([tank("high", (1.0, 1.0, 0.6), 1.6), tank("middle", (1.0, 1.0, 0.6), 1.2), tank("low", (2.0, 1.0, 0.6), 0.7)],
                    [from_tank("d1", "high", 2.10, "middle", 1.5), from_tank("d2", "middle", 1.70), from_tank("d3", "low", 1.20)],
                    [into_tank("to high", "high", 2.05, "pump"), into_tank("to low", "low", 1.10, "pump")], [driven(valve=True)])
    state = standing(build, {"high": 2.11, "middle": 1.70, "low": 1.0, **SUMP})
    end = shut_down(state, True, True)
    assert (level(end, state, "high"), level(end, state, "middle")) == (2.05, pytest.approx(1.70, abs=FILM))
    assert gained(end, state) == pytest.approx(0.010, abs=FILM)
    assert end.items["low"] == pytest.approx(-0.050 - 2.0 * BRANCH, abs=FILM)


def test_two_pumps_in_one_sump_do_not_relieve_each_other():
    """Two pumps without valves on one header stand in chambers of one sump: the siphon between them lowers neither on paper."""
    build = several([tank("tank", (1.0, 1.0, 0.6), 1.0)], [from_tank("drain", "tank", 1.50)],
                    [into_tank("return", "tank", 1.55, "m")],
                    [driven("one", "inflow", header="m"), driven("two", "pump", header="m")])
    state = standing(build, {"tank": 1.50, "inflow": 0.28, "pump": 0.20})
    network = state.network
    end = shut_down(state, True, True)
    assert end.chambers[network.chambers.index(network.water("inflow"))] >= 0.28 - 1e-9


def test_a_pipe_from_a_header_siphons_to_the_lowest_point_of_its_mouth():
    """A pipe that leads from a header into a tank, its centre at 1.45 m, bore 40 mm, draws that tank down to 1.43 m."""
    build = several([tank("left", (1.0, 1.0, 0.6), 1.0), tank("right", (1.0, 1.0, 0.6), 1.0)],
                    [from_tank("left drain", "left", 1.50), from_tank("right drain", "right", 1.50)],
                    [into_tank("return", "left", 1.45, "main")], [driven(header="main")],
                    runs=[run("feed", "main", "right", finish_at=1.45)])
    case = shut_down(standing(build, {"left": 1.51, "right": 1.51, **SUMP}), False, False)
    right = next(k for k in case.levels if make_network(build).waters[k].name == "right")
    assert case.levels[right] == pytest.approx(1.43)
    assert case.ended[right] == "mouth of feed"
