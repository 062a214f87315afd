"""Several tanks, sumps, pumps and headers through time. Expected numbers are derived in each test, or come from the volumes."""

from dataclasses import replace
from functools import cache

import many_builds
import pytest
from builds import box, chamber, drain, height, item, pipe, plate, way
from racks import (
    built,
    level,
    manifold,
    of,
    pump_of,
    rack,
    state_of,
    tank,
    two_on_a_header,
    two_on_one,
    two_pumps,
)

from hydro.description.build import Box, Run, Sump, Vessel
from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.errors import InputError
from hydro.network.model import JUNCTION
from hydro.report.terminal.timeline import history_text
from hydro.scenarios.histories import ask, outcome_of
from hydro.shutdown import shut_down
from hydro.solve import choosing
from hydro.transient.disturbances import STUCK, begin, power_cut, pump_stops, simulate, simulate_restart
from hydro.transient.step import euler


def with_box():
    """Return a tank that spills into an overflow box with a standpipe, and another tank that drains into the first."""
    hung = Vessel("box", box("box", 0.3, 0.15, 0.5), height(1.2, "box: bottom"))
    return built(
        [tank("show"), tank("nursery", 1.8)],
        [of(drain("standpipe", 1.40), tank="box"), of(drain("nursery drain", 2.30, into="show", end=1.60), tank="nursery")],
        [of(way("show return", 1.44), tank="show"), of(way("nursery return", 2.28), tank="nursery")],
        [pump_of("pump", length=2.5)],
        boxes=[Box(hung, "show", item("edge", "box edge", length=0.3, at=height(1.46, "")))])


def joined():
    """Return two tanks with a siphon tube over their rims, one of them fed, the other one with the lower drain."""
    return built(
        [tank("fed"), tank("beside")],
        [of(drain("fed drain", 1.50), tank="fed"), of(drain("beside drain", 1.47), tank="beside")],
        [of(way("return", 1.44), tank="fed")], [pump_of("pump")],
        runs=[Run("tube", "fed", "beside", pipe("tube", 0.04, 1.5, 1.0), height(1.2, "tube: start"),
                  height(1.2, "tube: finish"))])


def collecting():
    """Return two tanks whose drains end in one pipe to the sump."""
    return built(
        [tank("left"), tank("right")],
        [of(drain(f"{side} drain", into="trunk", end=0.5), tank=side) for side in ("left", "right")],
        [of(way("left return", 1.40), tank="left"), of(way("right return", 1.43), tank="right")], [pump_of("pump")],
        runs=[Run("trunk pipe", "trunk", "inflow", pipe("trunk pipe", 0.08, 1.0, 1.0), None, height(0.24, "trunk: finish"))])


def two_sumps():
    """Return two sumps joined below by a pipe, each with a tank and a pump of its own."""
    def sump(name, parts):
        return Sump(Vessel(name, box(name, 1.02, 0.5, 0.46), height(0.0, f"{name}: bottom")), parts)
    return built(
        [tank("left"), tank("right")],
        [of(drain("left drain", into="inflow"), tank="left"), of(drain("right drain", into="second"), tank="right")],
        [of(way("left return", 1.40, hole_at=1.45), tank="left", source="pump A"),
         of(way("right return", 1.43), tank="right", source="pump B")],
        [pump_of("pump A"), pump_of("pump B", into="second")],
        sumps=[sump("first", (chamber("inflow", 0.62, plate(0.29)), chamber("pump"))), sump("other", (chamber("second"),))],
        runs=[Run("equaliser", "pump", "second", pipe("equaliser", 0.06, 1.0, 1.0), height(0.08, "e: start"),
                  height(0.08, "e: finish"))])


BUILDS = {"two on a header": (two_on_a_header,), "no valve": (two_on_a_header, False), "two pumps": (two_pumps,),
          "two on one": (two_on_one,), "manifold": (manifold,), "box": (with_box,), "tube": (joined,),
          "collecting": (collecting,), "two sumps": (two_sumps,), "rack": (rack, 3, 1.2, 1)}
every_build = pytest.mark.parametrize("name", BUILDS)


@cache
def running_state(name):
    """Return the running state of one of the builds."""
    return state_of(*BUILDS[name])


@cache
def cut_of(name, breaks=True, valves="holding"):
    """Return the power cut of one of the builds, to less than 1 L/h."""
    return simulate(running_state(name), power_cut(breaks, valves))


