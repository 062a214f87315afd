"""The restart of drains after a power cut: each verdict on both sides, depths and litres by hand.

Where nothing else is said the tank has 2 m2 with its rim at 1.57 m, the sump 0.3 m2 before a plate at 0.29 m and 0.2 m2 behind
it. Where a power cut ends is put in by hand.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from builds import box, chamber, drain, found, height, item, loop, pipe, plate, seen, stated

from hydro.checks import FAILS, HOLDS, TIGHT
from hydro.checks.restart import Restarts
from hydro.description.build import Drain
from hydro.elements.drain import SIPHON, WITH_AIR
from hydro.scenarios.results import OverflowCase

CASES = tuple(product((True, False), repeat=2))
LIP = 1.51
ROOM = 1.57 - LIP


def elbow(name="drain", lip=LIP, vent=None, end=0.24):
    """Return a down-turned drain with its mouth 20 mm under its lip."""
    wind = {} if vent is None else {"vent": vent}
    inlet = item("elbow down", name, bore=0.057, lip=height(lip, ""), mouth=height(lip - 0.02, ""), **wind)
    return Drain(name, inlet, pipe(f"drain {name}", 0.057, 1.25, 2.3), "inflow", height(end, f"{name}: end"))


def running(*drains, top=0.29, tank=(2.0, 1.0), line=0.205):
    """Return the findings of the loop with some drains, a plate's top, a tank's length and width, and a running line, m."""
    return found(loop(tank=box("tank", *tank, 0.65), sump=box("sump", 1.0, 0.5, 0.46), drains=drains, line=line,
                      chambers=(chamber("inflow", 0.6, plate(top)), chamber("pump"))))


def stops(results, fallen, inflow, pump=None, lines=0.0):
    """Return findings whose power cuts leave the tank `fallen` under its lowest lip and chambers at levels, m; `lines` in m3."""
    network = results.network
    lip = min(float(results.element(k).inlet.crest) for k in network.drains)
    chambers = (inflow, inflow if pump is None else pump)
    return replace(results, stopped={
        case: replace(results.stopped[case], levels={network.tank: lip - fallen}, items={"returns": lines}, chambers=chambers)
        for case in CASES})


def row(results, name="drain"):
    """Return the check of a drain by name."""
    return Restarts(results).check(results.network.place(name))


def depth(results, over=0.0, lost=0.0):
    """Return how deep the only drain's end is drowned with water `over` its lip and `lost` over the rim."""
    return Restarts(results).refilling.depth(results.network.drains[0], over, lost)


def siphoning(results, name="drain", flow=2e-3):
    """Return findings in which a drain runs as a siphon."""
    k = results.network.place(name)
    state = stated(results.state, flows={name: flow})
    return seen(results, replace(state, network=state.network.in_modes({k: SIPHON})))


def test_the_sump_gives_back_what_fills_the_tank():
    """2 m2 that fell 12 mm take 24 L and lines 1 L, out of 0.5 m2 of sump 50 mm: from 0.40 m to 0.35 m, 110 mm over the end."""
    assert depth(stops(running(elbow()), 0.012, 0.40, lines=0.001)) == pytest.approx(0.110, abs=1e-8)


def test_water_over_the_lip_drowns_the_end_less():
    """10 mm more in the tank are 20 L, 5 L over the rim 5 L: 40 mm and 10 mm less in the sump."""
    results = stops(running(elbow()), 0.012, 0.40)
    assert depth(results, 0.010) == pytest.approx(depth(results) - 0.040, abs=1e-8)
    assert depth(results, 0.0, 0.005) == pytest.approx(depth(results) - 0.010, abs=1e-8)


def test_a_plate_keeps_its_chamber_at_the_crest():
    """2 m2 that fell 50 mm take 100 L: 55 L bring the sump to the plate, the rest comes out of the chamber behind it alone."""
    assert depth(stops(running(elbow()), 0.050, 0.40)) == pytest.approx(0.29 - 0.24, abs=1e-8)


