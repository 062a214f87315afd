"""The loop of cases/worked-loop.yaml against an independent prototype (physics notes of the project, section 6).

Every expected number here without another source is a regression against that prototype, which was written apart from this
library with the same coefficients. Heights in m above the ground, flows in L/h, volumes in litres.
"""

from pathlib import Path

import pytest

from hydro.case import load
from hydro.network.model import Closing
from hydro.scenarios.placed_build import held_at, place, run_placed, with_air_only, with_drains_blocked
from hydro.scenarios.results import results_of
from hydro.scenarios.running_line import highest_line
from hydro.shutdown import shut_down
from hydro.steady.modes import operating_point

FILE = Path(__file__).parents[2] / "cases" / "worked-loop.yaml"
LOOP = place(load(FILE))
NETWORK = LOOP.network()
FINDINGS = results_of(LOOP)
STATE = FINDINGS.state
CLOSED = Closing(NETWORK.pump_chamber, total=STATE.total)
"""The water that the running line of 0.205 m stands for."""
LINE = 0.205


def litres_per_hour(flow):
    """Return m3/s in L/h."""
    return 3.6e6 * flow


def closed(network):
    """Return how a network runs with the water of the worked loop."""
    return operating_point(network, CLOSED).state


def test_flows():
    """Pump, drains and returns carry the prototype's flows within 0.1 %."""
    flows = [litres_per_hour(STATE.flows[k]) for k in (NETWORK.pump, *NETWORK.drains, *NETWORK.returns)]
    assert flows == pytest.approx([5034.4, 2440.5, 2593.9, 3368.6, 1665.7], rel=1e-3)


def test_levels():
    """The tank stands within 0.1 mm, the chambers within 0.5 mm, and the head at the tee within 0.1 mm of the prototype's."""
    assert STATE.tank_level == pytest.approx(1.49528, abs=1e-4)
    assert [STATE.levels[k] for k in NETWORK.chambers] == pytest.approx([0.30327, 0.26327, LINE], abs=5e-4)
    assert STATE.levels[-1] == pytest.approx(1.9843, abs=1e-4)
    assert NETWORK.waters[NETWORK.tank].opening - STATE.tank_level == pytest.approx(0.0747, abs=1e-4)


def test_pump_head_and_water():
    """The pump gives 2.8700 m, and all the water is 1062.11 L."""
    assert NETWORK.links[NETWORK.pump].element.curve.head(STATE.pump_flow)[0] == pytest.approx(2.8700, abs=1e-4)
    assert 1e3 * STATE.total == pytest.approx(1062.11, abs=0.01)


def test_what_controls_the_drains():
    """The throat rules the smaller drain, the edge the larger; filled by 0.2246 and 0.1608 they hold 1.04 L."""
    drains = [NETWORK.links[k].element for k in NETWORK.drains]
    flows = [STATE.flows[k] for k in NETWORK.drains]
    assert [drain.inlet.controls(flow) for drain, flow in zip(drains, flows, strict=True)] == ["throat", "edge"]
    shares = [drain.held(flow)[0] / drain.line.volume for drain, flow in zip(drains, flows, strict=True)]
    assert shares == pytest.approx([0.2246, 0.1608], abs=2e-4)
    assert FINDINGS.stopped[True, False].items["drains"] == pytest.approx(1.04e-3, abs=1e-5)


def test_power_cut():
    """After a cut 40.62 L come from the tank and 2.21 L from the returns, 43.87 L in all; 56.23 L stay to spare at 0.3498 m."""
    cut = shut_down(STATE, breaks=True, holds=False)
    assert [1e3 * cut.items[name] for name in ("tank", "returns")] == pytest.approx([40.62, 2.21], abs=0.1)
    assert [1e3 * cut.comes_down, 1e3 * cut.spare] == pytest.approx([43.87, 56.23], abs=0.1)
    assert cut.sump_level == pytest.approx(0.3498, abs=5e-4)


def test_power_cut_with_plugged_holes():
    """With plugged holes the tank falls to 1.448 m, 79.22 L come down and 20.88 L are to spare."""
    cut = shut_down(STATE, breaks=False, holds=False)
    assert cut.tank_level == pytest.approx(1.448, abs=1e-9)
    assert [1e3 * cut.comes_down, 1e3 * cut.spare] == pytest.approx([79.22, 20.88], abs=0.1)


def test_power_cut_with_a_valve_that_holds():
    """A check valve in the riser that holds keeps the returns' 2.21 L up: 41.65 L come down."""
    text = FILE.read_text(encoding="utf-8").replace("1.70 m, K 3.2]", "1.70 m, K 3.2, {check valve: , K: 0, crack: 0 mm}]")
    with_valve = running_of(text)
    assert 1e3 * shut_down(with_valve, breaks=True, holds=True).comes_down == pytest.approx(41.65, abs=0.1)
    assert 1e3 * shut_down(with_valve, breaks=True, holds=False).comes_down == pytest.approx(43.87, abs=0.1)