def times(history, words):
    """Return the times of the events whose words hold some words, s."""
    return [event.moment.time for event in history.events if words in event.words]


def in_vessels(moment, places):
    """Return the water in some vessels, m3."""
    return sum(moment.volumes[k] for k in places)


def kept_balances(history):
    """Assert that no water is lost, and that each one holds what it held and what came and went since."""
    start, end = history.start, history.end
    assert end.total == pytest.approx(start.total, abs=1e-9)
    for k, water in enumerate(end.network.waters):
        if water.kind != JUNCTION:
            gain = sum(end.left[n] for n, link in enumerate(end.network.links) if link.down == k)
            gain -= sum(end.entered[n] for n, link in enumerate(end.network.links) if link.up == k)
            held = water.body.stored(end.levels[k])[0] - water.body.stored(start.levels[k])[0]
            assert held == pytest.approx(gain + end.came_down[k], abs=1e-9)


@every_build
def test_every_water_keeps_its_balance(name):
    """In a cut with everything counted on, and with nothing, every water's balance closes to 1e-9 m3."""
    kept_balances(cut_of(name))
    kept_balances(cut_of(name, False, STUCK))


@every_build
def test_a_restart_keeps_all_water(name):
    """Through cut and restart no water is lost, and the pumps' lines are full in the end."""
    cut, back = simulate_restart(running_state(name))
    assert back.end.total == pytest.approx(cut.start.total, abs=1e-9)
    full = sum(store.system.full for store in back.end.stores)
    assert back.end.lines == pytest.approx(full, abs=1e-6)


def held_to_volumes(state):
    """Assert that sumps and floor get within 0.1 L what the volumes say, for the tanks' levels at the end; lines to 1 mL."""
    end, start = (history := simulate(state, power_cut())).end, history.start
    found = shut_down(state, True, True)
    assert end.let_down == pytest.approx(found.items["returns"], abs=1e-6)
    bodies = {k: state.network.waters[k].body for k in found.levels}
    rest = sum(body.stored(end.levels[k])[0] - body.stored(found.levels[k])[0] for k, body in bodies.items())
    came = in_vessels(end, state.network.chambers) - in_vessels(start, state.network.chambers) + end.named("floor")
    assert came == pytest.approx(found.comes_down - rest - sum(end.held), abs=1e-4)
    return end, found


def test_two_tanks_end_where_volumes_say():
    """Two tanks on a pump each end in the sump's and their own levels that the volumes give, to 0.1 L and 0.3 mm."""
    end, found = held_to_volumes(running_state("two pumps"))
    network = end.network
    for k, rest in found.levels.items():
        assert end.levels[k] == pytest.approx(rest, abs=3e-4)
    for k, rest in zip(network.chambers, found.chambers, strict=True):
        body = network.waters[k].body
        assert end.volumes[k] == pytest.approx(body.stored(rest)[0], abs=1e-4)


@pytest.mark.parametrize("name", ["two on a header", "no valve", "two on one", "manifold", "box", "collecting", "two sumps",
                                  "rack"])
def test_what_comes_down_is_what_volumes_say(name):
    """Boxes, cascades, joined sumps, shared drain pipes: what comes down is what the volumes say, lines and all, within 0.1 L."""
    end, found = held_to_volumes(running_state(name))
    for k, rest in found.levels.items():
        assert end.levels[k] == pytest.approx(rest, abs=4e-4)


@pytest.mark.parametrize("made", [many_builds.two_on_header, many_builds.cascade, many_builds.ring, many_builds.with_box])
def test_shared_builds_end_where_volumes_say(made):
    """Tanks on a header, a ring and a cascade, and a box, come to what the volumes say within 0.1 L and 0.4 mm."""
    end, found = held_to_volumes(state_of(made))
    for k, rest in found.levels.items():
        assert end.levels[k] == pytest.approx(rest, abs=4e-4)