def test_a_chamber_below_its_crest_gives_nothing():
    """A chamber that the cut left below its plate's crest stays where it stands, whatever the pump draws from the other."""
    assert depth(stops(running(elbow()), 0.012, 0.27, 0.25)) == pytest.approx(0.03, abs=1e-8)


def test_what_ran_over_the_lip_stays_down():
    """A tank that came to rest at its lip takes nothing: the end is drowned as the cut left it."""
    assert depth(stops(running(elbow()), 0.0, 0.40)) == pytest.approx(0.16, abs=1e-8)


def test_room_is_the_rim_or_the_next_lip():
    """Head builds up over a lip to the lowest opening, or over a sealed drain's to the next lip more than 0.1 mm higher."""
    assert row(running(elbow())).limit == pytest.approx(ROOM, abs=1e-9)
    results = running(elbow(lip=1.47), elbow("twin", 1.47), drain("low", 1.46), drain("high", 1.49), elbow("top", 1.50))
    assert row(results).limit == pytest.approx(0.02, abs=1e-9)
    assert row(results, "top").limit == pytest.approx(0.07, abs=1e-9)
    assert row(results, "low").limit == pytest.approx(0.11, abs=1e-9)
    for higher, room in ((1.0e-4, ROOM), (1.1e-4, 1.1e-4)):
        assert row(running(elbow(), drain("other", LIP + higher))).limit == pytest.approx(room, abs=1e-9)


@pytest.mark.parametrize("flow", [1e-4, 1e-3, 5e-3])
def test_an_open_inlet_needs_no_head(flow):
    """A standpipe that runs with air holds however deep its end is drowned, and at any flow: its air leaves upward."""
    results = stops(running(drain(lip=LIP)), 0.0, 0.45)
    check = row(seen(results, stated(results.state, flows={"drain": flow})))
    assert (check.verdict, check.value, check.because) == (HOLDS, 0.0, "its lower end is drowned, and its inlet lets the air out")
    assert check.margin == pytest.approx(ROOM, abs=1e-9)


def test_an_end_in_the_air_needs_no_head():
    """A sealed drain whose end is free again by the time that water reaches its lip holds: 24 L are 48 mm of sump."""
    check = row(stops(running(elbow(end=0.36)), 0.012, 0.40))
    assert (check.verdict, check.value) == (HOLDS, pytest.approx(-0.008, abs=1e-8))
    assert check.because == "its lower end stays in the air"


@pytest.mark.parametrize(("deeper", "verdict"), [(-1e-6, HOLDS), (1e-6, FAILS)])
def test_a_sealed_drain_needs_its_depth(deeper, verdict):
    """Turned down without a vent it holds up to a depth of its room; beyond, the plate keeping its end drowned, it fails."""
    results = running(elbow(end=0.40 - ROOM - deeper), top=0.40, tank=(0.8, 0.5), line=0.30)
    check = row(stops(results, 0.05, 0.41))
    assert (check.verdict, check.value) == (verdict, pytest.approx(ROOM + deeper, abs=1e-8))
    assert ("over the rim" in check.because) is (verdict == FAILS)


def test_depth_and_room_of_the_same_float_hold():
    """A drowned depth that is exactly the room is enough."""
    results = stops(running(elbow()), 0.0, 0.45)
    restarts = Restarts(results)
    start = restarts.refilling.start(results.network.drains[0], True)
    assert replace(start, depth=start.room, later=start.room).clears
    assert not replace(start, depth=start.room + 1e-12, later=0.0).clears
    assert not replace(start, depth=start.room + 1e-12, later=start.room).stuck