def running_of(text):
    """Return the running state of a case given as text."""
    from hydro.case import loads

    loop = place(loads(text))
    return run_placed(loop, loop.network()).state


def test_highest_running_line():
    """Filled to the very brim the line may stand at 0.3727 m with holes that work, at 0.3018 m with plugged ones."""
    assert highest_line(NETWORK, True, False, 0.0) == pytest.approx(0.373, abs=1e-3)
    assert highest_line(NETWORK, False, False, 0.0) == pytest.approx(0.302, abs=1e-3)


@pytest.mark.parametrize(("drain", "flow", "tank", "held"), [(1, 3000.4, 1.5082, 1.5753), (0, 4200.2, 1.5076, 1.5203)],
                         ids=["drain 2 blocked", "drain 1 blocked"])
def test_blocked_drains(drain, flow, tank, held):
    """One drain blocked: the closed water lets the pump draw air; with the chamber held the tank rises, once over its rim."""
    short = with_drains_blocked(NETWORK, (NETWORK.drains[drain],))
    answer = operating_point(short, CLOSED)
    assert answer.kind == "draws air"
    assert litres_per_hour(answer.state.pump_flow) == pytest.approx(flow, rel=1e-3)
    assert answer.state.tank_level == pytest.approx(tank, abs=1e-4)
    assert with_air_only(short, held_at(short, LINE)).tank_level == pytest.approx(held, abs=1e-4)
    rim = NETWORK.waters[NETWORK.tank].opening
    assert (with_air_only(short, held_at(short, LINE)).tank_level > rim) is (drain == 1)


def test_all_drains_blocked():
    """With every drain blocked the pump brings up 23.8 L, and the tank has room for 120 L."""
    assert 1e3 * FINDINGS.all_blocked.comes_up == pytest.approx(23.8, abs=0.1)
    assert 1e3 * FINDINGS.all_blocked.room == pytest.approx(120.06, abs=0.1)


def test_ten_per_cent_of_the_orifice():
    """Orifice coefficients 10 % lower take 7.3 L/h off the flow, lift the tank by 0.9 mm and lower the pump chamber by 10 mm."""
    state = closed(LOOP.network({"rim orifice coefficient": 0.54}))
    assert litres_per_hour(state.pump_flow - STATE.pump_flow) == pytest.approx(-7.3, abs=0.05)
    assert 1e3 * (state.tank_level - STATE.tank_level) == pytest.approx(0.9, abs=0.05)
    assert 1e3 * (state.pump_level - STATE.pump_level) == pytest.approx(-10.0, abs=0.05)


def test_one_litre_more():
    """One litre more lifts the pump chamber by 6.9 mm: nearly all of it stays there."""
    more = operating_point(NETWORK, Closing(NETWORK.pump_chamber, total=STATE.total + 1e-3)).state
    assert 1e3 * (more.pump_level - STATE.pump_level) == pytest.approx(6.9, abs=0.05)


def test_a_slow_pump():
    """At 55 % of its speed the pump still moves 1475 L/h, from a sump at 0.307 m: the tank gives the sump the water it lacks."""
    state = closed(NETWORK.changed({NETWORK.pump: {"speed": 0.55}}))
    assert litres_per_hour(state.pump_flow) == pytest.approx(1475, abs=1)
    assert state.pump_level == pytest.approx(0.307, abs=1e-3)


def test_the_same_loop_in_inches():
    """In inches and US gallons per hour the loop runs the same: 1 in = 25.4 mm and 1 US gal = 231 cubic inches, exactly."""
    state = running_of(in_inches(FILE.read_text(encoding="utf-8")))
    assert state.levels == pytest.approx(STATE.levels, abs=1e-9)
    assert state.flows == pytest.approx(STATE.flows, rel=1e-9)


def in_inches(text):
    """Return a case text with metres and millimetres turned into inches, and L/h into US gallons per hour."""
    import re

    def turned(match):
        number, unit = float(match[1]), match[2]
        if unit == "L/h":
            return f"{number * 1e6 / (231 * 25.4 ** 3):.15g} US gal/h"
        return f"{number * (1000.0 if unit == 'm' else 1.0) / 25.4:.15g} in"
    text = re.sub(r"#.*", "", text)
    plan = re.sub(r"([\d.]+) x ([\d.]+) x ([\d.]+) m\b", r"\1 m x \2 m x \3 m", text)
    plan = re.sub(r"roughness: [\d.]+ mm", "roughness: 0.0015 mm", plan)
    return re.sub(r"(?<![\w.])(\d[\d.]*) (m|mm|L/h)(?![\w/\d])", turned, plan)