def test_the_upper_tank_siphons_into_the_lower_one():
    """While the valve holds, the upper tank falls to its hole through the header; what it loses spills from the lower one.

    By balance: what leaves the lower tank is what it loses itself, what the upper loses through the header, and what the valve
    does not hold: both returns.
    """
    history = cut_of("two on a header")
    network, end = history.end.network, history.end
    assert end.entered[network.pump] == pytest.approx(0.0, abs=1e-6)
    aired = times(history, "high return draws air and stops")[0]
    assert level(end, "high") == pytest.approx(1.70, abs=3e-4)
    assert level(end, "low") == pytest.approx(1.470, abs=3e-4)
    over = -end.left[network.place("high return")]
    assert over > 0.03
    lost = history.start.volumes[network.water("low")] - end.volumes[network.water("low")]
    lines = sum(network.links[k].element.line.volume for k in network.returns)
    assert end.came_down[network.water("low")] == pytest.approx(lines)
    assert end.entered[network.place("low drain")] == pytest.approx(lost + over + lines, abs=1e-6)
    during = [moment for moment in history.moments if 0.0 < moment.time < aired]
    assert min(level(moment, "low") for moment in during) > 1.473


def test_tanks_at_one_height_only_level_out():
    """Two tanks of one height behind holding valves come to one level, to 0.1 mm, and no return draws air."""
    history = cut_of("two on one")
    assert level(history.end, "left") == pytest.approx(level(history.end, "right"), abs=1e-4)
    assert times(history, "draws air") == []


def test_one_pump_stops_and_the_other_goes_on():
    """Without a valve the left tank falls to its hole; the right one runs on, as steady as the solver has it for that pump."""
    state = running_state("two pumps")
    history = simulate(state, pump_stops(state.network, (state.network.place("pump A"),)))
    kept_balances(history)
    assert level(history.end, "left") == pytest.approx(1.45, abs=3e-4)
    assert history.end.flows[state.network.place("pump A")] == pytest.approx(0.0, abs=1e-7)
    right = state.network.place("pump B")
    lift = [moment.flows[right] for moment in history.moments]
    assert min(lift) > 0.99 * state.flows[right]
    # The left tank's fall on 0.72 m2, its drain's water and its line came into the chambers; the right tank rose a little.
    lost = sum(history.start.volumes[k] - history.end.volumes[k] for k in state.network.tanks)
    gained = in_vessels(history.end, state.network.chambers) - in_vessels(history.start, state.network.chambers)
    line = state.network.links[state.network.place("pump A")].element.line.volume
    assert gained == pytest.approx(lost + line + sum(history.start.held) - sum(history.end.held), abs=1e-6)


def test_a_valve_keeps_the_tank_of_the_stopped_pump():
    """With a check valve the stopped pump's tank runs down to its lip and no further, and its line stays full."""
    state = state_of(two_pumps, True)
    history = simulate(state, pump_stops(state.network, (state.network.place("pump A"),)))
    assert level(history.end, "left") == pytest.approx(1.470, abs=4e-4)
    assert history.end.lines == pytest.approx(history.start.lines)


@pytest.mark.parametrize("valve", [True, False])
def test_a_stopped_pump_beside_a_running_one(valve):
    """On one header water runs back through a stopped pump without a valve; with one nothing does, and more reaches the tanks."""
    state = state_of(two_on_one, valve)
    stopped = state.network.place("pump A")
    end = simulate(state, pump_stops(state.network, (stopped,))).end
    assert (end.flows[stopped] < -1e-4) != valve
    assert end.flows[stopped] == pytest.approx(0.0, abs=1e-7) or not valve
    assert sum(end.flows[k] for k in (stopped, state.network.place("pump B"))) == pytest.approx(
        sum(end.flows[k] for k in state.network.returns), rel=1e-6)


def test_the_stopping_of_the_only_pump_is_a_power_cut():
    """With one pump, its stopping is the power cut: the same events at the same instants."""
    state = running_state("two on a header")
    history = simulate(state, pump_stops(state.network, state.network.pumps))
    assert [(event.words, event.moment.time) for event in history.events] == \
        [(event.words, event.moment.time) for event in cut_of("two on a header").events]


def test_each_header_system_fills_by_itself():
    """After a cut each pump fills its own lines, told by its name, and only its own tank gets water then."""
    back = simulate_restart(running_state("two pumps"))[1]
    full = {name: times(back, f"the lines of pump {name} are full: water comes to {tank_}")[0]
            for name, tank_ in (("A", "left"), ("B", "right"))}
    assert full["A"] != full["B"]
    first, second = sorted(full, key=full.get)
    other = {"A": "left", "B": "right"}[second]
    between = [moment for moment in back.moments if full[first] < moment.time < full[second]]
    assert all(level(moment, other) == pytest.approx(level(back.start, other), abs=1e-5) for moment in between)


