"""Builds made to mislead: water finds a way that is easily overlooked. What comes of it is worked out by hand, by volumes."""

from __future__ import annotations

import pytest

from hydro.case import loads
from hydro.scenarios.all_drains_blocked import drains_of, raised_in_every_tank
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of
from hydro.transient.disturbances import FLOOR, drains_blocked, power_cut, simulate

CURVE = "[0 L/h = 3.6 m, 1000 L/h = 3.3 m, 2000 L/h = 2.7 m, 3000 L/h = 1.7 m, 4000 L/h = 0 m]"
STANDPIPE = "{standpipe: 57 mm, lip: %s below tank rim}, line: [bulkhead 50 mm, pipe 63 PN10 95 cm]"

BOTTOM_PIPE = f"""
tanks: [{{name: show, inside: 150 x 60 x 50 cm, bottom: 1 m above ground}}]
sump: {{inside: 100 x 50 x 50 cm, bottom: at ground, line: 15 cm above sump bottom}}
drains:
  - {{name: a, inlet: {STANDPIPE % "8 cm"}, into: {{end: 30 cm above sump bottom}}}}
  - {{name: b, inlet: {STANDPIPE % "6 cm"}, into: {{end: 30 cm above sump bottom}}}}
pipes between:
  - name: down
    from: {{tank: show, at: 5 cm above show bottom}}
    to: {{chamber: sump, at: 20 cm above sump bottom}}
    line: [hose 16 mm 150 cm, gate valve 20 % open]
pump: {{intake: 4 cm above sump bottom, curve: {CURVE}, line: [hose 25 mm 150 cm]}}
returns: [{{line: [hose 25 mm 20 cm], end: 2 cm above tank rim}}]
"""

TWO_HEIGHTS = f"""
tank: {{inside: 150 x 60 x 50 cm, bottom: 130 cm above ground}}
sumps:
  - {{name: upper, inside: 100 x 50 x 50 cm, bottom: 60 cm above ground, line: 25 cm above upper bottom}}
  - {{name: lower, inside: 80 x 50 x 40 cm, bottom: at ground}}
drains:
  - {{name: a, inlet: {STANDPIPE % "8 cm"}, into: {{chamber: upper, end: 30 cm above upper bottom}}}}
  - {{name: b, inlet: {STANDPIPE % "8 cm"}, into: {{chamber: lower, end: 30 cm above lower bottom}}}}
pumps:
  - {{name: one, chamber: upper, intake: 4 cm above upper bottom, line: [hose 25 mm 150 cm], into: both,
     curve: [0 L/h = 3.0 m, 1500 L/h = 2.6 m, 3000 L/h = 1.7 m, 4000 L/h = 0 m]}}
  - {{name: two, chamber: lower, intake: 4 cm above lower bottom, line: [hose 25 mm 150 cm], into: both,
     curve: [0 L/h = 3.6 m, 1500 L/h = 3.2 m, 3000 L/h = 2.3 m, 4500 L/h = 0 m]}}
returns: [{{from: both, line: [hose 32 mm 60 cm], end: 2 cm above tank rim}}]
"""

DOWNWARD = f"""
tank: {{inside: 100 x 50 x 40 cm, bottom: 40 cm above ground}}
sumps:
  - {{name: upper, inside: 100 x 60 x 60 cm, bottom: 90 cm above ground, line: 45 cm above upper bottom}}
  - {{name: lower, inside: 120 x 50 x 35 cm, bottom: at ground}}
drains: [{{name: a, inlet: {STANDPIPE % "8 cm"}, into: {{chamber: lower, end: 30 cm above lower bottom}}}}]
pumps:
  - {{name: one, chamber: upper, intake: 4 cm above upper bottom, curve: [0 L/h = 0.6 m, 1500 L/h = 0.3 m, 2500 L/h = 0 m],
     line: [hose 25 mm 150 cm]}}
  - {{name: two, chamber: lower, intake: 4 cm above lower bottom, curve: {CURVE}, line: [hose 25 mm 150 cm], into: lift}}
pipes between: [{{name: up, from: lift, to: {{chamber: upper, at: 58 cm above upper bottom}}, line: [hose 25 mm 60 cm]}}]
returns: [{{from: one, line: [hose 25 mm 60 cm, gate valve 50 % open], end: 2 cm above tank rim}}]
"""