@pytest.mark.parametrize(("vent", "verdict"), [(None, FAILS), (0.001, FAILS), (0.020, HOLDS)])
def test_a_vent_lets_the_air_out(vent, verdict):
    """Turned down and drowned too deep, a drain starts with a vent that passes its air, and not with one of a millimetre."""
    results = running(elbow(vent=vent, end=0.20), top=0.40, tank=(0.8, 0.5), line=0.30)
    assert row(stops(results, 0.05, 0.41)).verdict == verdict


@pytest.mark.parametrize(("number", "verdict"), [(0.3 - 1e-9, HOLDS), (0.3 + 1e-9, FAILS)])
def test_a_siphon_is_sealed_above_the_quiet_number(number, verdict):
    """A standpipe that runs full needs its depth; up to J = 0.3 air rises past the water, whatever comes (Simpson 1968)."""
    results = running(drain(lip=LIP, end=0.20), top=0.40, tank=(0.8, 0.5), line=0.30)
    flow = number / float(results.element(results.network.drains[0]).air_number(1.0))
    assert row(stops(siphoning(results, flow=flow), 0.05, 0.41)).verdict == verdict


def test_any_way_to_run_as_a_siphon_counts():
    """One consistent state in which the drain siphons is enough for the stricter question, in whichever order they are found."""
    results = running(drain(lip=LIP, end=0.20), top=0.40, tank=(0.8, 0.5), line=0.30)
    siphon, air = siphoning(results).state, results.state
    assert air.network.links[results.network.drains[0]].element.mode == WITH_AIR
    for states in ((siphon, air), (air, siphon)):
        assert row(stops(seen(results, *states), 0.05, 0.41)).verdict == FAILS


def test_a_higher_inlet_takes_over():
    """Where an open drain 20 mm higher carries the pump alone, a siphon that does not start is no flood: tight."""
    results = running(drain(lip=LIP, end=0.20), drain("spare", 1.53, end=0.20), top=0.40, tank=(0.8, 0.5), line=0.30)
    check = row(stops(siphoning(results), 0.05, 0.41))
    assert (check.verdict, check.limit) == (TIGHT, pytest.approx(0.02, abs=1e-9))
    assert "does not start by itself, spare takes over" in check.because
    assert row(stops(siphoning(results), 0.05, 0.41), "spare").verdict == HOLDS


def test_a_higher_inlet_too_narrow_does_not():
    """An open drain of a quarter of the bore carries a tenth of the pump's flow: the water goes over the rim all the same."""
    results = running(drain(lip=LIP, end=0.20), drain("spare", 1.53, bore=0.015, end=0.20), top=0.40, tank=(0.8, 0.5), line=0.30)
    assert row(stops(siphoning(results), 0.05, 0.41)).verdict == FAILS


def test_a_higher_inlet_that_is_sealed_too_does_not():
    """Two elbows turned down, both drowned too deep, help each other nothing."""
    results = running(elbow(end=0.20), elbow("spare", 1.53, end=0.20), top=0.40, tank=(0.8, 0.5), line=0.30)
    results = seen(results, stated(results.state, flows={"drain": 4e-4, "spare": 4e-4}))
    assert [row(stops(results, 0.05, 0.41), name).verdict for name in ("drain", "spare")] == [FAILS, FAILS]


def test_a_pump_that_runs_dry_floods_nothing():
    """170 mm over 2 m2 are 340 L, far more than the pump has over its intake: it draws air before anything runs over."""
    check = row(stops(running(elbow(lip=1.40, end=0.08)), 0.05, 0.41))
    assert (check.verdict, check.value) == (TIGHT, pytest.approx(0.21, abs=1e-8))
    assert "the pump draws air" in check.because


