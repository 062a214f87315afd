"""Heights from the tank's water made fast, the amount of water, the pump at its best, drains blocked."""

from __future__ import annotations

from dataclasses import replace

import pytest
from builds import above, band, drain, found, item, loop, pump, three_chambers, way, worked

import hydro.scenarios.placed_build
from hydro.description.build import Run
from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.errors import SolveError
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import at_its_best, closing_of, held_at, place, run_placed, with_air_only, with_drains_blocked
from hydro.shutdown import still_volume
from hydro.steady.operating_point import DRAWS_AIR, NONE, STEADY

HUNG = {
    "mouth": loop(returns=(way(end=above("tank water", -0.03)),)),
    "mouth in the air": loop(returns=(way(end=above("tank water", 0.05)),)),
    "hole": loop(returns=(way(end=above("tank water", -0.06), hole_at=above("tank water", -0.01), hole=0.01, mark=True),)),
    "emergency": loop(drains=(drain(), drain("dry", above("tank water", 0.02)))),
    "sump": loop(sump_bottom=above("tank water", -1.5)),
    "still": loop(still=0.36, returns=(way(end=above("tank water", -0.03)),)),
}


@pytest.mark.parametrize("name", HUNG)
def test_heights_from_the_water_settle(name):
    """Solved again with the heights it gave, the loop comes back to the level they were counted from, within 0.1 mm."""
    fixed = place(HUNG[name])
    answer = run_placed(fixed, fixed.network())
    assert answer.kind == STEADY
    assert fixed.tank_water["tank"] == pytest.approx(float(answer.state.tank_level), abs=1e-4)


def test_a_mouth_stands_below_the_water_that_runs():
    """A mouth 30 mm below the tank's water lies 30 mm below the level at which the loop then runs, within 0.1 mm."""
    fixed = place(HUNG["mouth"])
    network = fixed.network()
    level = float(run_placed(fixed, network).state.tank_level)
    assert level - float(network.links[network.returns[0]].element.outlet) == pytest.approx(0.030, abs=1e-4)
    assert fixed.height("tank water") == fixed.tank_water["tank"]
    assert fixed.height("tank rim") == pytest.approx(1.57)


def test_a_hung_height_equals_the_same_one_measured():
    """The same mouth described from the ground gives the same loop."""
    fixed = place(HUNG["mouth"])
    measured = found(loop(returns=(way(end=fixed.tank_water["tank"] - 0.03),)))
    assert float(measured.state.tank_level) == pytest.approx(fixed.tank_water["tank"], abs=1e-5)


def test_nothing_is_solved_where_nothing_hangs(monkeypatch):
    """A build without a height from the tank's water is taken as it is."""
    monkeypatch.setattr(hydro.scenarios.placed_build, "operating_point", None)
    assert place(worked()).tank_water is None


@pytest.mark.parametrize("build", [
    loop(drains=(drain(lip=above("tank water", -0.03)),)),
    loop(tank_bottom=above("tank water", -0.5), drains=(drain(lip=above("tank rim", -0.1)),)),
])
def test_a_lip_that_hangs_on_its_own_water_is_refused(build):
    """Where the only lip, or the tank itself, is counted from the level that it makes, an error says that there is none."""
    with pytest.raises(SolveError, match="does not settle"):
        place(build)


def test_what_does_not_run_settles_nothing():
    """A loop that does not run keeps the heights it was tried with, and its answer says that it does not run."""
    fixed = place(loop(line=0.02, returns=(way(end=above("tank water", -0.03)),)))
    assert fixed.tank_water["tank"] == pytest.approx(1.47 + 0.015)
    assert run_placed(fixed, fixed.network()).kind in (NONE, DRAWS_AIR)


def test_the_level_moves_with_the_lowest_lip():
    """Under picks the level that heights count from moves with the lowest lip, and with nothing else."""
    build = loop(returns=(way(end=above("tank water", -0.03)),), drains=(drain(lip=band(1.46, 1.47, 1.48)),))
    fixed = place(build)
    mouths = {end: float(fixed.network({"drain drain: lip": end}).links[-1].element.outlet) for end in ("low", "high")}
    for end, by in (("low", -0.01), ("high", 0.01)):
        assert mouths[end] == pytest.approx(fixed.tank_water["tank"] + by - 0.03, abs=1e-12)
        assert fixed.height("tank water", {"drain drain: lip": end}) == pytest.approx(fixed.tank_water["tank"] + by, abs=1e-12)
    two = replace(build, drains=(*build.drains, drain("high", band(1.48, 1.49, 1.50))))
    fixed = place(two)
    assert fixed.height("tank water", {"drain high: lip": "high"}) == pytest.approx(fixed.tank_water["tank"], abs=1e-12)
    assert fixed.height("tank water", {"drain high: lip": "low", "drain drain: lip": "high"}) == pytest.approx(
        fixed.tank_water["tank"] + 0.01, abs=1e-12)


def test_the_water_as_a_line():
    """A line drawn in the pump's chamber is the level that is held, at the end that is picked."""
    fixed = place(loop(line=band(0.2, 0.21, 0.23)))
    network = fixed.network()
    assert (closing_of(fixed, network).node, closing_of(fixed, network).level) == (network.pump_chamber, 0.21)
    assert closing_of(fixed, network, {"chamber pump: line": "high"}).level == 0.23
    assert float(run_placed(fixed, network, {"chamber pump: line": "low"}).state.pump_level) == pytest.approx(0.2, abs=1e-9)