ABOVE_ANOTHER = """
tanks:
  - name: show
    inside: 180 x 70 x 60 cm
    bottom: 80 cm above ground
    drains:
      - {name: left, inlet: {standpipe: 71 mm, lip: 12 cm below tank rim}, line: [bulkhead 63 mm, pipe 75 PN10 95 cm],
         into: {end: 30 cm above sump bottom}}
    returns: [{from: bench, line: [hose 25 mm 120 cm, gate valve 40 % open], end: 14 cm below tank rim, points: down}]
  - name: nursery
    inside: 120 x 60 x 50 cm
    bottom: 180 cm above ground
    drains:
      - {name: over, inlet: {standpipe: 57 mm, lip: 9 cm below tank rim}, line: [bulkhead 50 mm, pipe 63 PN10 70 cm],
         into: {tank: show, end: 3 cm above tank rim}}
    returns: [{from: bench, line: [VALVEhose 25 mm 260 cm], end: 40 cm below tank rim, points: down}]
sump: {inside: 150 x 60 x 60 cm, bottom: at ground, line: 14 cm above sump bottom}
pump:
  intake: 4 cm above sump bottom
  curve: [0 L/h = 5.2 m, 2000 L/h = 4.7 m, 4000 L/h = 3.6 m, 6000 L/h = 1.8 m, 7000 L/h = 0 m]
  line: [{check valve: 28 mm, K: 3}, hose 32 mm 100 cm]
  into: {header: bench, line: [pipe 40 PN10 60 cm]}
wishes: {count on: check valves}
"""


def findings_of(text: str):
    """Return the findings of a case, every figure in its middle."""
    return results_of(place(loads(text)))


def cut(text: str):
    """Return the findings and the end of a power cut through time, breaks plugged and valves stuck."""
    results = findings_of(text)
    return results, simulate(results.state, power_cut(False, "stuck")).end


def stood(end, name: str) -> float:
    """Return the level at which a water stands at the end, m."""
    return float(end.levels[end.network.water(name)])


def test_a_pipe_that_climbs_over_nothing_runs_on_with_its_end_in_the_air():
    """From a 16 mm mouth 5 cm over the bottom the tank runs down into the air over a sump that has room for 175 L of it."""
    results, end = cut(BOTTOM_PIPE)
    mouth = 1.05 - 0.016 / 2.0
    fallen = 0.9 * (float(results.state.levels[results.network.tank]) - mouth)
    room = 0.5 * (0.50 - 0.15)
    assert stood(end, "show") == pytest.approx(mouth, abs=2e-3)
    assert stood(end, FLOOR) == pytest.approx(fallen - room, abs=4e-3)
    assert -results.stopped[False, False].spare == pytest.approx(stood(end, FLOOR), abs=3e-3)


def test_nothing_siphons_through_a_standing_pump_below_its_intake():
    """Through both pumps the upper sump runs into the lower one, down to 64 cm above ground where its pump draws, no further."""
    results, end = cut(TWO_HEIGHTS)
    network, levels = results.network, results.state.levels
    upper, lower, tank = (float(levels[network.water(name)]) for name in ("upper", "lower", "tank"))
    comes = 0.5 * (upper - 0.64) + 0.9 * (tank - 1.72) - 0.4 * (0.40 - lower)
    assert stood(end, "upper") == pytest.approx(0.64, abs=2e-3)
    assert stood(end, FLOOR) == pytest.approx(comes, abs=5e-3)
    assert -min(results.stopped[False, False].spares) == pytest.approx(stood(end, FLOOR), abs=3e-3)


