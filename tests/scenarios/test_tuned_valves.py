"""Valves that are tuned on the running build until the next higher inlet trickles."""

import math
from dataclasses import replace

import pytest
from builds import CURVE, above, band, drain, item, loop, pump, uncertain, way

from hydro.description.build import Item
from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.quantities.arrays import GRAVITY
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of
from hydro.scenarios.tuned_valves import next_higher, valve_settings
from hydro.steady.operating_point import STEADY
from hydro.transient.disturbances import as_it_is, simulate

SHARE = 0.05
TUNED = Item("gate valve", {"open": "tuned"}, label="drain siphon: gate valve")


def stated(k):
    """Return the valve with a K of its own."""
    return Item("gate valve", {"K": Uncertain.exact(k, "valve")}, label="drain siphon: gate valve")


def throttled(valve, *others, bore=0.0362, overrides=None, **changes):
    """Return a siphon behind a valve, an open channel with its lip 130 mm higher up, and others beside them."""
    siphon = drain("siphon", lip=1.340, bore=bore, k=0.5)
    slow = pump(curve=[(0.6 * flow, head) for flow, head in CURVE])
    drains = (replace(siphon, line=(*siphon.line, valve)), *(others or (drain("open", 1.470),)))
    return loop(**{"drains": drains, "driven_by": slow, "overrides": overrides, **changes})


def looked_at(build, sample=None):
    """Return the findings, the siphon's valve, and what siphon and channel carry, m3/s."""
    results = results_of(place(build), sample)
    network, state = results.network, results.state
    return results, valve_settings(network)[network.place("siphon")], *(float(state.flows[network.place(name)])
                                                                   for name in ("siphon", "open"))


BASE = looked_at(throttled(TUNED))


def test_the_next_inlet_carries_its_trickle():
    """Tuned, the siphon runs full and the channel with air, with a twentieth of all that leaves the tank."""
    results, valve, siphon, channel = BASE
    network = results.state.network
    assert results.answer.kind == STEADY
    assert [network.links[k].element.mode for k in network.drains] == [SIPHON, WITH_AIR]
    assert channel == pytest.approx(SHARE * (siphon + channel), rel=1e-5)
    assert valve.misses == ""


def test_k_in_closed_form():
    """The fall from lip and weir head of the trickle to the sump, less friction by Blasius and K 0.5 and 1, is the valve's."""
    results, valve, siphon, channel = BASE
    state = results.state
    weir = (channel / (2.0 / 3.0 * 0.53 * math.sqrt(2.0 * GRAVITY) * math.pi * 0.057)) ** (2.0 / 3.0)
    assert state.tank_level == pytest.approx(1.470 + weir, abs=2e-4)
    bore, length = 0.0362, 1.25
    speed = siphon / (math.pi / 4.0 * bore ** 2)
    head = speed ** 2 / (2.0 * GRAVITY)
    below = max(float(state.levels[results.network.links[results.network.place("siphon")].down]), 0.24)
    friction = 0.3164 * (speed * bore / 0.9e-6) ** -0.25 * length / bore
    by_hand = (1.470 + weir - below) / head - friction - 0.5 - 0.5 - 1.0
    assert valve.k == pytest.approx(by_hand, rel=0.01)


def test_a_stated_k_is_found_again():
    """Told to leave the very share that a stated K leaves, tuning finds that K: one is the inverse of the other."""
    results = results_of(place(throttled(stated(45.0))))
    flows = [float(results.state.flows[k]) for k in results.network.drains]
    share = Uncertain.exact(flows[1] / sum(flows), "trickle share")
    assert 0.0 < share.middle < 0.5
    _, valve, *_ = looked_at(throttled(TUNED, overrides={"trickle share": share}))
    assert valve.k == pytest.approx(45.0, rel=1e-4)


@pytest.mark.parametrize("sample", [{"fitting losses": "low"}, {"pump strength": "high"}, {"trickle share": "low"},
                                    {"trickle share": "high"}], ids=str)
