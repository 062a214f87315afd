"""What comes up while all drains of one tank are blocked: joined sumps, boxes that spill first, the line from which it fits."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builds import found, height
from many_builds import driven, from_tank, into_tank, run, several, sump, tank, two_sumps, with_box

from hydro.description.build import Build
from hydro.scenarios.all_drains_blocked import line_when_blocked, raised_in_every_tank, raised_when_blocked, stays
from hydro.scenarios.placed_build import held_at
from hydro.shutdown import sump_volume
from hydro.steady.modes import operating_point as runs


def on_one_pump(mouths: float = 0.10) -> Build:
    """Return two tanks and two sumps that a pipe joins, all pumped from the left sump."""
    build = two_sumps(joined=True)
    joint = replace(build.runs[0], start_at=height(mouths, "start"), finish_at=height(mouths, "finish"))
    return replace(build, pumps=build.pumps[:1], returns=tuple(replace(one, source="left lift") for one in build.returns),
                   runs=(joint,))


@pytest.mark.parametrize(("mouths", "stand"), [(0.12, 0.10), (0.05, 0.07)])
def test_a_joined_sump_is_drawn_down_with_the_pumps_own(mouths, stand):
    """A sump without a pump keeps what stands under the joining pipe (its middle less 20 mm), or under a lower intake."""
    results = found(on_one_pump(mouths))
    network, state = results.network, results.state
    names = [network.waters[k].name for k in network.chambers]
    assert dict(zip(names, stays(network), strict=True)) == pytest.approx({"left inflow": 0.29, "left pump": 0.07,
                                                                           "right inflow": 0.29, "right pump": stand})
    left, right = network.water("left"), network.water("right")
    levels = [float(state.levels[k]) for k in network.chambers]
    given = sump_volume(network, levels) - sump_volume(network, [0.29, 0.07, 0.29, stand])
    case = next(one for one in raised_in_every_tank(results.loop, {}, state) if one.tank == left)
    assert case.comes_up == pytest.approx(given + 1.0 * (float(state.levels[right]) - 1.50), abs=1e-9)


def test_a_sump_that_nothing_joins_gives_nothing():
    """Without the pipe no pump reaches the right sump: its water stays where it stands."""
    network = found(replace(on_one_pump(), runs=())).network
    assert stays(network)[2:] == [float("inf"), float("inf")]


def test_a_chain_of_joined_sumps_gives_all_of_it():
    """Through a second pipe a third sump is drawn down as well, to the higher mouths on the way."""
    sumps = [sump(name, f"{name} ", wall=None) for name in ("a", "b", "c")]
    pipes = [run("c to b", "c pump", "b pump", start_at=0.14, finish_at=0.14),
             run("b to a", "b pump", "a pump", start_at=0.11, finish_at=0.11)]
    build = several([tank("show", (1.0, 1.0, 0.6), 1.0)], [from_tank("drain", "show", 1.5, "c pump")],
                    [into_tank("return", "show", 1.45)], [driven(into="a pump")], sumps, runs=pipes)
    assert stays(found(build).network) == pytest.approx([0.07, 0.09, 0.12])


def test_a_box_that_spills_first_ends_the_room():
    """With its drains blocked a box fills with its tank: its rim, where lower, is the end of the tank's room."""
    plain = with_box()
    low = replace(plain.boxes[0], vessel=replace(plain.boxes[0].vessel, lowest_opening=height(1.50, "notch")))
    rooms = []
    for build, brim in ((plain, 1.57), (replace(plain, boxes=(low,)), 1.50)):
        results = found(build)
        network, state = results.network, results.state
        case = raised_when_blocked(results.loop, {}, state, network.tank)
        assert case.room == pytest.approx(1.0 * (brim - float(state.levels[network.tank])), abs=1e-9)
        rooms.append(case.room)
    assert rooms[1] < rooms[0]


@pytest.mark.parametrize("drop", [0.0, 0.1])
def test_the_line_moves_every_sump_on_its_own_floor(drop):
    """Sumps on one header rise and fall together, each from where it stands: at the line what comes up just fills the tank."""
    build = two_sumps(header=True)
    deep = sump("right sump", "right ", bottom=-drop, wall=None)
    drains = tuple(replace(one, into="right pump") if one.into == "right inflow" else one for one in build.drains)
    pumps = (build.pumps[0], replace(build.pumps[1], intake=height(0.07 - drop, "intake")))
    tanks = (tank("left", (1.0, 1.0, 0.75), 1.0), build.tanks[1])
    results = found(replace(build, tanks=tanks, sumps=(build.sumps[0], deep), drains=drains, pumps=pumps))
    loop, network = results.loop, results.network
    left = network.water("left")
    line = line_when_blocked(loop, {}, network, results.state, left)
    assert line is not None
    there = runs(network, held_at(network, line), results.state).state
    case = raised_when_blocked(loop, {}, there, left)
    assert case.all == pytest.approx(case.room, abs=2e-4)  # the line is settled to 0.2 mm on 1 m2 of sumps