def test_a_sump_over_a_tank_runs_on_through_a_pump_that_stands():
    """A sump 36 cm over the return it feeds empties through the stopped pump, over the tank, into the sump below it."""
    results, end = cut(DOWNWARD)
    comes = 0.6 * (float(results.state.levels[results.network.water("upper")]) - 0.94)
    room = 0.6 * (0.35 - float(results.state.levels[results.network.water("lower")]))
    assert stood(end, "upper") < 0.95
    assert stood(end, FLOOR) == pytest.approx(comes - room, abs=0.012)
    assert -min(results.stopped[False, False].spares) == pytest.approx(stood(end, FLOOR), abs=5e-3)


def test_a_pump_run_dry_lets_a_higher_tank_siphon_into_a_blocked_one():
    """With the lower tank's drain blocked, 31 cm of the upper one, 0.72 m2, come down too; a valve in its branch holds them."""
    added = []
    for valve in ("", "{check valve: 25 mm, K: 3}, "):
        results = findings_of(ABOVE_ANOTHER.replace("VALVE", valve))
        state = results.state
        show, nursery = (results.network.water(name) for name in ("show", "nursery"))
        case = next(one for one in raised_in_every_tank(results.loop, {}, state) if one.tank == show)
        level = float(state.levels[results.network.pump_chamber])
        added.append(case.comes_up - 0.9 * (level - 0.04) - 0.72 * (float(state.levels[nursery]) - 2.21))
    assert added == pytest.approx([0.72 * (2.21 - 1.90), 0.0], abs=1e-6)


def test_through_time_the_blocked_tank_gets_as_much_as_by_volumes():
    """What the volumes say is brought up and siphons in, less the room to the rim, goes over it through time; by 2 L."""
    results = findings_of(ABOVE_ANOTHER.replace("VALVE", ""))
    network = results.network
    case = next(one for one in raised_in_every_tank(results.loop, {}, results.state) if one.tank == network.water("show"))
    end = simulate(results.state, drains_blocked(network, drains_of(network, case.tank))).end
    assert stood(end, FLOOR) == pytest.approx(case.all - case.room, abs=2e-3)
    assert stood(end, FLOOR) > 0.1


def test_a_tank_that_no_water_reaches_has_room_for_what_it_holds_and_no_more():
    """A nursery so high that the pump gives it nothing is at most empty: 1.2 x 0.6 x 0.5 m of room, not more."""
    results = findings_of(ABOVE_ANOTHER.replace("VALVE", "").replace("180 cm above ground", "500 cm above ground"))
    nursery = results.network.water("nursery")
    case = next(one for one in raised_in_every_tank(results.loop, {}, results.state) if one.tank == nursery)
    assert 0.0 < case.room <= 1.2 * 0.6 * 0.5 + 1e-9


def test_a_booster_that_is_off_lets_the_tank_run_back_through_both_pumps():
    """The tank runs down to the lowest point of a mouth 12 cm under its rim; with 1.7 L of pipe that is in the sump then."""
    text = f"""
tank: {{inside: 150 x 60 x 50 cm, bottom: 1 m above ground}}
sump: {{inside: 100 x 50 x 50 cm, bottom: at ground, line: 22 cm above sump bottom}}
drains: [{{name: a, inlet: {STANDPIPE % "8 cm"}, into: {{end: 30 cm above sump bottom}}}}]
pumps:
  - {{name: first, intake: 4 cm above sump bottom, curve: [0 L/h = 1.2 m, 2000 L/h = 1.0 m, 4000 L/h = 0 m],
     line: [pipe 40 PN10 70 cm], into: mid}}
  - {{name: booster, behind: mid, curve: [0 L/h = 1.5 m, 2000 L/h = 1.2 m, 4000 L/h = 0 m], line: [pipe 40 PN10 70 cm], off: yes}}
returns: [{{from: booster, line: [pipe 32 PN10 60 cm, elbow 90], end: 12 cm below tank rim}}]
"""
    results, end = cut(text)
    mouth = 1.38 - results.loop.build.returns[0].line[0].values["size"].middle / 2.0
    lines = 0.0017
    assert stood(end, "tank") == pytest.approx(mouth, abs=2e-3)
    assert stood(end, "sump") == pytest.approx(0.22 + (0.9 * (1.42 - mouth) + lines) / 0.5, abs=3e-3)