def test_it_is_tuned_anew_at_every_end(sample):
    """Whatever end an input stands at, the build is tuned there: the channel has its trickle, and K is another one."""
    bands = {"fitting losses": band(0.7, 1.0, 1.5), "pump strength": band(0.93, 1.0, 1.07),
             "trickle share": band(0.02, 0.05, 0.10)}
    build = throttled(TUNED, overrides={name: uncertain(value, name) for name, value in bands.items()})
    line = (*build.drains[0].line, item("elbow 90", "drain siphon"))
    build = replace(build, drains=(replace(build.drains[0], line=line), *build.drains[1:]))
    share = {"low": 0.02, "high": 0.10}.get(sample.get("trickle share"), SHARE)
    _, middle, *_ = looked_at(build)
    _, valve, siphon, channel = looked_at(build, sample)
    assert channel == pytest.approx(share * (siphon + channel), rel=1e-5)
    assert abs(valve.k / middle.k - 1.0) > 1e-3


def test_a_fault_leaves_the_valve_where_it_stands():
    """With drains blocked, the pump at its best and the power cut the valve has the K of the running state."""
    bands = {"pump strength": uncertain(band(0.93, 1.0, 1.07), "pump strength")}
    results, valve, *_ = looked_at(throttled(TUNED, drain("open", 1.470), drain("spare", 1.52), overrides=bands))
    networks = [case.with_air.network for case in (*results.overflows, *results.emergencies)]
    assert len(networks) > 3
    assert all(valve_settings(network)[network.place("siphon")].k == valve.k for network in networks)
    assert float(networks[0].links[networks[0].pump].element.curve.shutoff) > 1.05 * float(
        results.network.links[results.network.pump].element.curve.shutoff)


def test_the_running_state_stays():
    """Left alone for its time in the simulation through time, what was tuned stays as it is: no event, no level moves 0.2 mm."""
    state = BASE[0].state
    history = simulate(state, as_it_is())
    assert [event.words for event in history.events if "siphon" in event.words] == []
    assert history.end.tank_level == pytest.approx(state.tank_level, abs=2e-4)
    network = history.end.network
    assert valve_settings(network)[network.place("siphon")].k == BASE[1].k


def test_a_siphon_too_small_says_so():
    """Where the full pipe does not carry the rest even fully open the valve is counted as open, and a limit says it."""
    results = results_of(place(throttled(TUNED, drain("open", 1.470), bore=0.0160)))
    k = results.network.place("siphon")
    valve = valve_settings(results.network)[k]
    assert valve.k == valve.opened
    assert "even fully open" in valve.misses
    flows = [float(results.state.flows[k]) for k in results.network.drains]
    assert flows[1] > SHARE * sum(flows)
    notes = results.element(k).limits(flows[0], *map(float, results.state.ends(k)))
    assert any("even fully open" in note and "open trickles" in note for note in notes)


def test_a_channel_that_stays_dry_is_told():
    """Where an inlet as low as the siphon's takes all that comes no setting wets the channel: counted as open, and told."""
    results = results_of(place(throttled(TUNED, drain("low", 1.330, bore=0.110), drain("open", 1.520))))
    valve = valve_settings(results.network)[results.network.place("siphon")]
    assert valve.k == valve.opened
    assert "open stays dry" in valve.misses


def test_without_a_higher_inlet_it_is_open():
    """The next higher inlet is that of the same water with the lowest lip above; without one there is nothing to tune by."""
    network = place(throttled(TUNED, drain("spare", 1.52), drain("open", 1.470))).network()
    assert next_higher(network, network.place("siphon")) == network.place("open")
    assert next_higher(network, network.place("spare")) is None
    lonely = place(throttled(TUNED, drain("low", 1.330))).network()
    assert "no higher inlet" in valve_settings(lonely)[lonely.place("siphon")].misses


def test_heights_that_count_from_the_water():
    """A return measured from the tank's running level stands where the tuned siphon keeps that level."""
    loop_ = place(throttled(TUNED, returns=[way(end=above("tank water", -0.05))]))
    results = results_of(loop_)
    end = results.element(results.network.returns[0]).end
    assert float(results.state.tank_level) - 0.05 == pytest.approx(float(end.lowest), abs=1e-4)