@pytest.mark.parametrize(("tank", "verdict"), [((2.0, 1.0), TIGHT), ((0.8, 0.5), HOLDS)])
def test_room_alone_does_not_start_a_drain(tank, verdict):
    """90 mm clear the air and 130 mm are free, but over 2 m2 they are 180 L: the pump chamber, 0.2 m2, has less than 70 over its
    intake. Over 0.4 m2 they are 36 L, and it has those.
    """
    check = row(stops(running(elbow(lip=1.44, end=0.20), tank=tank, line=0.25), 0.0, 0.29))
    assert (check.verdict, check.value, check.limit) == (verdict, pytest.approx(0.09, abs=1e-8), pytest.approx(0.13, abs=1e-8))
    assert ("the pump draws air before" in check.because) is (verdict == TIGHT)


def test_a_sump_that_falls_lets_a_drain_start():
    """70 mm at the lip are more than 60 mm of room, but those take 24 L out of 0.5 m2: 48 mm less, and it starts: tight."""
    results = running(elbow(end=0.33), tank=(0.8, 0.5))
    check = row(stops(results, 0.0, 0.40))
    assert (check.verdict, check.value) == (TIGHT, pytest.approx(0.07, abs=1e-8))
    assert "the sump falls" in check.because


def test_it_may_start_over_the_next_inlet():
    """Short of its room under an inlet that carries too little, a drain starts higher up, before the rim: tight."""
    spare = drain("spare", LIP + 0.01, bore=0.015, end=0.36)
    results = running(drain(lip=LIP, end=0.35), spare, tank=(0.8, 0.5), line=0.28)
    check = row(stops(siphoning(results), 0.0, 0.40))
    assert (check.verdict, check.value) == (TIGHT, pytest.approx(0.05, abs=1e-8))
    assert "near the rim" in check.because


@pytest.mark.parametrize(("vent", "verdict"), [(None, TIGHT), (0.020, HOLDS)])
def test_a_dry_drain_is_not_needed_to_start(vent, verdict):
    """A dry drain that could not take over is never worse than tight; with a vent that serves the flow it takes, it holds."""
    results = stops(running(drain(lip=1.49), elbow("dry", 1.55, vent, end=0.20)), 0.0, 0.45)
    main, dry = (results.network.place(name) for name in ("drain", "dry"))
    taken = OverflowCase((main,), stated(results.state, flows={"dry": 1e-3}), None, None)
    out = OverflowCase((dry,), stated(results.state, flows={"dry": 1.0}), None, None)
    results = replace(seen(results, stated(results.state, flows={"dry": 0.0})), overflows=(taken, out))
    assert row(results, "dry").verdict == verdict


def test_the_case_is_that_of_the_wanted_cut():
    """The depth follows the power cut that has to fit: here the one with valves holding and breaks plugged."""
    results = stops(running(elbow()), 0.0, 0.40)
    results = replace(results, loop=replace(results.loop, build=replace(results.build, counts_on=("check valves",))))
    stopped = {**results.stopped, (False, True): replace(results.stopped[False, True], chambers=(0.27, 0.27))}
    assert row(replace(results, stopped=stopped)).value == pytest.approx(0.03, abs=1e-8)


def test_litres_over_the_rim_until_it_starts():
    """With 102 mm at the rim and 60 mm of head the sump, 0.5 m2, has to lose 21 L before the air is pushed out.

    Never, where the flow of the other drains keeps the chamber higher than that.
    """
    results = stops(running(elbow(end=0.25), top=0.10, tank=(0.8, 0.5)), 0.0, 0.40)
    k, refilling = results.network.drains[0], Restarts(results).refilling
    assert refilling.depth(k, ROOM) == pytest.approx(0.15 - 0.048, abs=1e-8)
    assert refilling.lost_before(k, (), 0.1) == pytest.approx(0.5 * (0.102 - ROOM), abs=2e-6)
    assert refilling.lost_before(k, (), 0.010) == 0.010
    shallow, deep = (stated(results.state, chambers=(0.25 + ROOM + over, 0.1)) for over in (-1e-6, 1e-6))
    assert refilling.lost_before(k, (shallow,), 0.1) == refilling.lost_before(k, (), 0.1)
    assert refilling.lost_before(k, (shallow, deep), 0.1) == 0.1