@pytest.mark.parametrize("name", ["two on a header", "no valve", "two pumps", "two on one", "box", "tube", "two sumps"])
def test_a_restart_comes_back_to_how_it_ran(name):
    """With no air kept in drains, every vessel comes back to its level before the cut within 0.5 mm."""
    state = running_state(name)
    back = simulate_restart(state, locks=False)[1].end
    for k in (*state.network.uppers, *state.network.chambers):
        assert back.levels[k] == pytest.approx(state.levels[k], abs=5e-4)


def test_a_dry_start_of_twelve_tanks_reaches_the_state_that_is_followed():
    """Of twelve tanks' drains five end as siphons: from dry lines the loop comes to the modes and levels that were followed."""
    state = state_of(rack, 12, 6.0, 5)
    modes = {k: state.network.links[k].element.mode for k in state.network.drains}
    assert sorted(modes.values()) == [SIPHON] * 5 + [WITH_AIR] * 7
    cut, back = simulate_restart(state, locks=False)
    assert {k: cut.end.network.links[k].element.mode for k in modes} == dict.fromkeys(modes, WITH_AIR)
    assert len(times(back, "begins to siphon")) >= 5
    assert {k: back.end.network.links[k].element.mode for k in modes} == modes
    for k in (*state.network.tanks, *state.network.chambers):
        assert back.end.levels[k] == pytest.approx(state.levels[k], abs=5e-4)


def test_a_tube_lets_go_when_an_end_comes_out_of_the_water():
    """A siphon tube whose mouths stand at 1.475 m loses its prime on the way down to 1.44 m, and what it held comes down."""
    history = simulate(state_of(short_tube), power_cut())
    tube = history.end.network.links[history.end.network.place("tube")].element
    assert 0.0 < times(history, "tube: ")[0] < times(history, "return draws air")[0]
    assert tube.primed == 0.0
    assert history.end.came_down[history.end.network.water("beside")] + history.end.came_down[history.end.network.water("fed")] \
        == pytest.approx(tube.line.volume)
    assert tube.stops_at < level(history.end, "beside") < 1.475  # what it held comes back into it
    kept_balances(history)


def short_tube():
    """Return the joined tanks with the tube's mouths just under the water."""
    build = joined()
    return replace(build, runs=tuple(replace(tube, start_at=height(1.475, "start"), finish_at=height(1.475, "finish"))
                                     for tube in build.runs))


def test_words_name_tanks_and_pumps_where_there_are_several():
    """With the drain of tank 3 blocked, that tank is the one that runs over; the pump of a chamber run dry is named."""
    asked = ask(rack(3, 1.2), "drain-blocked", "drain 3")
    assert times(asked.history, "tank 3 runs over its lowest opening")
    assert [one.vessel for one in outcome_of(asked.history).over] == ["tank 3"]
    build = two_pumps()
    dry = outcome_of(ask(replace(build, water=replace(build.water, level=height(0.10, "line"))), "drains-blocked").history)
    assert {name for name, _ in dry.dry_pumps} == {"pump A", "pump B"}
    assert dry.dry == dry.dry_pumps[0][1]


def test_pumps_are_asked_for_by_name():
    """The stopping of a pump takes its name; another name is refused with the nearest one."""
    asked = ask(two_pumps(), "pump-stops", "pump A")
    assert asked.disturbance.words == "pump A stops"
    with pytest.raises(InputError) as refused:
        ask(two_pumps(), "pump-stops", "pump C")
    assert "pump A" in str(refused.value)


@pytest.mark.parametrize("what", [("power-cut", ""), ("power-back", ""), ("pump-stops", "pump"), ("drains-blocked", "")])
def test_a_rack_is_told_in_80_columns(what):
    """The time line of five tanks stays within 80 columns and folds what happens to many of them at once."""
    lines = history_text(ask(rack(5), *what)).splitlines()
    assert max(map(len, lines)) <= 80
    assert any("tanks" in line and "nearest" in line for line in lines)
    if what[0] == "power-cut":
        assert any("(and" in line for line in lines)


def test_what_a_step_stores_is_solved_by_either_back_end():
    """A step of a network with more heads than the dense solver takes agrees with the dense one within 1e-9 m3."""
    state = state_of(rack, 3, 1.2, 1)
    moment = begin(state, power_cut())
    dense = euler(moment, 0.1)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choosing, "MANY", 2)
        sparse = euler(moment, 0.1)
    assert sparse.volumes == pytest.approx(dense.volumes, abs=1e-9)