def test_a_line_below_the_tanks_water():
    """A line counted from the tank's water moves with that level under picks."""
    fixed = place(loop(line=above("tank water", -1.3), drains=(drain(lip=band(1.46, 1.47, 1.48)),)))
    for sample, by in (({}, 0.0), ({"drain drain: lip": "high"}, 0.01)):
        level = closing_of(fixed, fixed.network(sample), sample).level
        assert level == pytest.approx(fixed.tank_water["tank"] + by - 1.3, abs=1e-12)


def test_the_water_as_a_total():
    """A stated total is the total that runs, at the end that is picked."""
    fixed = place(loop(total=band(1.0, 1.06, 1.1)))
    network = fixed.network()
    assert (closing_of(fixed, network).level, closing_of(fixed, network).total) == (None, 1.06)
    assert float(run_placed(fixed, network).state.total) == pytest.approx(1.06, abs=1e-9)
    assert closing_of(fixed, network, {"water: total": "low"}).total == 1.0


def test_the_water_at_rest():
    """A level at rest is turned into all the water that then stands in tank, sump and lines."""
    fixed = place(loop(still=band(0.33, 0.35, 0.36), driven_by=pump(valve=True)))
    network = fixed.network()
    assert closing_of(fixed, network).level is None
    assert closing_of(fixed, network).total == still_volume(network, 0.35)
    assert closing_of(fixed, network, {"water: still": "high"}).total == still_volume(network, 0.36)
    assert float(run_placed(fixed, network).state.total) == pytest.approx(still_volume(network, 0.35), abs=1e-9)


def test_the_pump_at_its_best():
    """At its best the pump is strong, its box curve full, the edge rated low, every valve on its side open; picks go before."""
    valve = item("ball valve", "valve", open=band(0.3, 0.5, 0.7))
    gate = item("gate valve", "gate", open=0.4)
    build = loop(returns=(replace(way(), line=(*way().line, valve)),), driven_by=replace(pump(), line=(*pump().line, gate)))
    best = {"pump strength": "high", "box curve exponent": "high", "valve: open": 1.0, "gate: open": 1.0,
            **dict.fromkeys(("rim weir coefficient", "side outlet coefficient", "comb coefficient", "comb open share",
                             "overflow edge coefficient"), "low")}
    assert at_its_best(build, {}) == best
    assert at_its_best(build, {"valve: open": "low", "x": "low"}) == {**best, "valve: open": "low", "x": "low"}
    slowed = replace(build, pumps=(replace(build.pump, speed=Uncertain.exact(0.8, "pump: speed")),))
    assert at_its_best(slowed, {}) == {**best, "pump: speed": 1.0}


def test_valves_in_a_manifold_are_open_at_its_best():
    """Valves in pipes between headers that a pump presses upon are opened too, those in a pipe that drains share are not."""
    throttle = {name: item("ball valve", name, open=0.4) for name in ("row", "gutter")}
    runs = (Run("row", "far", "tee", (throttle["row"],)), Run("gutter", "shared", "pump", (throttle["gutter"],)))
    best = at_its_best(replace(loop(), runs=runs), {})
    assert best["row: open"] == 1.0
    assert "gutter: open" not in best


def test_drains_run_with_air_when_they_are_rated():
    """Rated, every drain runs with air, whatever mode it stands in."""
    fixed = place(worked())
    network = fixed.network()
    primed = network.in_modes(dict.fromkeys(network.drains, SIPHON))
    state = with_air_only(primed, held_at(network, 0.205))
    assert [state.network.links[k].element.mode for k in network.drains] == [WITH_AIR, WITH_AIR]
    assert float(state.pump_level) == pytest.approx(0.205, abs=1e-9)


def test_blocked_drains_carry_nothing():
    """A blocked drain carries nothing, the rest the whole flow; a share of blocking can be asked for too."""
    network = place(worked()).network()
    first, second = network.drains
    state = with_air_only(with_drains_blocked(network, (first,)), held_at(network, 0.205))
    assert float(state.flows[first]) == pytest.approx(0.0, abs=1e-9)
    assert float(state.flows[second]) == pytest.approx(float(state.pump_flow), abs=1e-9)
    assert with_drains_blocked(network, {second: 0.25}).links[second].element.blocked == 0.25
    assert with_drains_blocked(network, (first,)).links[second].element.blocked == 0.0


def test_the_worked_loop_runs_as_worked_out():
    """5034.4 L/h; tank 1.49528; chambers 0.30327, 0.26327, 0.20500; tee 1.9843 m; 1062.11 L (physics notes, section 6)."""
    state = found(worked()).state
    levels = [float(state.levels[k]) for k in state.network.chambers]
    assert 3.6e6 * float(state.pump_flow) == pytest.approx(5034.4, abs=0.1)
    assert float(state.tank_level) == pytest.approx(1.49528, abs=1e-5)
    assert levels == [pytest.approx(level, abs=1e-5) for level in (0.30327, 0.26327, 0.205)]
    assert 1e3 * float(state.total) == pytest.approx(1062.11, abs=0.01)
    tee = next(k for k, water in enumerate(state.network.waters) if water.name == "tee")
    assert float(state.levels[tee]) == pytest.approx(1.9843, abs=1e-4)


def test_all_the_water_of_a_line_runs_again():
    """The total that a line gives, stated as a total, brings the line back."""
    state = found(loop(line=0.25, chambers=three_chambers())).state
    again = found(loop(total=float(state.total), chambers=three_chambers())).state
    assert float(again.pump_level) == pytest.approx(0.25, abs=1e-6)
